"""What is for sale: a part by itself, or a lot of several for one price."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from teardown import units
from teardown.car.amounts import show_amount
from teardown.car.state import State
from teardown.car.tally import Line, all_lines, line_ids, line_of, name_of, sales_by_part, scrapped_by_part
from teardown.car.tally_values import Listing


class Offer(NamedTuple):
    """What goes to one buyer. `listing` is None while nobody has asked a price. `left` names what the price was asked
    for and is not in it any more, because it was sold, listed otherwise or taken off the market since."""

    lines: tuple[Line, ...]
    listing: Listing | None
    left: tuple[str, ...]

    @property
    def name(self) -> str:
        first, *others = self.lines
        return f"{first.name} and {len(others)} more" if others else first.name

    @property
    def is_lot(self) -> bool:
        return self.listing is not None and len(self.listing.parts) > 1

    @property
    def kg(self) -> float:
        return sum(line.kg for line in self.lines)

    @property
    def ask(self) -> Decimal | None:
        """What is asked; not known of what is left of a lot, whose price was that of the whole."""
        return None if self.listing is None or self.left else self.listing.ask

    @property
    def floor(self) -> Decimal | None:
        """The least it may go for; not known of what is left of a lot."""
        return None if self.listing is None or self.left else self.listing.floor


def for_sale_words(state: State) -> list[str]:
    """What is for sale, a line a price; what nobody has priced is named together."""
    for_sale = offers(state)
    told = [_offer_words(state, offer, offer.listing) for offer in for_sale if offer.listing is not None]
    unpriced = [offer.name for offer in for_sale if offer.listing is None]
    return told + ([f"not priced yet, {len(unpriced)}: {'; '.join(unpriced)}"] if unpriced else [])


def _offer_words(state: State, offer: Offer, listing: Listing) -> str:
    currency = state.currency
    asked = f"asked {show_amount(listing.ask, currency)}"
    if offer.left:
        asked = f"NO PRICE: {show_amount(listing.ask, currency)} was asked for the whole lot"
    floor = "no floor" if offer.floor is None else f"floor {show_amount(offer.floor, currency)}"
    lot = f"lot of {len(offer.lines)}: " if offer.is_lot else ""
    left = f". NOT IN IT ANY MORE: {'; '.join(offer.left)}: list what is left anew" if offer.left else ""
    names = "; ".join(line.name for line in offer.lines)
    return f"{asked}, {floor}  {lot}{names}, {units.show_mass(offer.kg)}{left}"


def offers(state: State) -> list[Offer]:
    """All that a buyer may be shown, in working order; a lot stands where its first part would."""
    gone = _gone(state)
    together: dict[int | str, list[Line]] = defaultdict(list)
    for line in all_lines(state):
        if _is_for_sale(line, gone):
            together[line.listed.entry if line.listed else line.id].append(line)
    return [_offer(state, lines, gone) for lines in together.values()]


def offer_with(state: State, listing: Listing) -> Offer | None:
    """What a listing still offers, or None when nothing of it is left."""
    gone, known = _gone(state), set(line_ids(state))
    lines = [line_of(state, part) for part in listing.parts if part in known]
    lines = [line for line in lines if line.listed and line.listed.entry == listing.entry and _is_for_sale(line, gone)]
    return _offer(state, lines, gone) if lines else None


def _gone(state: State) -> dict[str, str]:
    """What no buyer can have any more, and how it went."""
    return dict.fromkeys(scrapped_by_part(state), " (scrapped)") | dict.fromkeys(sales_by_part(state), " (sold)")


def _is_for_sale(line: Line, gone: Mapping[str, str]) -> bool:
    """The fate of a live module is `sell` only where the rule that allows it was entered."""
    meant = line.listed is not None or line.fate == "sell"
    return meant and line.id not in gone and line.standing != "handed-over" and (not line.live or line.fate == "sell")


def _offer(state: State, lines: Sequence[Line], gone: Mapping[str, str]) -> Offer:
    """Lines of one listing, in the order it names them."""
    listing = lines[0].listed
    if listing is None:
        return Offer(tuple(lines), None, ())
    by_id = {line.id: line for line in lines}
    left = (part for part in listing.parts if part not in by_id)
    return Offer(
        lines=tuple(by_id[part] for part in listing.parts if part in by_id),
        listing=listing,
        left=tuple(f"{name_of(state, part)}{gone.get(part, '')}" for part in left),
    )
