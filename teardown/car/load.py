"""What has left each end of the car since it was put on its stands."""

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from teardown.car.state import State

MOST_KG = 50.0
"""When more than this has left one end, a car on stands is looked at again: it can tip (common practice)."""

MIDDLE = 0.5
"""Of the wheelbase: what sits before it belongs to the front end (this project's policy)."""


class Gone(NamedTuple):
    """Kilograms that left each end."""

    front_kg: float
    rear_kg: float

    @property
    def too_much(self) -> str:
        """What to say of an end that has lost too much; nothing while neither has."""
        kg, end = max((self.front_kg, "front"), (self.rear_kg, "rear"))
        return f"{kg:.0f} kg left the {end} end (limit {MOST_KG:g}): a car on stands can tip" if kg > MOST_KG else ""


def gone_since(state: "State", entry: int) -> Gone:
    """What is off now and was on the car after `entry`, as weighed, or else at the packs' likely masses. What goes on
    makes up for nothing: it sits elsewhere; what nobody has given a place counts at both ends."""
    from teardown.car.moves import move_kg, moves, place_of  # they ask the state, which asks here

    front_kg = rear_kg = 0.0
    for move in moves(state, entry):
        if not move.goes_on:
            kg, place = move_kg(state, move), place_of(state, move)
            front_kg += kg if place is None or place[0] < MIDDLE else 0.0
            rear_kg += kg if place is None or place[0] >= MIDDLE else 0.0
    return Gone(front_kg, rear_kg)
