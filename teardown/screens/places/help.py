"""Every key of the place you came from."""

from __future__ import annotations

from teardown.screens.commands import Command, offered
from teardown.screens.desk import Desk, Place
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere


class Help:
    """Reads the same list that the keys obey."""

    name = "help"
    types = False
    commands = (
        Command(
            ("backspace", "b", "escape", "question_mark", "h", "enter"),
            "backspace",
            "back",
            "back",
            "back",
            KeyKind.TURNS,
        ),
        everywhere.POWER,
        everywhere.UP,
        everywhere.DOWN,
        everywhere.QUIT,
    )

    def __init__(self, of: Place) -> None:
        self.of = of

    def paint(self, desk: Desk, window: Window) -> Picture:
        page = Page()
        for command in offered(self.of.commands, desk.car.can_write):
            named = ["?" if key == "question_mark" else key for key in command.keys]
            others = [key for key in named if command.also and key not in command.shown.split(", ")]
            also = f" (also {', '.join(others)})" if others else ""
            page.labelled(f"[{command.shown}]", f"{command.help}{also}")
        if self.of.types:
            page.add("Digits and characters are typed.")
        page.blank()
        page.add("Every key counts once: a key held down or struck twice at once counts as one.")
        page.add("Everything written stays written; undo writes a new entry.")
        return Picture(head=(words(f"KEYS: {self.of.name}", BOLD),), body=page.done())
