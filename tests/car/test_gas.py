"""The gas in the room over time, as the state remembers it: every reading, in order, undone ones told apart."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from teardown.car.gas import gas_gates, gas_readings
from teardown.car.gatebook import level_reached
from teardown.packs.model import ReadingGate
from tests.world import World, library


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


def test_every_reading_is_remembered_though_only_the_last_one_counts(world: World) -> None:
    for ppm in (700, 6200, 900):
        world.clock.advance(120)
        world.done("gate-reading", gate="ice-meter", value=f"{ppm}ppm")
    readings = gas_readings(world.state, "ice-meter")
    assert [(one.entry, one.ppm, one.undone) for one in readings] == [
        (2, 700, False),
        (3, 6200, False),
        (4, 900, False),
    ]
    assert [(later.at - one.at).total_seconds() for one, later in pairwise(readings)] == [120, 120]
    assert world.state.gates["ice-meter"].reading.number == 900


def test_lapses_and_a_new_session_forget_no_reading(world: World) -> None:
    world.done("gate-reading", gate="ice-meter", value="700ppm")
    world.done("happened", what="fan-stopped", why="the fan stopped")
    world.reopen()
    assert world.state.gates["ice-meter"].reading is None
    assert [one.ppm for one in gas_readings(world.state, "ice-meter")] == [700]


def test_an_undone_reading_is_told_apart_and_not_left_out(world: World) -> None:
    world.done("gate-reading", gate="ice-meter", value="16000ppm")
    world.done("undo", entry=2)
    assert [(one.ppm, one.undone) for one in gas_readings(world.state, "ice-meter")] == [(16000, True)]


def test_volts_are_no_gas_and_a_gate_nobody_read_is_not_named(world: World) -> None:
    world.battery_off()
    world.done("gate-reading", gate="battery-dead", value="0.1V")
    assert list(gas_gates(world.state)) == []
    world.done("gate-reading", gate="ice-meter", value="700ppm")
    assert [gate.id for gate in gas_gates(world.state)] == ["ice-meter"]
    assert gas_readings(world.state, "no-such-gate") == []


@pytest.mark.parametrize(
    ("ppm", "reached"), [(0, None), (4999.9, None), (5000, 5000), (14999, 5000), (15000, 15000), (30000, 30000)]
)
def test_the_level_a_reading_reached_is_the_highest_of_them(ppm: float, reached: float | None) -> None:
    gate = library().gates["ice-meter"]
    assert isinstance(gate, ReadingGate)
    level = level_reached(gate, ppm)
    assert (level and level.at) == reached
