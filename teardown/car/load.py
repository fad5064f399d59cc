"""What has left each end of the car since it was put on its stands."""

from __future__ import annotations

from collections.abc import Iterator
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


def gone_since(state: State, entry: int) -> Gone:
    """As weighed, or else the packs' likely masses. What goes on makes up for nothing: it sits elsewhere; what nobody
    has given a place counts at both ends."""
    gone = list(_gone(state, entry))
    front = sum(kg for kg, x in gone if x is None or x < MIDDLE)
    rear = sum(kg for kg, x in gone if x is None or x >= MIDDLE)
    return Gone(front, rear)


def _gone(state: State, entry: int) -> Iterator[tuple[float, float | None]]:
    """Kilograms, and the share of the wheelbase where they sat, of each thing that went after `entry`. What was out
    then and is in again takes nothing back, either."""
    for part in state.route.parts.values():
        if part.part.counts != "added" and state.is_out(part.id) and not state.out_since(part.id, entry):
            weight = state.weight_of(part.id)
            yield (part.kg[1] if weight is None else weight.kg), part.x
    for n, thing in state.found.items:
        if n > entry:
            yield thing.kg, None if thing.place is None else thing.place[0]
