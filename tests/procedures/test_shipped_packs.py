"""The packs that ship, held against the trade's table they came from: nothing dropped, nothing altered unseen.

Every figure compared here is an estimate from common practice (`trade_table.json`). Where a pack differs on purpose,
the difference is listed below with its reason; a listed difference that is none any more fails too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import pytest

from teardown.car.facts import parse_facts
from teardown.car.setup import questions
from teardown.car.state import State
from teardown.car.steps import milestones_ahead, why_not_until
from teardown.packs.audit import audit
from teardown.packs.model import CountGate, PeopleGate, Step, TicksGate
from teardown.packs.reader import load
from teardown.packs.references import needed_by_way_of
from teardown.packs.route import CarShape, KeepAnswer, Route, lay_route, whole_reference
from teardown.packs.shipped import procedures
from tests.procedures import table

LIBRARY = load(procedures())
EVERYWHERE = {hazard.id for hazard in LIBRARY.hazards.values() if hazard.everywhere}

STRIP = (
    *("boot", "seats", "early-airbags", "trims", "belts", "rear-trim", "console", "carpet", "headliner", "sunroof"),
    *("dash", "heater-box", "doors", "deadening", "wiring", "outside", "glass"),
)
"""The packs that take the car apart: nothing of them before the battery is tagged out."""

# -- what differs from the table on purpose

STEPS_BEYOND_THE_TABLE = {
    "early-airbags.bonnet-lifters": "a live module that never comes off keeps the count open",
    "early-airbags.battery-cutter": "a live module that never comes off keeps the count open",
    "powered-jobs.gas-tank": "the table knows petrol and diesel; a gas tank is a licensed workshop's business",
    "powered-jobs.electric-parking-brake": "inside 02.10 in the table; only some cars have one",
    "make-safe.boot-battery": "inside 02.09 and 03.05 in the table; only some cars have it there",
    "make-safe.second-battery-leads": "inside 03.06 in the table; only some cars have a second one",
    "wiring.married-set": "the table keeps cluster and units until the bare car starts, and forgets them there",
    "sunroof.roof-glass": "inside 13.02 in the table, as part of a panoramic sunroof; some have panes that never open",
}

PARTS_BEYOND_THE_TABLE = {
    "bonnet-lifters": "carries live modules that the table has no line for",
    "battery-cutter": "carries a live module that the table has no line for",
    "second-battery": "the table isolates it and forgets its kilos",
    "roof-glass": "the table has all panes of a panoramic roof in the line of the sunroof glass",
    "door-airbags": "the table names them inside the line of the door sensors: 1.0 kg each, if fitted",
}

PARTS_UNDER_ANOTHER_STEP = {
    "floor-pads": ("deadening.bag-and-weigh", "ice or hot air alone may bring them off: booked where they are weighed"),
    "tunnel-pads": (
        "deadening.bag-and-weigh",
        "ice or hot air alone may bring them off: booked where they are weighed",
    ),
}

LEAST_MINUTES = {
    "powered-jobs.run-fuel-down": "0 min in the table: the tank may be low already",
    "make-safe.engine-cold": "0 min in the table: it may be cold already",
    "make-safe.second-battery": "0 min in the table: there may be none",
    "early-airbags.knee-bags-out": "0 min in the table: there may be none",
    "dash.passenger-airbag": "0 min in the table: it may be out already",
}
"""Where the table's least is no time at all, the packs say 1 min: looking takes that."""

SECOND_PERSON = {
    "make-safe.battery-out": "1 in the table; a battery may weigh 26 kg, and above 20 kg two people lift",
}

HAZARDS_NOT_MET = {
    ("make-safe.recall-check", "srs"): "done on the phone: nothing on the car is touched",
    ("make-safe.feeds-off", "srs"): "only feeds are unplugged, from outside: no bag and no plug of one is touched",
}

PIECES = {
    **dict.fromkeys(("boot-linings", "kick-panels", "a-pillar-trims", "b-pillar-lower-trims"), 2),
    **dict.fromkeys(("b-pillar-upper-trims", "front-reels", "buckles", "height-adjusters", "rear-belts"), 2),
    **dict.fromkeys(("c-pillar-trims", "quarter-trims", "rear-speakers", "visors", "curtain-airbags"), 2),
    **dict.fromkeys(("front-door-cards", "rear-door-cards", "front-door-glass", "front-regulators"), 2),
    **dict.fromkeys(("rear-door-glass", "rear-arch-liners", "quarter-glass"), 2),
    **dict.fromkeys(("door-seals", "sunroof-drains", "door-speakers", "door-looms", "door-skin-pads"), 4),
}
"""The table has one line for a pair or a set of four, with the kilos of all; the packs count the pieces, too."""

END_OF_JOB = {
    "closing.weigh-again": "the car is weighed as it will be driven",
    "closing.close-the-sum": "what is out for now is neither a saving nor forgotten",
    "closing.repeat-runs": "the car runs with its windscreen and all else it goes with",
    "closing.report": "it is signed for",
    "close-out.archive": "the job is over",
}
"""The steps that no part out for now outlives. The hand-over to the cage builder is none of them: the battery has to be
out of the car for welding, the windscreen may be, and its sheet lists what is out."""

NEVER_WITHOUT_REAR_SEATS = {"rear-side-airbags": "bolster", "rear-belt-pretensioners": "belt"}
"""What the question about rear seats must name, because with a no its live modules are not looked for."""

ANSWERS = {
    "srs": ("airbag", "airbag-charged", "too-soon", "stored-airbag", "uncounted-airbag"),
    "hv": ("high-voltage",),
    "mg-fire": ("magnesium-fire",),
    "dry-ice": ("dry-ice", "ice-outside", "ice-gas"),
    "lift": ("lift", "heavy-lift"),
    "battery": ("battery", "power-up", "wire-cut"),
    "crush": ("crush", "moving", "scales"),
    "rolling": ("rolling", "moving", "scales"),
    "fire": ("fire", "hot-work"),
}
"""The hazards of the packs that answer to a word of the table; any other word answers to itself."""

COUNTS = {
    "temporary": "temporary",
    "fluid": "fluid",
    "added": "added",
}
"""How a part counts in the packs, by the table's word; every other word is a saving."""


def test_every_step_of_the_table_is_in_the_packs_and_no_other_without_a_reason() -> None:
    known = {step.id for step in table.steps()}
    assert known - LIBRARY.steps.keys() == set()
    assert LIBRARY.steps.keys() - known == set(STEPS_BEYOND_THE_TABLE)


def test_every_step_takes_the_minutes_of_the_table() -> None:
    wanted = ((s.id, (max(s.minutes[0], 1), *s.minutes[1:]), LIBRARY.step(s.id).minutes) for s in table.steps())
    assert _different(wanted) == []
    assert {s.id for s in table.steps() if s.minutes[0] == 0} == set(LEAST_MINUTES)


def test_every_step_has_the_persons_of_the_table_and_a_second_one_only_with_a_reason() -> None:
    """From one to two means two where a hazard asks for a second person, else one."""
    more = {s.id: LIBRARY.step(s.id).people for s in table.steps() if LIBRARY.step(s.id).people != _persons(s)}
    assert more == dict.fromkeys(SECOND_PERSON, 2)


def test_every_part_of_the_table_is_under_its_step_and_no_other_without_a_reason() -> None:
    homes = {part.id: ref for ref, step in LIBRARY.steps.items() for part in step.parts}
    wanted = {part.id: step.id for step in table.steps() for part in step.parts}
    moved = {part: home for part, home in homes.items() if part in wanted and home != wanted[part]}
    assert wanted.keys() - homes.keys() == set()
    assert homes.keys() - wanted.keys() == set(PARTS_BEYOND_THE_TABLE)
    assert moved == {part: home for part, (home, _) in PARTS_UNDER_ANOTHER_STEP.items()}


def test_every_part_weighs_what_it_weighs_in_the_table() -> None:
    assert _different((p.id, p.kg, LIBRARY.parts[p.id].kg) for p in _table_parts()) == []


def test_every_part_sits_where_it_sits_in_the_table() -> None:
    found = ((p.id, _place(p.place), _place(_packs_place(p.id))) for p in _table_parts())
    assert _different(found) == []


def test_every_part_is_as_many_pieces_and_counts_as_in_the_table() -> None:
    packs = {part.id: (part.quantity, part.counts) for part in LIBRARY.parts.values()}
    wanted = ((p.id, (PIECES.get(p.id, 1), COUNTS.get(p.counts, "saving")), packs[p.id]) for p in _table_parts())
    assert _different(wanted) == []
    assert {p.quantity for p in _table_parts()} == {1}


def test_what_an_answer_decides_in_the_table_a_question_decides_in_the_packs() -> None:
    """Options ask what the car has; what the rules or the builder decide asks the rule book."""
    homes = {part.id: ref for ref, step in LIBRARY.steps.items() for part in step.parts}
    for part in _table_parts():
        pack, step = LIBRARY.by_id[homes[part.id].partition(".")[0]], LIBRARY.step(homes[part.id])
        if part.counts in ("option", "hatch", "hatch/2-door", "sunroof"):
            assert pack.has + step.has + step.has_any + LIBRARY.parts[part.id].has, part.id
        if part.counts in ("rule decides", "builder decides"):
            assert step.keep_rule, part.id


def test_what_a_step_comes_after_in_the_table_it_comes_after_in_the_packs() -> None:
    before = {ref: _all_before(ref) for ref in LIBRARY.steps}
    left_out = {(step.id, name) for step in table.steps() for name in step.after if name not in before[step.id]}
    assert left_out == set()


def test_every_hazard_of_the_table_is_met_by_one_that_answers_to_it() -> None:
    unanswered = {
        (step.id, word)
        for step in table.steps()
        for word in step.hazards
        if not set(ANSWERS.get(word, (word,))) & set(LIBRARY.step(step.id).hazards)
    }
    assert unanswered == set(HAZARDS_NOT_MET)


def test_the_packs_that_ship_pass_every_rule_of_the_check() -> None:
    assert [str(problem) for problem in audit(LIBRARY)] == []


# -- totals for the reference car


@pytest.mark.parametrize("stage", table.stages())
def test_a_stage_takes_the_hours_of_the_table(stage: str) -> None:
    minutes = [LIBRARY.step(step.id).minutes for step in _of_stage(stage)]
    hours = tuple(sum(column) / 60 for column in zip(*minutes, strict=True))
    assert len(minutes) == table.stages()[stage].steps
    assert hours == pytest.approx(table.stages()[stage].hours, abs=_rounding(stage))


@pytest.mark.parametrize("stage", table.stages())
def test_a_stage_takes_the_kilos_of_the_table_off_almost_every_car(stage: str) -> None:
    parts = lay_route(LIBRARY, CarShape()).parts
    base = [parts[part.id].kg for step in _of_stage(stage) for part in step.parts if part.counts == "base"]
    kg = tuple(sum(column) for column in zip(*base, strict=True)) or (0.0, 0.0, 0.0)
    assert kg == pytest.approx(table.stages()[stage].base_kg, abs=_rounding(stage))


# -- the order that protects people

NOT_IN_THE_CAR = {
    "heater-box.keep-or-delete": "a decision on paper",
    "heater-box.refrigerant-proof": "a receipt is looked at",
    "doors.door-rules": "the rule book is read",
    "glass.pane-by-pane": "a decision on paper",
    "glass.weather-sheets": "sheets are cut on the bench",
    "wiring.mark-diagram": "a diagram is coloured",
    "wiring.weigh-loom": "the loom lies on the scale",
    "wiring.married-set": "a decision on paper",
    "deadening.leftover-ice": "ice is carried out behind the ice gates: power does not shut that way",
}


POWER_MAY_BE_BACK = {
    **NOT_IN_THE_CAR,
    "deadening.plan-the-ice": "ice is fetched",
    "early-airbags.count-sheet": "a sheet is written",
    "seats.store-seats": "live seats go into the store: that way is never shut",
    "belts.store-and-count": "live reels go into the store: that way is never shut",
    "wiring.first-start": "power comes on, and every live module is accounted for",
    "wiring.second-start": "power comes on, and every live module is accounted for",
    "wiring.modules": "power comes on, and every live module is accounted for",
    "wiring.label-all": "labels go on, nothing is unplugged",
    "wiring.keep-circuits": "labels go on, nothing is unplugged",
    "wiring.lift-loom": "power is off for it, and every live module is accounted for",
    "wiring.whole-branches": "power is off for it, and every live module is accounted for",
    "wiring.unpin-wires": "power is off for it, and every live module is accounted for",
    "wiring.fuses": "power is off for it, and every live module is accounted for",
    "wiring.re-wrap": "power is off for it, and every live module is accounted for",
}
"""The steps of the strip that do not wait for battery, dead leads and airbag wait to stand at this moment."""


def test_the_car_is_worked_on_only_while_battery_dead_leads_and_airbag_wait_stand() -> None:
    """Power that came back shuts the strip until they stand again. Common practice: stages 04-20 need them all."""
    strip = {ref for ref in LIBRARY.steps if ref.partition(".")[0] in STRIP}
    unguarded = {ref for ref in strip if not {"battery", "battery-dead", "airbag-wait"} <= _gates(ref)}
    assert unguarded == set(POWER_MAY_BE_BACK)


def test_the_loom_is_touched_only_while_every_live_module_is_accounted_for() -> None:
    """Common practice: no trial start with an uncounted inflator, no cut with a battery connected."""
    at_the_car = {f"wiring.{step.id}" for step in LIBRARY.by_id["wiring"].steps} - NOT_IN_THE_CAR.keys()
    assert len(at_the_car) == 10
    for ref in at_the_car:
        assert "live-listed" in _gates(ref), ref
        if "power is off" in POWER_MAY_BE_BACK[ref]:
            assert {"battery", "battery-dead", "battery-looked"} <= _gates(ref), ref


def test_nothing_is_taken_apart_before_the_battery_is_tagged_out() -> None:
    early = {
        ref
        for ref in LIBRARY.steps
        if ref.partition(".")[0] in STRIP and "make-safe.tag-out" not in needed_by_way_of(LIBRARY, ref)
    }
    assert early == set(NOT_IN_THE_CAR)


def test_tagging_out_waits_for_every_source_of_power_and_the_whole_wait() -> None:
    needed = needed_by_way_of(LIBRARY, "make-safe.tag-out")
    assert {"plan.high-voltage", "make-safe.main-battery", "make-safe.second-battery"} <= set(needed)
    assert {"battery", "battery-dead", "airbag-wait"} <= _gates("make-safe.tag-out")


def test_no_ice_hammer_heat_spark_or_solvent_before_no_live_module_is_left() -> None:
    rough = re.compile(r"\b(mallet|hammer|hot-air gun|heat gun|grinder|strip disc|blow ?lamp|drill)\b", re.IGNORECASE)
    hazards = {"dry-ice", "hot-work", "heat", "solvent", "drilling"}
    found = [
        ref
        for ref, step in LIBRARY.steps.items()
        if (hazards & set(step.hazards) or rough.search(" ".join(step.tools))) and not _waits_for_no_module_left(step)
    ]
    assert found == []
    assert sum(bool(hazards & set(step.hazards)) for step in LIBRARY.steps.values()) >= 10


def test_hands_come_near_a_live_module_only_where_the_law_allows_and_after_the_whole_wait() -> None:
    for ref, step in LIBRARY.steps.items():
        if "airbag" in step.hazards or any(part.modules for part in step.parts):
            wanted = {"may-i", "session", "battery", "battery-dead", "airbag-wait", "airbag-store", "airbag-handling"}
            assert wanted <= _gates(ref), ref
        if "stored-airbag" in step.hazards:
            assert {"may-i", "airbag-store"} <= _gates(ref), ref


def test_the_law_is_asked_before_anything_else_about_a_live_module() -> None:
    assert LIBRARY.gates["airbag-handling"].follows[0] == "may-i"
    assert LIBRARY.hazards["airbag"].gates[0] == LIBRARY.hazards["stored-airbag"].gates[0] == "may-i"


def test_wires_are_cut_only_with_every_battery_off_and_proved_dead() -> None:
    cutter = re.compile(r"\b(side cutters?|wire cutters?|snips|crimps)\b", re.IGNORECASE)
    cutting = [
        ref for ref, step in LIBRARY.steps.items() if "wire-cut" in step.hazards or cutter.search(str(step.tools))
    ]
    assert {"wiring.lift-loom", "wiring.whole-branches", "wiring.unpin-wires", "wiring.fuses"} <= set(cutting)
    for ref in cutting:
        assert {"battery", "battery-dead"} <= _gates(ref), ref


def test_power_comes_back_only_with_every_live_module_accounted_for() -> None:
    starts = [ref for ref, step in LIBRARY.steps.items() if "power-up" in step.hazards]
    assert {"wiring.first-start", "wiring.second-start", "power-up.lamp-in-series", "power-up.first-start"} <= set(
        starts
    )
    for ref in starts:
        counted = [gate for gate in _gates(ref) if isinstance(LIBRARY.gates[gate], CountGate)]
        assert counted, ref


def test_no_pipe_of_the_air_conditioning_opens_without_the_receipt() -> None:
    for ref in ("heater-box.pipes-off", "heater-box.under-bonnet"):
        assert "refrigerant" in _gates(ref)
        assert "heater-box.refrigerant-proof" in needed_by_way_of(LIBRARY, ref)
    assert "heater-box.pipes-off" in _all_before("heater-box.box-out")


def test_the_pipes_stay_shut_where_the_heater_stays_as_it_is() -> None:
    for keep in (True, False):
        route = lay_route(LIBRARY, CarShape(rules={"heater-box": KeepAnswer(keep, "4.2", "2026-01-31")}))
        for ref in ("heater-box.coolant-out", "heater-box.pipes-off", "heater-box.box-out"):
            assert bool(route.by_ref[ref].kept) == keep, ref


def test_a_door_card_comes_off_as_if_a_live_bag_sat_behind_it() -> None:
    """Common practice: doors need the gates of handling live modules, too. Nothing behind the card is touched before
    it is known whether there is one."""
    for ref in ("doors.front-cards", "doors.rear-cards"):
        assert {"may-i", "airbag-store", "airbag-handling"} <= _gates(ref), ref
    behind = (
        "speakers",
        "moisture-barrier",
        "front-glass",
        "regulators",
        "rear-glass",
        "looms-and-mirrors",
        "skin-pads",
    )
    for step in behind:
        assert "doors.sensors-and-bags" in needed_by_way_of(LIBRARY, f"doors.{step}"), step


def test_door_cards_and_glass_wait_for_the_rules_and_the_beam_for_the_builder_and_a_strut() -> None:
    doors = ("front-cards", "rear-cards", "front-glass", "rear-glass")
    assert all(LIBRARY.step(f"doors.{step}").keep_rule for step in doors)
    assert LIBRARY.step("dash.beam-out").keep_rule == "dash-beam"
    assert "dash.beam-question" in needed_by_way_of(LIBRARY, "dash.beam-out")
    assert "column-held" in _gates("dash.beam-out")


def test_the_car_keeps_what_it_rolls_steers_and_stops_by_until_the_cage_is_in() -> None:
    steering_or_stopping = re.compile(
        r"steering wheel|column(?! shroud)|parking brake|brake pedal|road wheel|tow eye", re.IGNORECASE
    )
    taken = {
        part.id: step.defer_until
        for step in LIBRARY.steps.values()
        for part in step.parts
        if steering_or_stopping.search(part.name) and part.counts == "saving"
    }
    assert taken == {"road-steering-wheel": "cage-in"}


def test_the_car_moves_only_with_its_wheel_on_its_column_held_and_its_pedal_there() -> None:
    moving = LIBRARY.gates["moving"]
    assert isinstance(moving, TicksGate)
    assert moving.each_step
    assert all(word in " ".join(moving.ticks).lower() for word in ("steering wheel", "column", "brake", "wheels on"))
    for ref in ("hand-over.rolls-and-stops", "hand-over.load"):
        assert "moving" in _gates(ref)
    assert "hand-over.rolls-and-stops" in needed_by_way_of(LIBRARY, "hand-over.load")


def test_the_hand_over_sheet_is_signed_only_over_fuel_power_count_and_hidden_list() -> None:
    state = {
        "hand-over.hidden-list",
        "hand-over.fuel-state",
        "hand-over.welding-electrics",
        "hand-over.live-count-zero",
    }
    assert state <= set(needed_by_way_of(LIBRARY, "hand-over.at-the-builder"))


# -- what the answers about the car change


def _told_of(route: Route) -> object:
    """All that an answer may change: steps, parts (kilos, place, stuff), modules, gates that stand by themselves."""
    steps = [(step.ref, step.not_fitted is None) for step in route.steps]
    parts = [(part.id, part.fitted, part.kg, part.x, part.y, part.part.material) for part in route.parts.values()]
    gates = [gate.id for gate in LIBRARY.gates.values() if route.shape.has_none_of(gate.has)]
    return steps, parts, route.modules, gates


@pytest.mark.parametrize("feature", LIBRARY.features)
def test_every_question_about_the_car_changes_something(feature: str) -> None:
    yes, no = (lay_route(LIBRARY, CarShape(fitted={feature: answer})) for answer in (True, False))
    assert _told_of(yes) != _told_of(no)


@pytest.mark.parametrize(
    ("part", "feature", "yes_kg", "no_kg"),
    [
        ("rear-backrest", "split-rear-seat", (16.0, 20.0, 28.0), (7.0, 12.0, 20.0)),
        ("driver-seat", "powered-seats", (20.0, 25.0, 34.0), (14.0, 17.0, 22.0)),
        ("passenger-seat", "powered-seats", (19.0, 24.0, 32.0), (13.0, 16.0, 20.0)),
        ("sunroof-cassette", "glass-roof", (14.0, 20.0, 28.0), (6.0, 9.0, 14.0)),
        ("dash-beam", "magnesium-beam", (3.0, 4.5, 6.5), (5.0, 8.0, 12.0)),
    ],
)
def test_a_part_weighs_what_the_answer_says_and_the_tables_middle_case_without_one(
    part: str, feature: str, yes_kg: tuple[float, ...], no_kg: tuple[float, ...]
) -> None:
    """The table's masses for each kind (common practice); the passenger's powered seat follows the driver's."""
    routes = {
        answer: lay_route(LIBRARY, CarShape(fitted={feature: answer}, size_factor=1.3)) for answer in (True, False)
    }
    assert routes[True].parts[part].kg == pytest.approx([1.3 * kg for kg in yes_kg])
    assert routes[False].parts[part].kg == pytest.approx([1.3 * kg for kg in no_kg])
    assert lay_route(LIBRARY, CarShape()).parts[part].kg == LIBRARY.parts[part].kg


def test_all_panes_of_a_glass_roof_weigh_the_same_whether_one_opens_or_none() -> None:
    """All panes: 14, 20, 30 kg (the table's panoramic sunroof; common practice)."""
    opens = lay_route(LIBRARY, CarShape(fitted={"glass-roof": True, "sunroof": True})).parts
    fixed = lay_route(LIBRARY, CarShape(fitted={"glass-roof": True, "sunroof": False})).parts
    both = [a + b for a, b in zip(opens["sunroof-glass"].kg, opens["roof-glass"].kg, strict=True)]
    assert both == pytest.approx([14.0, 20.0, 30.0])
    assert fixed["roof-glass"].kg == (14.0, 20.0, 30.0)
    assert not fixed["sunroof-glass"].fitted


def test_a_glass_roof_that_does_not_open_comes_out_and_its_hole_is_closed_with_metal() -> None:
    route = lay_route(LIBRARY, CarShape(fitted={"glass-roof": True, "sunroof": False}))
    there = {ref for ref, step in route.by_ref.items() if step.not_fitted is None}
    assert {"sunroof.roof-glass", "sunroof.template", "sunroof.weather-cover", "fitting.roof-panel"} <= there
    assert there & {"sunroof.drains-mapped", "sunroof.glass-out", "sunroof.motor", "sunroof.cassette-out"} == set()
    assert {"glass", "second-person", "lift-ready"} <= _gates("sunroof.roof-glass")
    steel = lay_route(LIBRARY, CarShape(fitted={"glass-roof": False, "sunroof": False}))
    assert steel.by_ref["sunroof.template"].not_fitted == (
        "not on this car: Does the roof have an opening sunroof? No. Is most of the roof glass? No."
    )


def test_a_boot_battery_is_placed_there_and_reached_before_power_goes() -> None:
    route = lay_route(LIBRARY, CarShape(fitted={"battery-in-boot": True}))
    assert route.parts["starter-battery"].x == 1.15  # the table's note on 03.09 (common practice)
    assert lay_route(LIBRARY, CarShape()).parts["starter-battery"].x == -0.02
    assert "make-safe.boot-battery" in needed_by_way_of(LIBRARY, "make-safe.main-battery")
    assert "powered-jobs.latches" in needed_by_way_of(LIBRARY, "make-safe.boot-battery")


def test_a_second_battery_comes_off_after_the_main_one_and_before_anything_counts_as_dead() -> None:
    """Trade: the wait counts from the moment the last of all sources came off."""
    assert "make-safe.main-battery" in needed_by_way_of(LIBRARY, "make-safe.second-battery-leads")
    assert "make-safe.second-battery-leads" in needed_by_way_of(LIBRARY, "make-safe.prove-dead")
    assert {"battery", "battery-handling"} <= _gates("make-safe.second-battery-leads")


def test_an_electric_parking_brake_is_set_before_power_goes_and_behind_chocks() -> None:
    assert "powered-jobs.electric-parking-brake" in _all_before("make-safe.keys-away")
    assert "chocked" in _gates("powered-jobs.electric-parking-brake")


def test_a_gas_tank_is_a_licensed_workshops_business_before_the_bay_and_before_the_welder() -> None:
    """Nobody's answer, and the fuel `gas`, count as one; an answer of its own does not talk it away."""
    ref = "powered-jobs.gas-tank"
    assert "licensed" in LIBRARY.step(ref).title
    assert ref in _all_before("powered-jobs.into-the-bay")
    assert ref in needed_by_way_of(LIBRARY, "hand-over.at-the-builder")
    for shape in (CarShape(), CarShape(fuel="gas"), CarShape(fuel="gas", fitted={"gas-tank": False})):
        assert lay_route(LIBRARY, shape).by_ref[ref].not_fitted is None
    asked = {fuel: {feature.id for feature in questions(LIBRARY, {"fuel": fuel})} for fuel in ("petrol", "gas")}
    assert asked["petrol"] - asked["gas"] == {ref.partition(".")[2]}  # beside the petrol there may be a gas tank
    petrol = lay_route(LIBRARY, CarShape(fuel="petrol", fitted={"gas-tank": False}))
    assert petrol.by_ref[ref].not_fitted == "not on this car: Is there a gas tank, alone or beside the petrol tank? No."


@pytest.mark.parametrize(
    ("first", "hangs_on_it"),
    [
        ("air-conditioning", "air-conditioning-charged"),
        ("rear-seats", "split-rear-seat"),
        ("spare-wheel", "underslung-spare"),
    ],
)
def test_a_question_that_an_answer_settled_counts_as_no_and_only_that(first: str, hangs_on_it: str) -> None:
    def may_have(**fitted: bool) -> bool:
        answers = {name.replace("_", "-"): yes for name, yes in fitted.items()}
        return lay_route(LIBRARY, CarShape(fitted=answers)).shape.may_have(hangs_on_it)

    key, own = first.replace("-", "_"), hangs_on_it.replace("-", "_")
    assert may_have()  # unknown stays present
    assert may_have(**{key: True})
    assert not may_have(**{key: False})
    assert may_have(**{key: False, own: True})  # a yes of its own is not talked away
    assert hangs_on_it not in {feature.id for feature in questions(LIBRARY, {"fitted": {first: False}})}
    assert hangs_on_it in {feature.id for feature in questions(LIBRARY, {})}


def test_no_live_module_is_ruled_out_by_the_answer_to_another_question() -> None:
    asked = {name for module in LIBRARY.modules.values() for name in module.has}
    assert {name for name in asked if LIBRARY.features[name].only_if} == set()


# -- live modules


def test_every_live_module_is_carried_by_exactly_one_part() -> None:
    carriers = lay_route(LIBRARY, CarShape()).carriers
    assert carriers.keys() == LIBRARY.modules.keys()
    assert {module: parts for module, parts in carriers.items() if len(parts) != 1} == {}


@pytest.mark.parametrize("module", LIBRARY.modules)
def test_a_live_module_comes_off_whatever_else_the_car_lacks_and_the_rules_keep(module: str) -> None:
    has = set(LIBRARY.modules[module].has)
    has |= {"rear-seats"} if has & set(NEVER_WITHOUT_REAR_SEATS) else set()
    fitted = {feature: feature in has for feature in LIBRARY.features}
    rules = {rule: KeepAnswer(True, "4.2", "2026-01-31") for rule in LIBRARY.rules}
    route = lay_route(LIBRARY, CarShape(fitted=fitted, rules=rules))
    (part,) = route.carriers[module]
    step = route.by_ref[route.parts[part].step]
    assert route.parts[part].fitted, step.not_fitted
    assert step.kept is None


COUNTED = (
    *("Driver's airbag", "Passenger's airbag", "Knee airbag", "Side airbag", "Rear side airbag", "Curtain airbag"),
    *("Door airbag", "Belt reel pretensioner", "Rear belt pretensioner", "Buckle pretensioner", "Lap pretensioner"),
    *("Active head restraint", "Bonnet lifter", "Battery terminal cutter"),
)
"""What the trade counts, the two outside the cabin last (common practice)."""


def test_every_kind_of_live_module_is_counted_and_no_answer_counts_as_fitted() -> None:
    names = {module.name.partition(",")[0] for module in LIBRARY.modules.values()}
    assert names == set(COUNTED)
    assert {module.id for module in lay_route(LIBRARY, CarShape()).modules} == LIBRARY.modules.keys()
    for name, module in LIBRARY.modules.items():
        assert all(LIBRARY.features[feature].look_for for feature in module.has), name


def test_hands_go_under_the_bonnet_after_its_lifters() -> None:
    for ref in ("outside.bonnet-pad", "outside.bulkhead-outer-mat", "heater-box.under-bonnet"):
        assert "early-airbags.bonnet-lifters" in _all_before(ref), ref


def test_no_rear_seats_is_said_only_of_a_car_without_rear_belts_and_bolsters() -> None:
    """A rear seat may be long gone and its live reels still there: the question must ask for them, too."""
    asks = LIBRARY.features["rear-seats"].asks
    assert all(word in asks for word in NEVER_WITHOUT_REAR_SEATS.values()), asks


# -- what is put off and comes back

PUT_OFF_BY_HAND = {
    "dash-open": "early-airbags.passenger-bag-out",
    "dash-out": "headliner.curtains-out",
    "heater-out": "carpet.main-carpet",
}
"""Milestones no step waits for by its pack: the step whose own words put it off until then, on some cars."""


def test_every_milestone_brings_something_back() -> None:
    by_pack = {step.defer_until for step in LIBRARY.steps.values() if step.defer_until}
    assert by_pack == {"sweep-closed", "bare-start", "cage-in", "running"}
    assert LIBRARY.milestones.keys() - by_pack == PUT_OFF_BY_HAND.keys()


@pytest.mark.parametrize(("milestone", "ref"), PUT_OFF_BY_HAND.items())
def test_a_step_that_may_be_put_off_by_hand_says_until_when_and_can_be(milestone: str, ref: str) -> None:
    thing = LIBRARY.milestones[milestone].title.lower().split()[0]
    says = LIBRARY.step(ref).do.replace("\n", " ")
    assert re.search(rf"put this step off until the {thing}", says, re.IGNORECASE), says
    state = State(lay_route(LIBRARY, CarShape()), parse_facts('name = "Test car"'))
    assert milestone in [one.id for one in milestones_ahead(state, state.route.by_ref[ref])]


def test_nothing_waits_for_a_dash_that_stays() -> None:
    kept = CarShape(rules={"dash-shell": KeepAnswer(True, "4.2", "2026-01-31")})
    state = State(lay_route(LIBRARY, kept), parse_facts('name = "Test car"'))
    curtains = state.route.by_ref["headliner.curtains-out"]
    assert why_not_until(state, curtains, LIBRARY.milestones["dash-out"]) == (
        "Dash out: that does not come: rule 4.2 (2026-01-31)"
    )


def test_the_roof_pads_wait_for_the_sweep_and_the_runs_for_a_car_that_runs() -> None:
    """Trade: no heat before the live modules are counted out; nothing of stage 25 is driven before 24.05."""
    waits = {ref: step.defer_until for ref, step in LIBRARY.steps.items() if step.defer_until != "cage-in"}
    assert {ref: until for ref, until in waits.items() if until} == {
        "headliner.roof-pads": "sweep-closed",
        "wiring.married-set": "bare-start",
        "closing.repeat-runs": "running",
    }


# -- what goes back


def test_the_steps_that_end_the_job_and_no_others_ask_for_what_is_out_for_now() -> None:
    assert {ref for ref in LIBRARY.steps if "all-back" in _gates(ref)} == set(END_OF_JOB)


def test_what_is_out_for_now_comes_back_before_the_car_is_weighed_as_it_was() -> None:
    assert {part.id for part in LIBRARY.parts.values() if part.counts == "temporary"} == {
        *("starter-battery", "second-battery", "door-seals", "instrument-cluster", "windscreen")
    }
    assert "goes back in, or is posted as removed" in LIBRARY.step("closing.repeat-condition").do
    assert "closing.repeat-condition" in _all_before("closing.weigh-again")


def test_no_plug_of_a_live_module_and_no_battery_lead_goes_straight_back() -> None:
    """What goes straight back is asked for: the question must never ask for a bag to be plugged in again."""
    asked = {
        (ref, fasteners.what)
        for ref, step in LIBRARY.steps.items()
        for fasteners in step.refits
        if re.search(r"plug|lead|clamp", fasteners.what) and not re.search(r"stay OFF|on its sensor", fasteners.what)
    }
    assert asked == set()


# -- helpers


def _different(rows: Iterable[tuple[str, object, object]]) -> list[str]:
    return [f"{name}: the table says {wanted}, the packs {found}" for name, wanted, found in rows if wanted != found]


def _persons(row: table.TableStep) -> int:
    return row.persons[1] if _asks_for_two(LIBRARY.step(row.id)) else row.persons[0]


def _asks_for_two(step: Step) -> bool:
    return any(isinstance(LIBRARY.gates[gate], PeopleGate) for gate in _gates_of(step))


def _waits_for_no_module_left(step: Step) -> bool:
    gates = (LIBRARY.gates[gate] for gate in _gates_of(step))
    return any(isinstance(gate, CountGate) and not gate.allows_fitted for gate in gates)


def _gates(ref: str) -> set[str]:
    """Every gate of a step, of its pack and of every step at the car."""
    pack, step = LIBRARY.by_id[ref.partition(".")[0]], LIBRARY.step(ref)
    shared = set() if step.elsewhere else {*pack.hazards, *EVERYWHERE}
    return _gates_of(step) | _brought(shared - step.mentions.keys())


def _gates_of(step: Step) -> set[str]:
    """Every gate a step's own hazards bring."""
    return _brought(step.hazards)


def _brought(hazards: Iterable[str]) -> set[str]:
    """Every gate these hazards bring, with all they follow."""
    return {gate.id for hazard in hazards for gate in LIBRARY.gates_behind(LIBRARY.hazards[hazard].gates)}


def _all_before(ref: str) -> set[str]:
    """Every step that must be over before this one: needs, after and the milestone, and theirs."""
    found: set[str] = set()
    waiting = [ref]
    while waiting:
        name = waiting.pop()
        pack, step = LIBRARY.by_id[name.partition(".")[0]], LIBRARY.step(name)
        milestone = [LIBRARY.milestones[step.defer_until].step] if step.defer_until else []
        new = {whole_reference(pack, before) for before in (*step.needs, *step.after, *milestone)} - found
        found |= new
        waiting += new
    return found


def _table_parts() -> list[table.TablePart]:
    return [part for step in table.steps() for part in step.parts]


def _packs_place(part: str) -> tuple[float, str, float]:
    place = LIBRARY.parts[part].place
    return place.x, place.y, place.z


def _place(place: tuple[float, str, float]) -> tuple[float, str, float]:
    """`0.0` and `0` are the same middle of the car."""
    x, y, z = place
    return x, y if y[0] in "DP" else f"{float(y):g}", z


def _of_stage(stage: str) -> list[table.TableStep]:
    return [step for step in table.steps() if stage in ("all", step.stage)]


def _rounding(stage: str) -> float:
    """The table's stages are rounded to a tenth, the whole to one; steps of no time at all take a minute here."""
    return 0.5 + len(LEAST_MINUTES) / 60 if stage == "all" else 0.05 + 1e-9


def test_what_buyers_ask_is_questions_and_advice_to_the_seller_stands_in_the_note() -> None:
    parts = [part for pack in LIBRARY.packs for step in pack.steps for part in step.parts]
    asked = {part.id: part.buyers_ask for part in parts if part.buyers_ask}
    assert {part: ask for part, ask in asked.items() if not re.fullmatch(r"([A-Z][^?.]+\?( |$))+", ask)} == {}
    told = {part.id: part.note or "" for part in parts}
    assert "Too bulky to post cheaply." in told["main-carpet"]
    assert "Sell it WITHOUT the airbag." in told["road-steering-wheel"]
