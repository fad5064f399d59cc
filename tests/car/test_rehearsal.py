"""A rehearsal's waits run faster, and nothing makes those of a real car do so: no word, no later entry, no variable."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from teardown.car.door import LOG
from teardown.car.fields import WrongEntry
from teardown.car.logwriter import open_for_writing
from tests.world import World

HOUSE = Path(__file__).parents[2] / "teardown"
READ_FROM_THE_ENVIRONMENT = {"NO_COLOR", "TERM", "COLORTERM"}
"""What a terminal can paint, and nothing else."""


def seconds_until_it_stands(world: World) -> float:
    """How long the airbag wait of half an hour takes on the clock that cannot be set."""
    world.battery_off()
    for second in range(31 * 60):
        if world.stands("airbag-wait"):
            return float(second)
        world.clock.advance(1)
        if second % 240 == 239:
            world.done("note", text="still here")
    raise AssertionError("it never stood")


def test_the_wait_of_a_rehearsal_runs_sixty_times_faster_and_that_of_a_car_does_not(tmp_path: Path) -> None:
    assert seconds_until_it_stands(World(tmp_path / "try", rehearsal=True)) == 30
    assert seconds_until_it_stands(World(tmp_path / "car")) == 30 * 60


def test_bad_air_is_over_sixty_times_sooner_too(tmp_path: Path) -> None:
    """Ten minutes of low readings: nobody who only tries the program out stands before a shut gate for so long."""
    for rehearsal, low_s in ((True, 10), (False, 600)):
        world = World(tmp_path / f"car-{low_s}", rehearsal=rehearsal)
        world.done("gate-reading", gate="ice-meter", value="16000ppm")
        world.done("gate-reading", gate="ice-meter", value="900ppm")
        world.clock.advance(low_s - 1)
        world.done("gate-reading", gate="ice-meter", value="900ppm")
        assert world.state.gates["ice-meter"].alarm is not None
        world.clock.advance(1)
        world.done("gate-reading", gate="ice-meter", value="900ppm")
        assert world.state.gates["ice-meter"].alarm is None


def test_no_entry_after_the_first_makes_a_car_a_rehearsal(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    with pytest.raises(WrongEntry, match="no entry is called"):
        world.enter("opened", rehearsal="true")
    world.car.close()
    with open_for_writing(world.folder / LOG, world.clock, lambda _: None) as log:  # by a stranger's hand
        log.append("Ana", "opened", {"format": 1, "rehearsal": True})
    world.car = world.opened()
    assert not world.state.rehearsal
    assert seconds_until_it_stands(world) == 30 * 60


def test_no_variable_but_what_a_terminal_can_paint_is_read() -> None:
    read = {name for path in HOUSE.rglob("*.py") for name in variables_read(ast.parse(path.read_bytes()))}
    assert read == READ_FROM_THE_ENVIRONMENT


def variables_read(tree: ast.AST) -> Iterator[str]:
    """Every name asked of the environment: `os.environ.get("X")`, `os.getenv("X")`, `os.environ["X"]` where it is read;
    ? for one that is not written out."""
    for node in ast.walk(tree):
        asked = None
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("os.environ.get", "os.getenv"):
            asked = node.args[0]
        elif isinstance(node, ast.Subscript) and ast.unparse(node.value) == "os.environ":
            asked = node.slice if isinstance(node.ctx, ast.Load) else None
        if asked is not None:
            yield str(asked.value) if isinstance(asked, ast.Constant) else "?"
