"""All kilos are told in one condition: weighings that stood differently are corrected, or it is said that they do not
compare."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.balance import Balances, balance_words
from teardown.car.closing import Closing, closing_of
from teardown.car.condition import condition_words
from teardown.car.mass import mass_now, mass_over_entries, mass_words
from tests.car.tally import known_balances, mats_count_as, mats_off, tally_world
from tests.world import World

CORNERS = "334,331,266,262kg"
# 80 kg in the driver's seat, by hand: 0.53 of it on the rear axle, 42.4 and 37.6 kg; 0.24 x 1.5 m left of the middle it
# shifts 37.6 x 0.36 / 1.5 = 9.024 kg from right to left in front and 42.4 x 0.36 / 1.5 = 10.176 kg at the rear
WITH_DRIVER = "361.824,340.776,297.376,273.024kg"
# 20 L of petrol at 747.5 kg/m3 (EN 228:2012, secondary copy) is 14.95 kg: 0.90 of it behind, half on each side
LESS_20_L = "333.2525,330.2525,259.2725,255.2725kg"


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def nothing_moved(found: Balances) -> None:
    assert found.now.corners_kg == pytest.approx(found.before.corners_kg)
    assert found.before.total_kg == pytest.approx(1193)


@pytest.mark.parametrize(("first", "then"), [
    ({"corners": CORNERS}, {"corners": WITH_DRIVER, "driver": "80kg"}),
    ({"corners": WITH_DRIVER, "driver": "80kg"}, {"corners": CORNERS}),
])  # fmt: skip
def test_a_driver_aboard_once_is_taken_out_of_the_seat_and_said(
    world: World, first: dict[str, str], then: dict[str, str]
) -> None:
    world.done("car-weighed", **first)
    world.done("car-weighed", **then)
    found = known_balances(world)
    nothing_moved(found)
    assert found.missing == ()
    assert any("driver or ballast, taken to be in the driver's seat -80.0 kg" in says for says in found.corrected)
    assert mass_now(world.state).now_kg == pytest.approx(found.now.total_kg)


def test_another_fuel_level_is_put_back_into_the_tank_and_said(world: World) -> None:
    world.done("car-weighed", corners=CORNERS, fuel="40L")
    world.done("car-weighed", corners=LESS_20_L, fuel="20L")
    found = known_balances(world)
    nothing_moved(found)
    assert found.corrected == (f"weighing {world.state.entries}: fuel (20.0 L petrol, told as 40.0 L petrol) +15.0 kg",)
    assert mass_now(world.state).now_kg == pytest.approx(1193)


def test_contents_have_no_place_so_the_balance_is_no_comparison_and_says_so(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    world.done("car-weighed", corners="344,341,276,272kg", contents="40kg")
    found = known_balances(world)
    assert found.missing == (
        f"contents 40.0 kg at weighing {world.state.entries}: nobody said where they lay in the car",
    )
    assert balance_words(world.state, found)[0].startswith("NOT A COMPARISON of before and now: contents 40.0 kg")
    # off all wheels in their shares, so that the kilos hold: 1233 less 40
    assert found.now.total_kg == pytest.approx(1193) == mass_now(world.state).now_kg
    assert found.now.front_percent == pytest.approx(100 * 685 / 1233)


@pytest.mark.parametrize(("first", "then", "why"), [
    ({"fuel": "40L"}, {}, "fuel was noted at one weighing only: NOT corrected"),
    ({}, {"fuel": "40L"}, "fuel was noted at one weighing only: NOT corrected"),
    ({"tyres": "2.2 bar"}, {"tyres": "1.8 bar"}, "the corners do not compare"),
])  # fmt: skip
def test_what_cannot_be_corrected_makes_it_no_comparison(
    world: World, first: dict[str, str], then: dict[str, str], why: str
) -> None:
    world.done("car-weighed", corners=CORNERS, **first)
    assert known_balances(world).missing == ()  # one weighing compares with itself
    world.done("car-weighed", corners=CORNERS, **then)
    assert why in known_balances(world).missing[0]


def test_weighings_that_stood_alike_compare_without_a_word(world: World) -> None:
    for _ in range(2):
        world.done("car-weighed", corners=CORNERS, fuel="40L", tyres="2.2 bar")
    assert (known_balances(world).missing, known_balances(world).corrected, mass_words(world.state)) == ((), (), [])


def test_burnt_fuel_is_no_kilo_off(world: World) -> None:
    world.done("car-weighed", total="1350kg", fuel="50L")
    world.done("car-weighed", total="1320kg", fuel="10L")
    mass = mass_now(world.state)
    # 40 L of petrol at 747.5 kg/m3 is 29.9 kg: of 30 kg less on the scales 0.1 kg came off the car
    assert (mass.now_kg, mass.to_go_kg) == (pytest.approx(1349.9), pytest.approx(349.9))
    assert [kg for _, kg in mass_over_entries(world.state)][1:] == [pytest.approx(1350), pytest.approx(1349.9)]
    assert mass_words(world.state) == [
        "Last weighing corrected: fuel (10.0 L petrol, told as 50.0 L petrol) +29.9 kg",
        "(all kilos as first weighed: with 50.0 L petrol, without driver and contents; fluids that went are no saving)",
    ]


def test_fuel_noted_once_is_not_corrected_in_the_kilos_and_they_say_so(world: World) -> None:
    world.done("car-weighed", total="1350kg", fuel="50L")
    world.done("car-weighed", total="1320kg")
    assert mass_now(world.state).now_kg == 1320
    assert mass_words(world.state)[0].startswith("NOT SURE: fuel was noted at one weighing only")


def test_a_fluid_that_went_between_two_weighings_is_no_kilo_off_either(world: World) -> None:
    mats_count_as(world, "fluid", "glycol, water")
    world.done("car-weighed", corners=CORNERS, fuel="40L")
    mats_off(world)
    world.done("car-weighed", corners="333.25,330.25,265.25,261.25kg", fuel="40L")  # 3 kg less, at half the wheelbase
    nothing_moved(known_balances(world))
    assert known_balances(world).fluids_kg == 3
    assert mass_now(world.state).now_kg == pytest.approx(1193)


@pytest.mark.parametrize(("fuel", "now_kg"), [({"fuel": "40L"}, 1190), ({}, 1193)])
def test_fuel_is_put_back_by_its_level_or_as_a_part_and_never_twice(
    world: World, fuel: dict[str, str], now_kg: float
) -> None:
    mats_count_as(world, "fluid", "petrol or diesel")
    world.done("car-weighed", corners=CORNERS, **fuel)
    mats_off(world)
    world.done("car-weighed", corners="333.25,330.25,265.25,261.25kg", **fuel)
    assert mass_now(world.state).now_kg == pytest.approx(now_kg)


def test_each_weighing_counts_its_own_kind_of_fuel_and_the_words_and_the_gap_agree(world: World) -> None:
    world.done("car-weighed", total="1350kg", fuel="40L", fuel_kind="diesel")
    world.done("car-weighed", total="1320kg", fuel="10L", fuel_kind="petrol")
    closing = closing_of(world.state)
    assert isinstance(closing, Closing)
    # diesel 832.5 kg/m3 (EN 590, memory), petrol 747.5 kg/m3 (EN 228:2012, secondary copy): 33.3 less 7.475 kg
    assert closing.lines.corrected == ("fuel: 40.0 L diesel before, 10.0 L petrol after, +25.8 kg of the difference",)
    assert closing.result.gap_kg == pytest.approx(1320 - (1350 - 25.825))
    assert mass_now(world.state).now_kg == pytest.approx(1320 + 25.825)


def test_a_total_after_the_corners_is_told_since_the_balance_knows_nothing_of_it(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    world.done("car-weighed", total="1180kg")
    assert "was a total only: now is reckoned from the corners of weighing" in known_balances(world).corrected[0]


def test_before_the_first_weighing_there_is_no_condition_to_tell(world: World) -> None:
    assert condition_words(world.state) == ""


@pytest.mark.parametrize("counts", ["fluid", "contents"])
def test_what_was_found_as_fluid_or_contents_is_no_kilo_off(world: World, counts: str) -> None:
    world.done("car-weighed", corners=CORNERS, fuel="40L")
    world.done("part-found", name="Gear oil", reading="3kg", counts=counts, x=0.5, y="0", z=0.3)
    assert (mass_now(world.state).now_kg, known_balances(world).fluids_kg) == (1193, 3)
    world.done("car-weighed", corners="333.25,330.25,265.25,261.25kg", fuel="40L")
    nothing_moved(known_balances(world))
    assert mass_now(world.state).now_kg == pytest.approx(1193)


def test_fuel_told_by_its_level_is_not_told_as_still_aboard_too(world: World) -> None:
    mats_count_as(world, "fluid", "petrol or diesel")
    world.done("car-weighed", corners=CORNERS, fuel="40L")
    mats_off(world)
    world.done("car-weighed", corners=LESS_20_L, fuel="20L")
    assert known_balances(world).fluids_kg == 0
    assert not any("told as still aboard" in says for says in balance_words(world.state, known_balances(world)))
