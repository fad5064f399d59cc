"""Whether a part is worth selling: what is left of its price, and for which hours."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from teardown import units
from teardown.car.amounts import minor_digits, show_amount
from teardown.car.condition import NOT_CAR
from teardown.car.facts import Money
from teardown.car.money import NOTHING, Brought, money_facts, total
from teardown.car.offers import Offer, offer_with
from teardown.car.state import REMOVED, State
from teardown.car.tally import Line, scrapped_by_part
from teardown.car.tally_values import Listing
from teardown.figures.carriage import carriage
from teardown.figures.errors import FigureError

SELLING_MIN, COLLECTED_MIN = 40.0, 10.0
"""Cleaning, photographs, listing, answers, packing and posting; and when the buyer collects (common practice)."""


class WorthIt(NamedTuple):
    """Whether to sell a part or the lot it is in, and why. Money is None while nobody has priced it; `before` names
    what the net is without, because nobody knows it. Hours are of one person."""

    says: str
    why: str
    net: Decimal | None = None
    hours: float | None = None
    before: str = ""

    @property
    def per_hour(self) -> Decimal | None:
        return self.net / Decimal(repr(self.hours)) if self.net is not None and self.hours else None

    def short(self, currency: str) -> str:
        """The verdict, what is left, what an hour of one person brings."""
        return f"{self.says}:{money}" if (money := self.money(currency)) else self.says

    def money(self, currency: str) -> str:
        """What is left, and what an hour of one person brings; empty while nobody has priced it."""
        if self.net is None:
            return ""
        before = f" before {self.before}" if self.before else ""
        hourly = "" if self.per_hour is None else f", {_in_coins(self.per_hour, currency)} an hour, {self.hours:.1f} h"
        return f" net {show_amount(self.net, currency)}{before}{hourly}"


def _in_coins(value: Decimal, currency: str) -> str:
    return f"{value:.{minor_digits(currency)}f}"


def worth_it(state: State, line: Line, sold: Brought | None = None) -> WorthIt:
    """Net of fees, packing, carriage and returns, for the hours it takes; or what the sale that stands brought."""
    if sold is not None:
        return _sold(line, sold)
    if (ticket := scrapped_by_part(state).get(line.id)) is not None:
        return WorthIt("gone", f"on a scrap ticket (entry {ticket})")
    if line.live and line.fate != "sell":
        return WorthIt("controlled", "a live module: the law first, then the price")
    if line.counts in NOT_CAR:
        return WorthIt("waste", "no part of the car: back in, or to a waste site")
    if line.standing == "handed-over":
        return WorthIt("gone", "it was handed over")
    if line.listed is not None:
        return _listed(state, line, line.listed)
    if line.counts == "added" and not line.out:
        return WorthIt("keep", "it goes on this car")
    if line.fate in ("keep", "refit", "scrap"):
        return WorthIt(line.fate, "its fate is set")
    if line.counts == "temporary" and line.fate not in REMOVED:
        return WorthIt("refit", "out only for now: it goes back, until its fate says otherwise")
    return _unpriced(line)


def _sold(line: Line, sold: Brought) -> WorthIt:
    ahead = ", still on the car" if line.on_the_car else ""
    if sold.beside:
        return WorthIt("sold", f"went with {sold.beside} (entry {sold.entry}){ahead}")
    lot = f"lot of {sold.parts}, " if sold.parts > 1 else ""
    return WorthIt("sold", f"{lot}entry {sold.entry}{ahead}", sold.net)


def _unpriced(line: Line) -> WorthIt:
    if line.worth == "none":
        return WorthIt("scrap", "nobody buys it: scrap or waste")
    if line.worth == "low":
        return WorthIt("bundle", "worth less than its packing alone: sell it along with others like it")
    return WorthIt("price it", f"worth {line.worth}: enter what you ask and the floor")


def _listed(state: State, line: Line, listing: Listing) -> WorthIt:
    """A lot is reckoned once, with its first part."""
    offer = offer_with(state, listing)
    if offer is None:
        return _unpriced(line)
    if offer.lines[0].id != line.id:
        return WorthIt("lot", f"goes with {offer.lines[0].name}, for one price")
    if offer.left:
        return WorthIt("price it", f"the price was asked with {'; '.join(offer.left)}: list what is left anew")
    return _priced(state, offer, listing)


def _priced(state: State, offer: Offer, listing: Listing) -> WorthIt:
    money = money_facts(state)
    share = 1 - (money.fees_percent + money.returns_percent) / 100
    price = listing.ask if offer.floor is None else offer.floor
    costs = {} if listing.collection else _sending(money, listing, offer.kg)
    sending = total(cost for cost in costs.values() if cost is not None)
    before = " and ".join(what for what, cost in costs.items() if cost is None)
    net = price * share - sending
    minutes = COLLECTED_MIN if listing.collection else SELLING_MIN
    hours = (sum(_removing_min(state, line) for line in offer.lines) + minutes) / 60
    worth = WorthIt("sell", _working(state, offer, price, sending, before), net, hours, before)
    if net <= 0:
        hardly_sells = all(line.worth in ("none", "low") for line in offer.lines)
        return worth._replace(says="scrap" if hardly_sells else "bundle")
    hourly = worth.per_hour or NOTHING
    if money.hour_floor is not None and hourly < money.hour_floor:
        floor = show_amount(money.hour_floor, state.currency)
        brings = f"an hour brings {_in_coins(hourly, state.currency)}, your floor is {floor}"
        return worth._replace(says="bundle", why=f"{brings}; {worth.why}")
    return worth


def _removing_min(state: State, line: Line) -> float:
    """The step's likely minutes, for each of the people it takes, shared by what it takes off."""
    laid = state.route.by_ref.get(line.step)
    return laid.step.minutes[1] * laid.step.people / max(1, len(laid.step.parts)) if laid else 0.0


def _sending(money: Money, listing: Listing, kg: float) -> dict[str, Decimal | None]:
    """What it costs to send; None for what is not known."""
    return {"packing": money.packing, "carriage": _carriage(money, listing, kg)}


def _carriage(money: Money, listing: Listing, kg: float) -> Decimal | None:
    """What the carrier bills by the larger of mass and size; None while the rate or the size is not known."""
    size = listing.facts.get("size")
    if size is None or money.carriage_per_kg is None:
        return None
    try:
        billed_kg = carriage(*units.size_m(size), mass_kg=kg).billed_kg
    except FigureError:
        return None
    return Decimal(repr(billed_kg)) * money.carriage_per_kg


def _working(state: State, offer: Offer, price: Decimal, sending: Decimal, before: str) -> str:
    money, currency = money_facts(state), state.currency
    lot = f"lot of {len(offer.lines)}: " if offer.is_lot else ""
    basis = "asked" if offer.floor is None else "floor"
    less = f"fees {money.fees_percent:f} %, returns {money.returns_percent:f} %"
    unknown = f"; {before} not known: the net is before {'them' if ' and ' in before else 'it'}" if before else ""
    return f"{lot}{basis} {show_amount(price, currency)} less {less}, sending {show_amount(sending, currency)}{unknown}"
