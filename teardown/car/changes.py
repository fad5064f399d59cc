"""What each kind of entry does to the state: one change for each kind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from teardown.car.clock import Instant
from teardown.car.gatebook import ANOTHER_SOURCE, EVENTS, Reading, Signature
from teardown.car.ice import Ice, Laid
from teardown.car.modules import TELLS_OF, TellsOf
from teardown.car.strangers import number
from teardown.car.tally_state import TALLY_CHANGES, Change
from teardown.packs.model import Event
from teardown.packs.route import RouteStep

if TYPE_CHECKING:
    from teardown.car.state import State

MODULE_BACK = "a live module counts as in the car again"

REHEARSAL_RATE = 60.0
"""How much faster a rehearsal's waits run. Only the first entry of a log can make it a rehearsal."""

MarkStatus = Literal["done", "open", "skipped", "deferred"]


class Mark(NamedTuple):
    """What was said of a step: done, open, skipped or deferred; and the milestone that brings a deferred one back."""

    status: MarkStatus
    why: str = ""
    until: str = ""


DONE = Mark("done")


class Answered(NamedTuple):
    """What was answered to a question about the car, in the words of the log, by whom and when."""

    says: str
    who: str
    utc: str


class Kind(NamedTuple):
    """What is known of every entry of one kind before it is looked at."""

    change: Change
    tells_of: TellsOf | None
    may_change_a_mass: bool


def _opened(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    if n == 1 and fields.get("rehearsal") is True:
        state.rehearsal = True
        state.gates.rate = REHEARSAL_RATE


def _resumed(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.gates.answer(fields["power"], fields["doors"], fields["people"])


def _step_done(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    step = state.route.by_ref.get(fields["step"])
    state.set(state.steps[fields["step"]], n, DONE)
    if "bag" in fields:
        state.bags[fields["step"]] = int(fields["bag"])
    if step is not None:
        _finish(state, n, at, step, step.step.title)
        _cause(state, step.causes, step, "done")


def _finish(state: State, n: int, at: Instant, step: RouteStep, title: str) -> None:
    """A step, or a part of it, is done."""
    state.gates.finish_step(step, title)
    if any(part.counts == "added" for part in step.step.parts):
        state.gates.happen("refitted", f"{title}: fitted")
    if step.isolates:
        state.gates.begin_waits_again(f"{title}: only then was that source off", at)
    if step.undone_causes or step.step.parts:
        state.isolating[n] = step.ref


def _step_undone(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """Not to be undone itself: that would finish a step past its gates."""
    state.steps[fields["step"]].add(n, Mark("open", str(fields["why"])))
    _cause_undone(state, fields["step"])


def _cause(state: State, events: tuple[Event, ...], step: RouteStep, what: str) -> None:
    for event in events:
        state.gates.happen(event, f"{step.step.title}: {what}")


def _cause_undone(state: State, ref: str) -> None:
    """A step taken back may have been taken back on the car too: not knowing counts as yes. So may what no step of the
    packs took off."""
    step = state.route.by_ref.get(ref)
    if step is None:
        state.gates.happen("refitted", EVENTS["refitted"])
        return
    back_in = any(part.counts != "added" for part in step.step.parts)
    _cause(state, (*step.undone_causes, *(("refitted",) if back_in else ())), step, "taken back")


def _step_marked(status: MarkStatus) -> Change:
    def change(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
        state.set(state.steps[fields["step"]], n, Mark(status, str(fields["why"]), str(fields.get("until", ""))))

    return change


def _at_gate(change: Change) -> Change:
    """A gate that today's packs no longer have is history: its entries change nothing."""

    def known(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
        if fields["gate"] in state.gates.records:
            change(state, n, at, fields)
            state.touched[n] = fields["gate"]

    return known


def _gate_tick(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.gates.tick(fields["gate"], fields["tick"], fields["says"], n, at, fields.get("sources", ()))


def _gate_reading(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    read = number(fields["number"])
    state.gates.read(fields["gate"], read, at, str(fields.get("says", "")))
    state.readings[fields["gate"]].add(n, Reading(read, at))


def _gate_figure(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    from teardown.figures.air import OUTDOOR_PPM  # only a car with ice in it needs the figure

    gate, kg, over_min = fields["gate"], number(fields["ice_kg"]), number(fields["over_min"])
    start_ppm, lying_kg = number(fields.get("start_ppm", OUTDOOR_PPM)), number(fields.get("lying_kg", 0.0))
    state.gates.plan_ice(gate, Ice(kg, over_min, start_ppm, lying_kg))
    if fields.get("allowed", True):
        state.gates.lay_ice(gate, Laid(n, kg, over_min, at), again=bool(fields.get("same")))


def _gate_signed(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.gates.sign(fields["gate"], Signature(str(fields["by"]), str(fields["paper"])), at)


def _manual_wait(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """Not to be undone: a wrong figure is put right by entering the right one."""
    if fields["gate"] in state.gates.records:
        state.gates.manual_wait(fields["gate"], number(fields["wait_min"]), at)


def _people_here(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.gates.present(int(fields["count"]))


def _happened(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.gates.happen(fields["what"], str(fields["why"]))


def _power_restored(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.gates.happen("power", f"power came back: {fields['why']}")


def _part_off(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.set(state.parts[fields["part"]].out, n, True)
    place = state.route.parts.get(fields["part"])
    if place is None:
        state.isolating[n] = ""
    else:
        laid = state.route.by_ref[place.step]
        _finish(state, n, at, laid, place.part.name)
        _cause(state, laid.causes, laid, "begun")


def _part_back(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """Not to be undone itself: that would take a part out past its gates. A battery that is back in is power, and a
    live module is counted again, whether or not it had been stored."""
    state.parts[fields["part"]].out.add(n, False)
    place = state.route.parts.get(fields["part"])
    _cause_undone(state, place.step if place is not None else "")
    if place is not None and state.may_be_live(place.part):
        state.gates.happen("module-moved", MODULE_BACK)


def _part_stored(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.set(state.parts[fields["part"]].stored, n, str(fields["where"]))


def _still_fitted(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """Not to be undone itself: that would open gates that count on its absence."""
    state.listed_fitted[fields["module"]].add(n, str(fields["why"]))


def _not_there(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.set(state.not_there[fields["module"]], n, str(fields["why"]))


def _car_answered(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """What the car has, car.toml says: nothing opens by this. But what the car was said not to have and may have after
    all was on it all the time, and so shuts what was made without it, whatever is answered later. Not to be undone:
    another answer takes its place."""
    feature, said = fields["feature"], fields["fitted"]
    if said not in ("yes", "no", "unknown"):
        raise ValueError("an answer that is none")
    state.answers["fitted." + feature].add(n, Answered(said, state.writer, at.utc))
    if fields.get("before") == "no" and said != "no":
        _may_be_there_after_all(state, feature)


def _may_be_there_after_all(state: State, feature: str) -> None:
    """It may be a source of power, or live, or have a gate of its own that others follow."""
    library, with_it = state.route.library, {feature}
    for name, known in library.features.items():  # what settles another stands earlier
        if known.only_if in with_it:
            with_it.add(name)
    back = {gate.id: gate.title for gate in library.gates.values() if with_it & {*gate.has}}
    before_power_is_off = {gate.id for gate in library.gates_behind(state.route.isolating)}
    is_source = any(known.source_of_power for name, known in library.features.items() if name in with_it)
    if is_source or not before_power_is_off.isdisjoint(back):
        state.gates.happen("power", ANOTHER_SOURCE if is_source else _there_after_all(*back.values()))
    for gate_id, title in back.items():
        for follower in state.route.followers[gate_id]:
            state.gates.lapse(follower, _there_after_all(title))
    if any(with_it & {*module.has, *module.inside_with} for module in library.modules.values()):
        for count in state.route.counts:
            state.gates.lapse(count.id, MODULE_BACK)


def _there_after_all(*titles: str) -> str:
    return f"{', '.join(titles)}: the car may have it after all"


def _rule_answered(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """What stays, car.toml says too."""
    keep, says = fields["keep"], fields["says"]
    if type(keep) is not bool or not isinstance(says, str):
        raise ValueError("an answer that is none")
    state.answers["rules." + fields["rule"]].add(n, Answered("yes" if keep else "no", state.writer, at.utc))


def _part_fitted(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """What nobody foresaw goes on."""
    TALLY_CHANGES["part-fitted"](state, n, at, fields)
    state.gates.happen("refitted", f"{fields['name']}: fitted")


def _note(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    state.set(state.notes, n, (str(fields.get("step", "")), str(fields["text"])))


def _undo(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """An undone value is taken out; an undone tick shuts its gate. Nothing is ever opened by an undo."""
    undone = int(fields["entry"])
    if state.why_not_undone(undone) is not None:
        return
    touched = state.touched[undone]
    state.undone.add(undone)
    if isinstance(touched, str):
        state.gates.undo(touched, undone)
        return
    came_off = undone in state.isolating or state.found.of(undone) is not None
    for series in touched:
        series.drop(undone)
    if came_off:
        _cause_undone(state, state.isolating.get(undone, ""))


def _nothing(state: State, n: int, at: Instant, fields: dict[str, Any]) -> None:
    """Kept for the record; `pass_time` has already done what it proves."""


_MAY_CHANGE_A_MASS = frozenset(
    {
        "step-done",
        "step-undone",
        "step-skipped",
        "step-deferred",
        "part-off",
        "part-back",
        "part-weighed",
        "parts-weighed",
        "part-found",
        "part-fitted",
        "car-weighed",
        "undo",
    }
)

_CHANGES: dict[str, Change] = {
    "opened": _opened,
    "resumed": _resumed,
    "step-done": _step_done,
    "step-undone": _step_undone,
    "step-skipped": _step_marked("skipped"),
    "step-deferred": _step_marked("deferred"),
    "gate-tick": _at_gate(_gate_tick),
    "gate-reading": _at_gate(_gate_reading),
    "gate-figure": _at_gate(_gate_figure),
    "gate-signed": _at_gate(_gate_signed),
    "manual-wait": _manual_wait,
    "wait-over": _nothing,
    "people-here": _people_here,
    "happened": _happened,
    "power-restored": _power_restored,
    "part-off": _part_off,
    "part-back": _part_back,
    "part-stored": _part_stored,
    "still-fitted": _still_fitted,
    "not-there": _not_there,
    **TALLY_CHANGES,
    "car-answered": _car_answered,
    "rule-answered": _rule_answered,
    "part-fitted": _part_fitted,
    "note": _note,
    "undo": _undo,
}

KINDS: dict[str, Kind] = {
    kind: Kind(change, TELLS_OF.get(kind), kind in _MAY_CHANGE_A_MASS) for kind, change in _CHANGES.items()
}
