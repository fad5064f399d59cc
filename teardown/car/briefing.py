"""What is told of a step before it is done, and of an entry after: the same words on the screen and line by line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from operator import attrgetter

from teardown import units
from teardown.car.bags import bag_numbers
from teardown.car.gates import UNITS, GateView
from teardown.car.log import Entry
from teardown.car.mass import part_mass
from teardown.car.state import State
from teardown.car.steps import StepView
from teardown.packs.model import Hazard, ReadingGate, StopGate, greatest_first
from teardown.packs.route import RoutePart, RouteStep

Told = tuple[str, str]
"""A label and what it tells; nothing, where there is nothing to tell."""


def hazards_of(state: State, view: StepView) -> list[Hazard]:
    """The hazards of a step, the greatest first."""
    return greatest_first(state.route.library.hazards[name] for name in view.laid.step.hazards)


def hands_needed(view: StepView) -> Told:
    """How many people a step takes, where one is not enough: read before what they do."""
    people = view.laid.step.people
    return "People:", f"{people}" if people > 1 else ""


def at_a_glance(state: State, view: StepView) -> Iterator[Told]:
    """What must be known with the tools in hand: these, the fasteners and their bag, what comes off."""
    step = view.laid.step
    yield "Tools:", ", ".join(step.tools)
    bag = bag_numbers(state).get(view.ref)
    for fate, together in groupby(step.fasteners, key=attrgetter("fate")):
        yield "Fasteners:", f"{'; '.join(fasteners.in_words for fasteners in together)}: {_where_to(fate, bag)}"
    for placed in (state.route.parts[part.id] for part in step.parts):
        yield ("On:" if placed.part.counts == "added" else "Off:"), _part_line(state, placed)


def notes_on(state: State, view: StepView) -> Iterator[Told]:
    """What was noted while this step was in front, the newest first: it was written to be found again."""
    for step, text in reversed([*state.notes]):
        if step == view.ref:
            yield "Note:", text


def hazard_of_gate(state: State, gate_id: str, laid: RouteStep) -> Hazard | None:
    """The hazard a gate is there for: the greatest of the step in front that brings it; of equal ones the one that is
    about the least besides. What stops for good stops for its own hazard, whatever that step meets: nobody reads of
    sparks where orange cable kills. A gate that no hazard of it brings has the greatest that does; none, where equal
    ones of several kinds do: half of all work asks for a second person, and not all of it brings a car down."""
    route = state.route
    known = route.library.hazards
    brings = [hazard for hazard in known.values() if gate_id in route.gate_order(hazard.gates)]
    stops = isinstance(route.gate(gate_id), StopGate)
    of_the_step = [] if stops else [hazard for hazard in brings if hazard.id in laid.step.hazards]
    among = of_the_step or brings
    directly = [hazard for hazard in among if gate_id in hazard.gates]
    ranked = greatest_first(sorted(directly or among, key=lambda hazard: len(hazard.gates)))
    equal = [hazard for hazard in ranked if hazard.signal == ranked[0].signal]
    is_told = of_the_step or all({*ranked[0].gates} <= {*hazard.gates} for hazard in equal)
    return ranked[0] if ranked and is_told else None


def why_a_gate(view: GateView, hazard: Hazard | None) -> Iterator[Told]:
    """What a gate is for, how to avoid its hazard, and where it comes from."""
    yield "Why:", view.gate.why
    yield "Avoid:", hazard.avoid if hazard else ""
    yield "Source:", view.gate.source


def to_open(view: GateView) -> Iterator[Told]:
    """What a gate asks for besides statements: what to read and how low, or whose paper."""
    gate = view.gate
    if isinstance(gate, ReadingGate):
        unit = UNITS[gate.quantity]
        fresh = f", and not older than {gate.fresh_min:g} min" if gate.fresh_min else ""
        yield "Read:", gate.reads
        yield "Stands:", f"below {gate.below:,g} {unit}{fresh}"
        for level in gate.levels:
            yield f"From {level.at:,g} {unit}:", level.do
    elif isinstance(gate, StopGate):
        yield "Paper:", gate.paper


def to_wear(hazards: Iterable[Hazard]) -> Told:
    """What all of the hazards ask to be worn, each once."""
    return "Wear:", ", ".join(dict.fromkeys(item for hazard in hazards for item in hazard.wear))


def good_to_know(state: State, view: StepView) -> Iterator[Told]:
    """What buyers, the next step and the person's own skin will be glad of."""
    step = view.laid.step
    for part in (state.route.parts[part.id] for part in step.parts):
        yield f"{part.part.name}:", (part.part.note or "") if part.fitted else ""
    yield "Hurts:", step.hurts or ""
    yield "Breaks:", step.breaks or ""
    yield "Keep:", step.keep or ""
    low, likely, high = step.minutes
    yield "Time:", f"about {likely:g} min ({low:g} to {high:g})"


def _part_line(state: State, part: RoutePart) -> str:
    if not part.fitted:
        return f"{part.part.name}: not on this car"
    mass, unit = part_mass(state, part), state.facts.mass_unit
    if mass.how == "estimate":
        low, _, high = (units.show_mass(kg, unit).removesuffix(f" {unit}") for kg in part.kg)
        weight = f"about {units.show_mass(mass.kg, unit)} ({low} to {high})"
    else:
        weight = f"weighed {units.show_mass(mass.kg, unit)}"
    where = state.stored_at(part.id)
    return f"{part.part.name}, {weight}" + (f", stored: {where}" if where else "")


def _where_to(fate: str, bag: int | None) -> str:
    goes = {
        "bag": f"BAG {bag}",
        "refit": "in its place at once",
        "discard": "throw away",
        "stays": "left on its part or wire",
    }
    return goes[fate]


def in_words(state: State, entry: Entry) -> str:
    """An entry in few words: what was written, and of what."""
    from teardown.car.tally import name_of  # the first picture tells of no entry

    fields, route = entry.fields, state.route
    step, gate, part = (str(fields.get(key, "")) for key in ("step", "gate", "part"))
    about = [
        route.by_ref[step].step.title if step in route.by_ref else step,
        route.gate(gate).title if gate in state.gates.records else gate,
        name_of(state, part) if part else "",
        *_answered(state, entry),
        *(str(fields[key]) for key in ("name", "what", "tick", "value", "reading", "amount", "text") if key in fields),
    ]
    return f"{entry.kind.replace('-', ' ')}: {', '.join(filter(None, about))}".removesuffix(": ")


def _answered(state: State, entry: Entry) -> Iterator[str]:
    """A question about the car, and its answer."""
    library, fields = state.route.library, entry.fields
    if entry.kind == "car-answered":
        feature = library.features.get(str(fields["feature"]))
        yield f"{feature.asks if feature else fields['feature']} {fields['fitted']}"
    elif entry.kind == "rule-answered":
        rule = library.rules.get(str(fields["rule"]))
        yield f"{rule.asks if rule else fields['rule']} {'yes' if fields['keep'] else 'no'}, {fields['says']}"
