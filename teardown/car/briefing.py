"""What is told of a step before it is done, in labelled lines: the same words on the screen and line by line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from teardown import units
from teardown.car.bags import bag_numbers
from teardown.car.mass import part_mass
from teardown.car.state import State
from teardown.car.steps import StepView
from teardown.packs.model import Fasteners, Hazard, greatest_first
from teardown.packs.route import RoutePart

Told = tuple[str, str]
"""A label and what it tells; nothing, where there is nothing to tell."""


def hazards_of(state: State, view: StepView) -> list[Hazard]:
    """The hazards of a step, the greatest first."""
    return greatest_first(state.route.library.hazards[name] for name in view.laid.step.hazards)


def at_a_glance(state: State, view: StepView) -> Iterator[Told]:
    """What must be known with the tools in hand: people, parts, tools, fasteners and their bag."""
    step = view.laid.step
    if step.people > 1:
        yield "People:", f"{step.people}"
    for placed in (state.route.parts[part.id] for part in step.parts):
        yield ("On:" if placed.part.counts == "added" else "Off:"), _part_line(state, placed)
    yield "Tools:", ", ".join(step.tools)
    bag = bag_numbers(state).get(view.ref)
    for fasteners in step.fasteners:
        yield "Fasteners:", _fasteners_line(fasteners, bag)


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
        low, _, high = (units.show_mass(kg, unit) for kg in part.kg)
        weight = f"about {units.show_mass(mass.kg, unit)} ({low} to {high})"
    else:
        weight = f"weighed {units.show_mass(mass.kg, unit)}"
    where = state.stored_at(part.id)
    return f"{part.part.name}, {weight}" + (f", stored: {where}" if where else "")


def _fasteners_line(fasteners: Fasteners, bag: int | None) -> str:
    goes = {
        "bag": f"BAG {bag}",
        "refit": "in its place at once",
        "discard": "throw away",
        "stays": "left on its part or wire",
    }
    return f"{fasteners.in_words}: {goes[fasteners.fate]}"
