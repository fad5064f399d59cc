"""The bags: numbers that do not change, and a way from a bolt to its place and back."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.bags import all_bags, bag_line, find_bags
from teardown.packs.reader import load
from teardown.packs.route import CarShape, lay_route
from teardown.packs.shipped import procedures
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


def test_a_bag_is_found_by_number_by_part_and_by_step(world: World) -> None:
    for words in ("bag 1", "driver seat", "cabin.seat-out", "e12 bolts"):
        assert [bag.number for bag in find_bags(world.state, words)] == [1], words
    assert find_bags(world.state, "gearbox") == ()


def test_a_bag_is_filled_when_its_step_is_done(world: World) -> None:
    (bag,) = all_bags(world.state)
    assert bag_line(bag) == "BAG 1: Driver seat out (Driver seat): 4 bolts E12, not filled yet"
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    world.done("people-here", count=2)
    world.tick_all("lift-ready")
    entry = world.done("step-done", step="cabin.seat-out")
    assert entry.fields["bag"] == 1
    assert all_bags(world.state)[0].filled


def test_bag_numbers_do_not_depend_on_what_the_car_has() -> None:
    library = load(procedures())
    bare = dict.fromkeys(library.features, False)
    assert lay_route(library, CarShape()).bags == lay_route(library, CarShape(fitted=bare)).bags
    assert len(set(lay_route(library, CarShape()).bags.values())) > 20
