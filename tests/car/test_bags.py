"""The bags: numbers that do not change, and a way from a bolt to its place and back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car.bags import all_bags, bag_line, bag_numbers, find_bags
from teardown.car.log import Entry, read_log
from teardown.car.state import State
from teardown.packs.joining import joined
from teardown.packs.model import Fasteners, Pack, Step
from teardown.packs.reader import Library, load
from teardown.packs.route import CarShape, lay_route
from teardown.packs.shipped import procedures
from tests.world import HandClock, World, facts, fold


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
    world.seat_ready()
    entry = world.done("step-done", step="cabin.seat-out")
    assert entry.fields["bag"] == 1
    assert all_bags(world.state)[0].filled


def test_bag_numbers_do_not_depend_on_what_the_car_has() -> None:
    library = load(procedures())
    bare = dict.fromkeys(library.features, False)
    assert lay_route(library, CarShape()).planned_bags == lay_route(library, CarShape(fitted=bare)).planned_bags
    assert len(set(lay_route(library, CarShape()).planned_bags.values())) > 20


# -- packs change between sessions; what is written on a bag does not


def pack(name: str, bagged: Iterable[str], loose: Iterable[str] = ()) -> Pack:
    """A pack whose steps leave fasteners for a bag, or none."""
    screws = (Fasteners(count=(4, 4), what="screws", fate="bag"),)
    steps = [
        Step(id=step, title="Trim off", do="Undo it.", minutes=(1, 2, 3), fasteners=screws if step in bagged else ())
        for step in sorted({*bagged, *loose})
    ]
    return Pack(id=name, title="Trim", why="It goes.", steps=tuple(steps))


def car_with(shipped: Iterable[Pack], own: Iterable[Pack], entries: list[Entry]) -> State:
    """A car read again from its log, with the packs there are by now."""
    library = joined(Library(packs=tuple(shipped)), Library(packs=tuple(own)))
    return fold(lay_route(library, CarShape()), facts(), entries)


def filled(state: State, ref: str) -> Entry:
    """The bag of a step is filled, with the number that the rule writes on it."""
    fields = {"step": ref, "bag": bag_numbers(state)[ref]}
    return Entry(state.entries + 1, HandClock().now(), "Ana", "step-done", fields, "")


def test_a_bag_keeps_its_number_when_a_pack_of_ones_own_comes_before_it() -> None:
    shipped, entries = [pack("boot", "ab"), pack("doors", "ab")], []
    before = car_with(shipped, (), entries)
    entries.append(filled(before, "doors.a"))
    after = car_with(shipped, [pack("boot", "abx", loose="c"), pack("aft", "a")], entries)
    numbers = bag_numbers(after)
    assert bag_numbers(before) == {"boot.a": 1, "boot.b": 2, "doors.a": 3, "doors.b": 4}
    assert {ref: numbers[ref] for ref in bag_numbers(before)} == bag_numbers(before)
    assert sorted(numbers[ref] for ref in ("boot.x", "aft.a")) == [5, 6]


def test_a_step_that_ships_and_gets_a_bag_of_ones_own_does_not_move_the_others() -> None:
    shipped = [pack("boot", "b", loose="a"), pack("doors", "a")]
    assert bag_numbers(car_with(shipped, [pack("boot", "ab")], [])) == {"boot.b": 1, "doors.a": 2, "boot.a": 3}


def test_the_number_of_a_bag_whose_pack_is_gone_is_given_to_nobody() -> None:
    shipped, entries = [pack("boot", "ab")], []
    entries.append(filled(car_with(shipped, [pack("cage", "a")], entries), "cage.a"))
    assert bag_numbers(car_with([pack("boot", "abc")], (), entries)) == {
        "boot.a": 1,
        "boot.b": 2,
        "cage.a": 3,
        "boot.c": 4,
    }


def test_a_bag_that_was_filled_is_listed_though_its_step_is_kept_by_now(world: World) -> None:
    world.seat_ready()
    world.done("step-done", step="cabin.seat-out")
    route = world.car.folded.route
    kept = [one._replace(kept="KEEP: rule 1") if one.ref == "cabin.seat-out" else one for one in route.steps]
    again = fold(replace(route, steps=tuple(kept)), facts(), read_log(world.folder / "log.jsonl"))
    assert [bag.number for bag in all_bags(again)] == [1]
    assert all_bags(fold(replace(route, steps=tuple(kept)), facts(), [])) == ()


letters = st.sets(st.sampled_from("abcdef"), max_size=4)
packs = st.dictionaries(st.sampled_from(("boot", "cage", "doors", "aft")), letters, max_size=4).map(
    lambda named: [pack(name, bagged, loose="z") for name, bagged in named.items()]
)


@given(st.lists(st.tuples(packs, packs, st.lists(st.integers(0, 20), max_size=4)), min_size=2, max_size=5))
def test_whatever_packs_come_and_go_a_filled_bag_keeps_its_number_and_no_two_share_one(
    sessions: list[tuple[list[Pack], list[Pack], list[int]]],
) -> None:
    entries: list[Entry] = []
    written: dict[str, int] = {}
    for shipped, own, fills in sessions:
        state = car_with(shipped, own, entries)
        for fill in fills:
            open_bags = [ref for ref in state.route.planned_bags if ref not in written]
            if open_bags:
                entry = filled(state, open_bags[fill % len(open_bags)])
                state.apply(entry)
                entries.append(entry)
                written[entry.fields["step"]] = entry.fields["bag"]
        numbers = bag_numbers(state)
        assert {ref: numbers[ref] for ref in written} == written
        assert len(set(numbers.values())) == len(numbers)
        assert set(numbers) == {*state.route.planned_bags, *written}
