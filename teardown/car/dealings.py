"""Every entry of money that stands, so that receipts prove the sums: what came into the hand, what went out of it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from teardown.car.ledger import sale_behind, standing_sales
from teardown.car.money import NOTHING, money_facts
from teardown.car.state import State
from teardown.car.tally import name_of


class Dealing(NamedTuple):
    """One entry of money. `amount` is what the paper says, `less` what selling took off it, `in_hand` what it does to
    the money in hand: below nothing for what was paid. `entry` is 0 for what stands in car.toml."""

    kind: str
    what: str
    amount: Decimal
    in_hand: Decimal
    less: Decimal = NOTHING
    paper: str = ""
    why: str = ""
    entry: int = 0
    utc: str = ""
    who: str = ""


def dealings(state: State) -> list[Dealing]:
    """In the order of the log. What is in hand adds up to the net cost, below nothing."""
    paid = money_facts(state).paid
    first = [] if paid is None else [Dealing("paid", "the car, as car.toml says", paid, -paid)]
    stands = {n for n, _ in standing_sales(state)}
    return first + [
        made._replace(entry=n, utc=signed.utc, who=signed.who)
        for n, signed in state.signed.items
        for made in _made_by(state, n, stands)
    ]


def _made_by(state: State, n: int, stands: set[int]) -> Iterator[Dealing]:
    if (cost := state.costs.of(n)) is not None:
        yield Dealing(f"cost: {cost.of}", cost.what, cost.amount, -cost.amount, paper=cost.receipt)
    elif n in stands and (sale := state.sales.of(n)) is not None:
        names = ", ".join(name_of(state, part) for part in sale.parts)
        why = f"to {sale.to}" if sale.to else ""
        yield Dealing("sold", names, sale.amount, sale.net, less=sale.amount - sale.net, why=why)
    elif (refund := state.refunds.of(n)) is not None and (sold := sale_behind(state, n, refund.part)) in stands:
        kind = f"refunded of entry {sold}{', it came back' if refund.returned else ''}"
        yield Dealing(kind, name_of(state, refund.part), refund.amount, -refund.amount, why=refund.why)
    elif (ticket := state.tickets.of(n)) is not None:
        names = ", ".join(name_of(state, part) for part in ticket.went) if ticket.named else ticket.material
        what = f"{names or 'all scrap'}, {ticket.typed}"
        yield Dealing("scrap ticket", what, ticket.amount, ticket.amount, paper=ticket.ticket)
