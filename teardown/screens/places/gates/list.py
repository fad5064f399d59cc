"""Every gate the route meets, and how it stands."""

from __future__ import annotations

from textual.content import Content

from teardown.car.gates import GateView
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import Weight
from teardown.screens.lamps import LAMPS
from teardown.screens.paint import BOLD, LOUD, Picture, Window, clipped, words
from teardown.screens.places import everywhere


class GateList:
    """Every gate the route meets; those with a lamp come first."""

    name = "the gates"
    types = False
    commands = (
        Command(("enter", "space"), "enter", "open", "go to this gate", "go_there", Weight.TURNS),
        Command(("down",), "down", "down", "one down", "down", Weight.TURNS),
        Command(("up",), "up", "up", "one up", "up", Weight.TURNS),
        everywhere.BACK,
        everywhere.TO_GATES._replace(label="", help="to the gate that shuts the step in front"),
        everywhere.POWER,
        everywhere.UNDO,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self, desk: Desk, at: str | None = None) -> None:
        self.gates = listed(desk)
        self.cursor = self.gates.index(at) if at in self.gates else 0

    def paint(self, desk: Desk, window: Window) -> Picture:
        lines = tuple(
            clipped(_gate_line(desk.standing.gates[gate], n == self.cursor, window.columns), window.columns)
            for n, gate in enumerate(self.gates)
        )
        return Picture(head=(words("GATES  + stands   # shut", BOLD),), body=lines, focus=self.cursor)

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_go_there(self, desk: Desk) -> None:
        desk.go_to_gate(self.gates[self.cursor])

    def do_down(self, desk: Desk) -> None:
        self.cursor = min(self.cursor + 1, len(self.gates) - 1)

    def do_up(self, desk: Desk) -> None:
        self.cursor = max(self.cursor - 1, 0)


def listed(desk: Desk) -> tuple[str, ...]:
    """The gates this route meets, in the order of the list."""
    used = desk.standing.state.route.gates_in_use()
    lit = tuple(gate for gate in LAMPS if gate in used)
    return lit + tuple(gate for gate in used if gate not in lit)


def _gate_line(view: GateView, here: bool, columns: int) -> Content:
    text = f"{'=>' if here else '  '} {'+' if view.stands else '#'} {view.gate.title}: {view.why}"
    return words(text.ljust(columns) if here else text, LOUD if here else "")
