"""What is put off: by hand until somebody takes it up, or until a milestone brings it back by itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.log import Entry
from teardown.car.steps import StepView, milestones_ahead, next_open, view_step
from tests.world import FACTS, World


@pytest.fixture
def world(tmp_path: Path) -> World:
    """Looked for high voltage; the rest is to come. The milestone `cage-in` is the step `finish.cage`."""
    world = World(tmp_path / "car")
    world.done("step-done", step="safe.look")
    return world


def view(world: World, ref: str) -> StepView:
    return view_step(world.car.now(), world.car.folded.route.by_ref[ref])


def following(world: World, ref: str) -> str:
    """The step that is offered after `ref`."""
    refs = [step.ref for step in world.car.folded.route.steps]
    return refs[next_open(world.car.now(), refs.index(ref))]


def test_it_waits_and_says_for_what_and_is_open_again_when_that_has_happened(world: World) -> None:
    world.done("step-deferred", step="safe.mats", why="glued down", until="cage-in")
    waiting = view(world, "safe.mats")
    assert waiting.state == "deferred"
    assert waiting.why == "glued down; comes back by itself: waits for the cage is in"
    assert waiting.until is not None
    assert waiting.until.id == "cage-in"
    assert following(world, "safe.isolate") != "safe.mats"
    world.done("step-done", step="finish.cage")
    assert view(world, "safe.mats") == StepView(world.car.folded.route.by_ref["safe.mats"], "ready")
    assert following(world, "safe.isolate") == "safe.mats"


def test_it_comes_back_behind_its_gates(world: World) -> None:
    world.done("step-deferred", step="safe.isolate", why="no spanner", until="cage-in")
    world.done("step-done", step="finish.cage")
    back = view(world, "safe.isolate")
    assert (back.state, back.shut_by[0].gate.id) == ("shut", "battery")
    assert world.refused("step-done", step="safe.isolate").gate == "battery"


def test_when_the_milestone_is_taken_back_it_waits_again(world: World) -> None:
    world.done("step-deferred", step="safe.mats", why="glued down", until="cage-in")
    cage = world.done("step-done", step="finish.cage")
    world.done("undo", entry=cage.n)
    assert view(world, "safe.mats").state == "deferred"


def test_it_may_be_done_before_its_time(world: World) -> None:
    world.done("step-deferred", step="safe.mats", why="glued down", until="cage-in")
    world.done("step-done", step="safe.mats")
    assert view(world, "safe.mats").state == "done"


def test_what_comes_after_it_goes_on_meanwhile_and_waits_once_it_is_back(world: World) -> None:
    world.battery_off()
    world.done("step-done", step="safe.isolate")
    world.done("step-deferred", step="cabin.card-off", why="a tool is missing", until="cage-in")
    assert view(world, "cabin.pads-off").state == "shut"
    world.wait(30)  # hands off the car until then
    world.done("step-done", step="finish.cage")
    assert view(world, "cabin.pads-off").why == "comes after: Door cards off"


@pytest.mark.parametrize(("step", "until", "why"), [
    ("safe.mats", "cage-out", "no milestone is called cage-out (did you mean cage-in?): cage-in"),
    ("finish.cage", "cage-in", "the cage is in: that waits for this very step. Put it off without until=, or do it"),
])  # fmt: skip
def test_a_milestone_that_cannot_bring_it_back_is_refused(world: World, step: str, until: str, why: str) -> None:
    assert world.refused("step-deferred", step=step, why="not now", until=until).why == why
    assert view(world, step).state == "ready"


def test_a_milestone_that_is_past_or_was_skipped_is_refused_and_not_offered(world: World) -> None:
    mats = world.car.folded.route.by_ref["safe.mats"]
    assert [milestone.id for milestone in milestones_ahead(world.state, mats)] == ["cage-in"]
    cage = world.done("step-done", step="finish.cage")
    refused = world.refused("step-deferred", step="safe.mats", why="not now", until="cage-in")
    assert refused.why == "the cage is in: that has happened already. Put it off without until=, or do it"
    assert milestones_ahead(world.state, mats) == ()
    world.done("undo", entry=cage.n)
    world.done("step-skipped", step="finish.cage", why="no cage after all")
    refused = world.refused("step-deferred", step="safe.mats", why="not now", until="cage-in")
    assert refused.why.startswith("the cage is in: that does not come: skipped: no cage after all.")


def test_what_nothing_brings_back_is_offered_when_nothing_else_is_left(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS.replace("hybrid = false", "hybrid = false\nknee-bag = false"))
    world.done("step-done", step="safe.look")
    world.done("step-deferred", step="safe.mats", why="glued down")
    world.done("step-deferred", step="cabin.seat-out", why="needs the airbag out first")
    assert following(world, "safe.look") == "safe.isolate"
    for step in world.car.folded.route.steps:
        if step.ref not in ("safe.look", "safe.mats", "cabin.seat-out"):
            world.done("step-skipped", step=step.ref, why="for this test")
    assert following(world, "finish.tabs") == "safe.mats"
    assert following(world, "safe.mats") == "safe.mats"  # the seat needs what was skipped: it is not offered


def test_what_waited_for_a_milestone_that_will_not_come_is_offered_too_and_says_so(world: World) -> None:
    world.done("step-deferred", step="safe.mats", why="glued down", until="cage-in")
    for step in world.car.folded.route.steps:
        if step.ref not in ("safe.look", "safe.mats"):
            world.done("step-skipped", step=step.ref, why="we sold it")
    assert (
        view(world, "safe.mats").why
        == "glued down; waited for the cage is in, which does not come: skipped: we sold it"
    )
    assert following(world, "safe.look") == "safe.mats"


def test_what_still_waits_for_a_milestone_to_come_is_not_offered_before(world: World) -> None:
    world.done("step-deferred", step="safe.mats", why="glued down", until="cage-in")
    for step in world.car.folded.route.steps:
        if step.ref not in ("safe.look", "safe.mats", "finish.cage"):
            world.done("step-skipped", step=step.ref, why="for this test")
    assert following(world, "safe.mats") == "finish.cage"


def test_an_entry_without_a_milestone_is_read_as_ever(world: World) -> None:
    at = world.clock.now()
    fields = {"step": "safe.mats", "why": "glued down"}
    world.car.folded.apply(Entry(world.car.folded.entries + 1, at, "Ana", "step-deferred", fields, ""))
    assert (view(world, "safe.mats").why, view(world, "safe.mats").until) == ("glued down", None)
