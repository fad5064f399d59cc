"""Do the parts explain the scales? Weighted least squares, and the test of the gap that is left."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, inf, sqrt
from typing import TYPE_CHECKING, Literal, NamedTuple

from teardown.figures.errors import FigureError, between
from teardown.figures.fuel import PETROL_KG_PER_M3, PETROL_U_KG_PER_M3

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    _Array = NDArray[float64]

# a gap over this share of the car asks for another weighing (common practice)
WEIGH_AGAIN_SHARE = 0.01

Verdict = Literal["closes", "look", "weigh again"]


class Reconciliation(NamedTuple):
    """Measured values moved the least that makes every balance close, in their own order."""

    adjusted: tuple[float, ...]
    adjusted_u: tuple[float, ...]
    adjustments: tuple[float, ...]
    standardised: tuple[float, ...]
    gaps: tuple[float, ...]
    gap_u: tuple[float, ...]
    global_test: float
    limit: float
    degrees: int

    @property
    def consistent(self) -> bool:
        """Whether the gaps are no larger than the uncertainties allow."""
        return self.global_test <= self.limit


class Weighing(NamedTuple):
    """The car on its scales: the reading, its standard uncertainty, and the fuel in the tank, if it was noted, with its
    density."""

    mass_kg: float
    u_kg: float
    fuel_m3: float | None = None
    fuel_u_m3: float = 0.0
    fuel_kg_per_m3: float = PETROL_KG_PER_M3
    fuel_u_kg_per_m3: float = PETROL_U_KG_PER_M3


class Item(NamedTuple):
    """What came off, or was fitted, between the weighings; `estimated` if it never stood on a scale."""

    name: str
    mass_kg: float
    u_kg: float
    fitted: bool = False
    estimated: bool = False


class Adjusted(NamedTuple):
    """A mass as written and as the whole balance would have it."""

    name: str
    mass_kg: float
    u_kg: float
    adjusted_kg: float
    adjusted_u_kg: float
    estimated: bool


class Candidate(NamedTuple):
    """How far one entry, were it the only wrong one, would have to move: in kg, and in its own uncertainties."""

    name: str
    move_kg: float
    move_in_u: float


class ClosingResult(NamedTuple):
    """The gap (weighed less reckoned), whether it means anything, and which entries could explain it."""

    gap_kg: float
    gap_u_kg: float
    smallest_gap_shown_kg: float
    verdict: Verdict
    adjusted: tuple[Adjusted, ...]
    candidates: tuple[Candidate, ...]
    global_test: float
    limit: float
    fuel_counted: bool


def reconcile(
    values: Sequence[float],
    balances: Sequence[Sequence[float]],
    covariance: Sequence[Sequence[float]],
    confidence: float = 0.95,
) -> Reconciliation:
    """Adjust measured values by weighted least squares so that linear balances close.

    x = y - S A' (A S A')^-1 A y; global test r' (A S A')^-1 r with r = A y, against chi-square.

    Parameters
    ----------
    values : y, the measured values, 1 to 2000 of them, in any one unit
    balances : A, one row a balance, one coefficient a value: the sum of coefficient x value is to be 0
    covariance : S, symmetric, in that unit squared; errors may be correlated, a variance may be 0
    confidence : how often a balance without a mistake passes the test, 0.5 to 0.999

    Returns the adjusted values and their standard uncertainties, the adjustments, those divided by their own standard
    deviations (0 where nothing can move), the gap of each balance with its standard uncertainty, the global test, its
    limit, and its degrees of freedom: the rank of A.

    Limits of validity: with one balance all standardised adjustments are equal, so a gap cannot say what is wrong.

    Refuses shapes that do not fit, values that are not finite, a covariance that is not symmetric or has a negative
    variance, and balances whose values have no uncertainty to share the gap.

    Source: S. Narasimhan & C. Jordache, Data Reconciliation and Gross Error Detection, 2000, ch. 3 and 7 (secondary
    copy). Worked number: one balance 1 = 2 + 3, each within 3 %.

    >>> flows = [9.22, 4.83, 3.22]
    >>> variances = [[(0.03 * f) ** 2 if row == column else 0 for column in range(3)] for row, f in enumerate(flows)]
    >>> done = reconcile(flows, [[1, -1, -1]], variances)
    >>> [round(f, 5) for f in done.adjusted], round(done.global_test, 3), round(done.limit, 3)
    ([8.38213, 5.05994, 3.32219], 12.813, 3.841)
    """
    import numpy as np
    from scipy.special import chdtri

    y, a, s = _checked(values, balances, covariance)
    if not 0.5 <= confidence <= 0.999:
        raise FigureError(f"The confidence is {confidence:g}, and it can be 0.5 to 0.999.")
    gaps = a @ y
    gap_covariance = a @ s @ a.T
    degrees = int(np.linalg.matrix_rank(a))
    # rows are scaled to unit uncertainty, so that kilograms and grams meet one tolerance
    gap_u = np.sqrt(np.maximum(np.diag(gap_covariance), 0.0))
    scale = np.where(gap_u > 0, gap_u, 1.0)
    scaled = gap_covariance / np.outer(scale, scale)
    if degrees == 0 or int(np.linalg.matrix_rank(scaled, hermitian=True)) < degrees:
        raise FigureError("A balance has no uncertainty in it, so nothing can take up its gap: give one above 0.")
    inverse = np.linalg.pinv(scaled, hermitian=True) / np.outer(scale, scale)
    spread = s @ a.T @ inverse
    adjustments = -spread @ gaps
    moved = spread @ a @ s
    moved_sd = np.sqrt(np.maximum(np.diag(moved), 0.0))
    movable = moved_sd > 1e-12 * np.sqrt(np.abs(s).max())
    standardised = np.divide(adjustments, moved_sd, out=np.zeros_like(adjustments), where=movable)
    return Reconciliation(
        adjusted=tuple((y + adjustments).tolist()),
        adjusted_u=tuple(np.sqrt(np.maximum(np.diag(s - moved), 0.0)).tolist()),
        adjustments=tuple(adjustments.tolist()),
        standardised=tuple(standardised.tolist()),
        gaps=tuple(gaps.tolist()),
        gap_u=tuple(gap_u.tolist()),
        global_test=float(gaps @ inverse @ gaps),
        limit=float(chdtri(degrees, 1 - confidence)),
        degrees=degrees,
    )


def closing_from_items(
    opening: Weighing,
    closing: Weighing,
    items: Sequence[Item],
    shared_u_kg: float = 0.0,
    confidence: float = 0.95,
) -> ClosingResult:
    """Whether what came off and what was fitted explain the difference between two weighings of the car.

    Opening - off + fitted - fuel at opening + fuel at closing = closing, each with its uncertainty. The gap is the
    closing reading less the reckoned one: above 0 the car is heavier than the list, below 0 something is not on it.

    Parameters
    ----------
    opening : the car as it came; masses [kg], fuel [m3], its density 600 to 1000 kg/m3 with its uncertainty of 0 to 200
    closing : the car now
    items : what came off and what was fitted, masses and standard uncertainties [kg]; estimates have wide ones
    shared_u_kg : standard uncertainty common to both weighings [kg], on top of theirs; it cancels in the difference
    confidence : how often a list without a mistake passes the test, 0.5 to 0.999

    Returns the gap with its standard uncertainty; the smallest gap that would show; "closes" while the global test is
    within its limit, else "look", or "weigh again" from a gap over 1 % of the car (common practice); every entry as
    the balance would have it; and the candidates, those first that would have to move the least of their own
    uncertainty. An entry that would have to fall below 0 kg is no candidate.

    Two fillings of one density share its error; of two densities, each has its own.

    Limits of validity: one gap cannot say which entry is wrong.

    Refuses negative or non-finite masses and uncertainties, fuel noted at one weighing only, and a list without any
    uncertainty.

    Source: as `reconcile`; petrol 720 to 775 kg/m3 at 15 C, EN 228:2012 (secondary copy), taken as rectangular.

    >>> before, after = Weighing(1350.0, 1.5), Weighing(1302.0, 1.5)
    >>> off = [Item("seats", 37.2, 0.05), Item("carpet", 8.0, 2.0, estimated=True)]
    >>> done = closing_from_items(before, after, off)
    >>> round(done.gap_kg, 1), round(done.gap_u_kg, 2), done.verdict, done.candidates[0].name
    (-2.8, 2.92, 'closes', 'carpet')
    """
    entries = _entries(opening, closing, items, shared_u_kg)
    done = reconcile(
        [entry.mass_kg for entry in entries], [[e.sign for e in entries]], _covariance(entries), confidence
    )
    gap_kg, gap_u_kg = -done.gaps[0], done.gap_u[0]
    return ClosingResult(
        gap_kg=gap_kg,
        gap_u_kg=gap_u_kg,
        smallest_gap_shown_kg=sqrt(done.limit) * gap_u_kg,
        verdict=_verdict(done.consistent, gap_kg, opening.mass_kg),
        adjusted=tuple(
            Adjusted(e.name, e.mass_kg, e.u_kg, adjusted_kg, adjusted_u_kg, e.estimated)
            for e, adjusted_kg, adjusted_u_kg in zip(entries, done.adjusted, done.adjusted_u, strict=True)
        ),
        candidates=_candidates(entries, gap_kg),
        global_test=done.global_test,
        limit=done.limit,
        fuel_counted=opening.fuel_m3 is not None,
    )


class _Entry(NamedTuple):
    """One term of the balance: its sign in it, its own uncertainty, and that it shares with its pair."""

    name: str
    mass_kg: float
    sign: int
    own_u_kg: float
    shared_u_kg: float = 0.0
    pair: str = ""
    estimated: bool = False

    @property
    def u_kg(self) -> float:
        return hypot(self.own_u_kg, self.shared_u_kg)


def _entries(
    opening: Weighing,
    closing: Weighing,
    items: Sequence[Item],
    shared_u_kg: float,
) -> list[_Entry]:
    between("the uncertainty both weighings share", shared_u_kg, 0, 1000, "kg")
    if (opening.fuel_m3 is None) != (closing.fuel_m3 is None):
        raise FigureError("The fuel was noted at one weighing only, and it must be noted at both, or at neither.")
    entries = []
    for when, weighing, sign in (("opening", opening, 1), ("closing", closing, -1)):
        between(f"the {when} weighing", weighing.mass_kg, 50, 20_000, "kg")
        between(f"the uncertainty of the {when} weighing", weighing.u_kg, 0, 1000, "kg")
        entries.append(_Entry(f"{when} weighing", weighing.mass_kg, sign, weighing.u_kg, shared_u_kg, "weighings"))
        if weighing.fuel_m3 is not None:
            between(f"the fuel at {when}", weighing.fuel_m3 * 1000, 0, 500, "L")
            between(f"the uncertainty of the fuel at {when}", weighing.fuel_u_m3 * 1000, 0, 500, "L")
            between("the fuel's density", weighing.fuel_kg_per_m3, 600, 1000, "kg/m3")
            between("the uncertainty of the fuel's density", weighing.fuel_u_kg_per_m3, 0, 200, "kg/m3")
            own_u_kg = weighing.fuel_kg_per_m3 * weighing.fuel_u_m3
            density_u_kg = weighing.fuel_u_kg_per_m3 * weighing.fuel_m3
            fuel_kg = weighing.fuel_kg_per_m3 * weighing.fuel_m3
            pair = f"fuel of {weighing.fuel_kg_per_m3!r}"
            entries.append(_Entry(f"fuel at {when}", fuel_kg, -sign, own_u_kg, density_u_kg, pair))
    for item in items:
        between(item.name, item.mass_kg, 0, 5000, "kg")
        between(f"the uncertainty of {item.name}", item.u_kg, 0, 5000, "kg")
        sign = 1 if item.fitted else -1
        entries.append(_Entry(item.name, item.mass_kg, sign, item.u_kg, estimated=item.estimated))
    return entries


def _covariance(entries: list[_Entry]) -> list[list[float]]:
    """What two of a pair share is one error, so it stands off the diagonal too."""
    return [
        [
            row.shared_u_kg * column.shared_u_kg * (row.pair == column.pair) + row.own_u_kg**2 * (row is column)
            for column in entries
        ]
        for row in entries
    ]


def _verdict(consistent: bool, gap_kg: float, car_kg: float) -> Verdict:
    if consistent:
        return "closes"
    return "weigh again" if abs(gap_kg) > WEIGH_AGAIN_SHARE * car_kg else "look"


def _candidates(entries: list[_Entry], gap_kg: float) -> tuple[Candidate, ...]:
    moves = [(entry, gap_kg * entry.sign) for entry in entries]
    possible = [
        Candidate(entry.name, move_kg, abs(move_kg) / entry.u_kg if entry.u_kg > 0 else inf)
        for entry, move_kg in moves
        if entry.mass_kg + move_kg >= 0
    ]
    return tuple(sorted(possible, key=lambda candidate: candidate.move_in_u))


def _checked(
    values: Sequence[float], balances: Sequence[Sequence[float]], covariance: Sequence[Sequence[float]]
) -> tuple[_Array, _Array, _Array]:
    import numpy as np

    count = len(values)
    between("the number of values", count, 1, 2000)
    if not balances or any(len(row) != count for row in balances):
        raise FigureError(f"There are {count} values, and every balance needs a coefficient for each.")
    if len(covariance) != count or any(len(row) != count for row in covariance):
        raise FigureError(f"There are {count} values, and their covariance must have {count} rows of {count}.")
    y, a, s = (np.array(numbers, dtype=float) for numbers in (values, balances, covariance))
    if not all(np.isfinite(numbers).all() for numbers in (y, a, s)):
        raise FigureError("A value, coefficient or variance is not a finite number, and every one must be.")
    size = np.abs(s).max()
    if not np.allclose(s, s.T, rtol=0, atol=1e-9 * size) or np.linalg.eigvalsh(s).min() < -1e-9 * size:
        raise FigureError("The covariance must be symmetric, and no combination of values may have a variance below 0.")
    return y, a, s
