"""What moved: parts and things that are on the car at one moment and not at another, whatever happened in between. What
came off and went back has not moved."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from teardown.car.state import State
from teardown.car.tally_state import Thing
from teardown.packs.route import RoutePart, side_share


class Move(NamedTuple):
    """One that came off, or went on. What no pack foresaw has no `part` but is a `thing`."""

    id: str
    name: str
    counts: str
    goes_on: bool
    part: RoutePart | None = None
    thing: Thing | None = None

    @property
    def material(self) -> str:
        """What it is made of; of what no pack foresaw only the name speaks."""
        return self.part.part.material if self.part else self.name


def moves(state: State, since: int, upto: int | None = None) -> Iterator[Move]:
    """What moved between entry `since` and entry `upto`, or now."""
    for one in _everything(state):
        was, is_ = _on_the_car(state, one, since), _on_the_car(state, one, upto)
        if was != is_:
            yield one._replace(goes_on=is_)


def moves_by_entry(state: State) -> Iterator[tuple[int, Move]]:
    """Every move there was, with the entry that made it."""
    for one in _everything(state):
        was = _on_the_car(state, one, 0)
        for n in _entries_of(state, one):
            is_ = _on_the_car(state, one, n)
            if was != is_:
                yield n, one._replace(goes_on=is_)
            was = is_


def move_kg(state: State, move: Move) -> float:
    """What it weighs: as it was weighed, or else the pack's likely mass."""
    weight = state.weight_of(move.id)
    if weight is not None:
        return weight.kg
    return move.part.kg[1] if move.part else 0.0


def place_of(state: State, move: Move) -> tuple[float, float, float] | None:
    """Share of the wheelbase and of the track, metres above ground; None where nobody said."""
    if move.part is not None:
        return move.part.x, move.part.y, move.part.part.place.z
    if move.thing is None or move.thing.place is None:
        return None
    x, y, z = move.thing.place
    return x, side_share(state.route.shape, y), z


def _everything(state: State) -> Iterator[Move]:
    for part in state.route.parts.values():
        yield Move(part.id, part.part.name, part.part.counts, False, part=part)
    for series in (state.found, state.fitted):
        for thing in series:
            yield Move(thing.id, thing.name, thing.counts, False, thing=thing)


def _on_the_car(state: State, one: Move, upto: int | None) -> bool:
    """Whether it is on the car after an entry. What a step puts on is there once the step is done; what was found was
    there until it was found, and what was fitted is there from then on."""
    out = state.out_since(one.id, upto) > 0
    if one.part is not None:
        return out == (one.counts == "added")
    return not out and (one.counts != "added" or upto is None or one.thing is None or one.thing.entry <= upto)


def _entries_of(state: State, one: Move) -> list[int]:
    """The entries that may have moved it."""
    known = state.parts.get(one.id)
    entries = {n for n, _ in known.out.items} if known is not None else set()
    if one.thing is not None:
        entries.add(one.thing.entry)
    step = state.steps.get(one.part.step) if one.part else None
    if step is not None:
        entries |= {n for n, _ in step.items}
    return sorted(entries)
