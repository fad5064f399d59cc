"""The car on the scales: four pads in any order or a total, read once or several times, and how it stood."""

from __future__ import annotations

from pydantic import ValidationError

from teardown import units
from teardown.car.asking import question_about_car
from teardown.car.mass import mass_now
from teardown.car.tally_entries import CarWeighed
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.weigh.reading import PAD_KEYS

CORNERS = ("front left", "front right", "rear left", "rear right")
LEAST_SHOWN_KG = 0.05
AGAIN = "kept, not written yet: {count} of the readings to be averaged. Roll off and on, read again"


class CarPad:
    """The car on its four pads, in any order, and how it stood."""

    name = "the car on the scales"
    types = True
    commands = (
        *PAD_KEYS,
        Command(("t",), "t", "total", "this is the total of all four: write it", "total"),
        Command(("n",), "n", "next pad", "another pad first", "next_pad", KeyKind.TURNS),
        Command(("s",), "s", "how it stood", "fuel, driver, contents, tyres: how the car stands", "stood"),
        Command(("a",), "a", "again", "read: all four, or a total; once more, to be averaged", "again"),
        everywhere.HELP,
    )

    def __init__(self) -> None:
        self.field = NumberField()
        self.pad = 0
        self.read: dict[int, str] = {}
        self.sets: list[dict[int, str]] = []
        """The four pads, as often as they were read before."""
        self.totals: list[str] = []
        self.stood: dict[str, str] = {}
        self.asked: dict[str, str] = {}

    def paint(self, desk: Desk, window: Window) -> Picture:
        unit = self._unit(desk)
        page = Page()
        for pad, kg in sorted(self.read.items()):
            page.labelled(f"{CORNERS[pad]}:", f"{kg} {unit}")
        for what, said in self.stood.items():
            page.labelled(f"{what}:", said)
        for total in self.totals:
            page.labelled("read before:", total)
        for one in self.sets:
            page.labelled("read before:", self._set(desk, one))
        page.add("Wheels straight, brake off and chocked, cabin empty or the driver in: the same both times.")
        head = (words(f"CAR ON THE PADS  {'total' if self.totals else CORNERS[self.pad]}", BOLD),)
        return Picture(head=head, digits=self.field.large(unit), body=page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def _unit(self, desk: Desk) -> str:
        pads = desk.car.facts.scales.pads
        return self.field.unit or (pads.unit if pads else "kg")

    # -- how it stood

    def do_stood(self, desk: Desk) -> None:
        from teardown.screens.places.asks import ask_how_it_stands

        desk.go(ask_how_it_stands(desk, self.stood))

    # -- what the pads show

    def do_kg(self, desk: Desk) -> None:
        self._shows(desk, "kg")

    def do_lb(self, desk: Desk) -> None:
        self._shows(desk, "lb")

    def _shows(self, desk: Desk, unit: str) -> None:
        if self.read or self.sets or self.totals:
            desk.say("the four pads are written in one unit: rub out what is typed first")
        else:
            self.field.unit = unit

    def do_next_pad(self, desk: Desk) -> None:
        if self.field.text:
            desk.say(f"{self.field.text} stands for {CORNERS[self.pad]}: Enter takes it, or rub it out first")
        else:
            self.pad = self._following_pad()

    def _following_pad(self) -> int:
        """The next pad nobody has read, after this one."""
        following = ((self.pad + away) % len(CORNERS) for away in range(1, len(CORNERS) + 1))
        return next((pad for pad in following if pad not in self.read), self.pad)

    def do_rub_out(self, desk: Desk) -> None:
        if self.field.rub_out():
            return
        if not self.read and self.sets:
            self.read = self.sets.pop()
        if self.read:
            self.pad, self.field.text = self.read.popitem()
        elif self.totals:
            self.field.text = self.totals.pop().removesuffix(self._unit(desk))
        else:
            desk.back()

    def do_total(self, desk: Desk) -> None:
        if self._is_total(desk):
            self._write(desk, total="; ".join([*self.totals, self.field.reading(self._unit(desk))]))

    def _is_total(self, desk: Desk) -> bool:
        if self.read or self.sets or not self.field.text:
            desk.say("type the total first, before any corner")
            return False
        return True

    def do_write(self, desk: Desk) -> None:
        if self.totals:
            self.do_total(desk)
        elif self._take(desk):
            self._write(desk, corners=" / ".join(self._set(desk, one) for one in (*self.sets, self.read)))

    def do_again(self, desk: Desk) -> None:
        """The total or the last pad is typed, and the car will be rolled off and on before it is read again."""
        if self.totals or not (self.read or self.sets):
            self._total_again(desk)
            return
        if len(self.read) < len(CORNERS) - 1 or not self._take(desk):
            desk.say("type the last of the four pads, then [a]")
            return
        self.sets.append(self.read)
        self.read, self.pad = {}, 0
        desk.say(AGAIN.format(count=len(self.sets)))

    def _total_again(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type the total, or all four pads, then [a]")
            return
        self.totals.append(self.field.reading(self._unit(desk)))
        self.field.clear()
        desk.say(AGAIN.format(count=len(self.totals)))

    def _take(self, desk: Desk) -> bool:
        """Note this pad. True when all four are read."""
        if not self.field.text:
            desk.say("type what this pad shows, then Enter")
            return False
        self.read[self.pad] = self.field.text.rstrip(".")
        self.field.clear()
        self.pad = self._following_pad()
        return len(self.read) == len(CORNERS)

    def _set(self, desk: Desk, read: dict[int, str]) -> str:
        return f"{','.join(read[pad] for pad in range(len(CORNERS)))}{self._unit(desk)}"

    def _asks_about(self, desk: Desk, fields: dict[str, str]) -> bool:
        """Ask once about a weighing far from what is known; the same again is written. What is no weighing at all is
        refused by the door."""
        try:
            weighed = CarWeighed.model_validate(fields)
        except ValidationError:
            return False
        question = question_about_car(desk.standing.state, weighed)
        if not question or fields == self.asked:
            return False
        self.asked = fields
        desk.say(f"{question} The same key again writes it")
        return True

    def _weighs(self, desk: Desk, total_kg: float) -> str:
        """With what the bar says, where that is another number: it is told as the car was first weighed."""
        unit, told_kg = self._unit(desk), mass_now(desk.standing.state).now_kg
        says = f"the car weighs {units.show_mass(total_kg, unit)}"
        if told_kg is None or abs(told_kg - total_kg) < LEAST_SHOWN_KG:
            return says
        return f"{says}; as it stood when first weighed that is {units.show_mass(told_kg, unit)}"

    def _write(self, desk: Desk, **fields: str) -> None:
        fields |= self.stood
        entry = None if self._asks_about(desk, fields) else desk.enter("car-weighed", **fields)
        if entry is not None:
            desk.back()
            desk.say(f"written: {self._weighs(desk, entry.fields['total_kg'])} (entry {entry.n})")
        elif self.read:  # what was typed is not lost
            self.pad, self.field.text = self.read.popitem()
