"""The two lines that are always in sight: what the car weighs, and the lamps."""

from __future__ import annotations

from textual.content import Content

from teardown import units
from teardown.car.gates import GateView
from teardown.car.mass import mass_now
from teardown.car.steps import Standing
from teardown.packs.model import PeopleGate, ReadingGate, TicksGate, WaitGate
from teardown.screens.paint import BOLD, LOUD, Window, clipped, minutes_seconds, words

LAMPS = ("battery", "airbag-wait", "ice-meter", "second-person")
"""The gates a lamp is lit for, where the packs have them."""


def mass_line(standing: Standing, window: Window, reading_only: bool) -> Content:
    """The car, its mass now and what is left to the goal. A rehearsal says so first."""
    state, mass = standing.state, mass_now(standing.state)
    unit = state.facts.mass_unit
    parts = ["REHEARSAL"] if state.rehearsal else []
    if reading_only:
        parts.append("READING ONLY")
    if not window.small:
        parts.append(state.facts.name)
    parts.append("not weighed" if mass.now_kg is None else units.show_mass(mass.now_kg, unit))
    if mass.to_go_kg is not None:
        over = mass.to_go_kg > 0
        parts.append(f"{units.show_mass(abs(mass.to_go_kg), unit)} {'to go' if over else 'under the goal'}")
    return clipped(words(" | ".join(parts).ljust(window.columns), LOUD), window.columns)


def lamp_line(standing: Standing, window: Window) -> Content:
    """Battery, airbag wait with its time left, air, people: a word, a mark, and never a colour alone."""
    lamps = [_lamp(standing, standing.gates[name]) for name in LAMPS if name in standing.gates]
    return clipped(words("  ".join(lamps), BOLD), window.columns)


def _lamp(standing: Standing, view: GateView) -> str:
    mark = "+" if view.stands else "#"
    record = standing.state.gates[view.gate.id]
    if isinstance(view.gate, TicksGate):
        return f"{mark}BATTERY {'off' if view.stands else 'ON?'}"
    if isinstance(view.gate, WaitGate):
        running = record.since is not None and view.wait_left_s
        return (
            f"{mark}AIRBAG {minutes_seconds(view.wait_left_s or 0) if running else 'waited' if view.stands else 'LIVE'}"
        )
    if isinstance(view.gate, ReadingGate):
        reading = f"{record.reading.number:,.0f}ppm" if record.reading else "?"
        return f"{mark}AIR {'BAD' if record.alarm else reading}"
    if isinstance(view.gate, PeopleGate):
        return f"{mark}PEOPLE {record.people or '?'}"
    return f"{mark}{view.gate.title}"
