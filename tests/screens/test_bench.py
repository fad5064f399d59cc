"""The parts bench and the pages of the tally: what they show, what one key does, and that only what is seen is made."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.screens.cells import bar, descent, gap_line
from teardown.screens.desk import Desk
from teardown.screens.paint import Window
from teardown.screens.places import bench
from teardown.screens.places.bench import Bench
from teardown.screens.places.card import Card
from tests.car.tally import mats_count_as, mats_off, tally_world
from tests.screens.hand import FROM_TWO_METRES, USUAL, Hand, KeysOnly, walking
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def to_part(hand: Hand | KeysOnly, part: str) -> None:
    hand.press("k", "f")
    if isinstance(hand, Hand):
        hand.type(part)
    else:
        hand.press(*part)
    hand.press("enter")


def test_what_buyers_ask_of_a_part_stands_where_its_price_is_typed(world: World) -> None:
    with walking(world, *USUAL) as hand:
        to_part(hand, "mats")
        hand.press("a")
        assert "buyers ask: Clean? A matching set? Any holes?" in hand.reads
        hand.press("escape")
        to_part(hand, "seat")
        hand.press("a")
        assert "Buyers ask" not in hand.reads


def test_every_part_is_a_line_with_its_mass_and_how_it_was_found(world: World) -> None:
    mats_off(world)
    world.done("part-weighed", part="mats", reading="3.2kg")
    with walking(world, *USUAL) as hand:
        hand.press("k")
        assert "PART 1 of 6 live modules: 0 stored or gone, 2 not" in hand.reads
        assert "=> Floor mats" in hand.reads
        assert "3.2 kg" in hand.reads
        assert "19.0 kg~" in hand.reads  # the driver's seat: the pack's mass, never weighed


@pytest.mark.parametrize("size", [USUAL, (60, 18)])
def test_the_whole_effect_of_taking_a_part_off_is_in_sight(world: World, size: tuple[int, int]) -> None:
    world.done("car-weighed", corners="334,331,266,262kg")
    with walking(world, *size) as hand:
        to_part(hand, "driver-seat")
        assert "coming off: -19.0 kg, front" in hand.reads
        assert "%, height" in hand.reads


@pytest.mark.parametrize(
    ("key", "fate"), [("k", "keep"), ("r", "refit"), ("s", "sell"), ("x", "scrap"), ("c", "controlled")]
)
def test_one_key_sets_the_fate_of_the_part_under_the_cursor(world: World, keys: KeysOnly, key: str, fate: str) -> None:
    keys.press("k", key)
    assert world.state.fate_of("mats") == fate
    assert keys.desk.message == f"written: Floor mats: {fate}"


def test_selling_a_live_module_asks_for_the_rule_that_allows_it(world: World) -> None:
    with walking(world, *USUAL) as hand:
        to_part(hand, "driver-bag")
        hand.press("s")
        assert "LIVE MODULE 1/1 Which local rule allows selling it: Driver airbag module" in hand.reads
        assert world.state.fate_of("driver-bag") == "undecided"
        hand.type("permit 12")
        hand.press("enter")
        assert world.state.fate_of("driver-bag") == "sell"


def test_the_words_about_law_are_a_key_away(world: World) -> None:
    with walking(world, *USUAL) as hand:
        to_part(hand, "driver-bag")
        hand.press("enter")
        assert "dangerous goods, UN 3268" in hand.reads


def test_what_taking_it_off_does_is_shown_before_it_comes_off(world: World) -> None:
    world.done("car-weighed", corners="334,331,266,262kg")
    with walking(world, *USUAL) as hand:
        to_part(hand, "driver-seat")
        assert "coming off: -19.0 kg, front +" in hand.reads  # it sits behind the middle: the front share rises
        assert "left -" in hand.reads  # and on the left


def test_a_price_takes_seven_keys_and_a_sale_four(world: World, keys: KeysOnly) -> None:
    keys.press("k", "a", *"60", "enter", *"45", "enter", "enter")
    listing = world.state.parts["mats"].listed.last
    assert listing is not None
    assert (listing.ask, listing.floor) == (60, 45)
    keys.press("m", *"55", "enter", "enter")
    (sale,) = world.state.sales
    assert (sale.parts, sale.amount, sale.fees) == (("mats",), 55, 0)


def test_a_part_in_a_lot_says_what_is_asked_for_the_lot_and_what_it_goes_with(world: World) -> None:
    world.done("listed", part="mats", along="driver-seat", ask="90")
    with walking(world, *USUAL) as hand:
        to_part(hand, "driver-seat")
        assert hand.reads.count("lot 90.00 EUR") == 2
        assert "lot; on; goes with Floor mats, for one price" in hand.reads


def test_a_part_nobody_has_says_so(keys: KeysOnly) -> None:
    to_part(keys, "zebra")
    assert keys.desk.message == "no part has zebra in its name"


def test_the_cursor_stops_at_both_ends(keys: KeysOnly) -> None:
    keys.press("k", *["up"] * 3)
    Bench.paint(keys.desk.place, keys.desk, Window(80, 24))  # type: ignore[arg-type]
    assert keys.desk.place.cursor == 0  # type: ignore[attr-defined]
    keys.press(*["pagedown"] * 9)
    keys.desk.place.paint(keys.desk, Window(80, 24))
    assert keys.desk.place.cursor == 5  # type: ignore[attr-defined]


@pytest.mark.parametrize(("columns", "rows"), [FROM_TWO_METRES, USUAL])
def test_only_the_lines_in_sight_are_made(
    world: World, columns: int, rows: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    for n in range(200):
        world.done("part-found", name=f"clip {n}", reading="1kg")
    made: list[str] = []
    real = bench.line_of
    monkeypatch.setattr(bench, "line_of", lambda state, name: made.append(name) or real(state, name))
    desk = Desk(world.car, "Ana", Card())
    picture = Bench().paint(desk, Window(columns, rows))
    assert 0 < len(picture.body) <= rows
    assert len(made) <= rows + 1


def test_the_line_under_the_cursor_is_always_in_sight(world: World) -> None:
    for n in range(60):
        world.done("part-found", name=f"clip {n}", reading="1kg")
    for size in (FROM_TWO_METRES, USUAL):
        with walking(world, *size) as hand:
            hand.press("k", *["pagedown"] * 4, "down", "down")
            marked = [line for line in hand.lines if line.startswith("=>")]
            assert len(marked) == 1, hand.lines
            assert "clip 36" in marked[0]
            assert "more above" not in hand.reads  # the slice fits: nothing of it is hidden


# -- pages to look at


def test_the_balance_is_the_car_from_above_with_four_wheels(world: World) -> None:
    world.done("car-weighed", corners="334,331,266,262kg")
    mats_off(world)
    with walking(world, *USUAL) as hand:
        hand.press("v")
        assert "[ 333.2]__/----\\__[ 330.2]" in hand.reads  # mats, 3 kg in the middle: 0.75 kg off each wheel
        assert "(-0.8)" in hand.reads
        assert "before now planned" in hand.reads
        assert "0.550" in hand.reads


def test_the_balance_says_what_is_missing(hand: Hand) -> None:
    hand.press("v")
    assert "the balance needs the four corners" in hand.reads


def test_the_closing_says_its_verdict_and_what_is_forgotten(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L")
    mats_off(world)
    world.done("car-weighed", total="1160kg", fuel="30L")
    with walking(world, 80, 60) as hand:
        hand.press("z")
        for words in ("WEIGH AGAIN", "Corrected: fuel: 40.0 L before, 30.0 L after", "Most often forgotten", "Gap:"):
            assert words in hand.reads


def test_the_money_page_has_two_bars_and_every_sum(world: World) -> None:
    world.done("sold", part="mats", amount="600")
    with walking(world, 80, 40) as hand:
        hand.press("m")
        assert f"put in {'#' * 40}" in hand.reads
        assert f"back {'#' * 20}" in hand.reads  # 600 of 1200
        assert "recovered: 600.00 EUR 50.0 % of the price" in hand.reads
        assert "cap 500.00 EUR (2.1): declared 600.00 EUR, OVER by 100.00 EUR" in hand.reads


def test_the_kilos_come_down_against_the_goal(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    mats_off(world)
    with walking(world, *USUAL) as hand:
        hand.press("x")
        assert "From 1200.0 kg" in hand.reads
        assert "Now 1197.0 kg, goal 1000.0 kg (the line across)" in hand.reads
        assert "3.0 kg ################ Make safe" in hand.reads


def test_a_sheet_is_written_from_the_screen(world: World, keys: KeysOnly) -> None:
    keys.press("r", "3")
    assert keys.desk.message == f"written: {world.folder / 'sheets' / 'bags-0001.html'}"
    assert (world.folder / "sheets" / "bags-0001.html").exists()


def test_a_bar_shows_whatever_is_above_nothing_and_never_runs_over() -> None:
    assert (bar(0, 10, 8), bar(0.001, 10, 8), bar(10, 10, 8), bar(99, 10, 8)) == ("", "#", "########", "########")


def test_a_descent_ends_with_the_newest_value_and_marks_the_goal() -> None:
    lines = descent([100, 90, 60], goal=50, columns=3, rows=6)
    assert lines == ["#", "##", "##", "##", "###", "==="]
    assert descent([100, 100], goal=50, columns=4, rows=3) == ["####", "####", "===="]


def test_a_gap_lies_between_its_limits_or_outside() -> None:
    assert gap_line(0, 5, 11) == "[....X....]"
    inside, outside = gap_line(1, 5, 41), gap_line(9, 5, 41)
    assert inside.index("[") < inside.index("X") < inside.index("]")
    assert outside.index("]") < outside.index("X")


def test_what_a_step_puts_on_is_told_as_going_on(world: World) -> None:
    mats_count_as(world, "added")
    world.done("car-weighed", corners="334,331,266,262kg")
    with walking(world, 120, 40) as hand:
        hand.turn_to("safe.mats")
        assert "On: Floor mats, about 3.0 kg" in hand.reads
        assert "Off: Floor mats" not in hand.reads
        to_part(hand, "mats")
        assert "keep; not-yet; it goes on this car" in hand.reads
        assert "going on: +3.0 kg" in hand.reads
