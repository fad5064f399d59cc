"""Whole routes walked through the door by somebody who opens every gate: they come to their end."""

from __future__ import annotations

from pathlib import Path

from teardown.car.steps import view_route
from tests.walker import Walker
from tests.world import World

SETTLED = {"done", "kept", "not-fitted", "skipped"}


def test_the_small_world_can_be_walked_to_its_end(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    walker = Walker(world.car, world.clock)
    for laid in world.car.folded.route.steps:
        assert walker.can_come(laid), laid.ref
        walker.do_step(laid)
    assert {view.state for view in view_route(world.car.now())} == {"done"}


def test_every_step_with_gates_is_refused_before_its_gates_are_opened(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    walker = Walker(world.car, world.clock)
    for laid in world.car.folded.route.steps:
        shut = [gate for gate in laid.gates if not world.stands(gate)]
        if shut:
            assert walker.refused(laid).gate is not None, laid.ref
        walker.do_step(laid)
