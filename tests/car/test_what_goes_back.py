"""What goes straight back is asked for before a step is done; what is out for now, before the job ends.

Common practice: a bolt that is needed again goes back in its own hole at once. A part that is out only for now is
posted as out, and must be posted as back in or as removed.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.entries import StepDone
from teardown.car.log import Entry, read_log
from teardown.car.rules import Refusal, rule
from teardown.car.state import State
from teardown.car.steps import look_around
from teardown.packs.model import Fasteners, Pack, Step
from teardown.packs.reader import Library
from teardown.packs.route import CarShape, lay_route
from tests.world import World, facts
from tests.world.clock import HandClock


@pytest.fixture
def world(tmp_path: Path) -> World:
    world = World(tmp_path / "car")
    world.airbags_ready()
    world.done("step-done", step="cabin.card-off")
    return world


def test_a_step_whose_bolts_go_straight_back_is_done_only_when_they_are_said_to_be_back(world: World) -> None:
    for words in ({}, {"refitted": "no"}):
        assert world.refused("step-done", step="cabin.window-off", **words).why == (
            "say first that this is in its place: 2 to 3 bolts, back in their holes: refitted=yes"
        )
    assert world.done("step-done", step="cabin.window-off", refitted="yes").fields["refitted"] is True


def test_a_step_that_is_shut_says_so_before_it_asks_for_bolts(tmp_path: Path) -> None:
    refused = World(tmp_path / "car").refused("step-done", step="cabin.window-off")
    assert refused.why == "needs: Door cards off"


FASTENERS = st.builds(
    Fasteners,
    count=st.sampled_from([(1, 1), (0, 4), (2, 6)]),
    what=st.sampled_from(["bolts", "clips", "plugs"]),
    fate=st.sampled_from(["bag", "refit", "discard", "stays"]),
)


@given(fasteners=st.lists(FASTENERS, max_size=4), refitted=st.booleans())
def test_every_step_asks_for_all_that_goes_straight_back_and_no_step_for_anything_else(
    fasteners: list[Fasteners], refitted: bool
) -> None:
    step = Step(id="one", title="One", do="Do it.", minutes=(1, 2, 3), fasteners=tuple(fasteners))
    library = Library(packs=(Pack(id="only", title="Only", why="A test.", steps=(step,)),))
    standing = look_around(State(lay_route(library, CarShape()), facts()), HandClock().now())
    ruling = rule(standing, StepDone(step="only.one", refitted=refitted))
    back = [one for one in fasteners if one.fate == "refit"]
    assert isinstance(ruling, Refusal) == (bool(back) and not refitted)
    if isinstance(ruling, Refusal):
        assert all(one.what in ruling.why for one in back)


# -- what is out for now

STILL_OUT = (
    "still out: Window winder. Say that each is back in (part-back), "
    "or gone for good (part-fate: sell, scrap or controlled)"
)


@pytest.fixture
def winder_out(world: World) -> World:
    world.done("step-done", step="cabin.window-off", refitted="yes")
    world.done("step-done", step="finish.cage")
    return world


def test_the_job_does_not_end_while_a_part_is_out_that_was_to_go_back(winder_out: World) -> None:
    refused = winder_out.refused("step-done", step="finish.tabs")
    assert (refused.why, refused.gate) == (f"shut: All is back: {STILL_OUT}", "all-back")


def test_a_part_that_is_back_in_lets_the_job_end_until_it_comes_off_again(winder_out: World) -> None:
    winder_out.done("part-back", part="window-winder")
    assert winder_out.why("all-back") == "nothing is out for now"
    off = winder_out.done("part-off", part="window-winder")
    assert winder_out.why("all-back") == STILL_OUT
    winder_out.done("undo", entry=off.n)
    winder_out.done("step-done", step="finish.tabs")


@pytest.mark.parametrize(("fate", "removed"), [
    ("keep", False), ("refit", False), ("sell", True), ("scrap", True), ("controlled", True),
])  # fmt: skip
def test_a_part_is_posted_as_removed_by_a_fate_that_does_not_lead_back(
    winder_out: World, fate: str, removed: bool
) -> None:
    winder_out.done("part-fate", part="window-winder", fate=fate)
    assert winder_out.stands("all-back") == removed
    assert isinstance(winder_out.enter("step-done", step="finish.tabs"), Entry) == removed


def test_the_newest_word_about_a_part_counts_and_an_undone_one_does_not(winder_out: World) -> None:
    winder_out.done("part-fate", part="window-winder", fate="sell")
    kept = winder_out.done("part-fate", part="window-winder", fate="keep")
    assert not winder_out.stands("all-back")
    winder_out.done("undo", entry=kept.n)
    assert winder_out.stands("all-back")


def test_a_step_that_is_taken_back_puts_its_part_back(winder_out: World) -> None:
    winder_out.done("step-undone", step="cabin.window-off", why="the winder is in again")
    assert winder_out.stands("all-back")


WINDER = "window-winder"
MOVES = {"step-done": "out", "part-off": "out", "step-undone": "in", "part-back": "in"}


def is_settled(folder: Path) -> bool:
    """Whether the winder is in or posted as removed, told again from the log with every undone entry left out."""
    entries = list(read_log(folder / "log.jsonl"))
    undone = {entry.fields["entry"] for entry in entries if entry.kind == "undo"}
    told = [entry for entry in entries if entry.n not in undone and _is_about_the_winder(entry)]
    moves = [MOVES[entry.kind] for entry in told if entry.kind in MOVES]
    fates = [entry.fields["fate"] for entry in told if entry.kind == "part-fate"]
    return moves[-1:] != ["out"] or fates[-1:] in (["sell"], ["scrap"], ["controlled"])


def _is_about_the_winder(entry: Entry) -> bool:
    return entry.fields.get("part") == WINDER or entry.fields.get("step") == "cabin.window-off"


ACTS = st.sampled_from([
    ("step-done", {"step": "cabin.window-off", "refitted": "yes"}),
    ("step-undone", {"step": "cabin.window-off", "why": "again"}),
    ("part-off", {"part": WINDER}),
    ("part-back", {"part": WINDER}),
    ("part-back", {"part": WINDER}),
    ("part-fate", {"part": WINDER, "fate": "sell"}),
    ("part-fate", {"part": WINDER, "fate": "controlled"}),
    ("part-fate", {"part": WINDER, "fate": "refit"}),
    ("part-fate", {"part": WINDER, "fate": "keep"}),
    ("undo", {}),
    ("step-undone", {"step": "finish.tabs", "why": "again"}),
    ("step-done", {"step": "finish.tabs"}),
    ("step-done", {"step": "finish.tabs"}),
])  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(acts=st.lists(st.tuples(ACTS, st.integers(0, 4)), min_size=4, max_size=14))
def test_no_history_ends_the_job_while_a_part_out_for_now_is_neither_back_nor_posted_as_removed(
    acts: list[tuple[tuple[str, dict[str, Any]], int]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = World(Path(folder) / "car")
        world.airbags_ready()
        for step in ("cabin.card-off", "finish.cage"):
            world.done("step-done", step=step)
        world.done("step-done", step="cabin.window-off", refitted="yes")
        for (kind, words), back in acts:
            settled = is_settled(world.folder)
            words = {"entry": world.state.entries - back} if kind == "undo" else words
            result = world.enter(kind, **words)
            if words.get("step") == "finish.tabs" and kind == "step-done" and isinstance(result, Entry):
                assert settled
        world.car.close()
