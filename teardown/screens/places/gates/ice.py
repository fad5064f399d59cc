"""The kilos of ice about to be laid, and what they do to the air here."""

from __future__ import annotations

from teardown import units
from teardown.car.gas import gas_gates, ice_counted
from teardown.car.room import RELEASE_MIN, SHORTEST_RELEASE_MIN
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import Page, Picture, Window
from teardown.screens.places.gates.gas import gas_picture
from teardown.screens.places.gates.parts import GATE_PAD_KEYS, gate_head, why_and_wear


class IcePad:
    """The kilos of ice about to be laid, and what they do to the air here."""

    name = "dry ice in this room"
    types = True
    commands = (
        Command(("enter",), "enter", "COUNT", "count with these kilos", "write"),
        Command(("m",), "m", "minutes", "these are the minutes in which it goes off", "minutes", KeyKind.OPENS),
        Command(("s",), "s", "same ice", "it is the ice entered before, counted again", "same", KeyKind.OPENS),
        *GATE_PAD_KEYS,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.field = NumberField()
        self.over = f"{RELEASE_MIN:g}"
        self.same = False

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        page = Page()
        page.add(f"Counted over {self.over} min.")
        page.add(self._what_lies(desk))
        for line in self._if_laid(desk) if self.field.text else view.working:
            page.add(line)
        page.add("A calculation is no meter; an oxygen meter is no carbon dioxide alarm.")
        for gate in gas_gates(desk.standing.state):
            gas_picture(page, desk.standing.state, gate, window)
        why_and_wear(page, desk, view, window)
        unit = desk.car.facts.mass_unit
        return Picture(gate_head(desk, view, window), self.field.large(unit), page.done())

    def _what_lies(self, desk: Desk) -> str:
        state = desk.standing.state
        lying_kg = state.gates.lying_kg(self.gate_id, state.last) if state.last else 0.0
        if self.same:
            return "The ice entered before, counted again: none comes on top."
        return f"{lying_kg:.1f} kg laid before still count. Is it the same ice? [s]" if lying_kg else ""

    def _if_laid(self, desk: Desk) -> tuple[str, ...]:
        """What the kilos that are typed would come to, before anything is written: also while the gate is not open to
        be asked, so that the order for the ice can be planned."""
        kg, over_min = units.mass_kg(self.field.reading(desk.car.facts.mass_unit)), float(self.over)
        if not (kg > 0 and SHORTEST_RELEASE_MIN <= over_min <= RELEASE_MIN):
            return ()
        _, verdict = ice_counted(desk.standing.state, self.gate_id, kg, over_min, self.same)
        return (f"If laid, {'within' if verdict.stands else 'OVER'} the limits:", *verdict.working)

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_minutes(self, desk: Desk) -> None:
        if self.field.text:
            self.over = self.field.text
            self.field.clear()
        else:
            desk.say("type the minutes first")

    def do_same(self, desk: Desk) -> None:
        desk.scrolled = 0
        self.same = not self.same

    def do_write(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type the kilos you are about to lay, then Enter")
            return
        ice = self.field.reading(desk.car.facts.mass_unit)
        words = {"gate": self.gate_id, "ice": ice, "over": f"{self.over.rstrip('.')}min"}
        entry = desk.enter("gate-figure", **words, **({"same": True} if self.same else {}))
        if entry is None:
            self.field.let_stand()
            return
        self.field.clear()
        self.same = False
        desk.say(f"written: {ice} (entry {entry.n})")
