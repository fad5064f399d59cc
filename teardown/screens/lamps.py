"""The lines that are always in sight: what the car weighs, the lamps, and what bad air orders."""

from __future__ import annotations

from textual.content import Content

from teardown import units
from teardown.car.gatebook import GateRecord
from teardown.car.gates import GateView, alarms
from teardown.car.mass import mass_now
from teardown.car.state import State
from teardown.car.steps import Standing
from teardown.packs.model import PeopleGate, ReadingGate, TicksGate, WaitGate
from teardown.screens.paint import BOLD, LOUD, Window, clipped, minutes_seconds, words, wrap

LEAST_OF_A_NAME = 8
"""Cells; a name cut shorter says nothing."""

LAMPS = ("battery", "airbag-wait", "ice-meter", "second-person")
"""The gates a lamp is lit for, where the packs have them."""


def top_lines(standing: Standing, window: Window, reading_only: bool) -> list[Content]:
    """Mass, lamps, and bad air's order; read from two metres the order takes the place of the mass."""
    orders = order_lines(standing, window)
    mass = [] if orders and window.small else mass_lines(standing, window, reading_only)
    return [*mass, lamp_line(standing, window), *orders]


def mass_lines(standing: Standing, window: Window, reading_only: bool) -> list[Content]:
    """The car, its mass now and what is left to the goal; a rehearsal, or a look, says so first. The kilos are never
    cut: the name gives way, and then those words take a line of their own."""
    state = standing.state
    flags = ["REHEARSAL"] * state.rehearsal + ["READING ONLY"] * reading_only
    name, kilos = words(state.facts.name), _kilos(state)
    room = window.columns - len(" | ".join([*flags, "", *kilos]))
    if room >= LEAST_OF_A_NAME and not window.small:
        return [_bar([*flags, clipped(name, room).plain, *kilos], window)]
    one = [*flags, *kilos]
    parts = [one] if len(" | ".join(one)) <= window.columns else [flags, kilos]
    return [_bar(part, window) for part in parts]


def _kilos(state: State) -> list[str]:
    mass, unit = mass_now(state), state.facts.mass_unit
    by_papers = "" if state.weighings.last else " by its papers"
    told = ["not weighed" if mass.now_kg is None else f"{units.show_mass(mass.now_kg, unit)}{by_papers}"]
    if mass.to_go_kg is not None:
        over = mass.to_go_kg > 0
        told.append(f"{units.show_mass(abs(mass.to_go_kg), unit)} {'to go' if over else 'under the goal'}")
    return told


def _bar(parts: list[str], window: Window) -> Content:
    return _over_the_width(clipped(words(" | ".join(parts), LOUD), window.columns), window)


def _over_the_width(line: Content, window: Window) -> Content:
    return Content.assemble(line, (" " * (window.columns - line.cell_length), LOUD))


def order_lines(standing: Standing, window: Window) -> list[Content]:
    """What bad air orders, in its own words, as long as it holds: in every place and every window."""
    orders = dict.fromkeys(view.do or "" for view in alarms(standing.gates))
    mark = "REHEARSAL. " if standing.state.rehearsal and window.small else ""
    lines = wrap([words(f"{mark}{order}", LOUD) for order in orders], window.columns)
    return [_over_the_width(line, window) for line in lines]


def lamp_line(standing: Standing, window: Window) -> Content:
    """Battery, airbag wait with its time left, air, people: a word, a mark, and never a colour alone."""
    views = [standing.gates[name] for name in LAMPS if name in standing.gates]
    lamps = [f"{'+' if view.stands else '#'}{_lamp(standing, view, window.small)}" for view in views]
    return clipped(words((" " if window.small else "  ").join(lamps), BOLD), window.columns)


def _lamp(standing: Standing, view: GateView, short: bool) -> str:
    record = standing.state.gates[view.gate.id]
    if isinstance(view.gate, TicksGate):
        return f"{'BATT' if short else 'BATTERY'} {'off' if view.stands else 'ON?'}"
    if isinstance(view.gate, WaitGate):
        return f"{'BAG' if short else 'AIRBAG'} {_wait(view, running=record.since is not None)}"
    if isinstance(view.gate, ReadingGate):
        return f"AIR {_air(record)}"
    if isinstance(view.gate, PeopleGate):
        return f"{'HERE' if short else 'PEOPLE'} {record.people or '?'}"
    return view.gate.title


def _wait(view: GateView, running: bool) -> str:
    if view.stands:
        return "waited"
    return minutes_seconds(view.wait_left_s) if running and view.wait_left_s else "LIVE"


def _air(record: GateRecord) -> str:
    if record.alarm is not None:
        return "BAD"
    return "?" if record.reading is None else f"{record.reading.number:.0f}ppm"
