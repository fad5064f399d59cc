"""The walk card and what it opens: the list of steps, the list beside it, turning, ticking, what stands in its way."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.screens.hand import AT_ARMS_LENGTH, FROM_TWO_METRES, USUAL, WITH_ROOM, Hand, in_each_window, walking
from tests.world import FACTS, World

EVERY_WINDOW = (FROM_TWO_METRES, AT_ARMS_LENGTH, USUAL, WITH_ROOM)


@pytest.mark.parametrize("window", EVERY_WINDOW)
def test_the_card_shows_what_to_do_what_the_car_weighs_and_the_keys(world: World, window: tuple[int, int]) -> None:
    with walking(world, *window) as hand:
        assert "1200.0 kg by its papers | 200.0 kg to go" in hand.page[0]
        assert "/!\\ DANGER  High voltage" in hand.page[2]
        assert "1/12 Look for high voltage READY Look for orange cable." in hand.reads
        assert "[space] done" in hand.reads
        assert "[?]" in hand.page[-1]
        assert len(hand.lines) == window[1]


@pytest.mark.parametrize("window", EVERY_WINDOW)
def test_the_lamps_are_words_and_marks_in_every_window(world: World, window: tuple[int, int]) -> None:
    world.battery_off()
    world.done("people-here", count=2)
    short = window == FROM_TWO_METRES
    with walking(world, *window) as hand:
        assert (
            hand.page[1].split()
            == (
                "+BATT off #BAG 30:00 #AIR ? +HERE 2" if short else "+BATTERY off #AIRBAG 30:00 #AIR ? +PEOPLE 2"
            ).split()
        )
        hand.time_passes(12.5)
        assert "BAG 17:30" in hand.page[1]


@in_each_window
def test_the_hazard_comes_first_with_what_happens_and_how_to_avoid_it(hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    shown = hand.reads
    assert shown.index("DANGER Live airbag") < shown.index("It will injure or kill.") < shown.index("6/12")
    assert "WARNING Heavy lift: It could hurt your back. Two people." in shown
    assert "Wear: eye protection" in shown


@in_each_window
def test_the_card_names_the_part_its_mass_the_fasteners_and_their_bag(hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    assert "People: 2" in hand.reads
    assert "Off: Driver seat, about 19.0 kg (14.0 to 32.0)" in hand.reads
    assert "Fasteners: 4 bolts E12: BAG 1" in hand.reads
    assert "NOT YET: needs: Driver airbag out" in hand.reads


def test_how_a_step_stands_takes_no_line_of_its_own_and_is_marked_without_colour(world: World) -> None:
    """Each line of the card is one less of what to do."""
    with walking(world, *AT_ARMS_LENGTH) as hand:
        title = next(n for n, line in enumerate(hand.lines) if line.startswith("1/12"))
        assert hand.lines[title] == "1/12  Look for high voltage  READY"
        assert any(segment.text == "READY" and segment.style.reverse for segment in hand.strips()[title])


@pytest.mark.parametrize("window", [AT_ARMS_LENGTH, USUAL, WITH_ROOM])
def test_why_a_step_is_shut_is_told_whole_once_where_there_is_room_and_else_below(
    tmp_path: Path, window: tuple[int, int]
) -> None:
    with walking(World(tmp_path / "car", FACTS.replace("hybrid = false", "")), *window) as hand:
        why = hand.desk.step.why
        assert why.startswith("High voltage: STOP. Orange cable.")
        assert hand.reads.count(why) == 1
        assert (" ..." in hand.reads) == (window == AT_ARMS_LENGTH)


def test_a_state_of_two_words_is_not_torn_in_two(world: World) -> None:
    with walking(world, *FROM_TWO_METRES) as hand:
        hand.turn_to("cabin.card-off")
        for columns in range(40, 60):
            hand.resize(columns, 12)
            assert any("NOT YET" in line for line in hand.lines), hand.lines


@in_each_window
def test_what_to_do_comes_before_the_tools_and_how_many_it_takes_before_what_they_do(hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    shown = hand.reads
    assert "People: 2. Lift it out, two people." in shown
    places = [
        shown.index(words) for words in ("Lift it out", "Tools: E12", "Fasteners: 4 bolts E12: BAG 1", "Off: Driver")
    ]
    assert places == sorted(places)


@in_each_window
def test_the_names_of_lesser_hazards_follow_the_text_of_the_greatest(hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    assert "It will injure or kill." in hand.reads
    assert re.search(r"It will injure or kill\..* And WARNING Heavy lift\. 6/12", hand.reads)


@in_each_window
def test_the_card_tells_what_is_good_to_know_of_a_part(hand: Hand) -> None:
    hand.turn_to("safe.mats")
    assert "Floor mats: Wet mats weigh twice as much." in hand.reads
    hand.turn_to("cabin.bag-out")
    assert "Driver airbag module: " not in hand.reads


@pytest.mark.parametrize("window", EVERY_WINDOW)
def test_why_a_pack_is_done_stands_where_it_begins_and_where_there_is_room(
    world: World, window: tuple[int, int]
) -> None:
    with walking(world, *window) as hand:
        hand.turn_to("cabin.bag-out")
        assert ("Why this pack: Most of the weight." in hand.reads) == (window in (USUAL, WITH_ROOM))
        hand.turn_to("cabin.knee-out")
        assert "Why this pack" not in hand.reads


def test_a_pack_begins_with_its_first_step_that_this_car_has(tmp_path: Path) -> None:
    text = FACTS.replace("hybrid = false", "hybrid = false\nsunroof = false")
    route = World(tmp_path / "other", text).car.folded.route
    assert route.pack_begins == {"safe.look", "cabin.bag-out", "finish.cage"}
    steps = tuple(step for step in route.steps if step.ref in ("cabin.roof-out", "cabin.pads-off"))
    assert replace(route, steps=steps).pack_begins == {"cabin.pads-off"}


@in_each_window
def test_a_tick_is_written_and_the_next_open_step_comes(hand: Hand) -> None:
    hand.press("space")
    assert "written: Look for high voltage is done (entry 2)" in hand.reads
    assert "2/12 Isolate the battery SHUT: Battery off: 0 of 3 lines confirmed" in hand.reads


@in_each_window
def test_a_refused_tick_says_why_and_offers_the_gate(hand: Hand) -> None:
    hand.press("space", "space")
    assert "NOT WRITTEN: [g] goes to the gate. shut: Battery off: 0 of 3 lines confirmed" in hand.reads
    hand.press("g")
    assert "GATE Battery off: SHUT" in hand.reads
    assert "[ ] 1. Negative off, tied back." in hand.reads


def test_what_goes_straight_back_is_asked_for_by_name_and_answered_with_one_key(
    world: World, size: tuple[int, int]
) -> None:
    world.airbags_ready()
    world.done("step-done", step="cabin.card-off")
    with walking(world, *size) as hand:
        hand.turn_to("cabin.window-off")
        assert "Fasteners: 2 to 3 bolts, back in their holes 10 mm: in its place at once" in hand.reads
        hand.press("space")
        assert "In its place? 2 to 3 bolts, back in their holes" in hand.reads
        hand.press("2")
        assert "not ticked: put it in its place first" in hand.reads
        assert world.state.mark("cabin.window-off") is None
        hand.press("space", "1")
        assert "Window winder off is done" in hand.reads
        assert world.state.mark("cabin.window-off") is not None


def test_a_step_that_must_wait_names_the_step_it_waits_for(world: World, hand: Hand) -> None:
    hand.turn_to("safe.mats")
    hand.press("space")
    assert "NOT YET: needs: Look for high voltage" in hand.reads
    assert "NOT WRITTEN. The reason stands above" in hand.reads
    assert hand.reads.count("needs: Look for high voltage") == 1, "what stands on the card takes no line below it"
    assert world.state.mark("safe.mats") is None


def test_a_reason_that_the_card_has_no_room_for_is_told_whole_by_the_refusal(tmp_path: Path) -> None:
    world = World(tmp_path / "hybrid", FACTS.replace("hybrid = false", "hybrid = true"))
    with walking(world, *FROM_TWO_METRES) as hand:
        assert " ..." in hand.reads
        hand.press("space")
        assert "Call a licensed workshop." in hand.reads
        assert "The reason stands above" not in hand.reads


@in_each_window
def test_one_goes_forth_and_back_and_is_told_at_the_ends(hand: Hand) -> None:
    hand.press("left")
    assert "this is the first step" in hand.reads
    hand.press("right", "right")
    assert "3/12 Floor mats out" in hand.reads
    hand.press("b")
    assert "2/12 Isolate the battery" in hand.reads
    hand.turn_to("finish.tabs")
    hand.press("n")
    assert "this is the last step" in hand.reads
    hand.press("a")
    assert "1/12 Look for high voltage READY" in hand.reads


def test_every_state_of_a_step_has_its_word(world: World, tmp_path: Path) -> None:
    text = FACTS.replace("keep = false", "keep = true").replace("hybrid = false", "hybrid = false\nsunroof = false")
    world = World(tmp_path / "other", text)
    world.battery_off()
    world.done("step-skipped", step="safe.mats", why="gone already")
    world.done("step-deferred", step="cabin.knee-out", why="seized")
    said = {
        "safe.look": "DONE",
        "safe.isolate": "READY",
        "safe.mats": "SKIPPED: gone already",
        "cabin.bag-out": "NOT YET: needs: Isolate the battery",
        "cabin.knee-out": "PUT OFF: seized",
        "cabin.card-off": "off KEEP: rule 4.2 (2026-01-31)",
        "cabin.window-off": "off KEEP: stays with Door cards off (rule 4.2",
        "cabin.roof-out": "NOT FITTED: not on this car: Is there a sunroof? No.",
        "finish.tabs": "PUT OFF: comes back by itself: waits for the cage is in",
    }
    with walking(world) as hand:
        for ref, words in said.items():
            hand.turn_to(ref)
            assert words in hand.reads


def test_the_list_shows_how_each_step_stands_and_jumps_to_any(world: World, size: tuple[int, int]) -> None:
    world.battery_off()
    with walking(world, *size) as hand:
        hand.press("l")
        assert "+ done > ready # shut . not yet ~ put off - skipped = keep" in hand.reads
        lines = [line.strip() for line in hand.page]
        assert "+ Look for high voltage" in lines
        assert "=> > Isolate the battery" in lines
        assert ". Driver seat out" in lines
        hand.press("down", "down", "enter")
        assert "4/12 Driver airbag out" in hand.reads


def test_the_list_names_the_key_that_finds_a_step(world: World) -> None:
    with walking(world, *AT_ARMS_LENGTH) as hand:
        hand.press("l")
        assert "[f] find" in hand.reads


def test_from_two_metres_the_marks_take_one_line_and_help_tells_them_all(world: World) -> None:
    with walking(world, *FROM_TWO_METRES) as hand:
        hand.press("l")
        assert hand.lines[3].startswith("+ done > ready # shut . not yet")
        assert sum(line[3:4] in "+>#.~-=" for line in hand.lines[4:10]) == 6
        hand.press("question_mark")
        assert "+ done > ready # shut . not yet ~ put off - skipped = keep, no mark: not on this car" in hand.reads


def test_the_list_goes_pack_by_pack_and_is_told_at_its_ends(hand: Hand) -> None:
    hand.press("l", "right")
    assert "=> . Driver airbag out" in [line.strip() for line in hand.lines]
    hand.press("left")
    assert "=> > Look for high voltage" in [line.strip() for line in hand.lines]
    hand.press("up")
    assert "[up] changes nothing here now" in hand.reads
    hand.press("backspace")
    assert "1/12 Look for high voltage" in hand.reads


def test_beside_the_card_the_list_of_steps_follows(world: World) -> None:
    with walking(world, *WITH_ROOM) as hand:
        assert hand.side[0] == "=> > Look for high voltage"
        hand.press("space")
        assert hand.side[:3] == ["   + Look for high voltage", "=> # Isolate the battery", "   > Floor mats out"]


def test_what_does_not_fit_is_scrolled_to_and_a_new_step_is_read_from_its_top(world: World) -> None:
    with walking(world, *FROM_TWO_METRES) as hand:
        hand.press("question_mark")
        first = hand.lines[3]
        assert "more below: [down]" in hand.reads
        hand.press("pagedown", "down")
        assert "more above: [up]" in hand.reads
        assert hand.lines[3] != first
        hand.press("pageup")
        assert hand.lines[3] == first
        hand.press("up")
        assert "[up] changes nothing here now" in hand.reads
        hand.press("pagedown", "backspace", "question_mark")
        assert hand.lines[3] == first


@in_each_window
def test_the_newest_entry_is_undone_with_one_key(world: World, hand: Hand) -> None:
    hand.press("space")
    assert "2/12" in hand.reads
    hand.press("u")
    assert "undone: entry 2, step done: Look for high voltage" in hand.reads
    assert world.state.mark("safe.look") is None
    assert "1/12 Look for high voltage READY" in hand.reads, "what was ticked by mistake is in front again"
    hand.press("u")
    assert "nothing here can be undone" in hand.reads


def test_an_undo_of_what_is_no_step_leaves_the_card_in_front(world: World, hand: Hand) -> None:
    hand.press("space", "t", *"half", "enter", "right", "u")
    assert "undone: entry 3, note: Isolate the battery, half" in hand.reads
    assert "3/12" in hand.reads


def test_quitting_asks_nothing(world: World, hand: Hand) -> None:
    hand.press("space", "q")
    assert hand.desk.leaving
    assert not hand.app.is_running or hand.app._exit
    world.reopen()
    assert world.state.mark("safe.look") is not None


def test_who_looks_at_every_key_quits_from_there_too(hand: Hand) -> None:
    """README names the two keys one after the other."""
    hand.press("?", "q")
    assert hand.desk.leaving


def test_letters_count_with_caps_lock_on(hand: Hand) -> None:
    hand.press("L")
    assert "=> > Look for high voltage" in [line.strip() for line in hand.lines]


def test_a_rehearsal_says_so_in_words_before_anything_else(tmp_path: Path, size: tuple[int, int]) -> None:
    with walking(World(tmp_path / "car", rehearsal=True), *size) as hand:
        assert hand.page[0].startswith("REHEARSAL | ")


def test_a_step_is_found_in_the_list_by_a_piece_of_its_title_or_its_pack(world: World) -> None:
    with walking(world) as hand:
        hand.press("l", "f", *"winder", "enter")
        assert "=> . Window winder off" in hand.reads
        assert "8/12 Cabin" in hand.reads
        hand.press("f", *"spaceship", "enter")
        assert "no step has spaceship in its title" in hand.reads
        hand.press("enter")
        assert hand.desk.step.ref == "cabin.window-off"


def test_a_page_down_leaves_no_line_unread(world: World) -> None:
    with walking(world, *FROM_TWO_METRES) as hand:
        hand.turn_to("cabin.seat-out")
        lines = list(hand.lines)
        while re.search(r"v \d+ (more )?below", hand.reads):
            hand.press("pagedown")
            lines += hand.lines
        seen = " ".join(lines)
        for words in ("Lift it out, two people.", "People: 2", "E12 socket", "BAG 1", "Time: about 10 min"):
            assert words in seen


@pytest.mark.parametrize("window", [USUAL, WITH_ROOM])
def test_tools_fasteners_and_what_comes_off_begin_a_line_each_only_where_there_is_room(
    world: World, window: tuple[int, int]
) -> None:
    with walking(world, *window) as hand:
        hand.turn_to("cabin.seat-out")
        begin = [line.partition(":")[0] for line in hand.page]
        assert "Fasteners: 4 bolts E12: BAG 1." in hand.reads
        assert {"Fasteners", "Off"}.issubset(begin) == (window == WITH_ROOM)
