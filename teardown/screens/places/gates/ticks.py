"""Statements confirmed one by one: first the digit shown, then Enter."""

from __future__ import annotations

from textual.content import Content

from teardown.car.gates import GateView, Tick
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.gates.parts import GATE_KEYS, gate_head, go_on, why_and_wear


class TicksPlace:
    """Statements confirmed one by one: first the digit shown, then Enter. The digit changes from line to line."""

    name = "a gate of statements"
    types = False
    commands: tuple[Command, ...] = (
        everywhere.confirm("confirm this line: first the digit shown, then Enter"),
        everywhere.digits("the digit shown: Enter then confirms the line"),
        *GATE_KEYS,
        *everywhere.IN_A_PLACE,
    )

    def __init__(self, gate_id: str, *, may_be_ruled_out: bool = False) -> None:
        self.gate_id = gate_id
        if may_be_ruled_out:
            self.commands = (*self.commands, everywhere.CAR)

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        following = _following(view)
        page = Page()
        for tick in view.ticks:
            here = following is not None and tick.n == following.n
            if window.small and not here:
                continue
            page.add(f"[{'x' if tick.done else ' '}] {tick.n}. {tick.says}", BOLD if here else "")
        why_and_wear(page, desk, view, window)
        focus = None if following is None else 0 if window.small else following.n - 1
        return Picture(gate_head(desk, view, window), "", page.done(), (self._prompt(desk, view),), focus)

    def _prompt(self, desk: Desk, view: GateView) -> Content:
        following = _following(view)
        if following is None:
            done = "You have confirmed every line" if view.ticks else "There is nothing to confirm"
            return words(f"{done}. [n] next", LOUD)
        if not desk.car.can_write:
            return words("READING ONLY: nothing is confirmed here", LOUD)
        if view.first is not None:
            return words("Open that gate first: [n]", LOUD)
        line, digit = f"Line {following.n} of {len(view.ticks)}", desk.digit_for(following.n)
        if desk.arming.what == self._confirms(following):
            return words(f"{line}: now ENTER, you confirm it", LOUD)
        return words(f"{line}: press {digit}, then Enter", LOUD)

    def _confirms(self, tick: Tick) -> str:
        return f"{self.gate_id} {tick.n} {tick.says}"

    def do_arm(self, desk: Desk) -> None:
        view = desk.standing.gates[self.gate_id]
        following = _following(view)
        if following is None or view.first is not None:
            desk.say("nothing to confirm here now")
        elif desk.key == desk.digit_for(following.n):
            desk.arm(self._confirms(following))
        else:
            desk.say(f"that was {desk.key}: press {desk.digit_for(following.n)} for this line")

    def do_confirm(self, desk: Desk) -> None:
        following = _following(desk.standing.gates[self.gate_id])
        if following is None:
            go_on(desk, self.gate_id)
            return
        if desk.confirmed() != self._confirms(following):
            desk.say(f"first press {desk.digit_for(following.n)}, then Enter")
            return
        entry = desk.enter("gate-tick", gate=self.gate_id, tick=following.n)
        if entry is None:
            return
        desk.say(f"written: you have confirmed line {following.n} (entry {entry.n})")
        if desk.standing.gates[self.gate_id].stands:
            go_on(desk, self.gate_id)


def _following(view: GateView) -> Tick | None:
    """The statement to confirm now."""
    return next((tick for tick in view.ticks if not tick.done), None)
