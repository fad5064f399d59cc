"""Questions about the car on the screen: one key leads to the one that a step, a gate or a module hangs on."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.door import begin_log, open_car
from teardown.car.facts import FACTS as FILE
from teardown.screens.commands import find
from teardown.screens.desk import Desk
from teardown.screens.layout import lay_out
from teardown.screens.paint import Window
from teardown.screens.places.answers.feature import FeaturePlace
from teardown.screens.places.answers.list import CarQuestions
from teardown.screens.places.card import Card
from teardown.screens.places.gates.count import CountPlace
from teardown.screens.places.gates.opening import place_of
from tests.screens.hand import Hand, KeysOnly, from_two_metres_too, in_each_window, walking
from tests.world import FACTS, HandClock, World

NO_RULES = FACTS.split("[rules")[0] + "[room]" + FACTS.split("[room]")[1]


@pytest.fixture
def unasked(tmp_path: Path) -> World:
    """Nothing is known of the car but its name."""
    return World(tmp_path / "new", 'name = "T"\n')


@in_each_window
def test_the_list_shows_every_question_and_begins_at_one_that_is_open(world: World, hand: Hand) -> None:
    hand.press("0")
    assert isinstance(hand.place, CarQuestions)
    assert "THE CAR: ? not known (2) + yes - no" in hand.reads
    for line in (
        " - Is it a hybrid?",
        "=> ? Is there a knee airbag?",
        " ? Is there a sunroof?",
        " - Is there a second source of power?",
        " - RULE Must the door cards stay?",
    ):
        assert line in " " + hand.reads
    for question in ("Is there a sunroof?", "Is there a knee airbag?"):  # and round again
        hand.press("right")
        assert f"=> ? {question}" in hand.reads


@from_two_metres_too
def test_a_no_to_what_is_live_shows_what_it_drops_and_takes_the_digit_and_enter(world: World, hand: Hand) -> None:
    hand.press("0", "enter")
    assert "Is there a knee airbag?" in hand.reads
    assert "LIVE" in hand.reads
    assert "Now: NOT KNOWN" in hand.reads
    hand.press("enter", "1", "enter")
    assert "for NO press" in hand.reads
    assert world.state.entries == 1
    hand.press("up")  # what was said gives its line back
    hand.confirm_line()
    assert "written: Is there a knee airbag? NO (entry 2)" in hand.reads
    assert "=> ? Is there a sunroof?" in hand.reads
    assert world.car.facts.fitted["knee-bag"] is False


@in_each_window
def test_yes_and_not_known_take_one_key_and_what_they_shut_is_told(world: World, hand: Hand) -> None:
    world.battery_off()
    hand.look()
    hand.press("0", "down", "down", "enter")
    assert "Is there a second source of power?" in hand.reads
    assert "a source of power" in hand.reads
    hand.press("3")
    assert "Is there a second source of power? NOT KNOWN (entry 6). Shut now: Battery off" in hand.reads
    assert "second-source" not in world.car.facts.fitted
    hand.press("enter", "2")
    assert "Is there a second source of power? YES (entry 7)" in hand.reads


@in_each_window
def test_a_no_that_drops_nothing_dangerous_takes_one_key(world: World, hand: Hand) -> None:
    hand.press("0", "right", "enter")
    assert "With NO nobody asks for: the step Sunroof out" in hand.reads
    assert "[2] yes [3] not known: counts as yes [1] no" in hand.reads
    hand.press("1")
    assert world.car.facts.fitted["sunroof"] is False
    assert "THE CAR: ? not known (1)" in hand.reads


def test_a_question_that_is_answered_shows_by_whom(world: World) -> None:
    world.done("car-answered", feature="sunroof", fitted="yes")
    with walking(world) as hand:
        hand.press("0", "down", "enter")
        assert "Now: YES (Ana, 2026-05-09, entry 2)" in hand.reads


def test_only_what_stood_until_then_is_told_as_shut_now(world: World) -> None:
    world.battery_off()
    keys = KeysOnly(world)
    keys.desk.go(FeaturePlace(keys.desk, "second-source"))
    keys.press("3")
    written = "written: Is there a second source of power? NOT KNOWN (entry 6)"
    assert keys.desk.message == f"{written}. Shut now: Battery off"


def test_a_question_is_found_by_a_piece_of_it_and_where_none_has_it_that_is_said(world: World) -> None:
    keys = KeysOnly(world)
    keys.press("0", "f", *"door", "enter")
    assert "=> - RULE Must the door cards stay?" in lines_of(keys.desk)
    keys.press("f", *"wing", "enter")
    assert keys.desk.message == "no question has wing in it"
    assert "=> - RULE Must the door cards stay?" in lines_of(keys.desk)


def lines_of(desk: Desk) -> list[str]:
    return [line.plain.strip() for line in desk.place.paint(desk, Window(80, 24)).body]


def test_what_another_answer_settles_is_told_with_it_and_waits_for_none(tmp_path: Path) -> None:
    none = "".join(f"{feature} = false\n" for feature in ("air-conditioning", "sunroof", "glass-roof"))
    (tmp_path / FILE).write_text(f'name = "T"\n[fitted]\n{none}')
    clock = HandClock()
    begin_log(tmp_path, clock, "Ana")
    with open_car(tmp_path, clock, write=True) as car:
        desk = Desk(car, "Ana", Card())
        head = FeaturePlace(desk, "air-conditioning-charged").paint(desk, Window(60, 18)).head
        assert [line.plain for line in head] == ["Now: NO by air-conditioning"]
        desk.go(CarQuestions(desk))
        assert "RULE May the sunroof or glass roof stay?" in lines_of(desk), "no step of this car waits for it"
        assert "? RULE Does the windscreen stay in while the cage is welded?" in lines_of(desk)


# -- one key from what hangs on an answer


def test_a_card_that_waits_for_a_rule_names_the_key_and_the_rule_is_answered_there(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    world = World(tmp_path / "no-rules", NO_RULES)
    with walking(world, *size) as hand:
        hand.turn_to("cabin.card-off")
        assert "NOT YET: [0] answers: Must the door cards stay?" in hand.reads
        hand.press("0")
        assert "RULE 1/2 Does it stay" in hand.reads
        hand.press("2")
        hand.type("4.2")
        hand.press("enter")
        assert "written: RULE Must the door cards stay?: no, 4.2 (entry 2)" in hand.reads
        assert world.car.facts.rules["door-cards"].keep is False
        assert "NOT YET: needs: Isolate the battery" in hand.reads


@in_each_window
def test_a_card_of_what_was_ruled_out_leads_to_its_question(world: World, hand: Hand) -> None:
    world.done("car-answered", feature="sunroof", fitted="no")
    hand.turn_to("cabin.roof-out")
    assert "Is there a sunroof? No. [0] answers it again" in hand.reads
    hand.press("0", "2")
    assert "NOT YET: needs: Isolate the battery" in hand.reads


def test_a_card_shut_by_what_the_car_may_not_have_leads_to_that_question(unasked: World) -> None:
    with walking(unasked) as hand:
        assert "SHUT: [0] answers. High voltage: STOP." in hand.reads
        hand.press("0")
        assert "Is it a hybrid?" in hand.reads
        hand.confirm_line()
        assert isinstance(hand.place, Card)
        assert "READY" in hand.reads


def test_so_does_the_gate_itself(unasked: World) -> None:
    with walking(unasked, 60, 18) as hand:
        hand.press("g")
        assert "GATE High voltage: SHUT" in hand.reads
        assert "[0] answers whether the car has it at all" in hand.reads
        hand.press("0")
        hand.confirm_line()
        assert "GATE High voltage: STANDS" in hand.reads


def test_a_gate_of_statements_leads_there_only_where_the_car_may_lack_what_it_is_about(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text('name = "T"\n')
    clock = HandClock()
    begin_log(tmp_path, clock, "Ana")
    with open_car(tmp_path, clock, write=True) as car:
        desk = Desk(car, "Ana", Card())
        for gate, leads in (("magnesium", True), ("battery", False)):
            place = place_of(desk, gate)
            assert (find(place.commands, "0") is not None) is leads
            head = " ".join(line.plain for line in place.paint(desk, Window(60, 18)).head)
            assert ("[0] answers whether the car has it at all" in head) is leads


@from_two_metres_too
def test_the_count_leads_from_a_module_to_whether_the_car_has_it(world: World, hand: Hand) -> None:
    hand.desk.go_to_gate("live-count")
    hand.look()
    hand.press("0")
    assert "every car has this one: [enter] says where it is" in hand.reads
    hand.press("down", "0")
    assert "Is there a knee airbag?" in hand.reads
    hand.confirm_line()
    assert isinstance(hand.place, CountPlace)
    assert "Knee airbag: look" not in hand.reads
    assert "=> # Driver airbag" in hand.reads
    hand.press("enter")
    assert "Driver airbag (steering wheel)" in hand.reads


# -- where it is not taken


def test_where_nothing_can_be_written_a_sentence_says_so(world: World) -> None:
    world.car._writer = None  # as `walk --read` opens it
    with walking(world) as hand:
        hand.press("0", "enter")
        assert "READING ONLY: nothing is answered here" in hand.reads
    keys = KeysOnly(world)
    keys.press("0", "enter", "2")
    assert keys.desk.message.endswith("is open to read only: nothing is written")
    assert (world.folder / FILE).read_text() == FACTS


def test_a_refusal_leaves_the_question_in_front(world: World) -> None:
    world.modules_out()
    keys = KeysOnly(world)
    keys.desk.go(FeaturePlace(keys.desk, "knee-bag"))
    keys.press(keys.desk.digit_for(0, "456789"), "enter")
    assert "tells of Knee airbag module: the car has it" in keys.desk.message
    assert isinstance(keys.desk.place, FeaturePlace)


def test_undo_after_an_answer_says_that_answers_are_given_again(world: World) -> None:
    world.done("note", text="before")
    keys = KeysOnly(world)
    keys.press("0", "enter", "2", "u")
    assert "car answered: Is there a knee airbag? yes (entry 3) cannot be taken back" in keys.desk.message


def test_every_question_of_the_packs_that_ship_can_be_read_whole_from_two_metres(tmp_path: Path) -> None:
    """What is not in sight cannot be confirmed."""
    (tmp_path / FILE).write_text('name = "T"\n')
    clock = HandClock()
    begin_log(tmp_path, clock, "Ana")
    with open_car(tmp_path, clock, write=True) as car:
        desk = Desk(car, "Ana", Card())
        for feature in car.folded.route.library.features:
            desk.go(FeaturePlace(desk, feature))
            for window in (Window(40, 12), Window(60, 18), Window(80, 24)):
                lay_out(desk, window)
                assert desk.in_sight, (feature, window)
            desk.back()
