"""What burns beside a welder: all, unless each word of its material is known not to. Unknown means that it burns."""

from __future__ import annotations

import re
from typing import Literal

Burning = Literal["", "BURNS", "MAY BE MAGNESIUM", "MAGNESIUM"]

BURNS: Burning = "BURNS"
MAGNESIUM: tuple[Burning, ...] = ("MAY BE MAGNESIUM", "MAGNESIUM")
"""It burns, and water feeds it: never told like other things that burn."""

_DOES_NOT_BURN = frozenset(
    ("steel", "iron", "aluminium", "aluminum", "copper", "zinc", "lead", "brass", "ferrite", "glass", "tempered")
)
"""Metal in the piece, and glass (common practice). Laminated glass has plastic in it, and glass fibre a binder."""
_JOINS = frozenset(("or", "and", "with", "frame", "tube", "core", "sheet", "bracket", "casting"))
"""Words that say how a material is made up, not what it is."""


def burning(material: str, no_magnesium: bool = False) -> Burning:
    """Whether something of that material burns. `no_magnesium`: somebody looked, and this part has none in it.

    >>> burning("steel, ferrite"), burning("ABS"), burning(""), burning("steel, or magnesium and aluminium")
    ('', 'BURNS', 'BURNS', 'MAY BE MAGNESIUM')
    """
    words = set(re.findall(r"[^\W\d_]+", material.casefold()))
    if "magnesium" in words and not no_magnesium:
        return "MAY BE MAGNESIUM" if "or" in words else "MAGNESIUM"
    rest = words - _JOINS - ({"magnesium"} if no_magnesium else set())
    return "" if rest and rest <= _DOES_NOT_BURN else BURNS
