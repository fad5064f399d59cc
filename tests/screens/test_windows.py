"""Windows of every size, a folder that may only be looked at, and the colours that are forced on nobody."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.clock import Clock
from teardown.car.door import Car, open_car
from teardown.screens.lamps import mass_lines
from teardown.screens.layout import side_lines
from teardown.screens.paint import LOUD, SIGNAL_STYLES, Window
from tests.screens.hand import (
    AT_ARMS_LENGTH,
    FROM_TWO_METRES,
    USUAL,
    WITH_ROOM,
    Hand,
    KeysOnly,
    in_each_window,
    walking,
)
from tests.world import FACTS, PROCEDURES, World


@pytest.mark.parametrize(("columns", "rows"), [(39, 12), (40, 11), (20, 5), (1, 1), (200, 4)])
def test_a_window_too_small_says_so_and_comes_back(hand: Hand, columns: int, rows: int) -> None:
    hand.resize(columns, rows)
    if columns >= 20 and rows >= 4:
        assert f"This window is {columns} x {rows}. It needs 40 x 12." in hand.reads
    assert "DANGER" not in hand.reads
    hand.resize(40, 12)
    assert "1/12 Look for high voltage" in hand.reads


def test_in_a_window_too_small_to_read_no_key_writes_anything(world: World) -> None:
    with walking(world, 30, 8) as hand:
        hand.press("space", "s", "1")
        assert "This window is 30 x 8." in hand.reads
    assert world.state.entries == 1


def test_the_window_may_change_at_any_time(world: World) -> None:
    with walking(world, *WITH_ROOM) as hand:
        hand.press("c")
        hand.type("334")
        for columns, rows in ((60, 18), (40, 12), (30, 8), (200, 60), (80, 24)):
            hand.resize(columns, rows)
            assert len(hand.lines) == rows
            assert hand.digits == ("" if columns < 40 else "334 kg")
            assert bool(hand.side) == (columns >= 110)


def test_the_list_beside_the_card_promises_no_key_it_does_not_obey(world: World) -> None:
    with walking(world, 120, 40) as hand:
        hand.resize(120, 24)
        hand.desk.position = 6
        hand.look()
        assert hand.side[0] == "   > Look for high voltage"
    lines = side_lines(KeysOnly(world).desk, 43, 6)
    assert lines[-1].plain == "v 7 more below"
    assert not any("[" in line.plain for line in lines)


def test_no_line_is_wider_or_lower_than_the_window(world: World) -> None:
    world.airbags_ready()
    for columns, rows in (FROM_TWO_METRES, AT_ARMS_LENGTH, WITH_ROOM):
        with walking(world, columns, rows) as hand:
            for keys in (["l"], ["g"], ["question_mark"], ["c"], ["e"], ["right", "right"]):
                hand.press(*keys)
                assert hand.lines[-1].strip(), "the line of keys is always in sight"
                assert all(len(line) <= columns for line in hand.lines)
                hand.press("escape")


# -- looking only


@pytest.fixture
def looking(world: World) -> World:
    """The same car, opened to read while somebody else writes."""
    world.battery_off()

    def opened(clock: Clock) -> Car:
        return open_car(world.folder, clock, write=False, packs=PROCEDURES)

    world.car.close()
    world.car = opened(world.clock)
    return world


def test_who_only_looks_is_told_so_and_nothing_is_written(looking: World, size: tuple[int, int]) -> None:
    before = (looking.folder / "log.jsonl").read_bytes()
    with walking(looking, *size) as hand:
        assert "READING ONLY" in hand.page[0]
        hand.press("right", "left", "space")
        assert "open to read only" in hand.reads
        hand.press("p")
        assert "open to read only" in hand.reads
        assert hand.app.is_running
    assert (looking.folder / "log.jsonl").read_bytes() == before


def test_who_only_looks_is_led_to_no_pad_whose_words_are_never_written(looking: World) -> None:
    with walking(looking) as hand:
        for key in "tsdficeyw":
            hand.press(key)
            assert hand.place.name == "the walk", key
            assert "this car is open to read only: nothing is written" in hand.reads
        hand.press("k", "a")
        assert hand.place.name == "the parts bench"
        assert "open to read only" in hand.reads
        assert "[f] find" in hand.reads, "what only looks stays"
        hand.press("f", *"winder", "enter")
        assert "Window winder" in next(line for line in hand.page if "=>" in line)


@pytest.mark.parametrize("window", [FROM_TWO_METRES, AT_ARMS_LENGTH, USUAL, WITH_ROOM])
def test_who_only_looks_sees_the_kilos_whole_and_no_key_that_writes(looking: World, window: tuple[int, int]) -> None:
    with walking(looking, *window) as hand:
        assert "READING ONLY" in hand.page[0]
        assert "1200.0 kg by its papers | 200.0 kg to go" in " ".join(line.strip() for line in hand.page[:2])
        for key in ("[space]", "[p]", "[u]", "[w]"):
            assert key not in hand.reads
        assert "[g]" in hand.reads
        hand.desk.go_to_gate("airbag-handling")
        hand.look()
        assert "READING ONLY: nothing is confirmed here" in hand.reads
        assert "[enter]" not in hand.reads


@pytest.mark.parametrize("columns", [40, 60, 76, 80])
@pytest.mark.parametrize("reading_only", [False, True])
@pytest.mark.parametrize("name", ["Car", "The green one with the long name", "車" * 40], ids=["short", "long", "wide"])
def test_no_name_and_no_word_pushes_the_kilos_out_of_the_window(
    tmp_path: Path, columns: int, reading_only: bool, name: str
) -> None:
    world = World(tmp_path / "car", FACTS.replace("Test car", name), rehearsal=True)
    lines = mass_lines(world.car.now(), Window(columns, 24), reading_only)
    assert all(line.cell_length == columns for line in lines)
    assert all(span.style == LOUD for line in lines for span in line.spans)
    assert all(sum(span.end - span.start for span in line.spans) == len(line.plain) for line in lines)
    told = " ".join(line.plain.strip() for line in lines)
    assert told.endswith("1200.0 kg by its papers | 200.0 kg to go")
    assert told.startswith("REHEARSAL | READING ONLY" if reading_only else "REHEARSAL")


def test_who_only_looks_is_not_asked_what_has_happened(looking: World) -> None:
    looking.clock.advance(3600)
    with walking(looking) as hand:
        assert "What has happened since?" not in hand.reads
        assert "2/12 Isolate the battery SHUT" in hand.reads


# -- colours


def backgrounds(hand: Hand) -> list[str]:
    """The lines that lay a colour of their own under the text."""
    coloured = []
    for strip in hand.strips():
        for segment in strip:
            colour = segment.style.bgcolor if segment.style else None
            if colour is not None and not colour.is_default and segment.text.strip():
                coloured.append(segment.text.strip())
    return coloured


@in_each_window
def test_only_the_signal_word_lays_a_colour_under_the_text(hand: Hand) -> None:
    assert backgrounds(hand) == ["/!\\ DANGER  High voltage"]
    hand.press("l")
    assert backgrounds(hand) == []
    hand.press("enter", "c")
    hand.type("334")
    assert backgrounds(hand) == []


CONTRASTS = {"DANGER": 7.86, "WARNING": 5.28, "CAUTION": 10.63, "NOTICE": 8.12}
"""Of the colours of ISO 3864-4 (sRGB approximations seen in a secondary copy) with their text, computed."""


@pytest.mark.parametrize("signal", SIGNAL_STYLES)
def test_the_signal_words_can_be_read_by_weak_eyes(signal: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: contrast at least 4.5, by its relative luminance (from memory)."""
    ink, ground = (word for word in SIGNAL_STYLES[signal].split() if word.startswith("#"))
    lighter, darker = sorted((luminance(ink), luminance(ground)), reverse=True)
    contrast = (lighter + 0.05) / (darker + 0.05)
    assert contrast >= 4.5
    assert contrast == pytest.approx(CONTRASTS[signal], abs=0.005)


def luminance(colour: str) -> float:
    shares = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_contrast_as_counted_here_is_21_of_black_on_white_and_1_of_a_colour_on_itself() -> None:
    assert round((luminance("#ffffff") + 0.05) / (luminance("#000000") + 0.05), 6) == 21.0
