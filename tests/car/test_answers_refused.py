"""An answer about the car that something stands in the way of: neither file says what the other one does not."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from teardown.car import answers
from teardown.car.door import LOG, open_car
from teardown.car.facts import FACTS as FILE
from teardown.car.log import CannotWrite, Entry, LogError, read_log
from teardown.packs.shipped import procedures
from tests.world import FACTS, World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


def file(world: World) -> str:
    return (world.folder / FILE).read_text()


def kinds(world: World) -> list[str]:
    return [entry.kind for entry in read_log(world.folder / LOG)]


def test_a_rule_that_lets_its_step_be_done_is_in_the_log_first_and_one_that_keeps_it_is_not(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EACCES, "no")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(CannotWrite, match=r"car.toml was not changed: .* Nothing was written"):
        world.enter("rule-answered", rule="door-cards", keep="yes", says="4.3")
    assert kinds(world) == ["opened"]
    with pytest.raises(CannotWrite, match=r"car.toml was not changed: .* Entry 2 stands, and opens nothing"):
        world.enter("rule-answered", rule="door-cards", keep="no", says="4.3")
    assert (kinds(world), file(world)) == (["opened", "rule-answered"], FACTS)


def test_what_another_program_changes_while_it_is_read_is_not_written_over(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(answers, "facts_text_at", lambda path: FACTS.replace("1000kg", "950kg"))
    refused = world.refused("car-answered", feature="knee-bag", fitted="no")
    assert refused.why == "car.toml is being changed this very moment: nothing was changed. Answer again"
    assert (file(world), kinds(world)) == (FACTS, ["opened"])


def test_a_log_that_was_damaged_meanwhile_is_not_answered_into(world: World) -> None:
    world.done("note", text="x")
    world.done("note", text="z")
    log = world.folder / LOG
    log.write_bytes(log.read_bytes().replace(b'"x"', b'"y"'))
    with pytest.raises(LogError, match="line 2"):
        world.enter("car-answered", feature="knee-bag", fitted="yes")
    assert file(world) == FACTS


def test_a_car_toml_that_may_not_be_written_is_not_replaced_either(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who may write into the folder could put another file in its place."""
    plainly = os.open

    def refuse(path: str | Path, flags: int, *more: int) -> int:
        if Path(path).name == FILE and flags & os.O_WRONLY:
            raise OSError(errno.EACCES, "Permission denied")
        return plainly(path, flags, *more)

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(CannotWrite, match=r"car.toml cannot be written: .* Nothing was changed"):
        world.enter("car-answered", feature="knee-bag", fitted="yes")
    assert (file(world), kinds(world)) == (FACTS, ["opened"])


def test_what_the_fuel_answers_yes_may_be_answered_yes(tmp_path: Path) -> None:
    world = World(tmp_path / "gas", 'name = "T"\nfuel = "gas"\n')
    world.car.close()
    with open_car(world.folder, world.clock, write=True, packs=procedures()) as car:
        assert isinstance(car.enter("car-answered", {"feature": "gas-tank", "fitted": "yes"}, "Ana"), Entry)
