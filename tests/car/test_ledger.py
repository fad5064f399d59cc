"""What of the money stands: nothing is undone from under what rests on it, and what rests on nothing counts for
nothing."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.ledger import standing_sales
from teardown.car.log import Entry
from teardown.car.money import money_now
from teardown.car.tally import sales_by_part, scrapped_by_part
from tests.car.tally import mats_off, tally_world
from tests.car.test_money import folded
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def test_a_return_is_not_undone_from_under_the_second_sale(world: World) -> None:
    world.done("sold", part="mats", amount="50")
    back = world.done("refunded", part="mats", amount="50", why="torn", returned=True)
    again = world.done("sold", part="mats", amount="40")
    why = world.refused("undo", entry=back.n).why
    assert why == f"entry {back.n} carries entry {again.n}: Floor mats again sold. Undo entry {again.n} first"
    assert money_now(world.state).recovered == 40
    world.done("undo", entry=again.n)
    world.done("undo", entry=back.n)
    assert money_now(world.state).recovered == 50


def test_a_sale_is_not_undone_from_under_its_refund(world: World) -> None:
    sale = world.done("sold", part="mats", amount="50")
    back = world.done("refunded", part="mats", amount="10", why="scratched")
    why = world.refused("undo", entry=sale.n).why
    assert why == f"entry {sale.n} carries entry {back.n}: money was given back of it. Undo entry {back.n} first"


def test_the_first_sale_of_two_may_be_undone_once_nothing_was_given_back_of_it(world: World) -> None:
    first = world.done("sold", part="mats", amount="50")
    world.done("refunded", part="mats", amount="5", why="torn", returned=True)
    second = world.done("sold", part="mats", amount="40")
    later = world.done("refunded", part="mats", amount="4", why="late")
    assert f"carries entry {later.n}" in world.refused("undo", entry=second.n).why
    assert f"carries entry {later.n}" not in world.refused("undo", entry=first.n).why  # that one is of the second


def found(world: World) -> Entry:
    return world.done("part-found", name="Clips", reading="1kg", fate="scrap")


@pytest.mark.parametrize(("write", "says"), [
    (lambda world, part: world.done("sold", part=part, amount="5"), "Clips sold"),
    (lambda world, part: world.done("scrap-ticket", reading="1kg", amount="1", parts=part), "Clips on a scrap ticket"),
])  # fmt: skip
def test_what_was_found_is_not_undone_from_under_what_was_paid_for_it(
    world: World, write: Callable[[World, str], Entry], says: str
) -> None:
    clips = found(world)
    paid = write(world, f"found-{clips.n}")
    why = world.refused("undo", entry=clips.n).why
    assert why == f"entry {clips.n} carries entry {paid.n}: {says}. Undo entry {paid.n} first"


@pytest.mark.parametrize(("kind", "words", "says"), [
    ("scrap-ticket", {"reading": "4kg", "amount": "1", "parts": "mats"}, "Floor mats on a scrap ticket"),
    ("handed-over", {"part": "mats", "to": "disposal firm"}, "Floor mats handed over"),
])  # fmt: skip
@pytest.mark.parametrize("one_by_one", [False, True])
def test_what_went_away_is_not_undone_into_the_car(
    world: World, kind: str, words: dict[str, str], says: str, one_by_one: bool
) -> None:
    """An undo says that it never came off; the yard has weighed it."""
    if one_by_one:
        world.done("step-done", step="safe.look")
        off = world.done("part-off", part="mats")
    else:
        mats_off(world)
        off = world.done("note", text="off")
        off = off._replace(n=off.n - 1)
    gone = world.done(kind, **words)
    assert world.refused("undo", entry=off.n).why == (
        f"entry {off.n} carries entry {gone.n}: {says}. Undo entry {gone.n} first"
    )
    world.done("undo", entry=gone.n)
    world.done("undo", entry=off.n)


def test_what_was_sold_before_it_came_off_may_turn_out_to_be_on_the_car(world: World) -> None:
    mats_off(world)
    entry = world.state.entries
    world.done("sold", part="mats", amount="50")
    world.done("undo", entry=entry)


def test_a_step_taken_back_takes_its_parts_off_the_scrap_ticket(world: World) -> None:
    """That it is on the car again is a fact, and never refused: what is on the car is at no yard."""
    mats_off(world)
    world.done("scrap-ticket", reading="4kg", amount="1", parts="mats")
    assert "mats" in scrapped_by_part(world.state)
    world.done("step-undone", step="safe.mats", why="they lie in the car")
    assert "mats" not in scrapped_by_part(world.state)


def test_a_return_is_not_undone_from_under_a_scrap_ticket(world: World) -> None:
    mats_off(world)
    world.done("sold", part="mats", amount="50")
    back = world.done("refunded", part="mats", amount="50", why="torn", returned=True)
    ticket = world.done("scrap-ticket", reading="4kg", amount="1", parts="mats")
    assert f"carries entry {ticket.n}: Floor mats on a scrap ticket" in world.refused("undo", entry=back.n).why


@pytest.mark.parametrize(("undone", "recovered"), [
    (1, "0"),  # the refund of a sale that was undone gives nothing back
    (2, "35"),  # sold twice, nothing returned between: the newest word counts
])  # fmt: skip
def test_in_a_log_of_other_hands_what_rests_on_nothing_counts_for_nothing(undone: int, recovered: str) -> None:
    drafts: list[tuple[str, dict[str, Any]]] = [
        ("sold", {"part": "mats", "amount": "50"}),
        ("refunded", {"part": "mats", "amount": "50", "why": "torn", "returned": True}),
        ("undo", {"entry": undone}),
    ]
    if undone == 2:
        drafts.append(("sold", {"part": "mats", "amount": "35"}))
    assert money_now(folded(drafts)).recovered == Decimal(recovered)


def test_in_a_log_of_other_hands_a_thing_that_was_never_found_brought_nothing() -> None:
    drafts: list[tuple[str, dict[str, Any]]] = [
        ("part-found", {"name": "clips", "reading": "1kg", "mass_kg": 1.0}),
        ("sold", {"part": "found-1", "amount": "5"}),
        ("undo", {"entry": 1}),
    ]
    assert money_now(folded(drafts)).recovered == 0


PARTS = ("mats", "found")
cents = st.integers(min_value=0, max_value=9_999)
deeds = st.lists(
    st.tuples(
        st.sampled_from(("sold", "sold", "sold", "refunded", "returned", "returned", "part-found", "undo", "undo")),
        st.lists(st.sampled_from(PARTS), min_size=1, max_size=2, unique=True),
        cents,
        cents,
        st.integers(min_value=0, max_value=3),
    ),
    min_size=4,
    max_size=14,
)


@given(deeds)
@settings(max_examples=150, deadline=None)
def test_whatever_is_sold_returned_and_undone_what_is_recovered_is_the_sum_of_what_stands(
    history: list[tuple[str, list[str], int, int, int]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = tally_world(Path(folder) / "car")
        stands: dict[int, tuple[str, tuple[str, ...], int]] = {}  # entry: kind, parts, cents in hand
        clips = "found-1"
        for kind, some, amount, less, back in history:
            parts = tuple(clips if part == "found" else part for part in some)
            less = min(less, amount)
            words: dict[str, object] = {
                "sold": {
                    "part": parts[0],
                    **({"along": ",".join(parts[1:])} if parts[1:] else {}),
                    "amount": f"{amount / 100:.2f}",
                    "fees": f"{less / 100:.2f}",
                },
                "refunded": {"part": parts[0], "amount": f"{less / 100:.2f}", "why": "torn"},
                "returned": {"part": parts[0], "amount": f"{less / 100:.2f}", "why": "torn", "returned": True},
                "part-found": {"name": "Clips", "reading": "1kg"},
                "undo": {"entry": max(1, world.state.entries - back)},
            }[kind]
            entry = world.enter("refunded" if kind == "returned" else kind, **words)
            if not isinstance(entry, Entry):
                continue
            if kind == "part-found":
                clips = f"found-{entry.n}"
            elif kind == "undo":
                stands.pop(int(str(words["entry"])), None)
            else:
                stands[entry.n] = (kind, parts, amount - less if kind == "sold" else -less)
        state = world.state
        assert int(money_now(state).recovered * 100) == sum(coins for _, _, coins in stands.values())
        assert [n for n, _ in standing_sales(state)] == [n for n, (kind, _, _) in stands.items() if kind == "sold"]
        holder: dict[str, int] = {}
        for n, (kind, parts, _) in sorted(stands.items()):
            if kind == "sold":
                assert not holder.keys() & set(parts)  # nothing is sold twice
                holder |= dict.fromkeys(parts, n)
            else:
                assert parts[0] in holder  # nothing is given back of what stands no more
                if kind == "returned":
                    del holder[parts[0]]
        assert {part: n for part, (n, _) in sales_by_part(state).items()} == holder
