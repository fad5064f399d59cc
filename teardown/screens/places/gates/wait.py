"""Time that must really pass, counted down in large digits."""

from __future__ import annotations

from teardown.car.gatebook import wait_needed_min
from teardown.car.gates import GateView
from teardown.packs.model import WaitGate
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import LOUD, Page, Picture, Window, minutes_seconds, words
from teardown.screens.places import everywhere
from teardown.screens.places.enter import ask
from teardown.screens.places.gates.parts import GATE_KEYS, gate_head, go_on, why_and_wear


class WaitPlace:
    """Time that must really pass, counted down in large digits."""

    name = "a wait"
    types = False
    commands = (
        Command(
            ("enter", "space"), "enter", "it is over", "write that the whole wait has run", "over", brief="[enter] over"
        ),
        Command(("m",), "m", "manual", "the wait the service manual asks for, and its page", "manual"),
        *GATE_KEYS,
        *everywhere.IN_A_PLACE,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.left_s: float | None = None

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        page = Page()
        page.add(self._asks(desk, view))
        why_and_wear(page, desk, view, window)
        over = words("WAIT OVER: the whole wait has run.".ljust(window.columns), LOUD)
        digits = minutes_seconds(view.wait_left_s or 0)
        return Picture(gate_head(desk, view, window), digits, page.done(), (over,) if view.stands else ())

    def _asks(self, desk: Desk, view: GateView) -> str:
        assert isinstance(view.gate, WaitGate)
        record = desk.standing.state.gates[self.gate_id]
        needed = wait_needed_min(view.gate, record)
        if record.manual_min is None:
            return f"Waits {needed:g} min: the service manual's figure is not entered ([m]). Nobody in or at the car."
        manual = f"manual: {record.manual_min:g}, never under {view.gate.floor_min:g}"
        return f"Waits {needed:g} min ({manual}). Nobody in or at the car."

    def do_over(self, desk: Desk) -> None:
        if desk.enter("wait-over", gate=self.gate_id) is not None:
            desk.say("written: the whole wait has run")
            go_on(desk, self.gate_id)

    def do_manual(self, desk: Desk) -> None:
        ask(desk, "manual-wait", gate=self.gate_id)
