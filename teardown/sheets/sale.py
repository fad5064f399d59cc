"""For buyers: one page a part or a lot. What no stranger may read is blacked out of it as it is written."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterator
from itertools import zip_longest

from teardown.car.amounts import show_amount
from teardown.car.door import Car
from teardown.car.offers import Offer, offers
from teardown.car.photos import NotAPhoto, for_a_buyer, photo_path, pictures_of
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, Line
from teardown.car.tally_state import Picture
from teardown.sheets.page import Block, Photo, Row, Sheet, Table, kg

ASKED = ("fits", "number", "colour", "grade", "faults", "tested", "included", "size")
LISTED = ("name", "kg", "asked", "currency", "collection")
HEAD = (*LISTED, "in the lot", *ASKED)
WORDS = {"number": "part number on its label", "grade": "condition", "size": "packed size", "tested": "tested, how"}
GRADES = {"A": "A: unmarked", "B": "B: usable marks", "C": "C: for repair"}
MOST_PHOTOS = 12
"""On one page: beyond these buyers stop looking (common practice: 6 to 12)."""


def fill(car: Car) -> Sheet:
    state = car.now().state
    for_sale = offers(state)
    table = Table("sale", HEAD, [_row(state, offer) for offer in for_sale], shown=len(LISTED))
    pages = [_page(car, state, offer) for offer in for_sale]
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


def _row(state: State, offer: Offer) -> Row:
    facts = offer.listing.facts if offer.listing else {}
    asked = f"{offer.listing.ask:f}" if offer.listing else ""
    names = "; ".join(line.name for line in offer.lines) if offer.is_lot else ""
    told = (facts.get(key, "") for key in ASKED)
    collection = "yes" if offer.listing and offer.listing.collection else ""
    currency = state.currency if asked else ""
    return (offer.name, kg(offer.kg), asked, currency, collection, names, *told)


def _page(car: Car, state: State, offer: Offer) -> Block:
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
    )


def _warnings(offer: Offer) -> Iterator[str]:
    live = [line.name for line in offer.lines if line.live]
    if live:
        yield f"LIVE MODULE: {'; '.join(live)}. {CONTROLLED_LAW}"
    if offer.left:
        yield f"Not in this lot any more: {'; '.join(offer.left)}. The price was asked for the whole lot."


def _pairs(state: State, offer: Offer, facts: dict[str, str]) -> Iterator[tuple[str, str]]:
    yield "asked", show_amount(offer.listing.ask, state.currency) if offer.listing else "not priced yet"
    if offer.is_lot:
        yield from (("in the lot", f"{line.name}, {_mass([line])}") for line in offer.lines)
    yield "mass" if not offer.is_lot else "mass, all of it", _mass(offer.lines)
    yield from ((WORDS.get(key, key), GRADES.get(facts[key], facts[key])) for key in ASKED if key in facts)
    if offer.listing and offer.listing.collection:
        yield "collection", "collection only"


def _to_write(offer: Offer, facts: dict[str, str]) -> list[str]:
    """What buyers of these parts ask, where the packs know; otherwise what any buyer asks and nobody has told yet."""
    asked = [line.buyers_ask for line in offer.lines if line.buyers_ask]
    if asked:
        return list(dict.fromkeys(one for ask in asked for one in re.split(r"[;,] ", ask)))
    return [WORDS.get(key, key) for key in ASKED if key not in facts]


def _mass(lines: list[Line] | tuple[Line, ...]) -> str:
    guessed = sum(line.how == "estimate" for line in lines)
    how = "" if not guessed else " (estimate)" if guessed == len(lines) else " (partly an estimate)"
    return f"{kg(sum(line.kg for line in lines))} kg{how}"


def _photos(car: Car, state: State, offer: Offer) -> tuple[list[Photo], list[str]]:
    """The pictures as they can be given away, and what went wrong with the others."""
    shown, troubles = [], []
    for line, picture in _pictures(state, offer)[:MOST_PHOTOS]:
        path = photo_path(car.folder, picture.file)
        try:
            if path is None:
                raise NotAPhoto("a photo is not in the folder any more")
            shown.append(Photo(line.name if offer.is_lot else "", b64encode(for_a_buyer(path)).decode()))
        except NotAPhoto as error:
            troubles.append(f"Photo left out: {error}.")
    return shown, troubles


def _pictures(state: State, offer: Offer) -> list[tuple[Line, Picture]]:
    """One of each part of a lot, then a second of each, and so on: a page with room for few shows every part."""
    of_each = [[(line, one) for one in pictures_of(state, line.id)] for line in offer.lines]
    return [picture for turn in zip_longest(*of_each) for picture in turn if picture is not None]
