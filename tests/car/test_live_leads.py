"""Volts on leads that are off, and a source of power nobody counted with.

The wait counts from the moment the last of all sources came off; any source on again, even for a second, or one that
was not on the list, starts it again at nothing (common practice). How long leads may bleed down is this project's
policy.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.gatebook import ANOTHER_SOURCE, BLEED_MIN
from tests.world import FACTS, World

AIRBAG_GATES = ("battery", "battery-dead", "airbag-wait", "airbag-handling")


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


def read(world: World, value: str) -> int:
    return world.done("gate-reading", gate="battery-dead", value=value).n


def standing(world: World) -> set[str]:
    return {gate for gate in AIRBAG_GATES if world.stands(gate)}


def left_min(world: World) -> float | None:
    left_s = world.car.now().gates["airbag-wait"].wait_left_s
    return None if left_s is None else left_s / 60


# -- leads that were proved dead


@pytest.mark.parametrize(("value", "showed"), [
    ("12.4V", "12.4 V"), ("0.5V", "0.5 V"), ("500mV", "0.5 V"), ("-12V", "12 V"),
    ("over", "more than it can measure"), ("OL", "more than it can measure"), ("O.L.", "more than it can measure"),
])  # fmt: skip
def test_volts_on_leads_that_were_proved_dead_are_power_that_came_back(world: World, value: str, showed: str) -> None:
    world.airbags_ready()
    assert standing(world) == set(AIRBAG_GATES)
    read(world, value)
    assert standing(world) == set()
    assert world.why("battery") == (
        f"stands no more: Leads dead: the meter showed {showed}. Confirm it again from the first line"
    )
    read(world, "0.1V")
    assert standing(world) == set(), "that they are dead again does not say for how long they were live"
    world.tick_all("battery")
    assert left_min(world) == pytest.approx(30)


def test_taking_such_a_reading_back_opens_nothing(world: World) -> None:
    world.airbags_ready()
    live = read(world, "12.4V")
    world.done("undo", entry=live)
    assert standing(world) == set()


def test_the_proof_is_remembered_over_a_pause_and_after_it_was_taken_back(world: World) -> None:
    world.airbags_ready()
    world.clock.advance(31 * 60)
    world.done("resumed", power="no", doors="no", people="no")
    assert standing(world) == {"battery", "airbag-wait"}
    read(world, "3V")
    assert standing(world) == set()
    world.battery_off()
    world.done("undo", entry=read(world, "0.1V"))
    read(world, "3V")
    assert "the meter showed 3 V" in world.why("battery")


@pytest.mark.parametrize("value", ["-0.2V", "0.2V"])
def test_the_probes_may_be_the_wrong_way_round(world: World, value: str) -> None:
    world.battery_off()
    read(world, value)
    assert world.why("battery-dead") == "you read 0.2 V (limit 0.5)"


# -- leads that bleed down


def test_leads_may_bleed_down_at_first_and_the_wait_counts_from_the_reading_that_proves_them_dead(world: World) -> None:
    """A meter cannot tell what bleeds down from a source that somebody takes off a moment later."""
    world.battery_off()
    for value in ("11V", "3V"):
        world.wait(2)
        read(world, value)
        assert standing(world) == {"battery"}
        assert world.why("airbag-wait") == "the leads still show volts: the wait began again"
        assert world.why("battery-dead") == f"you read {value[:-1]} V; it must be below 0.5 V"
    world.wait(20)
    read(world, "0.3V")
    assert left_min(world) == pytest.approx(30)
    assert world.why("airbag-wait") == "the leads were live until then: the wait began again"
    world.wait(30)
    assert standing(world) == {"battery", "battery-dead", "airbag-wait"}


def test_leads_that_still_show_volts_when_they_should_have_bled_down_have_a_source(world: World) -> None:
    world.battery_off()
    world.wait(BLEED_MIN)
    read(world, "3V")
    assert world.stands("battery")
    world.clock.advance(1)
    read(world, "2.9V")
    assert "the meter showed 2.9 V" in world.why("battery")


def test_taking_back_the_reading_that_proved_them_dead_holds_the_wait_again(world: World) -> None:
    world.battery_off()
    read(world, "3V")
    proof = read(world, "0.1V")
    world.wait(30)
    world.done("undo", entry=proof)
    world.wait(5)
    read(world, "0.1V")
    assert left_min(world) == pytest.approx(30)


def test_volts_before_the_battery_is_off_are_no_news(world: World) -> None:
    world.done("gate-tick", gate="battery", tick=1)
    read(world, "12.6V")
    world.done("gate-tick", gate="battery", tick=2)
    world.done("gate-tick", gate="battery", tick=3)
    assert world.stands("battery")


# -- a reading that is none


@pytest.mark.parametrize(("gate", "value", "write"), [
    ("battery-dead", "0.2", "0.2 has no unit: write 0.2V"),
    ("ice-meter", "1200", "1200 has no unit: write 1200ppm"),
])  # fmt: skip
def test_a_bare_number_is_no_entry_and_is_told_the_one_unit_of_its_gate(
    world: World, gate: str, value: str, write: str
) -> None:
    refusal = world.refused("gate-reading", gate=gate, value=value)
    assert (refusal.why, refusal.about, refusal.wrong_use) == (write, "value", True)


# -- sources of power


def second_source(world: World, answer: str | None) -> None:
    line = "" if answer is None else f"second-source = {answer}"
    (world.folder / "car.toml").write_text(FACTS.replace("second-source = false", line))
    world.reopen()


@pytest.mark.parametrize("answer", ["true", None])
def test_a_source_that_is_ruled_out_no_more_shuts_what_was_confirmed_without_it(
    world: World, answer: str | None
) -> None:
    """Unknown means present; an unlisted source found is power (common practice)."""
    world.airbags_ready()
    second_source(world, answer)
    assert standing(world) == set()
    assert world.why("battery") == f"stands no more: {ANOTHER_SOURCE}. Confirm it again from the first line"
    world.tick_all("battery")
    assert left_min(world) == pytest.approx(30)
    second_source(world, answer)
    assert world.stands("battery"), "it was counted with"


def test_a_source_that_is_ruled_out_later_takes_nothing_away(world: World) -> None:
    second_source(world, "true")
    world.airbags_ready()
    second_source(world, "false")
    assert standing(world) == set(AIRBAG_GATES)


def test_what_was_confirmed_anew_in_between_counts_from_then(world: World) -> None:
    """However often the answer changes: the wait counts from the newest time the battery was confirmed."""
    world.airbags_ready()
    second_source(world, "true")
    world.tick_all("battery")
    second_source(world, "false")
    assert left_min(world) == pytest.approx(30)
    assert standing(world) == {"battery"}


def test_nobody_says_by_hand_which_sources_were_counted_with(world: World) -> None:
    second_source(world, "true")
    entry = world.done("gate-tick", gate="battery", tick=1, sources=[])
    assert entry.fields["sources"] == ["second-source"]
    second_source(world, "false")
    assert "sources" not in world.done("gate-tick", gate="battery", tick=2, sources=["second-source"]).fields


def test_the_wait_counts_from_the_last_step_that_takes_a_source_off(world: World) -> None:
    world.battery_off()
    world.wait(25)
    world.done("step-done", step="safe.isolate")
    assert left_min(world) == pytest.approx(30)
    assert world.why("airbag-wait") == "Isolate the battery: only then was that source off: the wait began again"


def test_a_late_step_that_takes_a_source_off_shuts_what_followed_the_wait(world: World) -> None:
    world.battery_off()
    world.wait(30)
    world.done("people-here", count=2)
    read(world, "0.1V")
    world.tick_all("airbag-handling")
    world.done("step-done", step="safe.isolate")
    assert standing(world) == {"battery", "battery-dead"}
