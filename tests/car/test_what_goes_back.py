"""What goes straight back is asked for before a step is done.

Common practice: a bolt that is needed again goes back in its own hole at once.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car.entries import StepDone
from teardown.car.rules import Refusal, rule
from teardown.car.state import State
from teardown.car.steps import look_around
from teardown.packs.model import Fasteners, Pack, Step
from teardown.packs.reader import Library
from teardown.packs.route import CarShape, lay_route
from tests.world import World, facts
from tests.world.clock import HandClock


@pytest.fixture
def world(tmp_path: Path) -> World:
    world = World(tmp_path / "car")
    world.airbags_ready()
    world.done("step-done", step="cabin.card-off")
    return world


def test_a_step_whose_bolts_go_straight_back_is_done_only_when_they_are_said_to_be_back(world: World) -> None:
    for words in ({}, {"refitted": "no"}):
        assert world.refused("step-done", step="cabin.window-off", **words).why == (
            "say first that this is in its place: 2 to 3 bolts, back in their holes: refitted=yes"
        )
    assert world.done("step-done", step="cabin.window-off", refitted="yes").fields["refitted"] is True


def test_a_step_that_is_shut_says_so_before_it_asks_for_bolts(tmp_path: Path) -> None:
    refused = World(tmp_path / "car").refused("step-done", step="cabin.window-off")
    assert refused.why == "needs: Door cards off"


FASTENERS = st.builds(
    Fasteners,
    count=st.sampled_from([(1, 1), (0, 4), (2, 6)]),
    what=st.sampled_from(["bolts", "clips", "plugs"]),
    fate=st.sampled_from(["bag", "refit", "discard", "stays"]),
)


@given(fasteners=st.lists(FASTENERS, max_size=4), refitted=st.booleans())
def test_every_step_asks_for_all_that_goes_straight_back_and_no_step_for_anything_else(
    fasteners: list[Fasteners], refitted: bool
) -> None:
    step = Step(id="one", title="One", do="Do it.", minutes=(1, 2, 3), fasteners=tuple(fasteners))
    library = Library(packs=(Pack(id="only", title="Only", why="A test.", steps=(step,)),))
    standing = look_around(State(lay_route(library, CarShape()), facts()), HandClock().now())
    ruling = rule(standing, StepDone(step="only.one", refitted=refitted))
    back = [one for one in fasteners if one.fate == "refit"]
    assert isinstance(ruling, Refusal) == (bool(back) and not refitted)
    if isinstance(ruling, Refusal):
        assert all(one.what in ruling.why for one in back)
