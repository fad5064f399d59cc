"""What may be written in the tally. A live module is not sold like a seat; money is in one currency; a thing is sold
once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from teardown.car import tally_entries as entries
from teardown.car.amounts import why_not_in
from teardown.car.fields import Fields, recorded
from teardown.car.money import sale_of
from teardown.car.ruling import Refusal, Ruling, known_part
from teardown.car.state import State
from teardown.car.steps import Standing
from teardown.car.tally_state import FOUND

# -- weighing

COARSEST_STEP_KG = 50.0
"""Weighbridges show steps of 10 to 50 kg (common practice)."""


def _positive(fields: entries.PartWeighed | entries.PartsWeighed | entries.PartFound | entries.PartFitted) -> Ruling:
    if fields.mass_kg > 0:
        return recorded(fields)
    less = f" less {fields.without}" if fields.without else ""
    return Refusal(f"{fields.reading}{less} is not a part's mass: the first reading is with the part")


def _part_weighed(standing: Standing, fields: entries.PartWeighed) -> Ruling:
    part = known_part(standing.state, fields.part)
    return part if isinstance(part, Refusal) else _positive(fields)


def _parts_weighed(standing: Standing, fields: entries.PartsWeighed) -> Ruling:
    names = entries.listed_parts(fields.parts)
    if len(names) < 2 or len(set(names)) < len(names):
        return Refusal("several parts on one reading: name two or more, each once, like parts=left-visor,right-visor")
    likely_kg = []
    for name in names:
        part = known_part(standing.state, name)
        if isinstance(part, Refusal):
            return part
        likely_kg.append(part.kg[1])
    ruling = _positive(fields)
    if isinstance(ruling, Refusal):
        return ruling
    return ruling | {"shares_kg": _shared_out(fields.mass_kg, likely_kg)}


def _shared_out(mass_kg: float, likely_kg: list[float]) -> list[float]:
    """By the packs' masses; evenly where the packs say nothing."""
    whole_kg = sum(likely_kg)
    if whole_kg <= 0:
        return [mass_kg / len(likely_kg)] * len(likely_kg)
    return [mass_kg * one_kg / whole_kg for one_kg in likely_kg]


def _placed(standing: Standing, fields: entries.PartFound | entries.PartFitted) -> Ruling:
    given = [key for key in ("x", "y", "z") if getattr(fields, key) is not None]
    if given and len(given) < 3:
        return Refusal(f"a place is x, y and z together; only {' and '.join(given)} was given")
    return _positive(fields)


def _car_weighed(standing: Standing, fields: entries.CarWeighed) -> Ruling:
    ways = (fields.total is not None, fields.corners is not None, any(fields.pads))
    if sum(ways) != 1:
        return Refusal("say what the scales showed: total=1350kg, or corners=334,331,266,262kg")
    if any(fields.pads) and not all(fields.pads):
        return Refusal("all four pads: front_left, front_right, rear_left and rear_right, in any order")
    if fields.step_kg is not None and fields.step_kg > COARSEST_STEP_KG:
        return Refusal(f"a step of {fields.step_kg:g} kg is no scale for a car (limit {COARSEST_STEP_KG:g} kg)")
    aboard_kg = (fields.aboard_kg or 0.0) + (fields.contents_kg or 0.0)
    if fields.total_kg <= aboard_kg:
        return Refusal(f"{fields.total_kg:.1f} kg on the scales, and {aboard_kg:.1f} kg of it is no car: check both")
    return recorded(fields) | {"fuel_kind": fields.fuel_kind or standing.state.facts.fuel or "petrol"}


# -- what becomes of parts


def _tallied(state: State, name: str) -> Refusal | None:
    """Whether a part of a pack, or one that was found, bears that name."""
    thing = state.thing(name)
    if thing is not None and name.startswith(FOUND):
        return None
    part = known_part(state, name)
    return part if isinstance(part, Refusal) else None


def _is_live(state: State, name: str) -> bool:
    part = state.route.parts.get(name)
    return part is not None and bool(part.part.modules)


def _name(state: State, name: str) -> str:
    part = state.route.parts.get(name)
    return part.part.name if part else name


def _part_fate(standing: Standing, fields: entries.PartFateSet) -> Ruling:
    if refused := _tallied(standing.state, fields.part):
        return refused
    if _is_live(standing.state, fields.part) and fields.fate == "sell" and fields.rule is None:
        return Refusal(
            f"{_name(standing.state, fields.part)} carries a live module: selling is banned in some places and most "
            "carriers refuse it. Enter the local rule that allows it: rule="
        )
    return recorded(fields)


def _may_be_sold(state: State, names: Iterable[str]) -> Refusal | None:
    for name in names:
        if refused := _tallied(state, name):
            return refused
        if _is_live(state, name) and state.fate_of(name) != "sell":
            return Refusal(
                f"{_name(state, name)} carries a live module: set its fate to sell first, with the rule that allows it"
            )
    return None


def _listed(standing: Standing, fields: entries.Listed) -> Ruling:
    state = standing.state
    return (
        _may_be_sold(state, (fields.part,))
        or _in_one_currency(state, fields.ask, fields.floor)
        or _unsold(state, (fields.part,))
        or recorded(fields)
    )


def _sold(standing: Standing, fields: entries.Sold) -> Ruling:
    state = standing.state
    if len(set(fields.parts)) < len(fields.parts):
        return Refusal("a part is named twice: part= is one, along= what went with it")
    return (
        _may_be_sold(state, fields.parts)
        or _in_one_currency(state, fields.amount, fields.fees, fields.packing, fields.carriage)
        or _unsold(state, fields.parts)
        or recorded(fields)
    )


def _unsold(state: State, names: Iterable[str]) -> Refusal | None:
    for name in names:
        if (sale := sale_of(state, name)) is not None:
            return Refusal(
                f"{_name(state, name)} is sold already (entry {sale[0]}): undo that, or enter refunded returned=yes"
            )
    return None


def _refunded(standing: Standing, fields: entries.Refunded) -> Ruling:
    state = standing.state
    if refused := _tallied(state, fields.part) or _in_one_currency(state, fields.amount):
        return refused
    if sale_of(state, fields.part) is None:
        return Refusal(f"{_name(state, fields.part)} is not sold: there is nothing to give back")
    return recorded(fields)


def _handed_over(standing: Standing, fields: entries.HandedOver) -> Ruling:
    part = known_part(standing.state, fields.part)
    if isinstance(part, Refusal):
        return part
    if not standing.state.is_out(part.id):
        return Refusal(f"{part.part.name} is not off yet: nobody can have taken it")
    if part.part.modules and standing.state.stored_at(part.id) is None:
        return Refusal(
            f"{part.part.name} carries a live module: say first where it was stored (part-stored), to count it"
        )
    return recorded(fields)


# -- money


def _in_one_currency(state: State, *amounts: str | None) -> Refusal | None:
    currency = state.facts.money.currency
    wrong = next((why for text in amounts if text and (why := why_not_in(text, currency))), None)
    return Refusal(wrong) if wrong else None


def _cost(standing: Standing, fields: entries.Cost) -> Ruling:
    return _in_one_currency(standing.state, fields.amount) or recorded(fields)


def _scrap_ticket(standing: Standing, fields: entries.ScrapTicket) -> Ruling:
    state = standing.state
    for name in entries.listed_parts(fields.parts):
        if refused := _tallied(state, name):
            return refused
    return _in_one_currency(state, fields.amount) or recorded(fields)


def _photo(standing: Standing, fields: entries.Photo) -> Ruling:
    state = standing.state
    if fields.part is not None and (refused := _tallied(state, fields.part)):
        return refused
    if fields.step is not None and fields.step not in state.route.by_ref:
        return Refusal(f"no step is called {fields.step}")
    return recorded(fields)


TALLY_RULES: dict[type[Fields], Callable[[Standing, Any], Ruling]] = {
    entries.PartWeighed: _part_weighed,
    entries.PartsWeighed: _parts_weighed,
    entries.PartFound: _placed,
    entries.PartFitted: _placed,
    entries.PartFateSet: _part_fate,
    entries.CarWeighed: _car_weighed,
    entries.Listed: _listed,
    entries.Sold: _sold,
    entries.Refunded: _refunded,
    entries.HandedOver: _handed_over,
    entries.Cost: _cost,
    entries.ScrapTicket: _scrap_ticket,
    entries.Photo: _photo,
}
