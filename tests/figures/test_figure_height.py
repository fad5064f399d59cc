"""Height of the centre of gravity: a round trip by statics, numpy's least squares, and a simulated spread."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.figures.errors import FigureError
from teardown.figures.height import GREATEST_ANGLE_DEG, angle_from_lift_deg, height


def front_raised_kg(height_m: float, angle_deg: float, total: float = 1200, level: float = 672) -> float:
    """The front axle's share by moments about the rear contact, with the whole car turned about the front wheel."""
    wheelbase, axle = 2.5, 0.30
    angle = math.radians(angle_deg)
    # centre of gravity from the front wheel centre, in the car's own axes, then turned nose down
    back, up = (total - level) / total * wheelbase, height_m - axle
    back_turned = back * math.cos(angle) - up * math.sin(angle)
    return total * (1 - back_turned / (wheelbase * math.cos(angle)))


def test_the_round_trip_by_statics_comes_back() -> None:
    # made by statics: m 1200 kg, l 2.5 m, r 0.30 m, 15 deg, front 672.000 then 700.2954 kg: 0.520 m (computed)
    assert front_raised_kg(0.520, 15) == pytest.approx(700.2954, abs=5e-5)
    assert height(1200, 672, [700.2954], [15], 2.5, 0.30).height_m == pytest.approx(0.520, abs=5e-7)


@given(st.floats(min_value=0.31, max_value=0.9), st.lists(st.floats(min_value=2, max_value=40), min_size=1, max_size=6))
def test_any_height_comes_back_from_any_raises(height_m: float, angles: list[float]) -> None:
    raised = [front_raised_kg(height_m, angle) for angle in angles]
    found = height(1200, 672, raised, angles, 2.5, 0.30)
    assert found.height_m == pytest.approx(height_m, abs=1e-9)
    assert found.raises == len(angles)


def test_several_raises_are_averaged_by_the_slope_numpy_finds() -> None:
    angles, raised = [6.0, 10.0, 15.0], [683.5, 690.4, 700.9]
    tangents = np.tan(np.radians([0.0, *angles]))
    slope, _ = np.polyfit(tangents, [672.0, *raised], 1)
    assert height(1200, 672, raised, angles, 2.5, 0.30).height_m == pytest.approx(0.30 + 2.5 / 1200 * slope, rel=1e-12)


@pytest.mark.parametrize("angles", [[15.0], [38.0], [6.0, 10.0, 15.0]])
def test_the_uncertainty_is_the_spread_of_a_simulation(angles: list[float]) -> None:
    random = np.random.default_rng(20261)
    heights = []
    for _ in range(4000):
        angle_error = random.normal(0, 0.5, len(angles))
        level = 672 + random.normal(0, 0.3)
        raised = [
            front_raised_kg(0.52, a + e) + random.normal(0, 0.3) for a, e in zip(angles, angle_error, strict=True)
        ]
        axle = 0.30 + random.normal(0, 0.005)
        heights.append(height(1200, level, raised, angles, 2.5, axle, 0.3, 0.5).height_m)
    exact = [front_raised_kg(0.52, angle) for angle in angles]
    stated = height(1200, 672, exact, angles, 2.5, 0.30, reading_u_kg=0.3, angle_u_deg=0.5).height_u_m
    assert stated == pytest.approx(float(np.std(heights)), rel=0.05)


def test_readings_that_scatter_more_than_stated_widen_the_uncertainty() -> None:
    angles = [5.0, 10.0, 15.0]
    exact = [front_raised_kg(0.52, angle) for angle in angles]
    scattered = [load + error for load, error in zip(exact, (5, -5, 5), strict=True)]
    assert (
        height(1200, 672, scattered, angles, 2.5, 0.30).height_u_m
        > 3 * height(1200, 672, exact, angles, 2.5, 0.30).height_u_m
    )


def test_a_lift_gives_its_angle() -> None:
    assert angle_from_lift_deg(2.5 * math.sin(math.radians(15)), 2.5) == pytest.approx(15)


@pytest.mark.parametrize("lift_m", [1.767, 1.7677])
def test_the_highest_lift_is_that_of_the_greatest_angle_and_every_lift_up_to_the_one_told_is_taken(
    lift_m: float,
) -> None:
    assert angle_from_lift_deg(lift_m, 2.5) == pytest.approx(GREATEST_ANGLE_DEG, abs=0.05)
    assert angle_from_lift_deg(2.5 * math.sin(math.radians(GREATEST_ANGLE_DEG)), 2.5) <= GREATEST_ANGLE_DEG


GOOD = {
    "total_kg": 1200.0,
    "front_level_kg": 672.0,
    "front_raised_kg": [700.3],
    "angle_deg": [15.0],
    "wheelbase_m": 2.5,
    "axle_height_m": 0.3,
}


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"total_kg": 0.0}, "The car is 0 kg, and the figure holds for 50 to 20000 kg."),
        ({"front_level_kg": 1300.0}, "The front, level is 1300 kg, and the figure holds for 0 to 1200 kg."),
        ({"front_raised_kg": []}, "There are 0 raised readings and 1 angles: every raise needs both."),
        ({"front_raised_kg": [], "angle_deg": []}, "The number of raises is 0, and the figure holds for 1 to 50."),
        ({"front_raised_kg": [math.nan]}, "The front, raised is nan kg"),
        ({"angle_deg": [0.0]}, "The angle is 0 deg, and the figure holds for 1 to 45 deg."),
        ({"angle_deg": [90.0]}, "The angle is 90 deg"),
        ({"wheelbase_m": -2.5}, "The wheelbase is -2.5 m"),
        ({"axle_height_m": 5.0}, "The axle height is 5 m"),
        ({"reading_u_kg": -1.0}, "The uncertainty of a reading is -1 kg"),
        ({"angle_u_deg": math.inf}, "The uncertainty of an angle is inf deg"),
        ({"axle_height_u_m": 1.0}, "The uncertainty of the axle height is 1 m"),
        ({"front_raised_kg": [500.0]}, "and a car's lies between 0 and 3 m: check that the rear was lifted"),
    ],
)
def test_impossible_input_is_refused_with_its_limit(wrong: dict[str, object], reason: str) -> None:
    with pytest.raises(FigureError) as refusal:
        height(**(GOOD | wrong))
    assert reason in str(refusal.value)


@pytest.mark.parametrize("lift_m", [0.0, -0.1, 2.4, math.nan])
def test_a_lift_without_an_angle_is_refused(lift_m: float) -> None:
    with pytest.raises(FigureError, match=r"it must be above 0 to 1\.767 m"):
        angle_from_lift_deg(lift_m, 2.5)
