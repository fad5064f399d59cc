"""Do the parts explain the scales? The first weighing, the last, and everything that came off or went on between."""

from __future__ import annotations

import re
from math import hypot
from typing import NamedTuple

from teardown.car.state import State
from teardown.car.tally_state import CarWeight, Fuel, Thing, Weight
from teardown.car.weighing import compare, density, is_fuel, weighing_u_kg
from teardown.figures.closing import ClosingResult, Item, Weighing, closing_from_items
from teardown.figures.errors import FigureError
from teardown.figures.uncertainty import estimate_u_kg, reading_u_kg
from teardown.packs.route import RoutePart

MOST_ITEMS = 300
"""Beyond these the least uncertain lines are summed into one: the balance is a matrix."""


class Lines(NamedTuple):
    """What a closing rests on."""

    opening: Weighing
    closing: Weighing
    items: tuple[Item, ...]
    corrected: tuple[str, ...]
    doubts: tuple[str, ...]


class Closing(NamedTuple):
    lines: Lines
    result: ClosingResult


def closing_of(state: State) -> Closing | str:
    """The closing of this car, or why there is none yet."""
    try:
        lines = closing_lines(state)
        if isinstance(lines, str):
            return lines
        result = closing_from_items(lines.opening, lines.closing, lines.items)
    except FigureError as error:
        return str(error)
    return Closing(lines, result)


def closing_lines(state: State) -> Lines | str:
    """The weighings and the items between them, or why there are none."""
    if len(state.weighings) < 2:
        return (
            f"the car was weighed {len(state.weighings)} of 2 times: enter car-weighed as it came, and again as it is"
        )
    (first_n, first), (last_n, last) = state.weighings.items[0], state.weighings.items[-1]
    compared = compare(state.facts, first, last)
    fuel_noted = first.fuel is not None and last.fuel is not None
    return Lines(
        opening=_weighing(state, first, first.fuel if fuel_noted else None),
        closing=_weighing(state, last, last.fuel if fuel_noted else None),
        items=_at_most(MOST_ITEMS, _items(state, first_n, last_n)),
        corrected=compared.corrected,
        doubts=compared.doubts,
    )


def _weighing(state: State, weight: CarWeight, fuel: Fuel | None) -> Weighing:
    u_kg = weighing_u_kg(state.facts, weight)
    return Weighing(weight.car_kg, u_kg, fuel.m3, fuel.u_m3, *density(fuel)) if fuel else Weighing(weight.car_kg, u_kg)


def _items(state: State, first_n: int, last_n: int) -> list[Item]:
    """Fluids and contents count here: they are no saving, but the scales felt them go."""
    items: list[Item] = []
    by_level = state.weighings.items[0][1].fuel is not None and state.weighings.items[-1][1].fuel is not None
    shared: dict[tuple[str, ...], list[RoutePart]] = {}
    for part in state.route.parts.values():
        moved = _moved(state, part, first_n, last_n)
        weight = state.weight_of(part.id)
        if moved is None or (by_level and is_fuel(part)):
            continue
        if weight is not None and weight.shared and not moved:
            shared.setdefault(weight.shared, []).append(part)
        else:
            items.append(_item(state, part, weight, fitted=moved))
    for parts in shared.values():
        items.append(_shared_item(state, parts))
    items += [_thing_item(state, thing, False) for n, thing in state.found.items if first_n < n <= last_n]
    items += [_thing_item(state, thing, True) for n, thing in state.fitted.items if first_n < n <= last_n]
    return items


def _moved(state: State, part: RoutePart, first_n: int, last_n: int) -> bool | None:
    """False when it came off between the weighings, True when it went on, None when neither."""
    before, after = state.out_since(part.id, first_n) > 0, state.out_since(part.id, last_n) > 0
    if before == after:
        return None
    on_the_car_when_out = part.part.counts == "added"
    return before != on_the_car_when_out


def _item(state: State, part: RoutePart, weight: Weight | None, fitted: bool) -> Item:
    low_kg, likely_kg, high_kg = part.kg
    if weight is None or weight.how == "estimate":
        kg = likely_kg if weight is None else weight.kg
        return Item(part.part.name, kg, estimate_u_kg(low_kg, high_kg), fitted, estimated=True)
    return Item(part.part.name, weight.kg, _reading_u_kg(state, weight.typed, weight.without), fitted)


def _shared_item(state: State, parts: list[RoutePart]) -> Item:
    """Parts of one reading share its error, so they are one line."""
    weights = [weight for part in parts if (weight := state.weight_of(part.id)) is not None]
    u_kg = _reading_u_kg(state, weights[0].typed, weights[0].without)
    name = parts[0].part.name if len(parts) == 1 else f"{parts[0].part.name} and {len(parts) - 1} more"
    return Item(name, sum(weight.kg for weight in weights), u_kg)


def _thing_item(state: State, thing: Thing, fitted: bool) -> Item:
    return Item(thing.name, thing.kg, _reading_u_kg(state, thing.typed, thing.without), fitted)


def _reading_u_kg(state: State, typed: str, without: str) -> float:
    """From the scale in car.toml; where there is none, the last digit that was typed is its step."""
    scale = state.facts.scales.parts
    step_kg = scale.step if scale else _last_digit_kg(typed)
    once_kg = reading_u_kg(step_kg, (scale.repeats or 0.0) if scale else 0.0)
    return hypot(once_kg, once_kg) if without else once_kg


def _last_digit_kg(typed: str) -> float:
    decimals = re.search(r"[.,](\d+)", typed)
    step = 10.0 ** -len(decimals[1]) if decimals else 1.0
    return step * (0.45359237 if re.search(r"lb", typed, re.IGNORECASE) else 1.0)


def _at_most(most: int, items: list[Item]) -> tuple[Item, ...]:
    """The most uncertain lines by themselves; the rest in two sums, off and fitted."""
    if len(items) <= most:
        return tuple(items)
    ranked = sorted(items, key=lambda item: -item.u_kg)
    kept, rest = ranked[: most - 2], ranked[most - 2 :]
    for fitted in (False, True):
        some = [item for item in rest if item.fitted == fitted]
        if some:
            u_kg = hypot(*(item.u_kg for item in some))
            kept.append(Item(f"{len(some)} other lines", sum(item.mass_kg for item in some), u_kg, fitted))
    return tuple(kept)
