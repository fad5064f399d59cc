"""The balance of a car: as it came, now, with what is planned; and what one part does before it comes off."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.balance import UNKNOWN, balances, effect_of
from tests.car.tally import TALLY_FACTS, known_balances, mats_count_as, mats_off, tally_world
from tests.world import World

CORNERS = "334,331,266,262kg"


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def test_without_corners_it_says_what_to_enter(world: World) -> None:
    world.done("car-weighed", total="1193kg")
    assert balances(world.state) == UNKNOWN


def test_without_a_wheelbase_it_says_what_to_enter(tmp_path: Path) -> None:
    bare = tally_world(tmp_path / "car", TALLY_FACTS.replace('wheelbase = "2.60m"\n', ""))
    bare.done("car-weighed", corners=CORNERS)
    assert balances(bare.state) == UNKNOWN


def test_a_part_takes_its_weight_off_by_moments(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    mats_off(world)
    world.done("part-weighed", part="mats", reading="4kg")
    found = known_balances(world)
    assert (found.before.total_kg, found.now.total_kg) == (1193, 1189)
    # moments about the rear axle by hand: 4 kg at half the wheelbase takes 2 kg off each axle
    assert found.now.front_percent == pytest.approx(100 * (665 - 2) / 1189)
    # and about the ground: (1193 x 0.55 - 4 x 0.3) / 1189
    assert found.now.height_m == pytest.approx((1193 * 0.55 - 4 * 0.3) / 1189)


def test_planned_is_everything_still_to_come_off_and_not_kept(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    off_kg = known_balances(world).now.total_kg - known_balances(world).planned.total_kg
    assert off_kg == pytest.approx(3 + 1 + 1.2 + 19 + 10)  # the likely masses of the small world's packs
    world.done("part-fate", part="driver-seat", fate="keep")
    kept = known_balances(world)
    assert kept.now.total_kg - kept.planned.total_kg == pytest.approx(off_kg - 19)


def test_the_effect_of_a_part_is_known_before_it_comes_off_and_comes_true(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    before = known_balances(world).now
    effect = effect_of(world.state, world.state.route.parts["mats"])
    assert not isinstance(effect, str)
    mats_off(world)
    after = known_balances(world).now
    assert effect.total_kg == pytest.approx(after.total_kg - before.total_kg)
    assert effect.front_percent == pytest.approx(after.front_percent - before.front_percent)
    assert effect.height_m == pytest.approx((after.height_m or 0) - (before.height_m or 0))
    assert effect_of(world.state, world.state.route.parts["mats"]) == (
        "Floor mats is off: the balance now is without it"
    )


def test_a_new_weighing_takes_the_place_of_reckoning(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    mats_off(world)
    world.done("car-weighed", corners="330,330,265,265kg")
    found = known_balances(world)
    assert found.before.corners_kg == (334, 331, 266, 262)
    assert found.now.corners_kg == (330, 330, 265, 265)


def test_what_was_fitted_with_a_place_counts_and_without_one_is_told(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    world.done("part-fitted", name="seat", reading="8kg", x=0.5, y="D0.24", z=0.5)
    world.done("part-fitted", name="fire bottle", reading="6kg")
    found = known_balances(world)
    assert found.now.total_kg == pytest.approx(1193 + 8)
    assert found.unplaced_kg == 6
    assert found.now.left_percent > found.before.left_percent  # the driver sits on the left


def test_what_a_step_puts_on_is_added(world: World) -> None:
    mats_count_as(world, "added")
    world.done("car-weighed", corners=CORNERS)
    mats_off(world)
    assert known_balances(world).now.total_kg == pytest.approx(1193 + 3)


def test_fluids_that_are_gone_are_told_since_they_are_no_saving(world: World) -> None:
    mats_count_as(world, "fluid")
    world.done("car-weighed", corners=CORNERS)
    mats_off(world)
    assert (known_balances(world).now.total_kg, known_balances(world).fluids_kg) == (pytest.approx(1193), 3)


@pytest.mark.parametrize("counts", ["fluid", "contents"])
def test_what_is_no_saving_has_no_effect_to_tell(world: World, counts: str) -> None:
    mats_count_as(world, counts)
    world.done("car-weighed", corners=CORNERS)
    assert effect_of(world.state, world.state.route.parts["mats"]) == (
        "Floor mats is fluid or contents: the balance is told as if it were aboard"
    )


def test_masses_that_leave_a_wheel_with_nothing_are_told_and_do_not_end_the_program(world: World) -> None:
    world.done("car-weighed", corners="1,1,1,1kg")
    assert "check the masses" in str(balances(world.state))


def test_planned_puts_on_what_the_packs_put_on_and_nobody_has_skipped(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    without = known_balances(world).planned.total_kg
    mats_count_as(world, "added")
    world.done("note", text="the balance is looked at anew")
    world.done("car-weighed", corners=CORNERS)
    assert known_balances(world).planned.total_kg == pytest.approx(without + 3 + 3)  # on instead of off
    mats_off(world)
    assert known_balances(world).planned.total_kg == pytest.approx(without + 3 + 3)  # it is on


def test_what_was_fitted_at_a_place_and_came_off_again_is_not_there(world: World) -> None:
    world.done("car-weighed", corners=CORNERS)
    n = world.done("part-fitted", name="seat", reading="8kg", x=0.5, y="D0.24", z=0.5).n
    world.done("part-off", part=f"fitted-{n}")
    assert known_balances(world).now == known_balances(world).before
