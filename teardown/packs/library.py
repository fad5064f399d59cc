"""The library of packs for one car: those it begins with, and those of its own that only add and tighten."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Literal

from teardown.packs.files import Source
from teardown.packs.glossary import americanised
from teardown.packs.reader import Library, load


def library_for(
    packs: Path, own_packs: Collection[Source], words: Literal["british", "american"] = "british"
) -> Library:
    """The packs in `packs`, with those in the files `own_packs`.

    Raises PackError when a pack of one's own is wrong or loosens anything.
    """
    library = load(packs)
    if own_packs:
        from teardown.packs.audit import extend  # only own packs are audited at start-up: those that ship were, before

        library = extend(library, own_packs)
    return americanised(library) if words == "american" else library
