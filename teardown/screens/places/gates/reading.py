"""A number read from an instrument."""

from __future__ import annotations

from textual.content import Content

from teardown.car.briefing import to_open
from teardown.car.clock import waited_min
from teardown.car.gates import UNITS
from teardown.packs.model import ReadingGate
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, words
from teardown.screens.places.gates.gas import gas_picture
from teardown.screens.places.gates.parts import GATE_PAD_KEYS, gate_head, go_on, why_and_wear


class ReadingPad:
    """A number read from an instrument."""

    name = "a reading"
    types = True
    commands = (
        Command(("enter",), "enter", "WRITE", "write the reading", "write"),
        Command(("f",), "f", "full scale", "the meter is at full scale: more than it can show", "full_scale"),
        *GATE_PAD_KEYS,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.field = NumberField()
        self.full_scale = False

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        gate = view.gate
        assert isinstance(gate, ReadingGate)
        unit = UNITS[gate.quantity]
        page = Page()
        for label, text in to_open(view):
            page.labelled(
                label, "" if text in view.why else text
            )  # each line here is one less of what it must be below
        if gate.quantity == "carbon_dioxide_ppm":
            gas_picture(page, desk.standing.state, gate, window)
        why_and_wear(page, desk, view, window)
        return Picture(gate_head(desk, view, window), self.field.large(unit), page.done(), self._prompt(desk))

    def _prompt(self, desk: Desk) -> tuple[Content, ...]:
        """Read however much of the gate is below: what Enter writes, and for how long bad air is still to be read."""
        if self.full_scale:
            return (words("FULL SCALE: Enter writes it, a digit takes it back", LOUD),)
        gates = desk.standing.state.gates
        record = gates[self.gate_id]
        if record.alarm is None or record.clear_since is None or not record.alarm.hold_min:
            return ()
        low_min, needed_min = waited_min(record.clear_since, desk.car.clock.now(), gates.rate), record.alarm.hold_min
        if low_min >= needed_min:
            return (words(f"{needed_min:g} min are over: read it again", BOLD),)
        return (words(f"Low for {int(low_min)} of {needed_min:g} min: read it again after them", BOLD),)

    def typed(self, desk: Desk, character: str) -> bool:
        self.full_scale = False
        return self.field.take(character)

    def do_full_scale(self, desk: Desk) -> None:
        self.field.clear()
        self.full_scale = True

    def do_write(self, desk: Desk) -> None:
        gate = desk.standing.gates[self.gate_id].gate
        assert isinstance(gate, ReadingGate)
        if not (self.field.text or self.full_scale):
            desk.say("type what the instrument shows, then Enter")
            return
        value = "over" if self.full_scale else self.field.reading(UNITS[gate.quantity])
        entry = desk.enter("gate-reading", gate=self.gate_id, value=value)
        if entry is None:
            self.field.let_stand()
            return
        self.field.clear()
        self.full_scale = False
        view = desk.standing.gates[self.gate_id]
        desk.say(f"written: {'full scale' if value == 'over' else value} (entry {entry.n}). {view.why}")
        if view.stands:
            go_on(desk, self.gate_id)
