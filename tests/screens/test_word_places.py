"""Places of words: reasons, notes, what happened, who works, the questions after a pause, power, help."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.facts import parse_facts
from teardown.car.log import read_log
from teardown.car.state import State
from teardown.car.steps import StepView, milestones_ahead
from teardown.packs.reader import load
from teardown.packs.route import CarShape, lay_route
from teardown.packs.shipped import procedures
from teardown.screens.places.choose import OTHER, ask_why
from tests.screens.hand import FROM_TWO_METRES, Hand, KeysOnly, from_two_metres_too, in_each_window, walking
from tests.world import FACTS, World


@in_each_window
def test_a_step_is_skipped_with_a_reason(hand: Hand) -> None:
    hand.press("s")
    assert "Skip it: why? Look for high voltage [1] it was gone already" in hand.reads
    hand.press("2")
    assert "written: Look for high voltage: it does not come off on this car (entry 2)" in hand.reads
    assert "SKIPPED: it does not come off on this car" in hand.reads


@in_each_window
def test_a_step_is_put_off_with_a_reason_of_ones_own(hand: Hand) -> None:
    hand.press("d", "4")
    assert "Put it off: why?" in hand.reads
    hand.type("no light? wait for Bo.")
    assert "no light? wait for Bo._" in hand.reads
    hand.press("enter")
    assert "PUT OFF: no light? wait for Bo." in hand.reads


@in_each_window
def test_a_step_is_put_off_until_a_milestone_with_one_key_and_comes_back_by_itself(hand: Hand) -> None:
    hand.press("d")
    assert "[4] something else: type it [5] until: the cage is in" in hand.reads
    hand.press("5")
    assert "written: Look for high voltage: until: the cage is in (entry 2)" in hand.reads
    assert "PUT OFF: not before then; comes back by itself: waits for the cage is in" in hand.reads
    hand.turn_to("finish.cage")
    hand.press("space")
    assert "written: Cage in is done (entry 3)" in hand.reads
    hand.press("a")
    assert "1/12 Look for high voltage READY" in hand.reads


def test_no_more_reasons_are_offered_than_there_are_digits() -> None:
    state = State(lay_route(load(procedures()), CarShape()), parse_facts('name = "Test car"'))
    for laid in state.route.steps:
        offered = ask_why("step-deferred", StepView(laid, "ready"), milestones_ahead(state, laid)).answers
        assert len(offered) <= 10
        assert offered[3] == OTHER


def test_a_reason_too_short_to_be_one_is_refused(world: World, hand: Hand) -> None:
    hand.press("s", "4")
    hand.type("x")
    hand.press("enter")
    assert "step-skipped: why=" in hand.reads
    assert world.state.entries == 1


@in_each_window
def test_a_note_belongs_to_the_step_in_front(world: World, hand: Hand) -> None:
    hand.press("right", "t")
    assert "Note on: Isolate the battery" in hand.reads
    hand.type("terminal is green")
    hand.press("backspace", *"n,", "enter")
    assert "written: note (entry 2)" in hand.reads
    assert list(world.state.notes) == [("safe.isolate", "terminal is green,")]
    assert "Note: terminal is green, " in hand.reads, "what was noted is found again on its card"
    hand.press("left")
    assert "Note: " not in hand.reads
    hand.press("right", "t", *"new", "enter")
    assert hand.reads.index("Note: new") < hand.reads.index("Note: terminal is green,")
    hand.press("u")
    assert "Note: new" not in hand.reads


def test_typing_is_left_without_writing(world: World, hand: Hand) -> None:
    hand.press("t", "a", "backspace", "backspace")
    assert hand.place.name == "the walk"
    hand.press("t", "a", "escape")
    assert hand.place.name == "the walk"
    assert world.state.entries == 1


def test_the_keys_shown_while_typing_are_those_that_work(hand: Hand) -> None:
    hand.press("t")
    assert "[enter] done [backspace] back [escape] leave, then [p] POWER" in hand.reads
    hand.press("a")
    assert "[enter] done [backspace] rub out [escape] leave, then [p] POWER" in hand.reads
    hand.press("question_mark")
    assert "?_" in hand.reads
    hand.press("escape", "p")
    assert "written: power came back." in hand.reads


def test_a_line_of_text_has_an_end_and_says_so(keys: KeysOnly) -> None:
    keys.press("t", *"x" * 200)
    assert keys.desk.message == ""
    keys.press("x")
    assert keys.desk.message == "[x] does nothing here"


def test_what_happened_is_told_and_shuts_what_it_must(world: World, size: tuple[int, int]) -> None:
    world.done("people-here", count=2)
    with walking(world, *size) as hand:
        hand.press("e")
        assert (
            "What has happened? [1] bad air: someone is dizzy, sleepy, short of breath "
            "[2] somebody came or went [3] a door, window or lid was shut" in hand.reads
        )
        hand.press("2")
        assert "written: somebody came or went. The gates it shuts are shut" in hand.reads
        assert "#PEOPLE ?" in hand.page[1]


@in_each_window
def test_somebody_who_feels_the_air_is_entered_with_two_keys_and_everyone_is_sent_away(
    world: World, hand: Hand
) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    hand.press("e")
    assert "[1] bad air: someone is dizzy, sleepy, short of breath" in hand.reads
    hand.press("1")
    assert "written: bad air: someone is dizzy, sleepy, short of breath. Everyone away." in hand.reads
    assert "#AIR BAD" in hand.page[1]


@in_each_window
def test_what_has_no_digit_in_the_first_list_stands_in_a_second_one(world: World, hand: Hand) -> None:
    hand.press("e", "0")
    assert "What has happened? [1] something broke [2] more than 50 kg left one end of the car" in hand.reads
    hand.press("3")
    assert "written: refrigerant was filled in, or hissed as a pipe was opened." in hand.reads
    entry = list(read_log(world.folder / "log.jsonl"))[-1]
    assert (entry.kind, entry.fields["what"]) == ("happened", "refrigerant-there")


@in_each_window
def test_the_log_knows_who_works(world: World, hand: Hand) -> None:
    world.done("people-here", count=2)
    hand.press("o")
    assert "Who is working? Ana is, so far [1] Ana [2] Bo [3] something else: type it" in hand.reads
    hand.press("2")
    assert f"Bo is working now (entry {world.state.entries}). For a new person the gates ask again" in hand.reads
    assert (world.state.who, world.state.gates.here) == ("Bo", None)
    hand.press("space")
    assert list(read_log(world.folder / "log.jsonl"))[-1].who == "Bo"


def test_power_that_came_back_is_written_at_one_key_from_wherever_one_is(world: World, size: tuple[int, int]) -> None:
    world.airbags_ready()
    with walking(world, *size) as hand:
        hand.press("g", "enter", "p")
        assert not world.stands("battery")
        assert world.why("battery").startswith("stands no more: power came back: nobody has said how yet")
        assert "POWER CAME BACK: how? [1] a battery was connected" in hand.reads
        assert (
            "written: power came back. Battery gates are shut; the airbag wait starts again from nothing" in hand.reads
        )
        assert "#BATTERY ON? #AIRBAG LIVE" in " ".join(hand.page[1].split())
        n = world.state.entries
        hand.press("3")
        assert "written: a lamp, chime, motor or relay was noticed" in hand.reads
        assert hand.place.name != "the walk"
    assert list(world.state.notes)[-1][1] == f"power came back (entry {n}): a lamp, chime, motor or relay was noticed"


def test_power_that_comes_back_again_is_written_again_and_asked_about_once(world: World) -> None:
    with walking(world) as hand:
        hand.press("p", "p")
        assert world.state.entries == 3
        hand.press("backspace")
        assert hand.place.name == "the walk"


@pytest.mark.parametrize("window", [(60, 18), (120, 40), FROM_TWO_METRES])
def test_after_a_pause_nothing_goes_on_before_three_answers(world: World, window: tuple[int, int]) -> None:
    world.airbags_ready()
    with walking(world, *window) as hand:
        hand.time_passes(31)
        assert "nothing was written for 31 minutes. What has happened since?" in hand.reads
        assert "=> POWER: connected, charged, or any lamp or chime?" in hand.reads
        hand.press("space", "right", "l")
        assert "does nothing here" in hand.reads
        hand.confirm_line()
        hand.confirm_line()
        assert "PEOPLE: has anyone come or gone?" in hand.reads
        hand.confirm_line()
        assert "written. What your answers shut is shut; look at the gates" in hand.reads
    assert world.state.gates.questions is None
    assert world.stands("battery")


def test_not_knowing_whether_power_came_back_shuts_the_battery_gate(world: World) -> None:
    world.airbags_ready()
    with walking(world) as hand:
        hand.time_passes(31)
        hand.confirm_line()
        hand.press("backspace", "3")
        assert "Or could anyone get at the car? UNKNOWN" in hand.reads
        hand.confirm_line()
        hand.confirm_line()
        assert "#BATTERY ON?" in hand.page[1]
    assert "power may have come back while you were away" in world.why("battery")


def test_the_first_question_has_none_before_it(hand: Hand) -> None:
    hand.time_passes(31)
    hand.press("backspace")
    assert "this is the first question" in hand.reads


def test_a_pause_while_something_is_typed_asks_and_then_goes_on_where_it_was(world: World, hand: Hand) -> None:
    hand.press("t")
    hand.type("half a no")
    hand.time_passes(31)
    assert "What has happened since?" in hand.reads
    for _ in range(3):
        hand.confirm_line()
    hand.type("te")
    hand.press("enter")
    assert list(world.state.notes) == [("safe.look", "half a note")]


def test_opened_on_another_day_the_questions_come_first(world: World) -> None:
    world.airbags_ready()
    world.clock.advance(24 * 3600)
    with walking(world) as hand:
        assert "nothing was written for 24 hours. What has happened since?" in hand.reads


@from_two_metres_too
def test_help_shows_the_keys_of_the_place_one_came_from(hand: Hand) -> None:
    hand.press("w", "escape", "question_mark")
    assert "KEYS: the walk [space] tick the step off (also enter)" in hand.reads
    hand.press("h")
    hand.press("c", "h")
    assert "KEYS: the car on the scales [enter] write the reading" in hand.reads
    hand.press("backspace")
    assert hand.place.name == "the car on the scales"


def test_words_that_are_markup_are_shown_as_they_are_and_run_nothing(tmp_path: Path) -> None:
    markup = "[@click=app.quit]x[/] [bold red]y[/bold red] [/] [$x] \\\\[z]"
    world = World(tmp_path / "car", FACTS.replace("Test car", markup).replace('"Ana"', f'"{markup}"'))
    shown = markup.replace("\\\\", "\\")
    with walking(world, 160, 40) as hand:
        assert shown in hand.page[0]
        hand.press("o")
        assert f"[1] {shown}" in hand.reads
        hand.press("1", "t")
        hand.type("[/]")
        assert "[/]_" in hand.reads
        hand.press("enter", "f")
        hand.type("[@click=app.quit]bolt[/]")
        hand.press("enter")
        assert "FOUND [@click=app.quit]bolt[/]" in hand.reads
        assert hand.app.is_running
