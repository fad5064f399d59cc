"""The one condition in which all kilos are told: as the car was first weighed, with its fuel and its fluids then, and
without driver and contents. A weighing in another condition is corrected for each, at its place where that is known."""

from collections.abc import Iterable
from typing import NamedTuple

from teardown import units
from teardown.car.moves import Move, move_kg, moves, place_of
from teardown.car.state import State
from teardown.car.tally_values import CarWeight, Fuel
from teardown.car.weighing import fuel_kg, is_fuel
from teardown.packs.route import side_share

NOT_CAR = frozenset({"fluid", "contents"})
"""What comes off but is never counted as a saving."""

SEAT = (0.53, "D0.24", 0.55)
TANK = (0.90, "0", 0.40)
"""Where the driver sits and where the fuel lies, as a pack's places (common practice for a car of the usual build)."""


class Correction(NamedTuple):
    """Kilograms to be added to what the scales showed. `place`: share of the wheelbase and of the track, metres above
    ground; None where nobody knows it."""

    what: str
    kg: float
    place: tuple[float, float, float] | None

    @property
    def says(self) -> str:
        return f"{self.what} {'-' if self.kg < 0 else '+'}{units.show_mass(abs(self.kg))}"


def told_with(state: State) -> Fuel | None:
    """The fuel all kilos are told with: that of the first weighing at which it was noted."""
    return next((weight.fuel for weight in state.weighings if weight.fuel is not None), None)


def condition_words(state: State) -> str:
    """The condition in a line; empty while nobody has weighed the car."""
    if not state.weighings:
        return ""
    fuel = told_with(state)
    noted = "fuel not noted" if fuel is None else f"with {units.show_volume(fuel.m3, 'L')} {fuel.kind}"
    return f"all kilos as first weighed: {noted}, without driver and contents; fluids that went are no saving"


def corrections(state: State, n: int, weight: CarWeight) -> list[Correction]:
    """What brings the weighing of entry `n` to that condition."""
    found = []
    if weight.aboard_kg:
        found.append(
            Correction("driver or ballast, taken to be in the driver's seat", -weight.aboard_kg, _at(state, SEAT))
        )
    if weight.contents_kg:
        found.append(Correction("contents", -weight.contents_kg, None))
    fuel = told_with(state)
    if fuel is not None and weight.fuel is not None and (fuel.m3, fuel.kind) != (weight.fuel.m3, weight.fuel.kind):
        change_kg = fuel_kg(fuel) - fuel_kg(weight.fuel)
        levels = (
            f"{units.show_volume(weight.fuel.m3, 'L')} {weight.fuel.kind}, told as {units.show_volume(fuel.m3, 'L')}"
        )
        found.append(Correction(f"fuel ({levels} {fuel.kind})", change_kg, _at(state, TANK)))
    return [*found, *_gone_since_the_first(state, n, weight)]


def weighed_kg(state: State, n: int, weight: CarWeight) -> float:
    """The car's mass at that weighing, in that condition."""
    return weight.total_kg + sum(correction.kg for correction in corrections(state, n, weight))


def aboard_in_kg(state: State) -> float:
    """Fluids and contents that went since the first weighing and are told as still aboard. Fuel told by its level is
    not among them, nor are contents that were weighed as such."""
    if not state.weighings:
        return 0.0
    went = _as_parts(state, state.weighings.last, None)
    return max(0.0, sum(-move_kg(state, move) if move.goes_on else move_kg(state, move) for move in went))


def _as_parts(state: State, weight: CarWeight | None, upto: int | None) -> Iterable[Move]:
    """Fluids and contents that went since the first weighing, or came, where that weighing and the first say nothing of
    them."""
    first_n, first = state.weighings.items[0]
    by_level = first.fuel is not None and weight is not None and weight.fuel is not None
    contents_noted = first.contents_kg is not None or (weight is not None and weight.contents_kg is not None)
    for move in moves(state, first_n, upto):
        told = (by_level and is_fuel(move.counts, move.material)) or (contents_noted and move.counts == "contents")
        if move.counts in NOT_CAR and not told:
            yield move


def _gone_since_the_first(state: State, n: int, weight: CarWeight) -> list[Correction]:
    """Put back at their place, or taken out again where they came since."""
    return [
        Correction(move.name, -move_kg(state, move) if move.goes_on else move_kg(state, move), place_of(state, move))
        for move in _as_parts(state, weight, n)
    ]


def _at(state: State, place: tuple[float, str, float]) -> tuple[float, float, float]:
    x, y, z = place
    return x, side_share(state.route.shape, y), z
