"""The gas in the room over time: the readings of one gate between its action levels, the levels in words."""

from __future__ import annotations

from datetime import datetime

from teardown import units
from teardown.car.gas import GasReading, gas_readings
from teardown.car.gatebook import level_reached
from teardown.car.state import State
from teardown.cells import Mark, levels_over_time
from teardown.packs.model import ReadingGate
from teardown.screens.paint import BOLD, Page, Window

MOST_COLUMNS = 70
MOST_IN_WORDS = 6
ROOMY_ROWS = 30


def gas_picture(page: Page, state: State, gate: ReadingGate, window: Window) -> None:
    """The readings of the newest reading's day as a picture, and the newest of them in words."""
    every = gas_readings(state, gate.id)
    if not every:
        return
    newest = every[-1]
    shown = [one for one in every if one.day == newest.day]
    page.labelled(f"{gate.title}, ppm:", f"{newest.day}, {_ago(state, newest)}")
    columns = min(MOST_COLUMNS, window.columns)
    levels = [(level.at, level.do.split(". ")[0].rstrip(".")) for level in gate.levels]
    for line in levels_over_time(_marks(gate, shown), levels, columns, 2 if window.rows >= ROOMY_ROWS else 1):
        page.add(line or " ")
    page.add(f"{_clock(shown[0])}{_clock(newest):>{columns - 5}}")
    page.add("o read   ! at or over a level   x undone")
    for one in reversed(shown[-MOST_IN_WORDS:]):
        page.add(_in_words(gate, one), BOLD if level_reached(gate, one.ppm) else "")
    if earlier := len(every) - len(shown):
        page.add(f"{earlier} of other days are on the gates sheet.")


def _marks(gate: ReadingGate, readings: list[GasReading]) -> list[Mark]:
    began = readings[0].at
    whole_s = (readings[-1].at - began).total_seconds()
    return [
        Mark(min(1.0, max(0.0, (one.at - began).total_seconds() / whole_s)) if whole_s > 0 else 1.0, one.ppm, sign)
        for one in readings
        for sign in ["x" if one.undone else "!" if level_reached(gate, one.ppm) else "o"]
    ]


def _in_words(gate: ReadingGate, one: GasReading) -> str:
    level = level_reached(gate, one.ppm)
    over = f", at or over {level.at:,g}" if level else ""
    return f"{_clock(one)}  {one.ppm:,.0f} ppm{over}{', undone' if one.undone else ''}"


def _clock(one: GasReading) -> str:
    """The time on the wall here."""
    return f"{one.at.astimezone():%H:%M}"


def _ago(state: State, one: GasReading) -> str:
    """How old it is by the wall clock; the gate itself goes by a clock that cannot be set."""
    if state.last is None or state.last.day != one.day:
        return "none today"
    minutes = (datetime.fromisoformat(state.last.utc) - one.at).total_seconds() / 60
    return f"newest {units.show_duration(max(0.0, minutes))} ago"
