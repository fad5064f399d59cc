"""`teardown figure closing`: do the parts explain the scales?"""

from __future__ import annotations

import argparse
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

from teardown import units
from teardown.car.closing_words import FORGOTTEN, VERDICT_WORDS
from teardown.cells import gap_line
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.closing_file import Facts, read
from teardown.commands.figure.flags import WrongUse
from teardown.figures import closing
from teardown.text import counted, one_line

if TYPE_CHECKING:  # a closing of a file does without the car
    from teardown.car.closing import Closing

_MOST_CANDIDATES = 8
_MOST_ADJUSTED = 12
_GAP_CELLS = 49


def add_flags(parser: argparse.ArgumentParser) -> None:
    """A car folder, or a file of weighings and items."""
    parser.add_argument("folder", nargs="?", type=Path, help="a car folder")
    parser.add_argument("--file", type=Path, help="or a TOML file: [opening], [closing], and an [[item]] for each part")


def answer(given: argparse.Namespace) -> Answer:
    """The verdict, the gap, and who could explain it."""
    if (given.folder is None) == (given.file is None):
        raise WrongUse("Give a car folder, or --file with weighings and items, and not both.")
    return answer_of(read(given.file) if given.file is not None else facts_from_folder(given.folder))


def answer_of(facts: Facts, forgotten: bool = True) -> Answer:
    """The same from facts at hand; without what is often forgotten where that is told at length beside it."""
    found = closing.closing_from_items(facts.opening, facts.closing, facts.items, shared_u_kg=facts.shared_u_kg)
    return Answer(
        facts=found._asdict(),
        headline=VERDICT_WORDS[found.verdict],
        rows=_rows(found, facts),
        picture=[*_gap_picture(found), "", *_candidates(found), "", *_adjusted(found)],
        assumes=[*_assumes(found), *([f"Most often forgotten: {'; '.join(FORGOTTEN)}."] if forgotten else [])],
        source="Narasimhan & Jordache, Data Reconciliation and Gross Error Detection, 2000 (secondary copy); JCGM"
        " 100:2008; petrol, EN 228:2012 (secondary copy).",
    )


def facts_from_folder(folder: Path) -> Facts:
    """The first and the last weighing of a car's folder, and all that moved between them."""
    from teardown.car.closing import closing_of
    from teardown.commands.opening import car_at

    with car_at(str(folder), write=False) as car:
        closing = closing_of(car.now().state)
    if isinstance(closing, str):
        raise WrongUse(f"{folder}: {closing}.")
    return closing_facts(closing)


def closing_facts(closing: Closing) -> Facts:
    """What the closing of a car rests on."""
    return Facts(closing.lines.opening, closing.lines.closing, closing.lines.items)


def _rows(found: closing.ClosingResult, facts: Facts) -> list[Row]:
    off_kg = sum(item.mass_kg for item in facts.items if not item.fitted)
    fitted_kg = sum(item.mass_kg for item in facts.items if item.fitted)
    estimated = sum(item.estimated for item in facts.items)
    return [
        Row("opening", _kg(facts.opening.mass_kg), f"uncertainty {_kg(facts.opening.u_kg)}"),
        Row("off", _kg(off_kg), f"{counted(len(facts.items), 'item')}, {estimated} of them estimated"),
        Row("fitted", _kg(fitted_kg)),
        Row("closing", _kg(facts.closing.mass_kg), f"uncertainty {_kg(facts.closing.u_kg)}"),
        Row("gap", f"{found.gap_kg + 0.0:+.1f} kg", f"shows from {_kg(found.smallest_gap_shown_kg)} either way"),
        Row("its uncertainty", _kg(found.gap_u_kg)),
        Row("global test", f"{found.global_test:.2f}", f"limit {found.limit:.2f}"),
    ]


def _kg(mass_kg: float) -> str:
    return units.show_mass(mass_kg)


def _gap_picture(found: closing.ClosingResult) -> list[str]:
    line = gap_line(found.gap_kg, found.smallest_gap_shown_kg, _GAP_CELLS)
    return [f"  lighter {line} heavier than listed", "  X the gap; between [ and ] it shows nothing"]


def _candidates(found: closing.ClosingResult) -> list[str]:
    lines = ["  One gap cannot say which entry is wrong. Alone, each would have to move:"]
    for one in found.candidates[:_MOST_CANDIDATES]:
        size = f"{one.move_in_u:.1f} of its uncertainty" if isfinite(one.move_in_u) else "and it has no uncertainty"
        lines.append(f"    {one_line(one.name)[:30]:<30} {one.move_kg + 0.0:+8.1f} kg  {size}")
    more = len(found.candidates) - _MOST_CANDIDATES
    return [*lines, f"    and {more} more"] if more > 0 else lines


def _adjusted(found: closing.ClosingResult) -> list[str]:
    estimated = [one for one in found.adjusted if one.estimated]
    if not estimated:
        return []
    if found.verdict != "closes":
        return ["  Estimates are not adjusted while the balance does not close: that would hide the gap."]
    lines = ["  What the balance says of the estimates:"]
    for one in estimated[:_MOST_ADJUSTED]:
        lines.append(
            f"    {one_line(one.name)[:30]:<30} {one.mass_kg:7.1f} kg -> {one.adjusted_kg + 0.0:.1f} kg,"
            f" uncertainty {one.adjusted_u_kg:.1f} kg"
        )
    more = len(estimated) - _MOST_ADJUSTED
    return [*lines, f"    and {more} more"] if more > 0 else lines


def _assumes(found: closing.ClosingResult) -> list[str]:
    fuel = (
        "Fuel counts by level and density, and an error of the density is common to both."
        if found.fuel_counted
        else "Fuel was not noted, and is assumed the same both times: 20 L is 15 kg."
    )
    return [
        "Assumes independent errors, save that what both weighings share cancels. An estimate's low and high are taken"
        " as its 1-in-10 and 9-in-10 cases.",
        fuel,
    ]
