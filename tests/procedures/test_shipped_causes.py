"""What finishing a step does to gates, in the packs that ship: a car that was moved, fuel that was opened, 50 kg gone
from one end; what is told when a part goes back in; and what a person can say has happened.

The trade's own lists of what lapses each gate (common practice).
"""

from __future__ import annotations

import pytest

from teardown.car.asking import question_about_entry
from teardown.car.load import MOST_KG, gone_since
from teardown.car.log import Entry
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


def test_a_car_that_was_moved_is_chocked_supported_and_sniffed_at_again() -> None:
    state = State(lay_route(LIBRARY, CarShape(fitted=LIGHTLY)), FACTS)
    for gate in ("session", "chocked", "car-support", "fuel", "hot-work"):
        tick(state, gate)
    note(state, "step-done", step="powered-jobs.into-the-bay")
    for gate in ("chocked", "car-support", "fuel", "hot-work"):
        assert state.gates[gate].lapse == "Move to the work bay and chock: done", gate


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
