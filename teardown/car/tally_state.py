"""What each kind of the tally's entries does to the state: one change for each kind."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING, Any, get_args

from pydantic import ValidationError

from teardown.car.amounts import amount, known_currency
from teardown.car.clock import Instant
from teardown.car.fields import Fields, listed_parts
from teardown.car.series import Series
from teardown.car.strangers import number
from teardown.car.tally_values import (
    FITTED,
    FOUND,
    CarWeight,
    Cost,
    Fuel,
    Handed,
    How,
    Listing,
    Picture,
    Refund,
    Runs,
    Sale,
    Signed,
    Thing,
    Ticket,
    Weight,
)

if TYPE_CHECKING:
    from teardown.car.state import State

Change = Callable[["State", int, Instant, dict[str, Any]], None]
"""What one kind of entry does to the state: (state, number, instant, fields)."""


def _part_weighed(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    how = fields["how"]
    if how not in get_args(How):
        raise ValueError("a way of weighing that is none")
    state.set(state.parts[fields["part"]].weight, n, _weight(fields, how))


def _weight(fields: dict[str, Any], how: How) -> Weight:
    typed, without = str(fields.get("reading", "")), str(fields.get("without", ""))
    return Weight(number(fields["mass_kg"]), how, typed, without, _noted(fields))


def _noted(fields: dict[str, Any]) -> str:
    return ", ".join([word for word in ("wet", "complete") if fields.get(word) is True])


def _parts_weighed(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    parts = listed_parts(fields["parts"])
    typed, without, noted = str(fields["reading"]), str(fields.get("without", "")), _noted(fields)
    lot_kg = number(fields["mass_kg"])
    shares = zip(parts, fields["shares_kg"], strict=True)
    weights = (
        (state.parts[part].weight, Weight(number(kg), "shared", typed, without, noted, parts, lot_kg))
        for part, kg in shares
    )
    state.set_all(n, weights)


def _thing(prefix: str, n: int, fields: dict[str, Any], counts: str) -> Thing:
    known = all(key in fields for key in ("x", "y", "z"))
    return Thing(
        id=f"{prefix}-{n}",
        entry=n,
        name=str(fields["name"]),
        counts=counts,
        weight=_weight(fields, "difference" if fields.get("without") else "direct"),
        pieces=int(fields.get("count", 1)),
        fate=fields.get("fate"),
        place=(number(fields["x"]), str(fields["y"]), number(fields["z"])) if known else None,
    )


def _part_found(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.set(state.found, n, _thing(FOUND, n, fields, str(fields.get("counts", "saving"))))


def _part_fitted(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.set(state.fitted, n, _thing(FITTED, n, fields, "added"))


def _part_fate(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.set(state.parts[fields["part"]].fate, n, str(fields["fate"]))


def _car_weighed(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    fuel_m3 = fields.get("fuel_m3")
    fuel = Fuel(_at_least_0(fuel_m3), number(fields["fuel_u_m3"]), fields["fuel_kind"]) if fuel_m3 is not None else None
    state.set(
        state.weighings,
        n,
        CarWeight(
            total_kg=_at_least_0(fields["total_kg"]),
            corners_kg=_corners_kg(fields.get("corners_kg")),
            conditions=fields.get("conditions") or "",
            fuel=fuel,
            aboard_kg=_number(fields, "aboard_kg"),
            contents_kg=_number(fields, "contents_kg"),
            tyres=fields.get("tyres") or "",
            way=fields.get("way", "pads"),
            step_kg=_number(fields, "step_kg"),
            readings=int(fields.get("readings", 1)),
            spread_kg=_number(fields, "spread_kg"),
            repeat_kg=_number(fields, "repeat_kg"),
            utc=at.utc,
        ),
    )


def _corners_kg(corners: Any) -> tuple[float, ...] | None:
    if not corners:
        return None
    corners_kg = tuple([_at_least_0(kg) for kg in corners])
    if len(corners_kg) != 4:
        raise ValueError("a car on other than four pads")
    return corners_kg


def _at_least_0(value: Any) -> float:
    if number(value) < 0:
        raise ValueError("a number below nothing")
    return float(value)


def _number(fields: dict[str, Any], key: str) -> float | None:
    return _at_least_0(fields[key]) if key in fields else None


def _set_money(state: State, n: int, at: Instant, fields: dict[str, Any], *values: tuple[Series[Any], Any]) -> None:
    """Values of one entry, who wrote it, and the currency they are in. An older entry names none: it is in that of the
    others."""
    values = (*values, (state.signed, Signed(at.utc, state.writer)))
    if (currency := fields.get("currency")) is not None:
        if known_currency(currency) != (state.currencies.last or currency):
            raise ValueError(f"it is in {currency}, and the money before it is in {state.currencies.last}")
        values = (*values, (state.currencies, currency))
    state.set_all(n, values)


def _cost(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    cost = Cost(
        str(fields["what"]),
        amount(fields["amount"]),
        str(fields.get("of", "other")),
        str(fields.get("receipt", "")),
    )
    _set_money(state, n, at, fields, (state.costs, cost))


_TOLD_TO_BUYERS = ("grade", "fits", "number", "colour", "faults", "tested", "included", "size", "where")


def _lot(fields: dict[str, Any]) -> tuple[str, ...]:
    return (str(fields["part"]), *listed_parts(fields.get("along")))


def _listed(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    listing = Listing(
        entry=n,
        parts=_lot(fields),
        ask=amount(fields["ask"]),
        floor=amount(fields["floor"]) if "floor" in fields else None,
        facts={key: str(fields[key]) for key in _TOLD_TO_BUYERS if key in fields},
        collection=fields.get("collection") is True,
    )
    _set_money(state, n, at, fields, *((state.parts[part].listed, listing) for part in listing.parts))


def _sold(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    sale = Sale(
        parts=_lot(fields),
        amount=amount(fields["amount"]),
        fees=amount(fields.get("fees", "0")),
        packing=amount(fields.get("packing", "0")),
        carriage=amount(fields.get("carriage", "0")),
        to=str(fields.get("to", "")),
    )
    _set_money(state, n, at, fields, (state.sales, sale))


def _refunded(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    refund = Refund(str(fields["part"]), amount(fields["amount"]), str(fields["why"]), fields.get("returned") is True)
    _set_money(state, n, at, fields, (state.refunds, refund))


def _scrap_ticket(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    ticket = Ticket(
        number(fields["mass_kg"]),
        amount(fields["amount"]),
        str(fields.get("material", "")),
        "parts" in fields,
        tuple(map(str, fields.get("went", ()))),
        str(fields.get("ticket", "")),
        str(fields["reading"]),
    )
    _set_money(state, n, at, fields, (state.tickets, ticket))


def _handed_over(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    handed = Handed(str(fields["to"]), str(fields.get("paper", "")), at.utc)
    state.set(state.parts[fields["part"]].handed, n, handed)


def _run_timed(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    times_s = tuple(number(time_s) for time_s in fields["times_s"])
    state.set(state.runs, n, Runs(str(fields["what"]), times_s, str(fields.get("conditions", "")), at.utc))


def _photo(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    about = (str(fields.get(key, "")) for key in ("part", "step", "says"))
    state.set(state.photos, n, Picture(str(fields["file"]), *about))


_TAKEN_AS_IT_IS = frozenset({"part-weighed", "part-fate", "photo"})
"""Kinds whose fields the fold itself makes words and numbers of; the first two are the many of a long log."""


def _as_entered(kind: str, change: Change) -> Change:
    """A log may come from a stranger: what is folded must be what could have been entered."""

    def checked(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
        model, words = _entered_as(kind)
        _could_be_entered(model, {name: value for name, value in fields.items() if name in words})
        change(state, n, at, fields)

    return change if kind in _TAKEN_AS_IT_IS else checked


@cache
def _entered_as(kind: str) -> tuple[type[Fields], frozenset[str]]:
    """The model of a kind, and the words it is entered with that are read again."""
    from teardown.car.tally_entries import TALLY_KINDS  # built for a log that has such entries: a new car has none

    model = TALLY_KINDS[kind]
    return model, frozenset(model.model_fields) - model.only_in_si


def _could_be_entered(model: type[Fields], typed: dict[str, Any]) -> None:
    try:
        model.model_validate(typed)
    except ValidationError as error:
        wrong = ", ".join(sorted({str(problem["loc"][0]) for problem in error.errors() if problem["loc"]}))
        raise ValueError(f"nobody could have entered its {wrong}") from None


_CHANGES: dict[str, Change] = {
    "part-weighed": _part_weighed,
    "parts-weighed": _parts_weighed,
    "part-found": _part_found,
    "part-fate": _part_fate,
    "part-fitted": _part_fitted,
    "car-weighed": _car_weighed,
    "cost": _cost,
    "listed": _listed,
    "sold": _sold,
    "refunded": _refunded,
    "scrap-ticket": _scrap_ticket,
    "handed-over": _handed_over,
    "run-timed": _run_timed,
    "photo": _photo,
}

TALLY_CHANGES: dict[str, Change] = {kind: _as_entered(kind, change) for kind, change in _CHANGES.items()}
