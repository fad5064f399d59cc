"""The hand-over to the cage builder: what the log knows stands on it, and only the rest is to be written in."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car import door
from teardown.car.facts import parse_facts
from teardown.car.state import State
from teardown.car.tally import line_of
from teardown.packs.reader import load
from teardown.packs.route import lay_route
from teardown.sheets import cage
from tests.car.tally import TALLY_FACTS, mats_count_as, mats_off, tally_world
from tests.world import World


@pytest.mark.parametrize(("said", "named"), [(True, True), (None, True), (False, False)])
def test_a_beam_the_owner_said_is_no_magnesium_is_not_named(said: bool | None, named: bool) -> None:
    answer = "" if said is None else f"magnesium-beam = {str(said).lower()}\n"
    told = parse_facts(f'name = "T"\n[fitted]\nhybrid-or-48v = false\n{answer}')
    state = State(lay_route(load(door.procedures()), told.shape), told)
    lines = [line_of(state, "dash-beam")]
    assert [line for block in cage._magnesium(state, lines) for line in block.lines[1:]] == ["Dash beam"] * named


def hand_over(world: World) -> tuple[dict[str, str], set[str]]:
    """What the cage sheet says as written down, and what it leaves to be written in."""
    blocks = cage.fill(world.car).blocks
    pairs = {label: value for block in blocks for label, value in block.pairs}
    return pairs, {line for block in blocks for line in block.to_write}


def test_the_cage_builder_reads_what_the_log_knows_and_writes_the_rest(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    mats_count_as(world, "fluid", "glycol, water")
    pairs, blank = hand_over(world)
    assert {cage.FUEL_TO_WRITE, cage.BATTERY_TO_WRITE, cage.COOLANT_TO_WRITE, cage.REFRIGERANT_TO_WRITE} <= blank
    world.done("car-weighed", total="1200kg", fuel="12L")
    mats_off(world)
    world.done("handed-over", part="mats", to="waste site", paper="R 7")
    world.done("happened", what="fuel-opened", why="a litre added")
    pairs, blank = hand_over(world)
    assert not {cage.FUEL_TO_WRITE, cage.COOLANT_TO_WRITE} & blank
    assert [value for label, value in pairs.items() if label.startswith("fuel, as weighed")] == ["12.0 L petrol"]
    assert pairs["fuel last opened, added or smelt"].endswith("UTC: a litre added")
    assert pairs["Floor mats"] == "3.00 kg, taken by waste site, R 7"


def test_the_battery_and_the_signed_paper_are_told(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", TALLY_FACTS.replace("hybrid = false\n", ""))
    mats_count_as(world, "temporary", "lead, acid, polypropylene")
    world.done("gate-signed", gate="high-voltage", by="licensed shop", paper="record 17")
    assert hand_over(world)[0]["Floor mats"] == "on"
    mats_off(world)
    world.done("part-stored", part="mats", where="shelf by the door")
    pairs, blank = hand_over(world)
    assert pairs["Floor mats"] == "stored, shelf by the door"
    assert pairs["High voltage: paper"] == "licensed shop: record 17"
    assert cage.BATTERY_TO_WRITE not in blank


def removed(world: World) -> list[tuple[str, ...]]:
    made = [block.table for block in cage.fill(world.car).blocks if block.table and block.table.name == "removed"]
    return [row for table in made for row in table.rows]


def out_for_now(world: World) -> list[tuple[str, ...]]:
    made = [block.table for block in cage.fill(world.car).blocks if block.table and block.table.name == "out-for-now"]
    return [row for table in made for row in table.rows]


def test_what_is_out_for_now_is_listed_until_it_is_back_or_gone(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    mats_count_as(world, "temporary")
    mats_off(world)
    assert out_for_now(world) == [("Floor mats", "nobody said where", "undecided")]
    assert removed(world) == []
    fate = world.done("part-fate", part="mats", fate="sell")
    assert (out_for_now(world), removed(world)) == ([], [("Make safe", "Floor mats", "3.00")])
    world.done("undo", entry=fate.n)
    world.done("part-back", part="mats")
    assert out_for_now(world) == []
