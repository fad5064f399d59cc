"""Two weighings of the car compared: only after correction for how it stood, and saying which correction."""

from math import hypot, sqrt
from typing import NamedTuple

from teardown import units
from teardown.car.facts import Facts, Scale
from teardown.car.tally_values import CarWeight, Fuel
from teardown.figures.fuel import (
    DIESEL_KG_PER_M3,
    DIESEL_U_KG_PER_M3,
    GAS_KG_PER_M3,
    GAS_U_KG_PER_M3,
    PETROL_KG_PER_M3,
    PETROL_U_KG_PER_M3,
)
from teardown.figures.uncertainty import class_iii_tolerance_kg, reading_u_kg, rectangular_u

PADS_STEP_KG, PADS_REPEAT_KG = 0.5, 1.0
WEIGHBRIDGE_STEP_KG = 20.0
"""Scales nobody described in car.toml: common practice."""
ABOARD_U_KG = 0.5
"""A driver, ballast or contents, weighed by themselves on a house scale (common practice)."""
FUEL_UNKNOWN_U_KG = rectangular_u(15.0)
"""Of the difference of two weighings when fuel was not noted both times: 20 L either way, which is 15 kg (common
practice)."""

LIGHTEST_PERSON_KG = 30.0
"""What weighs as much without the part is a person, and the scale one that a person stands on (this project's policy; a
bench scale ends about there, common practice)."""
PERSON_U_KG = rectangular_u(1.0)
"""Of a difference made on a bathroom scale that nobody described: within 1 kg either way (common practice)."""

DENSITIES = {
    "petrol": (PETROL_KG_PER_M3, PETROL_U_KG_PER_M3),
    "diesel": (DIESEL_KG_PER_M3, DIESEL_U_KG_PER_M3),
    "gas": (GAS_KG_PER_M3, GAS_U_KG_PER_M3),
}


class Comparison(NamedTuple):
    """What the car lost between two weighings, as far as they can be compared."""

    difference_kg: float
    u_kg: float
    corrected: tuple[str, ...]
    doubts: tuple[str, ...]


def density(fuel: Fuel) -> tuple[float, float]:
    """Kilograms in a cubic metre, and the standard uncertainty of that."""
    return DENSITIES.get(fuel.kind, DENSITIES["petrol"])


def fuel_kg(fuel: Fuel) -> float:
    return density(fuel)[0] * fuel.m3


def is_fuel(counts: str, material: str) -> bool:
    """Fuel whose level was noted at both weighings is counted by its level, and not again as a part."""
    return counts == "fluid" and any(name in material.casefold() for name in ("petrol", "diesel", "fuel"))


def weighing_u_kg(facts: Facts, weight: CarWeight) -> float:
    """Standard uncertainty of the car's mass: the scales' step and how they repeat, usually or as was seen if that is
    worse, and what was aboard. Three equal readings make no scale better than it is."""
    scales = facts.scales.pads
    aboard_u_kg = ABOARD_U_KG * sqrt((weight.aboard_kg is not None) + (weight.contents_kg is not None))
    return hypot(_scales_u_kg(scales, weight), aboard_u_kg)


def _scales_u_kg(scales: Scale | None, weight: CarWeight) -> float:
    if weight.way == "weighbridge":
        step_kg = weight.step_kg or WEIGHBRIDGE_STEP_KG
        tolerance_kg = class_iii_tolerance_kg(weight.total_kg, step_kg)
        return reading_u_kg(step_kg, weight.repeat_kg or 0.0, weight.readings, tolerance_kg)
    step_kg = weight.step_kg or (scales.step if scales else PADS_STEP_KG)
    usual_kg = scales.repeats if scales and scales.repeats is not None else PADS_REPEAT_KG
    return reading_u_kg(step_kg, max(usual_kg, weight.repeat_kg or 0.0), weight.readings)


def part_u_kg(facts: Facts, typed: str, without: str = "") -> float:
    """Standard uncertainty of a part's mass, from one reading or the difference of two. Nothing is known any finer than
    the last digit that was typed, whatever the scale shows; what is no mass, in a stranger's log, tells nothing."""
    typed, without = (text if _is_a_mass(text) else "" for text in (typed, without))
    on_a_person = bool(without) and units.mass_kg(without) >= LIGHTEST_PERSON_KG
    scale = facts.scales.person if on_a_person else facts.scales.parts
    step_kg = scale.step if scale else 0.0
    repeats_kg = (scale.repeats or 0.0) if scale else 0.0
    once = [
        reading_u_kg(max(step_kg, units.last_digit_si(text, "mass")), repeats_kg) for text in (typed, without) if text
    ]
    return hypot(*once, PERSON_U_KG) if on_a_person and scale is None else hypot(*once)


def _is_a_mass(text: str) -> bool:
    try:
        units.mass_kg(text)
    except units.UnitError:
        return False
    return True


def compare(facts: Facts, before: CarWeight, after: CarWeight) -> Comparison:
    """What came off between two weighings, corrected for fuel, driver and contents where both are known."""
    corrected: list[str] = []
    doubts: list[str] = []
    difference_kg = before.total_kg - after.total_kg
    variance = weighing_u_kg(facts, before) ** 2 + weighing_u_kg(facts, after) ** 2
    for what, first_kg, then_kg in (
        ("driver or ballast", before.aboard_kg, after.aboard_kg),
        ("contents", before.contents_kg, after.contents_kg),
    ):
        change_kg = (first_kg or 0.0) - (then_kg or 0.0)
        difference_kg -= change_kg
        if change_kg:
            corrected.append(f"{what}: {_kg(first_kg)} before, {_kg(then_kg)} after")
    fuel = _fuel_change(before.fuel, after.fuel)
    if fuel is None:
        variance += FUEL_UNKNOWN_U_KG**2
    else:
        change_kg, u_kg, says = fuel
        difference_kg -= change_kg
        variance += u_kg**2
        corrected += says
    doubts += [*why_not_compared(before, after), *_doubts(before, after)]
    return Comparison(difference_kg, sqrt(variance), tuple(corrected), tuple(doubts))


def _fuel_change(before: Fuel | None, after: Fuel | None) -> tuple[float, float, list[str]] | None:
    """Kilograms of fuel less than before, their uncertainty, and the sentence for it."""
    if before is None or after is None:
        return None
    (first, first_u), (then, then_u) = density(before), density(after)
    change_kg, alike = fuel_kg(before) - fuel_kg(after), before.kind == after.kind
    density_u_kg = (first_u * before.m3, then_u * after.m3)
    u_kg = hypot(
        first * before.u_m3, then * after.u_m3, *([density_u_kg[0] - density_u_kg[1]] if alike else density_u_kg)
    )
    litres = [units.show_volume(fuel.m3, "L") + ("" if alike else f" {fuel.kind}") for fuel in (before, after)]
    if alike and before.m3 == after.m3:
        return change_kg, u_kg, []
    return change_kg, u_kg, [f"fuel: {litres[0]} before, {litres[1]} after, {change_kg:+.1f} kg of the difference"]


def why_not_compared(before: CarWeight, after: CarWeight) -> list[str]:
    """The corrections that are missing: what stands in the way of comparing the corners of two weighings."""
    missing = []
    if (before.fuel is None) != (after.fuel is None):
        missing.append("fuel was noted at one weighing only: NOT corrected. 20 L is 15 kg; weigh again with fuel=")
    if before.tyres != after.tyres:
        missing.append(
            f"tyres: {before.tyres or 'not noted'} before, {after.tyres or 'not noted'} after: the total holds, the "
            "corners do not compare"
        )
    return missing


def _doubts(before: CarWeight, after: CarWeight) -> list[str]:
    doubts = []
    if before.fuel is None and after.fuel is None:
        doubts.append("fuel was not noted: taken as the same both times. 20 L is 15 kg")
    if before.way != after.way:
        doubts.append(f"weighed on {before.way} before and {after.way} after: two scales do not share their errors")
    return doubts


def _kg(kg: float | None) -> str:
    return units.show_mass(kg or 0.0)


def how_it_stood(weight: CarWeight) -> str:
    """The conditions of one weighing, in a line."""
    told = [f"on the {weight.way}"]
    if weight.readings > 1:
        told.append(f"mean of {weight.readings} readings, {weight.spread_kg or 0:.1f} kg apart")
    if weight.fuel is not None:
        told.append(f"{units.show_volume(weight.fuel.m3, 'L')} {weight.fuel.kind}")
    else:
        told.append("fuel not noted")
    if weight.aboard_kg is not None:
        told.append(f"driver or ballast {_kg(weight.aboard_kg)}")
    if weight.contents_kg is not None:
        told.append(f"contents {_kg(weight.contents_kg)}")
    if weight.tyres:
        told.append(f"tyres {weight.tyres}")
    if weight.conditions:
        told.append(weight.conditions)
    return ", ".join(told)
