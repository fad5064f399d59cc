"""What the keys do that mean the same everywhere."""

from __future__ import annotations

from collections.abc import Callable

from teardown.car.answers import question_of_gate, question_of_step
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField, TextField
from teardown.screens.places.answers.list import go_to_question
from teardown.screens.places.card import Card
from teardown.screens.places.choose import POWER_ASKED, ask_happened, ask_people, ask_power, ask_worker
from teardown.screens.places.form import Form
from teardown.screens.places.gates.list import GateList, listed
from teardown.screens.places.gates.parts import gate_to_open, to_next_gate
from teardown.screens.places.help import Help
from teardown.screens.places.lines import Cursor
from teardown.screens.places.weigh.parts import WeighPad
from teardown.screens.places.write import TextPad


def power(desk: Desk) -> None:
    """Written at this very key: what it shuts must not wait for a second one. How it came back is asked afterwards."""
    entry = desk.enter("power-restored")
    if entry is None:
        return
    if desk.left is not None:
        desk.go(desk.left)  # with all that was typed: where letters are typed it is left for this very key
        desk.left = None
    if desk.place.name != POWER_ASKED:
        desk.go(ask_power(entry.n))
    desk.say("written: power came back. Battery gates are shut; the airbag wait starts again from nothing")


def undo(desk: Desk) -> None:
    """Undo the newest entry that can be undone, whatever place this is. Where that is not what was written last, the
    same key again does it: nobody takes back unawares what was done before."""
    n, asked = desk.standing.state.last_undoable(), desk.asked_to_undo
    desk.asked_to_undo = None
    if n is None or not desk.car.can_write:
        desk.say("nothing here can be undone" if desk.car.can_write else "READING ONLY: nothing is undone here")
        return
    what, position = desk.car.said_of(n), _step_said_of(desk, n)
    if asked != n and (why := desk.car.why_not_at_once(n)):
        desk.asked_to_undo = n
        desk.say(f"NOT undone: {why}. [u] again takes back {what}")
    elif desk.enter("undo", entry=n) is not None:
        _leave_what_is_undone(desk)
        if isinstance(desk.place, Card) and position is not None:
            desk.position = position  # what is undone is to be done otherwise: not on the card that came after it
        desk.say(f"undone: {what}")


def _step_said_of(desk: Desk, n: int) -> int | None:
    """The position of the step that entry `n` ticked off, skipped or put off; None for every other entry."""
    state = desk.standing.state
    said = (at for at, laid in enumerate(state.route.steps) if (of := state.steps.get(laid.ref)) and of.last_entry == n)
    return next(said, None)


def _leave_what_is_undone(desk: Desk) -> None:
    """Parts of a step that is not done after all are not to be weighed."""
    if isinstance(desk.place, WeighPad) and desk.step.state != "done" and desk.place.weighs(desk.step):
        desk.back()


def gate(desk: Desk) -> None:
    """The gate a refusal named, else the one that shuts the step in front; from a gate, or if none does, the list."""
    place, offered = desk.place, desk.offered_gate
    if offered is None and isinstance(place, Card | GateList):
        offered = gate_to_open(desk)
    if offered is not None:
        desk.go_to_gate(offered)
    elif isinstance(place, GateList):
        desk.say("no gate shuts the step in front: [enter] opens the one marked")
    else:
        desk.go_among_gates(GateList(desk, at=getattr(place, "gate_id", None)))


def next_gate(desk: Desk) -> None:
    gate_id = getattr(desk.place, "gate_id", None)
    if gate_id is not None:
        to_next_gate(desk, gate_id)


def gate_after(desk: Desk) -> None:
    _turn_gate(desk, 1)


def gate_before(desk: Desk) -> None:
    _turn_gate(desk, -1)


def _turn_gate(desk: Desk, by: int) -> None:
    gates = listed(desk)
    here = getattr(desk.place, "gate_id", None)
    n = gates.index(here) + by if here in gates else 0
    if 0 <= n < len(gates):
        desk.go_to_gate(gates[n])
    else:
        desk.say("this is the last gate of the list" if by > 0 else "this is the first gate of the list")


def happened(desk: Desk) -> None:
    desk.go(ask_happened())


def car(desk: Desk) -> None:
    """The question about the car that the step or the gate in front hangs on; else the list of all of them."""
    state, gate_id = desk.standing.state, getattr(desk.place, "gate_id", None)
    if gate_id is not None:
        go_to_question(desk, question_of_gate(state, state.route.gate(gate_id)))
    else:
        go_to_question(desk, question_of_step(state, desk.step))


def people(desk: Desk) -> None:
    desk.go(ask_people())


def worker(desk: Desk) -> None:
    desk.go(ask_worker(desk))


def back(desk: Desk) -> None:
    left = desk.place
    desk.hush()
    desk.back()
    if isinstance(left, TextPad | Form) and left.is_begun:
        desk.left = left
        desk.say("left: nothing of it is written. If power came back, [p] now, and it is here again")


def up(desk: Desk) -> None:
    desk.scrolled -= _lines_to_turn(desk)


def down(desk: Desk) -> None:
    desk.scrolled += _lines_to_turn(desk)


def _lines_to_turn(desk: Desk) -> int:
    """A page keeps the last line in sight, besides the marks for what is not."""
    return max(1, desk.rows_shown - 3) if desk.key.startswith("page") else 1


def one_down(desk: Desk) -> None:
    _move_cursor(desk, 1)


def one_up(desk: Desk) -> None:
    _move_cursor(desk, -1)


def _move_cursor(desk: Desk, lines: int) -> None:
    cursor = getattr(desk.place, "cursor", None)
    if isinstance(cursor, Cursor):
        cursor.move(desk, lines)


def help_(desk: Desk) -> None:
    desk.go(Help(desk.place))


def quit_(desk: Desk) -> None:
    desk.leaving = True


def rub_out(desk: Desk) -> None:
    """Rub out what is typed; with nothing typed, go back."""
    field = getattr(desk.place, "field", None)
    if not isinstance(field, NumberField | TextField) or not field.rub_out():
        desk.back()


def unit(name: str) -> Callable[[Desk], None]:
    """The unit the scale shows."""

    def choose(desk: Desk) -> None:
        field = getattr(desk.place, "field", None)
        if isinstance(field, NumberField):
            field.unit = name

    return choose


COMMON: dict[str, Callable[[Desk], None]] = {
    "power": power,
    "undo": undo,
    "gate": gate,
    "next_gate": next_gate,
    "gate_after": gate_after,
    "gate_before": gate_before,
    "happened": happened,
    "car": car,
    "people": people,
    "worker": worker,
    "back": back,
    "up": up,
    "down": down,
    "one_up": one_up,
    "one_down": one_down,
    "rub_out": rub_out,
    "kg": unit("kg"),
    "lb": unit("lb"),
    "help": help_,
    "quit": quit_,
}
