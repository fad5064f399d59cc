"""What a rule answers: the fields to record, or a refusal with its reason."""

from typing import Any, NamedTuple

from teardown.car.state import State
from teardown.nearest import did_you_mean
from teardown.packs.route import RoutePart, RouteStep


class Refusal(NamedTuple):
    """Why an entry is not written; the gate to go to when a gate is the reason, the field when it is one word of it,
    and whether that word made no entry at all, whatever the rules say."""

    why: str
    gate: str | None = None
    about: str = ""
    wrong_use: bool = False


Ruling = dict[str, Any] | Refusal


def known_part(state: State, part_id: str) -> RoutePart | Refusal:
    """The pack's part of that name."""
    part = state.route.parts.get(part_id)
    if part is None:
        return Refusal(f"no part is called {part_id}{did_you_mean(part_id, state.route.parts)}")
    return part


def known_step(state: State, ref: str) -> RouteStep | Refusal:
    """The packs' step of that reference."""
    laid = state.route.by_ref.get(ref)
    if laid is None:
        return Refusal(f"no step is called {ref}{did_you_mean(ref, state.route.by_ref)}")
    return laid
