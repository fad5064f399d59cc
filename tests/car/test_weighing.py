"""Masses as the scale showed them, and two weighings compared only after correction."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.fields import WrongEntry
from teardown.car.mass import mass_now, part_mass
from teardown.car.tally import line_of
from teardown.car.weighing import compare, how_it_stood, part_u_kg, weighing_u_kg
from tests.car.tally import TALLY_FACTS, mats_off, tally_world
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def weights(world: World) -> list:
    return list(world.state.weighings)


def test_a_reading_is_kept_as_typed_beside_its_kilograms(world: World) -> None:
    entry = world.done("part-weighed", part="mats", reading="4.41 lb")
    assert entry.fields["reading"] == "4.41 lb"
    assert entry.fields["mass_kg"] == pytest.approx(4.41 * 0.45359237)  # exact pound: NIST SP 811 (2008) B.8


def test_several_parts_on_one_reading_share_it_by_their_usual_masses_and_lose_nothing(world: World) -> None:
    world.done("parts-weighed", parts="mats, driver-seat", reading="23kg", without="1kg")
    state = world.state
    mats, seat = (part_mass(state, state.route.parts[name]) for name in ("mats", "driver-seat"))
    assert (mats.how, mats.kg, seat.kg) == ("shared", pytest.approx(22 * 3 / 22), pytest.approx(22 * 19 / 22))
    world.done("undo", entry=state.entries)
    assert world.state.weight_of("mats") is None
    assert world.state.weight_of("driver-seat") is None


@pytest.mark.parametrize(("parts", "why"), [
    ("mats", "name two or more"),
    ("mats,mats", "each once"),
    ("mats,mat", "did you mean mats?"),
])  # fmt: skip
def test_one_reading_for_several_names_them(world: World, parts: str, why: str) -> None:
    assert why in world.refused("parts-weighed", parts=parts, reading="3kg").why


def test_a_lot_of_small_things_is_one_line_less_its_box(world: World) -> None:
    world.done("part-found", name="clips and screws", reading="3.1kg", without="0.4kg", count=210)
    assert [(thing.name, thing.weight.kg, thing.pieces) for thing in world.state.found] == [
        ("clips and screws", pytest.approx(2.7), 210)
    ]
    assert mass_now(world.state).now_kg == pytest.approx(1200 - 2.7)


def test_a_box_heavier_than_the_box_with_the_parts_is_refused(world: World) -> None:
    why = world.refused("part-found", name="clips", reading="1kg", without="2kg").why
    assert why == "1kg less 2kg is not a part's mass: the first reading is with the part"


def test_wet_or_complete_is_noted_with_the_reading(world: World) -> None:
    world.done("part-weighed", part="mats", reading="9 lb", how="difference", without="1 lb", wet="yes", complete="yes")
    line = line_of(world.state, "mats")
    assert (line.typed, line.noted, line.how) == ("9 lb less 1 lb", "wet, complete", "difference")


def test_a_place_on_the_car_is_whole_or_not_at_all(world: World) -> None:
    assert (
        "x, y and z together; only x was given" in world.refused("part-fitted", name="seat", reading="8kg", x=0.5).why
    )
    world.done("part-fitted", name="seat", reading="8kg", x=0.5, y="D0.24", z=0.5)
    assert next(iter(world.state.fitted)).place == (0.5, "D0.24", 0.5)


def test_four_pads_in_any_order_are_the_same_as_a_list(world: World) -> None:
    world.done("car-weighed", rear_right="262kg", front_left="334kg", rear_left="266kg", front_right="331kg")
    world.done("car-weighed", corners="334,331,266,262kg")
    first, second = weights(world)
    assert first.corners_kg == second.corners_kg == (334, 331, 266, 262)
    assert "all four pads" in world.refused("car-weighed", front_left="334kg").why


def test_repeated_readings_are_averaged_and_their_spread_is_shown(world: World) -> None:
    world.done("car-weighed", total="1350;1351;1352.5kg")
    (weight,) = weights(world)
    assert weight.total_kg == pytest.approx(1351.1667, abs=1e-4)
    assert (weight.readings, weight.spread_kg) == (3, 2.5)
    assert "mean of 3 readings, 2.5 kg apart" in how_it_stood(weight)
    # JCGM 100:2008 4.2.3: the standard deviation of the mean of 3, with the step d/sqrt(12) of F.2.2.1
    assert weighing_u_kg(world.state.facts, weight) == pytest.approx(((1.2583**2) / 3 + 0.5**2 / 12) ** 0.5, abs=1e-4)


def test_driver_and_contents_are_no_car(world: World) -> None:
    world.done("car-weighed", total="1290kg", driver="80kg", contents="10kg")
    assert mass_now(world.state).now_kg == pytest.approx(1200)
    assert "is no car" in world.refused("car-weighed", total="80kg", driver="80kg").why


def test_two_weighings_in_the_same_condition_need_no_correction(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L", tyres="2.2 bar")
    world.done("car-weighed", total="1150kg", fuel="40L", tyres="2.2 bar")
    found = compare(world.state.facts, *weights(world))
    assert (found.difference_kg, found.corrected, found.doubts) == (pytest.approx(50), (), ())


def test_another_fuel_level_is_corrected_and_said(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L")
    world.done("car-weighed", total="1150kg", fuel="20L")
    found = compare(world.state.facts, *weights(world))
    # petrol 720 to 775 kg/m3 at 15 C (EN 228:2012, secondary copy), taken at its middle
    assert found.difference_kg == pytest.approx(50 - 0.020 * 747.5)
    assert found.corrected == ("fuel: 40.0 L before, 20.0 L after, +15.0 kg of the difference",)


@pytest.mark.parametrize(("runs_on", "kind", "kg"), [
    (None, "petrol", 14.98),
    ("diesel", "diesel", 16.65),  # 820 to 845 kg/m3: EN 590, from memory
    ("gas", "gas", 10.92),  # 508 to 584 kg/m3, propane to butane: from memory
])  # fmt: skip
def test_what_is_in_the_tank_is_what_the_car_runs_on_unless_it_is_said(
    tmp_path: Path, runs_on: str | None, kind: str, kg: float
) -> None:
    fuel = f'fuel = "{runs_on}"\n' if runs_on else ""
    world = tally_world(tmp_path / "other", TALLY_FACTS.replace("[fitted]", f"{fuel}[fitted]"))
    world.done("car-weighed", total="1200kg", fuel="40L")
    entry = world.done("car-weighed", total="1150kg", fuel="20L")
    assert entry.fields["fuel_kind"] == kind
    found = compare(world.state.facts, *weights(world))
    assert 50 - found.difference_kg == pytest.approx(kg, abs=0.1)
    typed = world.done("car-weighed", total="1150kg", fuel="20L", fuel_kind="petrol")
    assert typed.fields["fuel_kind"] == "petrol"


def test_fuel_noted_once_is_not_corrected_and_says_so(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L")
    world.done("car-weighed", total="1150kg")
    found = compare(world.state.facts, *weights(world))
    assert found.difference_kg == pytest.approx(50)
    assert "noted at one weighing only: NOT corrected" in found.doubts[0]


def test_a_driver_aboard_once_is_corrected(world: World) -> None:
    world.done("car-weighed", total="1280kg", driver="80kg")
    world.done("car-weighed", total="1150kg")
    found = compare(world.state.facts, *weights(world))
    assert found.difference_kg == pytest.approx(50)
    assert found.corrected == ("driver or ballast: 80.0 kg before, 0.0 kg after",)


def test_other_tyre_pressures_spoil_the_corners_only(world: World) -> None:
    world.done("car-weighed", total="1200kg", fuel="40L", tyres="2.2 bar")
    world.done("car-weighed", total="1150kg", fuel="40L", tyres="1.8 bar")
    assert "the corners do not compare" in compare(world.state.facts, *weights(world)).doubts[0]


def test_a_weighbridge_is_trusted_to_its_step_and_its_class(world: World) -> None:
    world.done("car-weighed", total="1200kg", way="weighbridge", step="20kg")
    (weight,) = weights(world)
    # NIST Handbook 44-2023 table 6, class III maintenance: 1 d up to 500 d (secondary copy); JCGM 100:2008 4.3.7
    assert weighing_u_kg(world.state.facts, weight) == pytest.approx((20**2 / 12 + 20**2 / 3) ** 0.5)


def test_corners_that_are_not_four_make_no_entry(world: World) -> None:
    with pytest.raises(WrongEntry, match="four corners"):
        world.enter("car-weighed", corners="334kg,331kg,266kg")


def test_the_mass_now_follows_every_entry_that_changes_it(world: World) -> None:
    assert mass_now(world.state).now_kg == 1200
    mats_off(world)
    assert mass_now(world.state).now_kg == 1197
    world.done("part-weighed", part="mats", reading="2kg")
    assert mass_now(world.state).now_kg == 1198
    world.done("undo", entry=world.state.entries)
    assert mass_now(world.state).now_kg == 1197
    world.done("part-back", part="mats")
    assert mass_now(world.state).now_kg == 1200


# -- how a part was weighed


def test_two_readings_are_a_difference_and_one_is_direct_though_nobody_says_so(world: World) -> None:
    two = world.done("part-weighed", part="mats", reading="82kg", without="80kg")
    assert (two.fields["how"], two.fields["mass_kg"]) == ("difference", pytest.approx(2))
    one = world.done("part-weighed", part="mats", reading="3kg")
    assert (one.fields["how"], one.fields["mass_kg"]) == ("direct", 3)
    assert line_of(world.state, "mats").how == "direct"


@pytest.mark.parametrize(("words", "why"), [
    ({"how": "difference", "reading": "82kg"}, "a difference is two readings: reading= with the part, and without="),
    ({"how": "direct", "reading": "82kg", "without": "80kg"}, "how=direct is one reading, and without= is a second"),
    ({"how": "direct"}, "reading= is missing: what the scale showed; how=estimate takes"),
    ({"how": "difference", "without": "80kg"}, "reading= is missing"),
    ({}, "reading= is missing"),
    ({"how": "estimate", "reading": "5kg"}, "likely mass for this car, 3.0 kg, and takes no reading: leave 5kg out"),
    ({"how": "estimate", "without": "5kg"}, "and takes no reading: leave 5kg out"),
])  # fmt: skip
def test_how_a_part_was_weighed_agrees_with_what_was_read(world: World, words: dict[str, str], why: str) -> None:
    assert why in world.refused("part-weighed", part="mats", **words).why
    assert world.state.weight_of("mats") is None


@pytest.mark.parametrize(("size", "likely_kg"), [("mid-size", 3.0), ("van", 4.2)])
def test_an_estimate_is_the_packs_likely_mass_for_this_car_and_marked(
    tmp_path: Path, size: str, likely_kg: float
) -> None:
    world = tally_world(tmp_path / "car", f'size = "{size}"\n{TALLY_FACTS}')
    entry = world.done("part-weighed", part="mats", how="estimate")
    assert entry.fields["mass_kg"] == pytest.approx(likely_kg)  # 3 kg in the pack; a van 1.4 times: common practice
    assert "reading" not in entry.fields
    line = line_of(world.state, "mats")
    assert (line.how, line.kg, line.typed) == ("estimate", pytest.approx(likely_kg), "")
    mats_off(world)
    assert mass_now(world.state).estimated_kg == pytest.approx(likely_kg)


def test_an_estimate_outlives_a_change_of_what_the_packs_say(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    world.done("part-weighed", part="mats", how="estimate")
    (world.folder / "car.toml").write_text(f'size = "van"\n{TALLY_FACTS}')
    world.reopen()
    assert line_of(world.state, "mats").kg == 3


def test_where_the_pack_knows_no_likely_mass_there_is_no_estimate(world: World) -> None:
    parts = world.car.folded.route.parts
    parts["mats"] = parts["mats"]._replace(kg=(0.0, 0.0, 1.0))  # type: ignore[index]
    assert "the pack knows no likely mass of Floor mats: weigh it" in (
        world.refused("part-weighed", part="mats", how="estimate").why
    )


# -- a bare number means what car.toml says the scale shows, and nothing where it does not say

IN_POUNDS = TALLY_FACTS.replace('name = "bench scale"', 'name = "bench scale"\nunit = "lb"')
PARTS_ON_THE_SCALE = [
    ("part-weighed", {"part": "mats", "reading": "2.2"}, {"reading": "2.2lb"}, 2.2),
    ("part-weighed", {"part": "mats", "reading": " 2,2 "}, {"reading": "2,2lb"}, 2.2),
    (
        "part-weighed",
        {"part": "mats", "reading": "180", "without": "177.8", "how": "difference"},
        {"reading": "180lb", "without": "177.8lb"},
        2.2,
    ),
    ("parts-weighed", {"parts": "mats,driver-seat", "reading": "44"}, {"reading": "44lb"}, 44),
    ("part-found", {"name": "bracket", "reading": "3.2", "without": "1"}, {"reading": "3.2lb", "without": "1lb"}, 2.2),
    ("part-fitted", {"name": "race seat", "reading": "15"}, {"reading": "15lb"}, 15),
]


@pytest.mark.parametrize(("kind", "words", "typed", "pounds"), PARTS_ON_THE_SCALE)
def test_a_bare_number_off_the_parts_scale_is_kept_with_the_unit_car_toml_gives_it(
    tmp_path: Path, kind: str, words: dict[str, str], typed: dict[str, str], pounds: float
) -> None:
    world = tally_world(tmp_path / "car", IN_POUNDS)
    entry = world.done(kind, **words)
    assert entry.fields | typed == entry.fields
    # NIST SP 811 (2008), appendix B (secondary copy): lb 0.45359237 kg, exact
    assert entry.fields["mass_kg"] == pytest.approx(pounds * 0.45359237)


def test_a_unit_that_was_typed_is_taken_before_the_scales(tmp_path: Path) -> None:
    entry = tally_world(tmp_path / "car", IN_POUNDS).done("part-weighed", part="mats", reading="2.2kg")
    assert (entry.fields["reading"], entry.fields["mass_kg"]) == ("2.2kg", 2.2)


@pytest.mark.parametrize(("kind", "words", "typed", "pounds"), PARTS_ON_THE_SCALE)
def test_where_car_toml_gives_no_unit_a_bare_number_is_refused(
    world: World, kind: str, words: dict[str, str], typed: dict[str, str], pounds: float
) -> None:
    number = words["reading"]
    with pytest.raises(WrongEntry, match=rf"{number} has no unit: write {number.strip()}kg or {number.strip()}lb"):
        world.enter(kind, **words)


@pytest.mark.parametrize(("kind", "words"), [
    ("scrap-ticket", {"reading": "120", "amount": "14.40"}),
    ("car-weighed", {"total": "1200"}),
])  # fmt: skip
def test_the_parts_scale_says_nothing_of_what_another_scale_shows(
    tmp_path: Path, kind: str, words: dict[str, str]
) -> None:
    with pytest.raises(WrongEntry, match="has no unit"):
        tally_world(tmp_path / "car", IN_POUNDS).enter(kind, **words)


def test_a_bare_number_that_could_be_two_is_still_refused(tmp_path: Path) -> None:
    with pytest.raises(WrongEntry, match="can be read two ways"):
        tally_world(tmp_path / "car", IN_POUNDS).enter("part-weighed", part="mats", reading="1,234")


def test_the_log_alone_says_what_was_weighed_though_car_toml_changes(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", IN_POUNDS)
    world.done("part-weighed", part="mats", reading="2.2")
    (world.folder / "car.toml").write_text(TALLY_FACTS.replace('name = "bench scale"', 'name = "b"\nunit = "kg"'))
    world.reopen()
    weight = world.state.weight_of("mats")
    assert weight is not None
    assert (weight.typed, weight.kg) == ("2.2lb", pytest.approx(2.2 * 0.45359237))


# -- how far a mass can be trusted

PERSON = TALLY_FACTS.replace(
    "[money]", '[scales.person]\nname = "bathroom scale"\nstep = "0.1kg"\nrepeats = "0.2kg"\n[money]'
)


def test_equal_readings_make_no_scale_better_than_it_usually_is(world: World) -> None:
    world.done("car-weighed", total="1193kg; 1193kg; 1193kg")
    # by hand: step 0.5 kg, repeats within 1 kg, three readings: sqrt(0.5^2 / 12 + 1 / 3) (JCGM 100:2008 4.2.3, F.2.2.1)
    assert weighing_u_kg(world.state.facts, weights(world)[0]) == pytest.approx((0.25 / 12 + 1 / 3) ** 0.5)


@pytest.mark.parametrize("total", ["1190kg; 1200kg", "1190kg; 1200kg; 1195kg"])
def test_readings_far_apart_make_it_worse_than_usual(world: World, total: str) -> None:
    world.done("car-weighed", total=total)
    (weight,) = weights(world)
    expected = (0.25 / 12 + weight.repeat_kg**2 / weight.readings) ** 0.5
    assert weighing_u_kg(world.state.facts, weight) == pytest.approx(expected)
    assert expected > 2.8


def test_a_weighbridge_that_was_read_twice_far_apart_is_worse_than_its_class(world: World) -> None:
    world.done("car-weighed", total="1200kg; 1260kg", way="weighbridge", step="20kg")
    repeat_kg = 60 / 2**0.5  # the standard deviation of two readings
    assert weighing_u_kg(world.state.facts, weights(world)[0]) == pytest.approx(
        (20**2 / 12 + 20**2 / 3 + repeat_kg**2 / 2) ** 0.5
    )


@pytest.mark.parametrize(("first", "then", "u_kg"), [
    ({}, {}, 15 / 3**0.5),  # 20 L either way, 15 kg, as a half-width (JCGM 100:2008 4.3.7)
    ({"fuel": "40L"}, {}, 15 / 3**0.5),
    ({"fuel": "40L"}, {"fuel": "40L"}, 2 * 0.7475 * 2**0.5),  # 2 L each time at 747.5 kg/m3
])  # fmt: skip
def test_fuel_that_was_not_noted_may_hide_kilos(
    world: World, first: dict[str, str], then: dict[str, str], u_kg: float
) -> None:
    world.done("car-weighed", total="1200kg", **first)
    world.done("car-weighed", total="1150kg", **then)
    found = compare(world.state.facts, *weights(world))
    once = weighing_u_kg(world.state.facts, weights(world)[0])
    assert found.u_kg == pytest.approx((2 * once**2 + u_kg**2) ** 0.5)


@pytest.mark.parametrize(("typed", "without", "u_kg"), [
    ("2.20kg", "", 0.02 / 12**0.5),  # the bench scale's step is coarser than what was typed
    ("2kg", "", 1 / 12**0.5),  # whole kilos were typed, whatever it shows
    ("300g", "", 0.02 / 12**0.5),
    ("3oz", "", 0.45359237 / 16 / 12**0.5),
    ("2.45kg", "0.95kg", (2 * 0.02**2 / 12) ** 0.5),  # a box on the bench scale
    ("98.2kg", "80.0kg", (2 * 0.1**2 / 12 + 1 / 3) ** 0.5),  # a person: within 1 kg either way (trade.md E1)
])  # fmt: skip
def test_a_part_is_known_no_finer_than_its_scale_nor_than_what_was_typed(
    world: World, typed: str, without: str, u_kg: float
) -> None:
    assert part_u_kg(world.state.facts, typed, without) == pytest.approx(u_kg)


def test_a_person_scale_that_is_described_is_believed(tmp_path: Path) -> None:
    facts = tally_world(tmp_path / "car", PERSON).state.facts
    assert part_u_kg(facts, "98.2kg", "80.0kg") == pytest.approx((2 * (0.1**2 / 12 + 0.2**2)) ** 0.5)


def test_what_a_stranger_typed_that_is_no_mass_tells_nothing_of_how_fine_it_was_read(world: World) -> None:
    assert part_u_kg(world.state.facts, "[1e308]", "heavy") == part_u_kg(world.state.facts, "")


# -- several on one reading, one of them weighed again


def test_one_of_a_lot_weighed_again_leaves_the_rest_to_the_others(world: World) -> None:
    world.done("parts-weighed", parts="mats,driver-seat,pads", reading="32kg")  # 3, 19 and 10 kg in the packs
    again = world.done("part-weighed", part="driver-seat", reading="16.5kg")
    # by hand: 15.5 kg are left, for 3 and 10 kg of 13
    assert part_mass(world.state, world.state.route.parts["mats"]).kg == pytest.approx(15.5 * 3 / 13)
    assert part_mass(world.state, world.state.route.parts["pads"]).kg == pytest.approx(15.5 * 10 / 13)
    world.done("undo", entry=again.n)
    assert part_mass(world.state, world.state.route.parts["mats"]).kg == pytest.approx(3)


def test_an_estimate_of_one_of_a_lot_is_no_reason_to_change_the_others(world: World) -> None:
    world.done("parts-weighed", parts="mats,driver-seat", reading="33kg")
    world.done("part-weighed", part="driver-seat", how="estimate")
    assert part_mass(world.state, world.state.route.parts["mats"]).kg == pytest.approx(33 * 3 / 22)


# -- what is not there was not on the scale


@pytest.mark.parametrize(("kind", "words"), [
    ("part-weighed", {"part": "mats", "reading": "3kg"}),
    ("part-weighed", {"part": "mats", "how": "estimate"}),
    ("parts-weighed", {"parts": "driver-seat,mats", "reading": "22kg"}),
])  # fmt: skip
def test_a_part_this_car_does_not_have_is_refused_with_how_to_put_that_right(
    world: World, kind: str, words: dict[str, str]
) -> None:
    parts = world.car.folded.route.parts
    parts["mats"] = parts["mats"]._replace(fitted=False)  # type: ignore[index]
    why = world.refused(kind, **words).why
    assert why == (
        "Floor mats is not on this car: car.toml [fitted] says so. If it is there after all, answer that "
        "again first: car-answered"
    )


def test_a_long_chain_of_lots_is_told_at_once_and_loses_nothing_of_the_first(world: World) -> None:
    """Each lot takes one part of the one before, so that what one weighs hangs on all that were written later."""
    for n in range(300):
        world.done("parts-weighed", parts=f"{'mats,pads' if n % 2 else 'driver-seat,mats'}", reading="20kg")
    seat, mats, pads = (part_mass(world.state, world.state.route.parts[p]).kg for p in ("driver-seat", "mats", "pads"))
    assert mats + pads == pytest.approx(20)
    assert seat + mats == pytest.approx(20)


def test_a_found_thing_that_was_undone_is_no_part_that_the_packs_lost(world: World) -> None:
    n = world.done("part-found", name="hook", reading="2kg").n
    world.done("part-weighed", part=f"found-{n}", reading="1kg")
    world.done("undo", entry=n)
    world.reopen()
    assert not any("do not have" in says for says in world.car.told)
