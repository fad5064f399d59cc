"""Where do these bolts go? From a bag to its step and parts, and back."""

from itertools import count
from typing import NamedTuple

from teardown.car.state import State
from teardown.packs.route import RouteStep


class Bag(NamedTuple):
    """A numbered bag: the step its fasteners come from, what they are, and what came off with them."""

    number: int
    step: RouteStep
    holds: tuple[str, ...]
    parts: tuple[str, ...]
    filled: bool


def bag_numbers(state: State) -> dict[str, int]:
    """The bag number of each step, by number. One that was written stays, whatever packs are read by now; a step that
    was planned for such a number gets one that nobody had. Finishing a step may change a mass, so it is looked at anew.
    """
    return state.once("bags", _numbers)


def _numbers(state: State) -> dict[str, int]:
    planned, written = state.route.planned_bags, state.bags
    taken = set(written.values())
    fresh = count(max((*planned.values(), *taken), default=0) + 1)
    unwritten = {ref: number for ref, number in planned.items() if ref not in written}
    given = {ref: next(fresh) if number in taken else number for ref, number in unwritten.items()}
    return dict(sorted((written | given).items(), key=lambda bag: bag[1]))


def all_bags(state: State) -> tuple[Bag, ...]:
    """Every bag of this car's route, by number."""
    numbered = ((state.route.by_ref.get(ref), number) for ref, number in bag_numbers(state).items())
    return tuple(_bag(state, laid, number) for laid, number in numbered if laid is not None and _is_used(state, laid))


def _is_used(state: State, laid: RouteStep) -> bool:
    """A bag that was filled is there, whatever is said of its step by now."""
    return laid.ref in state.bags or not (laid.not_fitted or laid.kept)


def find_bags(state: State, words: str) -> tuple[Bag, ...]:
    """Bags by number, or by a word of the step, part, fasteners or place. All bags when nothing is asked."""
    asked = words.lower().split()
    return tuple(bag for bag in all_bags(state) if all(word in _spoken(bag) for word in asked))


def bag_line(bag: Bag) -> str:
    """One bag in one line."""
    parts = f" ({', '.join(bag.parts)})" if bag.parts else ""
    holds = f": {'; '.join(bag.holds)}" if bag.holds else ""
    empty = "" if bag.filled else ", not filled yet"
    return f"BAG {bag.number}: {bag.step.step.title}{parts}{holds}{empty}"


def _bag(state: State, laid: RouteStep, number: int) -> Bag:
    step = laid.step
    holds = tuple(fasteners.in_words for fasteners in step.bagged)
    return Bag(number, laid, holds, tuple(part.name for part in step.parts), state.is_done(laid.ref))


def _spoken(bag: Bag) -> str:
    step = bag.step
    return " ".join((f"bag {bag.number}", step.ref, step.step.title, step.pack.title, *bag.holds, *bag.parts)).lower()
