"""What shuts steps though their hazards do not bring it: bad air, ice in the car, a wait that runs beside a live bag.

Trade: from 5,000 ppm everyone out, back in under 2,000; nobody in the cabin while ice lies; hands off the car for the
whole wait (common practice).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.steps import view_route
from tests.world import FACTS, World


@pytest.fixture
def iced(tmp_path: Path) -> World:
    """Everything is ready for the ice, and door cards are off; mats and winder are still in."""
    world = World(tmp_path / "car")
    world.modules_out()
    world.done("step-done", step="cabin.card-off")
    world.tick_all("ice-place")
    world.done("gate-figure", gate="ice-room", ice="2kg")
    world.done("gate-reading", gate="ice-meter", value="700ppm")
    return world


def states(world: World) -> set[str]:
    return {view.state for view in view_route(world.car.now())}


# -- bad air


def test_bad_air_shuts_every_step_with_the_words_of_its_level(iced: World) -> None:
    iced.done("gate-reading", gate="ice-meter", value="9000ppm")
    for step in ("safe.mats", "finish.cage", "cabin.window-off"):
        refused = iced.refused("step-done", step=step, refitted=True)
        assert refused.gate == "ice-meter"
        assert refused.why == (
            "shut: Carbon dioxide: Everyone out. (the air counts as 5,000 ppm or more: work goes on below 2,000 ppm)"
        )
    assert "ready" not in states(iced)


def test_bad_air_shuts_a_part_that_comes_off_by_itself(iced: World) -> None:
    iced.done("step-done", step="safe.mats")
    iced.done("part-back", part="mats")
    iced.done("gate-reading", gate="ice-meter", value="16000ppm")
    for part in ("mats", "window-winder"):
        assert "Everyone away." in iced.refused("part-off", part=part).why
    assert iced.refused("part-off", part="mats").gate == "ice-meter"


def test_steps_come_back_when_the_air_has_been_good_for_long_enough_and_not_before(iced: World) -> None:
    iced.done("gate-reading", gate="ice-meter", value="16000ppm")
    iced.done("gate-reading", gate="ice-meter", value="1500ppm")
    iced.wait(9)
    iced.done("gate-reading", gate="ice-meter", value="1500ppm")
    assert "Everyone away." in iced.refused("step-done", step="safe.mats").why
    iced.wait(1)
    iced.done("gate-reading", gate="ice-meter", value="1500ppm")
    iced.done("step-done", step="safe.mats")


def test_an_alarm_says_what_to_do_even_when_the_gates_before_it_have_lapsed(iced: World) -> None:
    """From 15,000 ppm the place has lapsed, too: that must not hide the alarm behind a first: line."""
    iced.done("gate-reading", gate="ice-meter", value="30000ppm")
    assert not iced.stands("ice-place")
    assert iced.why("ice-meter").startswith("the air counts as 30,000 ppm or more")
    iced.done("happened", what="people-changed", why="Bo went home")
    assert "keep others out" in iced.refused("step-done", step="safe.mats").why


# -- ice in the car


def test_while_ice_lies_in_the_car_only_the_ice_is_worked_on(iced: World) -> None:
    iced.done("step-done", step="cabin.pads-off")
    refused = iced.refused("step-done", step="safe.mats")
    assert refused.gate == "ice-gone"
    assert "No ice, no gas: stands no more: since then: Bonded pads off" in refused.why
    iced.done("step-undone", step="cabin.pads-off", why="the rear is still to do")
    iced.done("step-done", step="cabin.pads-off")
    iced.tick_all("ice-gone")
    iced.done("step-done", step="safe.mats")


def test_that_the_ice_is_gone_is_said_after_it_was_laid(iced: World) -> None:
    iced.tick_all("ice-gone")
    iced.done("step-done", step="cabin.pads-off")
    assert iced.refused("step-done", step="safe.mats").gate == "ice-gone"


def test_ice_that_was_gone_once_does_not_come_back_with_the_next_day(iced: World) -> None:
    iced.done("step-done", step="cabin.pads-off")
    iced.tick_all("ice-gone")
    iced.done("happened", what="new-day", why="morning")
    assert not iced.stands("ice-gone")
    iced.done("step-done", step="safe.mats")


def test_undoing_that_the_ice_is_gone_puts_it_back_into_the_car(iced: World) -> None:
    iced.done("step-done", step="cabin.pads-off")
    iced.tick_all("ice-gone")
    iced.done("undo", entry=iced.state.entries)
    assert iced.refused("step-done", step="safe.mats").gate == "ice-gone"


def test_taking_the_step_back_takes_no_ice_out_of_the_car(iced: World) -> None:
    done = iced.done("step-done", step="cabin.pads-off")
    iced.done("undo", entry=done.n)
    assert iced.refused("step-done", step="safe.mats").gate == "ice-gone"


# -- the airbag wait


def test_nobody_is_at_the_car_while_the_wait_runs_but_for_the_battery(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.battery_off()
    refused = world.refused("step-done", step="safe.mats")
    assert (refused.gate, refused.why) == ("airbag-wait", "shut: Airbag wait: hands off the car until it is over")
    world.done("step-done", step="safe.isolate")
    world.wait(30)
    world.done("step-done", step="safe.mats")


def test_a_wait_shuts_nothing_once_no_live_module_is_left_in_the_car(iced: World) -> None:
    iced.done("power-restored", why="a trial start")
    iced.tick_all("battery")
    assert not iced.stands("airbag-wait")
    iced.done("step-done", step="safe.mats")


def test_a_module_named_as_still_fitted_is_waited_for(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = false\nknee-bag = false"))
    world.done("still-fitted", module="driver-bag", why="plugged")
    world.battery_off()
    assert world.refused("step-done", step="safe.mats").gate == "airbag-wait"
    world.done("not-there", module="driver-bag", why="the wheel is a plain one")
    world.done("step-done", step="safe.mats")
