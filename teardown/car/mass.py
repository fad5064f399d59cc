"""What the car weighs now, and what is left to the goal."""

from typing import NamedTuple

from teardown.car.condition import NOT_CAR, condition_words, corrections, weighed_kg
from teardown.car.moves import Move, move_kg, moves, moves_by_entry
from teardown.car.state import State
from teardown.car.tally_values import How
from teardown.car.weighing import why_not_compared
from teardown.packs.route import RoutePart


class Mass(NamedTuple):
    """Kilograms, as first weighed (see `condition`); None where nobody has weighed the car or set a goal.
    `off_kg` came off since the last weighing and `on_kg` went on; `estimated_kg` of them rests on the packs' masses, as
    does `never_weighed_kg` of all that is off. `corrected` says what the last weighing was corrected for, `missing`
    what it should have been corrected for and nobody can."""

    now_kg: float | None
    goal_kg: float | None
    to_go_kg: float | None
    off_kg: float
    on_kg: float
    estimated_kg: float
    never_weighed_kg: float
    corrected: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


class PartMass(NamedTuple):
    kg: float
    how: How


def part_mass(state: State, part: RoutePart) -> PartMass:
    """What a part weighs: as it was weighed, or else the pack's likely mass."""
    weight = state.weight_of(part.id)
    return PartMass(part.kg[1] if weight is None else weight.kg, "estimate" if weight is None else weight.how)


def mass_now(state: State) -> Mass:
    """The last weighing, told as the first, less what has come off since, plus what has gone on or back on since."""
    return state.once("mass", _mass_now)


def _mass_now(state: State) -> Mass:
    since, weighing = state.weighings.last_entry, state.weighings.last
    start_kg = weighed_kg(state, since, weighing) if weighing else state.facts.kerb
    moved = [move for move in moves(state, since) if move.counts not in NOT_CAR]
    off_kg = sum(move_kg(state, move) for move in moved if not move.goes_on)
    on_kg = sum(move_kg(state, move) for move in moved if move.goes_on)
    estimated_kg = sum(move_kg(state, move) for move in moved if _is_estimate(state, move))
    now_kg = None if start_kg is None else start_kg - off_kg + on_kg
    goal_kg = state.facts.goal
    to_go_kg = None if now_kg is None or goal_kg is None else now_kg - goal_kg
    corrected = tuple(one.says for one in corrections(state, since, weighing)) if weighing else ()
    return Mass(
        now_kg, goal_kg, to_go_kg, off_kg, on_kg, estimated_kg, _never_weighed_kg(state), corrected, _missing(state)
    )


def _never_weighed_kg(state: State) -> float:
    """Of all that is off since the beginning, what rests on the packs' masses."""
    off = (move for move in moves(state, 0) if not move.goes_on and move.counts not in NOT_CAR)
    return sum(move_kg(state, move) for move in off if _is_estimate(state, move))


def _is_estimate(state: State, move: Move) -> bool:
    weight = state.weight_of(move.id)
    return weight is None or weight.how == "estimate"


def _missing(state: State) -> tuple[str, ...]:
    """Fuel that was noted once and not the other time: the only thing that a total cannot be told without."""
    weighings = list(state.weighings)
    if len(weighings) < 2 or (weighings[0].fuel is None) == (weighings[-1].fuel is None):
        return ()
    return tuple(why_not_compared(weighings[0], weighings[-1])[:1])


def mass_words(state: State) -> list[str]:
    """What must be said beside the kilos, where they are not simply what the scales showed."""
    mass = mass_now(state)
    told = [f"NOT SURE: {says}" for says in mass.missing]
    told += [f"Last weighing corrected: {says}" for says in mass.corrected]
    return [*told, f"({condition_words(state)})"] if told else []


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
            kg = weighed_kg(state, n, weighings[n]) if n in weighings else kg + change_kg
            points.append((n, kg))
    return points


def _changes(state: State) -> list[tuple[int, float]]:
    """Kilograms off and on, by the entry that did it: what went back on counts as well."""
    return [
        (n, move_kg(state, move) if move.goes_on else -move_kg(state, move))
        for n, move in moves_by_entry(state)
        if move.counts not in NOT_CAR
    ]
