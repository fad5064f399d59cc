"""A cursor over the lines of a list: a place holds it. The keys that move it, and how a line of the list looks."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import LOUD, clipped, words

ONE_DOWN = Command(("down",), "down", "down", "one down", "one_down", KeyKind.TURNS)
ONE_UP = Command(("up",), "up", "up", "one up", "one_up", KeyKind.TURNS)


class Cursor:
    """Which line of a list is meant, from 0. `count` says how many there are now."""

    def __init__(self, count: Callable[[Desk], int], at: int = 0) -> None:
        self.count = count
        self.at = at

    def move(self, desk: Desk, lines: int) -> None:
        self.at = max(0, min(self.at + lines, self.count(desk) - 1))


def line_of_list(text: str, here: bool, columns: int, style: str = "") -> Content:
    """One line; the one at the cursor stands out by reverse and an arrow, not by colour."""
    text = f"{'=>' if here else '  '}{text}"
    return clipped(words(text.ljust(columns) if here else text, LOUD if here else style), columns)
