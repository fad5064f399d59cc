"""Text for the screen: literal, harmless, no wider than the window; what is typed; what is laid out where."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.content import Content
from textual.style import Style

from teardown.packs.model import Hazard, greatest_first
from teardown.screens.desk import Desk
from teardown.screens.fields import LONGEST_NUMBER, LONGEST_TEXT, NumberField, NumbersField, TextField
from teardown.screens.large import GLYPHS, large
from teardown.screens.layout import lay_out
from teardown.screens.paint import (
    BOLD,
    LOUD,
    SIGNAL_STYLES,
    Page,
    Picture,
    Window,
    clipped,
    cut,
    minutes_seconds,
    signal_band,
    together,
    words,
    wrap,
)
from teardown.screens.places import everywhere
from teardown.screens.places.common import COMMON
from tests.screens.hand import KeysOnly
from tests.world import World, library

ANY_TEXT = st.text(max_size=300)


def hazard(signal: str, title: str = "Live airbag") -> Hazard:
    return Hazard(id="x", signal=signal, title=title, happens="It hurts.", avoid="Wait.", source="invented")  # type: ignore[arg-type]


@given(ANY_TEXT, st.integers(1, 60))
def test_wrapped_text_is_never_wider_than_the_window_and_loses_no_letter(text: str, columns: int) -> None:
    lines = wrap([words(text)], columns)
    if columns >= 2:  # a letter may take two cells
        assert all(cell_len(line.plain.rstrip()) <= columns for line in lines)
    typed = [c for c in words(text).plain if not c.isspace()]
    assert [c for line in lines for c in line.plain if not c.isspace()] == typed


@given(
    before=st.text("abc ", max_size=50),
    number=st.sampled_from(["69,310", "0.3", "1194.5", "5"]),
    unit=st.sampled_from(["kg", "lb", "ppm", "V", "min", "m3", "m3/h", "%", "mm"]),
    columns=st.integers(20, 60),
)
def test_a_number_stays_with_its_unit(before: str, number: str, unit: str, columns: int) -> None:
    paragraph = Content.assemble(("Said: ", "bold"), words(f"{before} {number} {unit}, and more of it after that"))
    lines = wrap([paragraph], columns)
    assert any(f"{number} {unit}," in line.plain for line in lines)
    assert all(line.cell_length <= columns for line in lines)
    assert " ".join(line.plain for line in lines).split() == paragraph.plain.split()
    assert any(span.style == "bold" for span in lines[0].spans)


def test_what_only_looks_like_a_unit_may_stand_on_the_next_line() -> None:
    assert [line.plain for line in wrap([words("take off 12 knobs")], 12)] == ["take off 12", "knobs"]


def test_a_word_of_ten_thousand_letters_is_broken_into_lines() -> None:
    lines = wrap([words("x" * 10_000)], 40)
    assert len(lines) == 250
    assert {line.cell_length for line in lines} == {40}


@given(ANY_TEXT, st.integers(1, 60))
def test_a_clipped_line_is_one_line_no_wider_than_the_window(text: str, columns: int) -> None:
    line = clipped(words(text), columns)
    assert "\n" not in line.plain
    assert line.cell_length <= columns


def test_a_clipped_line_shows_that_it_was_cut() -> None:
    assert clipped(words("Driver seat out"), 10).plain == "Driver se…"
    assert clipped(words("Driver"), 10).plain == "Driver"


@pytest.mark.parametrize("text", ["[bold]x[/bold]", "[@click=app.quit]x[/]", "[/]", "[$x]", "C:\\[dir]"])
def test_markup_is_text(text: str) -> None:
    assert words(text).plain == text
    assert words(text).spans == []


def test_what_drives_a_terminal_does_not_get_into_a_paragraph() -> None:
    page = Page()
    page.add("a\x1b]0;owned\x07b")
    page.labelled("c\x1b[2J", "d\x9b5n\u202e")
    page.labelled("nothing to say", "")
    assert [line.plain for line in page.done()] == ["a]0;ownedb", "c[2J d5n"]


def test_a_label_that_comes_again_is_said_once_and_one_without_text_not_at_all() -> None:
    page = Page()
    page.run_on([("Tools:", "torch"), ("Off:", "seat"), ("Off:", "belt"), ("Tools:", "pliers"), ("Bag:", "")])
    assert [line.plain for line in page.done()] == ["Tools: torch.  Off: seat; belt.  Tools: pliers."]


def test_a_word_of_two_words_is_never_parted_at_the_end_of_a_line() -> None:
    line = Content.assemble("Seat out  ", (together("NOT YET"), LOUD), ": needs more")
    assert [line.plain for line in wrap([line], 16)] == ["Seat out", "NOT YET: needs", "more"]


def test_what_is_cut_keeps_its_style_and_the_mark_follows_the_last_letter() -> None:
    lines = [words("READY", LOUD), words("abcde fghijk"), words("more")]
    last = cut(lines, 2, 10)[-1]
    assert (last.plain, [str(span.style) for span in last.spans]) == ("abcde ...", [BOLD])
    assert cut(lines, 1, 10)[0].spans[0].style == LOUD
    assert cut(lines, 3, 10) == lines


@pytest.mark.parametrize("signal", SIGNAL_STYLES)
@pytest.mark.parametrize("title", ["Live airbag", "車のエアバッグ" * 10, "x" * 80])
def test_the_signal_band_is_the_word_the_hazard_and_the_whole_width(signal: str, title: str) -> None:
    band = signal_band(hazard(signal, title), 40)
    assert band.cell_length == 40
    assert band.plain.split()[0 if signal == "NOTICE" else 1] == signal


def test_only_a_notice_carries_no_warning_sign() -> None:
    """ANSI Z535.6: the safety alert symbol goes with DANGER, WARNING and CAUTION, never with NOTICE (from memory)."""
    assert [("/!\\" in signal_band(hazard(signal), 40).plain) for signal in SIGNAL_STYLES] == [True, True, True, False]


def test_the_greatest_hazard_comes_first() -> None:
    """DANGER above WARNING above CAUTION, as ANSI Z535.6 and ISO 3864-2 rank them (from memory)."""
    mixed = [hazard(signal) for signal in ("NOTICE", "CAUTION", "DANGER", "WARNING")]
    assert [h.signal for h in greatest_first(mixed)] == ["DANGER", "WARNING", "CAUTION", "NOTICE"]


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(1800, "30:00"), (1799.2, "30:00"), (61, "1:01"), (60, "1:00"), (0.2, "0:01"), (0, "0:00"), (6000, "100:00")],
)
def test_time_left_is_rounded_up(seconds: float, shown: str) -> None:
    assert minutes_seconds(seconds) == shown


@pytest.mark.parametrize("text", ["29:59", "1234.56 kg", "- ppm", "0123456789"])
def test_large_digits_are_three_rows_of_characters_every_console_has(text: str) -> None:
    """The font of the kernel's console is code page 437 (from memory); that page as Python knows it."""
    rows = [row.plain for row in large(text, 40)]
    assert len(rows) == 3
    assert all(len(row) <= 40 for row in rows)
    assert "".join(rows).encode("cp437")


def test_no_large_digit_can_be_taken_for_another() -> None:
    drawn = {character: "\n".join(glyph) for character, glyph in GLYPHS.items()}
    assert len(set(drawn.values())) == len(GLYPHS)
    assert all(len({len(row) for row in glyph}) == 1 for glyph in GLYPHS.values())
    assert set("0123456789.:-") == set(GLYPHS)


def test_a_unit_stands_small_beside_its_large_number() -> None:
    assert large("12.5 kg", 40)[-1].plain.endswith("kg")
    assert "k" not in large("12.5 kg", 40)[0].plain


# -- what is typed


@given(st.text(alphabet="0123456789.,x-+ e٣²", max_size=20))
def test_whatever_is_typed_a_number_field_holds_a_number_or_nothing(typed: str) -> None:
    field = NumberField()
    for character in typed:
        before = field.text
        assert field.take(character) == (field.text != before)
    assert len(field.text) <= LONGEST_NUMBER
    if field.text:
        assert float(field.text.rstrip(".")) >= 0


def test_a_comma_is_a_point_and_a_point_needs_no_nought_before_it() -> None:
    field = NumberField()
    assert [field.take(c) for c in ",5,"] == [True, True, False]
    assert field.text == "0.5"
    assert field.rub_out()
    field.clear()
    assert not field.rub_out()


def test_a_number_from_before_gives_way_to_the_first_digit_and_is_rubbed_out_like_any() -> None:
    field = NumberField(beside="EUR")
    field.begin("60.50")
    assert (field.answer, field.shown) == ("60.50", "60.50 EUR")
    assert field.rub_out()
    assert field.text == "60.5"
    assert field.take("1")
    assert field.text == "60.51"
    field.begin("60.50")
    assert field.take(",")
    assert field.text == "0."
    assert (field.answer, field.shown) == ("0", "0. EUR")


def test_a_number_from_before_brings_its_unit() -> None:
    field = NumberField("kg")
    field.begin("82lb")
    assert (field.text, field.unit, field.answer) == ("82", "lb", "82lb")


def test_several_numbers_are_taken_one_by_one_and_rubbed_out_from_the_last() -> None:
    field = NumbersField("s")
    assert not field.keep()
    for character in "12.1":
        assert field.take(character)
    assert field.keep()
    assert field.take("9")
    assert field.answer == "12.1s; 9s"
    assert [field.rub_out() for _ in range(2)] == [True, True]
    assert (field.number.text, field.kept) == ("12.1", [])
    assert [field.rub_out() for _ in range(5)] == [True, True, True, True, False]
    assert field.answer == ""


@given(st.text(max_size=LONGEST_TEXT + 50))
def test_a_line_of_text_is_one_line_harmless_and_no_longer_than_it_may_be(typed: str) -> None:
    field = TextField()
    for character in typed:
        field.take(character)
    assert len(field.text) <= LONGEST_TEXT
    assert words(field.text).plain == field.text
    assert "\n" not in field.text


# -- what is laid out where


class Told:
    """A place that shows what a test gives it."""

    name, types, commands = "told", False, (everywhere.UP, everywhere.DOWN)

    def __init__(self, picture: Picture) -> None:
        self.picture = picture

    def paint(self, desk: object, window: Window) -> Picture:
        return self.picture


@given(
    head=st.lists(ANY_TEXT, min_size=1, max_size=4),
    body=st.lists(ANY_TEXT, max_size=6),
    prompt=st.lists(st.text(max_size=60), max_size=1),
    said=st.text(max_size=400),
    digits=st.sampled_from(["", "29:59", "1234.56 kg"]),
    scrolled=st.integers(-5, 100),
    window=st.sampled_from([Window(40, 12), Window(60, 18), Window(76, 40)]),
    focused=st.booleans(),
)
def test_whatever_a_place_shows_it_fits_the_window(
    world: World,
    head: list[str],
    body: list[str],
    prompt: list[str],
    said: str,
    digits: str,
    scrolled: int,
    window: Window,
    focused: bool,
) -> None:
    desk = KeysOnly(world).desk
    focus = len(body) - 1 if focused and body else None
    picture = Picture(*(tuple(map(words, head)), digits, tuple(map(words, body)), tuple(map(words, prompt))), focus)
    desk.places.append(Told(picture))  # type: ignore[arg-type]
    desk.say(said)
    desk.scrolled = scrolled
    layout = lay_out(desk, window)
    lines = [line for region in layout.regions.values() for line in region]
    assert len(lines) + (3 if digits else 0) <= window.rows
    assert all("\n" not in line.plain and cell_len(line.plain.rstrip()) <= window.columns for line in lines)
    assert layout.regions["keys"]
    assert layout.regions["head"]


def test_what_the_body_has_too_much_of_is_marked_and_the_focus_is_in_sight(world: World) -> None:
    desk = KeysOnly(world).desk
    body = tuple(words(f"line {n}") for n in range(30))
    desk.places.append(Told(Picture((words("head"),), body=body, focus=15)))  # type: ignore[arg-type]
    shown = [line.plain for line in lay_out(desk, Window(60, 18)).regions["body"]]
    assert shown[0].endswith("more above: [up]")
    assert shown[-1].endswith("more below: [down]")
    assert "line 15" in shown
    desk.scrolled = 100
    assert lay_out(desk, Window(60, 18)).regions["body"][-1].plain == "line 29"
    desk.scrolled = -100
    assert lay_out(desk, Window(60, 18)).regions["body"][0].plain == "line 0"


LONG = " " + "x" * 30
"""What leaves a line no room for a mark in the smallest window."""


def body_of(world: World, lines: int, window: Window, rest: str = "") -> tuple[Desk, Callable[[], list[str]]]:
    """A desk with so many lines before it, and what of them is in sight."""
    desk = KeysOnly(world).desk
    body = tuple(words(f"line {n}{rest}") for n in range(lines))
    desk.places.append(Told(Picture((words("head"),), body=body)))  # type: ignore[arg-type]
    return desk, lambda: [line.plain for line in lay_out(desk, window).regions["body"]]


def lines_read(shown: list[str]) -> set[str]:
    """Without the marks, on lines of their own or beside what is read."""
    return {line.split("   ")[0] for line in shown if line.startswith("line")}


@pytest.mark.parametrize("window", [Window(40, 10), Window(40, 12), Window(60, 18)])
@pytest.mark.parametrize("rest", ["", LONG])
@pytest.mark.parametrize("lines", [9, 10, 14, 40])
def test_what_a_mark_says_of_a_key_is_true_when_it_is_struck(
    world: World, lines: int, rest: str, window: Window
) -> None:
    """Each [down] brings a line that was not in sight, until the last; each [up] back, until the first. None is passed
    over."""
    desk, shown = body_of(world, lines, window, rest)
    for key, end in (("down", f"line {lines - 1}{rest}"), ("up", f"line 0{rest}")):
        read = lines_read(shown())
        while end not in lines_read(before := shown()):
            assert f"{key}]" in " ".join(before)
            COMMON[key](desk)
            assert lines_read(shown()) - lines_read(before), before
            read |= lines_read(shown())
        assert read == {f"line {n}{rest}" for n in range(lines)}
    assert desk.scrolled == 0


def test_a_mark_takes_no_line_from_a_text_whose_last_line_in_sight_has_room_for_it(world: World) -> None:
    """Lines in sight of 30: all that there is room for, else one less."""
    _, shown = body_of(world, 30, Window(40, 12))
    assert shown()[-1].split("   ")[0] == "line 7"
    assert shown()[-1].endswith("  v 22 below: [down]")
    assert len(shown()[-1]) == 40
    _, shown = body_of(world, 30, Window(40, 12), LONG)
    assert shown()[-2:] == [f"line 6{LONG}", "v 23 more below: [down]"]


@pytest.mark.parametrize(
    ("line", "last"),
    [
        ("x" * 21, "x" * 21 + "  v 2 below: [down]"),
        ("x" * 21 + "     ", "x" * 21 + "  v 2 below: [down]"),  # what is blank at its end is room
        ("x" * 30, "v 3 more below: [down]"),
    ],
)
def test_a_mark_stands_two_cells_from_what_is_read_or_on_a_line_of_its_own(world: World, line: str, last: str) -> None:
    desk = KeysOnly(world).desk
    desk.places.append(Told(Picture((words("head"),), body=(words(line),) * 10)))  # type: ignore[arg-type]
    assert lay_out(desk, Window(40, 12)).regions["body"][-1].plain == last


def test_what_had_no_room_can_be_confirmed_once_the_window_has_grown(world: World) -> None:
    desk = KeysOnly(world).desk
    body = (words(" ".join(["to be read"] * 60)),)
    desk.places.append(Told(Picture((words("head"),), body=body, focus=0)))  # type: ignore[arg-type]
    in_sight = {}
    for window in (Window(40, 12), Window(76, 40)):
        lay_out(desk, window)
        in_sight[window.rows] = desk.in_sight
    assert in_sight == {12: False, 40: True}


def test_a_mark_beside_a_list_would_hide_what_is_chosen_and_has_its_own_line(world: World) -> None:
    desk = KeysOnly(world).desk
    body = tuple(words(f"line {n}") for n in range(30))
    desk.places.append(Told(Picture((words("head"),), body=body, focus=0)))  # type: ignore[arg-type]
    assert lay_out(desk, Window(40, 12)).regions["body"][-1].plain == "v 23 more below: [down]"


def test_a_place_whose_keys_do_not_scroll_promises_none(world: World) -> None:
    desk, shown = body_of(world, 30, Window(40, 12))
    desk.place.commands = ()  # type: ignore[misc]
    assert shown()[-1].endswith("  v 22 below")


@given(
    before=st.integers(0, 6),
    statement=st.integers(1, 240),
    after=st.integers(0, 6),
    heads=st.integers(1, 6),
    said=st.sampled_from(["", "written: you have confirmed line 12 (entry 140)", "x " * 90]),
    window=st.sampled_from([Window(40, 12), Window(60, 18), Window(80, 24)]),
)
def test_what_it_is_about_is_whole_in_sight_or_known_not_to_be(
    world: World, before: int, statement: int, after: int, heads: int, said: str, window: Window
) -> None:
    """Head and message give way; a statement as long as a pack may write is whole wherever nothing is said."""
    desk = KeysOnly(world).desk
    text = ("word " * 60)[:statement].strip()
    body = [*["above"] * before, f"[ ] 12. {text}", *["below"] * after]
    picture = Picture(
        tuple(words(f"head {n} {'h' * 50}") for n in range(heads)),
        body=tuple(map(words, body)),
        prompt=(words("Line 12 of 15: press 5, then Enter"),),
        focus=before,
    )
    desk.places.append(Told(picture))  # type: ignore[arg-type]
    desk.say(said)
    layout = lay_out(desk, window)
    seen = " ".join(line.plain.strip() for line in layout.regions["body"])
    assert desk.in_sight == (f"[ ] 12. {text}" in seen)
    if window.columns >= 60 or (not said and len(text) < 140):
        assert desk.in_sight
    assert bool(layout.regions["say"]) == bool(said)


def test_a_message_that_had_to_give_way_shows_that_it_was_cut(world: World) -> None:
    desk, _ = body_of(world, 30, Window(40, 12))
    desk.say("It is long. " * 20)
    said = [line.plain for line in lay_out(desk, Window(40, 12)).regions["say"]]
    assert len(said) == 3
    assert said[-1].endswith(" ...")
    assert all(len(line) <= 40 for line in said)


def test_without_colour_the_signal_word_is_reversed(monkeypatch: pytest.MonkeyPatch) -> None:
    hazard = library().hazards["airbag"]
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    assert signal_band(hazard, 60).spans[0].style == SIGNAL_STYLES["DANGER"]
    monkeypatch.setenv("NO_COLOR", "1")
    assert signal_band(hazard, 60).spans[0].style == LOUD


GROUNDS = {"DANGER": 1, "WARNING": 3, "CAUTION": 11, "NOTICE": 4}
"""Red, yellow, bright yellow, blue among the sixteen colours (ECMA-48 SGR 41, 43, 44; aixterm's 103)."""


@pytest.mark.parametrize(("name", "more"), [("linux", ""), ("xterm", ""), ("screen", ""), ("", "")])
@pytest.mark.parametrize("signal", SIGNAL_STYLES)
def test_of_sixteen_colours_each_signal_word_has_its_own_and_only_danger_is_red(
    monkeypatch: pytest.MonkeyPatch, signal: str, name: str, more: str
) -> None:
    """The nearest of sixteen to the yellow of CAUTION would be bright red, and to the blue of NOTICE grey."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", name)
    monkeypatch.setenv("COLORTERM", more)
    style = Style.parse(str(signal_band(hazard(signal), 60).spans[0].style))
    assert style.background is not None
    assert style.background.ansi == GROUNDS[signal]


@pytest.mark.parametrize(
    ("name", "more"),
    [("xterm-256color", ""), ("tmux-256color", ""), ("xterm-kitty", ""), ("xterm", "truecolor"), ("xterm", "24bit")],
)
def test_of_more_colours_each_signal_word_has_the_safety_colour(
    monkeypatch: pytest.MonkeyPatch, name: str, more: str
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", name)
    monkeypatch.setenv("COLORTERM", more)
    assert signal_band(hazard("CAUTION"), 60).spans[0].style == SIGNAL_STYLES["CAUTION"]
