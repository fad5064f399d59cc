"""What is out only for now: each part goes back in, or is posted as removed."""

from __future__ import annotations

from textual.content import Content

from teardown.car.asking import question_about_entry
from teardown.car.state import REMOVED, State
from teardown.packs.route import RoutePart
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import Picture, Window
from teardown.screens.places import everywhere
from teardown.screens.places.choose import Choose
from teardown.screens.places.gates.parts import GATE_KEYS, gate_head, go_on
from teardown.screens.places.lines import ONE_DOWN, ONE_UP, Cursor, told_at_cursor

BACK_IN = "it is back in"


class BackPlace:
    """Every part of this car that comes out only for now, and where it is."""

    name = "what is out for now"
    types = False
    commands = (
        Command(
            ("enter", "space"),
            "enter",
            "say where",
            "say that this one is back, or post it as removed",
            "settle",
            brief="[enter] say",
        ),
        ONE_DOWN,
        ONE_UP,
        *GATE_KEYS,
        *everywhere.IN_A_LIST,
    )

    def __init__(self, desk: Desk, gate_id: str) -> None:
        self.gate_id = gate_id
        self.cursor = Cursor(lambda desk: len(desk.standing.state.route.out_for_now))
        self._to_next_out(desk)

    def paint(self, desk: Desk, window: Window) -> Picture:
        state, view = desk.standing.state, desk.standing.gates[self.gate_id]
        lines = tuple(
            _line(state, part, n == self.cursor.at, window.columns) for n, part in enumerate(state.route.out_for_now)
        )
        return Picture(gate_head(desk, view, window), "", lines, focus=self.cursor.at if lines else None)

    def do_settle(self, desk: Desk) -> None:
        state = desk.standing.state
        out = state.route.out_for_now
        if not out or not state.is_out(out[self.cursor.at].id):
            desk.say("that one is in the car: nothing to say" if out else "nothing of this car comes out only for now")
            return
        part = out[self.cursor.at]
        posted = {f"removed for good: {fate}": fate for fate in REMOVED}

        def chosen(desk: Desk, answer: str) -> None:
            if answer == BACK_IN:
                entry = desk.enter("part-back", part=part.id)
            else:
                entry = desk.enter("part-fate", part=part.id, fate=posted[answer])
            if entry is not None:
                self._to_next_out(desk)
                told = question_about_entry(desk.standing.state, entry)
                desk.say(f"written: {part.part.name}: {answer} (entry {entry.n}){told and f'. {told}'}")
                if desk.standing.gates[self.gate_id].stands:
                    go_on(desk, self.gate_id)

        desk.go(Choose(part.part.name, (BACK_IN, *posted), chosen))

    def _to_next_out(self, desk: Desk) -> None:
        """From the cursor on and round again; where nothing is out it stays."""
        state, at = desk.standing.state, self.cursor.at
        still_out = [n for n, part in enumerate(state.route.out_for_now) if part in state.still_out()]
        self.cursor.at = next((n for n in still_out if n >= at), still_out[0] if still_out else at)


def _line(state: State, part: RoutePart, here: bool, columns: int) -> Content:
    still_out = part in state.still_out()
    if not state.is_out(part.id):
        where = "in the car"
    else:
        where = "still out" if still_out else f"removed: {state.fate_of(part.id)}"
    return told_at_cursor(f" {'#' if still_out else '+'} {part.part.name}: {where}", here, columns)
