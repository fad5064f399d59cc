"""A reading far outside what the packs or the tally expect is asked about once, and never refused; and so is what went
back into the car past its gates."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean, median
from typing import Any

from teardown import units
from teardown.car.back_in import told_of_what_is_back
from teardown.car.fields import listed_parts
from teardown.car.live_things import is_live_thing
from teardown.car.log import Entry
from teardown.car.lots import lot_of
from teardown.car.mass import mass_over_entries
from teardown.car.state import State
from teardown.car.tally_entries import CarWeighed
from teardown.car.tickets import check_newest_ticket
from teardown.figures.balance import WHEELS
from teardown.packs.route import RoutePart

WIDE_MARGIN = 3.0
"""How many times over or under the packs' range is far; and one corner of the car over or under the others."""
READINGS_SHARE = 0.01
"""Readings of one car that lie further apart than this share of it are hardly of one car (common practice: good scales
repeat within 3 kg)."""
CAR_SHARE = 0.15
"""A car that weighs so much more or less than was reckoned is asked about (this project's policy)."""


def question_about(parts: Sequence[RoutePart], kg: float, unit: str = "kg") -> str:
    """What to ask about a mass of one part, or of several together; empty when it is an ordinary one."""
    low_kg, high_kg = sum(part.kg[0] for part in parts), sum(part.kg[2] for part in parts)
    if not parts or kg <= 0 or low_kg / WIDE_MARGIN <= kg <= high_kg * WIDE_MARGIN:
        return ""
    return _ten_times(kg, unit, too_much=kg > high_kg)


def question_about_car(state: State, weighed: CarWeighed, before: int | None = None) -> str:
    """What to ask about a weighing of the car; empty when it is an ordinary one. `before`: its entry, when it is
    written already."""
    unit = weighed.unit
    readings = weighed.totals_kg
    if (apart_kg := max(readings) - min(readings)) > READINGS_SHARE * fmean(readings):
        return f"the readings are {units.show(apart_kg, _shown_in(unit))} apart: is each of them right?"
    for corners in weighed.sets_kg:
        for n, kg in enumerate(corners):
            others_kg = median(corners[:n] + corners[n + 1 :])
            if not others_kg / WIDE_MARGIN <= kg <= others_kg * WIDE_MARGIN:
                return f"{WHEELS[n]} {_ten_times(kg, unit, too_much=kg > others_kg)}"
    return _unlike_the_tally(state, weighed, before)


def _unlike_the_tally(state: State, weighed: CarWeighed, before: int | None) -> str:
    """The car against what the tally reckoned until then: from the kerb mass or the last weighing."""
    known = [kg for n, kg in mass_over_entries(state) if before is None or n < before]
    car_kg = weighed.total_kg - (weighed.aboard_kg or 0.0) - (weighed.contents_kg or 0.0)
    if not known or abs(car_kg - known[-1]) <= CAR_SHARE * known[-1]:
        return ""
    unit = _shown_in(weighed.unit)
    return f"the car {units.show(car_kg, unit)}? The tally has {units.show(known[-1], unit)}."


def _shown_in(unit: str) -> str:
    """The unit typed, or kilograms where masses are not printed in it."""
    return unit if unit in units.PRINTED_UNITS else "kg"


def _ten_times(kg: float, unit: str, too_much: bool) -> str:
    """The number as it was typed, and the one that was perhaps meant."""
    shown = kg / units.size_si(unit, "mass")
    if kg <= 0:
        return "shows nothing?"
    return f"{shown:g} or {shown / 10 if too_much else shown * 10:g}?"


def question_about_entry(state: State, entry: Entry) -> str:
    """The same of an entry that is written already: what it says can still be undone."""
    question, typed = _question_about(state, entry)
    return f"{question} {typed} is written; if it is wrong: undo entry={entry.n}" if typed and question else question


def _question_about(state: State, entry: Entry) -> tuple[str, str]:
    """The question, and what was typed, when it is to be repeated."""
    fields = entry.fields
    if entry.kind == "scrap-ticket":
        return _question_about_ticket(state), ""
    if entry.kind == "part-back":
        return told_of_what_is_back(state, fields["part"]), ""
    if entry.kind in ("part-found", "part-fitted"):
        return told_of_what_is_live(state, f"{entry.kind.removeprefix('part-')}-{entry.n}"), ""
    if entry.kind == "car-weighed":
        weighed = CarWeighed.model_validate({key: fields[key] for key in CarWeighed.model_fields if key in fields})
        return question_about_car(state, weighed, entry.n), units.show_mass(weighed.total_kg, _shown_in(weighed.unit))
    if entry.kind in ("part-weighed", "parts-weighed") and "reading" in fields:  # else the pack's own estimate
        return _question_about_parts(state, fields), str(fields["reading"])
    return "", ""


def told_of_what_is_live(state: State, name: str) -> str:
    """What it means that a thing no pack foresaw is taken to be live; nothing where it is not."""
    thing = state.thing(name)
    if thing is None or not is_live_thing(state, thing):
        return ""
    stored = "stored (part-stored)" if state.is_out(name) else "off and stored (part-off, part-stored)"
    looked = f"not-there module={name}"
    return f"{thing.name} is taken to be live: no count agrees until it is {stored}, or somebody has looked ({looked})"


def _question_about_parts(state: State, fields: dict[str, Any]) -> str:
    names = listed_parts(fields.get("parts") or fields["part"])
    parts = [state.route.parts[name] for name in names if name in state.route.parts]
    question = question_about(parts, fields["mass_kg"], units.unit_typed(fields["reading"], "mass"))
    return question or lot_against(state, names[0])


def lot_against(state: State, part: str) -> str:
    """When a part of a lot weighs as much by itself as the whole lot, or more."""
    for other in state.parts:
        lot = lot_of(state, other)
        if lot is not None and lot.disagrees and part in lot.apart:
            return f"with the others it was {lot.reading} (entry {lot.entry}): they disagree. Weigh the rest again."
    return ""


def _question_about_ticket(state: State) -> str:
    check = check_newest_ticket(state)
    return "" if check is None or check.agrees else f"{check.lane}: tickets {check.masses}: {check.says}"
