"""Windows of every size, a folder that may only be looked at, and the colours that are forced on nobody."""

from __future__ import annotations

import pytest

from teardown.car.clock import Clock
from teardown.car.door import Car, open_car
from teardown.screens.paint import SIGNAL_STYLES
from tests.screens.hand import AT_ARMS_LENGTH, FROM_TWO_METRES, WITH_ROOM, Hand, in_each_window, walking
from tests.world import PROCEDURES, World


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
        hand.press("t", "a", "enter")
        assert "open to read only" in hand.reads
        assert hand.app.is_running
    assert (looking.folder / "log.jsonl").read_bytes() == before


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


@pytest.mark.parametrize("signal", SIGNAL_STYLES)
def test_the_signal_words_can_be_read_by_weak_eyes(signal: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: contrast at least 4.5, by its relative luminance (from memory)."""
    ink, ground = (word for word in SIGNAL_STYLES[signal].split() if word.startswith("#"))
    lighter, darker = sorted((luminance(ink), luminance(ground)), reverse=True)
    assert (lighter + 0.05) / (darker + 0.05) >= 4.5


def luminance(colour: str) -> float:
    shares = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_contrast_as_counted_here_is_21_of_black_on_white_and_1_of_a_colour_on_itself() -> None:
    assert round((luminance("#ffffff") + 0.05) / (luminance("#000000") + 0.05), 6) == 21.0
