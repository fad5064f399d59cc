"""A number read from an instrument."""

from __future__ import annotations

from teardown.car.briefing import to_open
from teardown.car.gates import UNITS
from teardown.packs.model import ReadingGate
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.paint import LOUD, Page, Picture, Window
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
        page.add("FULL SCALE: Enter writes it, a digit takes it back" if self.full_scale else "", LOUD)
        for label, text in to_open(view):
            page.labelled(
                label, "" if text in view.why else text
            )  # each line here is one less of what it must be below
        if gate.quantity == "carbon_dioxide_ppm":
            gas_picture(page, desk.standing.state, gate, window)
        why_and_wear(page, desk, view, window)
        return Picture(gate_head(desk, view, window), self.field.large(unit), page.done())

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
        desk.say(f"written: {value} (entry {entry.n}). {view.why}")
        if view.stands:
            go_on(desk, self.gate_id)
