"""The gas in the room: every reading of carbon dioxide that was entered, and what ice about to be laid would add."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from teardown.car.ice import Ice
from teardown.car.room import Verdict, counted_ice, judge_room
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


def ice_counted(state: State, gate_id: str, ice_kg: float, over_min: float, again: bool) -> tuple[Ice, Verdict]:
    """A batch with all that the figure counts besides it at this moment, and what the figure says of it. Raises
    ValueError before anything was written: there is no moment to count at."""
    now, book = state.last, state.gates
    if now is None:
        raise ValueError("nothing is known of the time")
    ice = counted_ice(
        state.room, ice_kg, over_min, book.carbon_dioxide_ppm(now), book.batches(gate_id, now), again=again
    )
    return ice, judge_room(state.room, *ice)
