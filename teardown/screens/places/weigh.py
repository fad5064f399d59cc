"""The weigh pad: from "part off" to "written" in ten seconds."""

from __future__ import annotations

from teardown import units
from teardown.car.asking import question_about
from teardown.car.log import Entry
from teardown.car.tally import is_live
from teardown.packs.route import RoutePart
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.guard import Weight
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.choose import ask_stored

PAD_KEYS = (
    Command(("enter",), "enter", "WRITE", "write the reading", "write", Weight.TAKES),
    everywhere.RUB_OUT,
    *everywhere.SCALE_UNITS,
    everywhere.POWER,
    everywhere.UNDO,
    everywhere.UP,
    everywhere.DOWN,
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
        Command(("a",), "a", "", "all parts of this step still to weigh lie on the scale together", "together"),
        everywhere.HELP,
    )

    def __init__(self, parts: list[str]) -> None:
        self.parts = parts
        self.field = NumberField()
        self.with_part: str | None = None
        self.asked = ""

    def paint(self, desk: Desk, window: Window) -> Picture:
        part, unit = self._part(desk), self.field.unit or desk.car.facts.mass_unit
        low, likely, high = (units.show_mass(kg, unit) for kg in part.kg)
        page = Page()
        page.add(f"usually {likely} ({low} to {high})")
        if (known := desk.standing.state.weight_of(part.id)) is not None:
            page.add(f"written before: {units.show_mass(known.kg, unit)}. A new reading takes its place")
        if self.with_part is not None:
            page.add(f"with the part: {self.with_part}. Now the reading WITHOUT it", BOLD)
        head = (words(f"WEIGH  {part.part.name}", BOLD),)
        return Picture(head=head, digits=self.field.large(unit), body=page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def _part(self, desk: Desk) -> RoutePart:
        return desk.standing.state.route.parts[self.parts[0]]

    def _reading(self, desk: Desk) -> str:
        return self.field.reading(desk.car.facts.mass_unit)

    def do_difference(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type the reading WITH the part first")
            return
        self.with_part = self._reading(desk)
        self.field.clear()

    def do_estimate(self, desk: Desk) -> None:
        self._write(desk, how="estimate")

    def do_write(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type what the scale shows, then Enter")
            return
        reading = self._reading(desk)
        if self._asks_about(desk, self.parts[:1], reading):
            return
        if self.with_part is None:
            self._write(desk, reading=reading, how="direct")
        else:
            self._write(desk, reading=self.with_part, how="difference", without=reading)

    def do_together(self, desk: Desk) -> None:
        """One reading for all that are left: alike parts share it evenly, others by the packs' masses."""
        if len(self.parts) < 2:
            desk.say("one part is left here: Enter writes it")
            return
        if not self.field.text:
            desk.say("type what the scale shows with all of them on it, then [a]")
            return
        names, reading = self.parts, self._reading(desk)
        if self._asks_about(desk, names, reading):
            return
        weighed = {"reading": reading} if self.with_part is None else {"reading": self.with_part, "without": reading}
        entry = desk.enter("parts-weighed", parts=",".join(names), **weighed)
        if entry is None:
            return
        self.parts = names[-1:]
        self.do_next_part(desk)
        for name in reversed(names):
            self._ask_where(desk, name)
        desk.say(f"written: {len(names)} parts on one reading (entry {entry.n})")

    def _ask_where(self, desk: Desk, name: str) -> None:
        state, part = desk.standing.state, desk.standing.state.route.parts[name]
        if is_live(state, part) and state.is_out(name) and not state.stored_at(name):
            desk.go(ask_stored(name, part.part.name))

    def _asks_about(self, desk: Desk, names: list[str], reading: str) -> bool:
        """Ask once about a mass far outside the packs' range; the same reading again is written."""
        kg = (
            units.mass_kg(reading) if self.with_part is None else units.mass_kg(self.with_part) - units.mass_kg(reading)
        )
        parts = [desk.standing.state.route.parts[name] for name in names]
        question = question_about(parts, kg, self.field.unit or desk.car.facts.mass_unit)
        if not question or reading == self.asked:
            return False
        self.asked = reading
        key = "Enter" if len(names) == 1 else "[a]"
        desk.say(f"{question} {key} again writes {reading if self.with_part is None else 'the difference'}")
        return True

    def _write(self, desk: Desk, **fields: str) -> None:
        part = self._part(desk)
        entry = desk.enter("part-weighed", part=part.id, **fields)
        if entry is None:
            return
        said = f"written: {part.part.name} {self._weighs(desk, entry)} (entry {entry.n})"
        self.do_next_part(desk)
        self._ask_where(desk, part.id)
        desk.say(said)

    def _weighs(self, desk: Desk, entry: Entry) -> str:
        """What was typed; a mass that was worked out, in the unit of the pad."""
        if entry.fields["how"] == "direct":
            return str(entry.fields["reading"])
        return units.show_mass(entry.fields["mass_kg"], self.field.unit or desk.car.facts.mass_unit)

    def do_next_part(self, desk: Desk) -> None:
        self.parts = self.parts[1:]
        self.field.clear()
        self.with_part, self.asked = None, ""
        if not self.parts:
            desk.back()
            if desk.step.state == "done":
                desk.position = desk.next_open(desk.position)


CORNERS = ("front left", "front right", "rear left", "rear right")


class CarPad:
    """The car on its four pads, in any order, and how it stood."""

    name = "the car on the scales"
    types = True
    commands = (
        *PAD_KEYS,
        Command(("t",), "t", "total", "this is the total of all four", "total"),
        Command(("n",), "n", "next pad", "another pad first", "next_pad", Weight.TURNS),
        Command(("s",), "s", "how it stood", "fuel, driver, contents, tyres: how the car stands", "stood"),
        Command(("a",), "a", "again", "all four read: read them once more, to be averaged", "again"),
        everywhere.HELP,
    )

    def __init__(self) -> None:
        self.field = NumberField()
        self.pad = 0
        self.read: dict[int, str] = {}
        self.sets: list[str] = []
        self.stood: dict[str, str] = {}

    def paint(self, desk: Desk, window: Window) -> Picture:
        unit = self._unit(desk)
        page = Page()
        for pad, kg in sorted(self.read.items()):
            page.labelled(f"{CORNERS[pad]}:", f"{kg} {unit}")
        for what, said in self.stood.items():
            page.labelled(f"{what}:", said)
        if self.sets:
            page.add(f"read {len(self.sets)} times before, to be averaged")
        page.add("Wheels straight, brake off and chocked, cabin empty or the driver in: the same both times.")
        head = (words(f"CAR ON THE PADS  {CORNERS[self.pad]}", BOLD),)
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
        if self.read or self.sets:
            desk.say("the four pads are written in one unit: rub out what is typed first")
        else:
            self.field.unit = unit

    def do_next_pad(self, desk: Desk) -> None:
        self.pad = self._following_pad()

    def _following_pad(self) -> int:
        """The next pad nobody has read, after this one."""
        following = ((self.pad + away) % len(CORNERS) for away in range(1, len(CORNERS) + 1))
        return next((pad for pad in following if pad not in self.read), self.pad)

    def do_rub_out(self, desk: Desk) -> None:
        if self.field.rub_out():
            return
        if self.read:
            self.pad, self.field.text = self.read.popitem()
        else:
            desk.back()

    def do_total(self, desk: Desk) -> None:
        if self.read or self.sets or not self.field.text:
            desk.say("type the total first, before any corner")
            return
        self._write(desk, total=self.field.reading(self._unit(desk)))

    def do_write(self, desk: Desk) -> None:
        if self._take(desk):
            self._write(desk, corners=" / ".join([*self.sets, self._set(desk)]))

    def do_again(self, desk: Desk) -> None:
        """The last pad is typed, and the car will be rolled off and on before it is read again."""
        if len(self.read) < len(CORNERS) - 1 or not self._take(desk):
            desk.say("type the last of the four pads, then [a]")
            return
        self.sets.append(self._set(desk))
        self.read.clear()
        self.pad = 0
        desk.say(f"kept, not written yet: {len(self.sets)} of the readings to be averaged. Roll off and on, read again")

    def _take(self, desk: Desk) -> bool:
        """Note this pad. True when all four are read."""
        if not self.field.text:
            desk.say("type what this pad shows, then Enter")
            return False
        self.read[self.pad] = self.field.text.rstrip(".")
        self.field.clear()
        self.pad = self._following_pad()
        return len(self.read) == len(CORNERS)

    def _set(self, desk: Desk) -> str:
        return f"{','.join(self.read[pad] for pad in range(len(CORNERS)))}{self._unit(desk)}"

    def _write(self, desk: Desk, **fields: str) -> None:
        entry = desk.enter("car-weighed", **fields, **self.stood)
        if entry is not None:
            desk.back()
            weighs = units.show_mass(entry.fields["total_kg"], self._unit(desk))
            desk.say(f"written: the car weighs {weighs} (entry {entry.n})")
        elif self.read:  # what was typed is not lost
            self.pad, self.field.text = self.read.popitem()
