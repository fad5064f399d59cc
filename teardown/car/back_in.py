"""What is told when a part goes back into the car past its gates: that it is in is a fact, and never refused."""

from __future__ import annotations

from collections.abc import Iterator

from teardown.car.gates import look
from teardown.car.state import State
from teardown.packs.model import CountGate, Hazard
from teardown.packs.route import RoutePart


def told_of_what_is_back(state: State, name: str) -> str:
    """The hazards of having it in, and the gates of theirs that do not stand; nothing when all of them do, or when no
    pack knows the part."""
    part = state.route.parts.get(name)
    if part is None or state.last is None:
        return ""
    hazards = tuple(_hazards_of_having_it_back(state, part))
    gates = state.route.gate_order(tuple(gate for hazard in hazards for gate in hazard.gates))
    views = look(state.gates, state.last, state, gates)
    shut = [view for view in views.values() if not view.stands]
    if not shut:
        return ""
    counts = [view.shuts for view in shut if isinstance(view.gate, CountGate)]
    others = [view.gate.title for view in shut if not isinstance(view.gate, CountGate)]
    titles = "; ".join(hazard.title for hazard in hazards)
    return f"{part.part.name} is in again. {titles}. You have not confirmed: {'; '.join(counts + others)}"


def _hazards_of_having_it_back(state: State, part: RoutePart) -> Iterator[Hazard]:
    """Where it brings power, those of power that comes back; else those that could kill or maim in the step that takes
    it out, a live module only where one may be in it."""
    step, library = state.route.by_ref[part.step], state.route.library
    power = [h.id for h in library.hazards.values() if "power" in h.causes and "power" in step.undone_causes]
    for hazard in (library.hazards[name] for name in power or step.step.hazards):
        carried = hazard.id != "airbag" or not part.part.modules or state.may_be_live(part.part)
        if hazard.signal in ("DANGER", "WARNING") and carried:
            yield hazard
