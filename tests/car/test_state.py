"""The state is a pure fold: it depends on the entries and nothing else, and hostile entries only make it refuse."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.entries import KINDS
from teardown.car.facts import read_facts
from teardown.car.log import Entry, read_log
from teardown.car.state import BadEntry, State
from teardown.car.steps import look_around
from teardown.commands.show import as_data
from teardown.packs.reader import load
from teardown.packs.route import lay_route
from teardown.packs.shipped import procedures, sample_car
from tests.world import HandClock, World, facts, fold, route

SAMPLE_FACTS = read_facts(sample_car() / "car.toml")
SAMPLE_ROUTE = lay_route(load(procedures()), SAMPLE_FACTS.shape)
SAMPLE = list(read_log(sample_car() / "log.jsonl"))
WORLD_ROUTE, WORLD_FACTS = route(), facts()

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)
NAMES = sorted({name for model in KINDS.values() for name in (*model.model_fields, *model.in_si)})


def told(state: State) -> object:
    return as_data(look_around(state, SAMPLE[-1].at))


WHOLE = told(fold(SAMPLE_ROUTE, SAMPLE_FACTS, SAMPLE))


@settings(max_examples=25)
@given(cut=st.integers(0, len(SAMPLE)))
def test_folding_a_log_equals_folding_any_split_of_it(cut: int) -> None:
    state = fold(SAMPLE_ROUTE, SAMPLE_FACTS, SAMPLE[:cut])
    look_around(state, SAMPLE[max(cut - 1, 0)].at)  # looking changes nothing
    for entry in SAMPLE[cut:]:
        state.apply(entry)
    assert told(state) == WHOLE


def test_looking_at_a_later_moment_leaves_the_state_as_it_was() -> None:
    state = fold(SAMPLE_ROUTE, SAMPLE_FACTS, SAMPLE)
    clock = HandClock()
    clock.reboot(7 * 24 * 3600)
    assert not look_around(state, clock.now()).gates["battery"].stands
    assert told(state) == WHOLE


@settings(max_examples=300)
@given(kind=st.sampled_from(sorted(KINDS)), fields=st.dictionaries(st.sampled_from(NAMES), JSON, max_size=6))
def test_fields_that_make_no_sense_are_refused_and_never_a_traceback(kind: str, fields: dict[str, object]) -> None:
    state = State(WORLD_ROUTE, WORLD_FACTS)
    entry = Entry(1, HandClock().now(), "x", kind, fields, "0" * 64)
    try:
        state.apply(entry)
        look_around(state, HandClock().now())
    except BadEntry as error:
        assert str(error).startswith(f"entry 1: its fields do not make a {kind}")


def test_an_entry_of_a_kind_nobody_knows_is_named() -> None:
    with pytest.raises(BadEntry, match="entry 1: this version does not know entries of kind 'teleport'"):
        State(WORLD_ROUTE, WORLD_FACTS).apply(Entry(1, HandClock().now(), "x", "teleport", {}, ""))


@pytest.mark.parametrize("name", [5, None, True, 1.5])
@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("step-done", {"step": ...}),
        ("step-skipped", {"step": ..., "why": "x"}),
        ("part-off", {"part": ...}),
        ("part-stored", {"part": ..., "where": "x"}),
        ("part-fate", {"part": ..., "fate": "sell"}),
        ("part-weighed", {"part": ..., "how": "direct", "reading": "1kg", "mass_kg": 1}),
        ("still-fitted", {"module": ..., "why": "x"}),
        ("not-there", {"module": ..., "why": "x"}),
    ],
)
def test_what_a_stranger_calls_by_no_name_is_refused(kind: str, fields: dict[str, object], name: object) -> None:
    said = {key: name if value is ... else value for key, value in fields.items()}
    with pytest.raises(BadEntry, match="a name that is none"):
        State(WORLD_ROUTE, WORLD_FACTS).apply(Entry(1, HandClock().now(), "x", kind, said, ""))


@pytest.mark.parametrize("number", ["nan", "5", float("inf"), 1e25, None, [1.0]])
@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("gate-reading", {"gate": "ice-meter", "number": ...}),
        ("gate-figure", {"gate": "ice-room", "ice_kg": ..., "over_min": 60}),
        ("manual-wait", {"gate": "airbag-wait", "wait_min": ...}),
        ("part-weighed", {"part": "mats", "how": "direct", "reading": "1kg", "mass_kg": ...}),
        ("parts-weighed", {"parts": "mats", "reading": "1kg", "mass_kg": ..., "shares_kg": [1.0]}),
        ("parts-weighed", {"parts": "mats", "reading": "1kg", "mass_kg": 1.0, "shares_kg": [...]}),
        ("part-found", {"name": "x", "reading": "1kg", "mass_kg": ...}),
        ("car-weighed", {"total": "4kg", "total_kg": ...}),
        ("car-weighed", {"corners": "1,1,1,1kg", "total_kg": 4, "corners_kg": [1, 1, 1, ...]}),
        ("run-timed", {"what": "x", "times": "6.8s", "times_s": [...]}),
    ],
)
def test_what_a_stranger_gives_for_a_number_is_refused_when_it_is_none(
    kind: str, fields: dict[str, object], number: object
) -> None:
    def filled(value: object) -> object:
        return [filled(each) for each in value] if isinstance(value, list) else number if value is ... else value

    said = {key: filled(value) for key, value in fields.items()}
    with pytest.raises(BadEntry, match="a number that is none"):
        State(WORLD_ROUTE, WORLD_FACTS).apply(Entry(1, HandClock().now(), "x", kind, said, ""))


FUEL: dict[str, object] = {"fuel_m3": 0.01, "fuel_u_m3": 0.002, "fuel_kind": "petrol"}


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        ({"corners_kg": [300, 300, 300]}, "a car on other than four pads"),
        ({"corners_kg": [300, 300, 300, -300]}, "a number below nothing"),
        ({"total_kg": -1200}, "a number below nothing"),
        ({"contents_kg": -5}, "a number below nothing"),
        (FUEL | {"fuel_m3": -0.01}, "a number below nothing"),
        ({"way": "by eye"}, "nobody could have entered its way"),
        ({"conditions": 5}, "nobody could have entered its conditions"),
        ({"tyres": ["flat"]}, "nobody could have entered its tyres"),
        (FUEL | {"fuel_kind": "coal"}, "nobody could have entered its fuel_kind"),
    ],
)
def test_a_weighing_that_no_scales_could_show_is_refused(said: dict[str, object], reason: str) -> None:
    weighed = {"total": "1200kg", "total_kg": 1200, "way": "pads"} | said
    with pytest.raises(BadEntry, match=reason):
        State(WORLD_ROUTE, WORLD_FACTS).apply(Entry(1, HandClock().now(), "x", "car-weighed", weighed, ""))


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("car-answered", {"feature": "knee-bag", "fitted": "\x1b[2J"}),
        ("car-answered", {"feature": "knee-bag", "fitted": ["no"]}),
        ("rule-answered", {"rule": "door-cards", "keep": "no", "says": "4.2"}),
        ("rule-answered", {"rule": "door-cards", "keep": True, "says": 4.2}),
    ],
)
def test_an_answer_that_nobody_can_give_is_refused(kind: str, fields: dict[str, object]) -> None:
    with pytest.raises(BadEntry, match="an answer that is none"):
        State(WORLD_ROUTE, WORLD_FACTS).apply(Entry(1, HandClock().now(), "x", kind, fields, ""))


def test_an_answer_to_a_rule_says_where_the_rule_stands() -> None:
    """It is told by name before an undo."""
    fields = {"rule": "door-cards", "keep": True}
    with pytest.raises(BadEntry, match="says"):
        State(WORLD_ROUTE, WORLD_FACTS).apply(Entry(1, HandClock().now(), "x", "rule-answered", fields, ""))


def test_a_way_of_weighing_that_a_stranger_made_up_is_refused() -> None:
    said = {"part": "mats", "how": "felt", "reading": "1kg", "mass_kg": 1.0}
    with pytest.raises(BadEntry, match="a way of weighing that is none"):
        State(WORLD_ROUTE, WORLD_FACTS).apply(Entry(1, HandClock().now(), "x", "part-weighed", said, ""))


@pytest.mark.parametrize("name", ["found-" + "9" * 5000, "found-\u0662", "found-", "found-2", "fitted-1", "mats"])
def test_what_only_looks_like_a_thing_found_is_no_thing(name: str) -> None:
    state = State(WORLD_ROUTE, WORLD_FACTS)
    found = {"name": "clips", "reading": "1kg", "mass_kg": 1.0}
    state.apply(Entry(1, HandClock().now(), "x", "part-found", found, ""))
    assert state.thing("found-1") is not None
    assert state.thing(name) is None


def test_entries_for_a_gate_or_step_that_packs_no_longer_have_are_history(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    state = fold(WORLD_ROUTE, WORLD_FACTS, read_log(world.folder / "log.jsonl"))
    at = world.clock.now()
    state.apply(Entry(2, at, "x", "gate-tick", {"gate": "gone", "tick": 1, "says": "x"}, ""))
    state.apply(Entry(3, at, "x", "step-done", {"step": "gone.gone"}, ""))
    assert look_around(state, at).state.entries == 3


def test_mass_counts_what_came_off_since_the_last_weighing(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.done("step-done", step="safe.look")
    world.done("step-done", step="safe.mats")
    world.done("car-weighed", total="1180kg")
    assert as_data(world.car.now())["mass"]["now_kg"] == 1180
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    world.done("part-weighed", part="driver-bag", reading="1.1kg")
    mass = as_data(world.car.now())["mass"]
    assert mass["now_kg"] == pytest.approx(1178.9)
    assert mass["to_go_kg"] == pytest.approx(178.9)


def test_a_part_that_went_back_weighs_on_the_car_again(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.done("step-done", step="safe.look")
    world.done("step-done", step="safe.mats")
    world.done("part-weighed", part="mats", reading="3kg")
    assert as_data(world.car.now())["mass"]["now_kg"] == 1197
    world.done("part-back", part="mats")
    assert as_data(world.car.now())["mass"]["now_kg"] == 1200
    assert world.refused("undo", entry=world.state.entries).why.endswith("Write a new entry instead")
