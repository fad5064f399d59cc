"""Two sets of readings: their means, their scatter, and how sure their difference is."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, isfinite, sqrt
from typing import NamedTuple

from teardown.figures.errors import FigureError

MOST_READINGS = 10_000


class Comparison(NamedTuple):
    """Means and standard deviations of two sets, the change from the first to the second with its interval."""

    before_mean: float
    before_sd: float
    after_mean: float
    after_sd: float
    change: float
    change_low: float
    change_high: float
    t: float
    df: float
    p: float

    @property
    def shown(self) -> bool:
        """Whether the interval excludes no change."""
        return not self.change_low <= 0 <= self.change_high


def mean_and_sd(readings: Sequence[float]) -> tuple[float, float]:
    """Mean, and standard deviation of a sample.

    Parameters
    ----------
    readings : two or more finite numbers, in any one unit

    Returns the mean and the standard deviation with n - 1, in that unit.

    Refuses fewer than two readings, more than 10000, and what is not finite.

    Source: NIST/SEMATECH e-Handbook s. 1.3.5.6 (from memory). Worked number: NIST StRD NumAcc1 (secondary copy).

    >>> mean_and_sd([10000001, 10000003, 10000002])
    (10000002.0, 1.0)
    """
    if not 2 <= len(readings) <= MOST_READINGS:
        raise FigureError(f"There are {len(readings)} readings, and a scatter takes 2 to {MOST_READINGS}.")
    if not all(isfinite(reading) for reading in readings):
        raise FigureError("A reading is not a finite number, and every one must be.")
    mean = fsum(readings) / len(readings)
    return mean, sqrt(fsum((reading - mean) ** 2 for reading in readings) / (len(readings) - 1))


def compare(before: Sequence[float], after: Sequence[float], confidence: float = 0.95) -> Comparison:
    """Welch's comparison of two sets whose scatter may differ.

    Parameters
    ----------
    before : two or more readings, in any one unit
    after : two or more readings, in the same unit
    confidence : how often the interval must hold the true change, 0.5 to 0.999

    Returns both means and standard deviations, the change (after less before) with its interval, Welch's t of before
    against after (positive when the readings fell), its degrees of freedom and its two-sided p.

    Limits of validity: readings independent and without a drift; normal scatter, or many readings.

    Refuses fewer than two readings a set, and two sets without any scatter: the clock was too coarse.

    Source: B. L. Welch, Biometrika 34 (1947) 28-35 (from memory, not seen). Worked number: t 1.959006, df 7.03056,
    p 0.090773324285671 (secondary copy, recomputed).

    >>> pair = compare([30.02, 29.99, 30.11, 29.97, 30.01, 29.99], [29.89, 29.93, 29.72, 29.98, 30.02, 29.98])
    >>> round(pair.t, 6), round(pair.df, 5), round(pair.p, 9), pair.shown
    (1.959006, 7.03056, 0.090773324, False)
    """
    from scipy.special import stdtr, stdtrit

    if not 0.5 <= confidence <= 0.999:
        raise FigureError(f"The confidence is {confidence:g}, and it can be 0.5 to 0.999.")
    before_mean, before_sd = mean_and_sd(before)
    after_mean, after_sd = mean_and_sd(after)
    before_u2, after_u2 = before_sd**2 / len(before), after_sd**2 / len(after)
    u2 = before_u2 + after_u2
    if u2 == 0:
        raise FigureError(
            "All readings of each set are alike, and a scatter of 0 shows nothing: read them on a finer scale."
        )
    # as fractions of the whole, so that a scatter of rounding errors does not vanish when squared
    df = 1 / ((before_u2 / u2) ** 2 / (len(before) - 1) + (after_u2 / u2) ** 2 / (len(after) - 1))
    change = after_mean - before_mean
    t = -change / sqrt(u2)
    reach = float(stdtrit(df, (1 + confidence) / 2)) * sqrt(u2)
    return Comparison(
        before_mean=before_mean,
        before_sd=before_sd,
        after_mean=after_mean,
        after_sd=after_sd,
        change=change,
        change_low=change - reach,
        change_high=change + reach,
        t=t,
        df=df,
        p=2 * float(stdtr(df, -abs(t))),
    )
