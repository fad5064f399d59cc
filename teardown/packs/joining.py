"""A car's own packs laid over those that ship."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from teardown.packs.model import Pack, Step
from teardown.packs.reader import KINDS, Library, in_working_order
from teardown.packs.route import bagged_steps

_Item = TypeVar("_Item")


def joined(base: Library, own: Library) -> Library:
    """Everything of both. What both have is taken from `own`, save that a pack keeps every step it had."""
    packs = dict(base.by_id)
    for pack in own.packs:
        packs[pack.id] = _joined_pack(packs[pack.id], pack) if pack.id in packs else pack
    return Library(
        packs=in_working_order(packs.values()),
        words=base.words,
        spots={**base.spots, **own.spots},
        unread=base.unread | own.unread,
        told=base.told | own.told,
        shared_unread=base.shared_unread or own.shared_unread,
        bagged_before=bagged_steps(base),
        **{section: {**getattr(base, section), **getattr(own, section)} for section in KINDS},
    )


def _joined_pack(base: Pack, own: Pack) -> Pack:
    """`own` with every step of `base` it does not name."""
    return own.model_copy(update={"steps": tuple(_joined_steps(base.steps, own.steps))})


def _joined_steps(base: Iterable[Step], own: Iterable[Step]) -> list[Step]:
    """The steps of `base` in order; a new one stands behind the step it follows in `own`, or else before the next."""
    steps = list(base)
    waiting: list[Step] = []
    behind = -1
    for step in own:
        place = next((n for n, known in enumerate(steps) if known.id == step.id), None)
        if place is not None:
            steps[place] = step
            steps[place:place] = waiting
            behind = place + len(waiting)
            waiting = []
        elif behind >= 0:
            behind += 1
            steps.insert(behind, step)
        else:
            waiting.append(step)
    return steps + waiting
