"""Carriage: the usual worked parcels."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.figures.carriage import carriage
from teardown.figures.errors import FigureError

INCH_M = 0.0254
LB_KG = 0.45359237
IN3_PER_LB = 139 * 2.54**3 / LB_KG


@pytest.mark.parametrize(
    ("inches", "billed_lb"),
    [((20, 15, 10), 22), ((14, 11, 6), 7)],  # a carrier's worked examples at 139 in3/lb (secondary copy)
)
def test_the_worked_parcels_bill_as_printed(inches: tuple[int, int, int], billed_lb: int) -> None:
    length_m, width_m, height_m = (side * INCH_M for side in inches)
    found = carriage(length_m, width_m, height_m, mass_kg=LB_KG, divisor_cm3_per_kg=IN3_PER_LB, round_up_to_kg=LB_KG)
    assert found.billed_kg / LB_KG == pytest.approx(billed_lb, abs=1e-9)


def test_a_heavy_parcel_bills_by_the_scale() -> None:
    found = carriage(0.2, 0.2, 0.2, mass_kg=9.1)
    assert (found.dimensional_kg, found.billed_kg) == (pytest.approx(1.6), 10)


def test_a_whole_number_is_not_rounded_up_again() -> None:
    # 5 x 20 x 50 cm at 5000 cm3/kg is 1 kg, and a last binary digit over it
    assert carriage(0.05, 0.20, 0.50, mass_kg=0).dimensional_kg > 1
    assert carriage(0.05, 0.20, 0.50, mass_kg=0).billed_kg == 1
    assert carriage(0.1, 0.1, 0.1, mass_kg=3.0).billed_kg == 3


@given(
    st.floats(min_value=0.01, max_value=3),
    st.floats(min_value=0.01, max_value=3),
    st.floats(min_value=0.01, max_value=3),
    st.floats(min_value=0, max_value=100),
    st.sampled_from([1.0, 0.5, LB_KG]),
)
def test_the_bill_is_never_under_either_mass_and_less_than_a_step_over_the_larger(
    length_m: float, width_m: float, height_m: float, mass_kg: float, step_kg: float
) -> None:
    found = carriage(length_m, width_m, height_m, mass_kg, round_up_to_kg=step_kg)
    larger = max(mass_kg, found.dimensional_kg)
    assert larger - 1e-6 <= found.billed_kg < larger + step_kg


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"length_m": 0.0}, "The length is 0 m, and a box has a length above 0 to 10 m."),
        ({"width_m": -1.0}, "The width is -1 m"),
        ({"height_m": math.nan}, "The height is nan m"),
        ({"mass_kg": -4.0}, "The box is -4 kg, and the figure holds for 0 to 2000 kg."),
        ({"divisor_cm3_per_kg": 0.0}, "The divisor is 0 cm3/kg, and the figure holds for 500 to 50000 cm3/kg."),
        ({"round_up_to_kg": 0.0}, "The rounding step is 0 kg"),
    ],
)
def test_impossible_input_is_refused_with_its_limit(wrong: dict[str, float], reason: str) -> None:
    with pytest.raises(FigureError) as refusal:
        carriage(**({"length_m": 0.6, "width_m": 0.4, "height_m": 0.3, "mass_kg": 4.0} | wrong))
    assert reason in str(refusal.value)
