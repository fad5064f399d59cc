"""`teardown figure lift`: the revised lifting equation."""

from __future__ import annotations

import argparse
from math import isfinite
from typing import NamedTuple

from teardown import units
from teardown.cells import bar
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.flags import quantity, typed
from teardown.figures import lift

_CELLS = 20
_CURES = {
    "reach": "bring it closer before you take its weight: slide it to you, turn its narrow side in",
    "height": "start and end between knee and chest: lift from a trestle, set down on one",
    "travel": "set it down half way and take a fresh hold",
    "twist": "turn your feet, not your back",
    "frequency": "lift less often, or share the lifts",
    "grip": "give it handles: a strap, a sling, gloves that hold",
}


class _Reach(NamedTuple):
    m: float
    typed_in_inches: bool


def _reach(text: str) -> _Reach:
    return _Reach(units.length_m(text), units.unit_typed(text, "length") in ("in", "ft"))


def add_flags(parser: argparse.ArgumentParser) -> None:
    """The load, where it is taken up and set down, how often, and how it is held."""
    parser.add_argument("--mass", type=typed(units.mass_kg), required=True, help="the load, such as 29kg")
    parser.add_argument("--reach", type=typed(_reach), required=True, help="hands ahead of the ankles, such as 40cm")
    parser.add_argument("--height", type=typed(units.length_m), required=True, help="hands above the floor")
    parser.add_argument("--reach-end", type=typed(_reach), help="where it is set down")
    parser.add_argument("--height-end", type=typed(units.length_m), help="where it is set down")
    parser.add_argument("--twist", type=quantity("angle", "deg"), default=0.0, help="to the side, degrees (0)")
    parser.add_argument("--twist-end", type=quantity("angle", "deg"), help="where it is set down")
    parser.add_argument("--per-minute", type=quantity("number"), default=lift.LEAST_PER_MINUTE, help="lifts (0.2)")
    parser.add_argument("--hours", type=quantity("duration", "h"), default=60.0, help="how long it goes on (1)")
    parser.add_argument("--grip", choices=("good", "fair", "poor"), default="fair", help="(fair)")


def answer(given: argparse.Namespace) -> Answer:
    """The worse end first."""
    inch_form = given.reach.typed_in_inches
    found = lift.lift(
        given.mass,
        given.reach.m,
        given.height,
        twist_deg=given.twist,
        per_minute=given.per_minute,
        hours=given.hours / 60,
        grip=given.grip,
        reach_end_m=given.reach_end.m if given.reach_end else None,
        height_end_m=given.height_end,
        twist_end_deg=given.twist_end,
        inch_form=inch_form,
    )
    return Answer(
        facts={
            "limit_start_kg": found.limit_start_kg,
            "limit_end_kg": found.limit_end_kg,
            "index_start": found.index_start,
            "index_end": found.index_end,
            "multipliers_start": found.multipliers_start._asdict(),
            "multipliers_end": found.multipliers_end._asdict(),
            "largest_penalty": found.largest_penalty,
        },
        headline=_headline(found),
        rows=_rows(found, "lb" if inch_form else "kg", given.mass),
        picture=_picture(found),
        assumes=[
            "Cramped, one-handed, kneeling and seated lifts are outside the equation, and most lifts out of a cabin are"
            " one of them: take this as a hint. Over 20 kg, or awkward and over 10 kg, two people (common practice).",
            f"Most is lost to {found.largest_penalty}: {_CURES[found.largest_penalty]}.",
        ],
        source="NIOSH 94-110, rev. 9/2021, tables 1 to 7"
        + (" (inch and pound form)." if inch_form else " (metric form).")
        + " Excluded lifts: p. 6.",
    )


def _headline(found: lift.LiftResult) -> str:
    worst = max(found.index_start, found.index_end)
    if not isfinite(worst):
        return "NOT THIS WAY: a reach, height, twist or rate is beyond the equation's limits, so it allows no load."
    if worst > 1:
        return f"TOO MUCH for one person: {worst:.1f} times the limit. Two people, or change the lift."
    return f"Within the equation's limit for one person: index {worst:.2f} of 1."


def _rows(found: lift.LiftResult, unit: str, mass_kg: float) -> list[Row]:
    mass = units.show_mass(mass_kg, unit)
    return [
        Row("limit where it starts", units.show_mass(found.limit_start_kg, unit), f"load {mass}"),
        Row("limit where it ends", units.show_mass(found.limit_end_kg, unit), f"load {mass}"),
        Row("index where it starts", _index(found.index_start), "limit 1"),
        Row("index where it ends", _index(found.index_end), "limit 1"),
    ]


def _index(index: float) -> str:
    return f"{index:.2f}" if isfinite(index) else "no limit"


def _picture(found: lift.LiftResult) -> list[str]:
    pairs = zip(found.multipliers_start._asdict().items(), found.multipliers_end, strict=True)
    lines = [f"  {name:<10} {_filled(start)}   {_filled(end)}" for (name, start), end in pairs]
    return [f"  {'':<10} {'start':<{_CELLS + 5}}   end", *lines]


def _filled(share: float) -> str:
    """A share of 1, on a row of dots."""
    return f"{share:.2f} {bar(share, 1.0, _CELLS):.<{_CELLS}}"
