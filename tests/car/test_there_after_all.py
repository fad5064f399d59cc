"""What a car was said not to have and may have after all: what was made without it is made again, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from teardown.car.changes import MODULE_BACK
from teardown.car.gatebook import ANOTHER_SOURCE
from teardown.car.log import Entry
from teardown.car.state import State
from teardown.packs.model import TicksGate
from teardown.packs.reader import Library
from teardown.packs.route import lay_route
from tests.world import World, facts, library


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


def test_what_was_never_ruled_out_shuts_nothing_when_it_is_there_after_all(world: World) -> None:
    """It counted as there all the time."""
    world.modules_out()
    world.tick_all("ice-place")
    stood = {name for name, view in world.car.now().gates.items() if view.stands}
    world.done("car-answered", feature="knee-bag", fitted="yes")
    assert {name for name, view in world.car.now().gates.items() if view.stands} == stood
    assert {"battery", "live-count", "ice-place"} <= stood


def after_all(world: World, feature: str, library: Library) -> State:
    """Battery and ice place ticked in a car of that library; then what was ruled out is not known any more."""
    state = State(lay_route(library, facts().shape), facts())
    for name in ("battery", "ice-place"):
        gate = library.gates[name]
        assert isinstance(gate, TicksGate)
        for tick, says in enumerate(gate.ticks, start=1):
            said = {"gate": name, "tick": tick, "says": says, "sources": sorted(state.route.sources)}
            state.apply(Entry(state.entries + 1, world.clock.now(), "Ana", "gate-tick", said, ""))
    taken_back = {"feature": feature, "fitted": "unknown", "before": "no"}
    state.apply(Entry(state.entries + 1, world.clock.now(), "Ana", "car-answered", taken_back, ""))
    return state


@pytest.mark.parametrize(
    ("settled", "by", "lapse"),
    [
        ("second-source", "hybrid", ANOTHER_SOURCE),
        ("hybrid", "sunroof", "High voltage: the car may have it after all"),
    ],
)
def test_what_was_settled_by_what_was_ruled_out_may_be_there_after_all_too(
    world: World, settled: str, by: str, lapse: str
) -> None:
    known = library().features
    features = {**known, settled: known[settled].model_copy(update={"only_if": by})}
    assert after_all(world, by, replace(library(), features=features)).gates["battery"].lapse == lapse


def test_a_module_that_may_lie_inside_the_cabin_after_all_shuts_what_was_made_behind_its_count(world: World) -> None:
    known = library().modules
    modules = {**known, "driver-bag": known["driver-bag"].model_copy(update={"inside_with": ("sunroof",)})}
    state = after_all(world, "sunroof", replace(library(), modules=modules))
    assert state.gates["ice-place"].lapse == MODULE_BACK
    assert after_all(world, "sunroof", library()).gates["ice-place"].lapse != MODULE_BACK
