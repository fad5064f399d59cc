"""Text from strangers, made harmless: what may stand in a pack, a car folder or a note, whoever wrote it.

What drives a terminal or hides a word is named by the Unicode Standard (the version of Python's `unicodedata`):
General_Category Cc, Cs, Zl, Zp (chapter 4, table 4-4); Bidi_Control (UAX #9, section 2); tag characters (chapter 23.9);
soft hyphen (chapter 23.2); noncharacters (chapter 23.7). Control characters of terminals: ECMA-48, C0 and C1.
"""

from __future__ import annotations

import sys
import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from teardown.text import one_line, plain

BIDI_CONTROLS = {0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)}
"""PropList.txt of the Unicode Character Database, Bidi_Control; from memory, checked below against `unicodedata`."""
TAGS = {*range(0xE0000, 0xE0080)}
NONCHARACTERS = {*range(0xFDD0, 0xFDF0), *(plane << 16 | last for plane in range(17) for last in (0xFFFE, 0xFFFF))}
SOFT_HYPHEN = 0x00AD
HARMFUL = {*BIDI_CONTROLS, *TAGS, *NONCHARACTERS, SOFT_HYPHEN}
ALL_OF_UNICODE = "".join(map(chr, range(sys.maxunicode + 1)))


def is_harmful(character: str) -> bool:
    controls = unicodedata.category(character) in ("Cc", "Cs", "Zl", "Zp") and character != "\n"
    return controls or ord(character) in HARMFUL


def test_a_harmful_character_gets_through_no_more_by_itself_than_among_others() -> None:
    harmful = [character for character in ALL_OF_UNICODE if is_harmful(character)]
    assert [hex(ord(character)) for character in harmful if plain(f"a{character}b") not in ("ab", "a b")] == []


def test_no_harmful_character_of_all_unicode_gets_through() -> None:
    assert [hex(ord(character)) for character in plain(ALL_OF_UNICODE) if is_harmful(character)] == []


def test_letters_digits_marks_and_signs_of_every_script_are_left_alone() -> None:
    kept = {character for character in ALL_OF_UNICODE if unicodedata.category(character)[0] in "LMNPS"}
    assert kept - set(plain(ALL_OF_UNICODE)) == set()


@given(st.text(alphabet=st.characters(codec=None, exclude_categories=()), max_size=60))
@example("\x1b]0;owned\x07")
@example("\r\r\n")
@example("a\u202eb\u2066c")
def test_text_that_has_been_made_harmless_is_harmless_and_stays_as_it_is(text: str) -> None:
    clean = plain(text)
    assert not any(map(is_harmful, clean))
    assert plain(clean) == clean
    assert "\n" not in one_line(text)


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("plain ASCII stays", "plain ASCII stays"),
        ("Türverkleidung 車 ドア", "Türverkleidung 車 ドア"),
        ("two\nlines", "two\nlines"),
        ("two\r\nlines", "two\nlines"),
        ("a\ttab", "a tab"),
        ("\x1b[31mred\x1b[0m", "[31mred[0m"),
        ("\x9b31mred", "31mred"),
        ("bell\x07, del\x7f, nul\x00", "bell, del, nul"),
        ("\u202egnp.exe", "gnp.exe"),
        ("air\u00adbag", "airbag"),
        ("air\u200bbag", "airbag"),
        ("\ufeffair\u200c\u200d\u2060\u180ebag\ufff9\ufffa\ufffb", "airbag"),
        ("seat\U000e0041\U000e007f", "seat"),
        ("end\ufffe\uffff\U0010ffff", "end"),
        ("half \ud800", "half "),
    ],
)
def test_what_is_taken_out_of_text(typed: str, shown: str) -> None:
    assert plain(typed) == shown


def test_on_one_line_a_line_break_is_a_space() -> None:
    assert one_line("Seat\nout\r\nnow") == "Seat out now"


def test_the_bidi_controls_named_here_are_those_that_python_knows_as_such() -> None:
    embeddings = {"LRE", "RLE", "PDF", "LRO", "RLO", "LRI", "RLI", "FSI", "PDI"}
    known = {code for code in range(0x3000) if unicodedata.bidirectional(chr(code)) in embeddings}
    assert known <= BIDI_CONTROLS
    assert {unicodedata.name(chr(code)) for code in BIDI_CONTROLS - known} == {
        "ARABIC LETTER MARK",
        "LEFT-TO-RIGHT MARK",
        "RIGHT-TO-LEFT MARK",
    }
