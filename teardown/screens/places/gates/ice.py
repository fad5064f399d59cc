"""The kilos of ice about to be laid, and what they do to the air here."""

from __future__ import annotations

from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.paint import Page, Picture, Window
from teardown.screens.places import everywhere
from teardown.screens.places.gates.parts import GATE_KEYS, gate_head, why_and_wear


class IcePad:
    """The kilos of ice about to be laid, and what they do to the air here."""

    name = "dry ice in this room"
    types = True
    commands = (
        Command(("enter",), "enter", "COUNT", "count with these kilos", "write"),
        Command(("m",), "m", "minutes", "these are the minutes in which it goes off", "minutes"),
        everywhere.RUB_OUT,
        *GATE_KEYS,
        everywhere.POWER,
        everywhere.UNDO,
        everywhere.UP,
        everywhere.DOWN,
        everywhere.HELP,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.field = NumberField()
        self.over = "60"

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        page = Page()
        page.add(f"Counted over {self.over} min.")
        for line in view.working:
            page.add(line)
        page.add("A calculation is no meter; an oxygen meter is no carbon dioxide alarm.")
        if not window.small:
            why_and_wear(page, desk, view)
        unit = desk.car.facts.mass_unit
        return Picture(gate_head(desk, view, window), self.field.shown(unit), page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_minutes(self, desk: Desk) -> None:
        if self.field.text:
            self.over = self.field.text
            self.field.clear()
        else:
            desk.say("type the minutes first")

    def do_write(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type the kilos you are about to lay, then Enter")
            return
        ice = self.field.reading(desk.car.facts.mass_unit)
        entry = desk.enter("gate-figure", gate=self.gate_id, ice=ice, over=f"{self.over.rstrip('.')}min")
        if entry is not None:
            self.field.clear()
            desk.say(f"written: {ice} (entry {entry.n})")
