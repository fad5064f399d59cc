"""What the scale for parts shows: with the part, perhaps without it too, and what is noted of how it was weighed."""

from __future__ import annotations

from collections.abc import Iterator

from textual.content import Content

from teardown import units
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import NumberField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, words
from teardown.screens.places import everywhere

PAD_KEYS = (
    Command(("enter",), "enter", "WRITE", "write the reading", "write", KeyKind.TAKES),
    everywhere.RUB_OUT,
    *everywhere.SCALE_UNITS,
    everywhere.POWER,
    everywhere.UNDO,
    everywhere.UP,
    everywhere.DOWN,
)
DIFFERENCE = Command(
    ("d",), "d", "difference", "this is with the part; the next reading is without it", "difference", KeyKind.TURNS
)
AS_IT_IS = Command(
    ("o",), "o", "wet, complete", "note that it is weighed wet, complete, both, or neither", "as_it_is", KeyKind.TURNS
)
WAYS = ((), ("wet",), ("complete",), ("wet", "complete"))
"""Complete: with what belongs to it still on it."""


class Reading:
    """One reading as it is typed. It becomes a difference when a second one is taken without the part."""

    def __init__(self) -> None:
        self.field = NumberField()
        self.with_part: str | None = None
        self.way = 0

    def entered(self, desk: Desk) -> dict[str, str]:
        """The words of an entry; none while nothing is typed."""
        if not self.field.text:
            desk.say("type what the scale shows, then Enter")
            return {}
        now = self._now(desk)
        read = {"reading": now} if self.with_part is None else {"reading": self.with_part, "without": now}
        return read | dict.fromkeys(WAYS[self.way], "yes")

    def kg(self, desk: Desk) -> float:
        now_kg = units.mass_kg(self._now(desk))
        return now_kg if self.with_part is None else units.mass_kg(self.with_part) - now_kg

    def keep_with(self, desk: Desk) -> None:
        """What is typed was read with the part; what comes next is without it."""
        if self.field.text:
            self.with_part = self._now(desk)
            self.field.clear()
        else:
            desk.say("type the reading WITH the part first")

    def turn(self) -> None:
        """To the next way of weighing."""
        self.way = (self.way + 1) % len(WAYS)

    def told(self) -> Iterator[Content]:
        if self.with_part is not None:
            yield words(f"with the part: {self.with_part}. Now the reading WITHOUT it", BOLD)
        if self.way:
            yield words(f"noted: {' and '.join(WAYS[self.way])}", BOLD)

    def unit(self, desk: Desk) -> str:
        return self.field.unit or desk.car.facts.mass_unit

    def _now(self, desk: Desk) -> str:
        return self.field.reading(desk.car.facts.mass_unit)
