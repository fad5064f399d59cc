"""Ways round the gates that somebody in a hurry, or somebody hostile, has tried."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.log import Entry
from teardown.car.ruling import Refusal
from teardown.packs.audit import audit, extend
from teardown.packs.problems import PackError
from teardown.packs.reader import sources_in
from tests.world import FACTS, World, facts, library


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


@pytest.fixture
def iced(world: World) -> World:
    world.modules_out()
    world.tick_all("ice-place")
    return world


def test_words_of_ones_own_cannot_turn_a_gate_round(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "w.toml").write_text('words = [{ british = "Negative off", american = "Positive off" }]')
    with pytest.raises(PackError, match="they would reword gates and warnings that ship"):
        extend(library(), sources_in(tmp_path))


def test_a_second_part_cannot_account_for_a_module_that_is_still_in_the_car(tmp_path: Path) -> None:
    (tmp_path / "decoy.toml").write_text("""
id = "decoy"
title = "Decoy"
why = "To get round."
follows = ["cabin"]
[[steps]]
id = "tray"
title = "Tray out"
do = "Lift it out."
hazards = ["airbag"]
needs = ["safe.isolate"]
minutes = [1, 2, 3]
[[steps.parts]]
id = "tray"
name = "Tray"
kg = [1, 2, 3]
material = "steel"
place = { x = 0.5, y = "0", z = 0.5 }
modules = ["driver-bag"]
fate = "scrap"
""")
    with pytest.raises(PackError, match="a module that no other part carries: driver-bag carries it"):
        extend(library(), sources_in(tmp_path))


def test_the_newest_word_about_a_module_counts(iced: World) -> None:
    iced.done("still-fitted", module="driver-bag", why="it is there after all, plugged")
    assert not iced.stands("live-count")
    assert not iced.stands("ice-place")
    assert "cannot un-happen" in iced.refused("undo", entry=iced.state.entries).why


def test_undoing_a_mistyped_low_reading_brings_the_alarm_back(iced: World) -> None:
    iced.done("gate-reading", gate="ice-meter", value="6000ppm")
    low = iced.done("gate-reading", gate="ice-meter", value="400ppm")
    iced.done("undo", entry=low.n)
    iced.done("gate-reading", gate="ice-meter", value="4900ppm")
    assert "work goes on below 2,000 ppm" in iced.why("ice-meter")


def test_taking_the_isolating_step_back_counts_as_power(world: World) -> None:
    world.airbags_ready()
    world.done("step-undone", step="safe.isolate", why="leads are back on")
    assert "Isolate the battery: taken back" in world.why("battery")
    world.battery_off()
    done = world.done("step-done", step="safe.isolate")
    world.done("undo", entry=done.n)
    assert not world.stands("battery")
    assert not world.stands("airbag-wait")


def test_a_step_that_the_isolating_needs_taken_back_counts_as_power(world: World) -> None:
    world.airbags_ready()
    world.done("step-undone", step="safe.look", why="there is an orange cable")
    assert "Look for high voltage: taken back" in world.why("battery")


def test_ticks_made_before_the_gate_they_follow_stood_do_not_come_to_life(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.battery_off()
    world.wait(30)
    (world.folder / "car.toml").write_text(FACTS.replace("hybrid = false", "hybrid = true"))
    world.reopen()
    world.done("gate-signed", gate="high-voltage", by="C. Lind, HV 2", paper="record 17")
    assert "made before High voltage stood" in world.why("battery")
    assert not world.stands("airbag-wait")


def test_a_count_that_comes_out_later_does_not_revive_what_was_made_behind_it(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = false\nknee-bag = false"))
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    world.done("part-stored", part="driver-bag", where="store")
    world.tick_all("ice-place")
    (world.folder / "car.toml").write_text(FACTS)
    world.reopen()
    assert world.why("live-count") == "not accounted for: Knee airbag"
    world.done("not-there", module="knee-bag", why="looked under the dash")
    assert "made before No live module left stood" in world.why("ice-place")


def test_a_gate_for_what_the_car_lacks_takes_no_signature(world: World) -> None:
    assert "Nothing to enter" in world.refused("gate-signed", gate="high-voltage", by="x", paper="y").why


def test_a_gate_for_several_things_stands_by_itself_only_when_the_car_has_none_of_them() -> None:
    shape = facts().shape
    assert shape.has_none_of(("hybrid",))
    assert not shape.has_none_of(("hybrid", "sunroof"))
    assert not shape.has_none_of(())


def test_a_part_taken_off_by_itself_uses_up_its_lift(world: World) -> None:
    world.seat_ready()
    world.done("part-off", part="driver-seat")
    assert "used by: Driver seat" in world.why("lift-ready")


def test_another_number_of_people_means_that_somebody_came_or_went(world: World) -> None:
    world.done("people-here", count=1)
    world.airbags_ready()
    world.done("people-here", count=3)
    assert world.state.gates["airbag-handling"].lapse == "somebody came or went"


@pytest.mark.parametrize("how", ["counted", "said", "answered"])
def test_who_says_that_somebody_came_was_there_and_who_came_is_counted_anew(world: World, how: str) -> None:
    """Ana has counted; Bo, who has not written yet, does not count as one of those she counted."""
    world.done("people-here", count=2)
    if how == "said":
        world.done("happened", what="people-changed", why="Bo came")
    if how == "answered":
        world.clock.advance(31 * 60)
        world.done("resumed", power="no", doors="no", people="yes")
    world.done("people-here", count=3)
    assert world.stands("second-person")
    assert isinstance(world.car.enter("note", {"text": "here"}, "Bo"), Entry)
    assert world.why("second-person").startswith("stands no more: Bo works now")
    world.done("people-here", count=3)
    assert world.stands("second-person"), "both are known now"


def test_a_new_name_in_the_log_is_a_new_person_on_the_job(world: World) -> None:
    """A person changed: the tag is hung by the new name, what was counted is counted again (common practice)."""
    world.airbags_ready()
    refusal = world.car.enter("step-done", {"step": "cabin.bag-out"}, "Bo")
    assert isinstance(refusal, Refusal)
    assert (refusal.gate, "stands no more: Bo works now" in refusal.why) == ("second-person", True)
    assert world.stands("airbag-handling"), "a refusal is not written, so nothing has changed"
    assert isinstance(world.car.enter("people-here", {"count": 2}, "Bo"), Entry)
    assert world.stands("battery")
    assert world.stands("airbag-wait"), "the wait is kept"
    assert world.state.gates["airbag-handling"].lapse == "Bo works now"
    world.done("gate-reading", gate="battery-dead", value="0.1V")
    world.tick_all("airbag-handling")
    assert isinstance(world.car.enter("step-done", {"step": "cabin.bag-out"}, "Bo"), Entry), "both are known now"


def test_who_takes_over_writes_it_and_a_break_forgets_who_was_known(world: World) -> None:
    world.done("people-here", count=2)
    assert world.car.open_session(" Bo\n").who == "Bo"
    assert world.why("second-person").startswith("stands no more: Bo works now")
    world.done("people-here", count=2)
    world.car.open_session("Bo")
    assert world.stands("second-person"), "Bo is no new person any more"
    world.clock.advance(31 * 60)
    world.done("resumed", power="no", doors="no", people="no")
    world.done("people-here", count=2)
    world.car.open_session("Bo")
    assert not world.stands("second-person")


@pytest.mark.parametrize("pause_min", [31, 24 * 60])
def test_who_was_not_there_before_a_pause_is_a_new_person_whatever_is_answered(world: World, pause_min: float) -> None:
    """Each signs for himself: what Ana confirmed that outlives a break or a night does not stand for Bo."""
    lasting = {gate.id for gate in world.car.folded.route.library.gates.values() if gate.lapses == ("people-changed",)}
    world.car.folded.route.lapsing["break"] = world.car.folded.route.lapsing["new-day"] = ()
    world.tick_all("lift-ready")
    assert lasting == {"lift-ready"}
    world.clock.advance(pause_min * 60)
    answers = {"power": "no", "doors": "no", "people": "no"}
    assert isinstance(world.car.enter("resumed", answers, "Bo"), Entry)
    assert world.why("lift-ready").startswith("stands no more: Bo works now")


def test_who_was_there_before_a_pause_signed_already(world: World) -> None:
    world.car.open_session("Bo")
    world.tick_all("lift-ready")
    for pause_min in (31, 40):
        world.clock.advance(pause_min * 60)
        world.car.enter("resumed", {"power": "no", "doors": "no", "people": "no"}, "Bo")
    assert world.stands("lift-ready")
    assert isinstance(world.car.enter("note", {"text": "here, too"}, "Cy"), Entry)
    assert not world.stands("lift-ready")


def test_a_step_is_written_at_the_very_moment_it_was_judged_at(world: World) -> None:
    """A lid that closes between the judging and the writing must not slip a step past its gates."""
    moments = iter([world.clock.now()])

    def now() -> object:
        found = next(moments, None)
        if found is None:
            world.clock.advance(3600)
            found = type(world.clock).now(world.clock)
        return found

    world.car.clock = type("Clock", (), {"now": staticmethod(now)})()  # type: ignore[assignment]
    entry = world.car.enter("step-done", {"step": "safe.look"}, "Ana")
    assert isinstance(entry, Entry)
    assert entry.at.seconds == 1000.0


@pytest.mark.parametrize(("words", "why"), [
    ({"ice": "0kg"}, "no ice, no figure"),
    ({"ice": "20kg", "over": "8h"}, "on bare steel the whole charge counts as gone in that time"),
    ({"ice": "2kg", "over": "46min"}, "over=46min is more than 45 min"),
    ({"ice": "2kg", "over": "0min"}, "over=0min is less than 5 min: ice lies 8 min and more before a pad cracks"),
    ({"ice": "2kg", "over": "1s"}, "(the limit is this project's policy)"),
])  # fmt: skip
def test_a_figure_is_not_talked_down(iced: World, words: dict[str, str], why: str) -> None:
    assert why in iced.refused("gate-figure", gate="ice-room", **words).why


def test_a_meter_that_reads_nothing_opens_nothing(iced: World) -> None:
    iced.done("gate-reading", gate="ice-meter", value="6000ppm")
    iced.done("gate-reading", gate="ice-meter", value="0ppm")
    assert "work goes on below" in iced.why("ice-meter")
    iced.done("gate-reading", gate="ice-meter", value="1000ppm")
    iced.done("gate-reading", gate="ice-meter", value="0ppm")
    assert "the meter does not work" in iced.why("ice-meter")


def test_a_part_the_car_does_not_have_is_not_taken_off(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = false\nknee-bag = false"))
    assert "is not on this car" in world.refused("part-off", part="knee-bag").why


@pytest.mark.parametrize("name", ["Driver seat", " driver-SEAT", "driver-seat", "Dr\u0456ver seat", "driver  seat!"])
def test_a_part_of_the_packs_does_not_come_off_as_something_found(world: World, name: str) -> None:
    """What was found comes off past no gate; the seat has a lift and a second person to ask for."""
    refused = world.refused("part-found", name=name, reading="18kg")
    assert refused.about == "name"
    assert refused.why.startswith(
        "Driver seat is in the packs, with what it asks for before it comes off: part-off part="
    )


def test_another_one_of_that_name_is_found_once_the_packs_part_is_off(world: World) -> None:
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    world.done("people-here", count=2)
    world.tick_all("lift-ready")
    world.done("part-off", part="driver-seat")
    world.done("part-found", name="Driver seat", reading="18kg")


def test_what_the_packs_no_longer_have_is_told_when_the_folder_is_opened(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = false\nhybird = true"))
    assert world.car.told == (
        "car.toml [fitted] answers that the packs do not have, and that count for nothing: hybird",
    )


def test_the_small_world_falls_short_of_no_rule() -> None:
    assert [str(problem) for problem in audit(library()) if "live-listed" not in str(problem)] == []


def test_a_pack_of_ones_own_is_shut_by_high_voltage_like_those_that_ship(tmp_path: Path) -> None:
    """Nobody has to remember the hazard: every step at the car meets it."""
    own = tmp_path / "own"
    own.mkdir()
    (own / "extra.toml").write_text("""
id = "extra"
title = "Extra"
why = "A pack of one's own."
[[steps]]
id = "lamp"
title = "Lamp off"
do = "Unscrew it."
minutes = [1, 2, 3]
""")
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "").replace("goal", f'packs = "{own}"\ngoal'))
    refused = world.refused("step-done", step="extra.lamp")
    assert (refused.gate, "Orange cable. Call a licensed workshop." in refused.why) == ("high-voltage", True)


def test_what_every_step_meets_does_not_keep_a_skipped_step_from_meeting_a_need(world: World) -> None:
    """The step that needs it meets the same gate: skipping leads past nothing."""
    world.battery_off()
    world.done("step-done", step="safe.isolate")
    world.wait(30)
    assert "needs: Door cards off" in world.refused("step-done", step="cabin.window-off").why
    world.done("step-skipped", step="cabin.card-off", why="there are none")
    world.done("step-done", step="cabin.window-off", refitted=True)


def test_skipping_the_look_for_high_voltage_meets_no_need(world: World) -> None:
    world.done("step-skipped", step="safe.look", why="in a hurry")
    assert "needs: Look for high voltage (skipped)" in world.refused("step-done", step="safe.mats").why
