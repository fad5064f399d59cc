"""The count of live modules, in the packs that ship: one that does not agree stops all work, and one at a time goes to
the store.

Trade (common practice): a count that does not agree stops all work; every module move asks for the count; carried
one at a time, stored, written on the sheet.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.ruling import Refusal
from teardown.car.steps import view_step
from teardown.packs.route import CarShape, lay_route
from tests.procedures.test_shipped_safety import AT_THE_CAR, NO_RULE_KEEPS
from tests.procedures.test_shipped_walks import FACTS, LIBRARY, Bench, State, gates_met, note
from tests.walker import Walker

LIGHT_CAR = CarShape(fitted=dict.fromkeys(LIBRARY.features, False), rules=NO_RULE_KEEPS)
COUNTS = ("live-count", "live-none", "live-listed")
STORE = "airbag-store"


def walked_to(ref: str, car: CarShape = LIGHT_CAR) -> tuple[Bench, Walker]:
    """Everything before a step is done."""
    bench = Bench(car)
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    for laid in bench.folded.route.steps:
        if laid.ref == ref:
            break
        if walker.can_come(laid):
            walker.do_step(laid)
    return bench, walker


@pytest.fixture(scope="module")
def counted() -> tuple[Bench, Walker]:
    """The battery is off, the wait has run, and somebody has looked for every live module."""
    bench, walker = walked_to("seats.check-gates")
    for module in bench.folded.route.modules:
        walker.enter("not-there", module=module.id, why="looked")
    walker.open_gate(STORE)
    return bench, walker


def miscounted(bench: Bench) -> Bench:
    again = Bench(LIGHT_CAR, tuple(bench.written))
    Walker(again, again.clock).enter("happened", what="module-moved", why="count does not agree")  # type: ignore[arg-type]
    return again


def test_a_count_that_does_not_agree_shuts_every_count_and_every_step_at_the_car(
    counted: tuple[Bench, Walker],
) -> None:
    assert all(counted[0].now().gates[gate].stands for gate in COUNTS)
    bench = miscounted(counted[0])
    gates = bench.now().gates
    assert gates[STORE].why == "stands no more: count does not agree. Confirm it again from the first line"
    assert gates[STORE].holds == "the car"
    for count in COUNTS:
        assert gates[count].why == "the count has yet to agree again: confirm Airbag store and count"
    assert bench.ready(AT_THE_CAR) == []
    shut = [view for ref in AT_THE_CAR if (view := view_step(bench.now(), bench.folded.route.by_ref[ref])).shut_by]
    assert shut
    assert all(STORE in {gate.gate.id for gate in view.shut_by} for view in shut)


def test_work_goes_on_when_the_modules_have_been_counted_again(counted: tuple[Bench, Walker]) -> None:
    before = counted[0].ready(AT_THE_CAR)
    assert before
    bench = miscounted(counted[0])
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    walker.open_gate("heat-and-solvent")
    assert not bench.now().gates["heat-and-solvent"].stands, "nothing opens behind a count that does not agree"
    walker.open_gate(STORE)
    assert all(bench.now().gates[gate].stands for gate in COUNTS)
    assert set(bench.ready(AT_THE_CAR)) >= {ref for ref in before if not gates_met(ref) & {"airbag-handling"}}


def test_taking_the_new_count_back_stops_the_work_again(counted: tuple[Bench, Walker]) -> None:
    bench = miscounted(counted[0])
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    walker.open_gate(STORE)
    walker.enter("undo", entry=bench.folded.entries)
    assert bench.ready(AT_THE_CAR) == []


GATES = [gate.id for gate in LIBRARY.gates.values() if gate.kind == "ticks" and gate.id != STORE]


@settings(max_examples=15, deadline=None)
@given(opened=st.lists(st.sampled_from([*GATES, "note", "people"]), max_size=12))
def test_whatever_is_confirmed_nobody_works_at_the_car_before_the_count(
    counted: tuple[Bench, Walker], opened: list[str]
) -> None:
    bench = miscounted(counted[0])
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    for what in opened:
        if what == "note":
            walker.enter("note", text="we looked under the seat")
        elif what == "people":
            walker.enter("people-here", count=2)
        else:
            walker.open_gate(what)
        assert bench.ready(AT_THE_CAR) == []


def test_no_airbag_is_touched_while_another_one_lies_about() -> None:
    """One at a time: off, carried, stored, written down."""
    bench, walker = walked_to("early-airbags.driver-bag-out", CarShape(fitted={"hybrid-or-48v": False}))
    route = bench.folded.route
    laid = route.by_ref["early-airbags.driver-bag-out"]
    walker.open_gates(laid)
    walker.enter("step-done", step=laid.ref, refitted=True)
    gates = bench.now().gates
    assert gates[STORE].why == "off, and not stored: Driver's airbag. Say where it lies: part-stored"
    assert gates["airbag-handling"].first == STORE
    airbag = [step.ref for step in route.steps if "airbag" in step.hazards]
    assert bench.ready(airbag) == []
    refused = bench.enter("gate-tick", {"gate": STORE, "tick": 1}, "Ana")
    assert isinstance(refused, Refusal)
    assert refused.why.startswith("Airbag store and count is confirmed: off, and not stored")
    walker.enter("part-stored", part="driver-airbag", where="store")
    assert bench.now().gates["airbag-handling"].stands, "what was confirmed stands: the walk goes on"


def test_a_step_that_was_done_without_the_part_this_car_does_not_have_left_nothing_lying_about() -> None:
    """Every car has the step, for its sensors; the airbag of a door is only in some."""
    state = State(lay_route(LIBRARY, CarShape(fitted={"door-airbags": False})), FACTS)
    note(state, "step-done", step="doors.sensors-and-bags")
    assert state.modules_loose() == ()
    note(state, "part-off", part="door-airbags")
    loose = f"{state.route.parts['door-airbags'].part.name} (car.toml rules it out: put that right first)"
    assert state.modules_loose() == (loose,), "it was there: somebody took it off"
