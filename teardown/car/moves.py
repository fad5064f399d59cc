"""What moved: parts and things that are on the car at one moment and not at another, whatever happened in between. What
came off and went back has not moved."""

from collections.abc import Iterator
from typing import NamedTuple

from teardown.car.state import State
from teardown.car.tally_values import Thing
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
    for part, thing in _everything(state):
        was, is_ = _on_the_car(state, part, thing, since), _on_the_car(state, part, thing, upto)
        if was != is_:
            yield _move(part, thing, is_)


def moves_by_entry(state: State) -> Iterator[tuple[int, Move]]:
    """Every move there was, with the entry that made it."""
    for part, thing in _everything(state):
        was = _on_the_car(state, part, thing, 0)
        for n in _entries_of(state, part, thing):
            is_ = _on_the_car(state, part, thing, n)
            if was != is_:
                yield n, _move(part, thing, is_)
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


def _everything(state: State) -> Iterator[tuple[RoutePart | None, Thing | None]]:
    for part in state.route.parts.values():
        yield part, None
    for series in (state.found, state.fitted):
        for thing in series:
            yield None, thing


def _move(part: RoutePart | None, thing: Thing | None, goes_on: bool) -> Move:
    if part is not None:
        return Move(part.id, part.part.name, part.part.counts, goes_on, part)
    assert thing is not None
    return Move(thing.id, thing.name, thing.counts, goes_on, thing=thing)


def _on_the_car(state: State, part: RoutePart | None, thing: Thing | None, upto: int | None) -> bool:
    """Whether it is on the car after an entry. What a step puts on is there once the step is done; what was found was
    there until it was found, and what was fitted is there from then on."""
    if part is not None:
        return (state.out_since(part.id, upto) > 0) == (part.part.counts == "added")
    assert thing is not None
    is_there = thing.counts != "added" or upto is None or thing.entry <= upto
    return is_there and not state.out_since(thing.id, upto)


def _entries_of(state: State, part: RoutePart | None, thing: Thing | None) -> list[int]:
    """The entries that may have moved it."""
    entries: set[int] = set()
    if part is not None and (step := state.steps.get(part.step)) is not None:
        entries.update(n for n, _ in step.items)
    if thing is not None:
        entries.add(thing.entry)
    name = part.id if part is not None else thing.id if thing is not None else ""
    if (known := state.parts.get(name)) is not None:
        entries.update(n for n, _ in known.out.items)
    return sorted(entries)
