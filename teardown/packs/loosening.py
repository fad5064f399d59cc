"""What a car's own packs may change in those that ship: they add and tighten, they never loosen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple, get_args

from pydantic import BaseModel

from teardown.packs import model
from teardown.packs.model import Fasteners, Level, Part, Step
from teardown.packs.problems import Problem, shown
from teardown.packs.reader import KINDS, Kind, Library


class Change(NamedTuple):
    """What may become of one key: whether the new value is no looser than the shipped one, and what is wanted."""

    is_allowed: Callable[[Any, Any], bool]
    wanted: str


def _goes_on(old: str | None, new: str | None) -> bool:
    return old is None or (new is not None and new.startswith(old))


def _in_order(old: tuple[str, ...], new: tuple[str, ...]) -> bool:
    following = iter(new)
    return all(item in following for item in old)


def _no_longer(old: float | None, new: float | None) -> bool:
    return old is None or (new is not None and new <= old)


def _no_smaller(old: float | None, new: float | None) -> bool:
    return old is None or (new is not None and new >= old)


def _no_weaker(old: str, new: str) -> bool:
    strongest_first = get_args(model.SignalWord)
    return strongest_first.index(new) <= strongest_first.index(old)


def _keeps_parts(old: tuple[Part, ...], new: tuple[Part, ...]) -> bool:
    return {part.id for part in old} <= {part.id for part in new}


def _levels_no_laxer(old: tuple[Level, ...], new: tuple[Level, ...]) -> bool:
    """At every reading where a level begins, the new level in force sends people back no sooner than the old one."""
    for at in {level.at for level in old + new}:
        before, after = _in_force(old, at), _in_force(new, at)
        if before is not None and (after is None or not _is_no_laxer(before, after)):
            return False
    return True


def _in_force(levels: tuple[Level, ...], reading: float) -> Level | None:
    return max((level for level in levels if level.at <= reading), key=lambda level: level.at, default=None)


def _is_no_laxer(old: Level, new: Level) -> bool:
    return new.back_below <= old.back_below and new.hold_min >= old.hold_min and _goes_on(old.do, new.do)


SAME = Change(lambda old, new: bool(old == new), "what ships, unchanged")
ANY = Change(lambda old, new: True, "anything: it is an estimate")
LONGER_TEXT = Change(_goes_on, "the words that ship, and any more behind them")
EVERYTHING = Change(lambda old, new: set(old) <= set(new), "everything that ships, and any more")
NOTHING_NEW = Change(lambda old, new: set(new) <= set(old), "nothing beyond what ships")
IN_ORDER = Change(_in_order, "every line that ships, in its order, and any more between")
NO_MORE = Change(_no_longer, "no more than what ships")
NO_LESS = Change(_no_smaller, "no less than what ships")
STAYS_TRUE = Change(lambda old, new: new or not old, "true, as it ships")
STAYS_FALSE = Change(lambda old, new: old or not new, "false, as it ships")
NO_WEAKER = Change(_no_weaker, "the signal word that ships, or a stronger one")
ALL_PARTS = Change(_keeps_parts, "every part that ships, and any more")
NO_LAXER = Change(_levels_no_laxer, "at every reading no laxer a level than ships")

_GATE = {
    "id": SAME,
    "kind": SAME,
    "title": SAME,
    "why": LONGER_TEXT,
    "follows": EVERYTHING,
    "lapses": EVERYTHING,
    "pause_min": NO_MORE,
    "each_step": STAYS_TRUE,
    "has": NOTHING_NEW,
    "source": LONGER_TEXT,
}

CHANGES: dict[type[BaseModel], Mapping[str, Change]] = {
    model.TicksGate: {**_GATE, "ticks": IN_ORDER},
    model.WaitGate: {**_GATE, "unknown_min": NO_LESS, "floor_min": NO_LESS},
    model.ReadingGate: {
        **_GATE,
        "reads": SAME,
        "quantity": SAME,
        "below": NO_MORE,
        "full_scale": NO_LESS,
        "fresh_min": NO_MORE,
        "levels": NO_LAXER,
    },
    model.FigureGate: {**_GATE, "figure": SAME},
    model.PeopleGate: {**_GATE, "people": NO_LESS},
    model.StopGate: {**_GATE, "look_for": LONGER_TEXT, "call": LONGER_TEXT, "paper": LONGER_TEXT},
    model.CountGate: {**_GATE, "allows_fitted": STAYS_FALSE},
    model.Hazard: {
        "id": SAME,
        "signal": NO_WEAKER,
        "title": SAME,
        "happens": LONGER_TEXT,
        "avoid": LONGER_TEXT,
        "wear": EVERYTHING,
        "gates": EVERYTHING,
        "source": LONGER_TEXT,
    },
    model.Feature: {"id": SAME, "asks": SAME, "look_for": LONGER_TEXT},
    model.Module: {"id": SAME, "name": SAME, "where": SAME, "has": NOTHING_NEW},
    model.Rule: {"id": SAME, "asks": SAME},
    model.Milestone: {"id": SAME, "title": SAME, "step": SAME},
    model.Pack: {
        "id": SAME,
        "title": SAME,
        "why": LONGER_TEXT,
        "follows": EVERYTHING,
        "has": NOTHING_NEW,
        "steps": ANY,  # those not named stay; those named are compared one by one
    },
    model.Step: {
        "id": SAME,
        "title": SAME,
        "do": LONGER_TEXT,
        "hurts": LONGER_TEXT,
        "breaks": LONGER_TEXT,
        "keep": LONGER_TEXT,
        "tools": EVERYTHING,
        "fasteners": EVERYTHING,
        "hazards": EVERYTHING,
        "mentions": NOTHING_NEW,
        "needs": EVERYTHING,
        "after": EVERYTHING,
        "has": NOTHING_NEW,
        "parts": ALL_PARTS,
        "minutes": ANY,
        "people": NO_LESS,
        "keep_rule": SAME,
        "defer_until": SAME,
        "temporary": SAME,
        "refit_first": STAYS_TRUE,
    },
    model.Part: {
        **dict.fromkeys(Part.model_fields, SAME),
        "kg": ANY,
        "modules": EVERYTHING,
        "has": NOTHING_NEW,
    },
}
"""What each key may become when a car's own pack says again what ships."""


def loosened(base: Library, own: Library) -> Iterator[Problem]:
    """Every place where `own` says again what `base` says, and says it looser."""
    for kind in KINDS.values():
        for name, new in own.shared(kind).items():
            if name in base.shared(kind):
                yield from _compared(own, kind, name, base.shared(kind)[name], new)
    for pack in own.packs:
        if pack.id in base.by_id:
            yield from _compared(own, "pack", pack.id, base.by_id[pack.id], pack)
    for reference, step in own.steps.items():
        if reference in base.steps:
            yield from _compared(own, "step", reference, base.step(reference), step)
        yield from _compared_parts(base, own, reference, step)


def _compared_parts(base: Library, own: Library, reference: str, step: Step) -> Iterator[Problem]:
    shipped = {part.id for part in base.step(reference).parts} if reference in base.steps else set()
    for part in step.parts:
        if part.id in shipped:
            yield from _compared(own, "part", part.id, base.parts[part.id], part)
        elif part.id in base.parts:
            spot = base.spots["part", part.id]
            wanted = f"an id of its own: {spot.file}: {spot.path} has this one"
            yield own.problem("part", part.id, "id", shown(part.id), wanted)


def _compared(own: Library, kind: Kind, name: str, old: BaseModel, new: BaseModel) -> Iterator[Problem]:
    if type(old) is not type(new):
        kinds = getattr(new, "kind", None), getattr(old, "kind", None)
        yield own.problem(kind, name, "kind", _told(kinds[0]), f"{SAME.wanted}: {_told(kinds[1])}")
        return
    for key, change in CHANGES[type(new)].items():
        before, after = getattr(old, key), getattr(new, key)
        if not change.is_allowed(before, after):
            yield own.problem(kind, name, key, _told(after), f"{change.wanted}: {_told(before)}")


def _told(value: object) -> str:
    """A value of a pack as its author would know it again."""
    if value is None:
        return "nothing"
    if isinstance(value, tuple):
        return shown([_name(item) for item in value])
    if isinstance(value, dict):
        return shown(list(value))
    return shown(value)


def _name(item: object) -> object:
    if isinstance(item, Fasteners):
        return item.what
    if isinstance(item, Level):
        return item.at
    return item.id if isinstance(item, Part) else item
