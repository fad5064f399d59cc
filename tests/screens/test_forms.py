"""The form: every kind of entry by keys alone, and what a person reads on the way; what is refused is not lost."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car.entries import KINDS
from teardown.car.log import Entry, read_log
from teardown.screens.desk import TypedInto
from teardown.screens.dispatch import strike
from teardown.screens.guard import Guard
from teardown.screens.layout import lay_out
from teardown.screens.paint import Window
from teardown.screens.places.asks import ASKS, ask_for
from teardown.text import plain
from tests.car.tally import mats_off, tally_world
from tests.screens.hand import Hand, KeysOnly, from_two_metres_too, in_each_window
from tests.world import World

WINDOWS = (Window(40, 12), Window(60, 18), Window(80, 24), Window(76, 40))
"""The last is what the list of steps leaves of 120 x 40."""


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def last_entry(world: World) -> Entry:
    return list(read_log(world.folder / "log.jsonl"))[-1]


def clips(world: World, count: int) -> None:
    for n in range(count):
        world.done("part-found", name=f"clip {n}", reading="1kg")


def to_part(hand: Hand | KeysOnly, part: str) -> None:
    hand.press("k", "f", *("-" if key == "-" else key for key in part), "enter")


def digit_of(hand: Hand, answer: str) -> str:
    """The digit that stands before this answer."""
    found = re.search(rf"\[(\d)\] (\+ )?{answer}", hand.reads)
    assert found, hand.reads
    return found[1]


# -- every kind, by keys alone


@from_two_metres_too
def test_a_cost_is_entered_from_the_money_page(world: World, hand: Hand) -> None:
    hand.press("m", "c")
    assert "COST 1/4 How much, EUR:" in hand.reads
    hand.type("84,5")
    assert hand.digits == "84.5"
    hand.press("enter")
    assert "COST 2/4 For what: How much: 84.5 EUR" in hand.reads
    hand.type("skip hire")
    assert "skip hire_" in hand.reads
    hand.press("enter")
    assert "[1] purchase [2] removing [3] waste" in hand.reads
    hand.press("3")
    assert "COST 4/4 Receipt: How much: 84.5 EUR | For what: skip hire" in hand.reads
    hand.press("enter")
    assert "written: COST: 84.5 EUR, skip hire, waste (entry 2)" in hand.reads
    assert "THE MONEY page 1 of 7" in hand.reads
    assert last_entry(world).fields == {"amount": "84.5", "what": "skip hire", "of": "waste", "currency": "EUR"}


@from_two_metres_too
def test_several_parts_are_sold_together_from_the_bench(world: World, hand: Hand) -> None:
    clips(world, 2)
    hand.press("k", "m")
    assert "SOLD 1/6 Money in hand, EUR: Floor mats" in hand.reads
    hand.type("55")
    hand.press("enter")
    assert "SOLD 2/6 Sold along with it:" in hand.reads
    assert "[1] clip 0" in hand.reads
    hand.press("1", "2", "1", "1")
    assert "[1] + clip 0" in hand.reads
    assert "+ clip 1; clip 0 | Floor mats" in hand.reads
    hand.press("enter")
    hand.type("6.60")
    hand.press("enter", "down", "down")
    assert "SOLD 6/6 To whom:" in hand.reads
    hand.type("Bo")
    hand.press("enter")
    assert "written: SOLD Floor mats: 55 EUR, clip 1; clip 0, 6.60 EUR, Bo (entry 4)" in hand.reads
    (sale,) = world.state.sales
    assert sale.parts == ("mats", "found-3", "found-2")
    assert (sale.net, sale.to) == (Decimal("48.40"), "Bo")


@in_each_window
def test_what_buyers_ask_about_is_told_when_a_part_is_listed(world: World, hand: Hand) -> None:
    hand.press("k", "a")
    assert "LISTED 1/13 Asked, EUR: Floor mats" in hand.reads
    for typed in ("60", "45"):
        hand.type(typed)
        hand.press("enter")
    assert "LISTED 3/13 Offered along with it: Floor mats" in hand.reads
    hand.press("down")
    assert "[1] A [2] B [3] C" in hand.reads
    assert "A unmarked, B usable marks, C for repair" in hand.reads
    hand.press("2")
    for typed in ("all years", "12-34", "grey", "a tear", "washed", "four clips", "60x40x5cm", "the club"):
        hand.type(typed)
        hand.press("enter")
    assert "LISTED 13/13 Collection only:" in hand.reads
    hand.press("1")
    assert "written: LISTED Floor mats: 60 EUR, 45 EUR, B, all years, 12-34" in hand.reads
    listing = world.state.parts["mats"].listed.last
    assert listing is not None
    assert (listing.ask, listing.floor, listing.collection) == (60, 45, True)
    assert listing.facts == {
        "grade": "B", "fits": "all years", "number": "12-34", "colour": "grey", "faults": "a tear", "tested": "washed",
        "included": "four clips", "size": "60x40x5cm", "where": "the club",
    }  # fmt: skip


@in_each_window
def test_money_given_back_is_entered_for_one_of_the_parts_sold(world: World, hand: Hand) -> None:
    world.done("sold", part="mats", amount="55")
    hand.press("m", "y")
    assert "REFUND 1/4 Which part: [1] Floor mats" in hand.reads
    hand.press("1")
    hand.type("55")
    hand.press("enter")
    hand.type("a tear")
    hand.press("enter")
    assert "yes: it is unsold again" in hand.reads
    hand.press("1")
    assert "written: REFUND: Floor mats, 55 EUR, a tear, yes (entry 3)" in hand.reads
    fields = {"part": "mats", "amount": "55", "why": "a tear", "returned": True, "currency": "EUR"}
    assert last_entry(world).fields == fields


@in_each_window
def test_a_scrap_ticket_is_entered_with_the_parts_that_went(world: World, hand: Hand) -> None:
    mats_off(world)
    world.done("part-fate", part="mats", fate="scrap")
    hand.press("m", "s")
    assert hand.digits == "- kg"
    hand.press("l", *"6.5", "enter", *"1.20", "enter")
    assert "SCRAP TICKET 3/5 Material: The yard weighed: 6.5 lb | The yard paid: 1.20 EUR" in hand.reads
    hand.press("down")
    assert "[1] Floor mats" in hand.reads  # what is to be scrapped stands first
    hand.press("1", "enter", *"77", "enter")
    assert "written: SCRAP TICKET: 6.5 lb, 1.20 EUR, Floor mats, 77 (entry 5)" in hand.reads
    (ticket,) = world.state.tickets
    assert (ticket.went, ticket.ticket, ticket.amount) == (("mats",), "77", Decimal("1.20"))
    # 1 lb = 0.45359237 kg exactly: international yard and pound agreement, 1959 (NIST SP 811, appendix B)
    assert round(ticket.kg, 6) == round(6.5 * 0.45359237, 6)


@in_each_window
def test_runs_are_timed_one_after_the_other(world: World, hand: Hand) -> None:
    hand.press("m", "t")
    hand.type("0 to 80 km/h")
    hand.press("enter")
    for typed in ("12.1", "12.4", "12"):
        hand.type(typed)
        assert hand.digits == f"{typed} s"
        hand.press("enter")
    assert "So far: 12.1s; 12.4s; 12s" in hand.reads
    hand.press("backspace", *".2", "enter", "enter")
    hand.press("enter")
    assert "written: TIMED RUNS: 0 to 80 km/h, 12.1s; 12.4s; 12.2s (entry 2)" in hand.reads
    (timed,) = world.state.runs
    assert (timed.what, timed.times_s) == ("0 to 80 km/h", (12.1, 12.4, 12.2))


@in_each_window
def test_what_left_the_place_is_entered_with_who_took_it(world: World, hand: Hand) -> None:
    world.modules_out()
    to_part(hand, "driver-bag")
    hand.press("o")
    assert "HANDED OVER 1/2 To whom: Driver airbag module" in hand.reads
    hand.type("Yard 3")
    hand.press("enter")
    assert "what, number, date" in hand.reads
    hand.type("note 8")
    hand.press("enter")
    assert "written: HANDED OVER Driver airbag module: Yard 3, note 8" in hand.reads
    assert last_entry(world).fields == {"part": "driver-bag", "to": "Yard 3", "paper": "note 8"}


def test_a_photo_is_entered_with_what_it_shows(world: World, keys: KeysOnly) -> None:
    picture = world.folder.parent / "mats.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(30))
    keys.press("k", "i")
    place = keys.desk.place
    assert isinstance(place, TypedInto)
    assert all(place.typed(keys.desk, character) for character in str(picture))
    keys.press("enter", *"tear", "enter")
    assert keys.desk.message.startswith("written: PHOTO Floor mats:"), keys.desk.message
    assert last_entry(world).fields["says"] == "tear"


def test_where_a_part_lies_is_one_question(world: World, keys: KeysOnly) -> None:
    mats_off(world)
    keys.press("k", "t", *"shelf", "enter")
    assert keys.desk.message == "written: STORED Floor mats: shelf (entry 4)"


# -- on the way


def test_one_goes_back_a_question_and_finds_what_was_typed(hand: Hand) -> None:
    hand.press("m", "c", *"84", "enter", *"skip", "up")
    assert hand.digits == "84"
    hand.press("5", "down")
    assert "COST 2/4 For what: How much: 845 EUR skip_" in hand.reads
    hand.press(*["backspace"] * 5)
    assert "COST 1/4 How much, EUR: For what" not in hand.reads
    assert hand.digits == "845"
    hand.press(*["backspace"] * 4)
    assert hand.place.name == "the tally"


def test_what_is_optional_is_passed_over_with_one_key_and_said_to_be(hand: Hand) -> None:
    hand.press("m", "c", *"84", "enter", *"skip", "enter")
    assert "[down] passes it over" in hand.reads
    assert "[enter] WRITE [down] pass over" in hand.reads
    hand.press("down")
    assert "COST 4/4 Receipt:" in hand.reads
    hand.press("down")
    assert "[down] does nothing here" in hand.reads


def test_enter_with_nothing_typed_writes_what_there_is(world: World, hand: Hand) -> None:
    hand.press("k", "m", *"20", "enter", "enter")
    assert "written: SOLD Floor mats: 20 EUR (entry 2)" in hand.reads
    assert last_entry(world).fields["amount"] == "20"


def test_a_form_is_left_without_writing(world: World, hand: Hand) -> None:
    hand.press("m", "c", "8", "escape")
    assert hand.place.name == "the tally"
    assert world.state.entries == 1


def test_power_that_comes_back_while_letters_are_typed_in_a_form_leaves_it_as_it_was(world: World, hand: Hand) -> None:
    """There p is a letter: the form is left for the key, and stands here again after it."""
    hand.press("m", "c", *"80", "enter", *"saw", "escape")
    assert "left: nothing of it is written" in hand.reads
    hand.press("p", "1")
    assert [entry.kind for entry in read_log(world.folder / "log.jsonl")][-2:] == ["power-restored", "note"]
    assert "COST 2/4 For what: How much: 80 EUR saw_" in hand.reads
    hand.press(*" blades", "enter", "enter")
    assert last_entry(world).fields["what"] == "saw blades"


def test_a_form_that_was_left_for_good_does_not_come_back_with_power(world: World, hand: Hand) -> None:
    hand.press("m", "c", *"80", "escape", "right", "p", "1")
    assert hand.place.name == "the tally"
    assert "cost" not in {entry.kind for entry in read_log(world.folder / "log.jsonl")}


def test_what_was_chosen_stands_until_something_else_is_typed(world: World, hand: Hand) -> None:
    world.done("run-timed", what="0 to 80 km/h", times="12.1s")
    hand.press("m", "t", "1", "up", "2", "escape")
    assert "+ 0 to 80 km/h" in hand.reads


def test_the_keys_shown_are_those_of_the_question(hand: Hand) -> None:
    hand.press("m", "s")
    assert "[k] kg [l] lb [p] POWER came back" in hand.reads
    hand.press("question_mark")
    assert "KEYS: scrap ticket, a question at a time" in hand.reads
    hand.press("backspace", *"6", "enter")
    assert "[k] kg" not in hand.reads
    hand.press("l")
    assert "[l] does nothing here" in hand.reads


def test_a_long_list_has_pages_and_is_searched_by_a_piece_of_the_name(world: World, hand: Hand) -> None:
    clips(world, 30)
    hand.press("k", "m", *"9", "enter")
    assert "[0] more: 1 to 9 of 35 are shown" in hand.reads
    hand.press("0")
    assert "[0] more: 10 to 18 of 35 are shown" in hand.reads
    hand.press("f", *"clip", "space", *"29", "enter", "1", "f", *"zebra", "enter")
    assert "nothing in the list has zebra in its name" in hand.reads
    hand.press("enter", "enter")
    assert "written: SOLD Floor mats: 9 EUR, clip 29 (entry 32)" in hand.reads


def test_in_a_small_window_a_digit_means_what_stands_beside_it(world: World, hand: Hand) -> None:
    clips(world, 8)
    hand.resize(40, 12)
    hand.press("k", "m", *"9", "enter", "0")
    first = next(line for line in hand.lines if line.startswith("[1] "))
    hand.press("1")
    assert f"+ {first.removeprefix('[1] ')} | Floor mats" in hand.reads
    assert hand.lines[-1].startswith("[enter] next [bksp]")


def test_parts_that_bear_one_name_are_told_apart(world: World, hand: Hand) -> None:
    world.done("part-found", name="clip", reading="1kg")
    world.done("part-found", name="clip", reading="2kg")
    hand.press("k", "m", *"9", "enter")
    assert "[1] clip (found-2) [2] clip (found-3)" in hand.reads


def test_what_was_said_before_is_a_digit_away_and_spelled_the_same(world: World, hand: Hand) -> None:
    world.done("run-timed", what="0 to 80 km/h", times="12.1s")
    hand.press("m", "t")
    assert "[1] 0 to 80 km/h [2] something else: type it" in hand.reads
    hand.press("1", *"11", "enter", "enter", "enter")
    hand.press("t", "2", *"lap", "enter")
    assert "TIMED RUNS 2/3 Each time: What was timed: lap" in hand.reads
    assert [timed.what for timed in world.state.runs] == ["0 to 80 km/h", "0 to 80 km/h"]


def test_words_of_ones_own_that_were_not_typed_after_all_are_no_answer(world: World, keys: KeysOnly) -> None:
    world.done("run-timed", what="0 to 80 km/h", times="12.1s")
    keys.press("m", "t", "2", "backspace", "down", "9", "enter", "enter", "enter")
    assert keys.desk.message == "NOT WRITTEN. Needed: What was timed"
    keys.press("1", "enter", "enter")
    assert world.state.runs.last is not None
    assert world.state.runs.last.times_s == (9.0,)


def test_a_new_price_keeps_what_buyers_were_told(world: World, keys: KeysOnly) -> None:
    world.done("listed", part="mats", ask="60.50", floor="45", grade="B", faults="a tear", collection="yes")
    keys.press("k", "a", *"50", "enter", "enter", "enter", "enter")
    listing = world.state.parts["mats"].listed.last
    assert listing is not None
    assert (listing.ask, listing.floor, listing.collection) == (50, 45, True)
    assert listing.facts == {"grade": "B", "faults": "a tear"}


def test_letters_count_with_caps_lock_on_wherever_they_choose(world: World, keys: KeysOnly) -> None:
    keys.press("K", "X", "M")
    assert world.state.fate_of("mats") == "scrap"
    assert keys.desk.place.name == "sold, a question at a time"


def test_an_empty_list_says_so(hand: Hand) -> None:
    hand.press("m", "y")
    assert "REFUND 1/4 Which part: there is nothing to choose from" in hand.reads
    hand.press("1")
    assert "[1] does nothing here" in hand.reads


# -- what is refused


@from_two_metres_too
def test_a_refusal_stands_with_its_question_and_nothing_typed_is_lost(world: World, hand: Hand) -> None:
    clips(world, 1)
    hand.press("k", "m", *"55.555", "enter", "1", "enter", *"6", "enter", "enter")
    assert "NOT WRITTEN. 55.555 has 3 digits after the point, and EUR has 2" in hand.reads
    assert "SOLD 1/6 Money in hand, EUR:" in hand.reads
    assert hand.digits == "55.555"
    assert world.state.entries == 2
    hand.press("backspace", *["down"] * 5, "enter")
    assert "written: SOLD Floor mats: 55.55 EUR, clip 0, 6 EUR (entry 3)" in hand.reads


@pytest.mark.parametrize(
    ("kind", "strikes", "says", "question"),
    [
        ("cost", ["enter"], "NOT WRITTEN. Needed: How much", "COST 1/4 How much, EUR:"),
        ("cost", [*"5", "down", "down", "enter"], "NOT WRITTEN. Needed: For what", "COST 2/4 For what:"),
        ("run-timed", [*"lap", "down", "down", "enter"], "NOT WRITTEN. Needed: Each time", "TIMED RUNS 2/3 Each time:"),
        (
            "scrap-ticket",
            [*"5", "down", *"1.234", "down", "enter"],
            "3 digits after",
            "SCRAP TICKET 2/5 The yard paid, EUR:",
        ),
        ("listed", [*"5", "enter", *"1.234", "enter", "enter"], "3 digits after", "LISTED 2/13 The floor, EUR:"),
        ("listed", [*"5", "enter", *["down"] * 9, *"big", "enter", "enter"], "size=", "LISTED 11/13 Size:"),
        (
            "sold",
            [*"5", "enter", *["down"] * 3, *"1.999", "enter", "enter"],
            "3 digits after",
            "SOLD 5/6 Carriage, EUR:",
        ),
    ],
)
def test_the_cursor_is_on_the_question_that_a_refusal_is_about(
    world: World, hand: Hand, kind: str, strikes: list[str], says: str, question: str
) -> None:
    given = {"part": "mats"} if kind in ("listed", "sold") else {}
    hand.desk.go(ask_for(hand.desk, kind, **given))
    hand.press(*strikes)
    assert says in hand.reads
    assert question in hand.reads
    assert world.state.entries == 1


def test_a_live_module_cannot_be_slipped_into_a_bundle(world: World, hand: Hand) -> None:
    hand.press("k", "m", *"50", "enter")
    hand.press(digit_of(hand, "Driver airbag module"))
    assert "+ Driver airbag module | Floor mats" in hand.reads
    hand.press("enter", "enter")
    assert "NOT WRITTEN. Driver airbag module carries a live module: set its fate to sell first" in hand.reads
    assert "SOLD 2/6 Sold along with it:" in hand.reads
    assert world.state.entries == 1


def test_a_live_module_that_is_sold_alone_is_refused_too(world: World, hand: Hand) -> None:
    to_part(hand, "driver-bag")
    hand.press("m", *"50", "enter", "enter")
    assert "NOT WRITTEN. Driver airbag module carries a live module" in hand.reads
    assert "Money in hand: 50 EUR" in hand.reads
    assert world.state.entries == 1


def test_what_is_not_off_cannot_be_handed_over(world: World, hand: Hand) -> None:
    hand.press("k", "o", *"Bo", "enter", "enter")
    assert "NOT WRITTEN. Floor mats is not off yet: nobody can have taken it" in hand.reads
    assert "To whom: Bo" in hand.reads
    assert world.state.entries == 1


def test_a_disk_that_is_full_leaves_the_form_as_it_was(
    world: World, keys: KeysOnly, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No space left on device: errno 28 (POSIX, ENOSPC)."""

    def full(descriptor: int, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    keys.press("m", "c", *"84", "enter", *"skip", "enter")
    with monkeypatch.context() as patched:
        patched.setattr("os.write", full)
        keys.press("enter")
    assert keys.desk.message == "the disk is full: entry 2 was not written; nothing before it is lost"
    keys.press("enter")
    assert keys.desk.message == "written: COST: 84 EUR, skip (entry 2)"
    assert world.state.entries == 2


# -- hostile text


HOSTILE = "\x1b]0;owned\x07\x1b[2J\x9b6n\u202e[/][@click=app.quit]x[/]"


@in_each_window
def test_what_is_pasted_into_a_question_is_harmless_text(world: World, hand: Hand) -> None:
    from textual import events

    hand.press("m", "c", *"84", "enter")
    hand.work.on_paste(events.Paste(HOSTILE + "\nq"))
    assert "]0;owned[2J6n[/][@click=app.quit]x[/] q_" in hand.reads
    hand.press("enter")
    assert "For what: ]0;owned[2J6n[/][@click=app.quit]x[/] q" in hand.reads
    hand.press("enter")
    assert hand.app.is_running
    assert last_entry(world).fields["what"] == "]0;owned[2J6n[/][@click=app.quit]x[/] q"


def test_what_is_pasted_where_a_digit_chooses_chooses_nothing(world: World, hand: Hand) -> None:
    from textual import events

    hand.press("m", "c", *"84", "enter", *"skip", "enter")
    hand.work.on_paste(events.Paste("3"))
    hand.look()
    assert "what was pasted is not typed here" in hand.reads
    assert "COST 3/4 What kind:" in hand.reads


@given(st.text(max_size=60))
def test_whatever_is_typed_the_form_shows_no_control_character(world: World, typed: str) -> None:
    keys = KeysOnly(world)
    keys.desk.go(ask_for(keys.desk, "cost", before={"amount": "5"}))
    keys.press("enter")
    place = keys.desk.place
    assert isinstance(place, TypedInto)
    for character in typed:
        place.typed(keys.desk, character)
    layout = lay_out(keys.desk, Window(60, 18))
    shown = "".join(line.plain for lines in layout.regions.values() for line in lines)
    assert plain(shown) == shown


# -- the table of what is asked


@pytest.mark.parametrize("kind", ASKS)
def test_what_a_form_asks_are_words_of_its_entry_and_the_needed_come_first(world: World, kind: str) -> None:
    words = KINDS[kind].model_fields
    asked = [ask.key for ask in ASKS[kind].questions]
    needed = [words[key].is_required() for key in asked]
    assert needed == sorted(needed, reverse=True)
    missing = {name for name, word in words.items() if word.is_required()} - set(asked)
    assert missing <= {"part", "fate", "gate", "rule"}  # given by the place one comes from


@pytest.mark.parametrize("kind", ASKS)
def test_every_question_fits_every_window_with_a_long_refusal_too(world: World, kind: str) -> None:
    clips(world, 20)
    keys = KeysOnly(world)
    for at, window, said in product(range(len(ASKS[kind].questions)), WINDOWS, ("", "NOT WRITTEN. " + "why not " * 20)):
        form = ask_for(
            keys.desk, kind, "A part with a rather long name", before={"amount": "12.34", "ask": "1234567.89"}
        )
        form.at = at
        keys.desk.go(form)
        keys.desk.say(said)
        layout = lay_out(keys.desk, window)
        lines = [line for region in layout.regions.values() for line in region]
        assert len(lines) + (3 if layout.digits else 0) <= window.rows
        assert all(line.cell_length <= window.columns for line in lines)
        assert layout.regions["head"][0].plain.startswith(f"{form.title} {at + 1}/")


def test_a_held_enter_writes_no_half_entry(world: World, keys: KeysOnly) -> None:
    """The strike that takes an answer must not also pass the rest over and write."""
    keys.press("m", "c", *"84", "enter", *"skip")
    guard, entries = Guard(), world.state.entries
    strike(keys.desk, guard, "enter", "\r", 1.0, 1.0)
    guard.place_shown(1.01)
    for n in range(60):
        strike(keys.desk, guard, "enter", "\r", 1.5 + n / 33, 1.5 + n / 33)
    assert world.state.entries == entries
    assert keys.desk.place.name == "cost, a question at a time"


def test_a_lot_is_offered_for_one_price_and_a_new_price_keeps_what_goes_along(world: World, hand: Hand) -> None:
    clips(world, 2)
    hand.press("k", "a", *"60", "enter", *"40", "enter")
    hand.press("2", "enter", "enter")
    listing = world.state.parts["mats"].listed.last
    assert listing is not None
    assert listing.parts == ("mats", "found-3")
    hand.press("a", "backspace", "backspace", *"50", "enter", "enter", "enter", "enter", "enter")
    again = world.state.parts["mats"].listed.last
    assert again is not None
    assert (again.ask, again.parts) == (50, ("mats", "found-3"))
