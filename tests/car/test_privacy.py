"""What a stranger must not read goes, however it is written; everything else stays as it was."""

from __future__ import annotations

from unicodedata import normalize

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from teardown.car.facts import FactsError, parse_facts
from teardown.car.privacy import BLACK, FEWEST, black_out, letters

ALPHABET = "ABCDEFGHJKLMNPRSTUVWXYZabcdefghijklmnopqrstuvwxyzÄÖÜßéñø0123456789"
SEPARATORS = ("", "", " ", "-", ".", "  ", " - ", "_", "/", "\u00a0", "\u2011", "·", "\u200b")
some_letters = st.text(ALPHABET, min_size=FEWEST, max_size=12)
mixed_texts = st.text(ALPHABET + " -.,()", max_size=15)


def wide(text: str) -> str:
    """As a Japanese keyboard writes it: the full-width forms of ASCII, U+FF01 to U+FF5E."""
    return "".join(chr(ord(one) + 0xFEE0) if "!" <= one <= "~" else one for one in text)


@st.composite
def written(draw: st.DrawFn, private: str) -> str:
    """One way to write a private text: another case, other marks between its letters, other forms of them."""
    case = draw(st.sampled_from((str, str.upper, str.lower, str.swapcase, str.casefold)))
    form = draw(st.sampled_from((str, wide, lambda text: normalize("NFD", text), lambda text: normalize("NFKC", text))))
    marks = draw(st.lists(st.sampled_from(SEPARATORS), min_size=len(private), max_size=len(private)))
    spread = "".join(letter + mark for letter, mark in zip(private, marks, strict=True))
    return form(case(spread))


@given(st.data(), some_letters, mixed_texts, mixed_texts)
def test_no_private_text_passes_in_any_form_it_may_be_written_in(
    data: st.DataObject, private: str, before: str, after: str
) -> None:
    text = before + data.draw(written(private)) + after
    shown, why = black_out(text, [private])
    assert letters(private) not in letters(shown)
    assert BLACK in shown
    assert f"private: {private}" in why


@given(st.data(), some_letters, st.text("(αβγ,;)", max_size=9), st.text("(αβγ,;)", max_size=9))
def test_what_stands_around_a_private_text_stays(data: st.DataObject, private: str, before: str, after: str) -> None:
    shown, _ = black_out(before + data.draw(written(private)).strip() + after, [private])
    assert shown.startswith(before + BLACK)
    assert shown.endswith(after)


@given(st.lists(some_letters, max_size=4), st.text(max_size=60))
def test_a_text_with_nothing_private_in_it_stays_as_it_is(private: list[str], text: str) -> None:
    assume(not any(letters(one) in letters(text) for one in private))
    assume("@" not in text)
    assume(sum(one.isdecimal() for one in text) < 6)
    assert black_out(text, private) == (text, ())


groups = st.text("0123456789ABCDEFGHJK", min_size=1, max_size=4)


@given(st.lists(groups, min_size=1, max_size=5), st.sampled_from(("", " ", "-", ".")))
def test_a_part_number_is_never_taken_for_a_phone_number_or_a_vehicle(some: list[str], mark: str) -> None:
    number = mark.join(some)
    assume(len(number) != 17)
    for text in (number, f"part number {number}", f"fits {number} and {number}"):
        assert black_out(text, ["Mill Lane"]) == (text, ())


@pytest.mark.parametrize(("text", "why"), [
    ("from WXZ12345678901234, inside", "a vehicle number"),
    ("ask ana.b+car@mail.example.org first", "an e-mail address"),
    ("ring +44 (0)20 7946 0123 after six", "a phone number"),  # for drama: Ofcom, from memory
    ("+1 202-555-0123", "a phone number"),  # 555-0100 to 0199, for stories: ATIS-0300115, from memory
    ("call me on 01632 960123", "a number to call"),  # another of Ofcom's, from memory
    ("Tel.: 01632/960123", "a number to call"),
])  # fmt: skip
def test_what_gives_a_car_or_a_person_away_by_its_form_goes(text: str, why: str) -> None:
    shown, told = black_out(text, [])
    assert told == (why,)
    assert BLACK in shown
    assert not any(one.isdecimal() for one in shown)
    assert "@" not in shown


@pytest.mark.parametrize("text", [
    "12 V +/- 0.5 V, 55 A", "size 185/65 R15 88H", "built 1998-2004", "bolts @ 10.5 Nm", "60x40x30cm", "+4.50",
])  # fmt: skip
def test_other_numbers_stay(text: str) -> None:
    assert black_out(text, []).text == text


@pytest.mark.parametrize("text", ["𝐌𝐢𝐥𝐥 𝐋𝐚𝐧𝐞", "Ⓜⓘⓛⓛ-Ⓛⓐⓝⓔ", "ＭＩＬＬ　ＬＡＮＥ", "Mi\u0301ll Lane"])
def test_letters_of_other_founts_are_the_same_letters(text: str) -> None:
    # compatibility caseless matching: Unicode Standard 3.13, D146, from memory
    assert black_out(text, ["Mill Lane"]).text == BLACK


def test_what_stood_on_both_sides_of_a_piece_is_not_private_when_read_on() -> None:
    shown, _ = black_out("mill ana@mail.example.org lane", ["Mill Lane"])
    assert shown == BLACK
    assert black_out("milMill Lanel lane", ["Mill Lane"]).text == BLACK


def test_pieces_that_overlap_are_blacked_out_whole() -> None:
    assert black_out("at mill lane yard today", ["Mill Lane", "Lane Yard"]).text == f"at {BLACK} today"


@pytest.mark.parametrize("short", ["Ana", "7 b", "---", "é-1.2"])
def test_a_text_too_short_to_be_told_from_words_is_refused_with_the_reason(short: str) -> None:
    with pytest.raises(FactsError) as error:
        parse_facts(f'name = "x"\nprivate = ["WX51 ABC", "{short}"]')
    assert f"{short}: fewer than 4 letters or digits are found in ordinary words: write more of it" in str(error.value)
    assert "private" in str(error.value)
