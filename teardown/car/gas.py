"""The gas in the room over time: every reading of carbon dioxide that was entered, for the screen and the sheets."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from teardown.car.state import State
from teardown.packs.model import ReadingGate


class GasReading(NamedTuple):
    """What the meter showed. One that was undone is told apart, and never left out: it may have been right."""

    entry: int
    at: datetime
    day: str
    ppm: float
    undone: bool


def gas_gates(state: State) -> Iterator[ReadingGate]:
    """The gates at which carbon dioxide has been read."""
    return (gate for gate in state.route.air_gates if gate.id in state.readings)


def gas_readings(state: State, gate_id: str) -> list[GasReading]:
    """The readings of one gate, the oldest first."""
    series = state.readings.get(gate_id)
    return [
        GasReading(n, datetime.fromisoformat(reading.at.utc), reading.at.day, reading.number, n in state.undone)
        for n, reading in (series.items if series else ())
    ]
