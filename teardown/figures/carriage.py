"""What posting a box will be billed at."""

from __future__ import annotations

from math import ceil
from typing import NamedTuple

from teardown.figures.errors import FigureError, between

CM3_PER_M3 = 1e6


class CarriageResult(NamedTuple):
    """The mass the carrier reckons from the size, and the mass on the bill."""

    dimensional_kg: float
    billed_kg: float


def carriage(
    length_m: float,
    width_m: float,
    height_m: float,
    mass_kg: float,
    divisor_cm3_per_kg: float = 5000.0,
    round_up_to_kg: float = 1.0,
) -> CarriageResult:
    """The larger of the real mass and the dimensional mass of a box, rounded up.

    Parameters
    ----------
    length_m : longest side [m], above 0 to 10
    width_m : second side [m], above 0 to 10
    height_m : third side [m], above 0 to 10
    mass_kg : mass packed [kg], 0 to 2000
    divisor_cm3_per_kg : the carrier's divisor [cm3/kg], 500 to 50000; it changes: read it on the carrier's page
    round_up_to_kg : the step the bill is rounded up to [kg], 0.001 to 100; a pound where billing is in pounds

    Returns the dimensional mass as it comes, and the billed mass rounded up to the next whole step.

    Limits of validity: boxes; carriers have longest sides and girths of their own.

    Refuses values outside the limits.

    Source: common practice; 5000 cm3/kg and 139 in3/lb are usual (secondary copy).

    >>> carriage(0.60, 0.40, 0.30, mass_kg=4)
    CarriageResult(dimensional_kg=14.4, billed_kg=15.0)
    """
    for name, side_m in (("length", length_m), ("width", width_m), ("height", height_m)):
        if side_m == 0:
            raise FigureError(f"The {name} is 0 m, and a box has a {name} above 0 to 10 m.")
        between(f"the {name}", side_m, 0, 10, "m")
    between("the box", mass_kg, 0, 2000, "kg")
    between("the divisor", divisor_cm3_per_kg, 500, 50_000, "cm3/kg")
    between("the rounding step", round_up_to_kg, 0.001, 100, "kg")
    dimensional_kg = length_m * width_m * height_m * CM3_PER_M3 / divisor_cm3_per_kg
    # the last binary digit of a whole number of steps must not cost another step
    steps = ceil(max(dimensional_kg, mass_kg) / round_up_to_kg - 1e-9)
    return CarriageResult(dimensional_kg, steps * round_up_to_kg)
