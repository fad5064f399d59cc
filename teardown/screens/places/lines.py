"""A cursor over the lines of a list: a place holds it. The keys that move it, and how a line of the list looks."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import LOUD, clipped, cut, words, wrap

ONE_DOWN = Command(("down",), "down", "down", "one down", "one_down", KeyKind.TURNS)
ONE_UP = Command(("up",), "up", "up", "one up", "one_up", KeyKind.TURNS)
MOST_AT_CURSOR = 3
"""Lines; more than this of what the cursor is on is cut off."""


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


def told_at_cursor(text: str, here: bool, columns: int, style: str = "") -> Content:
    """The same; at the cursor whole, on as many lines as it takes: where to look is not read from half a sentence."""
    if not here:
        return line_of_list(text, here, columns, style)
    lines = cut(wrap([words(f"=>{text}", LOUD)], columns), MOST_AT_CURSOR, columns)
    return Content("\n").join(Content.assemble(line, (" " * (columns - line.cell_length), LOUD)) for line in lines)
