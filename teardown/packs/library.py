"""The library of packs for one car: those that ship, and those of its own that only add and tighten."""

from __future__ import annotations

from pathlib import Path

from teardown.packs.audit import extend
from teardown.packs.reader import Library, load
from teardown.packs.shipped import procedures


def library_for(folder: Path, own_packs: str | None) -> Library:
    """The shipped packs, with those in `own_packs` (a folder named in car.toml, inside the car's folder or absolute).

    Raises PackError when a pack of one's own is wrong or loosens anything that ships.
    """
    shipped = load(procedures())
    return shipped if own_packs is None else extend(shipped, folder / own_packs)
