"""What of the money stands: a refund stands on its sale, a second sale on the return before it, and each on the thing
it is of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from teardown.car.state import State
from teardown.car.tally import name_of
from teardown.car.tally_values import FOUND, Refund, Sale


def standing_sales(state: State) -> list[tuple[int, Sale]]:
    """The sales that count, with their entries. The door keeps a part from being sold twice; in a log that has it all
    the same, the newest sale counts."""
    dealt = [(n, part, True) for n, sale in state.sales.items for part in sale.parts]
    dealt += [(n, refund.part, False) for n, refund in state.refunds.items if refund.returned]
    sold_later: dict[str, bool] = {}
    stands: set[int] = set()
    for n, part, is_sale in sorted(dealt, reverse=True):
        if is_sale and not sold_later.get(part) and _is_there(state, part):
            stands.add(n)
        sold_later[part] = is_sale
    return [(n, sale) for n, sale in state.sales.items if n in stands]


def standing_refunds(state: State) -> list[tuple[int, Refund]]:
    """The refunds that count, with the entry of the sale that each is of."""
    stands = {n for n, _ in standing_sales(state)}
    of = ((sale_behind(state, n, refund.part), refund) for n, refund in state.refunds.items)
    return [(n, refund) for n, refund in of if n in stands]


def sale_behind(state: State, entry: int, part: str) -> int:
    """The sale that a refund of that entry gives back from: the newest before it, or 0."""
    return max((n for n, sale in state.sales.items if n < entry and part in sale.parts), default=0)


def why_it_carries(state: State, n: int) -> str | None:
    """Why money rests on entry `n`, so that it cannot be undone by itself; or None."""
    carried = next(_carried_by(state, n), None)
    if carried is None:
        return None
    entry, says = carried
    return f"entry {n} carries entry {entry}: {says}. Undo entry {entry} first"


def _carried_by(state: State, n: int) -> Iterator[tuple[int, str]]:
    """The entries that rest on it, and what they say."""
    if (sale := state.sales.of(n)) is not None:
        back = (m for m, one in state.refunds.items if one.part in sale.parts and sale_behind(state, m, one.part) == n)
        yield from ((m, "money was given back of it") for m in back)
    if (refund := state.refunds.of(n)) is not None and refund.returned:
        yield from _gone_since(state, refund.part, n, "again ")
    if (thing := state.found.of(n)) is not None:
        yield from _gone_since(state, thing.id, n)
    for name in filter(lambda name: state.out_since(name) == n, _may_be_off(state)):
        yield from _left_since(state, name, n)


def _may_be_off(state: State) -> Iterable[str]:
    return dict.fromkeys((*state.route.fitted_parts, *state.parts))


def _left_since(state: State, part: str, n: int) -> Iterator[tuple[int, str]]:
    """What can only have happened to a part that was off: a sale may come before."""
    scrapped = _later(n, ((m, ticket.went) for m, ticket in state.tickets.items), part)
    yield from ((m, f"{name_of(state, part)} on a scrap ticket") for m in scrapped)
    known = state.parts.get(part)
    if known is not None and known.handed.last_entry > n:
        yield known.handed.last_entry, f"{name_of(state, part)} handed over"


def _gone_since(state: State, part: str, n: int, again: str = "") -> Iterator[tuple[int, str]]:
    sold = _later(n, ((m, sale.parts) for m, sale in state.sales.items), part)
    yield from ((m, f"{name_of(state, part)} {again}sold") for m in sold)
    yield from _left_since(state, part, n)


def _later(n: int, named: Iterable[tuple[int, tuple[str, ...]]], part: str) -> Iterator[int]:
    return (m for m, parts in named if m > n and part in parts)


def _is_there(state: State, part: str) -> bool:
    """Whether a thing that was found has not been undone. What today's packs do not name any more was sold all the
    same."""
    return not part.startswith(f"{FOUND}-") or state.thing(part) is not None
