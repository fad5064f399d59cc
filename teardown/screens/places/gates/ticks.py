"""Statements confirmed one by one: first the digit shown, then Enter."""

from __future__ import annotations

from textual.content import Content

from teardown.car.gates import GateView
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.gates.parts import NEXT_GATE, gate_head, go_on, to_next_gate, why_and_wear


class TicksPlace:
    """Statements confirmed one by one: first the digit shown, then Enter. The digit changes from line to line."""

    types = True

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.armed = 0

    @property
    def name(self) -> str:
        return "a gate of statements"

    commands = (
        Command(
            ("enter",), "digit, enter", "CONFIRM", "confirm this line: first the digit shown, then Enter", "confirm"
        ),
        NEXT_GATE,
        *everywhere.IN_A_PLACE,
    )

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        following = next((tick for tick in view.ticks if not tick.done), None)
        page = Page()
        for tick in view.ticks:
            here = following is not None and tick.n == following.n
            if window.small and not here:
                continue
            page.add(f"[{'x' if tick.done else ' '}] {tick.n}. {tick.says}", BOLD if here else "")
        if not window.small:
            why_and_wear(page, desk, view)
        focus = None if following is None or window.small else following.n - 1
        return Picture(gate_head(desk, view, window), "", page.done(), (self._prompt(desk, view),), focus)

    def _prompt(self, desk: Desk, view: GateView) -> Content:
        following = next((tick for tick in view.ticks if not tick.done), None)
        if following is None:
            return words("You have confirmed every line. [n] next", LOUD)
        if view.first is not None:
            return words("Open that gate first: [n]", LOUD)
        if self.armed == following.n and desk.key == self._code(desk, following.n):
            return words(f"Line {following.n} of {len(view.ticks)}: now ENTER. You have confirmed it.", LOUD)
        return words(
            f"Line {following.n} of {len(view.ticks)}: press {self._code(desk, following.n)}, then Enter", LOUD
        )

    def _code(self, desk: Desk, line: int) -> str:
        """A digit that differs from the one before, from gate to gate too, so that a key that sticks cannot go on."""
        return str((desk.standing.state.entries + line * 3) % 9 + 1)

    def typed(self, desk: Desk, character: str) -> bool:
        """The digit arms the line; whatever is struck before Enter disarms it."""
        view = desk.standing.gates[self.gate_id]
        following = next((tick for tick in view.ticks if not tick.done), None)
        if not character.isdigit():
            return False
        desk.hush()
        if following is None or view.first is not None:
            desk.say("nothing to confirm here now")
        elif character == self._code(desk, following.n):
            self.armed = following.n
        else:
            desk.say(f"that was {character}: press {self._code(desk, following.n)} for this line")
        return True

    def do_confirm(self, desk: Desk) -> None:
        view = desk.standing.gates[self.gate_id]
        following = next((tick for tick in view.ticks if not tick.done), None)
        if following is None:
            go_on(desk, self.gate_id)
            return
        if self.armed != following.n or desk.key_before != self._code(desk, following.n):
            desk.say(f"first press {self._code(desk, following.n)}, then Enter")
            return
        self.armed = 0
        entry = desk.enter("gate-tick", gate=self.gate_id, tick=following.n)
        if entry is None:
            return
        desk.say(f"written: you have confirmed line {following.n} (entry {entry.n})")
        if desk.standing.gates[self.gate_id].stands:
            go_on(desk, self.gate_id)

    def do_next_gate(self, desk: Desk) -> None:
        to_next_gate(desk, self.gate_id)
