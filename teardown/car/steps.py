"""Where each step stands: done, ready, shut by a gate, waiting for a step, skipped, deferred, kept, not fitted."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import chain
from typing import Literal, NamedTuple

from teardown.car.clock import Instant
from teardown.car.gates import GateView, look
from teardown.car.state import State
from teardown.packs.route import RouteStep

StepState = Literal["done", "ready", "shut", "waiting", "skipped", "deferred", "kept", "not-fitted"]


class Standing(NamedTuple):
    """The car at one moment: its state read at that moment, and every gate as it stands then."""

    state: State
    gates: Mapping[str, GateView]


def look_around(state: State, now: Instant) -> Standing:
    """`state` as it must be read at `now`, with every gate looked at once."""
    seen = state.at(now)
    return Standing(seen, look(seen.gates, now, seen, tuple(seen.gates.records)))


class StepView(NamedTuple):
    """One step as it stands, why, and the gates that shut it in the order to open them."""

    laid: RouteStep
    state: StepState
    why: str = ""
    shut_by: tuple[GateView, ...] = ()

    @property
    def ref(self) -> str:
        return self.laid.ref


def view_step(standing: Standing, laid: RouteStep) -> StepView:
    """Where one step stands."""
    mark = standing.state.mark(laid.ref)
    if mark is not None and mark.status == "done":
        return StepView(laid, "done")
    if laid.not_fitted:
        return StepView(laid, "not-fitted", laid.not_fitted)
    if laid.kept:
        return StepView(laid, "kept", laid.kept)
    if mark is not None and mark.status == "skipped":
        return StepView(laid, "skipped", mark.why)
    if mark is not None:
        return StepView(laid, "deferred", mark.why)
    return readiness(standing, laid)


def readiness(standing: Standing, laid: RouteStep) -> StepView:
    """Whether a step could be done now, whatever was said of putting it off."""
    if why := why_deferred(standing.state, laid):
        return StepView(laid, "deferred", why)
    if why := why_waiting(standing.state, laid):
        return StepView(laid, "waiting", why)
    shut = shut_gates(standing, laid)
    if shut:
        return StepView(laid, "shut", shut[0].shuts, shut)
    return StepView(laid, "ready")


def view_route(standing: Standing) -> tuple[StepView, ...]:
    """Every step of the route, in working order."""
    return tuple(view_step(standing, laid) for laid in standing.state.route.steps)


def next_open(standing: Standing, position: int) -> int:
    """The place of the next step after `position` to work at: ready, or shut by a gate. Else the first; else stay."""
    steps = standing.state.route.steps
    for following in chain(range(position + 1, len(steps)), range(position + 1)):
        if view_step(standing, steps[following]).state in ("ready", "shut"):
            return following
    return max(position, 0)


def shut_gates(standing: Standing, laid: RouteStep) -> tuple[GateView, ...]:
    """The gates that shut a step, in the order to open them; first those that shut steps beyond their own hazards."""
    route, gates = standing.state.route, standing.gates
    held = tuple(gate for gate in route.holding if _holds(gates[gate], laid))
    return tuple(gates[gate] for gate in dict.fromkeys(held + route.gate_order(laid.gates)) if not gates[gate].stands)


def _holds(view: GateView, laid: RouteStep) -> bool:
    """Whether a gate shuts a step that does not bring it. Bad air shuts all; ice in the car, and a wait that runs, shut
    all at the car but what is about them."""
    if view.holds != "the car":
        return view.holds == "all"
    about_it = {view.gate.id, *view.gate.follows} & {*laid.until, *laid.gates}
    return laid.step.elsewhere is None and not about_it


def why_deferred(state: State, laid: RouteStep) -> str | None:
    """The milestone a step still waits for."""
    if laid.step.defer_until is None:
        return None
    milestone = state.route.library.milestones[laid.step.defer_until]
    reached = state.mark(milestone.step)
    if reached is not None and reached.status == "done":
        return None
    return f"comes back by itself: waits for {milestone.title}"


def why_waiting(state: State, laid: RouteStep) -> str | None:
    """The rule's answer or the step that must come first."""
    if laid.unanswered:
        return laid.unanswered
    for ref in laid.needs:
        if not _fulfilled(state, ref):
            return f"needs: {_title(state, ref)}{_how_it_stands(state, ref)}"
    for ref in laid.after:
        if not _settled(state, ref):
            return f"comes after: {_title(state, ref)}"
    return None


def _fulfilled(state: State, ref: str) -> bool:
    """A need is met by doing it; skipping meets it only where no gate would have watched over it."""
    laid, mark = state.route.by_ref[ref], state.mark(ref)
    if mark is not None and mark.status == "done":
        return True
    if laid.not_fitted:
        return True
    return mark is not None and mark.status == "skipped" and not laid.watched


def _settled(state: State, ref: str) -> bool:
    laid = state.route.by_ref[ref]
    return state.mark(ref) is not None or bool(laid.not_fitted or laid.kept) or why_deferred(state, laid) is not None


def _title(state: State, ref: str) -> str:
    return state.route.by_ref[ref].step.title


def _how_it_stands(state: State, ref: str) -> str:
    mark = state.mark(ref)
    return f" ({mark.status})" if mark is not None else ""
