"""What the places that list things share: a cursor, the keys that move it, and how a line of the list looks."""

from __future__ import annotations

from abc import ABC, abstractmethod

from textual.content import Content

from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import LOUD, clipped, words

ONE_DOWN = Command(("down",), "down", "down", "one down", "down", KeyKind.TURNS)
ONE_UP = Command(("up",), "up", "up", "one up", "up", KeyKind.TURNS)


class Lines(ABC):
    """A place with a cursor over its lines, where nothing is typed."""

    types = False

    def __init__(self, cursor: int = 0) -> None:
        self.cursor = cursor

    @abstractmethod
    def count(self, desk: Desk) -> int:
        """How many lines there are."""

    def move(self, desk: Desk, lines: int) -> None:
        self.cursor = max(0, min(self.cursor + lines, self.count(desk) - 1))

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_down(self, desk: Desk) -> None:
        self.move(desk, 1)

    def do_up(self, desk: Desk) -> None:
        self.move(desk, -1)


def line_of_list(text: str, here: bool, columns: int, style: str = "") -> Content:
    """One line; the one at the cursor stands out by reverse and an arrow, not by colour."""
    text = f"{'=>' if here else '  '}{text}"
    return clipped(words(text.ljust(columns) if here else text, LOUD if here else style), columns)
