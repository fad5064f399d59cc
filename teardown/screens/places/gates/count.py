"""Every live module the car may carry, and how each is accounted for."""

from __future__ import annotations

from teardown.car.answers import question_of_module
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import Picture, Window
from teardown.screens.places import everywhere
from teardown.screens.places.answers.list import go_to_question
from teardown.screens.places.choose import ask_stored
from teardown.screens.places.gates.parts import GATE_KEYS, gate_head
from teardown.screens.places.lines import ONE_DOWN, ONE_UP, Cursor, told_at_cursor
from teardown.screens.places.sure import Sure


class CountPlace:
    """Every live module the car may carry, and how each is accounted for."""

    name = "the count of live modules"
    types = False
    commands = (
        Command(
            ("enter", "space"), "enter", "account", "say where this one is", "account", KeyKind.OPENS, "[enter] say"
        ),
        everywhere.CAR._replace(label="has it?", help="whether the car has this one at all"),
        ONE_DOWN,
        ONE_UP,
        *GATE_KEYS,
        *everywhere.IN_A_LIST,
    )

    def __init__(self, desk: Desk, gate_id: str) -> None:
        self.gate_id = gate_id
        self.cursor = Cursor(lambda desk: len(desk.standing.state.route.modules))
        self.to_next_missing(desk)

    def paint(self, desk: Desk, window: Window) -> Picture:
        state, view = desk.standing.state, desk.standing.gates[self.gate_id]
        modules = state.route.modules
        lines = []
        self.cursor.move(desk, 0)  # a module that was ruled out meanwhile is gone
        for n, module in enumerate(modules):
            account = state.module_account(module.id)
            text = f" {'+' if account else '#'} {module.name}: {account or f'look: {module.where}'}"
            lines.append(told_at_cursor(text, n == self.cursor.at, window.columns))
        return Picture(gate_head(desk, view, window), "", tuple(lines), focus=self.cursor.at)

    def to_next_missing(self, desk: Desk) -> None:
        """From the cursor on and round again; where none is missing it stays."""
        state, at = desk.standing.state, self.cursor.at
        missing = [n for n, module in enumerate(state.route.modules) if state.module_account(module.id) is None]
        self.cursor.at = next((n for n in missing if n >= at), missing[0] if missing else at)

    def do_account(self, desk: Desk) -> None:
        state = desk.standing.state
        if not state.route.modules:
            desk.say("no live module is expected on this car: nothing to account for")
            return
        module = state.route.modules[self.cursor.at]
        out = [part for part in state.route.carriers.get(module.id, ()) if state.is_out(part)]
        stored, absent, fitted = "it is off and stored", "I looked: it is not there", "still fitted, plugged"

        def chosen(desk: Desk, answer: str) -> None:
            if answer == stored:
                desk.go(ask_stored(out[0], state.route.parts[out[0]].part.name, self.to_next_missing))
            elif desk.enter("not-there" if answer == absent else "still-fitted", module=module.id, why=answer):
                self.to_next_missing(desk)
                desk.say(f"written: {module.name}: {answer}")

        answers = ((stored,) if out else ()) + (absent, fitted)
        desk.go(Sure(f"{module.name} ({module.where})", answers, chosen, at_once=(stored,)))

    def do_car(self, desk: Desk) -> None:
        """Whether the car has the module under the cursor. One ruled out is gone from the list."""
        state = desk.standing.state
        key = question_of_module(state, state.route.modules[self.cursor.at]) if state.route.modules else None
        if key is None and state.route.modules:
            desk.say("every car has this one: [enter] says where it is")
        else:
            go_to_question(desk, key)
