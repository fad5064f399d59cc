"""The floors of safety. They are written here and not in a pack, so that no pack can lower them.

Sources of the carbon dioxide limits: 5 000 ppm over 8 hours, 29 CFR 1910.1000 Table Z-1; 15 000 ppm over 15 minutes,
EH40/2005 (4th edition 2020); 30 000 ppm over 15 minutes, ACGIH threshold limit values (secondary copy).
The minutes of the airbag wait are policy: makers' manuals ask from 10 s to 10 min and more, and nobody may guess down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple, TypeVar

from teardown.packs.model import Gate, PeopleGate, ReadingGate, TicksGate, WaitGate
from teardown.packs.problems import Problem, shown
from teardown.packs.reader import Library
from teardown.packs.references import masses

AIRBAG_WAIT_FLOOR_MIN = 10.0
AIRBAG_WAIT_UNKNOWN_MIN = 30.0

CARBON_DIOXIDE_LEAVE_PPM = 5_000.0  # 29 CFR 1910.1000 Table Z-1
CARBON_DIOXIDE_SHORT_PPM = 15_000.0  # EH40/2005
CARBON_DIOXIDE_EVACUATE_PPM = 30_000.0  # ACGIH
CARBON_DIOXIDE_LEVELS_PPM = (CARBON_DIOXIDE_LEAVE_PPM, CARBON_DIOXIDE_SHORT_PPM, CARBON_DIOXIDE_EVACUATE_PPM)
CARBON_DIOXIDE_FRESH_MIN = 15.0

ONE_PERSON_KG = 20.0  # common practice: lifts in a car are twisted and at arm's length
AWKWARD_KG = 10.0  # common practice

KINDS_BROUGHT = {
    "airbag": ("ticks", "wait", "people"),
    "dry-ice": ("count", "figure", "people", "reading"),
    "refrigerant": ("stop",),
    "high-voltage": ("stop",),
    "heavy-lift": ("people",),
    "crush": ("people",),
    "glass": ("people",),
    "moving": ("people",),
    "power-up": ("people", "count"),
    "hot-work": ("count", "people"),
    "drilling": ("count",),
    "left-out": ("back",),
}
"""The kinds of gate that these hazards bring, whatever a pack says."""

_GateType = TypeVar("_GateType", bound=WaitGate | ReadingGate)


class _Shortfall(NamedTuple):
    """Where a gate stays below a floor."""

    key: str
    found: object
    wanted: str


def hazards_bring_their_gates(library: Library) -> Iterator[Problem]:
    """Airbags, ice, licensed work, hot work, what is never done alone and parts left out bring the gates they must."""
    for name, kinds in KINDS_BROUGHT.items():
        if name not in library.hazards or not _is_whole(library, name):
            continue
        brought = {gate.kind for gate in _gates_of(library, name)}
        for kind in kinds:
            if kind not in brought:
                found = f"gates of these kinds: {', '.join(sorted(brought))}" if brought else "no gates"
                wanted = f"a gate of kind {kind} among them, or among those they follow"
                yield library.problem("hazard", name, "gates", found, wanted)


def grave_hazards_bring_a_gate(library: Library) -> Iterator[Problem]:
    """A hazard marked DANGER or WARNING brings at least one gate."""
    for hazard in library.hazards.values():
        if hazard.signal in ("DANGER", "WARNING") and not hazard.gates and hazard.id not in KINDS_BROUGHT:
            yield library.problem("hazard", hazard.id, "gates", "no gates", f"at least one: it says {hazard.signal}")


def airbags_wait_long_enough(library: Library) -> Iterator[Problem]:
    """Before an airbag step the battery has been ticked off and the whole wait has run since."""
    waits = [gate for gate in _gates_of(library, "airbag") if isinstance(gate, WaitGate)]
    yield from _best(library, waits, lambda gate: _airbag_shortfalls(library, gate))


def dry_ice_is_measured(library: Library) -> Iterator[Problem]:
    """Before a dry-ice step carbon dioxide has been read: low enough, lately, on a meter that reads far enough."""
    readings = [gate for gate in _gates_of(library, "dry-ice") if isinstance(gate, ReadingGate)]
    yield from _best(library, readings, _dry_ice_shortfalls)


def live_modules_come_off_behind_the_airbag_gates(library: Library) -> Iterator[Problem]:
    """A step that takes off a part with live modules meets the hazard `airbag`."""
    for reference, step in library.steps.items():
        for n, part in enumerate(step.parts):
            if part.modules and "airbag" not in library.hazards_of(reference):
                wanted = "the hazard `airbag` on this step, or no live module in this part"
                yield library.problem("step", reference, f"parts[{n}].modules", shown(part.modules), wanted)


def heavy_parts_are_lifted_by_two(library: Library) -> Iterator[Problem]:
    """A part that may be over 20 kg, or over 10 kg where two lift, meets the hazard `heavy-lift`."""
    for reference, step in library.steps.items():
        if "heavy-lift" in library.hazards_of(reference):
            continue
        for n, part in enumerate(step.parts):
            for key, kg in masses(part) if part.counts != "fluid" else ():
                _, likely_kg, high_kg = (one / part.quantity for one in kg)
                path = f"parts[{n}].{key}"
                if high_kg > ONE_PERSON_KG:
                    wanted = f"the hazard `heavy-lift` on this step: one person lifts at most {ONE_PERSON_KG:g} kg"
                    yield library.problem("step", reference, path, f"up to {high_kg:g} kg each", wanted)
                elif step.people >= 2 and likely_kg > AWKWARD_KG:
                    wanted = f"the hazard `heavy-lift` on this step: two people lift more than {AWKWARD_KG:g} kg"
                    yield library.problem("step", reference, path, f"likely {likely_kg:g} kg each", wanted)


def heavy_lifts_have_two_people(library: Library) -> Iterator[Problem]:
    """A step with the hazard `heavy-lift` has at least two people."""
    for reference, step in library.steps.items():
        if "heavy-lift" in library.hazards_of(reference) and step.people < 2:
            wanted = "at least 2, because of the hazard `heavy-lift`"
            yield library.problem("step", reference, "people", shown(step.people), wanted)


def work_for_two_asks_who_is_here(library: Library) -> Iterator[Problem]:
    """A step for two or more people meets a hazard that brings a gate of kind people."""
    for reference, step in library.steps.items():
        hazards = library.hazards_of(reference)
        if step.people < 2 or not all(name in library.hazards and _is_whole(library, name) for name in hazards):
            continue
        if not any(isinstance(gate, PeopleGate) for name in hazards for gate in _gates_of(library, name)):
            wanted = "a hazard on this step that brings a gate of kind people: nobody asks who is here"
            yield library.problem("step", reference, "people", shown(step.people), wanted)


def high_voltage_shuts_every_step(library: Library) -> Iterator[Problem]:
    """The hazard `high-voltage` is met everywhere: until somebody licensed has signed, nothing is done at the car."""
    hazard = library.hazards.get("high-voltage")
    if hazard is not None and not hazard.everywhere:
        yield library.problem("hazard", hazard.id, "everywhere", shown(False), "true: every step at the car meets it")


def what_is_out_for_now_is_asked_for(library: Library) -> Iterator[Problem]:
    """After a step that takes a part out for now comes one with the hazard `left-out`, which asks for the part."""
    if any(kind in ("pack", "step") for kind, _ in library.unread):
        return
    last = max((n for n, name in enumerate(library.steps) if "left-out" in library.hazards_of(name)), default=-1)
    for n, (reference, step) in enumerate(library.steps.items()):
        for m, part in enumerate(step.parts):
            if part.counts == "temporary" and n >= last:
                wanted = "a later step with the hazard `left-out`, which asks for this part"
                yield library.problem("step", reference, f"parts[{m}].counts", shown(part.counts), wanted)


def _airbag_shortfalls(library: Library, gate: WaitGate) -> Iterator[_Shortfall]:
    followed = [library.gates[name] for name in gate.follows if name in library.gates]
    if not any(isinstance(before, TicksGate) and "power" in before.lapses for before in followed):
        yield _Shortfall("follows", gate.follows, "a gate of kind ticks that lapses on power: the battery, ticked off")
    if gate.has:
        yield _Shortfall("has", gate.has, "nothing: the airbag wait stands by itself on no car")
    if gate.floor_min < AIRBAG_WAIT_FLOOR_MIN:
        yield _Shortfall("floor_min", gate.floor_min, f"at least {AIRBAG_WAIT_FLOOR_MIN:g}, for airbags")
    if gate.unknown_min < AIRBAG_WAIT_UNKNOWN_MIN:
        yield _Shortfall("unknown_min", gate.unknown_min, f"at least {AIRBAG_WAIT_UNKNOWN_MIN:g}, for airbags")


def _dry_ice_shortfalls(gate: ReadingGate) -> Iterator[_Shortfall]:
    if gate.quantity != "carbon_dioxide_ppm":
        yield _Shortfall("quantity", gate.quantity, "carbon_dioxide_ppm, for dry ice")
    if gate.has:
        yield _Shortfall("has", gate.has, "nothing: the reading for dry ice stands by itself on no car")
    if gate.below > CARBON_DIOXIDE_LEAVE_PPM:
        yield _Shortfall("below", gate.below, f"at most {CARBON_DIOXIDE_LEAVE_PPM:g}, for dry ice")
    if (gate.full_scale or 0) < CARBON_DIOXIDE_EVACUATE_PPM:
        yield _Shortfall("full_scale", gate.full_scale, f"at least {CARBON_DIOXIDE_EVACUATE_PPM:g}, for dry ice")
    if gate.fresh_min is None or gate.fresh_min > CARBON_DIOXIDE_FRESH_MIN:
        yield _Shortfall("fresh_min", gate.fresh_min, f"at most {CARBON_DIOXIDE_FRESH_MIN:g}, for dry ice")
    yield from _level_shortfalls(gate)


def _level_shortfalls(gate: ReadingGate) -> Iterator[_Shortfall]:
    """A level for each limit, at the limit or below it, and back to work only below the lowest limit."""
    levels = sorted(level.at for level in gate.levels)
    for n, limit_ppm in enumerate(CARBON_DIOXIDE_LEVELS_PPM):
        if n >= len(levels) or levels[n] > limit_ppm:
            yield _Shortfall("levels", [f"{at:g}" for at in levels], _levels_wanted())
            break
    for n, level in enumerate(gate.levels):
        if level.back_below > CARBON_DIOXIDE_LEAVE_PPM:
            wanted = f"at most {CARBON_DIOXIDE_LEAVE_PPM:g}, for dry ice"
            yield _Shortfall(f"levels[{n}].back_below", level.back_below, wanted)


def _levels_wanted() -> str:
    first, second, third = (f"{limit_ppm:g}" for limit_ppm in CARBON_DIOXIDE_LEVELS_PPM)
    return f"levels at {first}, {second} and {third} or below, for dry ice"


def _best(
    library: Library, gates: Iterable[_GateType], shortfalls: Callable[[_GateType], Iterable[_Shortfall]]
) -> Iterator[Problem]:
    """One gate above every floor is enough; when none is, what the nearest to it falls short of."""
    fewest = min(((gate, tuple(shortfalls(gate))) for gate in gates), key=lambda pair: len(pair[1]), default=None)
    if fewest is not None:
        gate, short = fewest
        for key, found, wanted in short:
            yield library.problem("gate", gate.id, key, "nothing" if found is None else shown(found), wanted)


def _gates_of(library: Library, hazard: str) -> tuple[Gate, ...]:
    """The gates of a hazard and all they follow; none when the hazard or one of them could not be read."""
    whole = hazard in library.hazards and _is_whole(library, hazard)
    return library.gates_behind(library.hazards[hazard].gates) if whole else ()


def _is_whole(library: Library, hazard: str) -> bool:
    gates = library.gates_behind(library.hazards[hazard].gates)
    names = {*library.hazards[hazard].gates, *(name for gate in gates for name in gate.follows)}
    return not library.shared_unread and names <= library.gates.keys()
