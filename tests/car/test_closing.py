"""The closing of a car: what came off between two weighings against what the scales felt."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from teardown.car.closing import MOST_ITEMS, Closing, _at_most, closing_of
from teardown.cli import main
from teardown.figures.closing import Item
from tests.car.tally import mats_count_as, mats_off, tally_world
from tests.world import PROCEDURES, World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def closed(world: World) -> Closing:
    found = closing_of(world.state)
    assert isinstance(found, Closing), found
    return found


def test_without_two_weighings_it_says_what_is_missing(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    assert closing_of(world.state) == (
        "the car was weighed 1 of 2 times: enter car-weighed as it came, and again as it is"
    )


def test_what_was_weighed_explains_the_scales(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L")
    mats_off(world)
    world.done("part-weighed", part="mats", reading="3.2kg")
    world.done("part-fitted", name="race seat", reading="8kg")
    world.done("car-weighed", total="1205kg", fuel="40L")
    found = closed(world)
    assert {item.name: (item.mass_kg, item.fitted) for item in found.lines.items} == {
        "Floor mats": (3.2, False),
        "race seat": (8.0, True),
    }
    assert found.result.gap_kg == pytest.approx(1205 - (1200 - 3.2 + 8))
    assert found.result.verdict == "closes"


def test_what_nobody_weighed_counts_at_the_packs_mass_with_a_wide_uncertainty(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    mats_off(world)
    world.done("car-weighed", total="1197kg")
    (item,) = closed(world).lines.items
    # 1 to 5 kg as 1-in-10 and 9-in-10 cases; the normal quantile at 0.9 is 1.28155 (NIST e-Handbook 1.3.6.7.1, memory)
    assert (item.mass_kg, item.estimated, item.u_kg) == (3, True, pytest.approx(4 / (2 * 1.28155), abs=1e-4))


def test_a_gap_too_large_to_be_chance_asks_for_a_look_and_moves_no_line(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L", fuel_u="0.1L")
    mats_off(world)
    world.done("part-weighed", part="mats", reading="3kg")
    world.done("car-weighed", total="1190kg", fuel="40L", fuel_u="0.1L")
    found = closed(world)
    assert found.result.verdict == "look"
    assert found.result.gap_kg == pytest.approx(-7)
    assert found.result.candidates[-1].name == "Floor mats"  # it was weighed best: the last to doubt
    assert sum(item.mass_kg for item in found.lines.items) == 3  # never spread over the lines


def test_what_came_off_before_the_first_weighing_or_after_the_last_is_not_in_it(world: World) -> None:
    mats_off(world)
    world.done("car-weighed", total="1197kg")
    world.done("part-found", name="jack", reading="4kg")
    world.done("car-weighed", total="1193kg")
    world.done("part-found", name="wheel brace", reading="1kg")
    assert [item.name for item in closed(world).lines.items] == ["jack"]


def test_a_part_that_went_back_on_between_the_weighings_counts_as_fitted(world: World) -> None:
    mats_off(world)
    world.done("car-weighed", total="1197kg")
    world.done("part-back", part="mats")
    world.done("car-weighed", total="1200kg")
    assert [(item.name, item.fitted) for item in closed(world).lines.items] == [("Floor mats", True)]


def closed_names(world: World, total: str) -> list[str]:
    world.done("car-weighed", total=total)
    return [item.name for item in closed(world).lines.items]


def test_parts_of_one_reading_are_one_line_since_they_share_its_error(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    world.modules_out()
    world.done("parts-weighed", parts="driver-bag,knee-bag", reading="2.20kg")
    assert closed_names(world, "1197.8kg") == ["Driver airbag module and 1 more"]
    (item,) = closed(world).lines.items
    assert (item.mass_kg, item.u_kg) == (pytest.approx(2.2), pytest.approx(0.02 / 12**0.5))  # JCGM 100:2008 F.2.2.1


@pytest.mark.parametrize(("fuel", "names"), [("40L", []), (None, ["Floor mats"])])
def test_fuel_counts_by_its_level_where_that_was_noted_and_as_a_part_where_it_was_not(
    world: World, fuel: str | None, names: list[str]
) -> None:
    mats_count_as(world, "fluid", "petrol or diesel")
    noted = {"fuel": fuel} if fuel else {}
    world.done("car-weighed", total="1200kg", **noted)
    mats_off(world)
    world.done("car-weighed", total="1200kg", **noted)
    assert [item.name for item in closed(world).lines.items] == names


def test_what_a_step_puts_on_counts_as_fitted(world: World) -> None:
    mats_count_as(world, "added")
    world.done("car-weighed", total="1200kg")
    mats_off(world)
    world.done("car-weighed", total="1203kg")
    assert [(item.name, item.fitted) for item in closed(world).lines.items] == [("Floor mats", True)]
    assert closed(world).result.gap_kg == pytest.approx(0)


def test_thousands_of_lines_are_summed_without_losing_a_gram() -> None:
    items = [Item(f"line {n}", 0.1 + n / 1000, 0.01 + n / 1e6, fitted=n % 7 == 0) for n in range(2500)]
    kept = _at_most(MOST_ITEMS, items)
    assert len(kept) <= MOST_ITEMS
    for fitted in (False, True):
        before = sum(item.mass_kg for item in items if item.fitted == fitted)
        assert sum(item.mass_kg for item in kept if item.fitted == fitted) == pytest.approx(before)


def test_the_figure_takes_a_cars_folder_and_show_says_what_is_forgotten(
    world: World, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("teardown.car.door.procedures", lambda: PROCEDURES)
    world.done("car-weighed", total="1200kg", fuel="40L")
    mats_off(world)
    world.done("car-weighed", total="1170kg", fuel="40L")
    world.car.close()
    assert main(["figure", "closing", str(world.folder), "--json"]) == 0
    figure = json.loads(capsys.readouterr().out)
    assert main(["show", str(world.folder), "closing"]) == 0
    text = capsys.readouterr().out
    assert main(["show", str(world.folder), "--json"]) == 0
    shown = json.loads(capsys.readouterr().out)["closing"]
    assert figure["verdict"] == shown["verdict"] == "weigh again"
    assert "WEIGH AGAIN" in text
    assert "Most often forgotten, the usual first:" in text
    assert "fuel at another level" in text
    assert text.casefold().count("often forgotten") == 1


def test_a_lot_that_is_torn_apart_has_the_packs_spread_and_counts_as_estimated(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    mats_off(world)
    world.done("parts-weighed", parts="mats,driver-seat", reading="22.00kg")
    world.done("car-weighed", total="1197kg")
    (item,) = closed(world).lines.items
    # mats 1 to 5 kg, seat 14 to 32 kg; the mats have 3 of 22 kg in the packs
    assert (item.name, item.mass_kg, item.estimated) == ("Floor mats", pytest.approx(3), True)
    assert item.u_kg == pytest.approx(4 / (2 * 1.28155), abs=1e-4)


def test_a_lot_without_the_one_that_was_weighed_again_is_known_by_both_readings(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    world.modules_out()
    world.done("parts-weighed", parts="driver-bag,knee-bag", reading="2.20kg")
    world.done("part-weighed", part="driver-bag", reading="1.00kg")
    world.done("car-weighed", total="1197.8kg")
    items = {item.name: item for item in closed(world).lines.items}
    assert items["Driver airbag module"].mass_kg == 1
    assert (items["Knee airbag module"].mass_kg, items["Knee airbag module"].estimated) == (pytest.approx(1.2), False)
    assert items["Knee airbag module"].u_kg == pytest.approx((2 * 0.02**2 / 12) ** 0.5)


def test_a_lot_that_disagrees_with_what_was_weighed_again_is_said(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    world.modules_out()
    lot = world.done("parts-weighed", parts="driver-bag,knee-bag", reading="2.20kg")
    world.done("part-weighed", part="driver-bag", reading="2.40kg")
    world.done("car-weighed", total="1197.8kg")
    assert closed(world).lines.doubts[-1] == (
        f"2.20kg was read with all of driver-bag, knee-bag (entry {lot.n}), and driver-bag alone 2.4 kg: they "
        "disagree. Weigh the rest again"
    )


def test_what_was_found_as_fluid_or_contents_went_and_the_scales_felt_it(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L")
    world.done("part-found", name="Gearbox oil", reading="2.00kg", counts="fluid")
    world.done("part-found", name="Old petrol", reading="9.00kg", counts="fluid")  # told by its level
    world.done("car-weighed", total="1198kg", fuel="40L")
    assert [item.name for item in closed(world).lines.items] == ["Gearbox oil"]
    assert closed(world).result.gap_kg == pytest.approx(0)


def test_the_sums_of_a_closing_are_those_a_person_adds_up(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L")
    mats_off(world)
    world.done("part-fitted", name="seat", reading="8.00kg")
    world.done("car-weighed", total="1206kg", fuel="40L")
    found = closed(world)
    assert (found.off_kg, found.fitted_kg, found.estimated) == (3, 8, 1)
    assert found.reckoned_kg == pytest.approx(1200 - 3 + 8)
    assert found.result.gap_kg == pytest.approx(1)
