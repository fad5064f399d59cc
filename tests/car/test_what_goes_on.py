"""What a step puts on is not told as taken off: before it is fitted it is nowhere, afterwards it is on the car."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.balance import Effect, effect_of
from teardown.car.mass import mass_now
from teardown.car.tally import fitted_lines, line_of, masses_by_area
from teardown.car.worth import worth_it
from teardown.sheets import cage, scrutineer, weights
from teardown.sheets.page import Sheet
from tests.car.tally import mats_count_as, mats_off, tally_world
from tests.world import World

SHEETS = {"cage": cage, "scrutineer": scrutineer, "weights": weights}


@pytest.fixture
def world(tmp_path: Path) -> World:
    """The mats are padding that a step puts on."""
    world = tally_world(tmp_path / "car")
    mats_count_as(world, "added", "foam")
    return world


def rows(world: World, sheet: str, table: str) -> list[tuple[str, ...]]:
    filled: Sheet = SHEETS[sheet].fill(world.car)
    return [
        tuple(row) for block in filled.blocks if block.table and block.table.name == table for row in block.table.rows
    ]


def names(world: World, sheet: str, table: str) -> list[str]:
    return [cell for row in rows(world, sheet, table) for cell in row if "Floor mats" in cell]


def test_before_it_is_fitted_it_is_neither_on_the_car_nor_off_it(world: World) -> None:
    line = line_of(world.state, "mats")
    assert (line.standing, line.on_the_car, line.out, line.saves) == ("not-yet", False, False, False)
    assert fitted_lines(world.state) == []
    for sheet, table in (("cage", "left"), ("cage", "removed"), ("cage", "fitted"), ("scrutineer", "taken-off")):
        assert names(world, sheet, table) == [], (sheet, table)


def test_what_is_found_may_be_called_like_what_the_packs_put_on(world: World) -> None:
    """No gate of its own asks for anything before such a part comes off: it is not on the car yet."""
    world.done("part-found", name="Floor mats", reading="3kg")


def test_once_fitted_it_is_on_the_car_and_in_no_list_of_what_came_off(world: World) -> None:
    mats_off(world)
    line = line_of(world.state, "mats")
    assert (line.standing, line.on_the_car, line.out, line.saves) == ("fitted", True, False, False)
    assert masses_by_area(world.state) == []
    for sheet, table in (("cage", "left"), ("cage", "removed"), ("scrutineer", "taken-off")):
        assert names(world, sheet, table) == [], (sheet, table)
    assert rows(world, "cage", "fitted") == [("Floor mats", "3.00", "foam", "BURNS")]
    assert rows(world, "scrutineer", "fitted") == [("Make safe", "Floor mats", "3.00", "estimate", "")]
    assert rows(world, "weights", "fitted") == [("mats", "Floor mats", "3.00", "estimate", "")]


def test_what_no_pack_foresaw_is_fitted_in_the_same_list(world: World) -> None:
    mats_off(world)
    entry = world.done("part-fitted", name="Fire bottle", reading="6kg")
    assert [(line.id, line.standing) for line in fitted_lines(world.state)] == [
        ("mats", "fitted"),
        (f"fitted-{entry.n}", "fitted"),
    ]
    assert mass_now(world.state).now_kg == 1200 + 3 + 6
    assert ("foreseen by no pack", "Fire bottle", "6.00", "direct", "") in rows(world, "scrutineer", "fitted")


def test_a_fitted_part_that_is_taken_off_again_is_not_fitted_yet(world: World) -> None:
    mats_off(world)
    world.done("part-back", part="mats")
    assert line_of(world.state, "mats").standing == "not-yet"


def test_its_effect_on_the_balance_is_that_of_going_on(world: World) -> None:
    world.done("car-weighed", corners="334,331,266,262kg")
    effect = effect_of(world.state, world.state.route.parts["mats"])
    assert isinstance(effect, Effect)
    assert effect.total_kg == pytest.approx(3)
    # moments by hand: 3 kg at half the wheelbase puts 1.5 kg on each axle
    assert effect.front_percent == pytest.approx(100 * (665 + 1.5) / 1196 - 100 * 665 / 1193)
    mats_off(world)
    assert effect_of(world.state, world.state.route.parts["mats"]) == (
        "Floor mats is fitted: the balance now is with it"
    )


def test_what_goes_on_is_nothing_to_scrap_or_price(world: World) -> None:
    assert worth_it(world.state, line_of(world.state, "mats"))[:2] == ("keep", "it goes on this car")


def test_what_was_fitted_and_came_off_again_does_not_go_on_this_car(world: World) -> None:
    seat = f"fitted-{world.done('part-fitted', name='Race seat', reading='8kg').n}"
    assert worth_it(world.state, line_of(world.state, seat)).says == "keep"
    world.done("part-off", part=seat)
    assert worth_it(world.state, line_of(world.state, seat)).says == "price it"
    world.done("part-fate", part=seat, fate="scrap")
    assert worth_it(world.state, line_of(world.state, seat))[:2] == ("scrap", "its fate is set")


@pytest.mark.parametrize(("fate", "areas"), [(None, []), ("sell", [("Make safe", 3.0)]), ("refit", [])])
def test_what_is_out_only_for_now_is_a_kilo_off_only_once_it_is_posted_as_removed(
    tmp_path: Path, fate: str | None, areas: list[tuple[str, float]]
) -> None:
    world = tally_world(tmp_path / "car")
    mats_count_as(world, "temporary")
    mats_off(world)
    if fate is not None:
        world.done("part-fate", part="mats", fate=fate)
    assert masses_by_area(world.state) == areas
