"""A reading far outside what the packs or the tally expect is asked about once, and never refused."""

from __future__ import annotations

from collections.abc import Sequence

from teardown import units
from teardown.car.fields import listed_parts
from teardown.car.log import Entry
from teardown.car.state import State
from teardown.car.tickets import check_newest_ticket
from teardown.packs.route import RoutePart

WIDE_MARGIN = 3.0
"""How many times over or under the packs' range is far."""


def question_about(parts: Sequence[RoutePart], kg: float, unit: str = "kg") -> str:
    """What to ask about a mass of one part, or of several together; empty when it is an ordinary one."""
    low_kg, high_kg = sum(part.kg[0] for part in parts), sum(part.kg[2] for part in parts)
    if kg <= 0 or low_kg / WIDE_MARGIN <= kg <= high_kg * WIDE_MARGIN:
        return ""
    shown = kg / units.LB_KG if unit == "lb" else kg
    return f"{shown:g} or {shown / 10 if kg > high_kg else shown * 10:g}?"


def question_about_entry(state: State, entry: Entry) -> str:
    """The same of an entry that is written already: what it says can still be undone."""
    if entry.kind == "scrap-ticket":
        return _question_about_ticket(state)
    names = {"part-weighed": entry.fields.get("part"), "parts-weighed": entry.fields.get("parts")}.get(entry.kind)
    if names is None:
        return ""
    if "reading" not in entry.fields:  # the pack's own estimate
        return ""
    unit = "lb" if "lb" in entry.fields["reading"].casefold() else "kg"
    question = question_about([state.route.parts[name] for name in listed_parts(names)], entry.fields["mass_kg"], unit)
    return f"{question} {entry.fields['reading']} is written; if it is wrong: undo entry={entry.n}" if question else ""


def _question_about_ticket(state: State) -> str:
    check = check_newest_ticket(state)
    return "" if check is None or check.agrees else f"{check.lane}: tickets {check.masses}: {check.says}"
