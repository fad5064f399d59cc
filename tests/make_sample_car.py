"""Makes `sample_car/`: an invented club's car, half way through, its log written through the door like any other.

    python -m tests.make_sample_car

Everything in it is invented: the car, the club, the people, the weights, the prices. The log is marked as a rehearsal.
"""

from __future__ import annotations

import random
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

from teardown.car.condition import NOT_CAR
from teardown.car.door import begin_log, open_car
from teardown.car.mass import mass_now
from teardown.car.moves import move_kg, moves
from teardown.car.weighing import is_fuel
from teardown.packs.route import RoutePart, RouteStep
from tests.walker import Walker
from tests.world.clock import HandClock

FOLDER = Path(__file__).parent.parent / "sample_car"
STOP_BEFORE = "headliner"
SEED = 20260509
SESSION_MIN = 270
CREW = ("Ines", "Marek")

FACTS = """\
# The sample car: invented, like its club and its crew. A rehearsal opens a copy of it.

name = "Tin Kettle"
goal = "1120kg"
kerb = "1390kg"
size = "mid-size"
fuel = "petrol"
steering = "left"
wheelbase = "2.60m"
track_front = "1.50m"
track_rear = "1.49m"
welder_date = 2026-06-20
who = ["Ines", "Marek"]
private = ["TK 51 TIN", "Kiln Lane"]

[fitted]
hybrid-or-48v = false
second-battery = false
battery-in-boot = false
gas-tank = false
battery-terminal-cutter = false
bonnet-lifters = false
air-conditioning-charged = true
knee-airbags = false
rear-side-airbags = false
door-airbags = false
active-head-restraints = false
hatchback-or-estate = false
sunroof = false
glass-roof = false
tow-bar = false
roof-rails = false
magnesium-beam = false

[rules.door-cards]
keep = false
rule = "Quarry Road club rules 5.2"
date = 2026-04-18

[rules.door-glass]
keep = true
rule = "Quarry Road club rules 5.3"
date = 2026-04-18

[rules.windscreen]
keep = true
rule = "Quarry Road club rules 5.1"
date = 2026-04-18

[rules.door-seals]
keep = false
rule = "Quarry Road club rules, silent: asked the scrutineer"
date = 2026-04-20

[rules.lamps]
keep = false
rule = "Quarry Road club rules 7.4"
date = 2026-04-18

[rules.interior-mirror]
keep = true
rule = "Quarry Road club rules 7.6"
date = 2026-04-18

[room]
place = "outdoors"
fan = "4000m3/h"

[scales.pads]
name = "club pads"
step = "0.5kg"
repeats = "1kg"

[scales.parts]
name = "bench scale"
step = "0.02kg"

[money]
currency = "EUR"
paid = "900.00"
cap = "1500.00"
cap_rule = "Quarry Road club rules 2.1"
cap_counts = ["purchase", "fitting"]
cap_sales = "net"
packing = "3.00"
hour_floor = "8.00"
"""

SALES = (
    # part, asked, got, to whom
    ("spare-wheel", "45.00", "40.00", "a club member"),
    ("boot-tools", "15.00", "12.00", "a club member"),
    ("glovebox", "25.00", "20.00", "a buyer two towns on"),
    ("armrest", "30.00", None, None),
    ("console-switches", "35.00", None, None),
)
PILLAR_TRIMS = {
    "part": "a-pillar-trims",
    "along": "b-pillar-lower-trims,b-pillar-upper-trims,c-pillar-trims",
    "ask": "45.00",
    "floor": "30.00",
    "fits": "four-door saloon, either hand of drive",
    "colour": "light grey",
    "grade": "B",
    "faults": "two clip towers glued",
    "tested": "held up to the light, can be seen in Kiln-Lane on Saturdays",
    "size": "90x30x25cm",
}
"""A lot, with the street where it lies among the words for buyers: the sheet blacks that out."""
COSTS = (("entry fee of the workshop", "35.00", "other"), ("gloves, masks, bags", "41.60", "removing"))
UNACCOUNTED_KG = 2.1
"""What the second weighing finds gone that nobody wrote down: bags of bolts, broken clips, dust."""


def make(folder: Path) -> int:
    """Write the folder anew; returns how many entries its log holds."""
    shutil.rmtree(folder, ignore_errors=True)
    for name in ("photos", "sheets"):
        (folder / name).mkdir(parents=True)
        (folder / name / ".gitkeep").touch()
    (folder / "car.toml").write_text(FACTS)
    clock = HandClock()
    clock.wall = datetime(2026, 5, 9, 8, 30, tzinfo=UTC)
    begin_log(folder, clock, CREW[0], rehearsal=True)
    with open_car(folder, clock, write=True, rehearsal=True) as car:
        crew = Crew(Walker(car, clock, CREW[0]), random.Random(SEED))
        for laid in car.folded.route.steps:
            if laid.pack.id == STOP_BEFORE:
                break
            crew.work_on(laid)
        crew.sell()
        crew.weigh_the_car_again()
        return car.folded.entries


OPENING = "403,398.5,290,286.5kg"
CONDITIONS = {"fuel": "12L", "tyres": "2.2 bar cold", "conditions": "no driver, doors shut, brake off and chocked"}


class Crew:
    """Two people who work some hours a day and write down what comes off."""

    def __init__(self, walker: Walker, chance: random.Random) -> None:
        self.walker = walker
        self.chance = chance
        self.began = walker.clock.wall

    def work_on(self, laid: RouteStep) -> None:
        if (self.walker.clock.wall - self.began) > timedelta(minutes=SESSION_MIN):
            self.sleep()
        if not self.walker.can_come(laid):
            return
        self.walker.take_over(CREW[self.chance.random() < 0.3])
        self.walker.do_step(laid)
        if laid.ref == "baseline.weigh-car":
            self.walker.enter("car-weighed", corners=OPENING, **CONDITIONS)
        for part in laid.step.parts:
            placed = self.walker.car.folded.route.parts[part.id]
            if placed.fitted:
                self.weigh(placed)

    def weigh(self, part: RoutePart) -> None:
        """As a bench scale shows it: somewhere between the pack's low and high figure, near the likely one."""
        low, likely, high = part.kg
        kg = self.chance.triangular(low, high, likely)
        self.walker.clock.advance(15)
        self.walker.enter("part-weighed", part=part.id, reading=f"{kg:.2f}kg")
        if part.part.fate != "keep" and part.part.counts != "temporary":
            self.walker.enter("part-fate", part=part.id, fate=part.part.fate)

    def sell(self) -> None:
        """What has been asked and got so far, and what was spent."""
        for what, amount, kind in COSTS:
            self.walker.enter("cost", amount=amount, what=what, of=kind)
        for part, asked, got, to in SALES:
            self.walker.clock.advance(40)
            self.walker.enter("listed", part=part, ask=asked)
            if got is not None:
                self.walker.enter("sold", part=part, amount=got, to=to, packing="0")
        self.walker.enter("listed", **PILLAR_TRIMS)

    def weigh_the_car_again(self) -> None:
        """On the same pads in the same condition: what the parts say, less the fluids that went and what nobody
        wrote down."""
        state = self.walker.car.folded
        moved = moves(state, state.weighings.last_entry)
        fluids = (one for one in moved if one.counts in NOT_CAR and not is_fuel(one.counts, one.material))
        gone_kg = UNACCOUNTED_KG + sum(move_kg(state, one) for one in fluids)
        now_kg = (mass_now(state).now_kg or 0.0) - gone_kg
        shares = (0.300, 0.296, 0.203, 0.201)
        corners = ",".join(f"{round(now_kg * share * 2) / 2:g}" for share in shares)
        self.walker.minutes(20)
        self.walker.enter("car-weighed", corners=f"{corners}kg", **CONDITIONS)

    def sleep(self) -> None:
        """Until the next morning; the car stands locked."""
        clock = self.walker.clock
        morning = (clock.wall + timedelta(days=1)).replace(hour=9, minute=0)
        clock.advance((morning - clock.wall).total_seconds())
        self.began = clock.wall
        self.walker.answer_questions()


if __name__ == "__main__":
    print(f"{FOLDER}: {make(FOLDER)} entries")
