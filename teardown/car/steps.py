"""Where each step stands: done, ready, shut by a gate, waiting for a step, skipped, deferred, kept, not fitted."""

from collections.abc import Iterator, Mapping
from itertools import chain
from typing import Literal, NamedTuple

from teardown.car.clock import Instant
from teardown.car.gates import GateView, look
from teardown.car.state import State
from teardown.packs.model import Milestone
from teardown.packs.route import RouteStep

StepState = Literal["done", "ready", "shut", "waiting", "skipped", "deferred", "kept", "not-fitted"]


class Standing(NamedTuple):
    """The car at one moment: its state read at that moment, and every gate as it stands then."""

    state: State
    gates: Mapping[str, GateView]


def look_around(state: State, now: Instant, unknown: str | None = None, who: str | None = None) -> Standing:
    """`state` as it must be read at `now`, by `who` writes next, with every gate looked at once.

    `unknown` says why what came after it cannot be known: power may have come back, so every gate is shut.
    """
    seen = state.at(now, who)
    gates = look(seen.gates, now, seen, tuple(seen.gates.records))
    if unknown is not None:
        gates = {name: view._replace(stands=False, why=unknown, wait_left_s=None) for name, view in gates.items()}
    return Standing(seen, gates)


def shut_since(before: Standing, after: Standing) -> list[str]:
    """The titles of the gates that stood before and do not stand any more."""
    return [view.gate.title for name, view in after.gates.items() if before.gates[name].stands and not view.stands]


class StepView(NamedTuple):
    """One step as it stands, why, the gates that shut it in the order to open them, and what brings it back."""

    laid: RouteStep
    state: StepState
    why: str = ""
    shut_by: tuple[GateView, ...] = ()
    until: Milestone | None = None

    @property
    def ref(self) -> str:
        return self.laid.ref


def view_step(standing: Standing, laid: RouteStep) -> StepView:
    """Where one step stands."""
    mark = standing.state.mark(laid.ref)
    if standing.state.is_done(laid.ref):
        return StepView(laid, "done")
    if laid.not_fitted:
        return StepView(laid, "not-fitted", laid.not_fitted)
    if laid.kept:
        return StepView(laid, "kept", laid.kept)
    if mark is not None and mark.status == "skipped":
        return StepView(laid, "skipped", mark.why)
    if mark is not None:
        until = standing.state.route.library.milestones.get(mark.until)
        waits = f"; {_waits_for(standing.state, until)}" if until else ""
        return StepView(laid, "deferred", mark.why + waits, until=until)
    return readiness(standing, laid)


def readiness(standing: Standing, laid: RouteStep) -> StepView:
    """Whether a step could be done now, whatever was said of putting it off."""
    if until := deferred_until(standing.state, laid):
        return StepView(laid, "deferred", _waits_for(standing.state, until), until=until)
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
    """The place of the next step after `position` to work at: ready, or shut by a gate. Else the first. Else one that
    was put off and that nothing will bring back. Else stay."""
    steps = standing.state.route.steps
    for wanted in (_to_work_at, _left_lying):
        for following in chain(range(position + 1, len(steps)), range(position + 1)):
            if wanted(standing, steps[following]):
                return following
    return max(position, 0)


def _to_work_at(standing: Standing, laid: RouteStep) -> bool:
    return view_step(standing, laid).state in ("ready", "shut")


def _left_lying(standing: Standing, laid: RouteStep) -> bool:
    """Put off by hand, with nothing to come that brings it back, though it could be worked at."""
    view = view_step(standing, laid)
    lost = view.until is None or never_comes(standing.state, view.until) is not None
    return view.state == "deferred" and lost and readiness(standing, laid).state in ("ready", "shut")


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


def deferred_until(state: State, laid: RouteStep) -> Milestone | None:
    """The milestone that a step still waits for by its pack."""
    if laid.step.defer_until is None or state.reached(laid.step.defer_until):
        return None
    return state.route.library.milestones[laid.step.defer_until]


def _waits_for(state: State, milestone: Milestone) -> str:
    if never := never_comes(state, milestone):
        return f"waited for {milestone.title}, which does not come: {never}"
    return f"comes back by itself: waits for {milestone.title}"


def never_comes(state: State, milestone: Milestone) -> str | None:
    """Why a milestone will not be reached, as things stand: its step is not on this car, stays or was skipped."""
    laid, mark = state.route.by_ref[milestone.step], state.mark(milestone.step)
    if mark is not None and mark.status == "skipped":
        return f"skipped: {mark.why}"
    return laid.not_fitted or laid.kept


def milestones_ahead(state: State, laid: RouteStep) -> tuple[Milestone, ...]:
    """The milestones a step can be put off until, in working order."""
    position = {ref: n for n, ref in enumerate(state.route.by_ref)}
    known = state.route.library.milestones.values()
    ahead = (milestone for milestone in known if why_not_until(state, laid, milestone) is None)
    return tuple(sorted(ahead, key=lambda milestone: position[milestone.step]))


def why_not_until(state: State, laid: RouteStep, milestone: Milestone) -> str | None:
    """Why a step cannot wait for a milestone: it has come, it will not, or it waits for the step itself."""
    if state.reached(milestone.id):
        return f"{milestone.title}: that has happened already"
    if never := never_comes(state, milestone):
        return f"{milestone.title}: that does not come: {never}"
    if laid.ref in _still_before(state, milestone.step, laid.ref):
        return f"{milestone.title}: that waits for this very step"
    return None


def _still_before(state: State, ref: str, put_off: str) -> set[str]:
    """The step `ref` and all that must be over before it, were `put_off` put off. What comes back by itself counts as
    open: it may be back before then. What is to come after `put_off`, and does not need it, does not wait for it."""
    found: set[str] = set()
    waiting = [ref]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += _open_before(state, state.route.by_ref[name], put_off)
    return found


def _open_before(state: State, laid: RouteStep, put_off: str) -> Iterator[str]:
    yield from (ref for ref in laid.needs if not _fulfilled(state, ref))
    yield from (ref for ref in laid.after if ref != put_off and not _over(state, ref))
    mark = state.mark(laid.ref)
    for name in (laid.step.defer_until, mark.until if mark else None):
        milestone = state.route.library.milestones.get(name or "")
        if milestone is not None and not state.reached(milestone.id):
            yield milestone.step


def _over(state: State, ref: str) -> bool:
    """Whether nothing comes of a step any more, unless somebody takes it up."""
    laid, mark = state.route.by_ref[ref], state.mark(ref)
    return bool(laid.not_fitted or laid.kept) or (mark is not None and not mark.until)


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
    """A need is met by doing it; skipping meets it only where no gate of its own would have watched over it."""
    laid, mark = state.route.by_ref[ref], state.mark(ref)
    if state.is_done(ref) or laid.not_fitted:
        return True
    return mark is not None and mark.status == "skipped" and not laid.watched


def _settled(state: State, ref: str) -> bool:
    laid = state.route.by_ref[ref]
    return state.mark(ref) is not None or bool(laid.not_fitted or laid.kept) or deferred_until(state, laid) is not None


def _title(state: State, ref: str) -> str:
    return state.route.by_ref[ref].step.title


def _how_it_stands(state: State, ref: str) -> str:
    mark = state.mark(ref)
    return f" ({mark.status})" if mark is not None else ""
