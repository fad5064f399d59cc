"""What the keys of the walk card do. Where they lead is imported here, so that the card is painted before it."""

from __future__ import annotations

from collections.abc import Callable

from teardown.car.steps import milestones_ahead
from teardown.screens.desk import Desk
from teardown.screens.places.baglist import BagList
from teardown.screens.places.bench import Bench
from teardown.screens.places.choose import ask_refitted, ask_why
from teardown.screens.places.papers import ask_sheet
from teardown.screens.places.steplist import StepList
from teardown.screens.places.tally import PAGE_KEYS, Tally
from teardown.screens.places.weigh.car import CarPad
from teardown.screens.places.weigh.parts import WeighPad
from teardown.screens.places.weigh.things import ask_fitted, ask_found
from teardown.screens.places.write import note_on


def done(desk: Desk) -> None:
    view = desk.step
    if view.laid.step.refits and view.state in ("ready", "skipped", "deferred"):
        desk.go(ask_refitted(view, finish))
    else:
        finish(desk, refitted=False)


def car_weighed(desk: Desk) -> None:
    desk.go(CarPad())


def bags(desk: Desk) -> None:
    desk.go(BagList())


def tally(desk: Desk) -> None:
    desk.go(Tally(PAGE_KEYS[desk.key]))


def following(desk: Desk) -> None:
    _turn(desk, 1)


def before(desk: Desk) -> None:
    _turn(desk, -1)


def _turn(desk: Desk, by: int) -> None:
    desk.hush()
    last = len(desk.standing.state.route.steps) - 1
    if not 0 <= desk.position + by <= last:
        desk.say("this is the last step" if by > 0 else "this is the first step")
    desk.position = min(max(desk.position + by, 0), last)


def first_ready(desk: Desk) -> None:
    desk.hush()
    desk.position = desk.next_open(-1)


def list_steps(desk: Desk) -> None:
    desk.go(StepList(desk.position))


def bench(desk: Desk) -> None:
    desk.go(Bench())


def papers(desk: Desk) -> None:
    desk.go(ask_sheet())


def skip(desk: Desk) -> None:
    desk.go(ask_why("step-skipped", desk.step))


def put_off(desk: Desk) -> None:
    ahead = milestones_ahead(desk.standing.state, desk.step.laid)
    desk.go(ask_why("step-deferred", desk.step, ahead))


def note(desk: Desk) -> None:
    desk.go(note_on(desk.step))


def finish(desk: Desk, refitted: bool) -> None:
    """Write that the step in front is done; weigh what came off, or go on."""
    view = desk.step
    entry = desk.enter("step-done", step=view.ref, refitted=refitted)
    if entry is None:
        return
    said = f"written: {view.laid.step.title} is done (entry {entry.n})"
    if any(desk.standing.state.weight_of(part.id) is None for part in view.laid.step.parts):
        weigh_parts(desk)
    else:
        desk.position = desk.next_open(desk.position)
    desk.say(said)


def weigh_parts(desk: Desk) -> None:
    """The weigh pad for what this step takes off; without such parts, for something nobody foresaw."""
    state = desk.standing.state
    parts = [part.id for part in desk.step.laid.step.parts if state.route.parts[part.id].fitted]
    if parts:
        desk.go(WeighPad(parts))
    else:
        ask_found(desk)


WALK: dict[str, Callable[[Desk], None]] = {
    "done": done,
    "weigh": weigh_parts,
    "found": ask_found,
    "fitted": ask_fitted,
    "car_weighed": car_weighed,
    "bags": bags,
    "tally": tally,
    "following": following,
    "before": before,
    "first_ready": first_ready,
    "list_steps": list_steps,
    "bench": bench,
    "papers": papers,
    "skip": skip,
    "put_off": put_off,
    "note": note,
}
