"""Do the parts explain the scales? The first weighing, the last, and everything that came off or went on between."""

from __future__ import annotations

from math import hypot, sqrt
from typing import NamedTuple

from teardown import units
from teardown.car.lots import lot_of
from teardown.car.moves import Move, move_kg, moves
from teardown.car.state import State
from teardown.car.tally_values import CarWeight, Fuel
from teardown.car.weighing import FUEL_UNKNOWN_U_KG, compare, density, is_fuel, part_u_kg, weighing_u_kg
from teardown.figures.closing import ClosingResult, Item, Weighing, closing_from_items
from teardown.figures.errors import FigureError
from teardown.figures.uncertainty import estimate_u_kg

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

    @property
    def off_kg(self) -> float:
        """What the parts say went."""
        return sum(item.mass_kg for item in self.lines.items if not item.fitted)

    @property
    def fitted_kg(self) -> float:
        """What the parts say came."""
        return sum(item.mass_kg for item in self.lines.items if item.fitted)

    @property
    def reckoned_kg(self) -> float:
        """What the last weighing should have shown, without driver and contents: by the first, the parts, the fuel."""
        return self.lines.closing.mass_kg - self.result.gap_kg

    @property
    def estimated(self) -> int:
        """How many of the items nobody weighed by themselves."""
        return sum(item.estimated for item in self.lines.items)


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
        doubts=(*compared.doubts, *_disagreeing(state)),
    )


def _weighing(state: State, weight: CarWeight, fuel: Fuel | None) -> Weighing:
    """Where fuel was not noted both times, half of what that may hide lies on each weighing."""
    u_kg = weighing_u_kg(state.facts, weight)
    if fuel is None:
        return Weighing(weight.car_kg, hypot(u_kg, FUEL_UNKNOWN_U_KG / sqrt(2)))
    return Weighing(weight.car_kg, u_kg, fuel.m3, fuel.u_m3, *density(fuel))


def _items(state: State, first_n: int, last_n: int) -> list[Item]:
    """Fluids and contents count here: they are no saving, but the scales felt them go."""
    items: list[Item] = []
    by_level = state.weighings.items[0][1].fuel is not None and state.weighings.items[-1][1].fuel is not None
    lots: dict[tuple[int, bool], list[Move]] = {}
    for move in moves(state, first_n, last_n):
        if by_level and is_fuel(move.counts, move.material):
            continue
        lot = lot_of(state, move.id)
        if lot is None:
            items.append(_item(state, move))
        else:
            lots.setdefault((lot.entry, move.goes_on), []).append(move)
    for some in lots.values():
        items += _lot_items(state, some)
    return items


def _item(state: State, move: Move) -> Item:
    weight = state.weight_of(move.id)
    kg = move_kg(state, move)
    if weight is None or weight.how == "estimate":
        return Item(move.name, kg, _packs_u_kg(move), move.goes_on, estimated=True)
    return Item(move.name, kg, part_u_kg(state.facts, weight.typed, weight.without), move.goes_on)


def _packs_u_kg(move: Move) -> float:
    return estimate_u_kg(move.part.kg[0], move.part.kg[2]) if move.part else 0.0


def _lot_items(state: State, some: list[Move]) -> list[Item]:
    """A lot that moved as a whole is one line, known as well as its reading, which all share. Of a lot that is torn
    apart nobody knows what each has of it: the pack's spread stands, and it counts as an estimate."""
    lot, weight = lot_of(state, some[0].id), state.weight_of(some[0].id)
    assert lot is not None
    assert weight is not None
    reading_u_kg = part_u_kg(state.facts, weight.typed, weight.without)
    if len(some) < len(lot.rest):
        return [
            Item(move.name, move_kg(state, move), max(reading_u_kg, _packs_u_kg(move)), move.goes_on, estimated=True)
            for move in some
        ]
    apart = [again for part in lot.apart if (again := state.weight_of(part)) is not None]
    u_kg = hypot(reading_u_kg, *(part_u_kg(state.facts, again.typed, again.without) for again in apart))
    name = some[0].name if len(some) == 1 else f"{some[0].name} and {len(some) - 1} more"
    return [Item(name, sum(move_kg(state, move) for move in some), u_kg, some[0].goes_on)]


def _disagreeing(state: State) -> tuple[str, ...]:
    """Lots whose parts, weighed again by themselves, leave nothing for the others."""
    lots = {lot.entry: lot for part in state.parts if (lot := lot_of(state, part)) is not None and lot.disagrees}
    return tuple(
        f"{lot.reading} was read with all of {', '.join(sorted((*lot.rest, *lot.apart)))} (entry {n}), and "
        f"{', '.join(lot.apart)} alone {units.show_mass(sum(lot.apart.values()))}: they disagree. Weigh the rest again"
        for n, lot in lots.items()
    )


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
