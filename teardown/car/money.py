"""What the car cost, what came back, and whether a part is worth selling. Decimal all through: no cent appears or
vanishes, and the order of the entries does not matter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from teardown import units
from teardown.car.amounts import show_amount
from teardown.car.condition import NOT_CAR
from teardown.car.facts import Money
from teardown.car.offers import Offer, offer_with, offers
from teardown.car.scrap import GROUPS, MIXED, NO_SCRAP, Group, group_of
from teardown.car.state import REMOVED, State
from teardown.car.tally import Line, all_lines, line_ids, line_of, name_of, sales_by_part, scrapped_by_part
from teardown.car.tally_state import Listing, Sale, Ticket
from teardown.figures.carriage import carriage
from teardown.figures.errors import FigureError

NOTHING = Decimal(0)
SELLING_MIN, COLLECTED_MIN = 40.0, 10.0
"""Cleaning, photographs, listing, answers, packing and posting; and when the buyer collects (common practice)."""
TICKET_SHARE = 0.05
"""A weigh ticket and the tally may differ by this (common practice)."""


class Cap(NamedTuple):
    """The series' cap by its own arithmetic; `declared` is None while that has not been entered."""

    limit: Decimal
    rule: str
    declared: Decimal | None
    working: str

    @property
    def headroom(self) -> Decimal | None:
        return None if self.declared is None else self.limit - self.declared


class MoneyNow(NamedTuple):
    """Where the money stands, in one currency. `recovered` is money in hand, never what is asked."""

    currency: str
    paid: Decimal
    spent_by_kind: dict[str, Decimal]
    gross: Decimal
    fees: Decimal
    packing: Decimal
    carriage: Decimal
    refunds: Decimal
    scrap: Decimal
    asked: Decimal
    doubtful: Decimal
    unpriced: int
    off_kg: float
    hours: float
    cap: Cap | None
    warning: str = ""

    @property
    def spent(self) -> Decimal:
        """Money put in besides the car itself."""
        return sum(self.spent_by_kind.values(), NOTHING)

    @property
    def recovered(self) -> Decimal:
        return self.gross - self.fees - self.packing - self.carriage - self.refunds + self.scrap

    @property
    def net_cost(self) -> Decimal:
        return self.paid + self.spent - self.recovered

    @property
    def share_percent(self) -> float | None:
        """Recovered, of what the car cost."""
        return float(100 * self.recovered / self.paid) if self.paid else None

    @property
    def from_stripping(self) -> Decimal:
        """What the strip itself brought: recovered, less what removing and waste cost."""
        return self.recovered - self.spent_by_kind.get("removing", NOTHING) - self.spent_by_kind.get("waste", NOTHING)

    @property
    def per_kg(self) -> Decimal | None:
        return self.from_stripping / Decimal(repr(self.off_kg)) if self.off_kg > 0 else None

    @property
    def per_hour(self) -> Decimal | None:
        return self.from_stripping / Decimal(repr(self.hours)) if self.hours > 0 else None


def money_now(state: State) -> MoneyNow:
    """The money as the entries have it."""
    facts, sales = _money_facts(state), list(state.sales)
    spent: dict[str, Decimal] = defaultdict(lambda: NOTHING)
    for cost in state.costs:
        spent[cost.of] += cost.amount
    paid = (facts.paid or NOTHING) + spent.pop("purchase", NOTHING)
    asked, doubtful, unpriced = _unsold(state)
    now = MoneyNow(
        currency=state.currency,
        paid=paid,
        spent_by_kind=dict(sorted(spent.items())),
        gross=_total(sale.amount for sale in sales),
        fees=_total(sale.fees for sale in sales),
        packing=_total(sale.packing for sale in sales),
        carriage=_total(sale.carriage for sale in sales),
        refunds=_total(refund.amount for refund in state.refunds),
        scrap=_total(ticket.amount for ticket in state.tickets),
        asked=asked,
        doubtful=doubtful,
        unpriced=unpriced,
        off_kg=sum(line.kg for line in all_lines(state) if line.saves),
        hours=_hours(state),
        cap=None,
        warning=other_currency(state),
    )
    return now._replace(cap=_cap(facts, now))


def other_currency(state: State) -> str:
    """What is wrong when car.toml names another currency than the log's money is in; else empty."""
    said = state.facts.money.currency
    if said == state.currency:
        return ""
    return (
        f"car.toml says {said}, and the money in this log is in {state.currency}: set currency back to "
        f"{state.currency}. No money is written, and none of car.toml is counted, until then"
    )


def _money_facts(state: State) -> Money:
    """What car.toml says of money; in another currency than the log's its amounts are none."""
    said = state.facts.money
    if not other_currency(state):
        return said
    amounts = ("paid", "cap", "cap_sales_limit", "packing", "carriage_per_kg", "hour_floor")
    return said.model_copy(update=dict.fromkeys(amounts))


def refunded_of(state: State, n: int, sale: Sale) -> Decimal:
    """What was given back of the sale of entry `n`."""
    later = {part: [m for m, other in state.sales.items if part in other.parts and m > n] for part in sale.parts}
    return _total(
        refund.amount
        for m, refund in state.refunds.items
        if m > n and refund.part in sale.parts and not any(after < m for after in later[refund.part])
    )


def sale_of(state: State, part: str) -> tuple[int, Sale] | None:
    """The sale that stands for a part, and its entry."""
    return sales_by_part(state).get(part)


def _total(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, NOTHING)


def _unsold(state: State) -> tuple[Decimal, Decimal, int]:
    """What is asked for what is unsold; what it counts for at its floor, which is doubtful; how many have no floor."""
    asked = [(offer.listing.ask, offer.floor) for offer in offers(state) if offer.listing is not None]
    return (
        _total(ask for ask, _ in asked),
        _total(floor for _, floor in asked if floor is not None),
        sum(floor is None for _, floor in asked),
    )


def _hours(state: State) -> float:
    """By the packs' likely minutes of the steps done: nobody clocks in."""
    minutes = (laid.step.minutes[1] for laid in state.route.steps if state.is_done(laid.ref))
    return sum(minutes) / 60


def _cap(facts: Money, now: MoneyNow) -> Cap | None:
    if facts.cap is None:
        return None
    rule = facts.cap_rule or "rule number not entered"
    if facts.cap_counts is None or facts.cap_sales is None:
        return Cap(facts.cap, rule, None, "enter the rule's own arithmetic in car.toml: cap_counts and cap_sales")
    kinds = now.spent_by_kind | {"purchase": now.paid}
    counted = _total(kinds.get(kind, NOTHING) for kind in facts.cap_counts)
    back = {"not": NOTHING, "gross": now.gross - now.refunds + now.scrap, "net": now.recovered}[facts.cap_sales]
    credit = max(NOTHING, back if facts.cap_sales_limit is None else min(back, facts.cap_sales_limit))
    limit = "" if facts.cap_sales_limit is None else f", at most {show_amount(facts.cap_sales_limit, now.currency)}"
    working = (
        f"{' + '.join(facts.cap_counts)} = {show_amount(counted, now.currency)}, "
        f"less sales ({facts.cap_sales}{limit}) {show_amount(credit, now.currency)}"
    )
    return Cap(facts.cap, rule, counted - credit, working)


class Sum(NamedTuple):
    """One line of the sums."""

    label: str
    value: Decimal
    beside: str = ""


def sums(now: MoneyNow) -> list[Sum]:
    """All that is told of the money, in the order it is told."""
    share = "" if now.share_percent is None else f"{now.share_percent:.1f} % of the price"
    told = [
        Sum("paid for the car", now.paid),
        *(Sum(f"spent: {kind}", value) for kind, value in now.spent_by_kind.items()),
        Sum("sold", now.gross),
        Sum("less fees", now.fees),
        Sum("less packing", now.packing),
        Sum("less carriage", now.carriage),
        Sum("less refunds", now.refunds),
        Sum("scrap", now.scrap),
        Sum("recovered", now.recovered, share),
        Sum("the car has cost, net", now.net_cost),
        Sum("asked, unsold", now.asked),
        Sum("unsold, at its floor", now.doubtful, f"DOUBTFUL, not counted; {now.unpriced} without a floor"),
    ]
    if now.per_kg is not None:
        beside = f"{units.show_mass(now.off_kg)} off, after removing and waste"
        told.append(Sum("per kilo off", now.per_kg, beside))
    if now.per_hour is not None:
        beside = f"{now.hours:.1f} h by the packs' likely times, not clocked"
        told.append(Sum("per hour", now.per_hour, beside))
    return told


def cap_line(now: MoneyNow) -> str:
    """The declared cost against the cap, with its working; empty without a cap."""
    cap = now.cap
    if cap is None:
        return ""
    limit = f"cap {show_amount(cap.limit, now.currency)} ({cap.rule})"
    if cap.declared is None:
        return f"{limit}: {cap.working}"
    over = cap.limit < cap.declared
    verdict = f"{'OVER by' if over else 'room'} {show_amount(abs(cap.limit - cap.declared), now.currency)}"
    return f"{limit}: declared {show_amount(cap.declared, now.currency)}, {verdict}. {cap.working}"


# -- scrap


class TicketCheck(NamedTuple):
    """Weigh tickets of one lane against the tally."""

    lane: str
    tickets_kg: float
    tally_kg: float

    @property
    def agrees(self) -> bool:
        return abs(self.tickets_kg - self.tally_kg) <= TICKET_SHARE * self.tickets_kg

    @property
    def masses(self) -> str:
        return f"{units.show_mass(self.tickets_kg)}, tally {units.show_mass(self.tally_kg)}"

    @property
    def says(self) -> str:
        if self.agrees:
            return "agrees within 5 %"
        return "DIFFERS by more than 5 %: look for lines never weighed or mixed in"


def scrap_by_group(state: State) -> dict[Group, list[Line]]:
    """What is off the car to be scrapped, by what the yard pays for apart."""
    groups: dict[Group, list[Line]] = defaultdict(list)
    for line in all_lines(state):
        if line.out and line.fate == "scrap":
            groups[_group(line)].append(line)
    return {group: groups[group] for group in (*GROUPS, NO_SCRAP) if group in groups}


def without_ticket(state: State) -> dict[Group, list[Line]]:
    """The same without what went on a ticket, or to somebody who paid for it."""
    gone = {*scrapped_by_part(state), *sales_by_part(state)}
    left = {group: [line for line in some if line.id not in gone] for group, some in scrap_by_group(state).items()}
    return {group: lines for group, lines in left.items() if lines}


def waits_for_the_yard(state: State, material: str | None = None) -> list[Line]:
    """What a ticket of that material is for when it names no parts; of no material, all that a yard takes."""
    wanted = _lane_of(material)
    groups = without_ticket(state)
    return [line for group in groups if group != NO_SCRAP and wanted in (group, None) for line in groups[group]]


def _lane_of(material: str | None) -> Group | None:
    return (group_of(material) or MIXED) if material else None


def _group(line: Line) -> Group:
    """What is of no known material goes as mixed; what is live goes to no yard, whatever it is made of."""
    return NO_SCRAP if line.live else group_of(line.material) or MIXED


def unsorted(lines: Iterable[Line]) -> tuple[str, ...]:
    """The names of those that are mixed only because their material is in no group."""
    return tuple(line.name for line in lines if not line.live and group_of(line.material) is None)


def check_tickets(state: State) -> list[TicketCheck]:
    """Each lane of scrap: what the yard weighed, and what the tally has for it."""
    lanes: dict[str, list[Ticket]] = defaultdict(list)
    for ticket in state.tickets:
        lanes[_lane(state, ticket)].append(ticket)
    return [_check(state, lane, tickets) for lane, tickets in lanes.items()]


def check_newest_ticket(state: State) -> TicketCheck | None:
    """The lane of the ticket that was written last."""
    if (newest := state.tickets.last) is None:
        return None
    lane = _lane(state, newest)
    return _check(state, lane, [ticket for ticket in state.tickets if _lane(state, ticket) == lane])


def _check(state: State, lane: str, tickets: list[Ticket]) -> TicketCheck:
    went = {part for ticket in tickets for part in ticket.went}
    tally_kg = sum(line_of(state, part).kg for part in line_ids(state) if part in went)
    return TicketCheck(lane, sum(ticket.kg for ticket in tickets), tally_kg)


def _lane(state: State, ticket: Ticket) -> str:
    """Tickets of one material are held against the tally together: a load may go in several trips."""
    if ticket.named:
        return ", ".join(name_of(state, part) for part in ticket.went)
    return _lane_of(ticket.material) or "all scrap"


# -- is it worth it?


class WorthIt(NamedTuple):
    """Whether to sell a part or the lot it is in, and why. Money is None while nobody has priced it; `before` names
    what the net is without, because nobody knows it."""

    says: str
    why: str
    net: Decimal | None = None
    hours: float | None = None
    before: str = ""

    @property
    def per_hour(self) -> Decimal | None:
        return self.net / Decimal(repr(self.hours)) if self.net is not None and self.hours else None


def worth_it(state: State, line: Line, sale: tuple[int, Sale] | None = None) -> WorthIt:
    """Net of fees, packing, carriage and returns, for the hours it takes; or what the sale that stands brought."""
    if sale is not None:
        ahead = ", still on the car" if line.on_the_car else ""
        return WorthIt("sold", f"entry {sale[0]}{ahead}", sale[1].net)
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
    if line.counts == "added":
        return WorthIt("keep", "it goes on this car")
    if line.fate in ("keep", "refit", "scrap"):
        return WorthIt(line.fate, "its fate is set")
    if line.counts == "temporary" and line.fate not in REMOVED:
        return WorthIt("refit", "out only for now: it goes back, until its fate says otherwise")
    return _unpriced(line)


def _unpriced(line: Line) -> WorthIt:
    if line.worth == "none":
        return WorthIt("scrap", "nobody buys it: scrap or waste")
    if line.worth == "low":
        return WorthIt("bundle", "worth less than its packing alone: list it along= with others like it")
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
    money = _money_facts(state)
    share = 1 - (money.fees_percent + money.returns_percent) / 100
    price = listing.ask if offer.floor is None else offer.floor
    costs = {} if listing.collection else _sending(money, listing, offer.kg)
    sending = _total(cost for cost in costs.values() if cost is not None)
    before = " and ".join(what for what, cost in costs.items() if cost is None)
    net = price * share - sending
    minutes = COLLECTED_MIN if listing.collection else SELLING_MIN
    hours = (sum(_removing_min(state, line) for line in offer.lines) + minutes) / 60
    worth = WorthIt("sell", _working(state, offer, price, sending, before), net, hours, before)
    if net <= 0:
        hardly_sells = all(line.worth in ("none", "low") for line in offer.lines)
        return worth._replace(says="scrap" if hardly_sells else "bundle")
    if money.hour_floor is not None and (worth.per_hour or NOTHING) < money.hour_floor:
        return worth._replace(says="bundle")
    return worth


def _removing_min(state: State, line: Line) -> float:
    """The step's likely minutes, shared by what it takes off."""
    laid = state.route.by_ref.get(line.step)
    return laid.step.minutes[1] / max(1, len(laid.step.parts)) if laid else 0.0


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
    money, currency = _money_facts(state), state.currency
    lot = f"lot of {len(offer.lines)}: " if offer.is_lot else ""
    basis = "asked" if offer.floor is None else "floor"
    less = f"fees {money.fees_percent:f} %, returns {money.returns_percent:f} %"
    unknown = f"; {before} not known: the net is before {'them' if ' and ' in before else 'it'}" if before else ""
    return f"{lot}{basis} {show_amount(price, currency)} less {less}, sending {show_amount(sending, currency)}{unknown}"
