"""For buyers: one page a part or a lot. No name, no place, no identity number, and photos painted anew."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterator

from teardown.car.amounts import show_amount
from teardown.car.door import Car
from teardown.car.photos import NotAPhoto, for_a_buyer, photo_path
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, Line, all_lines, sales_by_part
from teardown.sheets.page import Block, Sheet, Table, kg

VEHICLE_NUMBER = re.compile(r"(?i)(?<![a-z0-9])(?=[a-z0-9]*[0-9])[a-hj-npr-z0-9]{17}(?![a-z0-9])")
"""Seventeen letters and digits without I, O and Q: ISO 3779:2009."""
ASKED = ("fits", "number", "colour", "grade", "faults", "tested", "included", "size")
WORDS = {"number": "part number on its label", "grade": "condition", "size": "packed size", "tested": "tested, how"}
GRADES = {"A": "A: unmarked", "B": "B: usable marks", "C": "C: for repair"}
MOST_PHOTOS = 12


def fill(car: Car) -> Sheet:
    state = car.now().state
    pages = list(_pages(car, state))
    head = ("name", "kg", "asked", "currency", *ASKED, "collection")
    rows = [_row(state, line) for line in _for_sale(state)]
    listing = Block("For sale", table=Table("sale", head, rows), lines=() if rows else ("Nothing is for sale.",))
    return Sheet("sale", "Parts for sale", [listing, *pages], for_strangers=True)


def _for_sale(state: State) -> list[Line]:
    sold = sales_by_part(state)
    return [
        line
        for line in all_lines(state)
        if line.id not in sold
        and (line.fate == "sell" or line.listed is not None)
        and (not line.live or _allowed(line))
    ]


def _allowed(line: Line) -> bool:
    """The fate of a live module is `sell` only where its rule was entered."""
    return line.fate == "sell"


def _row(state: State, line: Line) -> tuple[str, ...]:
    facts = line.listed.facts if line.listed else {}
    asked = f"{line.listed.ask:f}" if line.listed else ""
    told = (without_numbers(facts.get(key, "")) for key in ASKED)
    collection = "yes" if line.listed and line.listed.collection else ""
    return (without_numbers(line.name), kg(line.kg), asked, state.facts.money.currency, *told, collection)


def _pages(car: Car, state: State) -> Iterator[Block]:
    for line in _for_sale(state):
        facts = line.listed.facts if line.listed else {}
        asked = show_amount(line.listed.ask, state.facts.money.currency) if line.listed else "not priced yet"
        pairs = [("asked", asked), ("mass, kg", f"{kg(line.kg)}{' (estimate)' if line.how == 'estimate' else ''}")]
        pairs += [(WORDS.get(key, key), GRADES.get(facts[key], facts[key])) for key in ASKED if key in facts]
        if line.listed and line.listed.collection:
            pairs.append(("collection", "collection only"))
        photos, troubles = _photos(car, state, line)
        warn = (f"LIVE MODULE. {CONTROLLED_LAW}",) if line.live else ()
        yield Block(
            title=without_numbers(line.name),
            lines=(*warn, *troubles),
            pairs=[(label, without_numbers(value)) for label, value in pairs],
            photos=photos,
            to_write=_to_write(line, facts),
            loud=line.live,
            new_page=True,
        )


def _to_write(line: Line, facts: dict[str, str]) -> list[str]:
    """What buyers of this part ask, where its pack knows; otherwise what any buyer asks and nobody has told yet."""
    if line.buyers_ask:
        return re.split(r"[;,] ", line.buyers_ask)
    return [WORDS.get(key, key) for key in ASKED if key not in facts]


def _photos(car: Car, state: State, line: Line) -> tuple[list[str], list[str]]:
    """The pictures as they can be given away, and what went wrong with the others."""
    shown, troubles = [], []
    for picture in [one for one in state.photos if one.part == line.id][:MOST_PHOTOS]:
        path = photo_path(car.folder, picture.file)
        try:
            if path is None:
                raise NotAPhoto("a photo is not in the folder any more")
            shown.append(b64encode(for_a_buyer(path)).decode())
        except NotAPhoto as error:
            troubles.append(f"Photo left out: {error}.")
    return shown, troubles


def without_numbers(text: str) -> str:
    """`text` without what looks like a vehicle's identity number."""
    return VEHICLE_NUMBER.sub("(number removed)", text)
