"""The library of packs for one car: those it begins with, and those of its own that only add and tighten."""

from __future__ import annotations

from pathlib import Path

from teardown.packs.audit import extend
from teardown.packs.reader import Library, load


def library_for(packs: Path, folder: Path, own_packs: str | None) -> Library:
    """The packs in `packs`, with those in `own_packs` (a folder named in car.toml, beside it or absolute).

    Raises PackError when a pack of one's own is wrong or loosens anything.
    """
    base = load(packs)
    return base if own_packs is None else extend(base, folder / own_packs)
