"""The kilos over random histories: head, balance and curve tell the same, and off-on-off changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.balance import Balances, balances
from teardown.car.clock import Instant
from teardown.car.closing import Closing, closing_of
from teardown.car.log import Entry
from teardown.car.mass import mass_now, mass_over_entries
from teardown.car.moves import moves
from teardown.car.state import State
from tests.car.tally import TALLY_FACTS, known_balances, mats_count_as, mats_off, tally_world
from tests.world import World, facts, route

CORNERS = "334,331,266,262kg"


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def now_kg(world: World) -> float | None:
    return mass_now(world.state).now_kg


def balance_kg(world: World) -> float:
    return known_balances(world).now.total_kg


def test_a_part_that_goes_back_after_the_last_weighing_is_on_the_car_and_off_again_is_as_it_was_weighed(
    world: World,
) -> None:
    """By hand: weighed without the mats (3 kg) at 1190; back on it is 1193, off again 1190 as the scales had it."""
    mats_off(world)
    world.done("car-weighed", corners="333.25,330.25,265.25,261.25kg")
    world.done("part-back", part="mats")
    assert (now_kg(world), balance_kg(world)) == (pytest.approx(1193), pytest.approx(1193))
    world.done("part-off", part="mats")
    assert (now_kg(world), balance_kg(world)) == (pytest.approx(1190), pytest.approx(1190))


def test_the_curve_goes_up_when_a_part_goes_back_and_down_when_it_comes_off_again(world: World) -> None:
    mats_off(world)
    world.done("part-back", part="mats")
    world.done("part-off", part="mats")
    assert [kg for _, kg in mass_over_entries(world.state)] == [1200, 1197, 1200, 1197]


def test_a_step_taken_back_and_done_again_after_a_weighing_changes_nothing(world: World) -> None:
    mats_off(world)
    world.done("car-weighed", corners="333.25,330.25,265.25,261.25kg")
    world.done("step-undone", step="safe.mats", why="they lie in it again")
    assert (now_kg(world), balance_kg(world)) == (pytest.approx(1193), pytest.approx(1193))
    world.done("step-done", step="safe.mats")
    assert (now_kg(world), balance_kg(world)) == (pytest.approx(1190), pytest.approx(1190))


def test_what_a_step_puts_on_weighs_nothing_once_it_is_taken_off_again_after_a_weighing(world: World) -> None:
    mats_count_as(world, "added")
    mats_off(world)
    world.done("car-weighed", total="1203kg")
    world.done("part-back", part="mats")
    assert now_kg(world) == pytest.approx(1200)


def test_a_fluid_that_came_since_the_first_weighing_is_taken_out_again(world: World) -> None:
    """By hand: first weighed without the 3 kg of it, then with; the car itself has not changed."""
    mats_count_as(world, "fluid", "glycol, water")
    mats_off(world)
    world.done("car-weighed", total="1197kg", fuel="40L")
    world.done("part-back", part="mats")
    world.done("car-weighed", total="1200kg", fuel="40L")
    assert now_kg(world) == pytest.approx(1197)


# -- what no pack foresaw


def test_a_thing_found_goes_back_and_comes_off_again(world: World) -> None:
    n = world.done("part-found", name="tow hook", reading="2kg").n
    assert now_kg(world) == 1198
    world.done("part-back", part=f"found-{n}")
    assert now_kg(world) == 1200
    assert world.refused("part-back", part=f"found-{n}").why == "tow hook is not out"
    world.done("part-off", part=f"found-{n}")
    assert now_kg(world) == 1198
    assert world.refused("part-off", part=f"found-{n}").why == "tow hook is off already"


def test_a_thing_fitted_comes_off_again_and_goes_back_on(world: World) -> None:
    n = world.done("part-fitted", name="Race seat", reading="8kg").n
    world.done("car-weighed", total="1208kg")
    world.done("part-off", part=f"fitted-{n}")
    assert now_kg(world) == 1200
    world.done("part-back", part=f"fitted-{n}")
    assert now_kg(world) == 1208


def test_a_found_thing_weighed_again_after_the_car_keeps_the_moment_it_came_off(world: World) -> None:
    """By hand: 20 kg by mistake for 2 kg, before the second weighing: the scales have felt it go once, so the head
    stands by the scales, and the closing takes 2 kg."""
    world.done("car-weighed", total="1200kg", fuel="40L")
    n = world.done("part-found", name="tow hook", reading="20kg").n
    world.done("car-weighed", total="1198kg", fuel="40L")
    world.done("part-weighed", part=f"found-{n}", reading="2.00kg")
    assert now_kg(world) == 1198
    closing = closing_of(world.state)
    assert isinstance(closing, Closing)
    assert [(item.name, item.mass_kg) for item in closing.lines.items] == [("tow hook", 2)]
    assert closing.result.gap_kg == pytest.approx(0)
    world.done("undo", entry=world.state.entries)
    assert closing_of(world.state).result.gap_kg == pytest.approx(18)  # type: ignore[union-attr]


def test_no_pack_knows_the_mass_of_a_thing(world: World) -> None:
    n = world.done("part-fitted", name="Cage", reading="40kg").n
    refused = world.refused("part-weighed", part=f"fitted-{n}", how="estimate")
    assert refused.why == "no pack knows what Cage weighs: weigh it"


# -- over random histories

Step = tuple[str, int]
KINDS = (
    "mats-off",
    "mats-back",
    "mats-on-paper",
    "mats-weighed",
    "found",
    "oil-found",
    "fitted",
    "thing-off",
    "thing-back",
    "thing-weighed",
    "weighed",
    "undo",
)
COUNTS = st.sampled_from([("saving", "rubber"), ("added", "foam"), ("fluid", "petrol"), ("contents", "tools")])
STOOD: list[dict[str, object]] = [
    {},
    {"fuel": "40L", "fuel_m3": 0.04, "fuel_u_m3": 0.002, "fuel_kind": "petrol"},
    {"driver": "80kg", "aboard_kg": 80.0},
    {"contents": "12kg", "contents_kg": 12.0},
]
histories = st.lists(st.tuples(st.sampled_from(KINDS), st.integers(0, 6)), max_size=14)
PLACE = {"x": 0.4, "y": "0.1", "z": 0.5}


def entries_of(history: list[Step]) -> list[Entry]:
    """A log of such steps, in the words the fold takes; a thing or an entry is one of those before."""
    entries: list[Entry] = []
    things: list[str] = []
    for kind, which in [("weighed", 0), *history]:
        n = len(entries) + 1
        thing = things[which % len(things)] if things else "found-0"
        name, fields = {
            "mats-off": ("part-off", {"part": "mats"}),
            "mats-back": ("part-back", {"part": "mats"}),
            "mats-on-paper": ("step-done", {"step": "safe.mats"}),
            "found": ("part-found", {"name": "hook", "reading": "2kg", "mass_kg": 2.0, **PLACE}),
            "fitted": ("part-fitted", {"name": "seat", "reading": "8kg", "mass_kg": 8.0, **PLACE}),
            "thing-off": ("part-off", {"part": thing}),
            "thing-back": ("part-back", {"part": thing}),
            "mats-weighed": ("part-weighed", {"part": "mats", "how": "direct", "mass_kg": 2.0 + which}),
            "oil-found": (
                "part-found",
                {"name": "oil", "reading": "3kg", "mass_kg": 3.0, "counts": ("fluid", "contents")[which % 2], **PLACE},
            ),
            "thing-weighed": ("part-weighed", {"part": thing, "how": "direct", "mass_kg": 1.0 + which}),
            "weighed": (
                "car-weighed",
                {"corners": CORNERS, "total_kg": 1150.0, "corners_kg": [310, 305, 270, 265], **STOOD[which % 4]},
            ),
            "undo": ("undo", {"entry": 1 + which % n}),
        }[kind]
        if kind in ("found", "oil-found", "fitted"):
            things.append(f"{kind.removeprefix('oil-')}-{n}")
        if (name, fields.get("entry")) != ("undo", 1):  # the first weighing stays
            at = Instant("2026-05-09T08:00:00.000Z", "boot-1", float(n), "2026-05-09")
            entries.append(Entry(n, at, "Ana", name, fields, ""))
    return entries


def folded(entries: list[Entry], counts: tuple[str, str] = ("saving", "rubber")) -> State:
    """The mats count as something else, and are made of it."""
    state = State(route(TALLY_FACTS), facts(TALLY_FACTS))
    parts, (how, material) = state.route.parts, counts
    mats = parts["mats"].part.model_copy(update={"counts": how, "material": material})
    parts["mats"] = parts["mats"]._replace(part=mats)  # type: ignore[index]
    for n, entry in enumerate(entries, start=1):
        state.apply(entry._replace(n=n))
    return state


@settings(max_examples=150, deadline=None)
@given(histories, COUNTS)
def test_head_balance_and_curve_are_one_number_whenever_all_is_placed(
    history: list[Step], counts: tuple[str, str]
) -> None:
    state = folded(entries_of(history), counts)
    found = balances(state)
    assert isinstance(found, Balances)
    assert found.unplaced_kg == 0
    now = mass_now(state).now_kg
    assert now == pytest.approx(found.now.total_kg)
    assert mass_over_entries(state)[-1][1] == pytest.approx(now)


@settings(max_examples=100, deadline=None)
@given(histories, COUNTS)
def test_off_on_off_changes_nothing(history: list[Step], counts: tuple[str, str]) -> None:
    entries = entries_of(history)
    state = folded(entries, counts)
    part = "part-back" if state.is_out("mats") else "part-off"
    other = {"part-back": "part-off", "part-off": "part-back"}[part]
    at = Instant("2026-05-09T09:00:00.000Z", "boot-1", 99.0, "2026-05-09")
    there_and_back = [Entry(0, at, "Ana", kind, {"part": "mats"}, "") for kind in (part, other)]
    after = folded([*entries, *there_and_back], counts)
    assert mass_now(after) == mass_now(state)
    assert closing_of(after) == closing_of(state)
    assert list(moves(after, 1)) == list(moves(state, 1))
