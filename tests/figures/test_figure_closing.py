"""The closing: against published reconciliations, numpy's least squares, scipy's chi-square, and simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from teardown.figures import fuel
from teardown.figures.closing import Item, Weighing, closing_from_items, reconcile
from teardown.figures.errors import FigureError
from teardown.figures.uncertainty import (
    class_iii_tolerance_kg,
    combined_u,
    estimate_u_kg,
    reading_u_kg,
    rectangular_u,
    step_u,
)

# S. Narasimhan & C. Jordache, Data Reconciliation and Gross Error Detection, 2000 (secondary copy): exchanger with
# bypass, 1 = 2 + 3, 2 = 4, 3 = 5, 4 + 5 = 6, sigma 1
BYPASS = [[1, -1, -1, 0, 0, 0], [0, 1, 0, -1, 0, 0], [0, 0, 1, 0, -1, 0], [0, 0, 0, 1, 1, -1]]
FLOWS = [101.91, 64.45, 34.65, 64.20, 36.44, 98.88]


def diagonal(variances: list[float]) -> list[list[float]]:
    return np.diag(variances).tolist()


def test_the_published_exchanger_reconciles_as_printed() -> None:
    found = reconcile(FLOWS, BYPASS, diagonal([1.0] * 6))
    assert found.adjusted == pytest.approx([100.22, 64.50, 35.72, 64.50, 35.72, 100.22], abs=0.005)
    # global test 6.4075 < 9.488 (computed)
    assert found.global_test == pytest.approx(6.4075, abs=5e-5)
    assert found.limit == pytest.approx(9.488, abs=5e-4)
    assert found.degrees == 4
    assert found.consistent


def test_the_published_splitter_fails_its_global_test() -> None:
    # 1 = 2 + 3, sigma 3 % (secondary copy, computed): 8.38213 5.05994 3.32219, 12.813 > 3.841
    flows = [9.22, 4.83, 3.22]
    found = reconcile(flows, [[1, -1, -1]], diagonal([(0.03 * flow) ** 2 for flow in flows]))
    assert found.adjusted == pytest.approx([8.38213, 5.05994, 3.32219], abs=5e-6)
    assert found.global_test == pytest.approx(12.813, abs=5e-4)
    assert found.limit == pytest.approx(3.841, abs=5e-4)
    assert not found.consistent


def test_with_one_balance_every_standardised_adjustment_is_equal() -> None:
    flows = [9.22, 4.83, 3.22]
    found = reconcile(flows, [[1, -1, -1]], diagonal([0.09, 0.01, 4.0]))
    sizes = [abs(value) for value in found.standardised]
    assert sizes == pytest.approx([math.sqrt(found.global_test)] * 3)


@pytest.mark.parametrize("seed", range(25))
def test_correlated_errors_reconcile_as_numpy_solves_them(seed: int) -> None:
    random = np.random.default_rng(seed)
    count, balances = int(random.integers(3, 9)), int(random.integers(1, 3))
    a = random.integers(-2, 3, (balances, count)).astype(float)
    a[:, 0] += 5
    root = random.normal(size=(count, count))
    s = root @ root.T + 0.1 * np.eye(count)
    y = random.normal(50, 10, count)
    # every x with A x = 0 is N z; the z that fits y best once the errors are made independent
    _, _, rows = np.linalg.svd(a)
    null_space = rows[np.linalg.matrix_rank(a) :].T
    whiten = np.linalg.inv(np.linalg.cholesky(s))
    z, *_ = np.linalg.lstsq(whiten @ null_space, whiten @ y, rcond=None)
    found = reconcile(y.tolist(), a.tolist(), s.tolist())
    assert found.adjusted == pytest.approx(null_space @ z, rel=1e-7)
    misfit = whiten @ (y - null_space @ z)
    assert found.global_test == pytest.approx(float(misfit @ misfit), rel=1e-7)
    assert found.limit == pytest.approx(stats.chi2.ppf(0.95, np.linalg.matrix_rank(a)), rel=1e-9)
    assert a @ np.array(found.adjusted) == pytest.approx(np.zeros(balances), abs=1e-8)


def test_a_balance_said_twice_counts_once() -> None:
    once = reconcile(FLOWS, BYPASS, diagonal([1.0] * 6))
    twice = reconcile(FLOWS, [*BYPASS, BYPASS[0]], diagonal([1.0] * 6))
    assert (twice.degrees, twice.limit) == (once.degrees, once.limit)
    assert twice.global_test == pytest.approx(once.global_test)
    assert twice.adjusted == pytest.approx(once.adjusted)


def test_a_list_without_a_mistake_passes_as_often_as_promised() -> None:
    random = np.random.default_rng(2000)
    truth = np.array([100.0, 64.0, 36.0, 64.0, 36.0, 100.0])
    rounds = 3000
    failed = sum(
        not reconcile((truth + random.normal(0, 1, 6)).tolist(), BYPASS, diagonal([1.0] * 6)).consistent
        for _ in range(rounds)
    )
    assert failed / rounds == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / rounds))


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"values": []}, "The number of values is 0"),
        ({"values": [1.0, 2.0, math.nan]}, "A value, coefficient or variance is not a finite number"),
        ({"balances": []}, "There are 3 values, and every balance needs a coefficient for each."),
        ({"balances": [[1, -1]]}, "every balance needs a coefficient for each"),
        ({"covariance": diagonal([1, 1])}, "their covariance must have 3 rows of 3"),
        ({"covariance": [[1, 2, 0], [0, 1, 0], [0, 0, 1]]}, "The covariance must be symmetric"),
        ({"covariance": diagonal([1, 1, -1])}, "no combination of values may have a variance below 0"),
        ({"covariance": diagonal([0, 0, 0])}, "A balance has no uncertainty in it"),
        ({"balances": [[0, 0, 0]]}, "A balance has no uncertainty in it"),
        ({"confidence": 0.1}, "The confidence is 0.1"),
    ],
)
def test_impossible_balances_are_refused_with_their_limit(wrong: dict[str, object], reason: str) -> None:
    good = {"values": [9.0, 5.0, 3.0], "balances": [[1, -1, -1]], "covariance": diagonal([1, 1, 1])}
    with pytest.raises(FigureError) as refusal:
        reconcile(**(good | wrong))
    assert reason in str(refusal.value)


def test_uncertainties_add_as_in_the_published_calibration() -> None:
    # EA-4/02 example S2 (read): 10000.005 g (u 22.5 mg), drift +-15 mg, a difference of (25/sqrt(3) mg), +-10 mg and
    # +-10 mg: u 29.26 mg
    parts_mg = [22.5, *map(rectangular_u, (15, 25, 10, 10))]
    assert combined_u(*parts_mg) == pytest.approx(29.26, abs=0.005)


def test_a_step_is_a_rectangle_of_half_its_width() -> None:
    # JCGM 100:2008: half-width a, a/sqrt(3); step d, d/sqrt(12)
    assert step_u(0.5) == pytest.approx(0.5 / math.sqrt(12))
    assert step_u(0.5) == pytest.approx(rectangular_u(0.25))
    spread = stats.uniform(-0.25, 0.5).std()
    assert step_u(0.5) == pytest.approx(spread)


@pytest.mark.parametrize(
    ("steps", "tolerance_steps"), [(1, 1), (500, 1), (501, 2), (2000, 2), (2001, 3), (4000, 3), (4001, 5), (10000, 5)]
)
def test_a_weighbridge_may_be_off_by_the_published_steps(steps: int, tolerance_steps: int) -> None:
    # NIST Handbook 44-2023 s. 2.20 table 6, class III, maintenance (secondary copy)
    assert class_iii_tolerance_kg(steps * 20.0, 20.0) == tolerance_steps * 20.0


def test_readings_shrink_the_repeatability_but_never_the_step() -> None:
    many = reading_u_kg(0.5, repeatability_kg=1.0, readings=1000)
    assert step_u(0.5) < many < 1.05 * step_u(0.5)
    assert reading_u_kg(0.5, 1.0, readings=4) == pytest.approx(math.hypot(step_u(0.5), 0.5))
    assert reading_u_kg(20, tolerance_kg=20) == pytest.approx(math.hypot(20 / math.sqrt(12), 20 / math.sqrt(3)))


def test_an_estimates_low_and_high_are_its_tenths() -> None:
    assert 10 - 1.2815515655446004 * estimate_u_kg(5, 15) == pytest.approx(5)
    assert stats.norm(10, estimate_u_kg(5, 15)).cdf(15) == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("figure", "reason"),
    [
        (lambda: rectangular_u(-1), "The half-width is -1"),
        (lambda: step_u(math.nan), "The scale's step is nan"),
        (lambda: combined_u(1, -1), "An uncertainty is -1"),
        (lambda: class_iii_tolerance_kg(100, 0), "The scale's step is 0 kg"),
        (lambda: reading_u_kg(0.5, readings=0), "The number of readings is 0"),
        (lambda: reading_u_kg(0.5, repeatability_kg=-1), "The repeatability is -1 kg"),
        (lambda: estimate_u_kg(9, 5), "The high case is 5 kg, and the figure holds for 9 to 100000 kg."),
    ],
)
def test_impossible_uncertainties_are_refused_with_their_limit(figure: object, reason: str) -> None:
    with pytest.raises(FigureError) as refusal:
        figure()  # type: ignore[operator]
    assert reason in str(refusal.value)


def test_a_list_that_explains_the_scales_closes() -> None:
    found = closing_from_items(
        Weighing(1350, 1),
        Weighing(1310, 1),
        [Item("seats", 37, 0.1), Item("paint", 1, 0.1, fitted=True), Item("mats", 4, 0.1)],
    )
    assert found.gap_kg == pytest.approx(0)
    assert found.gap_u_kg == pytest.approx(math.sqrt(1 + 1 + 0.03))
    assert found.verdict == "closes"
    assert found.global_test == pytest.approx(0)
    assert found.limit == pytest.approx(3.841, abs=5e-4)
    assert found.smallest_gap_shown_kg == pytest.approx(1.96 * found.gap_u_kg, abs=1e-3)


@pytest.mark.parametrize(
    ("closing_kg", "verdict"), [(1311.0, "closes"), (1305.0, "look"), (1319.0, "look"), (1290.0, "weigh again")]
)
def test_a_gap_is_judged_by_its_uncertainty_then_by_its_size(closing_kg: float, verdict: str) -> None:
    found = closing_from_items(Weighing(1350, 1), Weighing(closing_kg, 1), [Item("seats", 38, 0.1)])
    assert found.gap_kg == pytest.approx(closing_kg - 1312)
    assert found.verdict == verdict


def test_an_error_common_to_both_weighings_cancels() -> None:
    items = [Item("seats", 38, 0.1)]
    alone = closing_from_items(Weighing(1350, 1), Weighing(1312, 1), items)
    shared = closing_from_items(Weighing(1350, 1), Weighing(1312, 1), items, shared_u_kg=5)
    assert shared.gap_u_kg == pytest.approx(alone.gap_u_kg)
    # but the car's own mass is no better known than the scales
    assert shared.adjusted[0].adjusted_u_kg > 5


def test_fuel_counts_by_level_and_density() -> None:
    brimmed, low = Weighing(1350, 1, 0.050, 0.001, 745, 10), Weighing(1298, 1, 0.030, 0.001, 745, 10)
    found = closing_from_items(brimmed, low, [Item("seats", 37.1, 0.1)])
    assert found.gap_kg == pytest.approx(1298 - (1350 - 37.1 - 745 * 0.020))
    # the density is one error, so it counts on the 20 L that went, not on 50 and 30
    own = 1 + 1 + 0.01 + 2 * (745 * 0.001) ** 2
    assert found.gap_u_kg == pytest.approx(math.sqrt(own + (10 * 0.020) ** 2))
    assert found.fuel_counted
    assert not closing_from_items(Weighing(1350, 1), Weighing(1312, 1), []).fuel_counted


def test_two_fillings_of_different_fuel_each_count_by_their_own_density() -> None:
    diesel, petrol = Weighing(1350, 1, 0.040, 0, 832.5, 7), Weighing(1320, 1, 0.010, 0, 747.5, 16)
    found = closing_from_items(diesel, petrol, [])
    assert found.gap_kg == pytest.approx(1320 - (1350 - 832.5 * 0.040 + 747.5 * 0.010))
    # two densities are two errors, and neither cancels
    assert found.gap_u_kg == pytest.approx(math.sqrt(1 + 1 + (7 * 0.040) ** 2 + (16 * 0.010) ** 2))


@pytest.mark.parametrize(("kg_per_m3", "u_kg_per_m3", "low", "high"), [
    (fuel.PETROL_KG_PER_M3, fuel.PETROL_U_KG_PER_M3, 720, 775),  # EN 228:2012 (secondary copy), at 15 C
    (fuel.DIESEL_KG_PER_M3, fuel.DIESEL_U_KG_PER_M3, 820, 845),  # EN 590 (from memory), at 15 C
    (fuel.GAS_KG_PER_M3, fuel.GAS_U_KG_PER_M3, 508, 584),  # propane to butane (from memory), at 15 C
])  # fmt: skip
def test_fuel_is_as_dense_as_the_standard_allows(kg_per_m3: float, u_kg_per_m3: float, low: float, high: float) -> None:
    half_width = math.sqrt(3) * u_kg_per_m3
    assert (kg_per_m3 - half_width, kg_per_m3 + half_width) == pytest.approx((low, high))


def test_an_estimate_takes_up_the_gap_and_a_weighed_part_does_not() -> None:
    items = [Item("seats", 37, 0.05), Item("carpet", 8, 2.7, estimated=True)]
    found = closing_from_items(Weighing(1350, 0.5), Weighing(1308, 0.5), items)
    seats, carpet = found.adjusted[-2:]
    assert found.verdict == "closes"
    assert carpet.adjusted_kg == pytest.approx(5.2, abs=0.1)
    assert carpet.adjusted_u_kg < carpet.u_kg
    assert seats.adjusted_kg == pytest.approx(37, abs=0.01)
    assert (seats.estimated, carpet.estimated) == (False, True)


def test_one_gap_names_candidates_by_how_far_each_must_move() -> None:
    items = [
        Item("seats", 37, 0.05),
        Item("carpet", 8, 2.7, estimated=True),
        Item("clips", 0.3, 0.01),
        Item("tank", 5, 0),
    ]
    found = closing_from_items(Weighing(1350, 0.5), Weighing(1305, 0.5), items)
    # the car is 5.3 kg heavier than the list: carpet may have been less, clips cannot be 5.3 kg less than 0.3
    assert found.gap_kg == pytest.approx(5.3)
    names = [candidate.name for candidate in found.candidates]
    assert names[0] == "carpet"
    assert "clips" not in names
    assert "tank" not in names
    assert {candidate.name: candidate.move_kg for candidate in found.candidates} == pytest.approx(
        {"carpet": -5.3, "opening weighing": 5.3, "closing weighing": -5.3, "seats": -5.3}
    )
    assert [c.move_in_u for c in found.candidates] == sorted(c.move_in_u for c in found.candidates)


def test_an_entry_said_to_be_exact_is_the_last_candidate() -> None:
    found = closing_from_items(Weighing(1350, 1), Weighing(1310, 1), [Item("seats", 38, 0)])
    assert found.candidates[-1].name == "seats"
    assert found.candidates[-1].move_in_u == math.inf


@given(
    st.lists(st.tuples(st.floats(min_value=0, max_value=20), st.booleans()), max_size=8),
    st.floats(min_value=0.1, max_value=3),
)
def test_a_car_that_lost_exactly_its_list_always_closes(entries: list[tuple[float, bool]], u_kg: float) -> None:
    items = [Item(f"part {place}", mass, 0.1, fitted) for place, (mass, fitted) in enumerate(entries)]
    after_kg = 1350 + sum(item.mass_kg if item.fitted else -item.mass_kg for item in items)
    found = closing_from_items(Weighing(1350, u_kg), Weighing(after_kg, u_kg), items)
    assert found.gap_kg == pytest.approx(0, abs=1e-9)
    assert found.verdict == "closes"
    assert [a.adjusted_kg for a in found.adjusted] == pytest.approx([a.mass_kg for a in found.adjusted], abs=1e-9)


def test_an_honest_ledger_is_called_short_as_seldom_as_promised() -> None:
    random = np.random.default_rng(44)
    rounds, refused = 2000, 0
    for _ in range(rounds):
        shared = random.normal(0, 3)
        parts = random.uniform(0.5, 20, 8)
        opening, closing = random.normal([1350, 1350 - parts.sum()], 1.0) + shared
        items = [Item(f"part {n}", max(0.0, random.normal(kg, 0.3)), 0.3) for n, kg in enumerate(parts)]
        found = closing_from_items(Weighing(opening, 1), Weighing(closing, 1), items, shared_u_kg=3)
        refused += found.verdict != "closes"
    assert refused / rounds == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / rounds))


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"opening": Weighing(0, 1)}, "The opening weighing is 0 kg, and the figure holds for 50 to 20000 kg."),
        ({"closing": Weighing(1300, -1)}, "The uncertainty of the closing weighing is -1 kg"),
        ({"opening": Weighing(1350, 1, 0.04)}, "The fuel was noted at one weighing only"),
        ({"items": [Item("seats", -3, 0.1)]}, "Seats is -3 kg, and the figure holds for 0 to 5000 kg."),
        ({"items": [Item("seats", 3, math.nan)]}, "The uncertainty of seats is nan kg"),
        ({"shared_u_kg": -1}, "The uncertainty both weighings share is -1 kg"),
        (
            {"opening": Weighing(1350, 1, 0.04, 0, 1.0), "closing": Weighing(1300, 1, 0.04)},
            "The fuel's density is 1 kg/m3",
        ),
        (
            {"opening": Weighing(1350, 1, 0.04, 0, 750, 999), "closing": Weighing(1300, 1, 0.04)},
            "The uncertainty of the fuel's density is 999 kg/m3",
        ),
        ({"opening": Weighing(1350, 0), "closing": Weighing(1300, 0), "items": []}, "has no uncertainty in it"),
    ],
)
def test_an_impossible_ledger_is_refused_with_its_limit(wrong: dict[str, object], reason: str) -> None:
    good = {"opening": Weighing(1350, 1), "closing": Weighing(1300, 1), "items": [Item("seats", 38, 0.1)]}
    with pytest.raises(FigureError) as refusal:
        closing_from_items(**(good | wrong))
    assert reason in str(refusal.value)
