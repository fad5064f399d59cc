"""A reading far from what is known is asked about once, in the unit it was typed in, and never refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.asking import question_about_entry
from tests.car.tally import mats_off, tally_world
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def asked(world: World, kind: str, **words: object) -> str:
    return question_about_entry(world.state, world.done(kind, **words))


@pytest.mark.parametrize(("reading", "question"), [
    ("50 pounds", "50 or 5? 50 pounds is written; if it is wrong: undo entry=2"),  # 1 to 5 kg: 50 lb is 22.7 kg
    ("100g", "100 or 1000? 100g is written; if it is wrong: undo entry=2"),
    ("400oz", ""),  # 11.3 kg, within three times the most
    ("5 pounds", ""),
])  # fmt: skip
def test_a_part_is_asked_about_in_the_unit_it_was_typed_in(world: World, reading: str, question: str) -> None:
    assert asked(world, "part-weighed", part="mats", reading=reading) == question


def test_what_is_taken_to_be_live_is_told_with_both_ways_out(world: World) -> None:
    """Every count is shut by it: nobody should have to look for the reason."""
    assert asked(world, "part-found", name="Roof rack", reading="6kg") == ""
    assert asked(world, "part-found", name="Knee airbag", reading="1kg") == (
        "Knee airbag is taken to be live: no count agrees until it is stored (part-stored), or somebody has looked "
        "(not-there module=found-3)"
    )
    assert asked(world, "part-fitted", name="Airbag", reading="1kg") == (
        "Airbag is taken to be live: no count agrees until it is off and stored (part-off, part-stored), or somebody "
        "has looked (not-there module=fitted-4)"
    )


def test_a_thing_has_no_usual_mass_to_be_asked_about(world: World) -> None:
    n = world.done("part-found", name="anvil", reading="4kg").n
    assert asked(world, "part-weighed", part=f"found-{n}", reading="40kg") == ""


@pytest.mark.parametrize(("words", "question"), [
    ({"total": "1193kg; 119.4kg"}, "the readings are 1073.6 kg apart: is each of them right?"),
    ({"total": "1193kg; 1180kg"}, "the readings are 13.0 kg apart: is each of them right?"),  # 1 % of them is 11.9 kg
    ({"total": "1193kg; 1189kg"}, ""),
    ({"corners": "334,331,2660,262kg"}, "rear left 2660 or 266?"),
    ({"corners": "334,33.1,266,262kg"}, "front right 33.1 or 331?"),
    ({"corners": "736,730,5860,578lb"}, "rear left 5860 or 586?"),
    ({"corners": "334,0,266,262kg"}, "front right shows nothing?"),
    ({"corners": "403,398.5,290,286.5kg"}, ""),
    ({"total": "119.3kg"}, "the car 119.3 kg? The tally has 1200.0 kg."),
    ({"total": "263lb"}, "the car 263.0 lb? The tally has 2645.5 lb."),
    ({"total": "1290kg", "driver": "90kg"}, ""),
    ({"total": "1020.1kg"}, ""),  # just within 15 %
    ({"total": "1019kg"}, "the car 1019.0 kg? The tally has 1200.0 kg."),
])  # fmt: skip
def test_the_car_is_asked_about_where_it_is_far_from_what_is_known(
    world: World, words: dict[str, str], question: str
) -> None:
    told = asked(world, "car-weighed", **words)
    assert told.startswith(question) if question else told == ""


def test_what_came_off_since_is_reckoned_before_the_car_is_asked_about(world: World) -> None:
    world.done("car-weighed", total="1200kg")
    world.done("part-found", name="engine", reading="190kg")
    assert asked(world, "car-weighed", total="1010kg") == ""
    assert asked(world, "car-weighed", total="1200kg").startswith("the car 1200.0 kg? The tally has 1010.0 kg.")


def test_what_is_written_is_said_with_how_to_take_it_back(world: World) -> None:
    told = asked(world, "car-weighed", total="119.3kg")
    assert told.endswith(f"119.3 kg is written; if it is wrong: undo entry={world.state.entries}")


def test_a_part_as_heavy_by_itself_as_its_whole_lot_is_said_to_disagree(world: World) -> None:
    mats_off(world)
    lot = world.done("parts-weighed", parts="mats,pads", reading="3.0kg")
    told = asked(world, "part-weighed", part="mats", reading="3.1kg")
    assert told.startswith(f"with the others it was 3.0kg (entry {lot.n}): they disagree. Weigh the rest again.")
