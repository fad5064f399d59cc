"""The weigh pads: a part directly, by difference, by estimate; a part nobody foresaw; the car on its pads."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.screens.places.weigh.parts import WeighPad
from tests.screens.hand import FROM_TWO_METRES, Hand, KeysOnly, in_each_window, walking
from tests.world import FACTS, World

IN_POUNDS = FACTS + '[scales]\nparts = { name = "hanging scale", step = "0.1lb", unit = "lb" }\n'


@pytest.mark.parametrize("window", [(60, 18), (120, 40), FROM_TWO_METRES])
def test_a_part_is_weighed_with_four_keys_and_enter(world: World, window: tuple[int, int]) -> None:
    world.done("step-done", step="safe.look")
    with walking(world, *window) as hand:
        hand.turn_to("safe.mats")
        hand.press("space")
        assert "WEIGH Floor mats" in hand.reads
        assert "usually 3.0 kg (1.0 kg to 5.0 kg)" in hand.reads
        assert "written: Floor mats out is done (entry 3)" in hand.reads
        assert hand.digits == "- kg"
        hand.type("2.85")
        assert hand.digits == "2.85 kg"
        hand.press("enter")
        assert "written: Floor mats 2.85kg (entry 4)" in hand.reads
        assert "1197.2 kg by its papers | 197.2 kg to go" in hand.page[0]
        assert "11/12 Cage in" in hand.reads
    assert world.state.weight_of("mats").kg == 2.85


def test_from_part_off_to_written_takes_six_keys(world: World) -> None:
    """Ten seconds leave more than a second and a half for each, which is enough for a glove."""
    world.done("step-done", step="safe.look")
    keys = KeysOnly(world)
    keys.desk.position = 2
    keys.press("space", "2", "full_stop", "8", "5", "enter")
    assert world.state.weight_of("mats").kg == 2.85


@in_each_window
def test_a_part_is_weighed_by_difference(world: World, hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w", "d")
    assert "type the reading WITH the part first" in hand.reads
    hand.type("94.5")
    hand.press("d")
    assert "with the part: 94.5kg. Now the reading WITHOUT it" in hand.reads
    hand.type("75.1")
    hand.press("enter")
    assert "written: Driver seat 19.4 kg (entry 2)" in hand.reads
    weight = world.state.weight_of("driver-seat")
    assert (round(weight.kg, 6), weight.how) == (19.4, "difference")
    hand.press("w")
    assert "written before: 19.4 kg. A new reading takes its place" in hand.reads


def test_a_difference_the_wrong_way_round_is_refused_and_what_was_typed_is_kept(world: World, hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w")
    hand.type("75")
    hand.press("d")
    hand.type("94")
    hand.press("enter")
    assert "NOT WRITTEN. 75kg less 94kg is not a part's mass" in hand.reads
    assert hand.digits == "94 kg"
    assert world.state.weight_of("driver-seat") is None


@in_each_window
def test_without_a_scale_the_likely_mass_is_taken_and_marked(world: World, hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w", "x")
    assert "written: Driver seat 19.0 kg, the pack's estimate (entry 2)" in hand.reads
    assert "Off: Driver seat, about 19.0 kg (14.0 to 32.0)" in hand.reads
    assert world.state.weight_of("driver-seat").how == "estimate"


@pytest.mark.parametrize(
    ("typed", "asked"),
    [("1.94", "1.94 or 19.4? Enter again writes 1.94kg"), ("194", "194 or 19.4? Enter again writes 194kg")],
)
def test_a_slipped_decimal_point_is_asked_about_once(world: World, hand: Hand, typed: str, asked: str) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w")
    hand.type(typed)
    hand.press("enter")
    assert asked in hand.reads
    assert world.state.weight_of("driver-seat") is None
    hand.press("enter")
    assert "written: Driver seat" in hand.reads
    assert world.state.weight_of("driver-seat").kg == float(typed)


def test_another_reading_far_off_is_asked_about_anew_and_a_fitting_one_is_not(hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w")
    hand.type("1.94")
    hand.press("enter", "backspace", "enter")
    assert "1.9 or 19? Enter again writes 1.9kg" in hand.reads
    hand.press(*["backspace"] * 3)
    hand.type("19.4")
    hand.press("enter")
    assert "written: Driver seat 19.4kg" in hand.reads


def test_a_difference_far_off_is_asked_about_once(world: World, hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w")
    hand.type("81.9")
    hand.press("d")
    hand.type("80")
    hand.press("enter")
    assert "1.9 or 19? Enter again writes the difference" in hand.reads
    assert world.state.weight_of("driver-seat") is None
    hand.press("enter")
    assert world.state.weight_of("driver-seat").kg == pytest.approx(1.9)


def test_nothing_weighs_nothing(world: World, hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w")
    hand.type("0")
    hand.press("enter")
    assert "NOT WRITTEN" in hand.reads
    assert "Enter again writes" not in hand.reads
    assert world.state.weight_of("driver-seat") is None


@in_each_window
def test_pounds_are_one_key_away_and_shown_back_as_pounds(world: World, hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w", "l")
    assert hand.digits == "- lb"
    assert "usually 41.9 lb (30.9 lb to 70.5 lb)" in hand.reads
    hand.type("42.8")
    hand.press("enter")
    assert "written: Driver seat 42.8lb (entry 2)" in hand.reads
    # 1 lb = 0.45359237 kg exactly: international yard and pound agreement, 1959 (NIST SP 811, appendix B)
    assert round(world.state.weight_of("driver-seat").kg, 4) == round(42.8 * 0.45359237, 4)


def test_a_scale_that_shows_pounds_needs_no_key(tmp_path: Path) -> None:
    with walking(World(tmp_path / "car", IN_POUNDS)) as hand:
        hand.turn_to("cabin.seat-out")
        hand.press("w")
        assert hand.digits == "- lb"
        hand.press("k")
        assert hand.digits == "- kg"


def test_more_digits_than_a_number_has_are_refused_aloud(hand: Hand) -> None:
    hand.turn_to("cabin.seat-out")
    hand.press("w")
    hand.type("12.")
    hand.press("comma")
    assert "[,] does nothing here" in hand.reads
    hand.type("3456")
    assert hand.digits == "12.3456 kg"
    hand.press("7")
    assert "[7] does nothing here" in hand.reads
    assert hand.digits == "12.3456 kg"


def test_a_part_can_be_left_unweighed_for_now(world: World) -> None:
    world.done("step-done", step="safe.look")
    with walking(world) as hand:
        hand.turn_to("safe.mats")
        hand.press("space", "n")
        assert "11/12 Cage in" in hand.reads
    assert world.state.weight_of("mats") is None


def test_what_carries_a_live_module_is_asked_for_its_store(world: World, size: tuple[int, int]) -> None:
    world.airbags_ready()
    with walking(world, *size) as hand:
        hand.turn_to("cabin.bag-out")
        hand.press("space")
        hand.type("1.1")
        hand.press("enter")
        assert "LIVE MODULE. Where is it stored? Driver airbag module" in hand.reads
        assert "written: Driver airbag module 1.1kg" in hand.reads
        hand.press(hand.digit_of("something else: type it"))
        hand.type("steel cabinet")
        hand.press("enter")
        assert "written: Driver airbag module stored: steel cabinet" in hand.reads
    assert world.state.stored_at("driver-bag") == "steel cabinet"


@in_each_window
def test_a_part_no_pack_foresaw_gets_a_name_and_a_mass(hand: Hand) -> None:
    hand.press("f")
    assert "Found: its name, or what lies in the box:" in hand.reads
    hand.press("enter")
    assert "nothing typed yet" in hand.reads
    hand.type("Roof rack (old)")
    hand.press("enter")
    assert "FOUND Roof rack (old)" in hand.reads
    assert hand.digits == "- kg"
    hand.press("enter")
    assert "type what the scale shows, then Enter" in hand.reads
    hand.type("7.5")
    hand.press("enter")
    assert "written: FOUND: Roof rack (old), 7.5 kg (entry 2)" in hand.reads
    assert "1192.5 kg" in hand.page[0]


@in_each_window
def test_small_things_in_a_box_are_the_box_with_them_less_the_box(world: World, hand: Hand) -> None:
    hand.press("f", *"Clips", "enter", "d")
    assert "type the reading WITH the part first" in hand.reads
    hand.press("o", *"2.45", "d")
    assert "with the part: 2.45kg. Now the reading WITHOUT it" in hand.reads
    hand.press(*"0.95", "enter")
    assert "written: FOUND: Clips, 1.5 kg (entry 2)" in hand.reads
    clips = world.state.found.last
    assert clips is not None
    assert (clips.weight.typed, clips.weight.without, clips.weight.noted) == ("2.45kg", "0.95kg", "wet")


@in_each_window
def test_a_part_is_noted_as_wet_complete_or_both(world: World, hand: Hand) -> None:
    hand.turn_to("safe.mats")
    hand.press("w", "o")
    assert "noted: wet" in hand.reads
    hand.press("o")
    assert "noted: complete" in hand.reads
    hand.press("o")
    assert "noted: wet and complete" in hand.reads
    hand.press("o")
    assert "noted:" not in hand.reads
    hand.press("o", "o", "o", "3", "enter")
    weight = world.state.weight_of("mats")
    assert weight is not None
    assert (weight.kg, weight.noted) == (3, "wet, complete")


@in_each_window
def test_the_car_is_weighed_corner_by_corner(world: World, hand: Hand) -> None:
    hand.press("c")
    for corner, kg in (("front left", "334"), ("front right", "331.5"), ("rear left", "266")):
        assert f"CAR ON THE PADS {corner}" in hand.reads
        hand.type(kg)
        hand.press("enter")
        assert f"{corner}: {kg} kg" in hand.reads
    hand.press("backspace")
    assert hand.digits == "266 kg"
    hand.press("enter")
    hand.type("262.5")
    hand.press("enter")
    assert "written: the car weighs 1194.0 kg (entry 2)" in hand.reads
    assert "1194.0 kg | 194.0 kg to go" in hand.page[0]
    assert world.state.weighings.last.corners_kg == (334.0, 331.5, 266.0, 262.5)


def test_the_car_is_weighed_as_one_total(hand: Hand) -> None:
    hand.press("c", "t")
    assert "type the total first, before any corner" in hand.reads
    hand.type("1180")
    hand.press("t")
    assert "written: the car weighs 1180.0 kg (entry 2)" in hand.reads


def test_four_pads_are_written_in_one_unit(hand: Hand) -> None:
    hand.press("c", "l")
    hand.type("736")
    hand.press("enter", "k")
    assert "the four pads are written in one unit" in hand.reads
    assert hand.digits == "- lb"


def test_four_corners_that_could_not_be_written_are_not_lost(world: World, hand: Hand) -> None:
    hand.press("c")
    for kg in ("334", "331", "266"):
        hand.type(kg)
        hand.press("enter")
    hand.type("262")
    world.car._writer.close()
    hand.press("enter")
    assert "the log is closed" in hand.reads
    assert "rear left: 266 kg" in hand.reads
    assert hand.digits == "262 kg"


def test_the_key_that_rubs_out_is_called_back_while_nothing_is_typed(world: World, size: tuple[int, int]) -> None:
    """Who opens a pad by mistake is told the way out; on the pads of the car it goes to the pad before first."""
    with walking(world, *size) as hand:
        hand.turn_to("cabin.seat-out")
        hand.press("w")
        assert "[backspace] back" in hand.reads
        hand.press("4")
        assert "[backspace] rub out" in hand.reads
        hand.press("backspace")
        assert "[backspace] back" in hand.reads
        hand.press("backspace")
        assert hand.place.name == "the walk"
        hand.press("c")
        assert "[backspace] rub out" in hand.reads


def test_power_can_be_told_from_every_pad(keys: KeysOnly) -> None:
    keys.press("c", "p")
    assert keys.desk.message.startswith("written: power came back")
    keys.press("1")
    assert keys.desk.place.name == "the car on the scales"


# -- how the car stood, and several at once


def test_the_pads_may_be_read_in_any_order(world: World, keys: KeysOnly) -> None:
    keys.press("c", "n", *"331", "enter", *"266", "enter", *"262", "enter", *"334", "enter")
    assert world.state.weighings.last is not None
    assert world.state.weighings.last.corners_kg == (334, 331, 266, 262)


def test_fuel_driver_contents_and_tyres_are_written_with_the_weighing(world: World, keys: KeysOnly) -> None:
    keys.press("c", "s", *"40L", "enter", *"82", "enter", "4", "enter", *"cold", "enter", "enter", *"1286", "t")
    weight = world.state.weighings.last
    assert weight is not None
    assert (weight.car_kg, weight.aboard_kg, weight.contents_kg, weight.tyres) == (1200, 82, 4, "cold")
    assert weight.fuel is not None
    assert weight.fuel.m3 == pytest.approx(0.040)


def test_fuel_that_is_no_volume_is_refused_and_the_pads_are_not_lost(world: World, keys: KeysOnly) -> None:
    keys.press("c", "s", *"half", "enter", "enter", *"1200", "t")
    assert "fuel=" in keys.desk.message
    assert world.state.weighings.last is None
    keys.press("s", *["backspace"] * 4, *"40L", "enter", "enter", "t")
    assert world.state.weighings.last is not None


def test_readings_are_repeated_and_averaged(world: World, keys: KeysOnly) -> None:
    four = (*"334", "enter", *"331", "enter", *"266", "enter")
    keys.press("c", *four, "a")
    assert keys.desk.message == "type the last of the four pads, then [a]"
    keys.press(*"262", "a", *four, *"264", "enter")
    weight = world.state.weighings.last
    assert weight is not None
    assert (weight.readings, weight.total_kg, weight.spread_kg) == (2, 1194, 2)


def test_a_total_is_repeated_and_averaged(world: World, hand: Hand) -> None:
    hand.press("c", "a")
    assert "type the total, or all four pads, then [a]" in hand.reads
    hand.press(*"1190", "a")
    assert "kept, not written yet: 1 of the readings to be averaged" in hand.reads
    assert "CAR ON THE PADS total" in hand.reads
    hand.press("l")
    assert "the four pads are written in one unit" in hand.reads
    hand.press("backspace")
    assert hand.digits == "1190 kg"
    hand.press("a", *"1194", "enter")
    weight = world.state.weighings.last
    assert weight is not None
    assert (weight.readings, weight.total_kg, weight.spread_kg) == (2, 1192, 4)


def test_a_weighbridge_and_its_step_are_written_with_the_weighing(world: World, keys: KeysOnly) -> None:
    keys.press("c", "s", *["down"] * 5, "2", *"20", "enter", *"1200", "t")
    weight = world.state.weighings.last
    assert weight is not None
    assert (weight.way, weight.step_kg) == ("weighbridge", 20)


def test_several_parts_of_a_step_are_weighed_on_one_reading(world: World, keys: KeysOnly) -> None:
    keys.desk.go(WeighPad(["mats", "driver-seat"]))
    keys.press("a")
    assert "with all of them on it" in keys.desk.message
    keys.press(*"22", "a")
    seat = world.state.weight_of("driver-seat")
    assert seat is not None
    assert (seat.how, seat.kg) == ("shared", pytest.approx(19))
    assert "2 parts on one reading" in keys.desk.message


def test_one_part_alone_is_not_weighed_together_with_nothing(keys: KeysOnly) -> None:
    keys.desk.go(WeighPad(["mats"]))
    keys.press("3", "a")
    assert keys.desk.message == "one part is left here: Enter writes it"


def test_something_light_that_is_fitted_is_named_and_weighed(world: World, hand: Hand) -> None:
    hand.press("i")
    hand.type("Race seat")
    hand.press("enter")
    hand.type("7.5")
    hand.press("enter")
    assert "written: FITTED: Race seat, 7.5 kg" in hand.reads
    assert world.state.fitted.last is not None


# -- asked once, and nothing lost


def test_a_measured_mass_is_not_given_up_for_an_estimate_by_one_key(world: World, keys: KeysOnly) -> None:
    world.done("part-weighed", part="mats", reading="3.2kg")
    keys.desk.go(WeighPad(["mats"]))
    keys.press("x")
    assert keys.desk.message == "3.2 kg was weighed. [x] again takes the pack's likely mass instead"
    assert world.state.weight_of("mats").how == "direct"
    keys.press("1", "backspace", "x")
    assert world.state.weight_of("mats").how == "estimate"
    keys.desk.go(WeighPad(["mats"]))
    keys.press("x")  # one estimate for another is no loss
    assert keys.desk.message.startswith("written: Floor mats 3.0 kg")


def test_a_corner_ten_times_too_big_is_asked_about_once_and_then_written(world: World, hand: Hand) -> None:
    hand.press("c", *"334", "enter", *"331", "enter", *"2660", "enter", *"262", "enter")
    assert "rear left 2660 or 266? The same key again writes it" in hand.reads
    assert world.state.weighings.last is None
    assert hand.digits == "262 kg"
    hand.press("enter")
    assert world.state.weighings.last is not None


def test_a_corner_that_was_wrong_is_put_right_after_it_was_asked_about(world: World, keys: KeysOnly) -> None:
    keys.press("c", *"334", "enter", *"331", "enter", *"2660", "enter", *"262", "enter")
    keys.press(*["backspace"] * 3, "backspace", *["backspace"] * 4, *"266", "enter", *"262", "enter")
    assert world.state.weighings.last is not None
    assert world.state.weighings.last.corners_kg == (334, 331, 266, 262)


def test_totals_far_apart_are_asked_about_once(world: World, keys: KeysOnly) -> None:
    keys.press("c", *"1193", "a", *"119.4", "enter")
    assert keys.desk.message == "the readings are 1073.6 kg apart: is each of them right? The same key again writes it"
    assert world.state.weighings.last is None
    keys.press("enter")
    assert world.state.weighings.last is not None


def test_a_car_far_from_what_was_reckoned_is_asked_about_once(world: World, keys: KeysOnly) -> None:
    keys.press("c", *"119.3", "t")
    assert keys.desk.message == "the car 119.3 kg? The tally has 1200.0 kg. The same key again writes it"
    keys.press("t")
    assert world.state.weighings.last is not None


def test_rubbing_out_with_nothing_typed_takes_back_the_last_set_and_not_all_of_them(world: World, hand: Hand) -> None:
    four = (*"334", "enter", *"331", "enter", *"266", "enter")
    hand.press("c", *four, *"262", "a")
    assert "read before: 334,331,266,262kg" in hand.reads
    hand.press("backspace")
    assert "CAR ON THE PADS rear right" in hand.reads
    assert hand.digits == "262 kg"
    assert "rear left: 266 kg" in hand.reads
    hand.press("a", *four, *"264", "enter")
    assert world.state.weighings.last.readings == 2


def test_a_number_that_stands_does_not_go_to_another_wheel(hand: Hand) -> None:
    hand.press("c", *"334", "n")
    assert "334 stands for front left: Enter takes it, or rub it out first" in hand.reads
    assert "CAR ON THE PADS front left" in hand.reads
    assert hand.digits == "334 kg"


@in_each_window
def test_what_was_found_counts_as_a_fluid_or_contents_by_one_key(world: World, hand: Hand) -> None:
    hand.press("f", *"Gear oil", "enter", "c")
    assert "counts as fluid: no kilo off the car" in hand.reads
    hand.press("c")
    assert "counts as contents" in hand.reads
    hand.press("c")
    assert "no kilo off the car" not in hand.reads
    hand.press("c", *"2", "enter")
    assert world.state.found.last.counts == "fluid"
    assert "1200.0 kg" in hand.page[0]  # no saving


@in_each_window
def test_a_weight_typed_where_the_name_is_asked_is_not_taken_for_one(world: World, hand: Hand) -> None:
    """[w] on a step that takes nothing off asks for a name; who has the part in hand types what it weighs."""
    hand.press("w")
    hand.type("4.5")
    hand.press("enter")
    assert "4.5 is no name. First what it is, then Enter, then what it weighs" in hand.reads
    assert "Found: its name, or what lies in the box:" in hand.reads
    hand.type("clips")
    hand.press("enter")
    hand.type("4.5")
    hand.press("enter")
    assert "written: FOUND: clips, 4.5 kg (entry 2)" in hand.reads


def test_a_live_thing_is_asked_for_its_store_as_it_is_found(world: World, hand: Hand) -> None:
    hand.press("f", *"Knee airbag", "enter", *"1.2", "enter")
    assert "LIVE MODULE. Where is it stored? Knee airbag" in hand.reads
    hand.press(hand.digit_of("something else: type it"), *"steel cabinet", "enter")
    assert world.state.stored_at(world.state.found.last.id) == "steel cabinet"


def test_a_step_that_is_undone_takes_its_weigh_pad_along(world: World, keys: KeysOnly) -> None:
    keys.press("space", "enter")
    keys.desk.position = [step.ref for step in world.state.route.steps].index("safe.mats")
    keys.press("space")
    assert keys.desk.place.name == "the weigh pad"
    keys.press("u")
    assert world.state.mark("safe.mats") is None
    assert keys.desk.place.name == "the walk"


def test_a_weighing_that_is_told_as_first_weighed_says_so(world: World, keys: KeysOnly) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L")
    keys.press("c", "s", *"20L", "enter", "enter", *"1180", "t")
    assert keys.desk.message == (
        "written: the car weighs 1180.0 kg; as it stood when first weighed that is 1195.0 kg (entry 3)"
    )
