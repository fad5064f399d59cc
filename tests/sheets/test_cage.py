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
from teardown.sheets import cage, scrutineer
from teardown.sheets.page import Block
from teardown.sheets.writing import page_html
from tests.car.tally import TALLY_FACTS, mats_count_as, mats_off, tally_world
from tests.sheets.conftest import photo
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


def titles(world: World) -> list[str]:
    return [block.title for block in cage.fill(world.car).blocks if block != Block()]


def test_the_welder_reads_what_is_live_and_what_burns_before_what_came_off_and_the_gates_last(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", TALLY_FACTS.replace("[fitted]", "welder_date = 2026-06-20\n[fitted]"))
    read = titles(world)
    order = ["The car", "Live modules", "Still on the car: what burns first", "Looms", "Removed, by area", "Photos"]
    assert [title for title in read if title in order] == order
    assert read[-1] == "How the gates stand at this moment"


def test_the_welder_reads_what_car_toml_knows_and_writes_in_what_nobody_does(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", TALLY_FACTS.replace("[fitted]", "welder_date = 2026-06-20\n[fitted]"))
    pairs, blank = hand_over(world)
    told = ("wheelbase", "driver sits on the", "date with the welder", "nickname")
    assert [pairs[label] for label in told] == ["2.600 m", "left", "2026-06-20", "Test car"]
    assert "body type" in blank


def test_gates_that_all_wait_for_the_opening_questions_are_one_line(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    world.clock.advance(40 * 60)
    (gates,) = [block for block in cage.fill(world.car).blocks if block.title == "Gates"]
    assert gates.table is None
    assert gates.lines[0].startswith("SHUT, all of them: nothing was written for 40 minutes")


def test_what_burns_stands_first_and_magnesium_before_it_in_red(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    parts = world.car.folded.route.parts
    for part, material in (("mats", "magnesium or steel"), ("driver-seat", "steel"), ("pads", "webbing")):
        parts[part] = parts[part]._replace(part=parts[part].part.model_copy(update={"material": material}))  # type: ignore[index]
    (left,) = [block.table for block in cage.fill(world.car).blocks if block.table and block.table.name == "left"]
    burns = {row[0]: row[3] for row in left.rows}
    assert (burns["Floor mats"], burns["Driver seat"]) == ("MAY BE MAGNESIUM", "")
    assert burns["Bonded pads"] == "BURNS"
    assert left.rows[0][0] == "Floor mats"
    assert [row[3] for row in left.rows] == sorted((row[3] for row in left.rows), key=cage.HOW_BAD.index)
    html = page_html(world.car, cage.fill(world.car), 1)
    assert '<td class=alarm data-head="burns">MAY BE MAGNESIUM</td>' in html


def test_photos_are_indexed_with_what_was_said_of_them(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    world.done("photo", file=str(photo(tmp_path)), part="mats", says="rust below")
    (album,) = [block for block in cage.fill(world.car).blocks if block.title == "Photos"]
    assert album.table is not None
    assert album.table.rows[0][:3] == ("1", "Floor mats", "rust below")
    assert [one.of for one in album.photos] == ["1: Floor mats: rust below"]


def test_the_scrutineer_finds_the_photo_of_what_a_rule_decides(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    kept = next(laid for laid in world.state.route.steps if laid.step.keep_rule)
    world.done("photo", file=str(photo(tmp_path)), step=kept.ref, says="as it stays")
    rules = next(block.table for block in scrutineer.fill(world.car).blocks if block.title == "Rules")
    assert rules is not None
    evidence = {row[0]: row[4] for row in rules.rows}
    asks = world.state.route.library.rules[kept.step.keep_rule or ""].asks
    assert evidence.pop(asks) == "photo 1"
    assert set(evidence.values()) <= {""}
