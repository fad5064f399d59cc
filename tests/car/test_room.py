"""The dry-ice figure as the gate counts it: which room, over how long, after which batch, and what it advises."""

from __future__ import annotations

import tempfile
from itertools import pairwise
from math import exp
from pathlib import Path

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.facts import Room
from teardown.car.ice import Batch
from teardown.car.log import Entry
from teardown.car.room import MIXING, RELEASE_MIN, counted_ice, judge_room
from teardown.figures.air import dry_ice_air
from teardown.figures.chill import chill
from tests.world import FACTS, World, facts

OUTDOORS = facts().room
GARAGE = facts(
    FACTS.replace('place = "outdoors"', 'place = "indoors"\nsize = "6x4x2.4m"\nair_changes_per_hour = 2').replace(
        "4000m3/h", "300m3/h"
    )
).room

STEPS = 800
MOST_CHANGES_PER_H = 10_000
"""The figure holds no further."""


@pytest.fixture
def iced(tmp_path: Path) -> World:
    """Ready for the figure."""
    world = World(tmp_path / "car")
    world.modules_out()
    world.tick_all("ice-place")
    return world


def lay(world: World, **words: object) -> dict[str, object]:
    return world.done("gate-figure", gate="ice-room", **words).fields


# -- over how long


def test_a_batch_goes_off_in_the_time_the_trade_counts_with(iced: World) -> None:
    """10 kg in 45 min (common practice)."""
    assert lay(iced, ice="1kg")["over_min"] == RELEASE_MIN == 45


def test_a_layer_of_ice_gives_less_gas_while_it_lies_than_the_figure_counts() -> None:
    """A layer of 20 mm, the thinnest (common practice), half of it air: ice 1,400 kg/m3 (from memory). Panel and pad
    down to -40 C at once, and the warmth of the room for the 15 min it lies at most (common practice)."""
    layer_kg_per_m2 = 0.020 * 1400 / 2
    panel = chill(area_m2=1.0, pad_m=0.0025, steel_m=0.0008, from_c=20, to_c=-40)
    warmth_kj = 10.0 * (20 + 78.5) * 15 * 60 / 1000
    gone = (panel.heat_kj + warmth_kj) / 571 / layer_kg_per_m2
    assert gone < 15 / RELEASE_MIN


# -- a cabin in a room


def test_indoors_the_fan_draws_the_air_of_the_room() -> None:
    verdict = judge_room(GARAGE, 0.5, 45)
    assert not verdict.stands
    assert verdict.why.startswith("0.5 kg of ice would bring the cabin to 7,758 ppm")
    assert verdict.working[1:3] == (
        "room: 57.6 m3, 115 m3/h of air, a third of it counted (mixing)",
        "room: 4,134 ppm at most (limit 5,000), 3,948 over 15 min (limit 15,000)",
    )
    assert "cabin: 3.0 m3, 300 m3/h of the room's air, a third of it counted (mixing)" in verdict.working
    assert judge_room(OUTDOORS, 0.5, 45).why == "at most 692 ppm in the cabin"


# -- what lies there


def lying_kg(world: World) -> float:
    return world.state.gates.lying_kg("ice-room", world.clock.now())


def ice_is_worked(world: World) -> None:
    world.done("gate-reading", gate="ice-meter", value="700ppm")
    if world.state.mark("cabin.card-off") is None:
        world.done("step-done", step="cabin.card-off")
    world.done("step-done", step="cabin.pads-off")


def test_ice_that_a_finished_step_stood_on_stays_laid_when_its_figure_is_taken_back(iced: World) -> None:
    figure = iced.done("gate-figure", gate="ice-room", ice="3kg")
    ice_is_worked(iced)
    iced.done("undo", entry=figure.n)
    assert lying_kg(iced) == 3.0
    iced.done("step-undone", step="cabin.pads-off", why="once more")
    assert lying_kg(iced) == 3.0
    assert lay(iced, ice="1kg")["lying_kg"] == 3.0


def test_ice_that_was_only_planned_goes_with_its_figure(iced: World) -> None:
    figure = iced.done("gate-figure", gate="ice-room", ice="3kg")
    iced.done("undo", entry=figure.n)
    assert lying_kg(iced) == 0.0


def test_taking_a_recount_back_leaves_what_was_counted_before(iced: World) -> None:
    iced.done("gate-figure", gate="ice-room", ice="3kg")
    ice_is_worked(iced)
    recount = iced.done("gate-figure", gate="ice-room", ice="4kg", same="yes")
    assert lying_kg(iced) == 4.0
    iced.done("undo", entry=recount.n)
    assert lying_kg(iced) == 3.0


def test_ice_that_a_finished_step_stood_on_is_no_less_when_it_is_counted_again(iced: World) -> None:
    """Nobody weighs what has gone off. What was only planned may have been less."""
    lay(iced, ice="3kg")
    ice_is_worked(iced)
    for _ in range(2):
        refused = iced.refused("gate-figure", gate="ice-room", ice="0.1kg", same="yes")
        assert refused.about == "ice"
        assert refused.why.startswith("ice=0.1kg is less than lies there already (limit: no less than 3.0 kg)")
        lay(iced, ice="4kg", same="yes")
        lay(iced, ice="3kg", same="yes")
    iced.wait(46)
    iced.tick_all("ice-place") if not iced.stands("ice-place") else None
    lay(iced, ice="1kg", same="yes")


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["more", "same", "work", "undo"]), st.integers(1, 8)), max_size=12))
def test_over_random_histories_ice_a_finished_step_stood_on_lies_there_until_its_minutes_are_over(
    history: list[tuple[str, int]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = World(Path(folder) / "car")
        world.modules_out()
        world.tick_all("ice-place")
        laid_kg = 0.0
        for what, number in [("more", 5), ("work", 0), *history]:
            if what == "work":
                world.enter("gate-reading", gate="ice-meter", value="400ppm")
                world.enter("step-undone", step="cabin.pads-off", why="once more")
                world.enter("step-done", step="cabin.card-off")
                if isinstance(world.enter("step-done", step="cabin.pads-off"), Entry):
                    laid_kg = lying_kg(world)
            elif what == "undo":
                world.enter("undo", entry=max(1, world.state.entries - number))
            else:
                world.enter("gate-figure", gate="ice-room", ice=f"{number}kg", same="yes" if what == "same" else "no")
            assert lying_kg(world) >= laid_kg
        world.car.close()


# -- what it says


@pytest.mark.parametrize(
    ("kg", "over_min", "crossed"),
    [
        (10, 45, "the cabin to 5,857 ppm (limit 5,000: the 8-hour limit, held at any time): lay at most 8.4 kg"),
        (10, 15, "the cabin to 16,628 ppm over 15 min (limit 15,000 over 15 min): lay at most 2.8 kg"),
        (10, 8, "the cabin to 31,001 ppm (limit 30,000 at any time): lay at most 1.4 kg"),
    ],
)
def test_a_refusal_names_the_limit_crossed_and_over_which_time(kg: float, over_min: float, crossed: str) -> None:
    """5,000 ppm over 8 h: 29 CFR 1910.1000 Table Z-1; 15,000 over 15 min: EH40/2005; 30,000: ACGIH (secondary
    copies)."""
    assert crossed in judge_room(OUTDOORS, kg, over_min).why


@settings(max_examples=60, deadline=None)
@given(
    indoors=st.booleans(),
    kg=st.floats(min_value=0.2, max_value=20),
    lying_kg=st.floats(min_value=0, max_value=5),
    over_min=st.floats(min_value=5, max_value=45),
    start_ppm=st.floats(min_value=420, max_value=4000),
)
def test_what_it_advises_stands(indoors: bool, kg: float, lying_kg: float, over_min: float, start_ppm: float) -> None:
    room = GARAGE if indoors else OUTDOORS
    why = judge_room(room, kg, over_min, start_ppm, lying_kg).why
    if "lay at most " in why:
        advised_kg = float(why.partition("lay at most ")[2].partition(" kg")[0])
        assert 0 < advised_kg < kg
        assert judge_room(room, advised_kg, over_min, start_ppm, lying_kg).stands
    if "through the cabin" in why:
        advised = float(why.partition("or move ")[2].partition(" m3/h")[0].replace(",", ""))
        other_fan = room.model_copy(update={"fan": advised})
        assert advised > 3 * MOST_CHANGES_PER_H or judge_room(other_fan, kg, over_min, start_ppm, lying_kg).stands


# -- after which batch


def test_the_figure_begins_in_the_air_that_was_read_lately(iced: World) -> None:
    iced.done("gate-reading", gate="ice-meter", value="3000ppm")
    fields = lay(iced, ice="1kg")
    assert fields["start_ppm"] == 3000
    assert "the air is at 3,000 ppm before" in iced.car.now().gates["ice-room"].working
    iced.done("gate-reading", gate="ice-meter", value="5600ppm")
    lay(iced, ice="1kg")
    assert "at 5600 ppm before any ice is laid, and the limit is 5000 ppm: air it first" in iced.why("ice-room")


@pytest.mark.parametrize("reading", ["300ppm", "350ppm", "0ppm"])
def test_the_figure_never_begins_below_outdoor_air(iced: World, reading: str) -> None:
    iced.done("gate-reading", gate="ice-meter", value=reading)
    assert lay(iced, ice="1kg")["start_ppm"] == 420


def test_without_a_fresh_reading_it_begins_in_what_the_earlier_batch_left(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("4000m3/h", "30m3/h"))
    world.modules_out()
    world.tick_all("ice-place")
    world.done("gate-reading", gate="ice-meter", value="400ppm")
    assert lay(world, ice="0.02kg")["start_ppm"] == 420
    for _ in range(5):
        world.clock.advance(9 * 60)
        world.done("note", text="the ice goes off")
    world.clock.advance(6 * 60)
    left = world.done("gate-figure", gate="ice-room", ice="0.01kg").fields["start_ppm"]
    # by hand: 0.010874 m3 of gas into 3 m3 with 10 m3/h that count, over 0.75 h, then 0.1 h of airing
    gas_m3 = 0.02 / 1.83934  # CoolProp, computed
    end_ppm = gas_m3 / 0.75 / 10 * 1e6 * (1 - exp(-10 / 3 * 0.75))
    assert left == pytest.approx(420 + end_ppm * exp(-10 / 3 * 0.1), rel=1e-3)


def test_a_batch_whose_minutes_are_not_over_counts_whole_with_the_next(iced: World) -> None:
    lay(iced, ice="6kg")
    iced.clock.advance(9 * 60)
    fields = lay(iced, ice="4kg", over="30min")
    assert (fields["lying_kg"], fields["over_min"]) == (6, 30)
    view = iced.car.now().gates["ice-room"]
    assert view.why.startswith("4.0 kg of ice and the 6.0 kg laid before would bring the cabin to")
    assert view.why.endswith("through the cabin. The same ice, counted again: same=yes")
    assert view.working[0] == "4.0 kg of ice and the 6.0 kg laid before make 5.4 m3 of gas in 30 min"
    for _ in range(4):
        iced.clock.advance(9.1 * 60)
        iced.done("note", text="the ice goes off")
    iced.tick_all("ice-place") if not iced.stands("ice-place") else None
    assert lay(iced, ice="4kg")["lying_kg"] == 0


def test_the_same_ice_counted_again_does_not_come_on_top(iced: World) -> None:
    lay(iced, ice="6kg")
    iced.done("happened", what="fan-stopped", why="its plug came out")
    iced.tick_all("ice-place")
    assert lay(iced, ice="5kg", same="yes")["lying_kg"] == 0
    assert iced.stands("ice-room")
    assert lay(iced, ice="1kg")["lying_kg"] == 5


def test_only_ice_that_the_figure_allowed_counts_as_laid_and_none_that_was_undone(iced: World) -> None:
    lay(iced, ice="40kg")
    assert not iced.stands("ice-room")
    entry = iced.done("gate-figure", gate="ice-room", ice="6kg")
    assert entry.fields["lying_kg"] == 0
    iced.done("undo", entry=entry.n)
    assert not iced.stands("ice-room")
    assert lay(iced, ice="2kg")["lying_kg"] == 0


def test_no_lapse_and_no_restart_takes_ice_out_of_the_car(iced: World) -> None:
    lay(iced, ice="2kg")
    iced.clock.advance(4 * 60)
    iced.done("happened", what="ice-delivered", why="the second box")
    iced.clock.reboot(off_seconds=3600)
    iced.reopen()
    iced.done("resumed", power="no", doors="no", people="no")
    iced.wait(30)
    iced.tick_all("ice-place")
    assert lay(iced, ice="1kg")["lying_kg"] == 2
    (first, _) = iced.state.gates.batches("ice-room", iced.clock.now())
    assert first.ran_min == pytest.approx(4 + 30), "an hour with the computer off proves nothing"


@settings(max_examples=200, deadline=None)
@given(
    first=st.tuples(st.floats(min_value=0.1, max_value=5), st.floats(min_value=5, max_value=45)),
    second=st.tuples(st.floats(min_value=0.1, max_value=5), st.floats(min_value=5, max_value=45)),
    ran_min=st.floats(min_value=0, max_value=60),
    fan=st.floats(min_value=5, max_value=4000),
)
def test_two_batches_are_never_worse_than_the_figure(
    first: tuple[float, float], second: tuple[float, float], ran_min: float, fan: float
) -> None:
    """The cabin with both, integrated step by step from the first batch on, against what is counted with the second."""
    room = Room(place="outdoors").model_copy(update={"fan": fan})
    ice = counted_ice(room, *second, None, [Batch(*first, ran_min)], again=False)
    found = dry_ice_air(ice.kg + ice.lying_kg, 3, fan / 3, ice.over_min / 60, MIXING, min(ice.start_ppm, 5000))
    highest_ppm = _highest(first, second, ran_min, fan / MIXING)
    if ice.start_ppm <= 5000:
        assert found.peak_ppm >= min(highest_ppm, 1e6) * (1 - 1e-4)


def _highest(first: tuple[float, float], second: tuple[float, float], ran_min: float, airflow: float) -> float:
    """From the second batch on, in a cabin of 3 m3 with the airflow that counts [m3/h]."""
    gas_m3 = [kg / PropsSI("D", "T", 293.15, "P", 101325, "CO2") for kg, _ in (first, second)]
    begins = [0.0, ran_min / 60]
    ends = [first[1] / 60, ran_min / 60 + second[1] / 60]
    rates = [gas * 1e6 / (end - begin) for gas, begin, end in zip(gas_m3, begins, ends, strict=True)]

    def rise(ppm: float, released: float) -> float:
        return (released - airflow * (ppm - 420)) / 3

    moments = sorted({*begins, *ends})
    ppm, highest = 420.0, 0.0
    for begin_h, end_h in pairwise(moments):
        released = sum(rate for rate, a, b in zip(rates, begins, ends, strict=True) if a <= begin_h < b)
        step_h = (end_h - begin_h) / STEPS
        for _ in range(STEPS):  # Runge and Kutta's classical four steps
            k1 = rise(ppm, released)
            k2 = rise(ppm + k1 * step_h / 2, released)
            k3 = rise(ppm + k2 * step_h / 2, released)
            k4 = rise(ppm + k3 * step_h, released)
            ppm += (k1 + 2 * k2 + 2 * k3 + k4) * step_h / 6
            highest = max(highest, ppm) if begin_h >= begins[1] else highest
    return highest
