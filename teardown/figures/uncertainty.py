"""How far a reading can be trusted: standard uncertainties, and how they add up."""

from __future__ import annotations

from math import fsum, hypot, sqrt

from teardown.figures.errors import between

# between the 1-in-10 and the 9-in-10 case of a normal spread
_TENTH_TO_TENTH = 2 * 1.2815515655446004


def rectangular_u(half_width: float) -> float:
    """Standard uncertainty of a value that is known only to lie within a half-width.

    Parameters
    ----------
    half_width : a, in the unit of the value, 0 or more

    Returns a / sqrt(3), in the same unit.

    Refuses a negative half-width.

    Source: JCGM 100:2008 s. 4.3.7.

    >>> round(rectangular_u(15), 3)
    8.66
    """
    return between("the half-width", half_width, 0, 1e9) / sqrt(3)


def step_u(step: float) -> float:
    """Standard uncertainty of one digital reading, from the step of the display.

    Parameters
    ----------
    step : d, the smallest change shown, in the unit of the reading, 0 or more

    Returns d / sqrt(12), in the same unit.

    Refuses a negative step.

    Source: JCGM 100:2008 s. F.2.2.1.

    >>> round(step_u(0.5), 4)
    0.1443
    """
    return between("the scale's step", step, 0, 1e9) / sqrt(12)


def combined_u(*parts: float) -> float:
    """Standard uncertainty of a sum of independent terms: the root of the sum of squares.

    Parameters
    ----------
    parts : the standard uncertainties of the terms, in one unit

    Returns the combined standard uncertainty, in that unit.

    Refuses a negative one.

    Source: JCGM 100:2008 s. 5.1.2. Worked number: EA-4/02 example S2 (read), 22.5 mg and half-widths of 15, 25, 10
    and 10 mg.

    >>> round(combined_u(22.5, *map(rectangular_u, (15, 25, 10, 10))), 2)
    29.26
    """
    return sqrt(fsum(between("an uncertainty", part, 0, 1e9) ** 2 for part in parts))


def class_iii_tolerance_kg(mass_kg: float, step_kg: float) -> float:
    """How far a class III scale in trade use, such as a weighbridge, may read off.

    Parameters
    ----------
    mass_kg : the load [kg], 0 to 1000000
    step_kg : d, the scale's division [kg], above 0 to 1000

    Returns the maintenance tolerance [kg]: 1 d up to 500 d, 2 d up to 2000 d, 3 d up to 4000 d, 5 d above.

    Refuses values outside the limits.

    Source: NIST Handbook 44-2023 s. 2.20 table 6, class III, maintenance (secondary copy).

    >>> class_iii_tolerance_kg(1350, 20)
    20.0
    """
    between("the load", mass_kg, 0, 1e6, "kg")
    between("the scale's step", step_kg, 1e-6, 1000, "kg")
    steps = mass_kg / step_kg
    tolerance_steps = 1 if steps <= 500 else 2 if steps <= 2000 else 3 if steps <= 4000 else 5
    return float(tolerance_steps * step_kg)


def reading_u_kg(step_kg: float, repeatability_kg: float = 0.0, readings: int = 1, tolerance_kg: float = 0.0) -> float:
    """Standard uncertainty of a weighing read several times and averaged.

    Parameters
    ----------
    step_kg : the scale's step [kg], 0 or more
    repeatability_kg : standard deviation of repeated readings, with a roll-off or lift-off between them [kg]
    readings : how many were averaged, 1 to 1000; they shrink the repeatability, not the step
    tolerance_kg : how far the scale itself may be off, either way [kg]

    Returns the standard uncertainty [kg].

    Refuses negative values and fewer than one reading.

    Source: JCGM 100:2008 s. 4.2.3, 4.3.7, 5.1.2.

    >>> round(reading_u_kg(0.5, repeatability_kg=1.0, readings=3), 3)
    0.595
    """
    between("the number of readings", readings, 1, 1000)
    between("the repeatability", repeatability_kg, 0, 1000, "kg")
    return hypot(step_u(step_kg), repeatability_kg / sqrt(readings), rectangular_u(tolerance_kg))


def estimate_u_kg(low_kg: float, high_kg: float) -> float:
    """Standard uncertainty of an estimate given by its 1-in-10 and 9-in-10 cases.

    Parameters
    ----------
    low_kg : one part in ten is lighter [kg], 0 or more
    high_kg : one part in ten is heavier [kg], not below `low_kg`

    Returns (high - low) / 2.563 [kg], as of a normal spread.

    Refuses a high case below the low one.

    Source: the normal distribution; quantile at 0.9 is 1.28155 (NIST/SEMATECH e-Handbook 1.3.6.7.1, from memory).

    >>> round(estimate_u_kg(5, 20), 2)
    5.85
    """
    between("the low case", low_kg, 0, 1e5, "kg")
    between("the high case", high_kg, low_kg, 1e5, "kg")
    return (high_kg - low_kg) / _TENTH_TO_TENTH
