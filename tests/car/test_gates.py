"""The gates, by example: what opens each, what shuts it again, and what is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.gates import alarms
from tests.world import FACTS, World, facts


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


def test_a_step_behind_a_shut_gate_is_refused_with_the_gate_to_go_to(world: World) -> None:
    world.done("step-done", step="safe.look")
    refusal = world.refused("step-done", step="safe.isolate")
    assert refusal.gate == "battery"
    assert "0 of 3 lines confirmed" in refusal.why


def test_lines_are_confirmed_in_their_order_only(world: World) -> None:
    refusal = world.refused("gate-tick", gate="battery", tick=2)
    assert refusal.why == "tick 1 comes next: Negative off, tied back."


def test_a_gate_of_statements_stands_when_every_line_is_confirmed(world: World) -> None:
    world.tick_all("battery")
    assert world.stands("battery")
    assert world.why("battery") == "you have confirmed every line"


def test_an_undone_line_shuts_the_gate_and_it_is_made_again_from_its_first_line(world: World) -> None:
    world.tick_all("battery")
    last = world.state.entries
    world.done("undo", entry=last)
    assert world.why("battery") == f"stands no more: entry {last} was undone. Confirm it again from the first line"
    assert world.refused("gate-tick", gate="battery", tick=3).why.startswith("tick 1 comes next")


def test_a_reworded_statement_must_be_confirmed_anew(world: World) -> None:
    """A tick stands for the sentence that was read, not for its number."""
    world.tick_all("battery")
    log = world.folder / "log.jsonl"
    assert "Negative off, tied back." in log.read_text()
    state = world.car.folded
    state.gates["battery"].forget("test")
    state.gates.tick("battery", 1, "Negative off.", 99, world.clock.now())
    assert state.gates["battery"].ticks == ()


def test_the_airbag_wait_counts_from_the_last_line_of_the_battery_gate(world: World) -> None:
    world.battery_off()
    world.wait(29)
    assert not world.stands("airbag-wait")
    assert world.car.now().gates["airbag-wait"].wait_left_s == pytest.approx(60)
    world.wait(1)
    assert world.why("airbag-wait") == "the whole wait of 30 min has run"


def test_the_manuals_figure_governs_but_never_goes_under_the_floor(world: World) -> None:
    world.battery_off()
    world.done("manual-wait", gate="airbag-wait", wait="2min", page="binder, page 12")
    world.wait(9)
    assert world.car.now().gates["airbag-wait"].wait_left_s == pytest.approx(60)
    world.wait(1)
    assert world.stands("airbag-wait")


def test_a_figure_of_the_manual_that_has_run_already_shuts_nothing(world: World) -> None:
    world.airbags_ready()
    world.done("manual-wait", gate="airbag-wait", wait="20min", page="page 3")
    assert world.stands("airbag-wait")
    assert world.stands("airbag-handling")


def test_a_longer_figure_of_the_manual_shuts_a_wait_that_was_over(world: World) -> None:
    world.battery_off()
    world.wait(30)
    world.done("manual-wait", gate="airbag-wait", wait="45min", page="page 3")
    assert world.car.now().gates["airbag-wait"].wait_left_s == pytest.approx(15 * 60)


def test_what_was_made_behind_a_wait_that_proves_too_short_is_made_again(world: World) -> None:
    world.done("manual-wait", gate="airbag-wait", wait="10min", page="page 3")
    world.battery_off()
    world.wait(10)
    world.done("gate-reading", gate="battery-dead", value="0.1V")
    world.tick_all("airbag-handling")
    world.done("manual-wait", gate="airbag-wait", wait="45min", page="page 4")
    world.wait(35)
    assert world.stands("airbag-wait")
    assert world.state.gates["airbag-handling"].lapse == "Airbag wait: the manual asks for more than had run"


def test_power_that_comes_back_starts_the_wait_again_from_nothing(world: World) -> None:
    world.battery_off()
    world.wait(29)
    world.done("power-restored", why="charger put on")
    assert world.why("battery").startswith("stands no more: power came back: charger put on")
    world.tick_all("battery")
    assert world.car.now().gates["airbag-wait"].wait_left_s == pytest.approx(30 * 60)


def test_a_restart_of_the_computer_starts_the_wait_again_and_says_so(world: World) -> None:
    world.battery_off()
    world.wait(25)
    world.clock.reboot()
    world.reopen()
    world.done("resumed", power="no", doors="no", people="no")
    world.wait(10)
    view = world.car.now().gates["airbag-wait"]
    assert view.why == "the computer restarted: the wait began again"
    assert view.wait_left_s == pytest.approx(20 * 60)


def test_a_wait_that_was_seen_to_be_over_survives_a_restart(world: World) -> None:
    world.battery_off()
    world.wait(30)
    world.done("wait-over", gate="airbag-wait")
    world.clock.reboot()
    world.reopen()
    world.done("resumed", power="no", doors="no", people="no")
    assert world.stands("airbag-wait")


def test_the_wall_clock_neither_shortens_nor_lengthens_a_wait(world: World) -> None:
    world.battery_off()
    world.clock.set_wall(20 * 60)
    world.clock.advance(60)
    left_s = world.car.now().gates["airbag-wait"].wait_left_s
    assert left_s == pytest.approx(29 * 60)
    world.clock.set_wall(-40 * 60)
    assert world.car.now().gates["airbag-wait"].wait_left_s == pytest.approx(29 * 60)


def test_a_wait_is_not_over_before_it_is_over(world: World) -> None:
    world.battery_off()
    assert "hands off the car" in world.refused("wait-over", gate="airbag-wait").why


def test_a_reading_over_the_limit_keeps_the_gate_shut_and_prints_the_limit(world: World) -> None:
    world.battery_off()
    world.done("gate-reading", gate="battery-dead", value="11.9V")
    assert world.why("battery-dead") == "you read 11.9 V; it must be below 0.5 V"


def test_a_reading_without_its_unit_is_refused_with_an_example(world: World) -> None:
    refusal = world.refused("gate-reading", gate="battery-dead", value="0.2")
    assert "0.2V" in refusal.why


def test_a_reading_taken_before_the_battery_was_off_does_not_count(world: World) -> None:
    world.done("gate-reading", gate="battery-dead", value="0.1V")
    world.battery_off()
    assert not world.stands("battery-dead")


def ice_place(world: World) -> None:
    world.modules_out()
    world.tick_all("ice-place")


def test_bad_air_sends_everyone_out_and_work_goes_on_only_below_the_lower_figure(world: World) -> None:
    ice_place(world)
    world.done("gate-reading", gate="ice-meter", value="6000ppm")
    view = world.car.now().gates["ice-meter"]
    assert (view.stands, view.do) == (False, "Everyone out.")
    assert view.why == "the air counts as 5,000 ppm or more: work goes on below 2,000 ppm"
    world.done("gate-reading", gate="ice-meter", value="3000ppm")
    assert not world.stands("ice-meter")
    world.done("gate-reading", gate="ice-meter", value="1900ppm")
    assert world.stands("ice-meter")


def test_what_bad_air_asks_for_comes_before_what_to_open_first_and_before_the_questions(world: World) -> None:
    ice_place(world)
    world.done("gate-reading", gate="ice-meter", value="16000ppm")
    reached = "the air counts as 15,000 ppm or more: work goes on below 2,000 ppm, held for 10 min"
    for _ in ("the place has lapsed", "and work paused"):
        view = world.car.now().gates["ice-meter"]
        assert not world.stands("ice-place")
        assert (view.stands, view.why, view.do) == (False, reached, "Everyone away.")
        assert view.tells == f"Everyone away. ({reached})"
        assert alarms(world.car.now().gates) == (view,)
        world.clock.advance(31 * 60)
    assert world.state.gates.questions is not None


def test_air_that_was_never_bad_orders_nothing(world: World) -> None:
    assert alarms(world.car.now().gates) == ()
    ice_place(world)
    world.done("gate-reading", gate="ice-meter", value="900ppm")
    assert alarms(world.car.now().gates) == ()


def test_air_that_was_far_too_bad_must_stay_good_for_ten_minutes(world: World) -> None:
    ice_place(world)
    world.done("gate-reading", gate="ice-meter", value="16000ppm")
    assert world.car.now().gates["ice-meter"].do == "Everyone away."
    assert world.why("ice-place").startswith("stands no more: the air counts as 15,000 or more")
    for _ in range(3):
        world.done("gate-reading", gate="ice-meter", value="900ppm")
        world.clock.advance(4 * 60)
    assert world.car.now().gates["ice-meter"].do == "Everyone away."
    world.done("gate-reading", gate="ice-meter", value="900ppm")
    world.tick_all("ice-place")
    world.done("gate-reading", gate="ice-meter", value="900ppm")
    assert world.stands("ice-meter")


def test_any_symptom_counts_as_fifteen_thousand_until_low_readings_have_held(world: World) -> None:
    """Any symptom counts as more than 15,000 ppm (common practice); 15,000 ppm: EH40/2005 (secondary copy)."""
    ice_place(world)
    world.done("gate-reading", gate="ice-meter", value="4000ppm")
    world.done("happened", what="air-bad", why="Bo is dizzy")
    assert world.why("ice-place") == "stands no more: Bo is dizzy. Confirm it again from the first line"
    view = world.car.now().gates["ice-meter"]
    assert (view.stands, view.do) == (False, "Everyone away.")
    world.clock.advance(2 * 60)
    world.tick_all("ice-place")
    for reading in ("4900ppm", "0ppm", "1900ppm"):
        world.done("gate-reading", gate="ice-meter", value=reading)
        held = "the air counts as 15,000 ppm or more: work goes on below 2,000 ppm, held for 10 min"
        assert world.why("ice-meter") == held, reading
    for _ in range(2):
        world.clock.advance(5 * 60)
        world.done("gate-reading", gate="ice-meter", value="1900ppm")
    assert world.stands("ice-meter")


def test_a_symptom_lowers_no_alarm(world: World) -> None:
    ice_place(world)
    world.done("gate-reading", gate="ice-meter", value="31000ppm")
    world.done("happened", what="air-bad", why="Bo is dizzy")
    assert world.car.now().gates["ice-meter"].do == "Everyone away, and keep others out."


@pytest.mark.parametrize("value", ["over", "Over range", "full-scale", "FULL SCALE", "OL"])
def test_a_meter_at_full_scale_counts_as_the_highest_level(world: World, value: str) -> None:
    """Home meters end at 5,000 or 10,000 ppm: at full scale means evacuate (common practice)."""
    ice_place(world)
    entry = world.done("gate-reading", gate="ice-meter", value=value)
    assert (entry.fields["value"], entry.fields["number"]) == (value, 30000)
    assert world.car.now().gates["ice-meter"].do == "Everyone away, and keep others out."


def test_a_reading_goes_stale(world: World) -> None:
    ice_place(world)
    world.done("gate-reading", gate="ice-meter", value="800ppm")
    world.clock.advance(5 * 60 + 1)
    assert world.why("ice-meter") == "the last reading is older than 5 min: read it again"


def test_a_long_pause_at_the_ice_shuts_its_place(world: World) -> None:
    ice_place(world)
    world.clock.advance(11 * 60)
    assert "nothing was written for more than 10 minutes" in world.why("ice-place")


def test_doors_that_were_shut_shut_the_ice_but_not_the_battery(world: World) -> None:
    ice_place(world)
    world.done("happened", what="doors-shut", why="wind took the door")
    assert not world.stands("ice-place")
    assert world.stands("battery")


def test_the_room_is_counted_and_its_working_shown(world: World) -> None:
    ice_place(world)
    world.done("gate-figure", gate="ice-room", ice="3kg")
    view = world.car.now().gates["ice-room"]
    assert view.stands
    assert view.working[0] == "3.0 kg of ice makes 1.6 m3 of gas in 45 min"
    assert "limit 5,000" in view.working[2]


def test_too_much_ice_is_refused_with_what_may_be_laid(world: World) -> None:
    ice_place(world)
    world.done("gate-figure", gate="ice-room", ice="40kg")
    why = world.why("ice-room")
    assert "lay at most" in why
    assert "limit" in why


def test_a_room_nobody_described_keeps_the_gate_shut(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace('place = "outdoors"', ""))
    ice_place(world)
    world.done("gate-figure", gate="ice-room", ice="3kg")
    assert 'place = "outdoors" or "indoors"' in world.why("ice-room")


def test_two_people_are_needed_and_one_is_told_so(world: World) -> None:
    world.done("people-here", count=1)
    assert world.why("second-person") == "2 people are needed; you said 1"
    world.done("people-here", count=2)
    assert world.stands("second-person")
    world.done("happened", what="people-changed", why="Bo went home")
    assert not world.stands("second-person")


def test_an_unknown_high_voltage_car_is_stopped_until_someone_licensed_signs(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", ""))
    refusal = world.refused("step-done", step="safe.look")
    way = "If you have confirmed that the car has none: enter car-answered feature=hybrid fitted=no"
    assert refusal.why == f"shut: High voltage: STOP. Orange cable. Call a licensed workshop. {way}"
    world.done("gate-signed", gate="high-voltage", by="C. Lind, HV 2", paper="record 17")
    world.done("step-done", step="safe.look")
    assert world.why("high-voltage") == "signed for by C. Lind, HV 2: record 17"


def test_a_car_that_is_known_to_have_high_voltage_is_told_of_no_way_round(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = true"))
    assert world.why("high-voltage") == "STOP. Orange cable. Call a licensed workshop."


def test_only_what_nobody_has_answered_can_still_be_ruled_out() -> None:
    shape = facts('name = "T"\n[fitted]\na = false\nb = true\n').shape
    assert shape.unanswered(("a", "c")) == ("c",)
    assert shape.unanswered(("c", "d")) == ("c", "d")
    assert shape.unanswered(("b", "c")) == ()
    assert shape.unanswered(()) == ()


@pytest.mark.parametrize(("by", "paper", "why"), [
    ("19.4", "record 17", "by=19.4 is no signature: say in words the name and licence of who did it"),
    ("C. Lind, HV 2", "0012345", "paper=0012345 is no signature: say in words what paper it is, its number and date"),
    ("C. Lind", "c. lind", "by= and paper= both say C. Lind: say who did it, and what paper shows it"),
    ("3B", "record 17", "by=3B is no signature"),
])  # fmt: skip
def test_a_signature_is_a_name_and_a_paper_in_words(tmp_path: Path, by: str, paper: str, why: str) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = true"))
    refusal = world.refused("gate-signed", gate="high-voltage", by=by, paper=paper)
    assert refusal.why.startswith(why)
    assert refusal.gate == "high-voltage"
    assert not world.stands("high-voltage")


def test_names_and_papers_in_any_alphabet_are_words(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = true"))
    world.done("gate-signed", gate="high-voltage", by="リン, HV 2", paper="протокол 17")
    assert world.stands("high-voltage")


def test_a_live_module_counts_until_it_is_off_and_stored(world: World) -> None:
    assert world.why("live-count") == "not accounted for: Driver airbag, Knee airbag"
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    assert "Driver airbag" in world.why("live-count")
    world.done("part-stored", part="driver-bag", where="store")
    assert world.why("live-count") == "not accounted for: Knee airbag"


def test_a_module_listed_as_still_fitted_counts_for_power_but_not_for_ice(world: World) -> None:
    for module in ("driver-bag", "knee-bag"):
        world.done("still-fitted", module=module, why="comes out with the dash")
    assert not world.stands("live-count")
    assert "every live module" in world.why("live-listed") or "first:" in world.why("live-listed")


def test_a_module_that_goes_back_into_the_car_shuts_the_ice(world: World) -> None:
    ice_place(world)
    world.done("part-back", part="driver-bag")
    assert not world.stands("live-count")
    world.tick_all("airbag-handling")
    world.done("part-off", part="driver-bag")
    assert world.why("live-count") == "not accounted for: Driver airbag"
    world.done("part-stored", part="driver-bag", where="store")
    assert world.stands("live-count")
    assert "a live module counts as in the car again" in world.why("ice-place")


def test_every_lift_is_a_gate_of_its_own(world: World) -> None:
    world.seat_ready()
    world.done("step-done", step="cabin.seat-out")
    assert world.why("lift-ready").startswith("stands no more: used by: Driver seat out")


def test_after_a_long_pause_nothing_counts_until_it_is_said_what_has_happened(world: World) -> None:
    world.battery_off()
    world.clock.advance(31 * 60)
    refusal = world.refused("step-done", step="safe.isolate")
    assert refusal.why.startswith("nothing was written for 31 minutes. First say what has happened since")
    world.done("resumed", power="no", doors="no", people="no")
    world.done("step-done", step="safe.isolate")


def test_not_knowing_whether_power_came_back_counts_as_yes(world: World) -> None:
    world.battery_off()
    world.clock.advance(31 * 60)
    world.done("resumed", power="unknown", doors="no", people="no")
    assert "power may have come back while you were away" in world.why("battery")


@pytest.fixture
def late(world: World) -> World:
    """Ten to midnight: the battery is off, two people are here."""
    world.battery_off()
    world.clock.advance(15 * 3600 + 50 * 60)
    world.done("resumed", power="no", doors="no", people="no")
    world.done("people-here", count=2)
    return world


@pytest.mark.parametrize("minutes", [10.1, 15, 29])
def test_a_new_day_is_asked_about_even_after_a_short_pause(late: World, minutes: float) -> None:
    """A new day: what was read is read again; the wait is kept only if the car was locked or watched (common
    practice)."""
    late.clock.advance(minutes * 60)
    asked = f"a new day began, and nothing was written for {minutes:.0f} minutes"
    assert late.state.gates.questions == asked
    assert late.refused("step-done", step="safe.isolate").why.startswith(f"{asked}. First say what has happened since")
    late.done("resumed", power="unknown", doors="no", people="no")
    assert late.why("second-person").startswith("stands no more: a new working day")
    assert "power may have come back while you were away" in late.why("battery")


def test_who_works_on_through_midnight_is_not_stopped_but_asked_at_the_first_pause(late: World) -> None:
    for _ in range(8):
        late.clock.advance(5 * 60)
        late.done("note", text="still lifting")
        assert late.stands("second-person"), "nobody has stopped working"
    assert late.state.last is not None
    assert late.state.last.day == "2026-05-10"
    late.clock.advance(5 * 60 + 1)
    assert late.state.gates.questions == "a new day began, and nothing was written for 5 minutes"
    assert not late.stands("second-person")
    late.done("resumed", power="no", doors="no", people="no")
    late.done("people-here", count=2)
    late.clock.advance(29 * 60)
    assert late.stands("second-person"), "asked once a day"


def test_a_restart_over_midnight_is_a_new_day_however_short(late: World) -> None:
    late.clock.advance(9.9 * 60)
    late.done("note", text="still here")
    late.clock.reboot(off_seconds=60)
    assert late.state.gates.questions == "the computer restarted"
    assert "a new working day" in str(late.state.gates["second-person"].lapse)


@pytest.mark.parametrize("off_seconds", [60, -86_400])
def test_a_rehearsal_that_was_left_half_way_says_so_and_asks_the_same(tmp_path: Path, off_seconds: float) -> None:
    """It is a copy of what another computer began: this one did not restart, nor did its clock go backwards."""
    world = World(tmp_path / "try", rehearsal=True)
    world.battery_off()
    world.clock.reboot(off_seconds)
    assert world.state.gates.questions == "this copy of a car was left half way"
    world.done("resumed", power="yes", doors="no", people="no")
    assert not world.stands("battery")


def test_a_clock_that_went_backwards_counts_as_an_unknown_pause(world: World) -> None:
    world.done("people-here", count=2)
    world.clock.reboot(off_seconds=-3600)
    assert world.state.gates.questions == "nobody knows how long nothing was written: the clock went backwards"
    assert not world.stands("second-person")


def test_what_happened_cannot_be_undone(world: World) -> None:
    entry = world.done("power-restored", why="lamp lit")
    assert "cannot un-happen" in world.refused("undo", entry=entry.n).why


@pytest.mark.parametrize(("gate", "kind", "words"), [
    ("airbag-wait", "gate-tick", {"tick": 1}),
    ("battery", "gate-reading", {"value": "1V"}),
    ("battery", "gate-figure", {"ice": "1kg"}),
    ("battery", "gate-signed", {"by": "A", "paper": "B"}),
    ("batery", "gate-tick", {"tick": 1}),
])  # fmt: skip
def test_an_entry_for_the_wrong_gate_says_what_the_gate_is(
    world: World, gate: str, kind: str, words: dict[str, object]
) -> None:
    why = world.refused(kind, gate=gate, **words).why
    assert "is a gate of kind" in why or "did you mean battery?" in why
