"""What no pack foresaw and is, or may be, an airbag or its like: no sale without a rule, no press; it is counted."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car.clock import Instant
from teardown.car.live_things import is_live_thing
from teardown.car.log import Entry
from teardown.car.state import State
from teardown.car.tally import line_of, live_things
from teardown.car.tickets import waits_for_the_yard
from teardown.car.worth import worth_it
from teardown.sheets.controlled import controlled_lines, modules_block
from tests.car.tally import TALLY_FACTS, tally_world
from tests.world import World, facts, route

BY_NAME = {"name": "Knee airbag, live", "reading": "1.2kg"}
BY_FATE = {"name": "Box under the seat", "reading": "1.2kg", "fate": "controlled"}


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def found(world: World, **words: object) -> str:
    return f"found-{world.done('part-found', **words).n}"


@pytest.mark.parametrize("name", [
    "Knee airbag, live", "KNEE AIR-BAG", "buckle pretensioner", "curtain inflator", "SRS module", "pyro cable cutter",
    "Knee a\u0456rbag",  # a letter that only looks like one
])  # fmt: skip
def test_a_name_that_speaks_of_airbags_and_their_like_is_taken_for_live(world: World, name: str) -> None:
    assert line_of(world.state, found(world, name=name, reading="1kg")).live


@pytest.mark.parametrize("name", ["Roof rack", "tyre inflator", "Seat foam", "Bag of clips"])
def test_other_names_are_not(world: World, name: str) -> None:
    assert not line_of(world.state, found(world, name=name, reading="1kg")).live


@pytest.mark.parametrize("words", [BY_NAME, BY_FATE])
def test_what_is_live_is_sold_by_a_rule_only_and_goes_to_no_yard(world: World, words: dict[str, str]) -> None:
    thing = found(world, **words)
    for kind, more in (("listed", {"ask": "80"}), ("sold", {"amount": "80"}), ("part-fate", {"fate": "sell"})):
        assert "carries a live module" in world.refused(kind, part=thing, **more).why, kind
    assert "a press sets it off" in world.refused("scrap-ticket", reading="1kg", amount="1", parts=thing).why
    world.done("part-fate", part=thing, fate="scrap")
    assert waits_for_the_yard(world.state) == []
    world.done("part-fate", part=thing, fate="sell", rule="permit 12")
    world.done("sold", part=thing, amount="80")


def test_a_fate_given_as_it_was_found_is_no_way_round_the_rule(world: World) -> None:
    refused = world.refused("part-found", **BY_NAME, fate="sell")
    assert (refused.about, "with part-fate and the rule" in refused.why) == ("fate", True)
    thing = found(world, name="Box", reading="1kg", fate="sell")
    world.done("part-fate", part=thing, fate="controlled")
    world.done("part-fate", part=thing, fate="keep")
    assert "carries a live module" in world.refused("sold", part=thing, amount="80").why  # it was ever controlled


@pytest.mark.parametrize("words", [BY_NAME, BY_FATE])
def test_what_is_live_is_stored_counted_and_handed_over_by_name(world: World, words: dict[str, str]) -> None:
    thing = found(world, **words)
    assert [line.id for line in live_things(world.state)] == [thing]
    assert thing in [line.id for line in controlled_lines(world.state)]
    block = modules_block(world.state)
    assert (words["name"], "foreseen by no pack", "off") in (block.table.rows if block.table else ())
    assert block.loud
    assert "say first where it was stored" in world.refused("handed-over", part=thing, to="disposal firm").why
    world.done("part-stored", part=thing, where="steel cabinet")
    assert (line_of(world.state, thing).standing, line_of(world.state, thing).where) == ("stored", "steel cabinet")
    world.done("handed-over", part=thing, to="disposal firm")
    assert line_of(world.state, thing).standing == "handed-over"


def test_what_is_live_is_counted_once_on_the_sheet(world: World) -> None:
    thing = found(world, **BY_NAME)
    assert modules_block(world.state).lines == ("0 of 3 are out of the car or looked for and not there.",)
    world.done("part-stored", part=thing, where="steel cabinet")
    assert modules_block(world.state).lines == ("1 of 3 are out of the car or looked for and not there.",)


def test_what_is_live_is_never_told_that_nobody_buys_it(world: World) -> None:
    thing = found(world, **BY_NAME)
    assert worth_it(world.state, line_of(world.state, thing))[:2] == (
        "controlled",
        "a live module: the law first, then the price",
    )


def test_what_nobody_has_priced_is_to_be_priced_and_not_scrapped(world: World) -> None:
    assert worth_it(world.state, line_of(world.state, found(world, name="Roof rack", reading="6kg"))).says == "price it"


def test_what_is_live_does_not_go_back_where_no_gate_would_count_it(world: World) -> None:
    thing = found(world, **BY_NAME)
    assert "no pack knows how it is plugged" in world.refused("part-back", part=thing).why


def test_a_name_can_be_wrong_and_only_a_reason_frees_it_until_that_is_undone(world: World) -> None:
    thing = found(world, name="Airbag bracket, bare", reading="0.3kg")
    looked = world.done("not-there", module=thing, why="a bent plate, nothing in it")
    assert not line_of(world.state, thing).live
    world.done("listed", part=thing, ask="5")
    assert "not taken to be live" in world.refused("not-there", module=thing, why="again").why
    world.done("undo", entry=looked.n)
    assert line_of(world.state, thing).live


def test_called_controlled_again_it_is_live_again(world: World) -> None:
    thing = found(world, **BY_FATE)
    world.done("not-there", module=thing, why="an empty box")
    assert not line_of(world.state, thing).live
    world.done("part-fate", part=thing, fate="controlled")
    assert line_of(world.state, thing).live


def test_a_fluid_is_controlled_and_no_module(world: World) -> None:
    thing = found(world, name="Coolant", reading="5kg", counts="fluid", fate="controlled")
    assert not line_of(world.state, thing).live
    assert thing in [line.id for line in controlled_lines(world.state)]


def airbag_fitted(world: World) -> str:
    return f"fitted-{world.done('part-fitted', name='Airbag of another car', reading='2kg').n}"


def test_what_is_live_and_was_fitted_is_counted_as_in_the_car(world: World) -> None:
    world.modules_out()
    world.tick_all("ice-place")
    airbag_fitted(world)
    assert world.why("live-count") == "not accounted for: Airbag of another car"
    assert world.state.gates["ice-place"].lapse == "a live module counts as in the car again"
    assert not world.stands("live-listed"), "no pack says how it is plugged"


def test_what_is_live_and_was_fitted_comes_off_past_the_airbag_gates_only(world: World) -> None:
    thing = airbag_fitted(world)
    refused = world.refused("part-off", part=thing)
    assert (refused.gate, "second person" in refused.why.casefold()) == ("second-person", True)
    assert f"If Airbag of another car is not live: not-there module={thing}" in refused.why
    world.airbags_ready()
    world.done("part-off", part=thing)
    assert world.state.modules_loose() == ("Airbag of another car",)
    world.done("part-stored", part=thing, where="store")
    assert world.state.modules_loose() == ()


def test_what_is_live_does_not_come_off_while_ice_lies_in_the_car(tmp_path: Path) -> None:
    """Whatever shuts every other step at the car shuts this too."""
    world = World(tmp_path / "outdoors")
    world.modules_out()
    world.tick_all("ice-place")
    world.done("gate-figure", gate="ice-room", ice="2kg")
    world.done("gate-reading", gate="ice-meter", value="400ppm")
    for step in ("cabin.card-off", "cabin.pads-off"):
        world.done("step-done", step=step)
    thing = airbag_fitted(world)
    world.tick_all("airbag-handling")
    refused = world.refused("part-off", part=thing)
    assert (refused.gate, "since then" in refused.why) == ("ice-gone", True)
    world.tick_all("ice-gone")
    world.done("part-off", part=thing)


def test_a_blanking_plate_called_after_the_airbag_comes_off_once_somebody_has_looked(world: World) -> None:
    thing = airbag_fitted(world)
    world.done("not-there", module=thing, why="a plate of sheet metal")
    world.done("part-off", part=thing)


def test_what_is_live_and_was_found_is_not_accounted_for_until_it_is_stored(world: World) -> None:
    """It lies beside the car: the next airbag waits, and what stood behind the count is made again."""
    world.modules_out()
    world.tick_all("ice-place")
    thing = found(world, **BY_NAME)
    assert world.state.modules_loose() == ("Knee airbag, live",)
    assert world.why("live-count") == "not accounted for: Knee airbag, live"
    world.done("part-stored", part=thing, where="store")
    assert world.stands("live-count")
    assert not world.stands("ice-place"), "nothing made before the count came out comes to life"


@pytest.mark.parametrize("words", [BY_NAME, BY_FATE])
def test_what_is_live_is_not_forgotten_by_an_undo_until_somebody_has_looked(
    world: World, words: dict[str, str]
) -> None:
    """An undo opens no gate by itself."""
    world.modules_out()
    thing = found(world, **words)
    entry = world.state.entries
    assert f"not-there module={thing}" in world.refused("undo", entry=entry).why
    assert world.state.last_undoable() == entry - 1, "the key that undoes is not stuck behind it"
    world.done("not-there", module=thing, why="entered twice")
    world.done("undo", entry=entry)
    assert world.stands("live-count")


def test_an_undo_of_what_is_live_changes_nothing_in_a_strangers_log_either(world: World) -> None:
    found(world, **BY_NAME)
    state = world.car.folded
    at = world.clock.now()
    state.apply(Entry(state.entries + 1, at, "Ana", "undo", {"entry": state.entries}, ""))
    assert "Knee airbag, live" in state.modules_unaccounted(allows_fitted=True)


def test_what_is_not_accounted_for_is_told_in_the_order_in_which_it_was_found(world: World) -> None:
    world.modules_out()
    names = [f"Airbag {letter}" for letter in "dcba"]
    for name in names:
        while name == names[-1] and world.state.entries < 100:
            world.done("note", text="so on")  # an entry of three digits comes after those of two
        found(world, name=name, reading="1kg")
    assert world.state.modules_loose() == tuple(names)


def test_called_controlled_on_the_car_it_is_counted_there(world: World) -> None:
    world.modules_out()
    thing = f"fitted-{world.done('part-fitted', name='Box', reading='2kg').n}"
    assert world.stands("live-count")
    world.done("part-fate", part=thing, fate="controlled")
    assert not world.stands("live-count")
    assert "shut: " in world.refused("part-off", part=thing).why


said = st.lists(st.tuples(st.sampled_from(("controlled", "keep", "sell", "not-there", "undo")), st.integers(2, 9)))


@given(said, st.sampled_from(["Knee airbag", "Box"]))
def test_over_random_histories_only_a_standing_reason_newer_than_any_controlled_frees_a_thing(
    history: list[tuple[str, int]], name: str
) -> None:
    state = State(route(TALLY_FACTS), facts(TALLY_FACTS))
    first = {"name": name, "reading": "1kg", "mass_kg": 1.0}
    standing: dict[int, str] = {}
    is_named = name == "Knee airbag"
    entries: list[tuple[str, dict[str, object]]] = [("part-found", first)]
    for n, (word, which) in enumerate(history, start=2):
        if word == "undo":
            entries.append(("undo", {"entry": which}))
            freed = max((m for m, word in standing.items() if word == "not-there"), default=0)
            live = any(m > freed for m, word in standing.items() if word == "controlled") or (is_named and not freed)
            if which < n and not (live and standing.get(which) == "controlled"):
                standing.pop(which, None)  # an undo stands, and so does what is not written yet
            continue
        standing[n] = word
        fields: dict[str, object] = {"part": "found-1", "fate": word}
        entries.append(
            ("not-there", {"module": "found-1", "why": "so"}) if word == "not-there" else ("part-fate", fields)
        )
    for n, (kind, fields) in enumerate(entries, start=1):
        at = Instant("2026-05-09T08:00:00.000Z", "boot-1", float(n), "2026-05-09")
        state.apply(Entry(n, at, "Ana", kind, fields, ""))
    freed = max((n for n, word in standing.items() if word == "not-there"), default=0)
    controlled = max((n for n, word in standing.items() if word == "controlled"), default=0)
    thing = state.thing("found-1")
    assert thing is not None
    assert is_live_thing(state, thing) == (controlled > freed or (is_named and not freed))
