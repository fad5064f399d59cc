"""The safety rules, over random histories.

The witness below keeps its own account of what really happened: true time, power, boots, readings, people. It knows
nothing of the program's gates. Whatever is written, in whatever order, it checks what was accepted against it.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import tomli
import tomli_w
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from teardown.car.door import Car, open_car
from teardown.car.log import Entry, read_log
from teardown.car.steps import look_around, view_route
from teardown.commands.show import as_data
from tests.world import FACTS, PROCEDURES, World, fold

FLOOR_MIN, UNKNOWN_MIN = 10, 30
AIRBAG_STEPS = ("cabin.bag-out", "cabin.knee-out", "cabin.seat-out")
ICE_STEP = "cabin.pads-off"
STEPS = ("safe.look", "safe.isolate", "safe.mats", *AIRBAG_STEPS, "cabin.card-off", ICE_STEP, "finish.tabs")
TICK_GATES = ("battery", "airbag-handling", "ice-place", "ice-gone", "lift-ready")
AIR_LEVELS = ((30000.0, 10.0), (15000.0, 10.0), (5000.0, 0.0))
"""From which reading on nobody works, and for how many minutes the air must then stay below 2,000 ppm."""
BACK_BELOW_PPM = 2000.0
UNDONE = (
    *("gate-tick", "gate-reading", "step-done", "step-undone", "not-there"),
    *("part-off", "part-back", "part-stored", "part-found", "part-fitted"),
)
"""Kinds of entries of which the last is undone, or not."""
MINUTE = 60.0
ASKED = ("second-source", "second-source", "knee-bag", "knee-bag", "hybrid", "sunroof")
BY_CAR_TOML = 0
"""Stands for the entry, where car.toml says that there is no such module."""
STARTS = ("as it drove in", "battery off", "waited", "airbags", "airbags", "ice", "ice", "ice")


class Witness:
    """What really happened, told in true seconds."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.boot_s = 0.0
        self.power_s = 0.0
        self.battery_lines: list[float] = []
        self.battery_off_s: float | None = None
        self.source_off_s = 0.0
        """When a source was last seen on, or a step that takes one off was done."""
        self.proved_dead = self.leads_live = False
        self.may_have_another = False
        self.counted_with_another: list[bool] = []
        """For each confirmed line of the battery, whether car.toml allowed for another source then."""
        self.wait_proved = False
        self.manual_min: float | None = None
        self.meter: tuple[float, float] | None = None
        self.bad_air: tuple[float, float] | None = None
        self.good_since_s: float | None = None
        self.ice_ever = False
        self.ice_in_car = False
        self.people = 0
        self.stored: dict[str, set[int]] = {"driver-bag": set(), "knee-bag": set()}
        self.ruled_out: dict[str, set[int]] = {"driver-bag": set(), "knee-bag": set()}
        """The entries that said so and stand."""
        self.lies_about: set[str] = set()
        """What no pack foresaw and is live: on the car, or off it and not stored."""
        self.names = {"Ana"}

    def power(self) -> None:
        self.power_s = self.now_s
        self.battery_shut()

    def battery_shut(self) -> None:
        self.battery_lines.clear()
        self.counted_with_another.clear()
        self.battery_off_s = None
        self.wait_proved = self.proved_dead = self.leads_live = False

    def battery_line(self, tick: int) -> None:
        if tick == 1:
            self.battery_shut()
        self.battery_lines.append(self.now_s)
        self.counted_with_another.append(self.may_have_another)
        if len(self.battery_lines) == 3:
            self.battery_off_s = self.now_s

    def source_on_until_now(self) -> None:
        self.source_off_s, self.wait_proved = self.now_s, False

    def volts(self, volts: float) -> None:
        """In the first minutes leads may bleed down; once proved dead, or later, live leads are power."""
        if self.battery_off_s is None:
            return
        if volts >= 0.5 and (self.proved_dead or self.now_s - self.battery_off_s > 5 * MINUTE):
            self.power()
        elif volts >= 0.5 or self.leads_live:
            self.source_on_until_now()
            self.leads_live = volts >= 0.5
        self.proved_dead = volts < 0.5 and self.battery_off_s is not None

    @property
    def another_source(self) -> bool:
        """Whether the battery was confirmed without a source that the car may have."""
        return self.may_have_another and not all(self.counted_with_another)

    def reboot(self) -> None:
        self.boot_s = self.now_s

    def air(self, ppm: float) -> None:
        """Bad air is bad until it has been good for long enough, within one boot."""
        self.meter = (ppm, self.now_s)
        reached = next((level for level in AIR_LEVELS if ppm >= level[0]), None)
        if reached is not None:
            self.bad_air = max(reached, self.bad_air or reached)
            self.good_since_s = None
        elif ppm >= BACK_BELOW_PPM:
            self.good_since_s = None
        elif self.bad_air is not None:
            if self.good_since_s is None or self.good_since_s < self.boot_s:
                self.good_since_s = self.now_s
            if self.now_s - self.good_since_s >= self.bad_air[1] * MINUTE:
                self.bad_air = None

    @property
    def live_in_car(self) -> bool:
        return any(not (self.stored[part] or self.ruled_out[part]) for part in self.stored)

    def take_back(self, step: str) -> None:
        """Both steps of the battery: a source may be on again."""
        if step in ("safe.look", "safe.isolate"):
            self.power()
        part = {"cabin.bag-out": "driver-bag", "cabin.knee-out": "knee-bag"}.get(step)
        if part is not None:
            self.stored[part].clear()

    @property
    def needed_s(self) -> float:
        minutes = UNKNOWN_MIN if self.manual_min is None else max(FLOOR_MIN, self.manual_min)
        return minutes * MINUTE

    def waited_s(self) -> float:
        """Time that really passed since the last source came off, within this boot."""
        assert self.battery_off_s is not None, "the battery was never taken off, or power came back since"
        return self.now_s - max(self.battery_off_s, self.boot_s, self.source_off_s)


def standing_in(car: Car) -> set[str]:
    return {name for name, view in car.now().gates.items() if view.stands}


def ready_in(car: Car) -> set[str]:
    return {view.ref for view in view_route(car.now()) if view.state == "ready"}


class Histories(RuleBasedStateMachine):
    """Random entries, accidents and clock tricks."""

    @initialize(start=st.sampled_from(STARTS))
    def begin(self, start: str) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.world = World(Path(self.folder.name) / "car")
        self.truth = Witness()
        if start == "as it drove in":
            return
        self.accepted("step-done", step="safe.look")
        self.a_whole_gate_is_confirmed("battery")
        self.a_step_is_ticked("safe.isolate", undone=False)
        if start != "battery off":
            self.the_wait_is_sat_out(30)
        if start in ("airbags", "ice"):
            self.airbag_gates_are_confirmed()
        if start == "ice":
            self.every_module_is_taken_out()
            self.the_ice_is_made_ready()

    def teardown(self) -> None:
        if hasattr(self, "world"):
            self.world.car.close()
            self.folder.cleanup()

    def accepted(self, kind: str, **words: object) -> Entry | None:
        result = self.world.enter(kind, **words)
        return result if isinstance(result, Entry) else None

    # -- time and its tricks

    @rule(minutes=st.sampled_from([0.5, 2, 6, 11, 29, 31, 300, 24 * 60]))
    def time_passes(self, minutes: float) -> None:
        self.world.clock.advance(minutes * MINUTE)
        self.truth.now_s += minutes * MINUTE

    @rule(minutes=st.sampled_from([1, 4, 5.5, 6, 9]))
    def a_few_minutes_pass(self, minutes: float) -> None:
        self.time_passes(minutes)

    @rule(minutes=st.sampled_from([-600, -31, 31, 600]))
    def somebody_sets_the_wall_clock(self, minutes: float) -> None:
        self.world.clock.set_wall(minutes * MINUTE)

    @rule(off_min=st.sampled_from([-60, 0, 1, 120]))
    def the_computer_restarts(self, off_min: float) -> None:
        self.world.clock.reboot(off_min * MINUTE)
        self.truth.now_s += max(0.0, off_min) * MINUTE
        self.truth.reboot()
        self.world.reopen()

    @rule()
    def the_program_is_killed_and_opened_again(self) -> None:
        self.world.reopen()

    # -- what people do

    @rule(gate=st.sampled_from(TICK_GATES), tick=st.integers(1, 3))
    def a_line_is_confirmed(self, gate: str, tick: int) -> None:
        if not self.accepted("gate-tick", gate=gate, tick=tick):
            return
        if gate == "battery":
            self.truth.battery_line(tick)
        if gate == "ice-gone" and tick == 2:
            self.truth.ice_in_car = False

    @rule(gate=st.sampled_from(TICK_GATES))
    def a_whole_gate_is_confirmed(self, gate: str) -> None:
        for tick in (1, 2, 3):
            self.a_line_is_confirmed(gate, tick)

    @rule(volts=st.sampled_from(["0.1V", "0.5V", "12V", "-12V", "OL"]))
    def volts_are_read(self, volts: str) -> None:
        assert self.accepted("gate-reading", gate="battery-dead", value=volts) is not None
        self.truth.volts(0.1 if volts == "0.1V" else 12)

    @rule(answer=st.sampled_from(["true", "false", None]))
    def car_toml_is_edited(self, answer: str | None) -> None:
        """Whether the car has a second source of power; no answer counts as yes."""
        facts = "" if answer is None else f"second-source = {answer}"
        (self.world.folder / "car.toml").write_text(FACTS.replace("second-source = false", facts))
        self.world.reopen()
        self.truth.may_have_another = answer != "false"
        self.truth.ruled_out["knee-bag"].discard(BY_CAR_TOML)

    @rule(feature=st.sampled_from(ASKED), fitted=st.sampled_from(["yes", "no", "unknown"]))
    def a_question_about_the_car_is_answered(self, feature: str, fitted: str) -> None:
        """Nothing is open then that would be shut after quitting, editing car.toml and opening the car again."""
        before = self.world.state.route.shape.fitted.get(feature)
        standing, ready = self.after_an_edit_by_hand(feature, {"yes": True, "no": False}.get(fitted))
        if self.accepted("car-answered", feature=feature, fitted=fitted) is None:
            return
        assert self.standing() <= standing
        power_is_back = "battery" in standing - self.standing()  # then no wait runs, and none holds the car
        assert power_is_back or self.ready() <= ready
        held = as_data(self.world.car.now())
        self.world.reopen()
        assert as_data(self.world.car.now()) == held
        if feature == "second-source":
            self.truth.may_have_another = fitted != "no"
        if feature in ("second-source", "hybrid") and before is False and fitted != "no":
            self.truth.power()
        if feature == "knee-bag" and fitted == "no":
            self.truth.ruled_out["knee-bag"].add(BY_CAR_TOML)
        elif feature == "knee-bag":
            self.truth.ruled_out["knee-bag"].discard(BY_CAR_TOML)

    @rule(feature=st.sampled_from(ASKED), there=st.sampled_from(["yes", "unknown"]))
    def an_answer_goes_to_and_fro(self, feature: str, there: str) -> None:
        """It opens nothing that was shut when the thing may have been there."""
        self.everything_is_tried()
        self.a_question_about_the_car_is_answered(feature, "no")
        self.a_question_about_the_car_is_answered(feature, there)
        standing = self.standing()
        self.a_question_about_the_car_is_answered(feature, "no")
        opened = self.standing() - standing
        assert opened <= {"live-count", "live-listed", "high-voltage"}, "what was made by hand is made again"

    def after_an_edit_by_hand(self, feature: str, fitted: bool | None) -> tuple[set[str], set[str]]:
        """The gates that stand then, and the steps that are ready: in a copy of the folder."""
        with tempfile.TemporaryDirectory() as beside:
            copy = shutil.copytree(self.world.folder, Path(beside) / "car")
            facts = tomli.loads((copy / "car.toml").read_text())
            facts["fitted"].pop(feature, None)
            facts["fitted"] |= {} if fitted is None else {feature: fitted}
            (copy / "car.toml").write_text(tomli_w.dumps(facts))
            with open_car(copy, self.world.clock, write=False, packs=PROCEDURES) as car:
                return standing_in(car), ready_in(car)

    @rule(off_min=st.sampled_from([1, 4.9, 6]), volts=st.sampled_from(["0.1V", "12V"]), minutes=st.integers(1, 29))
    def leads_are_read_after_a_while(self, off_min: float, volts: str, minutes: int) -> None:
        self.power_comes_back()
        self.the_questions_are_answered("no", "no")
        self.a_whole_gate_is_confirmed("battery")
        self.time_passes(off_min)
        self.volts_are_read(volts)
        self.the_wait_is_sat_out(minutes)
        self.volts_are_read("0.1V")
        self.the_wait_is_sat_out(29)
        self.everything_is_tried()

    @rule(minutes=st.sampled_from([1, 29, 30]))
    def a_source_comes_off_late(self, minutes: float) -> None:
        self.a_step_is_ticked("safe.isolate", undone=True)
        self.the_questions_are_answered("no", "no")
        self.a_whole_gate_is_confirmed("battery")
        self.the_wait_is_sat_out(minutes)
        self.a_step_is_ticked("safe.isolate", undone=False)
        self.what_the_program_would_allow_the_witness_allows_too()
        self.the_wait_is_sat_out(29)

    @rule(ppm=st.sampled_from([400, 1999, 4999, 5000, 15000, 30000]))
    def the_air_is_read(self, ppm: float) -> None:
        self.accepted("gate-reading", gate="ice-meter", value=f"{ppm}ppm")
        self.truth.air(ppm)

    @rule()
    def the_meter_is_at_full_scale(self) -> None:
        assert self.accepted("gate-reading", gate="ice-meter", value="over") is not None
        self.truth.air(30_000)

    @rule()
    def somebody_feels_the_air(self) -> None:
        """Any symptom counts as more than 15,000 ppm, whatever the meter showed."""
        assert self.accepted("happened", what="air-bad", why="dizzy") is not None
        self.truth.air(15_000)

    @rule(minutes=st.sampled_from([4, 9, 10]), ppm=st.sampled_from([400, 4999]))
    def bad_air_is_waited_out(self, minutes: float, ppm: float) -> None:
        """Everything is made again; the air is read all the time, perhaps too high or not for long enough."""
        for _ in range(round(minutes) + 1):
            self.the_air_is_read(ppm)
            self.time_passes(1)
        self.the_ice_is_made_ready()

    @rule(minutes=st.sampled_from([1, 12, 60]))
    def the_manual_is_found(self, minutes: float) -> None:
        self.accepted("manual-wait", gate="airbag-wait", wait=f"{minutes}min", page="page 1")
        self.truth.manual_min = minutes

    @rule(minutes=st.sampled_from([60, 120]))
    def the_manual_is_found_when_hands_are_at_the_airbags(self, minutes: float) -> None:
        self.airbag_gates_are_confirmed()
        self.the_manual_is_found(minutes)
        self.nothing_is_kept_that_was_made_behind_a_wait_that_has_not_run()
        self.the_wait_is_sat_out(30)
        self.everything_is_tried()

    @rule()
    def the_wait_is_called_over(self) -> None:
        if self.accepted("wait-over", gate="airbag-wait"):
            self.check_airbag_work()
            self.truth.wait_proved = True

    @rule(count=st.integers(1, 3))
    def people_are_counted(self, count: int) -> None:
        if self.accepted("people-here", count=count):
            self.truth.people = count

    @rule(power=st.sampled_from(["no", "yes", "unknown"]), people=st.sampled_from(["no", "yes"]))
    def the_questions_are_answered(self, power: str, people: str) -> None:
        if self.accepted("resumed", power=power, doors="no", people=people):
            if power != "no":
                self.truth.power()
            if people != "no":
                self.truth.people = 0

    @rule()
    def power_comes_back(self) -> None:
        assert self.accepted("power-restored", why="a lamp lit") is not None
        self.truth.power()

    @rule(what=st.sampled_from(["doors-shut", "people-changed", "fan-stopped", "ice-delivered", "module-moved"]))
    def something_happens(self, what: str) -> None:
        assert self.accepted("happened", what=what, why="it did") is not None
        if what == "people-changed":
            self.truth.people = 0

    @rule(who=st.sampled_from(["Bo", "Cy"]))
    def somebody_else_writes(self, who: str) -> None:
        """A name that has not stood in the log: nobody knows yet who is here, and who has hung the tag."""
        if who not in self.truth.names:
            self.truth.names.add(who)
            assert isinstance(self.world.car.enter("note", {"text": "here"}, who), Entry)
            self.truth.people = 0
            signed = {"second-person", "airbag-handling", "ice-place", "battery-dead", "lift-ready"}
            assert not self.standing() & signed

    @rule(who=st.sampled_from(["Bo", "Cy"]))
    def somebody_new_writes_after_a_pause(self, who: str) -> None:
        """The lift that Ana made ready is not theirs, whatever is answered."""
        self.a_whole_gate_is_confirmed("lift-ready")
        self.time_passes(31)
        if who not in self.truth.names:
            self.truth.names.add(who)
            answers = {"power": "no", "doors": "no", "people": "no"}
            assert isinstance(self.world.car.enter("resumed", answers, who), Entry)
            self.truth.people = 0
            assert "lift-ready" not in self.standing()

    @rule(ice=st.sampled_from(["2kg", "50kg"]))
    def ice_is_planned(self, ice: str) -> None:
        self.accepted("gate-figure", gate="ice-room", ice=ice)

    @rule(
        part=st.sampled_from(["driver-bag", "knee-bag"]), kind=st.sampled_from(["part-stored", "part-back", "part-off"])
    )
    def a_module_is_moved(self, part: str, kind: str) -> None:
        words = {"part": part} | ({"where": "store"} if kind == "part-stored" else {})
        entry = self.accepted(kind, **words)
        if entry is None:
            return
        if kind == "part-off":
            self.check_airbag_work()
            self.check_hands_at_the_car(part)
        if kind == "part-stored":
            self.truth.stored[part].add(entry.n)
        else:
            self.truth.stored[part].clear()

    @rule(begin=st.sampled_from(["fitted", "found"]), stored=st.booleans())
    def an_airbag_that_no_pack_foresaw(self, begin: str, stored: bool) -> None:
        """One that is fitted comes off past the gates of any other; either is accounted for once it is stored."""
        entry = self.accepted(f"part-{begin}", name="Airbag of another car", reading="2kg")
        assert entry is not None
        thing = f"{begin}-{entry.n}"
        self.truth.lies_about.add(thing)
        if begin == "fitted" and self.accepted("part-off", part=thing):
            self.check_live_thing(thing)
        if stored and self.accepted("part-stored", part=thing, where="store"):
            self.truth.lies_about.discard(thing)

    @rule()
    def those_that_no_pack_foresaw_are_taken_off_and_stored(self) -> None:
        for thing in sorted(self.truth.lies_about):
            if self.accepted("part-off", part=thing):
                self.check_live_thing(thing)
            if self.accepted("part-stored", part=thing, where="store"):
                self.truth.lies_about.discard(thing)

    @rule(module=st.sampled_from(["driver-bag", "knee-bag"]), kind=st.sampled_from(["still-fitted", "not-there"]))
    def a_module_is_listed(self, module: str, kind: str) -> None:
        entry = self.accepted(kind, module=module, why="looked")
        if entry is not None and kind == "not-there":
            self.truth.ruled_out[module].add(entry.n)

    @rule(back=st.integers(0, 6))
    def something_is_undone(self, back: int) -> None:
        before = self.standing()
        n = self.world.state.entries - back
        entry = next((e for e in read_log(self.world.folder / "log.jsonl") if e.n == n), None)
        if self.accepted("undo", entry=max(n, 1)) is None:
            return
        assert self.standing() <= before, "an undo opened a gate"
        assert entry is not None
        if entry.kind == "gate-tick" and entry.fields["gate"] == "battery":
            self.truth.battery_shut()
        if entry.kind == "gate-tick" and entry.fields["gate"] == "ice-gone":
            self.truth.ice_in_car = self.truth.ice_ever
        if entry.kind == "not-there":
            self.truth.ruled_out[entry.fields["module"]].discard(n)
        part = entry.fields.get("part", "")
        if entry.kind in ("part-stored", "part-off") and part not in self.truth.stored:
            self.truth.lies_about.add(part)
        elif entry.kind == "part-stored":
            self.truth.stored[part].discard(n)
        elif entry.kind == "part-off":
            self.truth.stored[part].clear()
        if entry.kind == "step-done":
            self.truth.take_back(entry.fields["step"])

    @rule(
        kind=st.sampled_from(
            [
                "gate-tick",
                "gate-reading",
                "part-stored",
                "part-off",
                "part-found",
                "part-fitted",
                "step-done",
                "not-there",
            ]
        )
    )
    def the_last_entry_of_a_kind_is_undone(self, kind: str) -> None:
        entries = [e.n for e in read_log(self.world.folder / "log.jsonl") if e.kind == kind]
        if entries:
            self.something_is_undone(self.world.state.entries - entries[-1])

    @rule(minutes=st.sampled_from([1, 4, 9]))
    def the_whole_airbag_work_is_hurried(self, minutes: float) -> None:
        """Power comes back; everything is made again, but the wait is cut short."""
        self.power_comes_back()
        self.the_questions_are_answered("no", "no")
        self.a_whole_gate_is_confirmed("battery")
        self.the_manual_is_found(1)
        self.the_wait_is_sat_out(minutes)
        self.airbag_gates_are_confirmed()

    @rule(step=st.sampled_from(STEPS), undone=st.booleans())
    def a_step_is_ticked(self, step: str, undone: bool) -> None:
        if undone:
            before = self.standing()
            if self.accepted("step-undone", step=step, why="again"):
                self.truth.take_back(step)
                assert self.standing() <= before, "an undone step opened a gate"
            return
        shut = self.shut_gates_of(step)
        if self.accepted("step-done", step=step) is None:
            return
        assert not shut, f"{step} was done while {shut} did not stand"
        self.check_hands_at_the_car(step)
        if step in AIRBAG_STEPS:
            assert self.truth.people >= 2
        if step == "safe.isolate":
            self.truth.source_on_until_now()
        if step == ICE_STEP:
            self.truth.ice_ever = self.truth.ice_in_car = True

    # -- getting far, often enough

    @rule(minutes=st.sampled_from([9, 10, 12, 29, 30]))
    def the_wait_is_sat_out(self, minutes: float) -> None:
        for _ in range(round(minutes)):
            self.time_passes(1)
            self.accepted("note", text="here")

    @rule()
    def airbag_gates_are_confirmed(self) -> None:
        self.people_are_counted(2)
        self.volts_are_read("0.1V")
        self.a_whole_gate_is_confirmed("airbag-handling")

    @rule(ppm=st.sampled_from([5000, 15000]), minutes=st.sampled_from([1, 9, 10]))
    def the_air_goes_bad_and_is_read_again(self, ppm: float, minutes: float) -> None:
        for reading in (ppm, 400):
            self.the_air_is_read(reading)
        self.time_passes(minutes)
        self.the_air_is_read(400)
        self.everything_is_tried()

    @rule()
    def ice_is_laid(self) -> None:
        self.the_ice_is_made_ready()
        for step in ("cabin.card-off", ICE_STEP):
            self.a_step_is_ticked(step, undone=False)
        self.everything_is_tried()

    @rule(minutes=st.sampled_from([1, 9, 29, 30]))
    def hands_are_at_the_car_before_the_wait_is_over(self, minutes: float) -> None:
        self.a_whole_gate_is_confirmed("battery")
        self.the_wait_is_sat_out(minutes)
        self.everything_is_tried()

    @rule()
    def everything_is_tried(self) -> None:
        for step in STEPS:
            self.a_step_is_ticked(step, undone=False)
        for part in ("driver-bag", "knee-bag"):
            self.a_module_is_moved(part, "part-off")

    @rule()
    def every_module_is_taken_out(self) -> None:
        for step in AIRBAG_STEPS[:2]:
            self.a_step_is_ticked(step, undone=False)
        for part in ("driver-bag", "knee-bag"):
            self.a_module_is_moved(part, "part-stored")

    @rule()
    def the_ice_is_made_ready(self) -> None:
        self.people_are_counted(2)
        self.a_whole_gate_is_confirmed("ice-place")
        self.ice_is_planned("2kg")
        self.the_air_is_read(400)

    # -- what must always hold

    def standing(self) -> set[str]:
        return standing_in(self.world.car)

    def ready(self) -> set[str]:
        return ready_in(self.world.car)

    def shut_gates_of(self, step: str) -> list[str]:
        now = self.world.car.now()
        gates = self.world.car.folded.route.gate_order(self.world.car.folded.route.by_ref[step].gates)
        return [gate for gate in gates if not now.gates[gate].stands]

    def check_airbag_work(self) -> None:
        assert self.truth.battery_off_s is not None
        assert self.truth.battery_off_s >= self.truth.power_s
        assert self.truth.wait_proved or self.most_waited_s() >= self.truth.needed_s

    def check_live_thing(self, thing: str) -> None:
        self.check_airbag_work()
        self.check_hands_at_the_car(thing)
        assert self.truth.people >= 2

    def most_waited_s(self) -> float:
        """A wait once proved by an entry within its boot is not lost by a later restart."""
        proved = max((at for at in self.proofs_s()), default=0.0)
        return max(self.truth.waited_s(), proved)

    def proofs_s(self) -> list[float]:
        """For every boot, how long it ran on after the battery came off, to its last entry."""
        found, start = [], None
        done, live = 0, False
        for entry in read_log(self.world.folder / "log.jsonl"):
            if (
                entry.kind == "power-restored"
                or (entry.kind == "resumed" and entry.fields["power"] != "no")
                or (entry.kind == "undo" and self.truth.battery_off_s is None)
            ):
                start, done, found = None, 0, []
            elif entry.kind == "gate-tick" and entry.fields["gate"] == "battery":
                done = entry.fields["tick"]
                if done == 3:
                    start, found = entry.at, []
            elif entry.kind == "step-done" and entry.fields["step"] == "safe.isolate" and start is not None:
                start, found = entry.at, []
            elif entry.kind == "gate-reading" and entry.fields["gate"] == "battery-dead" and start is not None:
                if live or entry.fields["number"] >= 0.5 or entry.fields["number"] < 0:
                    start, found = entry.at, []
                live = abs(entry.fields["number"]) >= 0.5
            if start is not None:
                if entry.at.boot != start.boot:
                    start = entry.at
                found.append(entry.at.seconds - start.seconds)
        return found

    def check_hands_at_the_car(self, work: str) -> None:
        """Nobody does anything in bad air; beside ice only what is about the ice; during the wait only the battery."""
        assert self.truth.bad_air is None, f"{work} in bad air"
        assert work == ICE_STEP or not self.truth.ice_in_car, f"{work} while ice lies in the car"
        off = self.truth.battery_off_s is not None and not self.truth.another_source  # else it is on: no wait runs
        if off and self.truth.live_in_car and work != "safe.isolate":
            waited = self.truth.wait_proved or self.most_waited_s() >= self.truth.needed_s
            assert waited, f"{work} while the wait runs"

    def check_ice_work(self) -> None:
        assert self.truth.meter is not None
        ppm, at_s = self.truth.meter
        assert ppm < 5000
        assert not self.truth.bad_air, "bad air was not waited out"
        assert self.truth.now_s - at_s <= 5 * MINUTE
        assert self.truth.people >= 2
        assert not self.truth.lies_about, "ice beside a live module that no pack foresaw"
        for part, stored in self.truth.stored.items():
            assert stored or self.truth.ruled_out[part], f"ice while {part} is neither stored nor ruled out"

    @invariant()
    def what_the_program_would_allow_the_witness_allows_too(self) -> None:
        if not hasattr(self, "world"):
            return
        standing = self.standing()
        if self.truth.battery_off_s is None or self.truth.another_source:
            assert not standing & {"battery", "battery-dead", "airbag-wait", "airbag-handling"}
        if "airbag-wait" in standing:
            self.check_airbag_work()
        if {"ice-place", "ice-room", "ice-meter", "second-person", "live-count"} <= standing:
            self.check_ice_work()

    @invariant()
    def nothing_is_kept_that_was_made_behind_a_wait_that_has_not_run(self) -> None:
        """Nor does it come to life once it has. A battery with an unlisted source is made anew, and that is power."""
        if not hasattr(self, "world") or self.world.state.gates["battery"].fewer_sources:
            return
        left_s = self.world.car.now().gates["airbag-wait"].wait_left_s
        assert left_s == 0 or not self.world.state.gates["airbag-handling"].begun

    @invariant()
    def a_step_is_ready_only_when_every_gate_of_its_hazards_stands(self) -> None:
        if not hasattr(self, "world"):
            return
        for view in view_route(self.world.car.now()):
            assert view.state != "ready" or not self.shut_gates_of(view.ref), view.ref

    @invariant()
    def folding_the_log_gives_the_state_the_program_holds(self) -> None:
        if not hasattr(self, "world"):
            return
        car = self.world.car
        entries = list(read_log(self.world.folder / "log.jsonl"))
        again = fold(car.folded.route, car.facts, entries)
        now = self.world.clock.now()
        assert as_data(look_around(again, now)) == as_data(look_around(car.folded, now))


Histories.TestCase.settings = settings(max_examples=200, stateful_step_count=8, deadline=None)
TestHistories = Histories.TestCase
