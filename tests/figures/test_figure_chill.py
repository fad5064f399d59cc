"""Ice for a pad: against scipy's integration of the lump, and of the pad cut into thin slices."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from teardown.figures.chill import ICE_C, SUBLIMATION_KJ_PER_KG, chill
from teardown.figures.errors import FigureError


def test_the_heat_is_that_of_the_published_materials() -> None:
    # ISO 10456 (secondary copy): steel 7800 kg/m3, 450 J/kgK; bitumen sheet 1100 kg/m3, 1000 J/kgK
    found = chill(area_m2=1.5, pad_m=0.0025, steel_m=0.0008, from_c=20, to_c=-40)
    assert found.pad_kg == pytest.approx(1.5 * 0.0025 * 1100)
    assert found.heat_kj == pytest.approx((found.pad_kg * 1.000 + 1.5 * 0.0008 * 7800 * 0.450) * 60)


def test_the_heat_of_sublimation_agrees_with_clapeyron() -> None:
    # handbook 571 kJ/kg (secondary copy); 574.3 by Clapeyron (computed). Here: the sublimation curve of R. Span and
    # W. Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, eq. 3.12 (from memory)
    def pressure_pa(temperature_k: float) -> float:
        below = 1 - temperature_k / 216.592
        terms = -14.740846 * below + 2.4327015 * below**1.9 - 5.3061778 * below**2.9
        return 517_950 * math.exp(216.592 / temperature_k * terms)

    at_one_atmosphere_k = brentq(lambda kelvin: pressure_pa(kelvin) - 101_325, 180, 210)
    slope = (pressure_pa(at_one_atmosphere_k + 0.01) - pressure_pa(at_one_atmosphere_k - 0.01)) / 0.02
    # the gas by its second virial coefficient (Kaye & Laby, from memory), the ice at 1562 kg/m3 (from memory)
    virial_m3 = (137.6 - 87.7 * math.exp(325.7 / at_one_atmosphere_k)) * 1e-6
    volume_m3 = (8.314462618 * at_one_atmosphere_k / 101_325 + virial_m3) / 0.0440095
    clapeyron_kj_per_kg = at_one_atmosphere_k * slope * (volume_m3 - 1 / 1562) / 1000
    # FAA AC 91-76A item 3a (read): -78.5 C
    assert at_one_atmosphere_k - 273.15 == pytest.approx(ICE_C, abs=0.05)
    assert clapeyron_kj_per_kg == pytest.approx(574.3, abs=1.0)
    assert pytest.approx(clapeyron_kj_per_kg, rel=0.01) == SUBLIMATION_KJ_PER_KG


@pytest.mark.parametrize(
    ("pad_mm", "contact", "to_c"), [(0.2, 60, -40), (1.0, 20, -10), (2.5, 60, -40), (4.0, 150, -60)]
)
def test_the_soak_is_that_of_an_integrated_lump(pad_mm: float, contact: float, to_c: float) -> None:
    capacity = 1100 * pad_mm / 1000 * 1000 + 7800 * 0.0008 * 450

    def cold_enough(_: float, temperature: np.ndarray) -> float:
        return float(temperature[0]) - to_c

    cold_enough.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(
        lambda _, temperature: contact * (ICE_C - temperature) / capacity, (0, 1e5), [20], events=cold_enough, rtol=1e-9
    )
    found = chill(1.5, pad_mm / 1000, 0.0008, 20, to_c, contact_w_per_m2_k=contact)
    assert found.soak_min * 60 == pytest.approx(done.t_events[0][0], rel=1e-6)


@pytest.mark.parametrize(("pad_mm", "contact"), [(0.2, 60), (2.5, 60), (2.5, 500), (8.0, 150)])
def test_the_real_soak_lies_between_the_two_times(pad_mm: float, contact: float) -> None:
    slices = 40
    thickness_m = pad_mm / 1000 / slices
    conductance, slice_capacity, steel_capacity = 0.23 / thickness_m, 1100 * thickness_m * 1000, 7800 * 0.0008 * 450

    def warming(_: float, temperature: np.ndarray) -> np.ndarray:
        # through half a slice to the ice, from slice to slice, and half a slice to the steel, the last node
        flow = np.empty(slices + 1)
        flow[0] = (ICE_C - temperature[0]) / (1 / contact + 0.5 / conductance)
        flow[1:slices] = conductance * (temperature[: slices - 1] - temperature[1:slices])
        flow[slices] = 2 * conductance * (temperature[slices - 1] - temperature[slices])
        out = np.append(flow[1:], 0.0)
        return (flow - out) / np.append(np.full(slices, slice_capacity), steel_capacity)

    def cold_enough(_: float, temperature: np.ndarray) -> float:
        return float(temperature[-1]) + 40

    cold_enough.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(
        warming, (0, 1e5), np.full(slices + 1, 20.0), events=cold_enough, method="LSODA", rtol=1e-7, atol=1e-7
    )
    found = chill(1.5, pad_mm / 1000, 0.0008, 20, -40, contact_w_per_m2_k=contact)
    # the face of the steel
    assert found.soak_min * 60 * 0.999 <= done.t_events[0][0] <= found.soak_longest_min * 60 * 1.001
    if found.lumped:
        assert done.t_events[0][0] == pytest.approx(found.soak_min * 60, rel=0.1)


def test_one_lump_holds_up_to_a_biot_number_of_a_tenth() -> None:
    # Incropera, Fundamentals of Heat and Mass Transfer, s. 5.2 (from memory): Bi = h L / k at most 0.1
    assert chill(1, 0.0002, 0.0008, 20, -40).lumped
    thick = chill(1, 0.0025, 0.0008, 20, -40)
    assert not thick.lumped
    assert thick.biot == pytest.approx(60 * 0.0025 / 0.23)


def test_the_room_adds_ice_at_its_whole_difference_for_the_whole_soak() -> None:
    still, aired = (chill(1.5, 0.0025, 0.0008, 20, -40, air_w_per_m2_k=warmth) for warmth in (0, 10))
    assert still.air_heat_kj == 0
    assert aired.air_heat_kj == pytest.approx(1.5 * 10 * 98.5 * aired.soak_min * 60 / 1000)
    assert (aired.ice_kg - still.ice_kg) * 571 == pytest.approx(aired.air_heat_kj)


@given(
    st.floats(min_value=0.01, max_value=5), st.floats(min_value=-70, max_value=10), st.floats(min_value=0, max_value=9)
)
def test_more_area_or_more_cold_never_takes_less_ice(area_m2: float, to_c: float, colder_c: float) -> None:
    once, twice = (chill(area, 0.0025, 0.0008, 20, to_c) for area in (area_m2, 2 * area_m2))
    colder = chill(area_m2, 0.0025, 0.0008, 20, max(to_c - colder_c, -78))
    assert twice.ice_kg == pytest.approx(2 * once.ice_kg)
    assert twice.soak_min == once.soak_min
    assert colder.ice_kg >= once.ice_kg * (1 - 1e-12)
    assert colder.soak_min >= once.soak_min * (1 - 1e-12)


GOOD = {"area_m2": 1.5, "pad_m": 0.0025, "steel_m": 0.0008, "from_c": 20.0, "to_c": -40.0}


@pytest.mark.parametrize(
    ("name", "value", "reason"),
    [
        ("area_m2", -1.0, "The area is -1 m2, and the figure holds for 0 to 50 m2."),
        ("area_m2", math.nan, "The area is nan m2"),
        ("pad_m", 0.5, "The pad is 500 mm, and the figure holds for 0 to 20 mm."),
        ("steel_m", 0.0, "The steel is 0 mm, and the figure holds for 0.1 to 10 mm."),
        ("from_c", 400.0, "The start is 400 C"),
        ("to_c", -80.0, "Dry ice is at -78.5 C, so nothing under it gets down to -80 C."),
        ("to_c", -78.5, "Dry ice is at -78.5 C"),
        ("to_c", math.nan, "Dry ice is at -78.5 C"),
        ("to_c", 25.0, "It starts at 20 C, so 25 C is no cooling"),
        ("contact_w_per_m2_k", 0.0, "The contact is 0 W/m2K, and the figure holds for 1 to 2000 W/m2K."),
        ("air_w_per_m2_k", -5.0, "The warmth from the room is -5 W/m2K"),
        ("pad_kg_per_m3", 1.0, "The pad's density is 1 kg/m3"),
    ],
)
def test_impossible_input_is_refused_with_its_limit(name: str, value: float, reason: str) -> None:
    with pytest.raises(FigureError) as refusal:
        chill(**(GOOD | {name: value}))
    assert reason in str(refusal.value)
