"""The weight on the wheels: against a textbook example, and against moments solved by numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.figures.balance import Part, Stance, balance
from teardown.figures.errors import FigureError

CORNERS = (334.0, 331.0, 266.0, 262.0)
CORNER = st.floats(min_value=150, max_value=600)
PLACES = st.builds(
    Part,
    mass_kg=st.floats(min_value=0, max_value=40),
    x_m=st.floats(min_value=-0.8, max_value=3.5),
    y_m=st.floats(min_value=-0.75, max_value=0.75),
    z_m=st.floats(min_value=0.1, max_value=1.4),
)


def car(
    corners: tuple[float, ...] = CORNERS,
    take: list[Part] | None = None,
    add: list[Part] | None = None,
    height_m: float | None = 0.55,
    track_rear_m: float | None = 1.48,
) -> tuple[Stance, Stance]:
    found = balance(corners, 2.60, 1.50, track_rear_m, height_m, take or [], add or [])
    return found.before, found.after


def test_the_centre_lies_where_the_textbook_puts_it() -> None:
    # R. N. Jazar, Vehicle Dynamics, example 40 (read): l 2.34 m, 2000 N and 1800 N a wheel: 1.1084 m, 1.2316 m
    newtons = [2000.0, 2000.0, 1800.0, 1800.0]
    stance = balance([force / 9.80665 for force in newtons], 2.34, 1.5).before
    assert stance.x_m == pytest.approx(1.1084, abs=5e-5)
    assert 2.34 - stance.x_m == pytest.approx(1.2316, abs=5e-5)


def test_shares_are_those_of_the_corners() -> None:
    stance, _ = car()
    assert stance.total_kg == 1193
    assert stance.front_percent == pytest.approx(100 * 665 / 1193)
    assert stance.left_percent == pytest.approx(100 * 600 / 1193)
    # front right and rear left: common practice
    assert stance.cross_percent == pytest.approx(100 * 597 / 1193)
    assert stance.y_m == pytest.approx((-3 * 0.75 - 4 * 0.74) / 1193)
    assert stance.height_m == 0.55


@given(st.tuples(CORNER, CORNER, CORNER, CORNER), st.lists(PLACES, max_size=4), st.lists(PLACES, max_size=4))
def test_the_centre_moves_as_moments_say(corners: tuple[float, ...], take: list[Part], add: list[Part]) -> None:
    before, after = car(corners, take, add)
    masses = np.array([before.total_kg] + [-part.mass_kg for part in take] + [part.mass_kg for part in add])
    places = np.array([(before.x_m, before.y_m, 0.55)] + [part[1:] for part in [*take, *add]])
    centre = masses @ places / masses.sum()
    assert after.total_kg == pytest.approx(masses.sum())
    assert (after.x_m, after.y_m, after.height_m) == pytest.approx(tuple(centre), abs=1e-9)
    assert sum(after.corners_kg) == pytest.approx(after.total_kg)
    assert min(after.corners_kg) >= 0


@given(st.tuples(CORNER, CORNER, CORNER, CORNER), PLACES)
def test_taking_a_part_off_and_putting_it_back_changes_nothing(corners: tuple[float, ...], part: Part) -> None:
    before, at_once = car(corners, take=[part], add=[part])
    assert at_once.corners_kg == pytest.approx(before.corners_kg, abs=1e-9)
    assert at_once.height_m == pytest.approx(before.height_m)
    _, without = car(corners, take=[part])
    _, back = car(without.corners_kg, add=[part], height_m=without.height_m)
    assert back.corners_kg == pytest.approx(before.corners_kg, abs=1e-9)
    assert back.height_m == pytest.approx(before.height_m)
    assert (back.x_m, back.y_m) == pytest.approx((before.x_m, before.y_m), abs=1e-12)


@given(PLACES)
def test_with_equal_tracks_the_sides_are_exact_too(part: Part) -> None:
    before, after = car(take=[part], track_rear_m=None)
    left_kg = before.total_kg * before.left_percent / 100 - part.mass_kg * (0.5 - part.y_m / 1.5)
    assert after.total_kg * after.left_percent / 100 == pytest.approx(left_kg)


def test_a_part_over_a_wheel_comes_off_that_wheel_alone() -> None:
    for wheel, (x_m, y_m) in enumerate([(0, -0.75), (0, 0.75), (2.6, -0.74), (2.6, 0.74)]):
        _, after = car(take=[Part(10, x_m, y_m)])
        expected = [mass - 10 * (place == wheel) for place, mass in enumerate(CORNERS)]
        assert after.corners_kg == pytest.approx(expected)


def test_an_axle_carries_a_parts_sideways_moment_in_its_share_of_the_weight() -> None:
    _, after = car(add=[Part(20, 0.65, 0.3)], track_rear_m=None)
    front, rear = 20 * 0.75, 20 * 0.25
    gained = np.subtract(after.corners_kg, CORNERS)
    assert gained == pytest.approx([front * (0.5 - 0.2), front * (0.5 + 0.2), rear * (0.5 - 0.2), rear * (0.5 + 0.2)])


def test_a_height_is_given_only_when_every_height_is() -> None:
    known, unknown = Part(10, 1, 0, 0.5), Part(10, 1, 0)
    assert car(take=[known], height_m=None)[1].height_m is None
    assert car(take=[known, unknown])[1].height_m is None
    assert car(take=[unknown])[0].height_m == 0.55
    assert car(take=[Part(100, 1, 0, 1.2)])[1].height_m == pytest.approx((1193 * 0.55 - 120) / 1093)


def test_the_reference_strip_moves_the_weight_forward_and_the_centre_down() -> None:
    # computed by moments for a 1350 kg car, 60 % front, wheelbase 2.60 m: most of an interior lies behind the middle
    before = [405.0, 405.0, 270.0, 270.0]
    found = balance(before, 2.60, 1.50, height_m=0.55, take=[Part(232, 0.62 * 2.6, 0.0, 0.61)])
    assert found.after.front_percent > found.before.front_percent == 60
    assert found.after.height_m is not None
    assert found.after.height_m < 0.55


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"corners_kg": [300, 300, 300]}, "There are 3 corner masses, and a car has 4: front left, front right"),
        ({"corners_kg": [0, 0, 0, 0]}, "The four corners weigh 0 kg together"),
        ({"corners_kg": [-1, 300, 300, 300]}, "The front left wheel is -1 kg, and the figure holds for 0 to 5000 kg."),
        ({"corners_kg": [300, 300, 300, math.nan]}, "The rear right wheel is nan kg"),
        ({"wheelbase_m": 0}, "The wheelbase is 0 m, and the figure holds for 0.5 to 10 m."),
        ({"track_m": 0}, "The front track is 0 m"),
        ({"track_rear_m": 99}, "The rear track is 99 m"),
        ({"height_m": -0.5}, "The height of the centre of gravity is -0.5 m"),
        ({"take": [Part(-5, 1, 0)]}, "A part is -5 kg"),
        ({"take": [Part(5, math.nan, 0)]}, "A part's place behind the front axle is nan m"),
        ({"take": [Part(5, 1, 99)]}, "A part's place right of the middle is 99 m"),
        ({"add": [Part(5, 1, 0, math.inf)]}, "A part's height is inf m"),
        ({"take": [Part(2000, 1.1, 0)]}, "That takes off more than the car's 1193.0 kg: check the masses."),
        (
            {"take": [Part(400, 2.6, -0.75)]},
            "That leaves -134.0 kg on the rear left wheel, and a wheel cannot carry less than 0 kg",
        ),
        ({"height_m": 0.1, "take": [Part(200, 1.15, 0, 1.4)]}, "below the ground: check the heights."),
    ],
)
def test_impossible_input_is_refused_with_its_limit(wrong: dict[str, object], reason: str) -> None:
    facts = {"corners_kg": CORNERS, "wheelbase_m": 2.6, "track_m": 1.5}
    with pytest.raises(FigureError) as refusal:
        balance(**(facts | wrong))
    assert reason in str(refusal.value)
