"""The chosen packs in working order, for one car: what applies, what stays, what waits for a rule's answer."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, partial
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

from teardown.packs.model import (
    CountGate,
    Event,
    FuelKind,
    Gate,
    Hazard,
    Module,
    Pack,
    Part,
    ReadingGate,
    Step,
    TicksGate,
    WaitGate,
)
from teardown.packs.reader import Library


class KeepAnswer(NamedTuple):
    """What the rule book (or the cage builder) said about one question."""

    keep: bool
    rule: str
    date: str


class CarShape(NamedTuple):
    """What a route needs to know of a car. A feature without an answer counts as fitted."""

    fitted: Mapping[str, bool] = MappingProxyType({})
    driver_side: Literal["left", "right"] = "left"
    size_factor: float = 1.0
    rules: Mapping[str, KeepAnswer] = MappingProxyType({})
    fuel: FuelKind | None = None

    def lacks(self, features: tuple[str, ...]) -> str | None:
        """The first of `features` the owner said the car does not have."""
        return next((name for name in features if self.fitted.get(name) is False), None)

    def may_have(self, feature: str) -> bool:
        return self.fitted.get(feature) is not False

    def has_none_of(self, features: tuple[str, ...]) -> bool:
        """Whether the owner said of every one of `features` that the car does not have it."""
        return bool(features) and all(self.fitted.get(name) is False for name in features)

    def unanswered(self, features: tuple[str, ...]) -> tuple[str, ...]:
        """Those of `features` that nobody has said anything of; none once the car is known to have one of them."""
        if any(self.fitted.get(name) for name in features):
            return ()
        return tuple(name for name in features if name not in self.fitted)


class RouteStep(NamedTuple):
    """One step of the route, with its references made whole and what this car says to it."""

    ref: str
    pack: Pack
    step: Step
    needs: tuple[str, ...]
    after: tuple[str, ...]
    hazards: tuple[str, ...]
    gates: tuple[str, ...]
    """Those a licensed person opens come first: nobody begins on the rest without them."""
    watched: bool
    """Whether gates of its own watch over it, not only those that its pack or every step has: then skipping it meets
    no need."""
    until: tuple[str, ...]
    """The gates that shut every other step at the car once this one is done."""
    causes: tuple[Event, ...]
    undone_causes: tuple[Event, ...]
    isolates: bool
    """Whether a source of power comes off in it: a wait counts from when the last of such steps is done."""
    not_fitted: str | None
    kept: str | None
    unanswered: str | None


class RoutePart(NamedTuple):
    """A part this car may carry, with its masses scaled to the car's size."""

    part: Part
    step: str
    kg: tuple[float, float, float]
    x: float
    y: float
    fitted: bool

    @property
    def id(self) -> str:
        return self.part.id


@dataclass(frozen=True)
class Route:
    """All steps for one car, in working order."""

    library: Library
    shape: CarShape
    """As the owner's answers, and what follows from them, make it."""
    steps: tuple[RouteStep, ...]
    parts: Mapping[str, RoutePart]

    @cached_property
    def by_ref(self) -> dict[str, RouteStep]:
        return {step.ref: step for step in self.steps}

    @cached_property
    def fitted_parts(self) -> tuple[str, ...]:
        """Names of the parts this car may carry, in working order."""
        return tuple(part.id for part in self.parts.values() if part.fitted)

    @cached_property
    def modules(self) -> tuple[Module, ...]:
        """The live modules this car may carry: all that nobody has ruled out."""
        return tuple(module for module in self.library.modules.values() if self.may_carry(module.id))

    def may_carry(self, module: str) -> bool:
        """Whether this car may carry a module: only the owner's word on its features rules it out."""
        known = self.library.modules.get(module)
        return known is None or self.shape.lacks(known.has) is None

    @cached_property
    def carriers(self) -> dict[str, tuple[str, ...]]:
        """For each live module, the parts that carry it."""
        found: dict[str, list[str]] = {}
        for part in self.parts.values():
            for module in part.part.modules:
                found.setdefault(module, []).append(part.id)
        return {module: tuple(parts) for module, parts in found.items()}

    @cached_property
    def followers(self) -> dict[str, tuple[str, ...]]:
        """For each gate, the gates that follow it."""
        found: dict[str, list[str]] = {gate: [] for gate in self.library.gates}
        for gate in self.library.gates.values():
            for followed in gate.follows:
                found[followed].append(gate.id)
        return {gate: tuple(after) for gate, after in found.items()}

    @cached_property
    def waits(self) -> tuple[WaitGate, ...]:
        return tuple(gate for gate in self.library.gates.values() if isinstance(gate, WaitGate))

    @cached_property
    def air_gates(self) -> tuple[ReadingGate, ...]:
        """The gates at which carbon dioxide is read."""
        gates = self.library.gates.values()
        return tuple(gate for gate in gates if isinstance(gate, ReadingGate) and gate.quantity == "carbon_dioxide_ppm")

    @cached_property
    def isolating(self) -> frozenset[str]:
        """The gates that a wait counts from: they stand for every source of power being off."""
        return frozenset(name for wait in self.waits for name in wait.follows)

    @cached_property
    def sources(self) -> frozenset[str]:
        """The sources of power this car may have: all that nobody has ruled out."""
        features = self.library.features.values()
        return frozenset(f.id for f in features if f.source_of_power and self.shape.may_have(f.id))

    @cached_property
    def counting(self) -> tuple[str, ...]:
        """The gates at which live modules are counted by hand."""
        gates = self.library.gates.values()
        return tuple(gate.id for gate in gates if isinstance(gate, TicksGate) and gate.counts_modules)

    @cached_property
    def pausing(self) -> tuple[Gate, ...]:
        """The gates that lapse when nothing is written for long."""
        return tuple(gate for gate in self.library.gates.values() if gate.pause_min is not None)

    @cached_property
    def holding(self) -> tuple[str, ...]:
        """The gates that may shut steps whose hazards do not bring them, the most urgent first."""
        gates = self.library.gates.values()
        alarms = [gate.id for gate in gates if isinstance(gate, ReadingGate) and gate.levels]
        until = [hazard.until for hazard in self.library.hazards.values() if hazard.until]
        return tuple(dict.fromkeys((*alarms, *until, *self.counting, *(wait.id for wait in self.waits))))

    @cached_property
    def outside(self) -> frozenset[str]:
        """The live modules outside the cabin of this car. What nobody has answered puts them inside."""
        return frozenset(m.id for m in self.modules if m.outside and not any(map(self.shape.may_have, m.inside_with)))

    @cached_property
    def lapsing(self) -> dict[Event, tuple[str, ...]]:
        """For each event, the gates it shuts."""
        gates = self.library.gates.values()
        events = {event for gate in gates for event in gate.lapses}
        return {event: tuple(gate.id for gate in gates if event in gate.lapses) for event in events}

    @cached_property
    def counts(self) -> tuple[CountGate, ...]:
        return tuple(gate for gate in self.library.gates.values() if isinstance(gate, CountGate))

    @cached_property
    def out_for_now(self) -> tuple[RoutePart, ...]:
        """The parts this car may carry that come out only for now: they go back, or are posted as removed."""
        return tuple(part for part in self.parts.values() if part.fitted and part.part.counts == "temporary")

    @cached_property
    def planned_bags(self) -> dict[str, int]:
        """The bag number of each step that has fasteners to keep, as long as none was written: `car.bags` knows those.
        Every step of the packs counts, fitted or not, so that a number does not change when the owner finds out what
        the car has."""
        return {ref: number for number, ref in enumerate(bagged_steps(self.library), start=1)}

    @cached_property
    def pack_begins(self) -> frozenset[str]:
        """The first step of each pack that this car has: where the pack says why it is done."""
        begins: dict[str, str] = {}
        for step in self.steps:
            if step.not_fitted is None:
                begins.setdefault(step.pack.id, step.ref)
        return frozenset(begins.values())

    def gate(self, gate_id: str) -> Gate:
        return self.library.gates[gate_id]

    def gates_in_use(self) -> tuple[str, ...]:
        """Gates that some step of this route meets, with all they follow, in the order they are opened."""
        return self.gate_order(tuple(gate for step in self.steps for gate in step.gates))

    def gate_order(self, gates: tuple[str, ...]) -> tuple[str, ...]:
        """`gates` and everything they follow, each after what it follows."""
        ordered: dict[str, None] = {}

        def visit(gate_id: str) -> None:
            if gate_id not in ordered:
                for followed in self.gate(gate_id).follows:
                    visit(followed)
                ordered[gate_id] = None

        for gate_id in gates:
            visit(gate_id)
        return tuple(ordered)


def lay_route(library: Library, shape: CarShape) -> Route:
    """The route of `library`'s packs for a car of `shape`."""
    shape = shape._replace(fitted=settled(library, shape.fitted, shape.fuel))
    steps: dict[str, RouteStep] = {}
    parts: dict[str, RoutePart] = {}
    brought = cache(partial(_what_they_bring, library))
    for pack in library.packs:
        for step in pack.steps:
            laid = _lay_step(library, shape, pack, step, steps, brought)
            steps[laid.ref] = laid
            for part in step.parts:
                parts[part.id] = _lay_part(shape, laid, part)
    return Route(library, shape, _with_what_they_lean_on(steps), parts)


def _with_what_they_lean_on(steps: dict[str, RouteStep]) -> tuple[RouteStep, ...]:
    """Taking a step back does to gates what taking back the steps that need it would: an ignition switched on again
    undoes the isolating that began with it. Needs point at earlier steps, so one pass from the last step is enough."""
    undone: dict[str, dict[Event, None]] = {ref: dict.fromkeys(laid.undone_causes) for ref, laid in steps.items()}
    for laid in reversed(steps.values()):
        for need in laid.needs:
            undone.get(need, {}).update(undone[laid.ref])
    return tuple(
        laid._replace(undone_causes=events) if (events := tuple(undone[laid.ref])) != laid.undone_causes else laid
        for laid in steps.values()
    )


def settled(library: Library, fitted: Mapping[str, bool], fuel: str | None) -> dict[str, bool]:
    """The owner's answers, and those that follow from them. What the fuel answers with yes is yes, whatever else was
    said; what nobody answered is no where the feature it hangs on is none of this car's."""
    answers = dict(fitted)
    for name, feature in library.features.items():  # what settles another stands earlier
        if feature.fuel and feature.fuel == fuel:
            answers[name] = True
        elif name not in answers and feature.only_if and answers.get(feature.only_if) is False:
            answers[name] = False
    return answers


def keeps_fasteners(step: Step) -> bool:
    return bool(step.bagged)


def bagged_steps(library: Library) -> tuple[str, ...]:
    """The steps that have fasteners to keep, in the order of their bags: what packs of one's own bring comes last, so
    that the bags of the packs that ship keep their numbers."""
    steps = (ref for ref, step in library.steps.items() if keeps_fasteners(step))
    return tuple(dict.fromkeys((*library.bagged_before, *steps)))


def whole_reference(pack: Pack, reference: str) -> str:
    """A reference without a dot means a step of the same pack."""
    return reference if "." in reference else f"{pack.id}.{reference}"


class _Brought(NamedTuple):
    """What the hazards of a step bring to it."""

    gates: tuple[str, ...]
    until: tuple[str, ...]
    causes: tuple[Event, ...]
    undone_causes: tuple[Event, ...]
    isolates: bool


def _what_they_bring(library: Library, hazards: tuple[str, ...]) -> _Brought:
    met = [library.hazards[name] for name in hazards]
    gates = dict.fromkeys(gate for hazard in met for gate in hazard.gates)
    return _Brought(
        gates=tuple(sorted(gates, key=library.opened_here.__contains__)),
        until=tuple(hazard.until for hazard in met if hazard.until),
        causes=tuple(dict.fromkeys(event for hazard in met for event in hazard.causes)),
        undone_causes=tuple(dict.fromkeys(event for hazard in met for event in hazard.undone_causes)),
        isolates=_isolates(library, met),
    )


def _isolates(library: Library, hazards: Iterable[Hazard]) -> bool:
    """Taken back, it would be power; and it is done before the wait has run, not because it has."""
    behind = library.gates_behind([gate for hazard in hazards for gate in hazard.gates])
    is_power = any("power" in hazard.undone_causes for hazard in hazards)
    return is_power and not any(isinstance(gate, WaitGate) for gate in behind)


def _lay_step(
    library: Library,
    shape: CarShape,
    pack: Pack,
    step: Step,
    laid: Mapping[str, RouteStep],
    brought: Callable[[tuple[str, ...]], _Brought],
) -> RouteStep:
    needs = tuple([whole_reference(pack, reference) for reference in step.needs])
    met = pack.hazards_of(step, library.everywhere)
    gates, until, causes, undone_causes, isolates = brought(met)
    return RouteStep(
        ref=f"{pack.id}.{step.id}",
        pack=pack,
        step=step,
        needs=needs,
        after=tuple([whole_reference(pack, reference) for reference in step.after]),
        hazards=met,
        gates=gates,
        watched=any(library.hazards[name].gates for name in step.hazards),
        until=until,
        causes=tuple(dict.fromkeys((*step.causes, *causes))) if step.causes else causes,
        undone_causes=undone_causes,
        isolates=isolates,
        not_fitted=_not_fitted(library, shape, pack, step),
        kept=_kept(shape, step, needs, laid),
        unanswered=_unanswered(library, shape, step),
    )


def _not_fitted(library: Library, shape: CarShape, pack: Pack, step: Step) -> str | None:
    lacking = shape.lacks(pack.has + step.has)
    missing = step.has_any if shape.has_none_of(step.has_any) else ()
    missing = missing if lacking is None else (lacking,)
    asked = " ".join(f"{library.features[name].asks} No." for name in missing)
    return f"not on this car: {asked}" if asked else None


def _kept(shape: CarShape, step: Step, needs: tuple[str, ...], laid: Mapping[str, RouteStep]) -> str | None:
    answer = shape.rules.get(step.keep_rule) if step.keep_rule else None
    if answer is not None and answer.keep:
        return f"rule {answer.rule} ({answer.date})"
    for need in needs:
        before = laid.get(need)
        if before is not None and before.kept:
            return f"stays with {before.step.title} ({before.kept})"
    return None


def _unanswered(library: Library, shape: CarShape, step: Step) -> str | None:
    if step.keep_rule is None or step.keep_rule in shape.rules:
        return None
    return f"answer first: {library.rules[step.keep_rule].asks} (rule-answered rule={step.keep_rule})"


def _lay_part(shape: CarShape, laid: RouteStep, part: Part) -> RoutePart:
    part = _as_answered(shape, part)
    low, likely, high = (kg * shape.size_factor for kg in part.kg)
    fitted = laid.not_fitted is None and shape.lacks(part.has) is None
    return RoutePart(part, laid.ref, (low, likely, high), part.place.x, side_share(shape, part.place.y), fitted)


def _as_answered(shape: CarShape, part: Part) -> Part:
    """The part as the owner's answers make it. Not knowing is no answer: the pack's own figures reach over both."""
    changes: dict[str, Any] = {}
    for variant in part.variants:
        if shape.fitted.get(variant.feature) is variant.fitted:
            changes |= variant.changes
    return part.model_copy(update=changes) if changes else part


def side_share(shape: CarShape, y: str) -> float:
    """Share of the track, right positive. `D` and `P` follow the steering side."""
    if y[0] not in "DP":
        return float(y)
    on_the_left = (y[0] == "D") == (shape.driver_side == "left")
    return -float(y[1:]) if on_the_left else float(y[1:])
