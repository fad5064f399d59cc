"""What burns is told over every material of the packs that ship: all of it but metal, glass and the like."""

from __future__ import annotations

import pytest

from teardown.car import door
from teardown.car.burning import BURNS, MAGNESIUM, burning
from teardown.packs.reader import load

DOES_NOT = {
    "steel",
    "steel, aluminium",
    "steel, copper",
    "steel, ferrite",
    "aluminium or steel",
    "aluminium, steel",
    "glass, steel",
    "tempered glass",
    "tempered glass, steel frame",
    "zinc, steel",
}
"""Read by hand through the materials of the packs: metal in the piece and tempered glass. All others burn."""


def materials() -> set[str]:
    parts = [part for pack in load(door.procedures()).packs for step in pack.steps for part in step.parts]
    return {part.material for part in parts} | {one.material for part in parts for one in part.variants if one.material}


def test_of_the_packs_that_ship_only_metal_and_tempered_glass_do_not_burn() -> None:
    assert {one for one in materials() if not burning(one)} == DOES_NOT


def test_what_has_magnesium_in_it_has_a_word_of_its_own() -> None:
    told = {one: burning(one) for one in materials() if "magnesium" in one}
    assert told == {
        "magnesium": "MAGNESIUM",
        "magnesium or steel, leather": "MAY BE MAGNESIUM",
        "steel, or magnesium and aluminium": "MAY BE MAGNESIUM",
    }
    assert set(told.values()) == set(MAGNESIUM)


@pytest.mark.parametrize("word", [
    *("ABS", "polypropylene", "polyethylene", "PVC", "nylon", "polyamide", "polyester", "EVA heavy layer", "webbing"),
    *("leather", "fabric", "PET felt", "bitumen", "EPDM rubber", "paint", "laminated glass", "glass fibre", "glycol"),
    *("unobtainium", "", "?"),
])  # fmt: skip
def test_what_is_not_known_not_to_burn_burns(word: str) -> None:
    assert burning(word) == burning(f"steel, {word}" if word.strip("?") else "") == BURNS


def test_a_part_that_a_magnet_held_is_no_magnesium_and_still_may_burn() -> None:
    assert burning("steel, or magnesium and aluminium", no_magnesium=True) == ""
    assert burning("magnesium or steel, leather", no_magnesium=True) == BURNS
