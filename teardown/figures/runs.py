"""Did the car really get quicker, and is it the weight?"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

from teardown.figures.errors import FigureError, between
from teardown.figures.welch import compare


class Air(NamedTuple):
    """The air of a set of runs: pressure of the dry air, and temperature."""

    pressure_hpa: float
    temperature_c: float


class RunsResult(NamedTuple):
    """Times before and after, the change with its interval, and what mass and air alone would have done."""

    before_mean_s: float
    before_sd_s: float
    after_mean_s: float
    after_sd_s: float
    change_s: float
    change_low_s: float
    change_high_s: float
    t: float
    df: float
    p: float
    shown: bool
    mass_only_after_s: float | None
    air_only_after_s: float | None
    expected_after_s: float | None
    agrees_with_mass: bool | None


def runs(
    before_s: Sequence[float],
    after_s: Sequence[float],
    mass_before_kg: float | None = None,
    mass_after_kg: float | None = None,
    air_before: Air | None = None,
    air_after: Air | None = None,
    confidence: float = 0.95,
) -> RunsResult:
    """Compare acceleration times before and after, and say what the change of mass alone would have done.

    Mass only: at constant power and without losses the time between two speeds is proportional to mass, so after =
    before x mass after / mass before. Air only: after = before x correction after / correction before.

    Parameters
    ----------
    before_s : two or more times [s], each above 0 to 3600
    after_s : two or more times over the same speeds [s]
    mass_before_kg : mass as driven, with driver and fuel [kg], 50 to 20000
    mass_after_kg : the same, after [kg]
    air_before : pressure of the dry air [hPa] and temperature [C]
    air_after : the same, after
    confidence : how often the interval must hold the true change, 0.5 to 0.999

    Returns what `compare` returns, in s; `shown` is True only when the interval excludes no change; the times that
    mass, air, and both would give; and whether the time with both lies inside the interval. What has no facts is None.

    Limits of validity: same stretch both ways, same gear, driver, tyres and fuel; losses make the real gain smaller.

    Refuses values outside the limits, one mass without the other, and one air without the other.

    Source: as `compare`; constant power, P t = m v2 / 2 (mechanics); air, as `air_correction`.

    >>> times = runs([6.8, 6.9, 6.7, 6.8], [6.1, 6.2, 6.0, 6.1], mass_before_kg=1610, mass_after_kg=1415)
    >>> round(times.change_s, 2), times.shown, round(times.mass_only_after_s, 2), times.agrees_with_mass
    (-0.7, True, 5.98, True)
    """
    for time_s in (*before_s, *after_s):
        if not time_s > 0:
            raise FigureError(f"A time is {time_s:g} s, and a run takes more than 0 s.")
        between("a time", time_s, 0, 3600, "s")
    _both_or_none("mass", mass_before_kg, mass_after_kg)
    _both_or_none("air", air_before, air_after)
    pair = compare(before_s, after_s, confidence)
    by_mass = _mass_ratio(mass_before_kg, mass_after_kg)
    by_air = _air_ratio(air_before, air_after)
    expected_s = None if by_mass is None else pair.before_mean * by_mass * (1.0 if by_air is None else by_air)
    return RunsResult(
        before_mean_s=pair.before_mean,
        before_sd_s=pair.before_sd,
        after_mean_s=pair.after_mean,
        after_sd_s=pair.after_sd,
        change_s=pair.change,
        change_low_s=pair.change_low,
        change_high_s=pair.change_high,
        t=pair.t,
        df=pair.df,
        p=pair.p,
        shown=pair.shown,
        mass_only_after_s=None if by_mass is None else pair.before_mean * by_mass,
        air_only_after_s=None if by_air is None else pair.before_mean * by_air,
        expected_after_s=expected_s,
        agrees_with_mass=(
            None if expected_s is None else pair.change_low <= expected_s - pair.before_mean <= pair.change_high
        ),
    )


def air_correction(pressure_hpa: float, temperature_c: float) -> float:
    """How many times more power an engine would give in standard air; a time at full power grows by the same factor.

    Parameters
    ----------
    pressure_hpa : pressure of the dry air [hPa], 700 to 1100
    temperature_c : temperature of the air [C], -30 to 50

    Returns 1.180 (990 / pressure) sqrt((temperature + 273) / 298) - 0.18.

    Limits of validity: spark-ignition engines without a blower, mechanical efficiency 85 %.

    Refuses values outside the limits.

    Source: SAE J1349 (1990) (secondary copy).

    >>> round(air_correction(1000, 20), 6)
    0.978358
    """
    between("the air pressure", pressure_hpa, 700, 1100, "hPa")
    between("the air temperature", temperature_c, -30, 50, "C")
    return 1.180 * (990 / pressure_hpa) * sqrt((temperature_c + 273) / 298) - 0.18


def _both_or_none(what: str, before: object, after: object) -> None:
    if (before is None) != (after is None):
        missing = "before" if before is None else "after"
        raise FigureError(f"The {missing} {what} is missing, and a prediction needs both: give it, or neither.")


def _mass_ratio(before_kg: float | None, after_kg: float | None) -> float | None:
    if before_kg is None or after_kg is None:
        return None
    return between("the mass after", after_kg, 50, 20_000, "kg") / between(
        "the mass before", before_kg, 50, 20_000, "kg"
    )


def _air_ratio(before: Air | None, after: Air | None) -> float | None:
    if before is None or after is None:
        return None
    return air_correction(*after) / air_correction(*before)
