"""Where do these bolts go? From a bag to its step and parts, and back."""

from __future__ import annotations

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


def all_bags(state: State) -> tuple[Bag, ...]:
    """Every bag of this car's route, by number."""
    route = state.route
    used = ((route.by_ref[ref], number) for ref, number in route.bags.items())
    return tuple(_bag(state, laid, number) for laid, number in used if not laid.not_fitted and not laid.kept)


def find_bags(state: State, words: str) -> tuple[Bag, ...]:
    """Bags by number, or by a word of the step, part, fasteners or place. All bags when nothing is asked."""
    asked = words.lower().split()
    return tuple(bag for bag in all_bags(state) if all(word in _spoken(bag) for word in asked))


def bag_line(bag: Bag) -> str:
    """One bag in one line."""
    parts = f" ({', '.join(bag.parts)})" if bag.parts else ""
    empty = "" if bag.filled else ", not filled yet"
    return f"BAG {bag.number}: {bag.step.step.title}{parts}: {'; '.join(bag.holds)}{empty}"


def _bag(state: State, laid: RouteStep, number: int) -> Bag:
    step, mark = laid.step, state.mark(laid.ref)
    holds = tuple(fasteners.in_words for fasteners in step.fasteners if fasteners.fate == "bag")
    filled = mark is not None and mark.status == "done"
    return Bag(number, laid, holds, tuple(part.name for part in step.parts), filled)


def _spoken(bag: Bag) -> str:
    step = bag.step
    return " ".join((f"bag {bag.number}", step.ref, step.step.title, step.pack.title, *bag.holds, *bag.parts)).lower()
