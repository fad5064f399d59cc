"""Rules on what packs say of each other: names lead somewhere, nothing waits in a circle, numbers are in order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import NamedTuple

from pydantic import BaseModel

from teardown.nearest import nearest
from teardown.packs.model import Pack, Part
from teardown.packs.problems import Problem, shown
from teardown.packs.reader import Kind, Library
from teardown.packs.route import whole_reference

MOST_CIRCLES = 50

_NAMES: dict[Kind, dict[str, Kind]] = {
    "pack": {"follows": "pack", "has": "feature", "hazards": "hazard"},
    "step": {
        "hazards": "hazard",
        "mentions": "hazard",
        "needs": "step",
        "after": "step",
        "has": "feature",
        "has_any": "feature",
        "keep_rule": "rule",
        "defer_until": "milestone",
    },
    "part": {"has": "feature", "modules": "module"},
    "hazard": {"gates": "gate", "until": "gate"},
    "gate": {"follows": "gate", "has": "feature"},
    "feature": {"only_if": "feature"},
    "module": {"has": "feature", "inside_with": "feature"},
    "milestone": {"step": "step"},
}
"""Which keys hold names of what."""


class _Reference(NamedTuple):
    """A name one thing uses for another."""

    kind: Kind
    owner: str
    key: str
    target: Kind
    name: str


def names_lead_somewhere(library: Library) -> Iterator[Problem]:
    """Every name of a pack, step, hazard, gate, feature, module, rule or milestone is known."""
    for reference in _references(library):
        whole = _whole(reference)
        if not library.may_have(reference.target, whole):
            known = _spellings(library, reference)
            close = nearest(reference.name, known)
            wanted = f"the id of a known {reference.target}"
            yield library.problem(reference.kind, reference.owner, reference.key, shown(reference.name), wanted, close)


def questions_change_something(library: Library) -> Iterator[Problem]:
    """Every question about the car decides something: a pack, a step, a part, a gate or a live module asks for it."""
    if library.shared_unread or any(kind in ("pack", "step", "gate", "module") for kind, _ in library.unread):
        return
    asked_for = [reference for reference in _references(library) if reference.target == "feature"]
    if any(reference.name not in library.features for reference in asked_for):
        return  # a name that leads nowhere may have meant any of them, and has been told
    deciding = {reference.name for reference in asked_for if reference.kind != "feature"}
    for name, feature in library.features.items():
        if name not in deciding and not feature.source_of_power:
            wanted = "a pack, step, part, gate or module that asks for it: a question that changes nothing is not asked"
            yield library.problem("feature", name, "id", shown(name), wanted)


def questions_come_in_order(library: Library) -> Iterator[Problem]:
    """What settles a question about the car is asked before it."""
    position = {name: n for n, name in enumerate(library.features)}
    for name, feature in library.features.items():
        if feature.only_if in position and position[feature.only_if] >= position[name]:
            wanted = "a feature that stands earlier: its answer settles this one"
            yield library.problem("feature", name, "only_if", shown(feature.only_if), wanted)


def packs_follow_in_no_circle(library: Library) -> Iterator[Problem]:
    """No pack follows itself, directly or through others."""
    for circle in circles({pack.id: pack.follows for pack in library.packs}):
        yield library.problem("pack", circle[0], "follows", _drawn(circle), "packs that do not follow each other")


def gates_follow_in_no_circle(library: Library) -> Iterator[Problem]:
    """No gate follows itself, directly or through others: it could never be opened."""
    for circle in circles({gate.id: gate.follows for gate in library.gates.values()}):
        yield library.problem("gate", circle[0], "follows", _drawn(circle), "gates that do not follow each other")


def steps_wait_in_no_circle(library: Library) -> Iterator[Problem]:
    """No step waits for itself, through what it needs, what it comes after or what it is put off for."""
    for circle in circles(_waits(library)):
        yield library.problem("step", circle[0], "needs", _drawn(circle), "steps that do not wait for each other")


def steps_come_in_order(library: Library) -> Iterator[Problem]:
    """What a step needs or comes after stands earlier: in its own pack, or in a pack earlier in working order."""
    position = {reference: n for n, reference in enumerate(library.steps)}
    in_circles = {pair for circle in circles(_waits(library)) for pair in pairwise(circle)}
    for reference in _references(library):
        whole = _whole(reference)
        if reference.kind != "step" or reference.target != "step" or whole not in position:
            continue
        if position[whole] > position[reference.owner] and (reference.owner, whole) not in in_circles:
            wanted = _earlier(reference.owner.partition(".")[0], whole.partition(".")[0])
            yield library.problem("step", reference.owner, reference.key, shown(reference.name), wanted)


def ranges_are_in_order(library: Library) -> Iterator[Problem]:
    """Low, likely and high come in that order; minutes are more than 0; a likely mass is more than 0."""
    for reference, step in library.steps.items():
        if not 0 < step.minutes[0] <= step.minutes[1] <= step.minutes[2]:
            wanted = "low, likely, high, each above 0 and none below the one before"
            yield library.problem("step", reference, "minutes", shown(step.minutes), wanted)
    for part in library.parts.values():
        for key, (low_kg, likely_kg, high_kg) in masses(part):
            if not (0 <= low_kg <= likely_kg <= high_kg and likely_kg > 0):
                wanted = "low, likely, high, none below the one before, likely above 0 (what goes on counts up, too)"
                yield library.problem("part", part.id, key, shown((low_kg, likely_kg, high_kg)), wanted)


def fasteners_can_be_counted(library: Library) -> Iterator[Problem]:
    """The fewest fasteners are no more than the most, and the most at least one."""
    for reference, step in library.steps.items():
        for n, fasteners in enumerate(step.fasteners):
            fewest, most = fasteners.count
            if not (0 <= fewest <= most and most > 0):
                wanted = "fewest, then most; the most at least 1"
                yield library.problem("step", reference, f"fasteners[{n}].count", shown(fasteners.count), wanted)


def masses(part: Part) -> Iterator[tuple[str, tuple[float, float, float]]]:
    """The masses of a part, whatever the owner answers, each with its key."""
    yield "kg", part.kg
    yield from ((f"variants[{n}].kg", v.kg) for n, v in enumerate(part.variants) if v.kg is not None)


def circles(follows: Mapping[str, Iterable[str]]) -> tuple[tuple[str, ...], ...]:
    """The circles that have to be broken, each ending where it began; of very many, the first."""
    graph = {name: dict.fromkeys(before) for name, before in follows.items()}
    found: list[tuple[str, ...]] = []
    while len(found) < MOST_CIRCLES:
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            circle = tuple(reversed(error.args[1]))
            found.append(_from_first(circle, list(graph)))
            del graph[circle[0]][circle[1]]
        else:
            break
    return tuple(found)


def _from_first(circle: tuple[str, ...], order: list[str]) -> tuple[str, ...]:
    """The same circle, told from the member that stands first."""
    members = circle[:-1]
    start = min(range(len(members)), key=lambda n: order.index(members[n]))
    turned = members[start:] + members[:start]
    return (*turned, turned[0])


def _drawn(circle: tuple[str, ...]) -> str:
    shortest = circle if len(circle) <= 6 else (*circle[:4], "...", circle[-1])
    return " -> ".join(shortest)


def _earlier(pack: str, other: str) -> str:
    if pack == other:
        return "a step that stands earlier in this pack"
    return f"a step that comes earlier: let {pack} follow {other}, or {other} not follow {pack}"


def _waits(library: Library) -> dict[str, list[str]]:
    """For each step, the steps that must be over first."""
    waits: dict[str, list[str]] = {}
    for pack in library.packs:
        for step in pack.steps:
            milestone = library.milestones.get(step.defer_until) if step.defer_until else None
            named = [whole_reference(pack, name) for name in step.needs + step.after]
            put_off_for = [milestone.step] if milestone else []
            waits[f"{pack.id}.{step.id}"] = [name for name in named + put_off_for if name in library.steps]
    return waits


def needed_by_way_of(library: Library, reference: str) -> tuple[str, ...]:
    """The step itself and every step that must be done before it."""
    found: dict[str, None] = {}
    waiting = [reference]
    while waiting:
        name = waiting.pop(0)
        if name in library.steps and name not in found:
            found[name] = None
            pack = library.by_id[name.partition(".")[0]]
            waiting += [whole_reference(pack, need) for need in library.step(name).needs]
    return tuple(found)


def _references(library: Library) -> Iterator[_Reference]:
    for kind, name, table in _tables(library):
        for key, target in _NAMES[kind].items():
            for path, used in _used(key, getattr(table, key)):
                yield _Reference(kind, name, path, target, used)
        for n, variant in enumerate(table.variants if isinstance(table, Part) else ()):
            yield _Reference(kind, name, f"variants[{n}].feature", "feature", variant.feature)


def _tables(library: Library) -> Iterator[tuple[Kind, str, BaseModel]]:
    for pack in library.packs:
        yield "pack", pack.id, pack
        yield from _steps_of(pack)
    for kind in ("hazard", "gate", "feature", "module", "milestone"):
        for name, table in library.shared(kind).items():
            yield kind, name, table


def _steps_of(pack: Pack) -> Iterator[tuple[Kind, str, BaseModel]]:
    for step in pack.steps:
        yield "step", f"{pack.id}.{step.id}", step
        for part in step.parts:
            yield "part", part.id, part


def _used(key: str, value: object) -> Iterator[tuple[str, str]]:
    """The names a key holds, each with its path."""
    if isinstance(value, str):
        yield key, value
    elif isinstance(value, dict):
        yield from ((f"{key}.{name}", name) for name in value)
    elif isinstance(value, tuple):
        yield from ((f"{key}[{n}]", name) for n, name in enumerate(value))


def _whole(reference: _Reference) -> str:
    """A step's whole reference; any other name as it is."""
    inside_pack = reference.kind == "step" and reference.target == "step" and "." not in reference.name
    return f"{reference.owner.partition('.')[0]}.{reference.name}" if inside_pack else reference.name


def _spellings(library: Library, reference: _Reference) -> Iterable[str]:
    if reference.kind == "step" and reference.target == "step" and "." not in reference.name:
        own = f"{reference.owner.partition('.')[0]}."
        return [name.removeprefix(own) for name in library.steps if name.startswith(own)]
    return library.ids(reference.target)
