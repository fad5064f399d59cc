"""A line of text: a note, a name, a reason in one's own words."""

from __future__ import annotations

from collections.abc import Callable

from teardown.car.steps import StepView
from teardown.screens.desk import Desk
from teardown.screens.fields import TextField
from teardown.screens.paint import BOLD, LOUD, Picture, Window, words
from teardown.screens.places import everywhere


class TextPad:
    """Asks for a line of text and hands it on. What was typed is kept until it is written or left."""

    name = "a line of text"
    types = True
    commands = everywhere.WHILE_TYPING

    def __init__(self, question: str, finished: Callable[[Desk, str], None]) -> None:
        self.question = question
        self.finished = finished
        self.field = TextField()

    @property
    def is_begun(self) -> bool:
        """Whether something was typed."""
        return bool(self.field.answer)

    def paint(self, desk: Desk, window: Window) -> Picture:
        return Picture(head=(words(self.question, BOLD),), body=(words(f"{self.field.text}_", LOUD),))

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_finish(self, desk: Desk) -> None:
        text = self.field.text.strip()
        if not text:
            desk.say("nothing typed yet. [backspace] goes back")
            return
        desk.back()
        self.finished(desk, text)


def note_on(view: StepView) -> TextPad:
    """A note that belongs to a step."""

    def write(desk: Desk, text: str) -> None:
        entry = desk.enter("note", text=text, step=view.ref)
        if entry is not None:
            desk.say(f"written: note (entry {entry.n})")

    return TextPad(f"Note on: {view.laid.step.title}", write)
