"""Under which hazard a gate stands, with the packs that ship."""

from __future__ import annotations

import pytest

from teardown.car.briefing import hazard_of_gate
from teardown.car.facts import parse_facts
from teardown.car.state import State
from teardown.packs.reader import load
from teardown.packs.route import lay_route
from teardown.packs.shipped import procedures


@pytest.fixture(scope="module")
def state() -> State:
    """A car of which nothing is known: every gate is on its route."""
    facts = parse_facts('name = "Test car"\n')
    return State(lay_route(load(procedures()), facts.shape), facts)


def headed_by(state: State, gate: str, *, met: set[str]) -> str | None:
    """The hazard over a gate that was opened with a step in front that meets just these hazards."""
    step = next(step for step in state.route.steps if {*step.step.hazards} == met)
    hazard = hazard_of_gate(state, gate, step)
    return hazard.id if hazard else None


@pytest.mark.parametrize("gate", ["session", "second-person"])
def test_what_half_of_all_work_asks_for_stands_under_no_hazard_where_the_step_in_front_meets_none(
    state: State, gate: str
) -> None:
    """Nobody who opens the day reads that a car comes down, and wears boots for it."""
    brings = [hazard for hazard in state.route.library.hazards.values() if gate in hazard.gates]
    assert len({hazard.id for hazard in brings if hazard.signal == "DANGER"}) > 1
    assert headed_by(state, gate, met=set()) is None


def test_it_stands_under_the_hazard_of_the_step_in_front_that_asks_for_it(state: State) -> None:
    on_ice = next(step for step in state.route.steps if "dry-ice" in step.step.hazards)
    hazard = hazard_of_gate(state, "session", on_ice)
    assert hazard is not None
    assert hazard.id == "dry-ice"


@pytest.mark.parametrize(
    ("gate", "hazard"),
    [
        ("battery", "airbag"),
        ("airbag-wait", "airbag"),
        ("may-i", "airbag"),
        ("ice-place", "dry-ice"),
        ("ice-meter", "dry-ice"),
        ("car-support", "crush"),
        ("lift-ready", "heavy-lift"),
        ("fuel", "fuel"),
        ("heat-and-solvent", "heat"),
        ("glass", "glass"),
    ],
)
def test_a_gate_that_is_about_one_hazard_stands_under_it_whatever_the_step_in_front_meets(
    state: State, gate: str, hazard: str
) -> None:
    assert headed_by(state, gate, met=set()) == hazard
