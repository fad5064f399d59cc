"""After a pause: what has happened to power, doors and people? Not knowing counts as yes."""

from __future__ import annotations

from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, words
from teardown.screens.places import everywhere

QUESTIONS = (
    ("power", "POWER: connected, charged, or any lamp or chime? Or could anyone get at the car?"),
    ("doors", "DOORS: has any door, window, lid or the garage been shut?"),
    ("people", "PEOPLE: has anyone come or gone? Is somebody else working now?"),
)
ANSWERS = {"1": "no", "2": "yes", "3": "unknown"}


class Questions:
    """Three questions, a digit each. It is left only by answering, or by quitting."""

    name = "after a pause"
    types = False
    commands = (
        Command(("1",), "1", "NO", "no, I am sure", "answer"),
        Command(("2",), "2", "YES", "yes", "answer"),
        Command(("3",), "3", "DON'T KNOW", "I do not know: counts as yes", "answer"),
        Command(("backspace",), "backspace", "question before", "back to the question before", "before"),
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self) -> None:
        self.given: list[str] = []

    def paint(self, desk: Desk, window: Window) -> Picture:
        page, here = Page(), len(self.given)
        for n, (_, question) in enumerate(QUESTIONS):
            if n == here:
                page.add(question, BOLD)
            elif not window.small:
                page.add(f"{question} {self.given[n].upper()}" if n < here else question)
        head = (words(f"{desk.standing.state.gates.questions or 'a pause'}.", BOLD), words("What has happened since?"))
        answers = words("[1] no   [2] yes   [3] don't know: counts as yes", LOUD)
        return Picture(head, "", page.done(), (answers,), focus=None if window.small else here)

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_before(self, desk: Desk) -> None:
        if self.given:
            self.given.pop()
        else:
            desk.say("this is the first question")

    def do_answer(self, desk: Desk) -> None:
        self.given.append(ANSWERS[desk.key])
        if len(self.given) < len(QUESTIONS):
            return
        answers = dict(zip((name for name, _ in QUESTIONS), self.given, strict=True))
        if desk.enter("resumed", **answers) is None:
            self.given.clear()
            return
        desk.places.remove(self)
        desk.say("written. What your answers shut is shut; look at the gates before you go on")
