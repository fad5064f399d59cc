"""For buyers: one page a part or a lot. What no stranger may read is blacked out of it as it is written."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import zip_longest

from teardown.car.amounts import minor_digits, show_amount
from teardown.car.door import Car
from teardown.car.offers import Offer, offers
from teardown.car.photos import NotAPhoto, pictures_of
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, Line
from teardown.car.tally_values import Picture
from teardown.sheets.page import Block, Photo, Row, Sheet, Table, kg
from teardown.sheets.pictures import captioned, painted

ASKED = ("fits", "number", "colour", "grade", "faults", "tested", "included", "size")
LISTED = ("lot", "name", "kg", "asked", "currency", "collection", "noted")
HEAD = (*LISTED, "in the lot", *ASKED)
WORDS = {"number": "part number on its label", "grade": "condition", "size": "packed size", "tested": "tested, how"}
QUESTIONS = {
    "fits": "Does it fit: which body, years, hand of drive, equipment?",
    "number": "Which part number stands on its label?",
    "colour": "Which colour or trim code?",
    "grade": "In which condition: A unmarked, B usable marks, C for repair?",
    "faults": "Which faults?",
    "tested": "Does it work, and how was it tested?",
    "included": "Are fasteners, brackets, keys or codes with it?",
    "size": "Packed size?",
}
ALWAYS_ASKED = (
    "Which side: left or right as one sits, front or rear?",
    "Are connectors uncut, and how long are the leads?",
    "Collection or post, and what does it cost?",
    "Payment: how?",
    "Return: on which terms?",
)
"""No entry tells these (what buyers ask, and what a listing must say: common practice)."""
GRADES = {"A": "A: unmarked", "B": "B: usable marks", "C": "C: for repair"}
MOST_PHOTOS = 12
"""On one page: beyond these buyers stop looking (common practice: 6 to 12)."""


def fill(car: Car) -> Sheet:
    state = car.now().state
    for_sale = offers(state)
    rows = [_row(state, n, offer) for n, offer in enumerate(for_sale, start=1)]
    table = Table("sale", HEAD, rows, shown=len(LISTED))
    pages = [_page(car, state, offer, f"lot {n} of {len(for_sale)}") for n, offer in enumerate(for_sale, start=1)]
    first = Block("For sale", table=table, lines=() if for_sale else ("Nothing is for sale.",))
    notes = tuple(_notes(state, for_sale, pages))
    return Sheet("sale", "Parts for sale", [first, *pages], for_strangers=True, notes=notes)


def _notes(state: State, for_sale: list[Offer], pages: list[Block]) -> Iterator[str]:
    shown = sum(len(page.photos) for page in pages)
    if shown:
        yield f"look at every photo ({shown}): number plates, keys, faces, house numbers in them are NOT blacked out"
    for offer in for_sale:
        if (more := len(_pictures(state, offer)) - MOST_PHOTOS) > 0:
            yield f"{offer.name}: at most {MOST_PHOTOS} photos stand on a page, {more} were left out"
        if offer.left:
            yield f"{offer.name}: {'; '.join(offer.left)} left the lot: list what is left of it anew"


def _row(state: State, n: int, offer: Offer) -> Row:
    facts = offer.listing.facts if offer.listing else {}
    asked = "" if offer.ask is None else f"{offer.ask:.{minor_digits(state.currency)}f}"
    names = "; ".join(line.name for line in offer.lines) if offer.is_lot else ""
    told = (facts.get(key, "") for key in ASKED)
    collection = "yes" if offer.listing and offer.listing.collection else ""
    noted = PRICE_ON_ASKING if offer.left else "" if asked else "not priced yet"
    return (
        str(n),
        offer.name,
        kg(offer.kg),
        asked,
        state.currency if asked else "",
        collection,
        noted,
        names,
        *told,
    )


PRICE_ON_ASKING = "what is left of a lot: price on asking"


def _page(car: Car, state: State, offer: Offer, stamp: str) -> Block:
    facts = offer.listing.facts if offer.listing else {}
    photos, troubles = _photos(car, state, offer)
    return Block(
        title=offer.name,
        lines=(*_warnings(offer), *troubles),
        pairs=list(_pairs(state, offer, facts)),
        photos=photos,
        to_write=_to_write(offer, facts),
        loud=any(line.live for line in offer.lines),
        new_page=True,
        stamp=stamp,
    )


def _warnings(offer: Offer) -> Iterator[str]:
    live = [line.name for line in offer.lines if line.live]
    if live:
        yield f"LIVE MODULE: {'; '.join(live)}. {CONTROLLED_LAW}"
    if offer.left:
        yield f"Not in this lot any more: {'; '.join(offer.left)}. What was asked was for the whole lot."


def _pairs(state: State, offer: Offer, facts: dict[str, str]) -> Iterator[tuple[str, str]]:
    unpriced = PRICE_ON_ASKING if offer.left else "not priced yet"
    yield "asked", unpriced if offer.ask is None else show_amount(offer.ask, state.currency)
    if offer.is_lot:
        yield from (("in the lot", f"{line.name}, {_mass([line])}") for line in offer.lines)
    yield "mass" if not offer.is_lot else "mass, all of it", _mass(offer.lines)
    yield from ((WORDS.get(key, key), GRADES.get(facts[key], facts[key])) for key in ASKED if key in facts)
    if offer.listing and offer.listing.collection:
        yield "collection", "collection only"


def _to_write(offer: Offer, facts: dict[str, str]) -> list[str]:
    """What any buyer asks and nobody has told yet, then what buyers of just these parts ask."""
    general = [question for key, question in QUESTIONS.items() if key not in facts]
    own = (piece for line in offer.lines for piece in re.findall(r"[^?]+\??", line.buyers_ask))
    return [*general, *ALWAYS_ASKED, *dict.fromkeys(piece.strip() for piece in own)]


def _mass(lines: list[Line] | tuple[Line, ...]) -> str:
    guessed = sum(line.how == "estimate" for line in lines)
    how = "" if not guessed else " (estimate)" if guessed == len(lines) else " (partly an estimate)"
    return f"{kg(sum(line.kg for line in lines))} kg{how}"


def _photos(car: Car, state: State, offer: Offer) -> tuple[list[Photo], list[str]]:
    """The pictures as they can be given away, and what went wrong with the others."""
    shown, troubles = [], []
    for line, picture in _pictures(state, offer)[:MOST_PHOTOS]:
        try:
            shown.append(painted(car, picture, captioned(line.name if offer.is_lot else "", picture.says)))
        except NotAPhoto as error:
            troubles.append(f"Photo left out: {error}.")
    return shown, troubles


def _pictures(state: State, offer: Offer) -> list[tuple[Line, Picture]]:
    """One of each part of a lot, then a second of each, and so on: a page with room for few shows every part."""
    of_each = [[(line, one) for one in pictures_of(state, line.id)] for line in offer.lines]
    return [picture for turn in zip_longest(*of_each) for picture in turn if picture is not None]
