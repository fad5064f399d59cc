"""Times and stopping distances: against scipy, NIST reference data, and simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import solve_ivp

from teardown.figures.errors import FigureError
from teardown.figures.runs import Air, air_correction, runs
from teardown.figures.stop import stop
from teardown.figures.welch import compare, mean_and_sd

# NIST StRD, univariate. The certified values are read from a secondary copy; the data are from memory, and are taken
# as right because they meet every certified digit below.
MICHELSON_THOUSANDTHS = [
    850, 740, 900, 1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760, 810, 1000, 1000, 960, 960,
    960, 940, 960, 940, 880, 800, 850, 880, 900, 840, 830, 790, 810, 880, 880, 830, 800, 790, 760, 800,
    880, 880, 880, 860, 720, 720, 620, 860, 970, 950, 880, 910, 850, 870, 840, 840, 850, 840, 840, 840,
    890, 810, 810, 820, 800, 770, 760, 740, 750, 760, 910, 920, 890, 860, 880, 720, 840, 850, 850, 780,
    890, 840, 780, 810, 760, 810, 790, 810, 820, 850, 870, 870, 810, 740, 810, 940, 950, 800, 810, 870,
]  # fmt: skip
MAVRO_HUNDRED_THOUSANDTHS = [
    180, 170, 180, 190, 180, 170, 150, 140, 150, 150, 170, 180, 180, 190, 190, 210, 200, 160, 140, 130,
    130, 150, 150, 160, 150, 140, 130, 140, 150, 140, 150, 160, 150, 160, 190, 200, 200, 210, 220, 230,
    240, 250, 270, 260, 260, 260, 270, 260, 250, 240,
]  # fmt: skip
MICHELSON = [299 + thousandths / 1000 for thousandths in MICHELSON_THOUSANDTHS]
MAVRO = [2 + hundred_thousandths / 1e5 for hundred_thousandths in MAVRO_HUNDRED_THOUSANDTHS]
FASTER = [30.02, 29.99, 30.11, 29.97, 30.01, 29.99], [29.89, 29.93, 29.72, 29.98, 30.02, 29.98]
READINGS = st.lists(st.floats(min_value=1, max_value=100), min_size=2, max_size=12)


@pytest.mark.parametrize(
    ("readings", "mean", "sd"),
    [
        (MAVRO, 2.001856, 0.000429123454003053),
        (MICHELSON, 299.8524, 0.0790105478190518),
        ([10000001, 10000003, 10000002], 10000002, 1),
    ],
)
def test_mean_and_scatter_are_the_certified_ones(readings: list[float], mean: float, sd: float) -> None:
    assert mean_and_sd(readings) == pytest.approx((mean, sd), rel=1e-12)


def test_the_published_comparison_comes_out_to_its_last_digit() -> None:
    # a worked Welch example (secondary copy, recomputed): t 1.959006, df 7.03056, p 0.090773324285671
    found = runs(*FASTER)
    assert found.t == pytest.approx(1.959006, abs=5e-7)
    assert found.df == pytest.approx(7.03056, abs=5e-6)
    assert found.p == pytest.approx(0.090773324285671, rel=1e-12)
    assert not found.shown


@pytest.mark.parametrize(
    ("degrees", "quantile"),
    # NIST/SEMATECH e-Handbook 1.3.6.7.2 (secondary copy), t at .975
    [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (10, 2.228), (30, 2.042)],
)
def test_the_interval_reaches_as_far_as_the_published_t_table(degrees: int, quantile: float) -> None:
    # a set without scatter leaves the degrees of freedom to the other
    scattered = [10.0 + (-1) ** place * 0.1 for place in range(degrees + 1)]
    found = compare(scattered, [9.0, 9.0, 9.0])
    assert found.df == pytest.approx(degrees)
    u = found.before_sd / math.sqrt(len(scattered))
    assert (found.change_high - found.change) / u == pytest.approx(quantile, abs=6e-4)


@given(READINGS, READINGS)
def test_every_comparison_is_scipys(before: list[float], after: list[float]) -> None:
    assume(min(np.std(before), np.std(after)) > 1e-3)
    ours, theirs = compare(before, after), stats.ttest_ind(before, after, equal_var=False)
    interval = theirs.confidence_interval(0.95)
    assert (ours.t, ours.df, ours.p) == pytest.approx((theirs.statistic, theirs.df, theirs.pvalue), rel=1e-6, abs=1e-9)
    # scipy's interval is of before less after
    assert (-ours.change_high, -ours.change_low) == pytest.approx((interval.low, interval.high), rel=1e-6, abs=1e-9)
    assert ours.shown == (not ours.change_low <= 0 <= ours.change_high)


@pytest.mark.parametrize(("counts", "scatters"), [((3, 3), (0.1, 0.1)), ((5, 8), (0.05, 0.2)), ((10, 4), (0.3, 0.1))])
def test_the_interval_holds_the_true_change_as_often_as_it_says(
    counts: tuple[int, int], scatters: tuple[float, float]
) -> None:
    random = np.random.default_rng(1947)
    rounds, held, false_alarms = 4000, 0, 0
    for _ in range(rounds):
        before = random.normal(6.8, scatters[0], counts[0])
        after = random.normal(6.3, scatters[1], counts[1])
        found = compare(before.tolist(), after.tolist())
        held += found.change_low <= -0.5 <= found.change_high
        false_alarms += compare(before.tolist(), (after + 0.5).tolist()).shown
    # four standard errors of 4000 rounds, and Welch's own approximation with so few readings
    assert held / rounds == pytest.approx(0.95, abs=0.02)
    assert false_alarms / rounds == pytest.approx(0.05, abs=0.02)


def test_a_change_is_shown_only_when_the_interval_excludes_none() -> None:
    clear = runs([6.8, 6.9, 6.7], [6.1, 6.2, 6.0])
    assert clear.shown
    assert clear.change_s == pytest.approx(-0.7)
    assert clear.change_low_s < clear.change_high_s < 0
    best_of_three_fools = runs([6.8, 7.2, 6.9], [6.7, 7.1, 6.95])
    assert not best_of_three_fools.shown
    assert best_of_three_fools.change_low_s < 0 < best_of_three_fools.change_high_s


def _at_constant_power(mass_kg: float) -> tuple[float, float]:
    """Time and distance from 0 to 100 km/h at 150 kW without losses, integrated by scipy over kinetic energy."""
    power_w, top = 150_000.0, 100 / 3.6

    def speed_reached(_: float, state: np.ndarray) -> float:
        return float(state[0]) - mass_kg * top**2 / 2

    speed_reached.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(
        lambda _, state: [power_w, math.sqrt(max(2 * state[0] / mass_kg, 0.0))],
        (0, 60),
        [0.0, 0.0],
        events=speed_reached,
        rtol=1e-9,
        atol=1e-9,
        max_step=0.01,
    )
    return float(done.t[-1]), float(done.y[1][-1])


def test_mass_alone_is_what_constant_power_gives() -> None:
    # 1400 kg, 150 kW, no losses, 0 to 100 km/h: 3.60082 s, 66.682 m (computed)
    time_s, distance_m = _at_constant_power(1400)
    assert time_s == pytest.approx(3.60082, abs=1e-5)
    assert distance_m == pytest.approx(66.682, abs=2e-3)
    lighter_s, _ = _at_constant_power(1200)
    found = runs([time_s, time_s], [3.0, 3.1], mass_before_kg=1400, mass_after_kg=1200)
    assert found.mass_only_after_s == pytest.approx(lighter_s, rel=1e-6)


@pytest.mark.parametrize(
    ("pressure_hpa", "temperature_c", "correction"),
    [(990, 25, 1.0), (1000, 20, 0.978358), (950, 30, 1.059957)],  # SAE J1349 (1990) form (secondary copy), computed
)
def test_the_air_correction_is_the_published_one(pressure_hpa: float, temperature_c: float, correction: float) -> None:
    assert air_correction(pressure_hpa, temperature_c) == pytest.approx(correction, abs=5e-7)


def test_better_air_is_not_taken_for_lost_weight() -> None:
    before, after = [6.80, 6.82, 6.78], [6.66, 6.64, 6.65]
    thin, dense = Air(990, 25), Air(1000, 20)
    blamed_on_mass = runs(before, after, 1500, 1500, thin, dense)
    assert blamed_on_mass.air_only_after_s == pytest.approx(6.8 * 0.978358, rel=1e-6)
    assert blamed_on_mass.expected_after_s == pytest.approx(6.8 * 0.978358, rel=1e-6)
    assert blamed_on_mass.agrees_with_mass
    # mass alone would have given more than was measured, or less
    assert not runs(before, after, 1500, 1300).agrees_with_mass
    assert not runs(before, [5.0, 5.1, 5.2], 1500, 1450).agrees_with_mass


def test_what_has_no_facts_is_not_predicted() -> None:
    found = runs([6.8, 6.9], [6.1, 6.2])
    assert (found.mass_only_after_s, found.air_only_after_s, found.expected_after_s, found.agrees_with_mass) == (
        None,
    ) * 4


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"before_s": [6.8]}, "There are 1 readings, and a scatter takes 2 to 10000."),
        ({"before_s": [6.8, 0]}, "A time is 0 s, and a run takes more than 0 s."),
        ({"after_s": [6.8, math.nan]}, "A time is nan s"),
        ({"after_s": [6.8, math.inf]}, "A time is inf s, and the figure holds for 0 to 3600 s."),
        ({"before_s": [6.8, 6.8], "after_s": [6.1, 6.1]}, "a scatter of 0 shows nothing: read them on a finer scale."),
        ({"mass_before_kg": 1500}, "The after mass is missing, and a prediction needs both: give it, or neither."),
        ({"mass_before_kg": 1500, "mass_after_kg": 0}, "The mass after is 0 kg"),
        ({"air_after": Air(990, 25)}, "The before air is missing"),
        ({"air_before": Air(10, 25), "air_after": Air(990, 25)}, "The air pressure is 10 hPa"),
        ({"air_before": Air(990, 99), "air_after": Air(990, 25)}, "The air temperature is 99 C"),
        ({"confidence": 1.0}, "The confidence is 1, and it can be 0.5 to 0.999."),
    ],
)
def test_impossible_runs_are_refused_with_their_limit(wrong: dict[str, object], reason: str) -> None:
    with pytest.raises(FigureError) as refusal:
        runs(**({"before_s": [6.8, 6.9], "after_s": [6.1, 6.2]} | wrong))
    assert reason in str(refusal.value)


def test_the_scatter_of_a_reading_that_is_no_number_is_refused() -> None:
    with pytest.raises(FigureError, match="A reading is not a finite number"):
        mean_and_sd([1.0, math.inf])


MPH_M_PER_S = 0.44704


def test_braking_is_that_of_a_stop_integrated_by_scipy() -> None:
    found = stop(60 * MPH_M_PER_S, [52, 51, 53], [43, 44, 42])

    def stopped(_: float, state: np.ndarray) -> float:
        return float(state[0])

    stopped.terminal = True  # type: ignore[attr-defined]
    for braking_g, distance_m in ((found.before_g, 52), (found.after_g, 43)):
        done = solve_ivp(
            lambda _, state, a: [-a, state[0]],
            (0, 60),
            [60 * MPH_M_PER_S, 0],
            args=(braking_g * 9.80665,),
            events=lambda t, state, a: stopped(t, state),
            max_step=0.1,
        )
        assert float(np.interp(0, done.y[0][::-1], done.y[1][::-1])) == pytest.approx(distance_m, rel=1e-3)


def test_mass_explains_nothing_while_the_tyres_hold() -> None:
    def distance_m(mass_kg: float) -> float:
        grip, gravity, speed = 0.9, 9.80665, 60 * MPH_M_PER_S
        return mass_kg * speed**2 / 2 / (grip * mass_kg * gravity)

    assert distance_m(1600) == pytest.approx(distance_m(1300))
    assert stop(60 * MPH_M_PER_S, [52, 51, 53], [43, 44, 42]).mass_explains_m == 0


def test_a_stop_from_another_speed_counts_by_its_square() -> None:
    # SAE J299 form (from memory, not seen): x (nominal / measured)2
    found = stop(60 * MPH_M_PER_S, [52, 51, 53], [43, 44, 42], 61 * MPH_M_PER_S, 61 * MPH_M_PER_S)
    assert found.before_mean_m == pytest.approx(52 * (60 / 61) ** 2)
    assert found.after_mean_m == pytest.approx(43 * (60 / 61) ** 2)
    after_alone = stop(60 * MPH_M_PER_S, [52, 51, 53], [43, 44, 42], None, 61 * MPH_M_PER_S)
    assert (after_alone.before_mean_m, after_alone.after_mean_m) == pytest.approx((52, 43 * (60 / 61) ** 2))


def test_stops_are_compared_as_runs_are() -> None:
    found, times = stop(30.0, *FASTER), runs(*FASTER)
    assert (found.t, found.df, found.p) == (times.t, times.df, times.p)
    assert (found.change_low_m, found.change_high_m) == (times.change_low_s, times.change_high_s)
    assert not found.shown


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"speed_m_per_s": 0.0}, "The speed is 0 m/s, and the figure holds for 1 to 120 m/s."),
        ({"before_m": [52]}, "There are 1 readings"),
        ({"before_m": [52, -1]}, "A stopping distance is -1 m, and a stop takes more than 0 m."),
        ({"after_m": [52, 9999]}, "A stopping distance is 9999 m, and the figure holds for 0 to 2000 m."),
        ({"measured_before_m_per_s": 40.0}, "The measured speed is 40 m/s, and the figure holds for 21.6 to 32.4 m/s."),
        ({"after_m": [10, 11]}, "and no road car brakes beyond 3 g: check speed and distance."),
    ],
)
def test_impossible_stops_are_refused_with_their_limit(wrong: dict[str, object], reason: str) -> None:
    with pytest.raises(FigureError) as refusal:
        stop(**({"speed_m_per_s": 27.0, "before_m": [52, 51], "after_m": [43, 44]} | wrong))
    assert reason in str(refusal.value)
