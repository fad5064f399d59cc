"""What no pack foresaw, or a lot of small things; and what goes on: its name, then what the scale shows."""

from __future__ import annotations

from typing import NamedTuple

from teardown import units
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.weigh.parts import ask_where
from teardown.screens.places.weigh.reading import AS_IT_IS, DIFFERENCE, PAD_KEYS, Reading
from teardown.screens.places.write import TextPad


class Sort(NamedTuple):
    """Which entry a thing makes, what its name is asked with, and its own keys."""

    kind: str
    title: str
    asks: str
    commands: tuple[Command, ...]


COUNTS = ("saving", "fluid", "contents")
COUNTS_AS = Command(
    ("c",), "c", "counts as", "a kilo off the car, or a fluid, or contents that only lay in it", "counts", KeyKind.TURNS
)

FOUND = Sort("part-found", "FOUND", "Found: its name, or what lies in the box", (DIFFERENCE, AS_IT_IS, COUNTS_AS))
FITTED = Sort("part-fitted", "FITTED", "Fitted: what goes on (seat, cage, small battery ...)", (DIFFERENCE,))


def ask_found(desk: Desk) -> None:
    desk.go(_ask_name(FOUND))


def ask_fitted(desk: Desk) -> None:
    desk.go(_ask_name(FITTED))


def _ask_name(sort: Sort) -> TextPad:
    def weigh(desk: Desk, name: str) -> None:
        if any(character.isalpha() for character in name):
            desk.go(ThingPad(sort, name))
        else:  # who expects the pad types the weight: as a name it would be found nowhere
            desk.go(_ask_name(sort))
            desk.say(f"{name} is no name. First what it is, then Enter, then what it weighs")

    return TextPad(f"{sort.asks}:", weigh)


class ThingPad:
    """Weighs one thing, or a box with and without it."""

    name = "the weigh pad of a thing"
    types = True

    def __init__(self, sort: Sort, thing: str) -> None:
        self.sort = sort
        self.thing = thing
        self.read = Reading()
        self.counts = COUNTS[0]

    @property
    def commands(self) -> tuple[Command, ...]:
        return (*PAD_KEYS, *self.sort.commands, everywhere.HELP)

    @property
    def field(self) -> NumberField:
        return self.read.field

    def paint(self, desk: Desk, window: Window) -> Picture:
        page = Page()
        page.add("Things in a box: the box with them, [d], then the box without them.")
        if self.sort is FOUND:
            page.add("A fluid, or something that only lay in the car: [c]. It is no kilo off.")
        head = (words(f"{self.sort.title}  {self.thing}", BOLD), *self.read.told())
        if self.counts != COUNTS[0]:
            head = (*head, words(f"counts as {self.counts}: no kilo off the car", BOLD))
        return Picture(head=head, digits=self.field.large(self.read.unit(desk)), body=page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_difference(self, desk: Desk) -> None:
        self.read.keep_with(desk)

    def do_as_it_is(self, desk: Desk) -> None:
        self.read.turn()

    def do_counts(self, desk: Desk) -> None:
        self.counts = COUNTS[(COUNTS.index(self.counts) + 1) % len(COUNTS)]

    def do_write(self, desk: Desk) -> None:
        read = self.read.entered(desk)
        if not read:
            return
        counts = {} if self.counts == COUNTS[0] else {"counts": self.counts}
        entry = desk.enter(self.sort.kind, name=self.thing, **read, **counts)
        if entry is not None:
            desk.back()
            weighs = units.show_mass(entry.fields["mass_kg"], self.read.unit(desk))
            ask_where(desk, f"{'fitted' if self.sort is FITTED else 'found'}-{entry.n}")
            desk.say(f"written: {self.sort.title}: {self.thing}, {weighs} (entry {entry.n})")
