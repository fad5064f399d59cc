"""`teardown figure carriage`: what a parcel will be billed at."""

from __future__ import annotations

import argparse

from teardown import units
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.flags import typed
from teardown.figures import carriage


def _divisor(text: str) -> tuple[float, str]:
    """The divisor, and the unit of mass it bills in."""
    divisor = units.parse(text, "divisor", "cm3/kg")
    per = units.unit_typed(units.with_unit(text, "cm3/kg"), "divisor").rpartition("/")[2]
    return divisor, per


def add_flags(parser: argparse.ArgumentParser) -> None:
    """The parcel, and the carrier's divisor."""
    parser.add_argument("--size", type=typed(units.size_m), required=True, help="packed, such as 60x40x30cm")
    parser.add_argument("--mass", type=typed(units.mass_kg), required=True, help="packed, such as 4kg")
    parser.add_argument(
        "--divisor", type=typed(_divisor), default=(5000.0, "kg"), help="cm3/kg (5000), or such as 139in3/lb"
    )


def answer(given: argparse.Namespace) -> Answer:
    """What is billed, and which mass it came from."""
    length_m, width_m, height_m = given.size
    divisor_cm3_per_kg, unit = given.divisor
    step_kg = units.LB_KG if unit == "lb" else 1.0
    found = carriage.carriage(length_m, width_m, height_m, given.mass, divisor_cm3_per_kg, step_kg)
    larger = "the size" if found.dimensional_kg > given.mass else "the scale"
    return Answer(
        facts=found._asdict(),
        headline=f"Billed at {units.show_mass(found.billed_kg, unit, 0)}, by {larger}.",
        rows=[
            Row("by the scale", units.show_mass(given.mass, unit)),
            Row("by the size", units.show_mass(found.dimensional_kg, unit), f"divisor {divisor_cm3_per_kg:.0f} cm3/kg"),
            Row("billed", units.show_mass(found.billed_kg, unit, 0), "the larger, rounded up"),
        ],
        assumes=[
            "The divisor and the rounding change from carrier to carrier and year to year: read them on the carrier's"
            " page and give --divisor. Carriers also limit the longest side and the girth.",
        ],
        source="common practice; 5000 cm3/kg and 139 in3/lb are usual (secondary copy).",
    )
