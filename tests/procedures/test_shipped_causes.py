"""What finishing a step does to gates, in the packs that ship: a car that was moved, fuel that was opened, 50 kg gone
from one end; what is told when a part goes back in; and what a person can say has happened.

The trade's own lists of what lapses each gate (common practice).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.asking import question_about_entry
from teardown.car.load import MOST_KG, gone_since
from teardown.car.log import Entry
from teardown.packs.model import Pack, Step
from teardown.packs.route import CarShape, lay_route
from tests.procedures.test_shipped_safety import LIGHTLY, NO_RULE_KEEPS, tick
from tests.procedures.test_shipped_walks import FACTS, LIBRARY, Bench, State, hazards_met, note

LAID = lay_route(LIBRARY, CarShape()).by_ref
DRIVES = {
    *("baseline.warm-up", "baseline.acceleration-runs", "baseline.braking-runs", "closing.repeat-runs"),
    *(
        "powered-jobs.refrigerant-out",
        "powered-jobs.run-fuel-down",
        "powered-jobs.gas-tank",
        "closing.repeat-condition",
    ),
}
FUEL = {
    *("powered-jobs.gas-tank", "hand-over.fuel-state", "close-out.fluids-and-batteries", "closing.repeat-condition"),
}


def causing(event: str) -> set[str]:
    return {ref for ref, laid in LAID.items() if event in laid.causes}


def test_every_step_that_moves_or_drives_the_car_says_that_it_was_moved() -> None:
    moving = {ref for ref in LAID if {"moving", "scales"} & hazards_met(ref)}
    assert "powered-jobs.into-the-bay" in moving
    assert causing("car-moved") == moving | DRIVES


def test_every_step_that_opens_or_adds_fuel_says_so() -> None:
    assert causing("fuel-opened") == FUEL


def test_a_step_with_causes_of_its_own_has_those_of_its_hazards_too() -> None:
    step = Step(id="one", title="One", do="Do it.", minutes=(1, 2, 3), hazards=("moving",), causes=("fuel-opened",))
    library = replace(LIBRARY, packs=(Pack(id="only", title="Only", why="A test.", steps=(step,)),))
    assert lay_route(library, CarShape()).by_ref["only.one"].causes == ("fuel-opened", "car-moved")


def test_a_car_that_was_moved_is_chocked_supported_and_sniffed_at_again() -> None:
    state = State(lay_route(LIBRARY, CarShape(fitted=LIGHTLY)), FACTS)
    for gate in ("session", "chocked", "car-support", "fuel", "hot-work"):
        tick(state, gate)
    note(state, "step-done", step="powered-jobs.into-the-bay")
    for gate in ("chocked", "car-support", "fuel", "hot-work"):
        assert state.gates[gate].lapse == "Move to the work bay and chock: done", gate


# -- a part that goes back where sparks will fly


def bare() -> State:
    """Seats, carpet and headliner are out; hot work is confirmed."""
    state = State(lay_route(LIBRARY, CarShape(fitted=LIGHTLY, rules=NO_RULE_KEEPS)), FACTS)
    for step in OUT:
        note(state, "step-done", step=step)
    tick(state, "hot-work")
    return state


OUT = ("seats.driver-out", "boot.mats", "carpet.out")
WAYS_BACK: dict[str, tuple[dict[str, object], str]] = {
    "part-back": ({"part": "driver-seat"}, "Driver's seat out: taken back"),
    "step-undone": ({"step": "seats.driver-out", "why": "in again"}, "Driver's seat out: taken back"),
    "undo": ({"entry": 1}, "Driver's seat out: taken back"),
    "step-done": ({"step": "after-cage.bar-padding"}, "fitted"),
    "part-off": ({"part": "bar-padding"}, "fitted"),
    "part-fitted": ({"name": "Race seat", "reading": "8kg", "mass_kg": 8.0}, "Race seat: fitted"),
}


@pytest.mark.parametrize("kind", WAYS_BACK)
def test_whatever_goes_back_or_on_asks_for_hot_work_anew(kind: str) -> None:
    """Any part refitted lapses it: foam and cloth are behind the weld again."""
    state, (fields, why) = bare(), WAYS_BACK[kind]
    assert state.gates["hot-work"].begun
    note(state, kind, **fields)
    assert not state.gates["hot-work"].begun
    assert why in (state.gates["hot-work"].lapse or "")


def test_what_was_found_and_goes_back_asks_for_it_too() -> None:
    state = bare()
    note(state, "part-found", name="Felt", reading="1kg", mass_kg=1.0)
    assert state.gates["hot-work"].begun
    note(state, "part-back", part=f"found-{state.entries}")
    assert state.gates["hot-work"].lapse == "a part went back in, or something was fitted"


def test_what_was_never_found_after_all_counts_as_still_in_the_car() -> None:
    state = bare()
    note(state, "part-found", name="Felt", reading="1kg", mass_kg=1.0)
    note(state, "undo", entry=state.entries)
    assert state.gates["hot-work"].lapse == "a part went back in, or something was fitted"


MOVES = [
    *(("step-done", {"step": step}) for step in (*OUT, "after-cage.bar-padding")),
    *(("step-undone", {"step": step, "why": "so"}) for step in OUT),
    *((kind, {"part": part}) for kind in ("part-off", "part-back") for part in ("driver-seat", "bar-padding")),
    *((kind, {"part": thing}) for kind in ("part-off", "part-back") for thing in ("found-40", "fitted-41")),
    ("part-found", {"name": "Felt", "reading": "1kg", "mass_kg": 1.0}),
    ("part-fitted", {"name": "Race seat", "reading": "8kg", "mass_kg": 8.0}),
]


def on_the_car(state: State) -> set[str]:
    parts = {p.id for p in state.route.parts.values() if (p.part.counts == "added") == state.is_out(p.id)}
    return parts | {
        thing.id for series in (state.found, state.fitted) for thing in series if not state.is_out(thing.id)
    }


@settings(max_examples=60, deadline=None)
@given(st.lists(st.one_of(st.sampled_from(MOVES), st.integers(0, 25)), max_size=10))
def test_over_random_histories_hot_work_never_stands_over_what_went_back_since(
    history: list[tuple[str, dict[str, object]] | int],
) -> None:
    state = bare()
    while state.entries < 39:
        note(state, "note", text="so that the next have their names")
    note(state, "part-found", name="Felt", reading="1kg", mass_kg=1.0)
    note(state, "part-fitted", name="Race seat", reading="8kg", mass_kg=8.0)
    for move in history:
        tick(state, "hot-work")
        before = on_the_car(state)
        kind, fields = ("undo", {"entry": state.entries - move}) if isinstance(move, int) else move
        note(state, kind, **fields)
        if on_the_car(state) - before:
            assert not state.gates["hot-work"].begun, (kind, fields)


# -- what a step does, its parts do one by one


def test_modules_unplugged_one_by_one_mean_power_as_the_whole_step_does() -> None:
    """Each group is tried with power on."""
    state = State(lay_route(LIBRARY, CarShape(fitted=LIGHTLY, rules=NO_RULE_KEEPS)), FACTS)
    tick(state, "battery")
    note(state, "part-off", part="control-modules")
    assert state.gates["battery"].lapse == "Control modules, one group at a time: begun"


# -- 50 kg gone from one end


def on_stands(size: float = 1.0) -> State:
    state = State(lay_route(LIBRARY, CarShape(fitted=LIGHTLY, rules=NO_RULE_KEEPS, size_factor=size)), FACTS)
    tick(state, "session")
    tick(state, "car-support")
    return state


def supported(state: State) -> bool:
    return bool(state.gates["car-support"].ticks)


def test_more_than_50_kg_gone_from_one_end_asks_for_the_stands_again() -> None:
    state = on_stands()
    for step in ("seats.driver-out", "seats.passenger-out", "boot.mats"):
        note(state, "step-done", step=step)
        assert supported(state)
    note(state, "step-done", step="boot.spare-wheel")
    assert state.gates["car-support"].lapse == "52 kg left the rear end (limit 50): a car on stands can tip"
    tick(state, "car-support")
    note(state, "step-done", step="boot.tools-and-jack")
    assert supported(state), "it counts from when the stands were confirmed"


def test_what_a_part_was_weighed_at_counts_whenever_it_is_weighed() -> None:
    state = on_stands()
    note(state, "step-done", step="seats.driver-out")
    assert supported(state)
    note(state, "part-weighed", part="driver-seat", mass_kg=50.1, how="direct", reading="50.1kg")
    assert not supported(state)


def test_what_lies_at_the_other_end_and_what_went_on_makes_up_for_nothing() -> None:
    state = on_stands()
    note(state, "part-found", name="sandbags", mass_kg=30.0, reading="30kg")
    note(state, "part-fitted", name="weights", mass_kg=40.0, reading="40kg", x=1.0, y="0", z=0.3)
    assert gone_since(state, 0) == (30.0, 30.0), "nobody said where the bags lay"
    note(state, "part-found", name="engine", mass_kg=MOST_KG - 29, reading="21kg", x=0.0, y="0", z=0.5)
    assert state.gates["car-support"].lapse == "51 kg left the front end (limit 50): a car on stands can tip"


# -- a part that goes back in


def told(bench: Bench, part: str) -> str:
    entry = bench.enter("part-back", {"part": part}, "Ana")
    assert isinstance(entry, Entry)
    return question_about_entry(bench.folded, entry)


@pytest.fixture
def stripped() -> Bench:
    bench = Bench(CarShape(fitted=LIGHTLY, rules=NO_RULE_KEEPS))
    for ref in bench.folded.route.by_ref:
        note(bench.folded, "step-done", step=ref)
    return bench


def test_a_seat_with_a_live_module_that_goes_back_is_told_with_its_hazard_and_its_gates(stripped: Bench) -> None:
    says = told(stripped, "driver-seat")
    assert says.startswith(
        "Driver's seat is in again. Live airbag or pretensioner; Heavy lift. You have not confirmed: "
    )
    for gate in ("Airbag wait", "Airbag store and count", "Hands on a live airbag", "Second person"):
        assert gate in says
    assert stripped.folded.gates["airbag-store"].lapse == "a live module counts as in the car again"


def test_a_seat_without_one_is_a_lift() -> None:
    bench = Bench(CarShape(fitted=dict.fromkeys(LIBRARY.features, False), rules=NO_RULE_KEEPS))
    note(bench.folded, "step-done", step="seats.driver-out")
    assert told(bench, "driver-seat").startswith("Driver's seat is in again. Heavy lift. You have not confirmed: ")


def test_the_windscreen_is_told_as_glass(stripped: Bench) -> None:
    assert "Glass; Heavy lift. You have not confirmed: " in told(stripped, "windscreen")


def test_the_battery_is_power_and_every_module_nobody_accounted_for_is_named(stripped: Bench) -> None:
    says = told(stripped, "starter-battery")
    assert says.startswith(
        "Starter battery is in again. Power comes back. You have not confirmed: "
        "Every live module accounted for: not accounted for: Driver's airbag"
    )
    assert stripped.folded.gates["airbag-wait"].since is None


def test_a_floor_mat_that_goes_back_hurts_nobody(stripped: Bench) -> None:
    assert told(stripped, "floor-mats") == ""


# -- what has happened


def test_a_system_that_was_filled_or_hissed_asks_for_the_receipt_again() -> None:
    bench = Bench(CarShape(fitted=LIGHTLY))
    words = {"gate": "refrigerant", "by": "shop, reg. 4411", "paper": "receipt 17"}
    assert isinstance(bench.enter("gate-signed", words, "Ana"), Entry)
    assert bench.now().gates["refrigerant"].stands
    bench.enter("happened", {"what": "refrigerant-there", "why": "it hissed as the pipe came loose"}, "Ana")
    assert bench.now().gates["refrigerant"].why.startswith("stands no more: it hissed as the pipe came loose. STOP.")


def test_somebody_who_was_hurt_or_nearly_ends_the_session() -> None:
    bench = Bench(CarShape(fitted=LIGHTLY))
    tick(bench.folded, "session")
    bench.enter("happened", {"what": "hurt", "why": "a jack slipped"}, "Ana")
    assert bench.now().gates["session"].why.startswith("stands no more: a jack slipped.")
