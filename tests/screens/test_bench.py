"""The parts bench and the pages of the tally: what they show, what one key does, and that only what is seen is made."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from teardown.car.mass import mass_now
from teardown.car.tally import line_of
from teardown.screens.desk import Desk
from teardown.screens.paint import Window
from teardown.screens.places import bench
from teardown.screens.places.bench import Bench
from teardown.screens.places.card import Card
from tests.car.tally import mats_count_as, mats_off, tally_world
from tests.screens.hand import AT_ARMS_LENGTH, FROM_TWO_METRES, USUAL, WITH_ROOM, Hand, KeysOnly, walking
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


def test_read_from_two_metres_the_part_under_the_cursor_has_its_whole_name(world: World) -> None:
    """One key writes its fate: it must not be guessed from nine letters which part that is."""
    with walking(world, *FROM_TWO_METRES) as hand:
        to_part(hand, "driver-bag")
        assert re.search(r"\d/6 Driver airbag module", hand.reads)


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
        assert "lot: goes with Floor mats, for one price; on" in hand.reads


def test_at_arms_length_the_worth_begins_with_verdict_net_and_hour_and_rows_tell_the_money(world: World) -> None:
    world.done("listed", part="mats", ask="60", collection=True)
    world.done("sold", part="driver-seat", along="pads", amount="40", fees="2.50")
    with walking(world, *AT_ARMS_LENGTH) as hand:
        to_part(hand, "mats")
        # 60 less 12 % and 5 %, in 2 + 10 minutes
        assert "sell: net 49.80 EUR, 249.00 an hour, 0.2 h; on" in hand.reads
        assert "ask 60.00" in hand.reads
        assert "sold 37.50" in hand.reads
        assert "sold, lot" in hand.reads


@pytest.mark.parametrize("window", [AT_ARMS_LENGTH, WITH_ROOM])
def test_what_a_part_is_worth_and_why_is_told_to_its_end(world: World, window: tuple[int, int]) -> None:
    """Over as many lines as it takes: at its end stands how it was reckoned, and what is not known."""
    world.done("listed", part="mats", ask="60")
    with walking(world, *window) as hand:
        to_part(hand, "mats")
        told = " ".join(" ".join(hand.page).split())
        assert "sell: net 45.80 EUR before carriage, 65.43 an hour, 0.7 h; on; asked 60.00 EUR less fees" in told
        assert "carriage not known: the net is before it" in told


def test_a_part_nobody_has_says_so(keys: KeysOnly) -> None:
    to_part(keys, "zebra")
    assert keys.desk.message == "no part has zebra in its name"


def test_the_cursor_stops_at_both_ends(keys: KeysOnly) -> None:
    keys.press("k", *["up"] * 3)
    Bench.paint(keys.desk.place, keys.desk, Window(80, 24))  # type: ignore[arg-type]
    assert keys.desk.place.cursor.at == 0  # type: ignore[attr-defined]
    keys.press(*["pagedown"] * 9)
    keys.desk.place.paint(keys.desk, Window(80, 24))
    assert keys.desk.place.cursor.at == 5  # type: ignore[attr-defined]


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


# -- what no pack foresaw


def test_what_was_found_is_weighed_again_on_the_bench(world: World, keys: KeysOnly) -> None:
    n = world.done("part-found", name="tow hook", reading="20kg").n
    to_part(keys, "tow hook")
    keys.press("w", "x")
    assert "no pack knows what tow hook weighs: weigh it" in keys.desk.message
    keys.press(*"2", "enter")
    assert keys.desk.message == f"written: tow hook 2kg (entry {n + 1})"
    assert mass_now(world.state).now_kg == 1198


def test_what_was_fitted_is_on_the_bench_comes_off_with_one_key_and_is_stored(world: World, keys: KeysOnly) -> None:
    n = world.done("part-fitted", name="Race seat", reading="8kg").n
    to_part(keys, "race seat")
    keys.press("d")
    assert keys.desk.message == "written: Race seat: off the car"
    assert mass_now(world.state).now_kg == 1200
    keys.press("t", *"loft", "enter")
    assert line_of(world.state, f"fitted-{n}")[6:11] == ("stored", "undecided", None, "loft", "unknown")
    keys.press("d")
    assert keys.desk.message == "written: Race seat: on the car again"


def test_what_a_pack_foresaw_comes_off_by_its_step(world: World, keys: KeysOnly) -> None:
    to_part(keys, "mats")
    keys.press("d")
    assert keys.desk.message.startswith("Floor mats comes off by its step")
    assert not world.state.is_out("mats")


def test_a_live_thing_is_counted_marked_and_asked_for_a_rule(world: World) -> None:
    world.done("part-found", name="Knee airbag, live", reading="1.2kg")
    with walking(world, *USUAL) as hand:
        to_part(hand, "knee airbag, live")
        assert "live modules: 0 stored or gone, 3 not" in hand.reads
        assert "!Knee airbag, live" in hand.reads
        assert "controlled: a live module: the law first" in hand.reads
        hand.press("s")
        assert "Which local rule allows selling it: Knee airbag, live" in hand.reads


def test_a_name_that_is_wrong_is_freed_on_the_bench_with_a_reason(world: World, keys: KeysOnly) -> None:
    n = world.done("part-found", name="Airbag bracket", reading="0.3kg").n
    to_part(keys, "airbag bracket")
    keys.press("n", *"Ana", "space", *"saw a bare plate", "enter")
    assert keys.desk.message == "written: Airbag bracket is not live: Ana saw a bare plate"
    assert not line_of(world.state, f"found-{n}").live
    keys.press("n")
    assert keys.desk.message == "it is not taken to be live"


def test_how_many_pieces_were_found_stands_with_their_name(world: World) -> None:
    world.done("part-found", name="clips", reading="1kg", count=210)
    with walking(world, *USUAL) as hand:
        to_part(hand, "clips")
        assert "210 x clips" in hand.reads
        assert "price it: worth unknown" in hand.reads


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


def test_the_closing_page_adds_up_what_the_parts_say_against_the_scales(world: World) -> None:
    """By hand: 1200 less 3 of mats, which nobody weighed, and 8 of a seat more is 1205; the scales say 1206."""
    world.done("car-weighed", total="1200kg", fuel="40L")
    mats_off(world)
    world.done("part-fitted", name="seat", reading="8.00kg")
    world.done("car-weighed", total="1206kg", fuel="40L")
    with walking(world, 80, 60) as hand:
        hand.press("z")
        for words in (
            "First weighed: 1200.0 kg, uncertainty 1.0 kg",
            "The parts say: off 3.0 kg and fitted 8.0 kg, 2 items, 1 of them estimated",
            "So reckoned: 1205.0 kg, with the fuel",
            "The scales say: 1206.0 kg, uncertainty 1.0 kg",
            "Gap: +1.0 kg, uncertainty 3.0 kg; shows from",
        ):
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


def test_a_sheet_that_is_refused_is_told_on_the_screen(world: World, keys: KeysOnly) -> None:
    world.car.damage = "log.jsonl is damaged in line 2"
    keys.press("r", "3")
    refused = "NOT WRITTEN, and nothing of it is there: no sheet is written from a damaged log"
    assert keys.desk.message.startswith(refused)


def test_what_a_step_puts_on_is_told_as_going_on(world: World) -> None:
    mats_count_as(world, "added")
    world.done("car-weighed", corners="334,331,266,262kg")
    with walking(world, 120, 40) as hand:
        hand.turn_to("safe.mats")
        assert "On: Floor mats, about 3.0 kg" in hand.reads
        assert "Off: Floor mats" not in hand.reads
        to_part(hand, "mats")
        assert "keep: it goes on this car; not-yet" in hand.reads
        assert "going on: +3.0 kg" in hand.reads
