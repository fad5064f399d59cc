"""Every gate the route meets, and how it stands."""

from __future__ import annotations

from textual.content import Content

from teardown.car.answers import question_of_gate
from teardown.car.gates import GateView
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.lamps import LAMPS
from teardown.screens.paint import BOLD, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.answers.list import go_to_question
from teardown.screens.places.lines import ONE_DOWN, ONE_UP, Cursor, told_at_cursor


class GateList:
    """Every gate the route meets; those with a lamp come first."""

    name = "the gates"
    types = False
    commands = (
        Command(("enter", "space"), "enter", "open", "go to this gate", "go_there", KeyKind.TURNS),
        ONE_DOWN,
        ONE_UP,
        everywhere.BACK,
        everywhere.TO_GATES._replace(label="", help="to the gate that shuts the step in front"),
        everywhere.CAR._replace(help="what the car has: the question this gate hangs on, or all of them"),
        everywhere.POWER,
        everywhere.UNDO,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self, desk: Desk, at: str | None = None) -> None:
        self.gates = listed(desk)
        self.cursor = Cursor(lambda desk: len(self.gates), self.gates.index(at) if at in self.gates else 0)

    def paint(self, desk: Desk, window: Window) -> Picture:
        lines = tuple(
            _gate_line(desk.standing.gates[gate], n == self.cursor.at, window.columns)
            for n, gate in enumerate(self.gates)
        )
        return Picture(head=(words("GATES  + stands   # shut", BOLD),), body=lines, focus=self.cursor.at)

    def do_car(self, desk: Desk) -> None:
        state = desk.standing.state
        go_to_question(desk, question_of_gate(state, state.route.gate(self.gates[self.cursor.at])))

    def do_go_there(self, desk: Desk) -> None:
        desk.go_to_gate(self.gates[self.cursor.at])


def listed(desk: Desk) -> tuple[str, ...]:
    """The gates this route meets, in the order of the list."""
    used = desk.standing.state.route.gates_in_use()
    lit = tuple(gate for gate in LAMPS if gate in used)
    return lit + tuple(gate for gate in used if gate not in lit)


def _gate_line(view: GateView, here: bool, columns: int) -> Content:
    return told_at_cursor(f" {'+' if view.stands else '#'} {view.gate.title}: {view.why}", here, columns)
