"""A car that is open to read only: it follows what another program writes, and nothing stands on what is not known."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from teardown.car.door import LOG, Car, open_car, open_to_work
from teardown.car.log import Damaged, ReadOnly
from tests.world import PROCEDURES, World


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    world = World(tmp_path / "car")
    world.battery_off()
    yield world
    world.car.close()


@pytest.fixture
def reader(world: World) -> Car:
    return open_car(world.folder, world.clock, write=False, packs=PROCEDURES)


def test_power_that_came_back_at_another_screen_shuts_the_gates_here_too(world: World, reader: Car) -> None:
    assert reader.now().gates["battery"].stands
    world.done("power-restored", why="Bo put the clamp on")
    assert not reader.now().gates["battery"].stands
    assert "Bo put the clamp on" in reader.now().gates["battery"].why


def test_writing_to_what_was_opened_to_be_looked_at_is_refused_as_a_log_that_cannot_be_written(reader: Car) -> None:
    with pytest.raises(ReadOnly, match="is open to read only: nothing is written"):
        reader.open_session("Bo")
    with pytest.raises(ReadOnly):
        reader.enter("note", {"text": "hello"}, "Bo")


def test_what_another_program_writes_is_read_as_it_writes_it(world: World, reader: Car) -> None:
    for number in range(3):
        world.done("note", text=f"note {number}")
        assert reader.now().state.entries == world.state.entries


def test_a_record_that_is_half_written_is_not_read_before_it_is_whole(world: World, reader: Car) -> None:
    whole = (world.folder / LOG).read_bytes()
    with (world.folder / LOG).open("ab") as log:
        log.write(b'{"n":99,"utc":"20')
    standing = reader.now()
    assert standing.state.entries == world.state.entries
    assert standing.gates["battery"].stands
    assert (world.folder / LOG).read_bytes().startswith(whole)


@pytest.mark.parametrize("harm", ["damaged", "cut short", "emptied", "gone"])
def test_while_the_log_is_not_known_to_its_end_no_gate_stands(world: World, reader: Car, harm: str) -> None:
    """The line that cannot be read may be the one that says that power came back."""
    entries = world.done("note", text="the last line").n
    log = world.folder / LOG
    lines = log.read_bytes().splitlines(keepends=True)
    if harm == "damaged":
        log.write_bytes(b"".join([*lines[:-1], lines[-1].replace(b"last", b"lost")]))
    elif harm == "cut short":
        log.write_bytes(b"".join([*lines[:-2], lines[-1]]))
    elif harm == "emptied":
        log.write_bytes(b"")
    else:
        log.unlink()
    standing = reader.now()
    assert standing.state.entries < entries
    assert not [name for name, view in standing.gates.items() if view.stands]
    assert {view.why.split(":")[0] for view in standing.gates.values()} == {
        f"nothing is known after entry {standing.state.entries}"
    }


def test_an_emptied_log_is_not_taken_for_a_new_cars(world: World) -> None:
    """Nobody would miss what had been written, nor put back the copy that has it."""
    world.car.close()
    log = world.folder / LOG
    for left in (b"", log.read_bytes()[:40]):
        log.write_bytes(left)
        with pytest.raises(Damaged, match=r"holds no entry.*Put back a copy of the folder"):
            open_car(world.folder, world.clock, write=True, packs=PROCEDURES)
        assert log.read_bytes() == b""
    car = open_to_work(world.folder, world.clock, packs=PROCEDURES)
    assert not car.can_write
    assert any("holds no entry" in told for told in car.told)


def test_a_log_that_was_put_right_is_followed_again(world: World, reader: Car) -> None:
    log = world.folder / LOG
    whole = log.read_bytes()
    log.write_bytes(whole[:-20] + b"x" * 19 + b"\n")
    assert not reader.now().gates["battery"].stands
    log.write_bytes(whole)
    assert reader.now().gates["battery"].stands
    assert reader.damage is None
