"""How hard the car braked, and whether weight can explain a change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from teardown.figures.errors import FigureError, between
from teardown.figures.welch import compare

STANDARD_GRAVITY_M_PER_S2 = 9.80665


class StopResult(NamedTuple):
    """Stopping distances from the nominal speed, the braking they mean, and the change with its interval."""

    before_mean_m: float
    before_sd_m: float
    after_mean_m: float
    after_sd_m: float
    before_g: float
    after_g: float
    change_m: float
    change_low_m: float
    change_high_m: float
    t: float
    df: float
    p: float
    shown: bool
    mass_explains_m: float


def stop(
    speed_m_per_s: float,
    before_m: Sequence[float],
    after_m: Sequence[float],
    measured_before_m_per_s: float | None = None,
    measured_after_m_per_s: float | None = None,
    confidence: float = 0.95,
) -> StopResult:
    """Compare stopping distances before and after, from one nominal speed.

    Distance = v2 / 2a, so a stop begun at another speed counts x (nominal / measured)2. While the tyres hold, the
    force they give grows with the load they carry, the mass cancels, and the part of a change that mass explains is 0.

    Parameters
    ----------
    speed_m_per_s : nominal speed the stops are compared from [m/s], 1 to 120
    before_m : two or more stopping distances [m], each above 0 to 2000
    after_m : two or more stopping distances [m]
    measured_before_m_per_s : speed the stops before really began at [m/s], within a fifth of nominal
    measured_after_m_per_s : the same, after [m/s]
    confidence : how often the interval must hold the true change, 0.5 to 0.999

    Returns what `compare` returns, in m; the mean braking in g (9.80665 m/s2); `shown` is True only when the interval
    excludes no change; the part mass explains.

    Limits of validity: brakes strong enough to reach what the tyres hold; tyre grip falls a little with load, and hot
    or worn brakes do depend on mass.

    Refuses values outside the limits, and a stop harder than 3 g.

    Source: uniform deceleration (mechanics); correction to a nominal speed, SAE J299 form (from memory, not seen).

    >>> stops = stop(26.8224, [52, 51, 53], [43, 44, 42])
    >>> round(stops.before_g, 3), round(stops.after_g, 3), stops.shown, stops.mass_explains_m
    (0.705, 0.853, True, 0.0)
    """
    between("the speed", speed_m_per_s, 1, 120, "m/s")
    before = _from_nominal(before_m, speed_m_per_s, measured_before_m_per_s)
    after = _from_nominal(after_m, speed_m_per_s, measured_after_m_per_s)
    pair = compare(before, after, confidence)
    return StopResult(
        before_mean_m=pair.before_mean,
        before_sd_m=pair.before_sd,
        after_mean_m=pair.after_mean,
        after_sd_m=pair.after_sd,
        before_g=_braking_g(speed_m_per_s, pair.before_mean),
        after_g=_braking_g(speed_m_per_s, pair.after_mean),
        change_m=pair.change,
        change_low_m=pair.change_low,
        change_high_m=pair.change_high,
        t=pair.t,
        df=pair.df,
        p=pair.p,
        shown=pair.shown,
        mass_explains_m=0.0,
    )


def _from_nominal(distances_m: Sequence[float], speed_m_per_s: float, measured_m_per_s: float | None) -> list[float]:
    measured = speed_m_per_s if measured_m_per_s is None else measured_m_per_s
    between("the measured speed", measured, 0.8 * speed_m_per_s, 1.2 * speed_m_per_s, "m/s")
    for distance_m in distances_m:
        if not distance_m > 0:
            raise FigureError(f"A stopping distance is {distance_m:g} m, and a stop takes more than 0 m.")
        between("a stopping distance", distance_m, 0, 2000, "m")
    return [distance_m * (speed_m_per_s / measured) ** 2 for distance_m in distances_m]


def _braking_g(speed_m_per_s: float, distance_m: float) -> float:
    braking_g = speed_m_per_s**2 / (2 * distance_m) / STANDARD_GRAVITY_M_PER_S2
    if braking_g > 3:
        raise FigureError(
            f"A stop in {distance_m:.1f} m from that speed is {braking_g:.1f} g, and no road car brakes beyond 3 g:"
            " check speed and distance."
        )
    return braking_g
