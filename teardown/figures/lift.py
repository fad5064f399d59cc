"""Is a lift too much for one person? The revised lifting equation, at both ends of the lift."""

from __future__ import annotations

from itertools import pairwise
from math import inf
from typing import Literal, NamedTuple

from teardown.figures.errors import FigureError, between

Grip = Literal["good", "fair", "poor"]

LEAST_PER_MINUTE = 0.2
LOW_HEIGHT_CM = 75.0

# lifts a minute: up to 1 h, up to 2 h, up to 8 h, each from below 75 cm and from 75 cm up
_FREQUENCY: dict[float, tuple[float, ...]] = {
    0.2: (1.00, 1.00, 0.95, 0.95, 0.85, 0.85),
    0.5: (0.97, 0.97, 0.92, 0.92, 0.81, 0.81),
    1: (0.94, 0.94, 0.88, 0.88, 0.75, 0.75),
    2: (0.91, 0.91, 0.84, 0.84, 0.65, 0.65),
    3: (0.88, 0.88, 0.79, 0.79, 0.55, 0.55),
    4: (0.84, 0.84, 0.72, 0.72, 0.45, 0.45),
    5: (0.80, 0.80, 0.60, 0.60, 0.35, 0.35),
    6: (0.75, 0.75, 0.50, 0.50, 0.27, 0.27),
    7: (0.70, 0.70, 0.42, 0.42, 0.22, 0.22),
    8: (0.60, 0.60, 0.35, 0.35, 0.18, 0.18),
    9: (0.52, 0.52, 0.30, 0.30, 0.00, 0.15),
    10: (0.45, 0.45, 0.26, 0.26, 0.00, 0.13),
    11: (0.41, 0.41, 0.00, 0.23, 0.00, 0.00),
    12: (0.37, 0.37, 0.00, 0.21, 0.00, 0.00),
    13: (0.00, 0.34, 0.00, 0.00, 0.00, 0.00),
    14: (0.00, 0.31, 0.00, 0.00, 0.00, 0.00),
    15: (0.00, 0.28, 0.00, 0.00, 0.00, 0.00),
}
_GRIP: dict[Grip, tuple[float, float]] = {"good": (1.00, 1.00), "fair": (0.95, 1.00), "poor": (0.90, 0.90)}


class Multipliers(NamedTuple):
    """What each thing takes off the load a person may lift; 1 takes nothing, 0 forbids the lift."""

    reach: float
    height: float
    travel: float
    twist: float
    frequency: float
    grip: float


class LiftResult(NamedTuple):
    """Load limit and index at both ends; an index over 1 is too much; `largest_penalty` is at the worse end."""

    limit_start_kg: float
    limit_end_kg: float
    index_start: float
    index_end: float
    multipliers_start: Multipliers
    multipliers_end: Multipliers
    largest_penalty: str


def lift(
    mass_kg: float,
    reach_m: float,
    height_m: float,
    twist_deg: float = 0.0,
    per_minute: float = LEAST_PER_MINUTE,
    hours: float = 1.0,
    grip: Grip = "fair",
    reach_end_m: float | None = None,
    height_end_m: float | None = None,
    twist_end_deg: float | None = None,
    inch_form: bool = False,
) -> LiftResult:
    """The load one person may lift, and the index load / limit, where the lift starts and where it ends.

    Limit = 23 kg x reach x height x travel x twist x frequency x grip.

    Parameters
    ----------
    mass_kg : the load [kg], 0 to 500
    reach_m : hands ahead of the ankles at the start [m], 0 to 3; under 0.25 counts as 0.25, over 0.63 forbids
    height_m : hands above the floor at the start [m], 0 to 3; over 1.75 forbids
    twist_deg : load to the side of the body at the start [deg], 0 to 180; over 135 forbids
    per_minute : lifts a minute, 0 to 60; under 0.2 counts as 0.2, over 15 forbids
    hours : how long the lifting goes on [h], above 0 to 8
    grip : "good", "fair" or "poor"
    reach_end_m : the reach where it is put down [m]; as at the start if not given
    height_end_m : the height where it is put down [m]; as at the start if not given
    twist_end_deg : the twist where it is put down [deg]; as at the start if not given
    inch_form : use the manual's inch and pound form, whose rounded constants differ by up to 3 %

    Returns at both ends the load limit [kg], the index and the multipliers; the index is infinite where the equation
    allows no load. Names the multiplier that takes the most at the worse end.

    Between two rows of the frequency table the multiplier is interpolated; where the next row forbids, it is zero.

    Limits of validity: two hands, standing, free space, a steady load; one-handed, seated, kneeling and cramped lifts
    are outside it (p. 6), and so are most lifts out of a cabin: it is a hint. It knows nothing of age or health.

    Refuses values outside the limits, and a grip that is none of the three.

    Source: NIOSH 94-110, rev. 9/2021, Applications Manual for the Revised NIOSH Lifting Equation, tables 1 to 7
    (secondary copy).

    >>> seat = lift(mass_kg=19, reach_m=0.40, height_m=0.60, twist_deg=30)
    >>> round(seat.limit_start_kg, 1), round(seat.index_start, 2), seat.largest_penalty
    (11.8, 1.61, 'reach')
    """
    between("the load", mass_kg, 0, 500, "kg")
    if grip not in _GRIP:
        raise FigureError(f"The grip is {grip}, and it can be good, fair or poor.")
    end_height_m = height_m if height_end_m is None else height_end_m
    travel_m = abs(end_height_m - height_m)
    row = _frequency_row(per_minute, hours)
    start = _multipliers(reach_m, height_m, travel_m, twist_deg, row, grip, inch_form)
    end = _multipliers(
        reach_m if reach_end_m is None else reach_end_m,
        end_height_m,
        travel_m,
        twist_deg if twist_end_deg is None else twist_end_deg,
        row,
        grip,
        inch_form,
    )
    limit_start_kg, limit_end_kg = _limit_kg(start, inch_form), _limit_kg(end, inch_form)
    worse = start if limit_start_kg <= limit_end_kg else end
    return LiftResult(
        limit_start_kg=limit_start_kg,
        limit_end_kg=limit_end_kg,
        index_start=_index(mass_kg, limit_start_kg),
        index_end=_index(mass_kg, limit_end_kg),
        multipliers_start=start,
        multipliers_end=end,
        largest_penalty=min(zip(worse, worse._fields, strict=True))[1],
    )


def _multipliers(
    reach_m: float,
    height_m: float,
    travel_m: float,
    twist_deg: float,
    frequency_row: tuple[float, float],
    grip: Grip,
    inch_form: bool,
) -> Multipliers:
    between("the reach", reach_m * 100, 0, 300, "cm")
    between("the height", height_m * 100, 0, 300, "cm")
    between("the twist", twist_deg, 0, 180, "deg")
    high = height_m * 100 >= LOW_HEIGHT_CM
    lengths = _inch_multipliers if inch_form else _metric_multipliers
    return Multipliers(
        *lengths(reach_m, height_m, travel_m),
        twist=1 - 0.0032 * twist_deg if twist_deg <= 135 else 0.0,
        frequency=frequency_row[high],
        grip=_GRIP[grip][high],
    )


def _metric_multipliers(reach_m: float, height_m: float, travel_m: float) -> tuple[float, float, float]:
    reach_cm, height_cm, travel_cm = reach_m * 100, height_m * 100, travel_m * 100
    return (
        25 / max(reach_cm, 25) if reach_cm <= 63 else 0.0,
        1 - 0.003 * abs(height_cm - 75) if height_cm <= 175 else 0.0,
        min(1.0, 0.82 + 4.5 / max(travel_cm, 25)) if travel_cm <= 175 else 0.0,
    )


def _inch_multipliers(reach_m: float, height_m: float, travel_m: float) -> tuple[float, float, float]:
    reach_in, height_in, travel_in = reach_m / 0.0254, height_m / 0.0254, travel_m / 0.0254
    return (
        10 / max(reach_in, 10) if reach_in <= 25 else 0.0,
        1 - 0.0075 * abs(height_in - 30) if height_in <= 70 else 0.0,
        min(1.0, 0.82 + 1.8 / max(travel_in, 10)) if travel_in <= 70 else 0.0,
    )


def _frequency_row(per_minute: float, hours: float) -> tuple[float, float]:
    """The multipliers from below 75 cm and from 75 cm up."""
    between("the lifting rate", per_minute, 0, 60, "lifts a minute")
    if hours <= 0:
        raise FigureError(f"The lifting goes on for {hours:g} h, and it must be more than none and at most 8 h.")
    between("the lifting time", hours, 0, 8, "h")
    column = 0 if hours <= 1 else 2 if hours <= 2 else 4
    rate = max(per_minute, LEAST_PER_MINUTE)
    low, high = (_interpolated(rate, column + place) for place in (0, 1))
    return low, high


def _interpolated(rate: float, column: int) -> float:
    if rate in _FREQUENCY:
        return _FREQUENCY[rate][column]
    for below, above in pairwise(_FREQUENCY):
        if below < rate < above:
            first, second = _FREQUENCY[below][column], _FREQUENCY[above][column]
            return first + (second - first) * (rate - below) / (above - below) if second > 0 else 0.0
    return 0.0


def _limit_kg(multipliers: Multipliers, inch_form: bool) -> float:
    limit_kg = 51 * 0.45359237 if inch_form else 23.0
    for multiplier in multipliers:
        limit_kg *= multiplier
    return limit_kg


def _index(mass_kg: float, limit_kg: float) -> float:
    if mass_kg == 0:
        return 0.0
    return mass_kg / limit_kg if limit_kg > 0 else inf
