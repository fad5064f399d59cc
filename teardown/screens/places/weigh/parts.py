"""The weigh pad: from "part off" to "written" in ten seconds."""

from __future__ import annotations

from teardown import units
from teardown.car.asking import lot_against, question_about
from teardown.car.log import Entry
from teardown.car.steps import StepView
from teardown.car.tally import line_of, name_of
from teardown.packs.route import RoutePart
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.choose import ask_stored
from teardown.screens.places.weigh.reading import AS_IT_IS, DIFFERENCE, PAD_KEYS, Reading

ESTIMATE = "estimate"


def ask_where(desk: Desk, name: str) -> None:
    """Go and ask where it is stored, when it is live, off and nobody has said so."""
    line = line_of(desk.standing.state, name)
    if line.live and line.standing == "off":
        desk.go(ask_stored(name, line.name))


class WeighPad:
    """Weighs the parts of a step, one after the other; or one thing that no pack foresaw, again."""

    name = "the weigh pad"
    types = True
    commands = (
        *PAD_KEYS,
        DIFFERENCE,
        Command(("x",), "x", "estimate", "no scale: take the pack's likely mass, marked as an estimate", "estimate"),
        Command(("n",), "n", "next part", "leave this part unweighed for now", "next_part", KeyKind.TURNS),
        Command(("a",), "a", "", "all parts of this step still to weigh lie on the scale together", "together"),
        AS_IT_IS,
        everywhere.HELP,
    )

    def __init__(self, parts: list[str]) -> None:
        self.parts = parts
        self.read = Reading()
        self.asked = ""

    @property
    def field(self) -> NumberField:
        return self.read.field

    def paint(self, desk: Desk, window: Window) -> Picture:
        state, unit = desk.standing.state, self.read.unit(desk)
        page = Page()
        for part in self._foreseen(desk, self.parts[:1]):
            low, likely, high = (units.show_mass(kg, unit) for kg in part.kg)
            page.add(f"usually {likely} ({low} to {high})")
        if (known := state.weight_of(self.parts[0])) is not None:
            page.add(f"written before: {units.show_mass(known.kg, unit)}. A new reading takes its place")
        head = (words(f"WEIGH  {name_of(state, self.parts[0])}", BOLD), *self.read.told())
        return Picture(head=head, digits=self.field.large(unit), body=page.done())

    def weighs(self, view: StepView) -> bool:
        """Whether these are parts that step takes off."""
        return {part.id for part in view.laid.step.parts} >= set(self.parts)

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def _foreseen(self, desk: Desk, names: list[str]) -> list[RoutePart]:
        """Those of them that a pack knows."""
        known = desk.standing.state.route.parts
        return [known[name] for name in names if name in known]

    def do_difference(self, desk: Desk) -> None:
        self.read.keep_with(desk)

    def do_as_it_is(self, desk: Desk) -> None:
        self.read.turn()

    def do_estimate(self, desk: Desk) -> None:
        """What was measured is not given up for an estimate by one slip of a finger."""
        foreseen, known = self._foreseen(desk, self.parts[:1]), desk.standing.state.weight_of(self.parts[0])
        if not foreseen or known is None or known.how == "estimate" or self.asked == ESTIMATE:
            self._write(desk, how=ESTIMATE)
        else:
            self.asked = ESTIMATE
            measured = units.show_mass(known.kg, self.read.unit(desk))
            desk.say(f"{measured} was weighed. [x] again takes the pack's likely mass instead")

    def do_write(self, desk: Desk) -> None:
        read = self.read.entered(desk)
        if read and not self._asks_about(desk, self.parts[:1]):
            self._write(desk, **read)

    def do_together(self, desk: Desk) -> None:
        """One reading for all that are left: alike parts share it evenly, others by the packs' masses."""
        if len(self.parts) < 2:
            desk.say("one part is left here: Enter writes it")
            return
        names, read = self.parts, self.read.entered(desk)
        if not read:
            desk.say("type what the scale shows with all of them on it, then [a]")
            return
        if self._asks_about(desk, names):
            return
        entry = desk.enter("parts-weighed", parts=",".join(names), **read)
        if entry is None:
            return
        self.parts = names[-1:]
        self.do_next_part(desk)
        for name in reversed(names):
            ask_where(desk, name)
        desk.say(f"written: {len(names)} parts on one reading (entry {entry.n})")

    def _asks_about(self, desk: Desk, names: list[str]) -> bool:
        """Ask once about a mass far outside the packs' range; the same reading again is written."""
        question = question_about(self._foreseen(desk, names), self.read.kg(desk), self.read.unit(desk))
        if not question or self.field.text == self.asked:
            return False
        self.asked = self.field.text
        key, what = "Enter" if len(names) == 1 else "[a]", self.read.entered(desk)
        desk.say(f"{question} {key} again writes {'the difference' if 'without' in what else what['reading']}")
        return True

    def _write(self, desk: Desk, **fields: str) -> None:
        name = self.parts[0]
        entry = desk.enter("part-weighed", part=name, **fields)
        if entry is None:
            return
        state = desk.standing.state
        said = f"written: {name_of(state, name)} {self._weighs(desk, entry)} (entry {entry.n})"
        against = lot_against(state, name)
        self.do_next_part(desk)
        ask_where(desk, name)
        desk.say(f"{said}. {against}" if against else said)

    def _weighs(self, desk: Desk, entry: Entry) -> str:
        """What was typed; a mass that was worked out, in the unit of the pad."""
        if entry.fields["how"] == "direct":
            return str(entry.fields["reading"])
        how = ", the pack's estimate" if entry.fields["how"] == ESTIMATE else ""
        return units.show_mass(entry.fields["mass_kg"], self.read.unit(desk)) + how

    def do_next_part(self, desk: Desk) -> None:
        self.parts = self.parts[1:]
        self.read, self.asked = Reading(), ""
        if not self.parts:
            desk.back()
            if desk.step.state == "done":
                desk.position = desk.next_open(desk.position)
