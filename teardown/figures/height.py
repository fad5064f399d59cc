"""How high the centre of gravity is, from weighing the car with its rear lifted."""

from __future__ import annotations

from collections.abc import Sequence
from math import asin, cos, degrees, floor, fsum, radians, sin, sqrt, tan
from typing import NamedTuple

from teardown.figures.errors import FigureError, between

GREATEST_ANGLE_DEG = 45.0


class HeightResult(NamedTuple):
    """Height of the centre of gravity and its standard uncertainty."""

    height_m: float
    height_u_m: float
    raises: int


def height(
    total_kg: float,
    front_level_kg: float,
    front_raised_kg: Sequence[float],
    angle_deg: Sequence[float],
    wheelbase_m: float,
    axle_height_m: float,
    reading_u_kg: float = 1.0,
    angle_u_deg: float = 0.1,
    axle_height_u_m: float = 0.005,
) -> HeightResult:
    """Height of the centre of gravity from the front axle's load, level and with the rear lifted.

    Height = axle height + wheelbase / total x slope, where the slope is that of the front load against the tangent of
    the angle, by least squares through the level reading and every raise. With one raise that is
    r + l (front raised - front level) / (total x tan angle).

    Parameters
    ----------
    total_kg : mass of the car, level [kg], 50 to 20000
    front_level_kg : both front wheels, level [kg], 0 to the total
    front_raised_kg : both front wheels at each raise [kg], 1 to 50 of them, each 0 to the total
    angle_deg : angle of the car at each raise [deg], 1 to 45
    wheelbase_m : between the axles [m], 0.5 to 10
    axle_height_m : height of the wheel centres above the pads [m], 0.1 to 1
    reading_u_kg : standard uncertainty of one front reading [kg], 0 to 50; taken from the scatter if that is larger
    angle_u_deg : standard uncertainty of one angle [deg], 0 to 10
    axle_height_u_m : standard uncertainty of the axle height [m], 0 to 0.1

    Returns the height, its standard uncertainty from readings, angles and axle height, and the number of raises.

    Limits of validity: suspension locked, wheels free to roll, fluids at rest; small angles read badly, 10 deg or more
    is common practice.

    Refuses values outside the limits, lists of unequal length, and a height that is not between 0 and 3 m.

    Source: ISO 10392, Road vehicles, determination of centre of gravity (derivation, secondary copy); combined
    uncertainty, JCGM 100:2008 s. 5.1.

    >>> car = height(1200, 672, [700.2954], [15], wheelbase_m=2.5, axle_height_m=0.30)
    >>> round(car.height_m, 4), round(car.height_u_m, 3)
    (0.52, 0.012)
    """
    between("the car", total_kg, 50, 20_000, "kg")
    between("the front, level", front_level_kg, 0, total_kg, "kg")
    between("the wheelbase", wheelbase_m, 0.5, 10, "m")
    between("the axle height", axle_height_m, 0.1, 1, "m")
    between("the uncertainty of a reading", reading_u_kg, 0, 50, "kg")
    between("the uncertainty of an angle", angle_u_deg, 0, 10, "deg")
    between("the uncertainty of the axle height", axle_height_u_m, 0, 0.1, "m")
    _check_raises(front_raised_kg, angle_deg, total_kg)
    tangents = [0.0, *(tan(radians(angle)) for angle in angle_deg)]
    loads_kg = [front_level_kg, *front_raised_kg]
    slope_kg, scatter_kg, weights = _line(tangents, loads_kg)
    height_m = axle_height_m + wheelbase_m / total_kg * slope_kg
    if not 0 < height_m <= 3:
        raise FigureError(
            f"That puts the centre of gravity at {height_m:.2f} m, and a car's lies between 0 and 3 m:"
            " check that the rear was lifted and the front was read."
        )
    point_u_kg = max(reading_u_kg, scatter_kg)
    # an angle read wrong moves a raised point along the tangent, and so off the line by the slope
    angle_u_kg = [0.0, *(abs(slope_kg) * radians(angle_u_deg) / cos(radians(angle)) ** 2 for angle in angle_deg)]
    slope_u_kg = sqrt(fsum(w**2 * (point_u_kg**2 + u**2) for w, u in zip(weights, angle_u_kg, strict=True)))
    height_u_m = sqrt((wheelbase_m / total_kg * slope_u_kg) ** 2 + axle_height_u_m**2)
    return HeightResult(height_m, height_u_m, len(front_raised_kg))


def angle_from_lift_deg(lift_m: float, wheelbase_m: float) -> float:
    """Angle of the car when its rear axle is lifted, from the lift and the wheelbase.

    Parameters
    ----------
    lift_m : how much higher the rear wheel centres are than the front ones [m], above 0
    wheelbase_m : between the axles [m], 0.5 to 10

    Returns the angle [deg]: sine of the angle = lift / wheelbase.

    Refuses a lift that gives no angle or more than 45 deg.

    Source: trigonometry.

    >>> round(angle_from_lift_deg(0.6, 2.5), 3)
    13.887
    """
    between("the wheelbase", wheelbase_m, 0.5, 10, "m")
    highest_m = wheelbase_m * sin(radians(GREATEST_ANGLE_DEG))
    if not 0 < lift_m <= highest_m:
        told_m = floor(highest_m * 1000) / 1000  # never more than is taken
        raise FigureError(f"The lift is {lift_m:g} m, and with this wheelbase it must be above 0 to {told_m:.3f} m.")
    return min(degrees(asin(lift_m / wheelbase_m)), GREATEST_ANGLE_DEG)


def _check_raises(front_raised_kg: Sequence[float], angle_deg: Sequence[float], total_kg: float) -> None:
    if len(front_raised_kg) != len(angle_deg):
        raise FigureError(
            f"There are {len(front_raised_kg)} raised readings and {len(angle_deg)} angles: every raise needs both."
        )
    between("the number of raises", len(angle_deg), 1, 50)
    for load_kg in front_raised_kg:
        between("the front, raised", load_kg, 0, total_kg, "kg")
    for angle in angle_deg:
        between("the angle", angle, 1, GREATEST_ANGLE_DEG, "deg")


def _line(xs: Sequence[float], ys: Sequence[float]) -> tuple[float, float, list[float]]:
    """Slope of the least-squares line, the scatter about it (0 without points to spare), the weight of each point."""
    mean_x, mean_y = fsum(xs) / len(xs), fsum(ys) / len(ys)
    spread = fsum((x - mean_x) ** 2 for x in xs)
    weights = [(x - mean_x) / spread for x in xs]
    slope = fsum(w * y for w, y in zip(weights, ys, strict=True))
    rest = fsum((y - mean_y - slope * (x - mean_x)) ** 2 for x, y in zip(xs, ys, strict=True))
    spare = len(xs) - 2
    return slope, sqrt(rest / spare) if spare > 0 else 0.0, weights
