"""The gates as they are walked: their list, statements, the wait, readings, ice, people, a signature, the count."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path
from types import SimpleNamespace

import pytest

from teardown.car.log import read_log
from teardown.screens.desk import Desk
from teardown.screens.places.card import Card
from teardown.screens.places.gates.list import listed
from tests.screens.hand import FROM_TWO_METRES, Hand, KeysOnly, from_two_metres_too, in_each_window, walking
from tests.world import FACTS, World

HYBRID = FACTS.replace("hybrid = false", "hybrid = true")
SMALL_TOO = [(60, 18), (120, 40), FROM_TWO_METRES]


def to_gate(hand: Hand, gate_id: str) -> None:
    """Through the list of gates, from a step that no gate shuts."""
    hand.press("g")
    assert hand.place.name == "the gates", hand.reads
    hand.press(*["down"] * hand.place.gates.index(gate_id), "enter")  # type: ignore[attr-defined]


# -- the list


def test_the_list_of_gates_says_of_each_whether_it_stands_and_why(world: World, size: tuple[int, int]) -> None:
    world.battery_off()
    with walking(world, *size) as hand:
        hand.press("g")
        lines = [line.strip() for line in hand.page]
        assert "GATES  + stands   # shut" in lines
        assert "=> + Battery off: you have confirmed every line" in lines
        assert "# Airbag wait: hands off the car until it is over" in lines
        assert "+ High voltage: not on this car: Is it a hybrid? No." in lines
        hand.press("enter")
        assert "GATE Battery off: STANDS" in hand.reads


def test_the_list_of_gates_leads_to_what_a_gate_hangs_on(world: World, size: tuple[int, int]) -> None:
    with walking(world, *size) as hand:
        hand.press("g")
        hand.press(*["down"] * listed(hand.desk).index("high-voltage"), "0")
        assert "Is it a hybrid?" in hand.reads
        assert "Now: NO" in hand.reads
        hand.press("backspace", "up", "0")
        assert hand.place.name == "questions about the car", "it hangs on nothing: all of them"
        hand.press("backspace")
        assert hand.place.name == "the gates"


def test_from_gate_to_list_to_gate_leaves_nothing_to_come_back_through(world: World) -> None:
    with walking(world) as hand:
        hand.press("space")
        for _ in range(3):
            hand.press("g")
            assert "GATE Battery off" in hand.reads
            hand.press("g")
            assert hand.place.name == "the gates"
            hand.press("down", "enter")
            assert "GATE Airbag wait" in hand.reads
            hand.press("g", "g")
            assert "GATE Battery off" in hand.reads
            hand.press("backspace")
            assert hand.place.name == "the walk"


def test_every_gate_place_leads_to_the_list_and_to_its_neighbours(world: World) -> None:
    keys = KeysOnly(world)
    gates = listed(keys.desk)
    kinds = {world.state.route.gate(gate).kind for gate in gates}
    assert kinds == {"ticks", "wait", "reading", "figure", "people", "stop", "count", "back"}
    keys.desk.go_to_gate(gates[0])
    for n, gate in enumerate(gates):
        assert keys.desk.place.gate_id == gate  # type: ignore[attr-defined]
        keys.press("g")
        assert keys.desk.place.cursor.at == n  # type: ignore[attr-defined]
        keys.press("enter", "left")
        assert keys.desk.place.gate_id == gates[max(0, n - 1)]  # type: ignore[attr-defined]
        assert len(keys.desk.places) == 2
        if n > 0:
            keys.press("right")
        keys.press("right")
    assert keys.desk.message == "this is the last gate of the list"
    keys.press("backspace")
    assert isinstance(keys.desk.place, Card)


def test_from_elsewhere_the_way_back_from_a_gate_leads_there(world: World) -> None:
    keys = KeysOnly(world)
    keys.press("g", "backspace", "l")
    keys.desk.go_to_gate("battery")
    keys.press("right", "g", "backspace")
    assert keys.desk.place.name == "the list of steps"


def test_where_no_gate_shuts_the_step_the_list_says_so(world: World) -> None:
    keys = KeysOnly(world)
    keys.press("g", "g")
    assert keys.desk.message == "no gate shuts the step in front: [enter] opens the one marked"


# -- statements


@from_two_metres_too
def test_statements_are_confirmed_one_by_one_by_a_digit_and_enter(world: World, hand: Hand) -> None:
    hand.press("space", "g")
    assert "/!\\ WARNING  Live battery" in "\n".join(hand.page)
    assert "Negative off, tied back." in hand.reads
    assert "Line 1 of 3: press" in hand.reads
    hand.confirm_line()
    assert "written: you have confirmed line 1 (entry 3)" in hand.reads
    assert "Positive off, capped." in hand.reads
    hand.confirm_line()
    hand.confirm_line()
    assert world.stands("battery")
    assert "2/12 Isolate the battery READY" in hand.reads
    assert "written: you have confirmed line 3 (entry 5)" in hand.reads


@in_each_window
def test_the_gate_says_what_happens_what_to_wear_and_why(hand: Hand) -> None:
    hand.press("space", "g")
    for words in ("It could burn.", "Wear: goggles", "Why: Power fires airbags.", "Avoid: Isolate first."):
        assert words in hand.reads


def test_enter_alone_confirms_nothing(world: World, hand: Hand) -> None:
    hand.press("space", "g", "enter")
    assert "first press" in hand.reads
    assert not world.car.now().gates["battery"].ticks[0].done


def test_the_wrong_digit_confirms_nothing(world: World) -> None:
    with walking(world) as hand:
        hand.press("space", "g")
        code = hand.digit
        wrong = str(int(code) % 9 + 1)
        hand.press(wrong)
        assert f"that was {wrong}: press {code} for this line" in hand.reads
        hand.press("enter")
        assert not world.car.now().gates["battery"].ticks[0].done
        hand.press(code, wrong, "enter")
        assert not world.car.now().gates["battery"].ticks[0].done


@pytest.mark.parametrize("between", [["question_mark", "backspace"], ["p", "1"], ["p", "backspace"], ["x"]])
def test_what_is_struck_between_digit_and_enter_disarms_the_line(world: World, between: list[str]) -> None:
    with walking(world) as hand:
        hand.press("space", "g")
        hand.press(hand.digit)
        assert "now ENTER" in hand.reads
        hand.press(*between, "enter")
        assert "first press" in hand.reads
        assert not world.car.now().gates["battery"].ticks[0].done


def test_the_digit_is_never_the_same_twice_running_within_a_gate_or_into_the_next() -> None:
    """A gate has 20 lines at most, and a confirmed line is one entry more."""

    def digit(entries: int, line: int) -> str:
        desk = SimpleNamespace(standing=SimpleNamespace(state=SimpleNamespace(entries=entries)))
        return Desk.digit_for(desk, line)  # type: ignore[arg-type]

    for entries, line in product(range(9), range(1, 21)):
        assert digit(entries, line) in "123456789"
        assert digit(entries + 1, line + 1) != digit(entries, line) != digit(entries + 1, 1)


def test_a_gate_that_lapsed_is_confirmed_again_from_its_first_line(world: World) -> None:
    world.battery_off()
    with walking(world) as hand:
        hand.press("p")
        assert "written: power came back. Battery gates are shut" in hand.reads
        hand.press("1", "g")
        assert "GATE Battery off: SHUT" in hand.reads
        assert "power came back: nobody has said how yet. Confirm it again from the first line" in hand.reads
        assert "Line 1 of 3" in hand.reads


def test_a_gate_behind_another_leads_to_that_one(tmp_path: Path) -> None:
    with walking(World(tmp_path / "car", HYBRID)) as hand:
        hand.desk.go_to_gate("battery")
        hand.look()
        assert "first: High voltage" in hand.reads
        assert "Open that gate first: [n]" in hand.reads
        hand.press("5")
        assert "nothing to confirm here now" in hand.reads
        hand.press("n")
        assert "GATE High voltage: SHUT STOP. Orange cable. Call a licensed workshop." in hand.reads


def test_a_stop_stands_under_its_own_hazard_whatever_the_step_in_front_meets(tmp_path: Path) -> None:
    """Reached from a step whose own, lesser hazard has a gate behind this one."""
    with walking(World(tmp_path / "car", HYBRID)) as hand:
        hand.turn_to("safe.isolate")
        assert "/!\\ WARNING" in hand.page[2]
        hand.desk.go_to_gate("high-voltage")
        hand.look()
        assert "/!\\ DANGER  High voltage" in hand.page[2]
        assert "It will kill." in hand.reads


# -- the wait


@pytest.mark.parametrize("window", SMALL_TOO)
def test_the_wait_counts_down_in_large_digits_and_rings_when_it_is_over(world: World, window: tuple[int, int]) -> None:
    world.battery_off()
    with walking(world, *window) as hand:
        to_gate(hand, "airbag-wait")
        assert hand.digits == "30:00"
        assert "GATE Airbag wait: SHUT" in hand.reads
        hand.time_passes(29.25)
        assert hand.digits == "0:45"
        assert hand.bells == 0
        assert "WAIT OVER" not in hand.reads
        hand.time_passes(0.75)
        assert hand.digits == "0:00"
        assert "WAIT OVER: the whole wait has run." in hand.reads
        assert hand.bells == 1
        hand.look()
        assert hand.bells == 1
        hand.press("enter")
        assert "written: the whole wait has run" in hand.reads
        assert world.state.entries == 6


@from_two_metres_too
def test_the_wait_names_the_key_for_the_manuals_figure_where_the_line_of_keys_has_no_room(
    world: World, hand: Hand
) -> None:
    hand.desk.go_to_gate("airbag-wait")
    hand.look()
    assert "the service manual's figure is not entered ([m])" in hand.reads


def test_the_wait_is_not_over_before_it_is(world: World, size: tuple[int, int]) -> None:
    world.battery_off()
    with walking(world, *size) as hand:
        to_gate(hand, "airbag-wait")
        hand.time_passes(29.99)
        assert hand.digits == "0:01"
        hand.press("enter")
        assert "NOT WRITTEN. Airbag wait: hands off the car until it is over" in hand.reads
        assert world.state.entries == 5


def test_the_bell_rings_wherever_one_is_and_the_message_says_for_what(world: World) -> None:
    world.battery_off()
    with walking(world) as hand:
        hand.look()
        hand.time_passes(30)
        assert hand.bells == 1
        assert "Airbag wait: WAIT OVER" in hand.reads


def test_a_wait_that_has_not_begun_shows_its_whole_length(hand: Hand) -> None:
    hand.desk.go_to_gate("airbag-wait")
    hand.look()
    assert hand.digits == "30:00"
    assert "GATE Airbag wait: SHUT first: Battery off" in hand.reads
    assert "WAIT OVER" not in hand.reads


def test_a_wait_that_has_run_is_not_called_over_while_questions_are_open(world: World) -> None:
    world.battery_off()
    world.wait(30)
    world.clock.advance(31 * 60)
    world.car._writer, writer = None, world.car._writer  # open to read only: the questions are not asked
    with walking(world) as hand:
        hand.desk.go_to_gate("airbag-wait")
        hand.look()
        assert "GATE Airbag wait: SHUT" in hand.reads
        assert hand.digits == "0:00"
        assert "WAIT OVER" not in hand.reads
    world.car._writer = writer


@pytest.mark.parametrize("window", SMALL_TOO)
def test_a_wait_longer_than_the_pause_that_asks_is_counted_above_the_questions_and_rings(
    world: World, window: tuple[int, int]
) -> None:
    world.battery_off()
    world.done("manual-wait", gate="airbag-wait", wait="45min", page="book 4, p. 12")
    with walking(world, *window) as hand:
        hand.time_passes(31)
        assert "Airbag wait: 14:00 left" in hand.reads
        assert "POWER: connected, charged" in hand.reads
        hand.time_passes(13.99)
        assert hand.bells == 0
        hand.time_passes(0.01)
        assert hand.bells == 1
        assert "Airbag wait: its time has run. Say first what has happened" in hand.reads
        assert "WAIT OVER" not in hand.reads
        assert not world.stands("airbag-wait")
        for _ in range(3):
            hand.confirm_line()
        assert hand.bells == 1
        assert world.stands("airbag-wait")


def test_the_usual_wait_rings_though_the_pause_asks_in_the_same_moment(world: World) -> None:
    """Both are 30 min, and the screen looks twice a second."""
    world.battery_off()
    with walking(world) as hand:
        hand.time_passes(29.99)
        assert hand.bells == 0
        hand.time_passes(0.015)
        assert "What has happened since?" in hand.reads
        assert hand.bells == 1


def test_questions_answered_with_a_yes_to_power_start_the_wait_again(world: World) -> None:
    world.battery_off()
    world.clock.advance(60 * 31)
    with walking(world) as hand:
        assert "Airbag wait:" not in hand.reads
        hand.press("2")
        hand.confirm_line()
        hand.confirm_line()
        assert "AIRBAG LIVE" in hand.page[1]
    assert not world.stands("airbag-wait")


def test_the_manuals_wait_is_taken_with_its_page_and_never_under_the_floor(world: World) -> None:
    world.battery_off()
    with walking(world) as hand:
        to_gate(hand, "airbag-wait")
        hand.press("m")
        assert "SERVICE MANUAL 1/2 Which book and page says how long:" in hand.reads
        hand.type("book 4, p. 12")
        hand.press("enter")
        assert "The wait it asks for:" in hand.reads
        hand.type("3")
        assert hand.digits == "3 min"
        hand.press("enter")
        assert "written: SERVICE MANUAL: book 4, p. 12, 3 min (entry 6)" in hand.reads
        assert "Waits 10 min (manual: 3, never under 10)" in hand.reads
        assert hand.digits == "10:00"


# -- a reading


def test_what_to_read_is_said_beside_a_reading_that_stands_too(world: World) -> None:
    world.battery_off()
    world.done("gate-reading", gate="battery-dead", value="0.1V")
    with walking(world) as hand:
        hand.desk.go_to_gate("battery-dead")
        hand.look()
        assert "Read: Volts between positive" in hand.reads


@pytest.mark.parametrize("window", SMALL_TOO)
def test_a_reading_is_typed_in_large_digits_and_written(world: World, window: tuple[int, int]) -> None:
    world.battery_off()
    with walking(world, *window) as hand:
        to_gate(hand, "battery-dead")
        assert hand.digits == "- V"
        assert "no reading yet: Volts between positive" in hand.reads
        assert hand.reads.count("Volts between positive") == 1, "said once, it leaves room for the limit"
        hand.type("12,6")
        assert hand.digits == "12.6 V"
        hand.press("enter")
        assert "written: 12.6V (entry 6). you read 12.6 V; it must be below 0.5 V" in hand.reads
        assert not world.stands("battery-dead")
        hand.type("0.19")
        hand.press("backspace", "enter")
        assert "written: 0.1V (entry 7)" in hand.reads
        assert world.stands("battery-dead")


def test_with_nothing_typed_no_reading_is_written(world: World) -> None:
    world.battery_off()
    with walking(world) as hand:
        hand.desk.go_to_gate("battery-dead")
        hand.press("enter")
        assert "type what the instrument shows, then Enter" in hand.reads
        hand.press("backspace")
        assert hand.place.name == "the walk"
    assert world.state.entries == 5


@pytest.mark.parametrize("window", SMALL_TOO)
def test_bad_air_says_at_once_what_to_do_and_what_brings_it_back(world: World, window: tuple[int, int]) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    with walking(world, *window) as hand:
        hand.desk.go_to_gate("ice-meter")
        hand.type("16000")
        hand.press("enter")
        assert "Everyone away." in [line.strip() for line in hand.page]
        assert "#AIR BAD" in "".join(hand.page[:2])
        assert "written: 16000ppm (entry 23). the air counts as 15,000 ppm or more" in hand.reads
        assert hand.digits == "- ppm"
        hand.press("backspace")
        assert hand.place.name == "the walk"
        assert "Everyone away." in [line.strip() for line in hand.page]
        for small in ((40, 12), (30, 8)):
            hand.resize(*small)
            assert "Everyone away." in [line.strip() for line in hand.page]
        hand.resize(*window)
        world.done("gate-reading", gate="ice-meter", value="900ppm")
        hand.time_passes(11)
        world.done("gate-reading", gate="ice-meter", value="900ppm")
        hand.look()
        assert "Everyone away." not in hand.reads


def test_a_meter_at_full_scale_is_entered_with_two_keys(world: World, size: tuple[int, int]) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    with walking(world, *size) as hand:
        hand.desk.go_to_gate("ice-meter")
        hand.type("99")
        hand.press("f")
        assert hand.digits == "- ppm"
        assert "FULL SCALE: Enter writes it, a digit takes it back" in hand.reads
        hand.type("7")
        assert "FULL SCALE" not in hand.reads
        hand.press("f", "enter")
        assert "written: full scale (entry 23)." in hand.reads
        assert "Everyone away, and keep others out." in hand.reads
        assert "#AIR BAD" in hand.page[1]


def test_full_scale_is_in_sight_before_it_is_written_however_long_the_alarm(world: World) -> None:
    """The order of bad air, the hazard and why the gate is shut leave the body of a small window no line for it."""
    world.modules_out()
    world.tick_all("ice-place")
    world.done("gate-reading", gate="ice-meter", value="16000ppm")
    for window in SMALL_TOO:
        with walking(world, *window) as hand:
            hand.desk.go_to_gate("ice-meter")
            hand.press("f")
            assert "FULL SCALE: Enter writes it" in hand.reads


@pytest.mark.parametrize("window", SMALL_TOO)
def test_while_bad_air_is_low_again_the_pad_says_when_to_read_it_again(world: World, window: tuple[int, int]) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    world.done("gate-reading", gate="ice-meter", value="16000ppm")
    with walking(world, *window) as hand:
        hand.desk.go_to_gate("ice-meter")
        hand.look()
        assert "Low for" not in hand.reads
        hand.type("900")
        hand.press("enter")
        assert "Low for 0 of 10 min" in hand.reads
        hand.time_passes(4)
        assert "Low for 4 of 10 min" in hand.reads
        hand.time_passes(6)
        assert "10 min are over: read it again" in hand.reads
        hand.type("900")
        hand.press("enter")
        assert "10 min are over" not in hand.reads
        assert "#AIR BAD" not in hand.reads


# -- dry ice


def test_the_kilos_typed_are_counted_in_sight_wherever_the_place_was_read_to(world: World) -> None:
    with walking(world) as hand:
        hand.desk.go_to_gate("ice-room")
        hand.press(*["down"] * 5)
        assert "Counted over 45 min." not in hand.reads
        hand.type("5")
        assert "Counted over 45 min. If laid, within the limits:" in hand.reads


def test_the_kilos_of_ice_are_counted_out_loud(world: World, size: tuple[int, int]) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    with walking(world, *size) as hand:
        hand.desk.go_to_gate("ice-room")
        hand.press("enter")
        assert "type the kilos you are about to lay, then Enter" in hand.reads
        hand.type("5")
        hand.press("enter")
        assert "GATE Gas in this room: STANDS" in hand.reads
        assert "5.0 kg of ice makes 2.7 m3 of gas in 45 min" in hand.reads
        assert "written: 5kg (entry 23)" in hand.reads
        hand.type("30")
        hand.press("m")
        assert "Counted over 30 min." in hand.reads
        hand.type("900")
        hand.press("enter")
        assert "GATE Gas in this room: SHUT 900.0 kg of ice and the 5.0 kg laid before would bring" in hand.reads
        assert "lay at most" in hand.reads


def test_the_same_ice_is_counted_again_with_one_key(world: World, size: tuple[int, int]) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    world.done("gate-figure", gate="ice-room", ice="6kg")
    with walking(world, *size) as hand:
        hand.desk.go_to_gate("ice-room")
        hand.type("5")
        assert "6.0 kg laid before still count. Is it the same ice? [s]" in hand.reads
        hand.press("s")
        assert "The ice entered before, counted again: none comes on top." in hand.reads
        hand.press("s")
        assert "counted again" not in hand.reads
        hand.press("s", "enter")
        assert "5.0 kg of ice makes 2.7 m3 of gas in 45 min" in hand.reads
        assert "counted again" not in hand.reads
        hand.type("5")
        hand.press("enter")
        assert "5.0 kg of ice and the 5.0 kg laid before" in hand.reads


def test_what_ice_would_come_to_is_seen_before_it_may_be_laid(world: World, size: tuple[int, int]) -> None:
    """The order for the ice is planned days before the gate is open to be asked."""
    with walking(world, *size) as hand:
        hand.desk.go_to_gate("ice-room")
        hand.type("5")
        assert "If laid, within the limits: 5.0 kg of ice makes 2.7 m3 of gas in 45 min" in hand.reads
        hand.type("00")
        assert "If laid, OVER the limits: 500.0 kg of ice" in hand.reads
        assert not any(entry.kind == "gate-figure" for entry in read_log(world.folder / "log.jsonl"))


def test_after_a_refusal_the_next_digit_begins_another_number(world: World) -> None:
    with walking(world) as hand:
        hand.desk.go_to_gate("ice-room")
        hand.press(*"10", "enter", *"20")
        assert hand.digits == "20 kg"


def test_a_gate_is_headed_by_the_hazard_of_the_step_in_front(world: World) -> None:
    """Two people are wanted beside a live airbag, and beside dry ice: which of them, the step says."""
    with walking(world) as hand:
        hand.turn_to("cabin.bag-out")
        hand.desk.go_to_gate("second-person")
        hand.look()
        assert "Live airbag" in hand.reads
        hand.press("backspace")
        hand.turn_to("cabin.pads-off")
        hand.desk.go_to_gate("second-person")
        hand.look()
        assert "Carbon dioxide" in hand.reads


def test_read_from_two_metres_a_gate_tells_below_its_line_what_happens_and_what_to_wear(world: World) -> None:
    with walking(world, *FROM_TWO_METRES) as hand:
        hand.desk.go_to_gate("battery")
        hand.look()
        seen = hand.reads
        while re.search(r"v \d+ (more )?below", hand.reads):
            hand.press("down")
            seen += hand.reads
        assert "It could burn." in seen
        assert "Wear: goggles" in seen


def test_the_ice_is_not_counted_before_the_openings_are_confirmed(world: World) -> None:
    world.modules_out()
    with walking(world) as hand:
        hand.desk.go_to_gate("ice-room")
        hand.type("5")
        hand.press("enter")
        assert "NOT WRITTEN: [g] goes to the gate. Gas in this room: first: Place and openings" in hand.reads
        hand.press("g")
        assert "GATE Place and openings: SHUT" in hand.reads


# -- people


def test_being_alone_takes_one_key_and_being_several_takes_two(world: World, size: tuple[int, int]) -> None:
    with walking(world, *size) as hand:
        hand.press("y")
        assert re.search(r"people are here, you among them\? \[\d\] I am alone \[\d\] two people", hand.reads)
        hand.press(hand.digit_of("I am alone"))
        assert "written: I am alone" in hand.reads
        assert world.why("second-person") == "2 people are needed; you said 1"
        hand.press("y")
        hand.press(hand.digit_of("two people"))
        assert "now ENTER: two people" in hand.reads
        assert world.why("second-person") == "2 people are needed; you said 1"
        hand.press("enter")
        assert "+PEOPLE 2" in hand.page[1]


def test_every_answer_of_a_gate_for_people_is_in_sight_from_two_metres(world: World) -> None:
    with walking(world, *FROM_TWO_METRES) as hand:
        hand.desk.go_to_gate("second-person")
        hand.look()
        for answer in ("I am alone", "two people", "three people", "four people"):
            assert hand.digit_of(answer)
        assert "below" not in hand.reads


def test_enough_people_lead_on_to_the_next_gate_of_the_step(world: World) -> None:
    """As every other gate does once it stands."""
    world.battery_off()
    world.done("step-done", step="safe.isolate")
    with walking(world) as hand:
        hand.turn_to("cabin.bag-out")
        hand.desk.go_to_gate("second-person")
        hand.look()
        hand.press(hand.digit_of("I am alone"))
        assert hand.place.name == "the walk", "with too few nothing leads on"
        hand.desk.go_to_gate("second-person")
        hand.look()
        hand.choose("two people")
        assert hand.place.name == "a reading", "the leads are to be proved dead"
        assert "written: two people" in hand.reads
        hand.press("backspace")
        assert hand.place.name == "the walk"


# -- work for someone licensed


def test_a_gate_for_what_the_car_lacks_says_how_that_is_answered_again(world: World, size: tuple[int, int]) -> None:
    """Whoever finds an orange cable after all."""
    with walking(world, *size) as hand:
        hand.desk.go_to_gate("high-voltage")
        hand.look()
        assert "GATE High voltage: STANDS not on this car" in hand.reads
        assert "[0] answers again whether the car has it at all" in hand.reads
        hand.press("0", "2")
        assert "written: Is it a hybrid? YES" in hand.reads
        assert "GATE High voltage: SHUT" in hand.reads
        assert "[0] answers whether the car has it at all" in hand.reads


def test_high_voltage_is_signed_for_with_a_name_and_a_paper(tmp_path: Path, size: tuple[int, int]) -> None:
    world = World(tmp_path / "hybrid", HYBRID)
    with walking(world, *size) as hand:
        assert (
            "1/12 Look for high voltage SHUT: High voltage: STOP. Orange cable. Call a licensed workshop." in hand.reads
        )
        hand.press("g")
        assert hand.reads.count("Call a licensed workshop.") == 1
        assert "STOP. Orange cable. Call a licensed workshop." in hand.reads
        assert "Paper: Their record." in hand.reads
        hand.press("enter")
        assert "SIGNED 1/2 Who licensed did it: High voltage" in hand.reads
        assert "needed; name and licence" in hand.reads
        hand.type("Workshop 12")
        hand.press("enter")
        assert "SIGNED 2/2 Their paper: High voltage | Who licensed did it: Workshop 12" in hand.reads
        hand.type("Record 7")
        hand.press("enter")
        assert "written: SIGNED High voltage: Workshop 12, Record 7 (entry 2)" in hand.reads
        assert "GATE High voltage: STANDS signed for by Workshop 12: Record 7" in hand.reads


# -- the count of live modules


def test_each_live_module_is_accounted_for_by_name(world: World, size: tuple[int, int]) -> None:
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    with walking(world, *size) as hand:
        hand.desk.go_to_gate("live-count")
        hand.look()
        assert "=> # Driver airbag: look: steering wheel" in hand.reads
        assert "# Knee airbag: look: under the dash" in hand.reads
        hand.press("enter")
        for answer in ("it is off and stored", "I looked: it is not there", "still fitted, plugged"):
            assert re.search(rf"\[\d\] {answer}", hand.reads)
        hand.press(hand.digit_of("it is off and stored"))
        assert "LIVE MODULE. Where is it stored? Driver airbag module" in hand.reads
        hand.choose("airbag store")
        assert "+ Driver airbag: stored: airbag store" in hand.reads
        assert "=> # Knee airbag" in hand.reads, "on to the next that is not accounted for"
        hand.press("enter")
        assert "it is off and stored" not in hand.reads
        hand.choose("I looked: it is not there")
        assert "written: Knee airbag: I looked: it is not there" in hand.reads
        assert "GATE No live module left: STANDS" in hand.reads


def test_a_car_without_any_live_module_has_nothing_to_account_for(world: World) -> None:
    object.__setattr__(world.state.route, "modules", ())
    with walking(world) as hand:
        hand.desk.go_to_gate("live-count")
        hand.press("down", "up", "enter")
        assert "no live module is expected on this car: nothing to account for" in hand.reads


# -- what is out for now


@pytest.fixture
def winder_out(world: World) -> World:
    world.airbags_ready()
    world.done("step-done", step="cabin.card-off")
    world.done("step-done", step="cabin.window-off", refitted="yes")
    world.done("step-done", step="finish.cage")
    return world


@pytest.mark.parametrize("window", SMALL_TOO)
def test_a_part_that_is_still_out_is_said_to_be_back_in_with_one_key(
    winder_out: World, window: tuple[int, int]
) -> None:
    with walking(winder_out, *window) as hand:
        hand.turn_to("finish.tabs")
        assert "NOTICE Part left out" in hand.reads
        assert "SHUT: All is back: still out: Window winder." in hand.reads
        hand.press("space", "g")
        assert "GATE All is back: SHUT" in hand.reads
        assert "=> # Window winder: still out" in hand.reads
        hand.press("enter")
        assert "[1] it is back in [2] removed for good: sell [3] removed for good: scrap" in hand.reads
        hand.press("1")
        assert "written: Window winder: it is back in" in hand.reads
        assert "12/12 Cut the last tabs" in hand.reads
        assert winder_out.stands("all-back")


def test_after_one_part_the_next_that_is_still_out_is_at_the_cursor(winder_out: World) -> None:
    winder_out.done("part-off", part="mats")
    route = winder_out.state.route
    object.__setattr__(route, "out_for_now", (route.parts["window-winder"], route.parts["mats"]))
    with walking(winder_out) as hand:
        hand.desk.go_to_gate("all-back")
        hand.look()
        assert "=> # Window winder: still out" in hand.reads
        hand.press("enter", "1")
        assert "written: Window winder: it is back in" in hand.reads
        assert "=> # Floor mats: still out" in hand.reads


def test_a_part_that_stays_out_is_posted_as_removed(winder_out: World, size: tuple[int, int]) -> None:
    with walking(winder_out, *size) as hand:
        hand.desk.go_to_gate("all-back")
        hand.press("enter", "4")
        assert "written: Window winder: removed for good: controlled" in hand.reads
        hand.desk.go_to_gate("all-back")
        hand.look()
        assert "=> + Window winder: removed: controlled" in hand.reads
        assert "GATE All is back: STANDS nothing is out for now" in hand.reads


def test_what_is_in_the_car_or_cannot_come_out_has_nothing_to_be_said_of(world: World) -> None:
    with walking(world) as hand:
        hand.desk.go_to_gate("all-back")
        hand.press("down", "up", "enter")
        assert "that one is in the car: nothing to say" in hand.reads
        hand.press("backspace")
        object.__setattr__(world.state.route, "out_for_now", ())
        hand.desk.go_to_gate("all-back")
        hand.press("down", "enter")
        assert "nothing of this car comes out only for now" in hand.reads
