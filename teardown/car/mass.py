"""What the car weighs now, and what is left to the goal."""

from __future__ import annotations

from typing import Literal, NamedTuple

from teardown.car.state import State
from teardown.packs.route import RoutePart

NOT_CAR = frozenset({"fluid", "contents"})
"""What comes off but is never counted as a saving."""


class Mass(NamedTuple):
    """Kilograms; None where nobody has weighed the car or set a goal. `estimated_kg` rests on the packs' masses."""

    now_kg: float | None
    goal_kg: float | None
    to_go_kg: float | None
    off_kg: float
    on_kg: float
    estimated_kg: float


class PartMass(NamedTuple):
    kg: float
    how: Literal["direct", "difference", "shared", "estimate"]


def part_mass(state: State, part: RoutePart) -> PartMass:
    """What a part weighs: as it was weighed, or else the pack's likely mass."""
    weight = state.weight_of(part.id)
    if weight is None:
        return PartMass(part.kg[1], "estimate")
    return PartMass(weight.kg, weight.how)  # type: ignore[arg-type]


def mass_now(state: State) -> Mass:
    """The last weighing less what has come off since, plus what has gone on since. Driver and contents are no car."""
    return state.once("mass", _mass_now)


def _mass_now(state: State) -> Mass:
    weighing = state.weighings.last
    start_kg = weighing.car_kg if weighing else state.facts.kerb
    since = state.weighings.last_entry
    off_kg = on_kg = estimated_kg = 0.0
    for part in state.route.parts.values():
        if part.part.counts in NOT_CAR or state.out_since(part.id) <= since:
            continue
        mass = part_mass(state, part)
        estimated_kg += mass.kg if mass.how == "estimate" else 0.0
        if part.part.counts == "added":
            on_kg += mass.kg
        else:
            off_kg += mass.kg
    off_kg += sum(thing.kg for entry, thing in state.found.items if entry > since)
    on_kg += sum(thing.kg for entry, thing in state.fitted.items if entry > since)
    now_kg = None if start_kg is None else start_kg - off_kg + on_kg
    goal_kg = state.facts.goal
    to_go_kg = None if now_kg is None or goal_kg is None else now_kg - goal_kg
    return Mass(now_kg, goal_kg, to_go_kg, off_kg, on_kg, estimated_kg)


def mass_over_entries(state: State) -> list[tuple[int, float]]:
    """The car's mass after each entry that changed it, from the first weighing or the kerb mass on: (entry, kg)."""
    weighings = dict(state.weighings.items)
    start_kg = state.facts.kerb
    if start_kg is None and not weighings:
        return []
    first = min(weighings, default=0) if start_kg is None else 0
    kg = start_kg or 0.0
    points = [] if start_kg is None else [(0, kg)]
    for n, change_kg in sorted([*_changes(state), *((n, 0.0) for n in weighings)]):
        if n >= first:
            kg = weighings[n].car_kg if n in weighings else kg + change_kg
            points.append((n, kg))
    return points


def _changes(state: State) -> list[tuple[int, float]]:
    """Kilograms off and on, by the entry that did it."""
    changes = [(n, -thing.kg) for n, thing in state.found.items] + [(n, thing.kg) for n, thing in state.fitted.items]
    for part in state.route.parts.values():
        out = state.out_since(part.id)
        if out and part.part.counts not in NOT_CAR:
            kg = part_mass(state, part).kg
            changes.append((out, kg if part.part.counts == "added" else -kg))
    return changes
