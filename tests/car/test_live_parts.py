"""Which parts are live: those with a module this car may carry, unless somebody looked and it is not there."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car.clock import Instant
from teardown.car.log import Entry
from teardown.car.state import State
from teardown.car.tally import is_live, line_of
from teardown.sheets.controlled import controlled_lines
from tests.car.tally import TALLY_FACTS, tally_world
from tests.world import FACTS, World, facts, route

NO_KNEE_BAG = TALLY_FACTS.replace("hybrid = false", "hybrid = false\nknee-bag = false")
SOLD = {"listed": {"ask": "80"}, "sold": {"amount": "80"}, "part-fate": {"fate": "sell"}}


def seat_carries(state: State, *modules: str, material: str = "steel, foam") -> None:
    """The driver's seat as the packs have it: controlled for the modules it may carry."""
    seat = state.route.parts["driver-seat"]
    changed = seat.part.model_copy(update={"modules": modules, "fate": "controlled", "material": material})
    state.route.parts["driver-seat"] = seat._replace(part=changed)  # type: ignore[index]


def world_with_seat(folder: Path, text: str, *modules: str, material: str = "steel, foam") -> World:
    world = tally_world(folder, text)
    seat_carries(world.car.folded, *modules, material=material)
    return world


def controlled(world: World) -> list[str]:
    return [line.id for line in controlled_lines(world.state)]


@pytest.mark.parametrize("kind", SOLD)
def test_a_seat_without_any_module_of_this_car_is_a_seat(tmp_path: Path, kind: str) -> None:
    world = world_with_seat(tmp_path / "car", NO_KNEE_BAG, "knee-bag")
    assert not line_of(world.state, "driver-seat").live
    assert "driver-seat" not in controlled(world)
    world.done(kind, part="driver-seat", **SOLD[kind])


@pytest.mark.parametrize("kind", SOLD)
def test_a_seat_that_may_carry_one_is_live_while_nobody_has_looked(tmp_path: Path, kind: str) -> None:
    world = world_with_seat(tmp_path / "car", TALLY_FACTS, "knee-bag")
    assert line_of(world.state, "driver-seat").live
    assert "driver-seat" in controlled(world)
    assert "live module" in world.refused(kind, part="driver-seat", **SOLD[kind]).why


def test_looked_for_and_not_there_frees_the_part_until_that_is_undone(tmp_path: Path) -> None:
    world = world_with_seat(tmp_path / "car", TALLY_FACTS, "knee-bag")
    looked = world.done("not-there", module="knee-bag", why="looked under the cover")
    assert not line_of(world.state, "driver-seat").live
    world.done("listed", part="driver-seat", ask="80")
    assert "is not off yet" in world.refused("scrap-ticket", reading="20kg", amount="4", parts="driver-seat").why
    world.done("undo", entry=looked.n)
    assert line_of(world.state, "driver-seat").live
    assert "a press sets it off" in world.refused("scrap-ticket", reading="20kg", amount="4", parts="driver-seat").why


def test_one_module_in_doubt_is_enough(tmp_path: Path) -> None:
    world = world_with_seat(tmp_path / "car", TALLY_FACTS, "knee-bag", "driver-bag")
    world.done("not-there", module="knee-bag", why="looked under the cover")
    assert line_of(world.state, "driver-seat").live


def test_a_module_named_as_fitted_after_all_is_live_again(tmp_path: Path) -> None:
    world = world_with_seat(tmp_path / "car", TALLY_FACTS, "knee-bag")
    world.done("not-there", module="knee-bag", why="looked under the cover")
    world.done("still-fitted", module="knee-bag", why="there it is")
    assert line_of(world.state, "driver-seat").live


def test_what_is_made_of_the_charge_stays_live_whatever_was_said(tmp_path: Path) -> None:
    world = world_with_seat(tmp_path / "car", TALLY_FACTS, "knee-bag", material="steel, fabric, pyrotechnic or gas")
    world.done("not-there", module="knee-bag", why="looked under the cover")
    assert line_of(world.state, "driver-seat").live


def test_a_module_no_pack_knows_is_live(tmp_path: Path) -> None:
    assert line_of(world_with_seat(tmp_path / "car", NO_KNEE_BAG, "roof-bag").state, "driver-seat").live


def test_a_part_without_a_live_module_may_be_handed_over_without_a_store(tmp_path: Path) -> None:
    world = world_with_seat(tmp_path / "car", NO_KNEE_BAG, "knee-bag")
    world.seat_ready()
    world.done("step-done", step="cabin.seat-out")
    world.done("handed-over", part="driver-seat", to="neighbour")


words = st.lists(
    st.tuples(st.sampled_from(("not-there", "still-fitted", "part-stored", "undo")), st.integers(1, 8)), max_size=8
)


@given(words, st.booleans())
def test_only_the_owner_or_the_newest_word_about_a_module_frees_a_part(said: list[tuple[str, int]], may: bool) -> None:
    text = TALLY_FACTS if may else NO_KNEE_BAG
    state = State(route(text), facts(text))
    seat_carries(state, "knee-bag")
    standing: dict[int, str] = {}  # what has been said of the module and not been undone
    for n, (kind, which) in enumerate(said, start=1):
        fields: dict[str, object] = {"module": "knee-bag", "why": "so"}
        if kind == "part-stored":
            fields = {"part": "driver-seat", "where": "rack"}
        elif kind == "undo":
            fields = {"entry": which}
            if standing.get(which) == "not-there":  # a module named as fitted is not undone
                del standing[which]
        if kind in ("not-there", "still-fitted"):
            standing[n] = kind
        at = Instant("2026-05-09T08:00:00.000Z", "boot-1", float(n), "2026-05-09")
        state.apply(Entry(n, at, "Ana", kind, fields, ""))
    newest = standing[max(standing)] if standing else None
    assert is_live(state, state.route.parts["driver-seat"]) == (may and newest != "not-there")


def test_a_module_that_is_off_is_fitted_nowhere_whatever_was_said_before_it_came_off(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.airbags_ready()
    world.done("still-fitted", module="driver-bag", why="comes out later")
    assert world.state.modules_unaccounted(allows_fitted=True) == ("Knee airbag",)
    world.done("step-done", step="cabin.bag-out")
    assert world.state.modules_loose() == ("Driver airbag",), "it lies about, and nobody has said where"
    assert "Driver airbag" in world.state.modules_unaccounted(allows_fitted=True)


def test_saying_that_one_is_fitted_stores_none_that_is_off(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.modules_out()
    world.done("still-fitted", module="driver-bag", why="it is there after all")
    assert world.state.modules_loose() == ("Driver airbag",)
    assert not world.stands("live-listed"), "power could come to one that nobody knows the place of"


def test_one_that_went_back_is_named_anew_before_it_counts_as_plugged(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.airbags_ready()
    world.done("still-fitted", module="driver-bag", why="plugged")
    world.done("step-done", step="cabin.bag-out")
    world.done("part-back", part="driver-bag")
    assert "Driver airbag" in world.state.modules_unaccounted(allows_fitted=True)
    world.done("still-fitted", module="driver-bag", why="plugged again")
    assert "Driver airbag" not in world.state.modules_unaccounted(allows_fitted=True)


def test_a_module_that_lies_about_is_not_ruled_out_by_editing_car_toml(tmp_path: Path) -> None:
    """It came off and nobody has said where it lies: then the car had it."""
    world = World(tmp_path / "car")
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    world.done("part-stored", part="driver-bag", where="store")
    world.done("step-done", step="cabin.knee-out")
    (world.folder / "car.toml").write_text(FACTS.replace("hybrid = false", "hybrid = false\nknee-bag = false"))
    world.reopen()
    told = "Knee airbag module (car.toml rules it out: put that right first)"
    assert world.state.modules_loose() == (told,)
    assert world.why("live-count") == f"not accounted for: {told}"
    world.done("step-undone", step="cabin.knee-out", why="it was another car's")
    assert world.stands("live-count")


def test_what_was_stored_before_car_toml_ruled_it_out_lies_about_no_more(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.modules_out()
    (world.folder / "car.toml").write_text(FACTS.replace("hybrid = false", "hybrid = false\nknee-bag = false"))
    world.reopen()
    assert world.state.modules_loose() == ()
    assert world.stands("live-count")


def test_nor_by_an_answer(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.airbags_ready()
    world.done("step-done", step="cabin.knee-out")
    assert "tells of Knee airbag module" in world.refused("car-answered", feature="knee-bag", fitted="no").why
    world.done("part-stored", part="knee-bag", where="store")
    assert world.state.modules_loose() == ()


MOVES = {
    "step-done": {"step": "cabin.bag-out"},
    "step-undone": {"step": "cabin.bag-out", "why": "so"},
    "part-off": {"part": "driver-bag"},
    "part-back": {"part": "driver-bag"},
}
SAID = {"part-stored": {"part": "driver-bag", "where": "store"}, "still-fitted": {"module": "driver-bag", "why": "so"}}


@given(st.lists(st.sampled_from([*MOVES, *SAID]), max_size=10))
def test_over_random_histories_a_module_counts_as_fitted_only_in_the_car_and_named_since_it_moved(
    history: list[str],
) -> None:
    state = State(route(), facts())
    fitted = False
    for n, kind in enumerate(history, start=1):
        at = Instant("2026-05-09T08:00:00.000Z", "boot-1", float(n), "2026-05-09")
        state.apply(Entry(n, at, "Ana", kind, {**MOVES, **SAID}[kind], ""))
        if kind in MOVES:
            fitted = False
        elif kind == "still-fitted":
            fitted = not state.is_out("driver-bag")
        account = state.module_account("driver-bag") or ""
        assert account.startswith("still fitted") == fitted, history[:n]
