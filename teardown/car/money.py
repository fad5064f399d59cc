"""What the car cost and what came back. Decimal all through: no cent appears or vanishes, and the order of the entries
does not matter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from teardown import units
from teardown.car.amounts import show_amount
from teardown.car.facts import Money
from teardown.car.ledger import sale_behind, standing_refunds, standing_sales
from teardown.car.offers import offers
from teardown.car.state import State
from teardown.car.tally import all_lines, name_of, sales_by_part
from teardown.car.tally_values import Sale

NOTHING = Decimal(0)
NOT_ENTERED = "not entered"


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
    """Where the money stands, in one currency. `recovered` is money in hand, never what is asked; `paid` is None while
    nobody has entered what the car cost. Hours are of one person."""

    currency: str
    paid: Decimal | None
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
    person_hours: float
    cap: Cap | None = None
    warnings: tuple[str, ...] = ()

    @property
    def spent(self) -> Decimal:
        """Money put in besides the car itself."""
        return sum(self.spent_by_kind.values(), NOTHING)

    @property
    def recovered(self) -> Decimal:
        return self.gross - self.fees - self.packing - self.carriage - self.refunds + self.scrap

    @property
    def put_in(self) -> Decimal:
        """All that is known to have been paid, for the car and besides."""
        return (self.paid or NOTHING) + self.spent

    @property
    def net_cost(self) -> Decimal | None:
        return None if self.paid is None else self.put_in - self.recovered

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
    def per_person_hour(self) -> Decimal | None:
        return self.from_stripping / Decimal(repr(self.person_hours)) if self.person_hours > 0 else None


def money_now(state: State) -> MoneyNow:
    """The money as the entries have it."""
    facts, sales = money_facts(state), [sale for _, sale in standing_sales(state)]
    spent: dict[str, Decimal] = defaultdict(lambda: NOTHING)
    for cost in state.costs:
        spent[cost.of] += cost.amount
    bought = [price for price in (facts.paid, spent.pop("purchase", None)) if price is not None]
    asked, doubtful, unpriced = _unsold(state)
    now = MoneyNow(
        currency=state.currency,
        paid=total(bought) if bought else None,
        spent_by_kind=dict(sorted(spent.items())),
        gross=total(sale.amount for sale in sales),
        fees=total(sale.fees for sale in sales),
        packing=total(sale.packing for sale in sales),
        carriage=total(sale.carriage for sale in sales),
        refunds=total(refund.amount for _, refund in standing_refunds(state)),
        scrap=total(ticket.amount for ticket in state.tickets),
        asked=asked,
        doubtful=doubtful,
        unpriced=unpriced,
        off_kg=sum(line.kg for line in all_lines(state) if line.saves),
        person_hours=_person_hours(state),
        warnings=tuple(_warnings(state, bought)),
    )
    return now._replace(cap=_cap(facts, now))


def _warnings(state: State, bought: Sequence[Decimal]) -> Iterator[str]:
    if other := other_currency(state):
        yield other
    if len(bought) > 1:
        paid, costs = (show_amount(price, state.currency) for price in bought)
        yield (
            f"paid in car.toml is {paid}, and costs of the kind purchase are {costs}: both count as the price of the "
            "car. If that is the same money, take one of them out"
        )


def other_currency(state: State) -> str:
    """What is wrong when car.toml names another currency than the log's money is in; else empty."""
    said = state.facts.money.currency
    if said == state.currency:
        return ""
    return (
        f"car.toml says {said}, and the money in this log is in {state.currency}: set currency back to "
        f"{state.currency}. No money is written, and none of car.toml is counted, until then"
    )


def money_facts(state: State) -> Money:
    """What car.toml says of money; in another currency than the log's its amounts are none."""
    said = state.facts.money
    if not other_currency(state):
        return said
    amounts = ("paid", "cap", "cap_sales_limit", "packing", "carriage_per_kg", "hour_floor")
    return said.model_copy(update=dict.fromkeys(amounts))


def refunded_of(state: State, n: int, sale: Sale) -> Decimal:
    """What was given back of the sale of entry `n`."""
    return total(
        refund.amount
        for m, refund in state.refunds.items
        if refund.part in sale.parts and sale_behind(state, m, refund.part) == n
    )


class Brought(NamedTuple):
    """What the sale that stands for a part brought, less what was given back of it. A lot is told once, with the first
    of its parts that is still sold; the others are told `beside` it, without money."""

    entry: int
    net: Decimal
    parts: int
    beside: str = ""

    def words(self, currency: str) -> str:
        if self.beside:
            return f"sold: went with {self.beside} (entry {self.entry})"
        lot = f" for a lot of {self.parts}" if self.parts > 1 else ""
        return f"sold: net {show_amount(self.net, currency)}{lot}"


def brought(state: State, sales: Mapping[str, tuple[int, Sale]], part: str) -> Brought | None:
    """What one part brought, of `sales` by part; None while it is unsold."""
    if part not in sales:
        return None
    n, sale = sales[part]
    first = next(other for other in sale.parts if other in sales and sales[other][0] == n)
    beside = "" if first == part else name_of(state, first)
    return Brought(n, sale.net - refunded_of(state, n, sale), len(sale.parts), beside)


def sale_of(state: State, part: str) -> tuple[int, Sale] | None:
    """The sale that stands for a part, and its entry."""
    return sales_by_part(state).get(part)


def total(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, NOTHING)


def _unsold(state: State) -> tuple[Decimal, Decimal, int]:
    """What is asked for what is unsold; what it counts for at its floor, which is doubtful; how many have no floor."""
    for_sale = offers(state)
    return (
        total(offer.ask for offer in for_sale if offer.ask is not None),
        total(offer.floor for offer in for_sale if offer.floor is not None),
        sum(offer.floor is None for offer in for_sale),
    )


def _person_hours(state: State) -> float:
    """By the packs' likely minutes of the steps done, for each of the people they take: nobody clocks in."""
    done = (laid.step for laid in state.route.steps if state.is_done(laid.ref))
    minutes = (step.minutes[1] * step.people for step in done)
    return sum(minutes) / 60


def _cap(facts: Money, now: MoneyNow) -> Cap | None:
    if facts.cap is None:
        return None
    rule = facts.cap_rule or "rule number not entered"
    if facts.cap_counts is None or facts.cap_sales is None:
        return Cap(facts.cap, rule, None, "enter the rule's own arithmetic in car.toml: cap_counts and cap_sales")
    if now.paid is None and "purchase" in facts.cap_counts:
        return Cap(
            facts.cap, rule, None, f"the price of the car is {NOT_ENTERED}: paid in car.toml, or cost of=purchase"
        )
    kinds = now.spent_by_kind | {"purchase": now.paid or NOTHING}
    counted = total(kinds.get(kind, NOTHING) for kind in facts.cap_counts)
    back = {"not": NOTHING, "gross": now.gross - now.refunds + now.scrap, "net": now.recovered}[facts.cap_sales]
    credit = max(NOTHING, back if facts.cap_sales_limit is None else min(back, facts.cap_sales_limit))
    costs = f"{' + '.join(facts.cap_counts)} = {show_amount(counted, now.currency)}"
    return Cap(facts.cap, rule, counted - credit, f"{costs}, {_sales_credit(facts, credit, now.currency)}")


def _sales_credit(facts: Money, credit: Decimal, currency: str) -> str:
    if facts.cap_sales == "not":
        return "sales do not count back"
    limit = "" if facts.cap_sales_limit is None else f", at most {show_amount(facts.cap_sales_limit, currency)}"
    return f"less sales ({facts.cap_sales}{limit}) {show_amount(credit, currency)}"


class Sum(NamedTuple):
    """One line of the sums. No value: what it rests on was never entered."""

    label: str
    value: Decimal | None
    beside: str = ""

    def amount(self, currency: str) -> str:
        return NOT_ENTERED if self.value is None else show_amount(self.value, currency)


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
        Sum("asked, unsold", now.asked, "not counted"),
        Sum("unsold, at its floor", now.doubtful, f"DOUBTFUL, not counted; {now.unpriced} without a floor"),
    ]
    if now.per_kg is not None:
        beside = f"{units.show_mass(now.off_kg)} off, after removing and waste"
        told.append(Sum("per kilo off", now.per_kg, beside))
    if now.per_person_hour is not None:
        beside = f"{now.person_hours:.1f} hours of one person, by the packs' likely times and crews, not clocked"
        told.append(Sum("per person-hour", now.per_person_hour, beside))
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
