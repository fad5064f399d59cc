"""The room full of dry ice: against published values, CoolProp for the gas, and scipy's integration for the room."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from teardown.figures.air import AirResult, dry_ice_air, dry_ice_air_indoors, gas_density_kg_per_m3, ppm_at
from teardown.figures.errors import FigureError

FT3_M3 = 0.3048**3

ICE_KG = st.floats(min_value=0, max_value=200)
VOLUME_M3 = st.floats(min_value=1, max_value=2000)
CHANGES_PER_H = st.floats(min_value=0, max_value=1000)
RELEASE_H = st.floats(min_value=0.05, max_value=8)
MIXING = st.floats(min_value=1, max_value=10)
START_PPM = st.floats(min_value=420, max_value=5000)


@pytest.mark.parametrize(
    ("temperature_c", "density_kg_per_m3"),
    [(20, 1.83934), (25, 1.80797)],  # CoolProp 8.0 at 1 atm, computed
)
def test_the_gas_is_as_dense_as_the_reference_equation_says(temperature_c: float, density_kg_per_m3: float) -> None:
    assert gas_density_kg_per_m3(temperature_c) == pytest.approx(density_kg_per_m3, rel=5e-5)


@pytest.mark.parametrize("temperature_c", [-40, -20, 0, 20, 40, 60])
@pytest.mark.parametrize("pressure_hpa", [500, 800, 1013.25, 1100])
def test_the_density_holds_over_its_stated_limits(temperature_c: float, pressure_hpa: float) -> None:
    reference = PropsSI("D", "T", temperature_c + 273.15, "P", pressure_hpa * 100, "CO2")
    assert gas_density_kg_per_m3(temperature_c, pressure_hpa) == pytest.approx(reference, rel=1e-3)


def test_ten_kilos_of_ice_make_about_five_and_a_half_cubic_metres() -> None:
    # University of York, Biology Health & Safety: about 5.4 m3 (read); 5.437 m3 at 20 C (CoolProp, computed)
    gas_m3 = dry_ice_air(10, 100, 1, 1).gas_m3
    assert gas_m3 == pytest.approx(5.4, abs=0.05)
    assert gas_m3 == pytest.approx(10 / PropsSI("D", "T", 293.15, "P", 101325, "CO2"), rel=1e-4)


def test_the_published_room_reaches_200_ppm_after_20_minutes() -> None:
    # ACGIH Industrial Ventilation: 1.2 ft3/min into 100000 ft3 at 2000 ft3/min: 200 ppm after 20.3 min (from memory,
    # not seen); 20.273 min computed
    gas_m3 = 1.2 * FT3_M3 * 8 * 60
    facts = {
        "ice_kg": gas_m3 * gas_density_kg_per_m3(),
        "volume_m3": 100_000 * FT3_M3,
        "air_changes_per_h": 2000 * 60 / 100_000,
        "release_h": 8.0,
        "mixing": 1.0,
        "start_ppm": 0.0,
        "outdoor_ppm": 0.0,
    }
    assert ppm_at(20.3 / 60, **facts) == pytest.approx(200, abs=0.5)
    assert ppm_at(20.273 / 60, **facts) == pytest.approx(200, abs=0.005)


def test_a_steady_release_settles_where_the_published_example_does() -> None:
    # BINDER C170 manual 08/2015 p. 20 (read): 0.0084 m3, 40 times an hour, into 100 m3 at 1 air change/h: 3360 ppm
    ice_kg = 0.0084 * 40 * 8 * gas_density_kg_per_m3()
    after_eight_h = ppm_at(8, ice_kg, 100, 1, 8, mixing=1, start_ppm=0, outdoor_ppm=0)
    assert after_eight_h / (1 - math.exp(-8)) == pytest.approx(3360, rel=1e-9)


def test_oxygen_looks_well_long_after_carbon_dioxide_is_dangerous() -> None:
    # 19.5 % (29 CFR 1910.146(b), read) is reached only at 6.9 % carbon dioxide: 20.95 % x (1 - 0.0692)
    at_the_40000_ppm_limit = dry_ice_air(*_ice_for(40_000), mixing=1)
    assert at_the_40000_ppm_limit.verdict == "stop"
    assert at_the_40000_ppm_limit.oxygen_percent == pytest.approx(20.112, abs=1e-3)
    assert dry_ice_air(*_ice_for(69_212), mixing=1).oxygen_percent == pytest.approx(19.5, abs=1e-4)


def _ice_for(end_ppm: float) -> tuple[float, float, float, float]:
    """Ice, room, air and time that end at this reading in a closed room."""
    return (end_ppm - 420) / 1e6 * 50 * gas_density_kg_per_m3(), 50, 0, 1


GRID = list(
    itertools.product(
        (1.0, 20.0),  # ice, kg
        (3.0, 86.4, 500.0),  # room, m3
        (0.0, 0.3, 2.0, 60.0),  # air changes per hour
        (0.2, 1.0, 7.0),  # release, h
        (1.0, 3.0),  # mixing
        (420.0, 4000.0),  # start, ppm
    )
)


def test_every_figure_agrees_with_an_independent_integration_over_a_grid() -> None:
    for case in GRID:
        ice_kg, volume_m3, changes_per_h, release_h, mixing, start_ppm = case
        found = dry_ice_air(ice_kg, volume_m3, changes_per_h, release_h, mixing, start_ppm)
        time_h, ppm, dose = _integrated(case)
        expected = AirResult(
            gas_m3=ice_kg / PropsSI("D", "T", 293.15, "P", 101325, "CO2"),
            end_ppm=min(1e6, float(np.interp(release_h, time_h, ppm))),
            peak_ppm=min(1e6, float(ppm.max())),
            worst_15min_ppm=min(1e6, _worst_quarter(time_h, dose)),
            average_8h_ppm=min(1e6, float(dose[-1]) / 8),
            oxygen_percent=20.95 * (1 - min(1e6, float(ppm.max())) / 1e6),
            airflow_needed_m3_per_h=found.airflow_needed_m3_per_h,
            ice_limit_kg=found.ice_limit_kg,
            verdict=found.verdict,
            reads_high=found.reads_high,
        )
        assert found[:6] == pytest.approx(expected[:6], rel=2e-4), case


def _integrated(case: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Time, carbon dioxide and its sum over eight hours, by scipy from the room's differential equation."""
    ice_kg, volume_m3, changes_per_h, release_h, mixing, start_ppm = case
    gas_m3_per_h = ice_kg / PropsSI("D", "T", 293.15, "P", 101325, "CO2") / release_h

    def rates(_: float, state: np.ndarray, source_m3_per_h: float) -> list[float]:
        fresh = changes_per_h / mixing * (state[0] - 420)
        return [source_m3_per_h / volume_m3 * 1e6 - fresh, state[0]]

    pieces = []
    state = [start_ppm, 0.0]
    for begin_h, end_h, source in ((0.0, release_h, gas_m3_per_h), (release_h, 8.0, 0.0)):
        moments = np.linspace(begin_h, end_h, 1500)
        done = solve_ivp(
            rates, (begin_h, end_h), state, t_eval=moments, args=(source,), rtol=1e-8, atol=1e-6, method="LSODA"
        )
        pieces.append((done.t, *done.y))
        state = [float(row[-1]) for row in done.y]
    time_h, ppm, dose = (np.concatenate(parts) for parts in zip(*pieces, strict=True))
    return time_h, ppm, dose


def _worst_quarter(time_h: np.ndarray, dose: np.ndarray) -> float:
    starts_h = np.unique(np.concatenate([time_h[time_h <= 7.75], np.clip(time_h - 0.25, 0, 7.75)]))
    return float(max((np.interp(starts_h + 0.25, time_h, dose) - np.interp(starts_h, time_h, dose)) / 0.25))


@pytest.mark.parametrize(("ice_kg", "changes_per_h"), [(0.3, 0.0), (3.0, 0.0), (3.0, 2.0), (30.0, 1.0)])
def test_the_simple_model_reads_high_where_gas_drives_air_out_and_says_so(ice_kg: float, changes_per_h: float) -> None:
    volume_m3 = 36.0
    found = dry_ice_air(ice_kg, volume_m3, changes_per_h, 1.0, mixing=1)

    # what leaves the room is a mixture, so the fresh gas and the fresh air both push some of the gas out
    def with_displacement(_: float, share: np.ndarray) -> np.ndarray:
        return found.gas_m3 / volume_m3 * (1 - share) - changes_per_h * (share - 420e-6)

    done = solve_ivp(with_displacement, (0, 1), [420e-6], rtol=1e-10, atol=1e-14)
    true_ppm = done.y[0][-1] * 1e6
    assert found.end_ppm >= true_ppm
    assert found.reads_high == (found.peak_ppm > 30_000)
    if not found.reads_high:
        assert found.end_ppm == pytest.approx(true_ppm, rel=0.02)


def test_with_no_air_change_the_cabin_fills_and_stays_full() -> None:
    cabin = dry_ice_air(ice_kg=1.0, volume_m3=3.0, air_changes_per_h=0.0, release_h=0.5)
    assert cabin.end_ppm == pytest.approx(420 + 1e6 * cabin.gas_m3 / 3.0)
    assert ppm_at(8, 1.0, 3.0, 0.0, 0.5) == cabin.end_ppm
    assert cabin.verdict == "stop"


def test_nothing_reads_above_pure_gas() -> None:
    buried = dry_ice_air(ice_kg=500, volume_m3=3.0, air_changes_per_h=0.0, release_h=0.5)
    assert (buried.peak_ppm, buried.worst_15min_ppm, buried.average_8h_ppm) == (1e6, 1e6, 1e6)
    assert buried.oxygen_percent == 0


def test_no_ice_leaves_the_room_as_it_was_and_needs_no_air() -> None:
    empty = dry_ice_air(0, 86.4, 2, 1)
    assert empty.gas_m3 == 0
    assert empty[1:5] == pytest.approx((420, 420, 420, 420))
    assert empty.airflow_needed_m3_per_h == 0
    assert empty.verdict == "go"


@pytest.mark.parametrize(
    ("end_ppm", "release_h", "verdict"),
    [
        (4_999, 1.0, "go"),
        (5_001, 1.0, "ventilate"),
        (14_990, 0.02, "ventilate"),
        (15_100, 8.0, "stop"),  # 15000 ppm over a quarter hour, EH40/2005 (secondary copy)
        (30_010, 0.02, "stop"),  # 30000 ppm at any time, ACGIH (secondary copy)
    ],
)
def test_the_verdict_turns_at_its_limits(end_ppm: float, release_h: float, verdict: str) -> None:
    ice_kg, volume_m3, changes_per_h, _ = _ice_for(end_ppm)
    assert dry_ice_air(ice_kg, volume_m3, changes_per_h, release_h).verdict == verdict


def test_a_short_peak_under_30000_may_pass_15000_if_the_quarter_hour_does_not() -> None:
    # a minute's release blown out at once: a high peak, a low quarter hour
    blown_out = dry_ice_air(3.0, 50, 60, 1 / 60, mixing=1)
    assert 15_000 < blown_out.peak_ppm < 30_000
    assert blown_out.worst_15min_ppm < 15_000
    assert blown_out.verdict == "ventilate"


@pytest.mark.parametrize(("peak_ppm", "verdict"), [(29_990, "ventilate"), (30_010, "stop")])
def test_a_short_peak_over_30000_stops_whatever_the_quarter_hour(peak_ppm: float, verdict: str) -> None:
    # ACGIH (secondary copy): 30000 ppm; the readings grow in step with the ice
    one_kilo = dry_ice_air(1.0, 50, 60, 1 / 60, mixing=1)
    found = dry_ice_air((peak_ppm - 420) / (one_kilo.peak_ppm - 420), 50, 60, 1 / 60, mixing=1)
    assert found.peak_ppm == pytest.approx(peak_ppm)
    assert found.worst_15min_ppm < 15_000
    assert found.verdict == verdict


@pytest.mark.parametrize("changes_per_h", [0.0, 1e-300, 1e-9, 0.99e-3, 1.01e-3, 0.01])
def test_hardly_any_air_is_averaged_without_loss_of_digits(changes_per_h: float) -> None:
    facts = (10.0, 86.4, changes_per_h, 1.0, 1.0)
    rising, _ = quad(lambda time_h: ppm_at(time_h, *facts), 0, 1, epsabs=0, epsrel=1e-12)
    falling, _ = quad(lambda time_h: ppm_at(time_h, *facts), 1, 8, epsabs=0, epsrel=1e-12)
    assert dry_ice_air(*facts).average_8h_ppm == pytest.approx((rising + falling) / 8, rel=1e-10)


@given(ICE_KG, VOLUME_M3, CHANGES_PER_H, CHANGES_PER_H, RELEASE_H, MIXING, START_PPM)
def test_more_air_never_means_more_gas(
    ice_kg: float, volume_m3: float, one: float, other: float, release_h: float, mixing: float, start_ppm: float
) -> None:
    less, more = sorted((one, other))
    with_less = dry_ice_air(ice_kg, volume_m3, less, release_h, mixing, start_ppm)
    with_more = dry_ice_air(ice_kg, volume_m3, more, release_h, mixing, start_ppm)
    for name in ("end_ppm", "peak_ppm", "worst_15min_ppm", "average_8h_ppm"):
        assert getattr(with_more, name) <= getattr(with_less, name) * (1 + 1e-9) + 1e-6, name
    assert with_more.ice_limit_kg >= with_less.ice_limit_kg * (1 - 1e-9)


@given(ICE_KG, ICE_KG, VOLUME_M3, CHANGES_PER_H, RELEASE_H, MIXING, START_PPM)
def test_more_ice_never_means_a_better_verdict(
    one: float, other: float, volume_m3: float, changes: float, release_h: float, mixing: float, start_ppm: float
) -> None:
    order = ("go", "ventilate", "stop")
    less, more = sorted((one, other))
    first = dry_ice_air(less, volume_m3, changes, release_h, mixing, start_ppm)
    second = dry_ice_air(more, volume_m3, changes, release_h, mixing, start_ppm)
    assert order.index(first.verdict) <= order.index(second.verdict)


@given(VOLUME_M3, CHANGES_PER_H, RELEASE_H, MIXING, START_PPM)
def test_the_ice_limit_is_the_most_that_stays_at_go(
    volume_m3: float, changes: float, release_h: float, mixing: float, start_ppm: float
) -> None:
    limit_kg = dry_ice_air(0, volume_m3, changes, release_h, mixing, start_ppm).ice_limit_kg
    if limit_kg <= 900:
        assert dry_ice_air(limit_kg, volume_m3, changes, release_h, mixing, start_ppm).verdict == "go"
        more_kg = limit_kg * 1.001 + 0.001
        assert dry_ice_air(more_kg, volume_m3, changes, release_h, mixing, start_ppm).verdict != "go"


@given(ICE_KG, VOLUME_M3, RELEASE_H, MIXING, START_PPM)
def test_the_airflow_needed_holds_the_peak_at_the_eight_hour_limit(
    ice_kg: float, volume_m3: float, release_h: float, mixing: float, start_ppm: float
) -> None:
    needed = dry_ice_air(ice_kg, volume_m3, 0, release_h, mixing, start_ppm).airflow_needed_m3_per_h
    if needed / volume_m3 <= 10_000:
        aired = dry_ice_air(ice_kg, volume_m3, needed / volume_m3, release_h, mixing, start_ppm)
        assert aired.verdict == "go"
        if needed > 0:
            assert aired.peak_ppm == pytest.approx(5000, rel=1e-6)


def test_poor_mixing_asks_for_its_factor_in_air() -> None:
    mixed, poor = (dry_ice_air(10, 86.4, 2, 0.75, mixing=factor) for factor in (1.0, 3.0))
    assert poor.airflow_needed_m3_per_h == pytest.approx(3 * mixed.airflow_needed_m3_per_h)
    # 10 kg over 45 min: a release that went on for ever would need G / (5000 - 420 ppm)
    assert mixed.airflow_needed_m3_per_h == pytest.approx(mixed.gas_m3 / 0.75 / (5000e-6 - 420e-6), rel=1e-3)


# -- a cabin whose fan draws the air of the room


def test_the_cabin_draws_the_room_at_its_highest_counted_by_hand() -> None:
    """C(t) = Cin + (G/Q')(1 - exp(-Q't/V)) + (C0 - Cin) exp(-Q't/V), first for the room, then for the cabin with the
    room's highest as Cin (ACGIH Industrial Ventilation, from memory; gas 1.83934 kg/m3, CoolProp, computed)."""
    gas_m3_per_h = 0.5 / 1.83934 / 0.75
    room_airflow, cabin_airflow = 57.6 * 2 / 3, 300 / 3
    gone = math.exp(-room_airflow * 0.75 / 57.6)
    room_ppm = 420 + gas_m3_per_h / room_airflow * 1e6 * (1 - gone)
    gone = math.exp(-cabin_airflow * 0.75 / 3)
    cabin_ppm = room_ppm + gas_m3_per_h / cabin_airflow * 1e6 * (1 - gone) + (420 - room_ppm) * gone
    found = dry_ice_air_indoors(0.5, 3, 100, 57.6, 2, 0.75)
    assert (found.room.peak_ppm, found.cabin.peak_ppm) == pytest.approx((room_ppm, cabin_ppm), rel=1e-4)
    assert (round(room_ppm), round(cabin_ppm)) == (4134, 7758)


def _both_ways(
    ice_kg: float, cabin_m3: float, fan: float, room_m3: float, air: float, release_h: float, start_ppm: float
) -> tuple[float, float]:
    """The highest of cabin and room when each passes its air to the other, integrated step by step (airflows that
    count, in m3/h): nothing of the program's own formulas."""
    gas_m3_per_h = ice_kg / PropsSI("D", "T", 293.15, "P", 101325, "CO2") / release_h * 1e6

    def rates(time_h: float, ppm: np.ndarray) -> list[float]:
        passed = fan * (ppm[0] - ppm[1])
        gas = gas_m3_per_h if time_h < release_h else 0.0
        return [(gas - passed) / cabin_m3, (passed - air * (ppm[1] - 420)) / room_m3]

    highest = np.array([start_ppm, start_ppm])
    state = [start_ppm, start_ppm]
    for begin_h, end_h in ((0.0, release_h), (release_h, release_h + 2.0)):
        done = solve_ivp(rates, (begin_h, end_h), state, max_step=release_h / 50, rtol=1e-9, atol=1e-6, method="LSODA")
        highest = np.maximum(highest, done.y.max(axis=1))
        state = [float(row[-1]) for row in done.y]
    return float(highest[0]), float(highest[1])


@settings(max_examples=150, deadline=None)
@given(
    ice_kg=st.floats(min_value=0.1, max_value=10),
    fan_m3_per_h=st.floats(min_value=10, max_value=6000),
    room_m3=st.floats(min_value=10, max_value=500),
    changes_per_h=st.floats(min_value=0, max_value=30),
    release_h=st.floats(min_value=5 / 60, max_value=1),
    start_ppm=st.floats(min_value=420, max_value=5000),
)
def test_cabin_and_room_stay_below_the_figure_when_they_pass_their_air_to_each_other(
    ice_kg: float, fan_m3_per_h: float, room_m3: float, changes_per_h: float, release_h: float, start_ppm: float
) -> None:
    found = dry_ice_air_indoors(ice_kg, 3, fan_m3_per_h / 3, room_m3, changes_per_h, release_h, 3.0, start_ppm)
    cabin_ppm, room_ppm = _both_ways(
        ice_kg, 3, fan_m3_per_h / 3, room_m3, changes_per_h * room_m3 / 3, release_h, start_ppm
    )
    # pure gas is the most there is; the last digits are the integration's
    assert found.cabin.peak_ppm >= min(cabin_ppm, 1e6) * (1 - 1e-4)
    assert found.room.peak_ppm >= min(room_ppm, 1e6) * (1 - 1e-4)
    assert found.cabin.peak_ppm >= found.room.peak_ppm * (1 - 1e-9)


@pytest.mark.parametrize("fan_m3_per_h", [600, 2400, 4000])
@pytest.mark.parametrize(("room_m3", "changes_per_h"), [(36, 4), (57.6, 2), (86.4, 10)])
def test_with_a_fan_that_clears_the_cabin_the_figure_is_hardly_higher_than_the_two_spaces(
    fan_m3_per_h: float, room_m3: float, changes_per_h: float
) -> None:
    found = dry_ice_air_indoors(1.0, 3, fan_m3_per_h / 3, room_m3, changes_per_h, 0.75)
    cabin_ppm, _ = _both_ways(1.0, 3, fan_m3_per_h / 3, room_m3, changes_per_h * room_m3 / 3, 0.75, 420)
    assert cabin_ppm <= found.cabin.peak_ppm <= cabin_ppm * 1.08


@given(
    fan_m3_per_h=st.floats(min_value=0, max_value=6000),
    room_m3=st.floats(min_value=10, max_value=500),
    changes_per_h=st.floats(min_value=0, max_value=30),
    release_h=st.floats(min_value=5 / 60, max_value=1),
    start_ppm=st.floats(min_value=0, max_value=4999),
    outdoor_ppm=st.floats(min_value=0, max_value=2000),
)
def test_the_ice_limit_indoors_is_the_most_that_keeps_both_at_go(
    fan_m3_per_h: float, room_m3: float, changes_per_h: float, release_h: float, start_ppm: float, outdoor_ppm: float
) -> None:
    facts = (3, fan_m3_per_h / 3, room_m3, changes_per_h, release_h, 3.0, start_ppm, 20.0, outdoor_ppm)
    limit_kg = dry_ice_air_indoors(1.0, *facts).ice_limit_kg
    assert limit_kg >= 0
    at_it = dry_ice_air_indoors(limit_kg, *facts)
    assert (at_it.cabin.verdict, at_it.room.verdict) == ("go", "go")
    if start_ppm >= outdoor_ppm:
        beyond = dry_ice_air_indoors(limit_kg * 1.001 + 1e-4, *facts)
        assert "ventilate" in (beyond.cabin.verdict, beyond.room.verdict)


def test_no_fan_helps_a_cabin_in_a_room_whose_air_is_at_the_limit() -> None:
    full = dry_ice_air_indoors(0.5, 3, 1000, 57.6, 0, 0.75)
    assert full.room.peak_ppm > 5000
    assert full.cabin.airflow_needed_m3_per_h == math.inf


def test_without_ice_a_cabin_and_its_room_stay_as_they_were() -> None:
    empty = dry_ice_air_indoors(0, 3, 100, 57.6, 2, 1)
    assert empty.cabin[1:5] == pytest.approx((420, 420, 420, 420))


GOOD = {"ice_kg": 10.0, "volume_m3": 86.4, "air_changes_per_h": 2.0, "release_h": 1.0}


@pytest.mark.parametrize(
    ("name", "value", "reason"),
    [
        ("ice_kg", -1.0, "The dry ice is -1 kg, and the figure holds for 0 to 1000 kg."),
        ("ice_kg", math.nan, "The dry ice is nan kg"),
        ("ice_kg", math.inf, "The dry ice is inf kg"),
        ("volume_m3", 0.0, "The room is 0 m3, and the figure holds for 0.1 to 100000 m3."),
        ("air_changes_per_h", -2.0, "The air is -2 changes per hour"),
        ("release_h", 0.0, "The working time is 0 min"),
        ("release_h", 9.0, "The working time is 540 min, and the figure holds for 1 to 480 min."),
        ("mixing", 0.5, "The mixing factor is 0.5, and the figure holds for 1 to 10."),
        ("start_ppm", 6000.0, "6000 ppm before any ice is laid, and the limit is 5000 ppm: air it first."),
        ("start_ppm", -1.0, "The room at the start is -1 ppm"),
        ("temperature_c", 200.0, "The temperature is 200 C, and the figure holds for -40 to 60 C."),
        ("outdoor_ppm", 5000.0, "The air coming in is 5000 ppm, and the figure holds for 0 to 2000 ppm."),
        ("pressure_hpa", 1.0, "The air pressure is 1 hPa"),
    ],
)
def test_impossible_input_is_refused_with_its_limit(name: str, value: float, reason: str) -> None:
    for figure in (dry_ice_air, lambda **facts: ppm_at(0.5, **facts)):
        with pytest.raises(FigureError) as refusal:
            figure(**(GOOD | {name: value}))
        assert reason in str(refusal.value)


@pytest.mark.parametrize(
    ("name", "value", "reason"),
    [
        ("cabin_m3", 0.0, "The room is 0 m3"),
        ("room_m3", 0.0, "The room is 0 m3"),
        ("cabin_changes_per_h", -1.0, "The air is -1 changes per hour"),
        ("start_ppm", 6000.0, "6000 ppm before any ice is laid"),
        ("release_h", 0.0, "The working time is 0 min"),
    ],
)
def test_impossible_input_is_refused_indoors_too(name: str, value: float, reason: str) -> None:
    good = {"ice_kg": 1.0, "cabin_m3": 3.0, "cabin_changes_per_h": 100.0, "room_m3": 57.6, "room_changes_per_h": 2.0}
    with pytest.raises(FigureError, match=reason):
        dry_ice_air_indoors(**(good | {"release_h": 0.75} | {name: value}))
