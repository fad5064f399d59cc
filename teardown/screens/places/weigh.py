"""The weigh pad: from "part off" to "written" in ten seconds."""

from __future__ import annotations

from teardown import units
from teardown.car.log import Entry
from teardown.packs.route import RoutePart
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.guard import Weight
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.choose import ask_stored
from teardown.screens.places.write import TextPad

WIDE_MARGIN = 3.0
"""A reading this many times over or under the pack's range is asked about once."""

PAD_KEYS = (
    Command(("enter",), "enter", "WRITE", "write the reading", "write"),
    Command(("backspace",), "backspace", "rub out", "rub out; with nothing typed: back", "rub_out", Weight.TURNS),
    Command(("k",), "k", "kg", "the scale shows kilograms", "kg", Weight.TURNS),
    Command(("l",), "l", "lb", "the scale shows pounds", "lb", Weight.TURNS),
    everywhere.POWER,
)


class WeighPad:
    """Weighs the parts of a step, one after the other."""

    name = "the weigh pad"
    types = True
    commands = (
        *PAD_KEYS,
        Command(("d",), "d", "difference", "this is with the part; the next reading is without it", "difference"),
        Command(("x",), "x", "estimate", "no scale: take the pack's likely mass, marked as an estimate", "estimate"),
        Command(("n",), "n", "next part", "leave this part unweighed for now", "next_part", Weight.TURNS),
        everywhere.HELP,
    )

    def __init__(self, parts: list[str]) -> None:
        self.parts = parts
        self.field = NumberField()
        self.with_part: str | None = None
        self.unit = ""
        self.asked = ""

    def paint(self, desk: Desk, window: Window) -> Picture:
        part, unit = self._part(desk), self.unit or desk.car.facts.mass_unit
        low, likely, high = (units.show_mass(kg, unit) for kg in part.kg)
        page = Page()
        page.add(f"usually {likely} ({low} to {high})")
        if (known := desk.standing.state.weight_of(part.id)) is not None:
            page.add(f"written before: {units.show_mass(known.kg, unit)}. A new reading takes its place")
        if self.with_part is not None:
            page.add(f"with the part: {self.with_part}. Now the reading WITHOUT it", BOLD)
        head = (words(f"WEIGH  {part.part.name}", BOLD),)
        return Picture(head=head, digits=f"{self.field.text or '0'} {unit}", body=page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def _part(self, desk: Desk) -> RoutePart:
        return desk.standing.state.route.parts[self.parts[0]]

    def _reading(self, desk: Desk) -> str:
        return f"{self.field.text.rstrip('.')}{self.unit or desk.car.facts.mass_unit}"

    def do_kg(self, desk: Desk) -> None:
        self.unit = "kg"

    def do_lb(self, desk: Desk) -> None:
        self.unit = "lb"

    def do_rub_out(self, desk: Desk) -> None:
        if not self.field.rub_out():
            desk.back()

    def do_difference(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type the reading WITH the part first")
            return
        self.with_part = self._reading(desk)
        self.field.clear()

    def do_estimate(self, desk: Desk) -> None:
        kg = self._part(desk).kg[1]
        self._write(desk, reading=f"{kg:.2f}kg", how="estimate")

    def do_write(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type what the scale shows, then Enter")
            return
        reading = self._reading(desk)
        if self.with_part is None:
            if not self._asks_about(desk, reading):
                self._write(desk, reading=reading, how="direct")
        else:
            self._write(desk, reading=self.with_part, how="difference", without=reading)

    def _asks_about(self, desk: Desk, reading: str) -> bool:
        """Ask once about a reading far outside the pack's range; the same reading again is written."""
        low, _, high = self._part(desk).kg
        kg = units.mass_kg(reading)
        if kg == 0 or reading == self.asked or low / WIDE_MARGIN <= kg <= high * WIDE_MARGIN:
            return False
        self.asked = reading
        typed = float(self.field.text)
        instead = typed / 10 if kg > high else typed * 10
        desk.say(f"{typed:g} or {instead:g}? Enter again writes {reading}")
        return True

    def _write(self, desk: Desk, **fields: str) -> None:
        part = self._part(desk)
        entry = desk.enter("part-weighed", part=part.id, **fields)
        if entry is None:
            return
        said = f"written: {part.part.name} {self._weighs(desk, entry)} (entry {entry.n})"
        self.do_next_part(desk)
        if part.part.modules and desk.standing.state.is_out(part.id) and not desk.standing.state.stored_at(part.id):
            desk.go(ask_stored(part.id, part.part.name))
        desk.say(said)

    def _weighs(self, desk: Desk, entry: Entry) -> str:
        """What was typed; a mass that was worked out, in the unit of the pad."""
        if entry.fields["how"] == "direct":
            return str(entry.fields["reading"])
        return units.show_mass(entry.fields["mass_kg"], self.unit or desk.car.facts.mass_unit)

    def do_next_part(self, desk: Desk) -> None:
        self.parts = self.parts[1:]
        self.field.clear()
        self.with_part, self.asked = None, ""
        if not self.parts:
            desk.back()
            if desk.step.state == "done":
                desk.position = desk.next_open(desk.position)


class ThingPad:
    """Weighs something that has a name but no pack."""

    name = "the weigh pad"
    types = True
    commands = (*PAD_KEYS, everywhere.HELP)

    def __init__(self, kind: str, thing: str) -> None:
        self.kind = kind
        self.thing = thing
        self.field = NumberField()
        self.unit = ""

    def paint(self, desk: Desk, window: Window) -> Picture:
        unit = self.unit or desk.car.facts.mass_unit
        return Picture(head=(words(f"WEIGH  {self.thing}", BOLD),), digits=f"{self.field.text or '0'} {unit}")

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_kg(self, desk: Desk) -> None:
        self.unit = "kg"

    def do_lb(self, desk: Desk) -> None:
        self.unit = "lb"

    def do_rub_out(self, desk: Desk) -> None:
        if not self.field.rub_out():
            desk.back()

    def do_write(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type what the scale shows, then Enter")
            return
        reading = f"{self.field.text.rstrip('.')}{self.unit or desk.car.facts.mass_unit}"
        entry = desk.enter(self.kind, name=self.thing, reading=reading)
        if entry is not None:
            desk.back()
            desk.say(f"written: {self.thing} {reading} (entry {entry.n})")


def begin_found() -> TextPad:
    """A part nobody foresaw: first its name, then its weight."""
    return TextPad("A part no pack foresaw. Its name:", lambda desk, name: desk.go(ThingPad("part-found", name)))


CORNERS = ("front left", "front right", "rear left", "rear right")


class CarPad:
    """The car on its four pads, one corner after the other."""

    name = "the car on the scales"
    types = True
    commands = (
        *PAD_KEYS,
        Command(("t",), "t", "total", "this is the total of all four", "total"),
        everywhere.HELP,
    )

    def __init__(self) -> None:
        self.field = NumberField()
        self.unit = ""
        self.corners: list[str] = []

    def paint(self, desk: Desk, window: Window) -> Picture:
        unit = self._unit(desk)
        page = Page()
        for name, corner in zip(CORNERS, self.corners, strict=False):
            page.labelled(f"{name}:", f"{corner} {unit}")
        page.add("Wheels straight, brake off and chocked, cabin empty or the driver in: the same both times.")
        head = (words(f"CAR ON THE PADS  {CORNERS[len(self.corners)]}", BOLD),)
        return Picture(head=head, digits=f"{self.field.text or '0'} {unit}", body=page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def _unit(self, desk: Desk) -> str:
        pads = desk.car.facts.scales.pads
        return self.unit or (pads.unit if pads else "kg")

    def do_kg(self, desk: Desk) -> None:
        self._shows(desk, "kg")

    def do_lb(self, desk: Desk) -> None:
        self._shows(desk, "lb")

    def _shows(self, desk: Desk, unit: str) -> None:
        if self.corners:
            desk.say("the four pads are written in one unit: rub out what is typed first")
        else:
            self.unit = unit

    def do_rub_out(self, desk: Desk) -> None:
        if self.field.rub_out():
            return
        if self.corners:
            self.field.text = self.corners.pop()
        else:
            desk.back()

    def do_total(self, desk: Desk) -> None:
        if self.corners or not self.field.text:
            desk.say("type the total first, before any corner")
            return
        self._write(desk, total=f"{self.field.text.rstrip('.')}{self._unit(desk)}")

    def do_write(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type what this pad shows, then Enter")
            return
        self.corners.append(self.field.text.rstrip("."))
        self.field.clear()
        if len(self.corners) == len(CORNERS):
            self._write(desk, corners=f"{','.join(self.corners)}{self._unit(desk)}")

    def _write(self, desk: Desk, **fields: str) -> None:
        entry = desk.enter("car-weighed", **fields)
        if entry is not None:
            desk.back()
            weighs = units.show_mass(entry.fields["total_kg"], self._unit(desk))
            desk.say(f"written: the car weighs {weighs} (entry {entry.n})")
        elif self.corners:  # what was typed is not lost
            self.field.text = self.corners.pop()
