"""Work for someone licensed: who did it, and their paper."""

from __future__ import annotations

from teardown.car.briefing import to_open
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import Page, Picture, Window
from teardown.screens.places import everywhere
from teardown.screens.places.enter import ask
from teardown.screens.places.gates.parts import GATE_KEYS, gate_head, why_and_wear


class StopPlace:
    """Not for this program to open: who licensed did it, and their paper."""

    name = "work for someone licensed"
    types = False
    commands = (
        Command(("enter",), "enter", "SIGNED", "someone licensed did it: who, and their paper", "sign"),
        *GATE_KEYS,
        everywhere.CAR,
        *everywhere.IN_A_PLACE,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        page = Page()
        for told in to_open(view):
            page.labelled(*told)
        why_and_wear(page, desk, view, window)
        return Picture(gate_head(desk, view, window), "", page.done())

    def do_sign(self, desk: Desk) -> None:
        ask(desk, "gate-signed", desk.standing.gates[self.gate_id].gate.title, gate=self.gate_id)
