"""What may be written: one rule for each kind of entry that could be refused. A rule returns the fields to record, or a
refusal with its reason; it never writes and never raises."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from teardown import units
from teardown.car import entries
from teardown.car.answers import answer_now, rule_now, what_shows_it
from teardown.car.bags import bag_numbers
from teardown.car.fields import Fields, recorded
from teardown.car.gas import ice_counted
from teardown.car.gates import UNITS, GateView
from teardown.car.ledger import why_it_carries
from teardown.car.live_things import is_live_thing
from teardown.car.room import RELEASE_MIN, SHORTEST_RELEASE_MIN
from teardown.car.ruling import Refusal, Ruling, known_part, known_step
from teardown.car.state import State
from teardown.car.steps import Standing, StepView, readiness, shut_gates, view_step, why_not_until
from teardown.car.tally_rules import TALLY_RULES, thing_back, thing_not_live, thing_off, thing_stored
from teardown.car.tally_values import Thing
from teardown.nearest import did_you_mean
from teardown.packs.model import Feature, FigureGate, Gate, ReadingGate, StopGate, TicksGate, WaitGate
from teardown.packs.route import RouteStep

OVER_RANGE = ("over", "over range", "full scale", "ol", "o.l.", "ofl")
"""What a meter shows, or a person says, when there is more than it can measure."""

OVER_RANGE_V = 12.0
"""What such a meter counts as on leads: those of a car's battery (this project's policy)."""

LEAST_LETTERS = 2
"""Fewer letters than this are no name and no paper (this project's policy)."""

LIVE = "airbag"
"""The hazard whose gates a live module comes off behind."""

SHUT_WHILE_QUESTIONS_ARE_OPEN = (
    entries.StepDone,
    entries.PartOff,
    entries.GateTick,
    entries.GateFigure,
    entries.GateSigned,
    entries.WaitOver,
    entries.PeopleHere,
)


def rule(standing: Standing, fields: Fields) -> Ruling:
    """Judge one entry against the car as it stands at this moment."""
    state = standing.state
    if state.gates.questions is not None and isinstance(fields, SHUT_WHILE_QUESTIONS_ARE_OPEN):
        return Refusal(
            f"{state.gates.questions}. First say what has happened since: "
            "resumed power=no doors=no people=no (yes or unknown where it is so)"
        )
    judge = _RULES.get(type(fields))
    return recorded(fields) if judge is None else judge(standing, fields)


# -- steps and parts


def _step_done(standing: Standing, fields: entries.StepDone) -> Ruling:
    laid = known_step(standing.state, fields.step)
    if isinstance(laid, Refusal):
        return laid
    refused = _not_doable(standing, laid)
    if refused is not None:
        return refused
    if laid.step.refits and not fields.refitted:
        named = "; ".join(fasteners.counted for fasteners in laid.step.refits)
        return Refusal(f"say first that this is in its place: {named}: refitted=yes")
    bag = bag_numbers(standing.state).get(laid.ref)
    return recorded(fields) | ({} if bag is None else {"bag": bag})


def _not_doable(standing: Standing, laid: RouteStep) -> Refusal | None:
    """Why a step cannot be done now. One that was put off or skipped may be done after all."""
    view = view_step(standing, laid)
    if view.state == "done":
        return Refusal(f"{laid.step.title} is done already")
    if view.state in ("skipped", "deferred"):
        view = readiness(standing, laid)
    return None if view.state == "ready" else _refusal_of(view)


def _refusal_of(view: StepView) -> Refusal:
    if view.shut_by:
        return Refusal(f"shut: {view.why}", view.shut_by[0].gate.id)
    return Refusal(view.why)


def _step_undone(standing: Standing, fields: entries.StepUndone) -> Ruling:
    laid = known_step(standing.state, fields.step)
    if isinstance(laid, Refusal):
        return laid
    if standing.state.mark(fields.step) is None:
        return Refusal(f"{laid.step.title} is not done, skipped or put off")
    return recorded(fields)


def _step_put_off(standing: Standing, fields: entries.StepSkipped | entries.StepDeferred) -> Ruling:
    laid = known_step(standing.state, fields.step)
    if isinstance(laid, Refusal):
        return laid
    if standing.state.is_done(fields.step):
        return Refusal(f"{laid.step.title} is done: undo it first")
    if isinstance(fields, entries.StepDeferred) and fields.until is not None:
        return _cannot_wait(standing.state, laid, fields.until) or recorded(fields)
    return recorded(fields)


def _cannot_wait(state: State, laid: RouteStep, until: str) -> Refusal | None:
    """Why a step cannot be put off until a milestone: it would not come back by itself."""
    milestones = state.route.library.milestones
    if until not in milestones:
        return Refusal(f"no milestone is called {until}{did_you_mean(until, milestones)}: {', '.join(milestones)}")
    why = why_not_until(state, laid, milestones[until])
    return Refusal(f"{why}. Put it off without until=, or do it") if why else None


def _part_off(standing: Standing, fields: entries.PartOff) -> Ruling:
    if (thing := standing.state.thing(fields.part)) is not None:
        return thing_off(standing.state, thing) or _live_and_shut(standing, thing) or recorded(fields)
    part = known_part(standing.state, fields.part)
    if isinstance(part, Refusal):
        return part
    if not part.fitted:
        return Refusal(f"{part.part.name} is not on this car: car.toml [fitted] says so")
    if standing.state.is_out(part.id):
        return Refusal(f"{part.part.name} is off already")
    laid = standing.state.route.by_ref[part.step]
    if standing.state.is_done(laid.ref):
        return _shut_again(standing, laid) or recorded(fields)
    return _not_doable(standing, laid) or recorded(fields)


def _shut_again(standing: Standing, laid: RouteStep) -> Refusal | None:
    """A part that went back comes off again only past the gates it came off by."""
    shut = shut_gates(standing, laid)
    return Refusal(f"shut: {shut[0].shuts}", shut[0].gate.id) if shut else None


def _live_and_shut(standing: Standing, thing: Thing) -> Refusal | None:
    """What no pack foresaw and is taken to be live comes off past the gates of an airbag, and of what holds the car, as
    a pack's part would."""
    if not is_live_thing(standing.state, thing):
        return None
    hazards = standing.state.route.library.hazards.values()
    of_live = tuple(gate for hazard in hazards if hazard.id == LIVE or hazard.everywhere for gate in hazard.gates)
    route = standing.state.route
    held = (view for view in map(standing.gates.__getitem__, route.holding) if view.holds != "nothing")
    in_order = (*held, *(standing.gates[gate] for gate in route.gate_order(of_live)))
    shut = next((view for view in in_order if not view.stands), None)
    if shut is None:
        return None
    not_live = f"If {thing.name} is not live: not-there module={thing.id} and why="
    return Refusal(f"shut: {shut.shuts.rstrip('.')}. {not_live}", shut.gate.id)


def _part_back(standing: Standing, fields: entries.PartBack) -> Ruling:
    if (thing := standing.state.thing(fields.part)) is not None:
        return thing_back(standing.state, thing) or recorded(fields)
    part = known_part(standing.state, fields.part)
    if isinstance(part, Refusal):
        return part
    return recorded(fields) if standing.state.is_out(part.id) else Refusal(f"{part.part.name} is not out")


def _part_stored(standing: Standing, fields: entries.PartStored) -> Ruling:
    if (thing := standing.state.thing(fields.part)) is not None:
        return thing_stored(standing.state, thing) or recorded(fields)
    part = known_part(standing.state, fields.part)
    if isinstance(part, Refusal):
        return part
    if not standing.state.is_out(part.id):
        return Refusal(f"{part.part.name} is not off yet: it cannot be stored")
    return recorded(fields)


def _module(standing: Standing, fields: entries.StillFitted | entries.NotThere) -> Ruling:
    thing = standing.state.thing(fields.module) if isinstance(fields, entries.NotThere) else None
    if thing is not None:
        return thing_not_live(standing.state, thing) or recorded(fields)
    known = {module.id for module in standing.state.route.modules}
    if fields.module not in known:
        return Refusal(f"this car may not carry {fields.module}{did_you_mean(fields.module, known)}")
    return recorded(fields)


# -- gates


def _gate(standing: Standing, gate_id: str, kind: type[Gate], asks: str) -> GateView | Refusal:
    """The gate as it stands, when it is of the kind the entry is for."""
    gates = standing.state.route.library.gates
    if gate_id not in gates:
        return Refusal(f"no gate is called {gate_id}{did_you_mean(gate_id, gates)}")
    if not isinstance(gates[gate_id], kind):
        return Refusal(f"{gates[gate_id].title} is a gate of kind {gates[gate_id].kind}: {asks}", gate_id)
    if standing.state.route.shape.has_none_of(gates[gate_id].has):
        return Refusal(f"{gates[gate_id].title}: {standing.gates[gate_id].why} Nothing to enter")
    return standing.gates[gate_id]


def _behind(view: GateView) -> Refusal | None:
    """A gate is made only once those it follows stand."""
    return Refusal(f"{view.gate.title}: {view.why}", view.first) if view.first else None


def _gate_tick(standing: Standing, fields: entries.GateTick) -> Ruling:
    view = _gate(standing, fields.gate, TicksGate, "it is not ticked")
    if isinstance(view, Refusal):
        return view
    if refused := _behind(view):
        return refused
    following = next((tick for tick in view.ticks if not tick.done), None)
    if following is None:
        return Refusal(f"{view.gate.title} " + ("stands already" if view.stands else f"is confirmed: {view.why}"))
    if fields.tick != following.n:
        return Refusal(f"tick {following.n} comes next: {following.says}", view.gate.id)
    route = standing.state.route
    sources = sorted(route.sources) if fields.gate in route.isolating else []
    filled = {"says": following.says} | ({"sources": sources} if sources else {})
    return recorded(fields.model_copy(update={"sources": None})) | filled


def _gate_reading(standing: Standing, fields: entries.GateReading) -> Ruling:
    """A reading is a fact and always taken; whether the gate stands by it is another matter."""
    view = _gate(standing, fields.gate, ReadingGate, "it takes no reading")
    if isinstance(view, Refusal):
        return view
    gate, fields = view.gate, fields.model_copy(update={"says": None})
    assert isinstance(gate, ReadingGate)
    if " ".join(fields.value.casefold().replace("-", " ").split()) in OVER_RANGE:
        return recorded(fields) | _over_range(gate)
    read = {"carbon_dioxide_ppm": units.carbon_dioxide_ppm, "voltage_v": units.voltage_v}[gate.quantity]
    try:
        number = read(fields.value)
    except units.UnitError as error:
        return Refusal(_no_reading(gate, fields.value, str(error)), about="value", wrong_use=True)
    return recorded(fields) | {"number": number}


def _no_reading(gate: ReadingGate, value: str, error: str) -> str:
    """What is wrong with a reading; a bare number most likely lacks the one unit that the gate is read in."""
    unit = UNITS[gate.quantity]
    whole = units.with_unit(value, unit)
    return f"{value} has no unit: write {whole}" if whole != value else f"{error} ({gate.title} is read in {unit})"


def _over_range(gate: ReadingGate) -> dict[str, Any]:
    """A meter at full scale may mean anything above it: it counts as the highest level, however far it reads, and on
    leads as a battery."""
    if gate.quantity == "voltage_v":
        return {"number": max(OVER_RANGE_V, gate.below), "says": "more than it can measure"}
    highest = max((level.at for level in gate.levels), default=gate.below)
    return {"number": max(highest, gate.full_scale or highest)}


def _gate_figure(standing: Standing, fields: entries.GateFigure) -> Ruling:
    view = _gate(standing, fields.gate, FigureGate, "it rests on no figure")
    if isinstance(view, Refusal):
        return view
    if fields.ice_kg <= 0:
        return Refusal("no ice, no figure: enter the kilos about to be laid, like ice=3kg")
    if fields.over_min > RELEASE_MIN:
        longest = f"over={fields.over} is more than {RELEASE_MIN:g} min"
        return Refusal(f"{longest}: on bare steel the whole charge counts as gone in that time")
    if fields.over_min < SHORTEST_RELEASE_MIN:
        shortest = f"over={fields.over} is less than {SHORTEST_RELEASE_MIN:g} min"
        return Refusal(f"{shortest}: ice lies 8 min and more before a pad cracks (the limit is this project's policy)")
    return (
        _behind(view)
        or _less_than_was_laid(standing.state, fields)
        or recorded(fields) | _counted_with(standing.state, fields)
    )


def _less_than_was_laid(state: State, fields: entries.GateFigure) -> Refusal | None:
    """Counted again, ice that lies in the car is no less than it was: nobody weighs what has gone off."""
    laid_kg = state.gates.laid_for_good_kg(fields.gate, state.last) if fields.same and state.last else 0.0
    if fields.ice_kg >= laid_kg:
        return None
    why = f"ice={fields.ice} is less than lies there already (limit: no less than {laid_kg:.1f} kg)"
    return Refusal(f"{why}: it counts whole until its minutes are over. Enter all of it, with same=yes", about="ice")


def _counted_with(state: State, fields: entries.GateFigure) -> dict[str, Any]:
    """What the figure counts with besides the ice, as it is at this moment; what it says counts as done."""
    ice, verdict = ice_counted(state, fields.gate, fields.ice_kg, fields.over_min, again=bool(fields.same))
    counted = {"over_min": ice.over_min, "start_ppm": ice.start_ppm, "lying_kg": ice.lying_kg}
    return counted | {"allowed": verdict.stands}


def _gate_signed(standing: Standing, fields: entries.GateSigned) -> Ruling:
    view = _gate(standing, fields.gate, StopGate, "nobody's signature opens it")
    if isinstance(view, Refusal):
        return view
    return _behind(view) or _no_signature(fields) or recorded(fields)


def _no_signature(fields: entries.GateSigned) -> Refusal | None:
    """A person has a name and a paper a title: a bare number comes from a scale, a scanner or a glove."""
    for key, said, wanted in (
        ("by", fields.by, "the name and licence of who did it"),
        ("paper", fields.paper, "what paper it is, its number and date"),
    ):
        if sum(character.isalpha() for character in said) < LEAST_LETTERS:
            return Refusal(f"{key}={said} is no signature: say in words {wanted}", fields.gate)
    if fields.by.casefold() == fields.paper.casefold():
        return Refusal(f"by= and paper= both say {fields.by}: say who did it, and what paper shows it", fields.gate)
    return None


def _manual_wait(standing: Standing, fields: entries.ManualWait) -> Ruling:
    view = _gate(standing, fields.gate, WaitGate, "it has no wait")
    return view if isinstance(view, Refusal) else recorded(fields)


def _wait_over(standing: Standing, fields: entries.WaitOver) -> Ruling:
    view = _gate(standing, fields.gate, WaitGate, "it has no wait")
    if isinstance(view, Refusal):
        return view
    if not view.stands:
        return Refusal(f"{view.gate.title}: {view.why}", view.first or view.gate.id)
    return recorded(fields)


# -- questions about the car


def _car_answered(standing: Standing, fields: entries.CarAnswered) -> Ruling:
    state = standing.state
    known = state.route.library.features
    feature = known.get(fields.feature)
    if feature is None:
        return Refusal(f"no question is called {fields.feature}{did_you_mean(fields.feature, known)}", about="feature")
    if fields.fitted != "yes" and feature.fuel is not None and feature.fuel == state.facts.fuel:
        return Refusal(f'{feature.asks} car.toml says fuel = "{feature.fuel}", which answers yes: change that there')
    if fields.fitted == "no" and (shown := what_shows_it(state, feature.id)):
        return Refusal(f"{feature.asks} {shown}: the car has it. If that is wrong, take it back first")
    return _no_unseen(state, feature, fields.fitted) or recorded(fields) | {"before": answer_now(state, feature.id)}


def _no_unseen(state: State, feature: Feature, fitted: str) -> Refusal | None:
    """Not known counts as there; but what hangs on something that is none of this car's would count as no."""
    hangs_on = feature.only_if
    if fitted != "unknown" or answer_now(state, feature.id) != "yes" or not hangs_on:
        return None
    if answer_now(state, hangs_on) != "no":
        return None
    as_no = f"unknown would count as no ({state.route.library.features[hangs_on].asks} No)"
    return Refusal(f"{feature.asks} {as_no}. Put that right first, or answer no")


def _rule_answered(standing: Standing, fields: entries.RuleAnswered) -> Ruling:
    state = standing.state
    known = state.route.library.rules
    if fields.rule not in known:
        return Refusal(f"no rule is called {fields.rule}{did_you_mean(fields.rule, known)}", about="rule")
    if sum(map(str.isalnum, fields.says)) < 1:
        return Refusal(f"says={fields.says}: say where the rule book says so, like 4.2, or who says so", about="says")
    return recorded(fields) | {"before": rule_now(state, fields.rule)}


def _note(standing: Standing, fields: entries.Note) -> Ruling:
    laid = None if fields.step is None else known_step(standing.state, fields.step)
    return laid if isinstance(laid, Refusal) else recorded(fields)


def _undo(standing: Standing, fields: entries.Undo) -> Ruling:
    state = standing.state
    why = state.why_not_undone(fields.entry) or why_it_carries(state, fields.entry)
    return recorded(fields) if why is None else Refusal(why)


_RULES: dict[type[Fields], Callable[[Standing, Any], Ruling]] = {
    entries.StepDone: _step_done,
    entries.StepUndone: _step_undone,
    entries.StepSkipped: _step_put_off,
    entries.StepDeferred: _step_put_off,
    entries.GateTick: _gate_tick,
    entries.GateReading: _gate_reading,
    entries.GateFigure: _gate_figure,
    entries.GateSigned: _gate_signed,
    entries.ManualWait: _manual_wait,
    entries.WaitOver: _wait_over,
    entries.PartOff: _part_off,
    entries.PartBack: _part_back,
    entries.PartStored: _part_stored,
    **TALLY_RULES,
    entries.StillFitted: _module,
    entries.NotThere: _module,
    entries.CarAnswered: _car_answered,
    entries.RuleAnswered: _rule_answered,
    entries.Note: _note,
    entries.Undo: _undo,
}
