"""After a pause: what has happened to power, doors and people? Not knowing counts as yes."""

from __future__ import annotations

from textual.content import Content

from teardown.car.gates import GateView
from teardown.car.steps import Standing
from teardown.packs.model import WaitGate
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, minutes_seconds, words
from teardown.screens.places import everywhere

NO_DIGITS = "456789"
"""NO opens something: it takes one of these, which changes, and Enter. The others are always the same."""
QUESTIONS = (
    ("power", "POWER: connected, charged, or any lamp or chime? Or could anyone get at the car?"),
    ("doors", "DOORS: has any door, window, lid or the garage been shut?"),
    ("people", "PEOPLE: has anyone come or gone? Is somebody else working now?"),
)
ANSWERS = {"2": "yes", "3": "unknown"}


def _running_wait(standing: Standing) -> GateView | None:
    """The wait that runs on while the questions are open."""
    waits = (view for view in standing.gates.values() if isinstance(view.gate, WaitGate) and view.wait_left_s)
    return next((view for view in waits if standing.state.gates[view.gate.id].since is not None), None)


class Questions:
    """Three questions. It is left only by answering, or by quitting."""

    name = "after a pause"
    types = False
    commands = (
        Command(("enter",), "digit, enter", "NO", "no, I am sure: first the digit shown, then Enter", "no"),
        everywhere.digits("the digit shown: Enter then says no", "1" + NO_DIGITS),
        Command(("2",), "2", "YES", "yes", "answer"),
        Command(("3",), "3", "DON'T KNOW", "I do not know: counts as yes", "answer"),
        Command(("0",), "0", "know none", "I know nothing of the rest: all of it counts as yes", "know_none"),
        Command(("backspace",), "backspace", "question before", "back to the question before", "before"),
        everywhere.UP,
        everywhere.DOWN,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self) -> None:
        self.given: list[str] = []

    def paint(self, desk: Desk, window: Window) -> Picture:
        page, here, wait = Page(), len(self.given), _running_wait(desk.standing)
        for n, (_, question) in enumerate(QUESTIONS):
            if n == here:
                page.add(f"=> {question}", LOUD)
            elif not window.small:
                page.add(f"{question} {self.given[n].upper()}" if n < here else question)
        left = minutes_seconds(wait.wait_left_s or 0) if wait else ""
        head = (
            *([words(f"{wait.gate.title}: {left} left", BOLD)] if wait else []),
            words(f"{desk.standing.state.gates.questions or 'a pause'}.", BOLD),
            words("What has happened since?"),
        )
        digits = "" if window.small else left
        return Picture(head, digits, page.done(), self._prompt(desk, window), focus=0 if window.small else here)

    def _prompt(self, desk: Desk, window: Window) -> tuple[Content, ...]:
        is_armed = desk.arming.what == self._question
        no = "now ENTER. You are sure." if is_armed else f"press {self._digit(desk)}, then Enter"
        others = "[2] yes  [3] don't know  [0] know none"
        if not window.small:
            others = "[2] yes   [3] don't know   [0] know none of it: count as yes"
        return words(f"NO: {no}", LOUD), words(others, LOUD)

    @property
    def _question(self) -> str:
        return QUESTIONS[len(self.given)][0]

    def _digit(self, desk: Desk) -> str:
        return desk.digit_for(len(self.given), NO_DIGITS)

    def do_before(self, desk: Desk) -> None:
        if self.given:
            self.given.pop()
        else:
            desk.say("this is the first question")

    def do_arm(self, desk: Desk) -> None:
        if desk.key == self._digit(desk):
            desk.arm(self._question)
        else:
            desk.say(f"that was {desk.key}. If you are sure: press {self._digit(desk)}, then Enter, for NO")

    def do_no(self, desk: Desk) -> None:
        if desk.confirmed() == self._question:
            self._give(desk, "no")
        else:
            desk.say(f"for NO press {self._digit(desk)} first, then Enter")

    def do_answer(self, desk: Desk) -> None:
        self._give(desk, ANSWERS[desk.key])

    def do_know_none(self, desk: Desk) -> None:
        self._give(desk, *["unknown"] * (len(QUESTIONS) - len(self.given)))

    def _give(self, desk: Desk, *answers: str) -> None:
        self.given += answers
        if len(self.given) < len(QUESTIONS):
            return
        given = dict(zip((name for name, _ in QUESTIONS), self.given, strict=True))
        if desk.enter("resumed", **given) is None:
            self.given.clear()
            return
        desk.places.remove(self)
        desk.say("written. What your answers shut is shut; look at the gates before you go on")
