"""A pack of one's own that speaks of a danger stands behind all of its gates, not behind those of a lesser hazard about
it: which hazards answer to which words is this project's policy."""

from __future__ import annotations

import pytest

from teardown.packs.audit import audit_addition
from teardown.packs.dangers import TOPICS
from teardown.packs.model import Hazard, Pack, Step
from teardown.packs.problems import Problem
from teardown.packs.reader import Library, Spot, load
from teardown.packs.shipped import procedures

SHIPPED = load(procedures())
SAYS = {
    "airbag": "Unplug the airbag and lift it off the wheel.",
    "dry-ice": "Lay 10 kg of dry ice with doors shut.",
    "hot-work": "Weld the bracket.",
    "drilling": "Drill through the panel.",
    "glass": "Break the glass.",
    "fuel": "Siphon the tank.",
    "refrigerant": "Open the air-conditioning pipes.",
    "high-voltage": "Cut the orange cable.",
}
ENOUGH = {("drilling", "hot-work")}
"""Sparks ask for no live module at all, which is more than a drill asks for."""
LESSER = [
    (topic, name)
    for topic, of in TOPICS.items()
    for name in of.hazards
    if name != topic and (topic, name) not in ENOUGH
]


def step(topic: str, hazard: str) -> Step:
    return Step(id="one", title="One", do=SAYS[topic], hazards=(hazard,), people=2, minutes=(1, 2, 3))


def told(one: Step, hazards: tuple[Hazard, ...] = (), pack: str = "extra") -> list[Problem]:
    """What is wrong with a pack of one's own that holds one step."""
    base = SHIPPED.by_id.get(pack)
    own = Pack(id=pack, title="Extra", why="A test.", steps=(one,))
    own = base.model_copy(update={"steps": (one,)}) if base else own
    spots = {("pack", pack): Spot("own.toml", ""), ("step", f"{pack}.{one.id}"): Spot("own.toml", "step")}
    spots |= {("hazard", hazard.id): Spot("own.toml", "hazard") for hazard in hazards}
    library = Library(packs=(own,), hazards={hazard.id: hazard for hazard in hazards}, spots=spots)  # type: ignore[arg-type]
    return [problem for problem in audit_addition(SHIPPED, library) if problem.path.endswith("hazards")]


@pytest.mark.parametrize(("topic", "lesser"), LESSER)
def test_a_lesser_hazard_about_a_danger_does_not_answer_to_its_words(topic: str, lesser: str) -> None:
    (problem,) = told(step(topic, lesser))
    assert problem.wanted == (f"the hazard `{topic}` on this step: {lesser} does not bring all of its gates")


@pytest.mark.parametrize(("topic", "enough"), [*((topic, topic) for topic in TOPICS), *ENOUGH])
def test_the_hazard_of_that_name_answers_and_so_does_one_with_all_of_its_gates(topic: str, enough: str) -> None:
    assert told(step(topic, enough)) == []


def test_a_hazard_of_ones_own_answers_with_every_gate_and_not_with_all_but_one() -> None:
    airbag = SHIPPED.hazards["airbag"]
    mine = airbag.model_copy(update={"id": "mine", "title": "Mine"})
    both = step("airbag", "mine").model_copy(update={"hazards": ("stored-airbag", "mine")})
    assert told(both, (mine,)) == []
    fewer = mine.model_copy(update={"gates": tuple(gate for gate in mine.gates if gate != "second-person")})
    assert [problem.wanted for problem in told(both, (fewer,))] == [
        "the hazard `airbag` on this step: stored-airbag does not bring all of its gates"
    ]


def test_what_ships_keeps_its_lesser_hazard_while_it_says_no_more_of_the_danger() -> None:
    shipped = SHIPPED.step("make-safe.airbag-store")
    assert told(shipped, pack="make-safe") == []
    more = shipped.model_copy(update={"do": f"{shipped.do} {SAYS['airbag']}"})
    assert [problem.found for problem in told(more, pack="make-safe")] == ['["stored-airbag"]']
