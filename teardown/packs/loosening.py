"""What a car's own packs may change in those that ship: they add and tighten, they never loosen."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple, get_args

from pydantic import BaseModel

from teardown.packs import model
from teardown.packs.model import Fasteners, Level, Part, Step, Variant
from teardown.packs.problems import Problem, shown
from teardown.packs.reader import KINDS, Kind, Library


class Change(NamedTuple):
    """What may become of one key: the part of the shipped value that a new one falls short of, and what is wanted."""

    shortfall: Callable[[Any, Any], tuple[object, ...]]
    wanted: str


def _unless(is_kept: Callable[[Any, Any], bool]) -> Callable[[Any, Any], tuple[object, ...]]:
    """The whole shipped value, unless it is kept."""
    return lambda old, new: () if is_kept(old, new) else (old,)


def _goes_on(old: str | None, new: str | None) -> bool:
    return old is None or (new is not None and new.startswith(old))


def _is_no_more(old: float | None, new: float | None) -> bool:
    return old is None or (new is not None and new <= old)


def _is_no_less(old: float | None, new: float | None) -> bool:
    return old is None or (new is not None and new >= old)


def _is_no_weaker(old: str, new: str) -> bool:
    strongest_first = get_args(model.SignalWord)
    return strongest_first.index(new) <= strongest_first.index(old)


def _missing(old: Iterable[object], new: Iterable[object]) -> tuple[object, ...]:
    return tuple(item for item in old if item not in new)


def _missing_parts(old: tuple[Part, ...], new: tuple[Part, ...]) -> tuple[object, ...]:
    return _missing([part.id for part in old], [part.id for part in new])


def _first_out_of_order(old: tuple[str, ...], new: tuple[str, ...]) -> tuple[object, ...]:
    following = iter(new)
    return tuple(line for line in old if line not in following)[:1]


def _laxer_levels(old: tuple[Level, ...], new: tuple[Level, ...]) -> tuple[object, ...]:
    """The readings at which a level begins and the new one in force sends people back sooner than the old one."""
    begins = sorted({level.at for level in old + new})
    return tuple(at for at in begins if _is_laxer(_in_force(old, at), _in_force(new, at)))


def _in_force(levels: tuple[Level, ...], reading: float) -> Level | None:
    return max((level for level in levels if level.at <= reading), key=lambda level: level.at, default=None)


def _is_laxer(old: Level | None, new: Level | None) -> bool:
    if old is None or new is None:
        return old is not None
    return new.back_below > old.back_below or new.hold_min < old.hold_min or not _goes_on(old.do, new.do)


SAME = Change(_unless(lambda old, new: bool(old == new)), "what ships, unchanged")
ANY = Change(lambda old, new: (), "anything: it is an estimate")
LONGER_TEXT = Change(_unless(_goes_on), "the words that ship, and any more behind them")
EVERYTHING = Change(_missing, "all that ships, and any more; missing")
NOTHING_NEW = Change(lambda old, new: _missing(new, old), "nothing beyond what ships; too much")
IN_ORDER = Change(_first_out_of_order, "every line that ships, in its order; missing or out of place")
NO_MORE = Change(_unless(_is_no_more), "no more than what ships")
NO_LESS = Change(_unless(_is_no_less), "no less than what ships")
STAYS_TRUE = Change(_unless(lambda old, new: new or not old), "what ships")
STAYS_FALSE = Change(_unless(lambda old, new: old or not new), "what ships")
NO_WEAKER = Change(_unless(_is_no_weaker), "the signal word that ships, or a stronger one")
ALL_PARTS = Change(_missing_parts, "all that ships, and any more; missing")
NO_LAXER = Change(_laxer_levels, "levels no laxer than those that ship; laxer from these readings on")

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
    model.TicksGate: {**_GATE, "ticks": IN_ORDER, "counts_modules": STAYS_TRUE},
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
    model.CountGate: {**_GATE, "allows_fitted": STAYS_FALSE, "allows_outside": STAYS_FALSE},
    model.BackGate: _GATE,
    model.Hazard: {
        "id": SAME,
        "signal": NO_WEAKER,
        "title": SAME,
        "happens": LONGER_TEXT,
        "avoid": LONGER_TEXT,
        "wear": EVERYTHING,
        "gates": EVERYTHING,
        "everywhere": STAYS_TRUE,
        "until": SAME,
        "causes": EVERYTHING,
        "undone_causes": EVERYTHING,
        "source": LONGER_TEXT,
    },
    model.Feature: {
        "id": SAME,
        "asks": SAME,
        "look_for": LONGER_TEXT,
        "fuel": SAME,
        "only_if": SAME,
        "source_of_power": STAYS_TRUE,
    },
    model.Module: {
        "id": SAME,
        "name": SAME,
        "where": SAME,
        "has": NOTHING_NEW,
        "outside": STAYS_FALSE,
        "inside_with": EVERYTHING,
    },
    model.Rule: {"id": SAME, "asks": SAME},
    model.Milestone: {"id": SAME, "title": SAME, "step": SAME},
    model.Pack: {
        "id": SAME,
        "title": SAME,
        "why": LONGER_TEXT,
        "follows": EVERYTHING,
        "has": NOTHING_NEW,
        "hazards": EVERYTHING,
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
        "elsewhere": SAME,
        "has": NOTHING_NEW,
        "has_any": SAME,
        "parts": ALL_PARTS,
        "minutes": ANY,
        "people": NO_LESS,
        "causes": EVERYTHING,
        "keep_rule": SAME,
        "defer_until": SAME,
    },
    model.Part: {
        **dict.fromkeys(Part.model_fields, SAME),
        "kg": ANY,
        "modules": EVERYTHING,
        "has": NOTHING_NEW,
        "variants": NOTHING_NEW,
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
        short = change.shortfall(getattr(old, key), getattr(new, key))
        if short:
            wanted = f"{change.wanted}: {', '.join(_told(item) for item in short)}"
            yield own.problem(kind, name, key, _told(getattr(new, key)), wanted)


def _told(value: object) -> str:
    """A value of a pack as its author would know it again."""
    if value is None:
        return "nothing"
    if isinstance(value, tuple):
        return shown([_name(item) for item in value])
    if isinstance(value, dict):
        return shown(list(value))
    return shown(_name(value))


def _name(item: object) -> object:
    if isinstance(item, Fasteners):
        return item.what
    if isinstance(item, Level):
        return item.at
    if isinstance(item, Variant):
        return item.feature
    return item.id if isinstance(item, Part) else item
