"""Rules against gates that nobody could open, and gates that nothing asks for."""

from __future__ import annotations

from collections.abc import Iterator

from teardown.packs.model import LEAST_BELIEVED, BackGate, CountGate, ReadingGate, TicksGate, WaitGate
from teardown.packs.problems import Problem, shown
from teardown.packs.reader import Library
from teardown.packs.references import needed_by_way_of


def waits_follow_what_stays(library: Library) -> Iterator[Problem]:
    """A wait follows a gate, and one that no step uses up: otherwise there is nothing to count from."""
    for gate in _waits(library):
        followed = [library.gates[name] for name in gate.follows if name in library.gates]
        if not gate.follows:
            yield library.problem("gate", gate.id, "follows", "nothing", "a gate that the wait counts from")
        elif followed and all(before.each_step for before in followed):
            wanted = "a gate that stays: each step uses this one up, and the wait with it"
            yield library.problem("gate", gate.id, "follows", shown(gate.follows), wanted)


def nothing_follows_what_keeps_no_record(library: Library) -> Iterator[Problem]:
    """No gate follows one of kind back: it shuts without lapsing, and what follows it would outlive it."""
    for gate in library.gates.values():
        for n, name in enumerate(gate.follows):
            if isinstance(library.gates.get(name), BackGate):
                wanted = "a gate that keeps a record: let the hazard bring both gates instead"
                yield library.problem("gate", gate.id, f"follows[{n}]", shown(name), wanted)


def waits_outlast_no_pause(library: Library) -> Iterator[Problem]:
    """A wait ends before a pause lapses it: while hands are off the car nothing is entered."""
    for gate in _waits(library):
        for cause in library.gates_behind([gate.id]):
            if cause.pause_min is not None and cause.pause_min <= gate.unknown_min:
                wanted = f"more than the {gate.unknown_min:g} min of the wait `{gate.id}`, which this pause would lapse"
                yield library.problem("gate", cause.id, "pause_min", shown(cause.pause_min), wanted)


def waits_keep_their_floor(library: Library) -> Iterator[Problem]:
    """The minutes of a wait whose manual is not known are no fewer than its floor."""
    for gate in _waits(library):
        if gate.unknown_min < gate.floor_min:
            wanted = f"at least floor_min, {gate.floor_min:g}"
            yield library.problem("gate", gate.id, "unknown_min", shown(gate.unknown_min), wanted)


def readings_can_be_reached(library: Library) -> Iterator[Problem]:
    """A limit lies above the least that is believed and within the scale, and a level lets work go on below itself."""
    for gate in library.gates.values():
        if not isinstance(gate, ReadingGate):
            continue
        least = LEAST_BELIEVED[gate.quantity]
        if gate.below <= least:
            wanted = f"a limit above {least:g}: nothing lower is believed of a meter"
            yield library.problem("gate", gate.id, "below", shown(gate.below), wanted)
        if gate.full_scale is not None and gate.full_scale < gate.below:
            wanted = f"at least the limit, {gate.below:g}"
            yield library.problem("gate", gate.id, "full_scale", shown(gate.full_scale), wanted)
        for n, level in enumerate(gate.levels):
            if not least < level.back_below <= level.at:
                wanted = f"above {least:g} and no more than the level itself, {level.at:g}"
                yield library.problem("gate", gate.id, f"levels[{n}].back_below", shown(level.back_below), wanted)


def hazards_bring_every_gate(library: Library) -> Iterator[Problem]:
    """Every gate is brought by a hazard, or followed by a gate that is."""
    named = [(*hazard.gates, hazard.until or "") for hazard in library.hazards.values()]
    brought = {gate.id for names in named for gate in library.gates_behind(names)}
    if library.shared_unread or any(kind == "hazard" for kind, _ in library.unread):
        return
    for name in library.gates:
        if name not in brought:
            wanted = "a hazard whose gates lead to it: no hazard brings this gate"
            yield library.problem("gate", name, "id", shown(name), wanted)


def what_a_step_leaves_is_ticked_off(library: Library) -> Iterator[Problem]:
    """The gate a hazard waits for, once met, is of kind ticks, and no other hazard waits for the same one."""
    first: dict[str, str] = {}
    for hazard in library.hazards.values():
        gate = library.gates.get(hazard.until or "")
        if gate is None:
            continue
        if not isinstance(gate, TicksGate):
            yield library.problem("hazard", hazard.id, "until", shown(gate.id), "a gate of kind ticks")
        if first.setdefault(gate.id, hazard.id) != hazard.id:
            wanted = f"a gate of its own: steps with the hazard `{first[gate.id]}` are let through by this one"
            yield library.problem("hazard", hazard.id, "until", shown(gate.id), wanted)


def parts_carry_every_module(library: Library) -> Iterator[Problem]:
    """Every live module is carried by a part: one that never comes off keeps the count open for ever."""
    carried = {module for part in library.parts.values() for module in part.modules}
    if any(kind in ("pack", "step") for kind, _ in library.unread):
        return
    for name in library.modules:
        if name not in carried:
            wanted = "a part that carries it: no part names this module"
            yield library.problem("module", name, "id", shown(name), wanted)


def one_part_carries_a_module(library: Library) -> Iterator[Problem]:
    """A live module is in one part: a second one that comes off would account for a module still in the car."""
    first: dict[str, str] = {}
    for part in library.parts.values():
        for module in part.modules:
            if first.setdefault(module, part.id) != part.id:
                wanted = f"a module that no other part carries: {first[module]} carries it"
                yield library.problem("part", part.id, "modules", shown(module), wanted)


def modules_come_off_before_the_count(library: Library) -> Iterator[Problem]:
    """No step that takes a live module off waits, itself or through what it needs, for the count of none left."""
    counts = dict(_hazards_that_want_none_left(library))
    if not counts:
        return
    for reference, step in library.steps.items():
        if not any(part.modules for part in step.parts):
            continue
        for before in needed_by_way_of(library, reference):
            for hazard in [name for name in library.hazards_of(before) if name in counts]:
                cause = "" if before == reference else f" (through {before})"
                wanted = f"no gate that waits for this step's own modules: {counts[hazard]} does{cause}"
                yield library.problem("step", reference, "hazards", shown(step.hazards), wanted)


def _waits(library: Library) -> Iterator[WaitGate]:
    return (gate for gate in library.gates.values() if isinstance(gate, WaitGate))


def _hazards_that_want_none_left(library: Library) -> Iterator[tuple[str, str]]:
    """Each hazard that stands behind a count of no live module left, and that count."""
    for hazard in library.hazards.values():
        for gate in library.gates_behind(hazard.gates):
            if isinstance(gate, CountGate) and not gate.allows_fitted:
                yield hazard.id, gate.id
