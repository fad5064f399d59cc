"""The tally's pages: they are turned, and the pictures in text cells say in words and shapes what they show."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from teardown.cells import Mark, levels_over_time
from tests.car.tally import mats_off, tally_world
from tests.screens.hand import FROM_TWO_METRES, USUAL, Hand, from_two_metres_too, in_each_window, walking
from tests.world import World

LEVEL_LINES = ("5,000", "15,000", "30,000")
LEVELS = ((5000, "Everyone out"), (15000, "Everyone away"), (30000, "Everyone away, and keep others out"))


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def air_read(world: World, *readings: tuple[float, int]) -> None:
    """Minutes that passed, and what the meter showed then."""
    for minutes, ppm in readings:
        world.clock.advance(60 * minutes)
        world.done("gate-reading", gate="ice-meter", value=f"{ppm}ppm")


# -- pages


@in_each_window
def test_the_pages_of_the_tally_are_turned_round_and_back(hand: Hand) -> None:
    hand.press("m")
    for page in ("THE MONEY page 1", "THE KILOS page 2", "THE BALANCE page 3", "THE CLOSING page 4"):
        assert f"{page} of 7" in hand.reads
        hand.press("right")
    assert "WHAT HAPPENED page 5 of 7" in hand.reads
    hand.press("right")
    assert "TIMED RUNS page 6 of 7 Nothing was timed yet. [t] enters timed runs" in hand.reads
    hand.press("right")
    assert "GAS IN THE ROOM page 7 of 7 No reading of the air yet" in hand.reads
    hand.press("right", "left")
    assert "GAS IN THE ROOM page 7 of 7" in hand.reads
    hand.press("backspace")
    assert hand.place.name == "the walk"


def test_the_keys_that_open_a_page_from_the_card_turn_to_it_from_another_page(hand: Hand) -> None:
    for key, title in (("v", "THE BALANCE"), ("x", "THE KILOS"), ("z", "THE CLOSING"), ("m", "THE MONEY")):
        hand.press(key)
        assert title in hand.reads
    hand.press("backspace")
    assert hand.place.name == "the walk"


def test_what_was_entered_on_a_page_is_seen_there_and_undone_with_one_key(hand: Hand) -> None:
    hand.press("m", "c", *"84", "enter", *"skip", "enter", "3")
    hand.press("enter")
    assert "spent: waste: 84.00 EUR" in hand.reads
    hand.press("u")
    assert "undone: entry 2, cost: skip" in hand.reads
    assert "spent: waste" not in hand.reads
    hand.press("t", *"lap", "enter", *"61", "enter", "enter", "enter")
    assert "TIMED RUNS page 6 of 7 lap 2026-05-09 61.00 s, 1 run " in hand.reads


# -- runs


def test_the_runs_page_says_whether_the_last_was_quicker_than_the_first(world: World) -> None:
    """Welch's comparison, checked against its sources in tests/figures; here only that it is asked and told."""
    world.done("run-timed", what="0 to 80 km/h", times="6.8;6.9;6.7;6.8s", conditions="wet")
    with walking(world, *USUAL) as hand:
        hand.press("m", "left", "left")
        assert "0 to 80 km/h 2026-05-09 6.80 s, 4 runs" in hand.reads
        assert "wet" in hand.reads
        assert "QUICKER" not in hand.reads
        world.done("run-timed", what="0 to 80 km/h", times="6.1;6.2;6.0;6.1s")
        hand.look()
        assert "0.70 s QUICKER than the first: 95 % interval -0.84 to -0.56 s" in hand.reads
        world.done("run-timed", what="0 to 80 km/h", times="6.7;6.9;6.8s")
        hand.look()
        assert "NO DIFFERENCE shown between the first and the last" in hand.reads


def test_one_run_alone_is_compared_with_nothing(world: World, hand: Hand) -> None:
    world.done("run-timed", what="lap", times="61s")
    world.done("run-timed", what="lap", times="60s")
    hand.press("m", "left", "left")
    assert "First and last cannot be compared: There are 1 readings" in hand.reads


# -- gas


@in_each_window
def test_the_gas_over_time_lies_between_its_levels_in_words(world: World, hand: Hand) -> None:
    air_read(world, (0, 700), (5, 6200), (5, 16400), (10, 1500))
    world.clock.advance(4 * 60)
    hand.press("m", "left")
    assert "Carbon dioxide, ppm: 2026-05-09, newest 4 min ago" in hand.reads
    page = [line.strip() for line in hand.page]
    at = {level: next(n for n, line in enumerate(page) if line.startswith(f"{level} = ")) for level in LEVEL_LINES}
    marks = {n: line for n, line in enumerate(page) if line and set(line) <= set("o! ")}
    first, second = (n for n, line in marks.items() if line == "!")
    assert at["30,000"] < first < at["15,000"] < second < at["5,000"]
    assert "".join(line for n, line in marks.items() if n > at["5,000"]).count("o") == 2
    assert "08:00" in hand.reads
    assert "08:10 16,400 ppm, at or over 15,000" in hand.reads
    assert "08:20 1,500 ppm" in hand.reads
    assert "15,000 = Everyone away ====" in hand.reads


@pytest.mark.parametrize("window", [(60, 18), (120, 40), FROM_TWO_METRES])
def test_at_the_gate_of_the_meter_the_readings_so_far_are_seen(world: World, window: tuple[int, int]) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    air_read(world, (0, 700), (4, 900))
    with walking(world, *window) as hand:
        hand.desk.go_to_gate("ice-meter")
        hand.type("1200")
        hand.press("enter")
        hand.desk.go_to_gate("ice-meter")
        hand.look()
        seen = hand.reads
        while re.search(r"v \d+ (more )?below", hand.reads):
            hand.press("down")
            seen += hand.reads
        for words in ("15,000 = Everyone away", "o read ! at or over a level x undone", "1,200 ppm", "900 ppm"):
            assert words in seen


def test_a_reading_that_was_undone_is_told_apart_and_not_left_out(world: World, hand: Hand) -> None:
    air_read(world, (0, 700), (3, 16000))
    world.done("undo", entry=3)
    hand.press("m", "left")
    assert "08:03 16,000 ppm, at or over 15,000, undone" in hand.reads
    marks = [line for line in hand.lines if line.strip() == "x"]
    assert len(marks) == 1


def test_readings_of_other_days_are_counted_and_not_mixed_in(world: World, hand: Hand) -> None:
    air_read(world, (0, 700), (24 * 60, 800))
    hand.look()
    for _ in range(3):
        hand.confirm_line()
    hand.press("m", "left")
    assert "2026-05-10, newest 0 s ago" in hand.reads
    assert "1 of other days are on the gates sheet." in hand.reads
    assert "700 ppm" not in hand.reads


def test_what_is_drawn_says_at_which_level_each_mark_lies() -> None:
    marks = [Mark(0.0, 0, "o"), Mark(0.5, 4999, "o"), Mark(1.0, 5000, "!"), Mark(0.25, 29999, "!")]
    assert levels_over_time(marks, LEVELS, 27, 1) == [
        "30,000 = Everyone away, a..",
        "            !",
        "15,000 = Everyone away ====",
        "                          !",
        " 5,000 = Everyone out =====",
        "       o         o",
    ]


def test_above_the_highest_level_there_are_lines_only_when_something_was_read_there() -> None:
    with_one = levels_over_time([Mark(1.0, 1e6, "!")], LEVELS, 40, 2)
    assert with_one[0].strip() == "!"
    assert with_one[2].startswith("30,000 = Everyone away")
    assert len(with_one) == len(levels_over_time([], LEVELS, 40, 2)) + 2


def test_two_lines_between_levels_tell_low_from_high() -> None:
    lines = levels_over_time([Mark(0.0, 900, "o"), Mark(1.0, 4000, "o")], LEVELS[:1], 20, 2)
    assert [line.rstrip() for line in lines[1:]] == ["                   o", "      o"]


def test_the_page_of_the_money_tells_scrap_without_a_ticket_and_what_is_for_sale(world: World) -> None:
    mats_off(world)
    world.done("part-weighed", part="mats", reading="4kg")
    world.done("part-fate", part="mats", fate="scrap")
    world.done("listed", part="driver-seat", ask="90", floor="60")
    with walking(world, 120, 60) as hand:
        hand.press("m")
        assert "Scrap, rubber: 4.0 kg" in hand.reads
        assert "For sale: asked 90.00 EUR, floor 60.00 EUR Driver seat, 19.0 kg" in hand.reads


# -- what happened


@from_two_metres_too
def test_a_note_without_a_step_and_what_happened_are_found_again_the_newest_first(world: World, hand: Hand) -> None:
    world.done("note", text="the key hangs by the door")
    world.done("note", text="clip is broken", step="cabin.card-off")
    world.done("happened", what="air-bad", why="headache")
    world.done("power-restored", why="a charger")
    world.done("note", text="never mind")
    world.done("undo", entry=world.state.entries)
    hand.look()
    hand.press("z", "right")
    assert "WHAT HAPPENED page 5 of 7" in hand.reads
    seen = hand.reads
    for _ in range(20):
        hand.press("down")
        seen += hand.reads
    told = [
        "POWER came back. a charger",
        "happened. headache",
        "clip is broken. On: Door cards off",
        "the key hangs by",
    ]
    places = [" ".join(seen.split()).find(words) for words in told]
    assert -1 not in places, seen
    assert places == sorted(places)
    assert "never mind" not in seen


def test_what_is_written_while_the_page_is_open_is_on_it_too(world: World, hand: Hand) -> None:
    hand.press("z", "right")
    assert "Nothing yet. On the card [t] notes something" in hand.reads
    hand.press("p", "1")
    assert "POWER came back" in hand.reads
    assert "a battery was connected" in hand.reads
