"""Has the car this? NO opens something where the thing is dangerous: then it takes the digit shown, then Enter."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from teardown.car.answers import SAID, answer_now, loss_of, settled_by, who_said
from teardown.car.state import State
from teardown.car.steps import shut_since
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, clipped, words
from teardown.screens.places import everywhere
from teardown.screens.places.questions import NO_DIGITS

ANSWERS = {"1": "no", "2": "yes", "3": "unknown"}
IN_WORDS = {"yes": "YES", "no": "NO", "unknown": "NOT KNOWN"}
NO = Command(("1",), "1", "NO", "no, the car has none", "answer")
SURE_NO = (
    Command(
        ("enter",),
        "digit, enter",
        "NO",
        "no, I have looked: first the digit shown, then Enter",
        "no",
        brief="[enter] no",
    ),
    everywhere.digits("the digit shown: Enter then says no", "1" + NO_DIGITS),
)
OTHERS = (
    Command(("2",), "2", "YES", "yes, the car has it", "answer"),
    Command(("3",), "3", "NOT KNOWN", "nobody knows: counts as yes", "answer"),
    *everywhere.ON_A_PAGE,
)


class FeaturePlace:
    """One question about what the car has."""

    name = "a question about the car"
    types = False

    def __init__(self, desk: Desk, feature: str, answered: Callable[[Desk], None] = lambda desk: None) -> None:
        state = desk.standing.state
        self.feature = state.route.library.features[feature]
        self.answered = answered
        self.loss = loss_of(state.route, state.facts, feature)

    @property
    def commands(self) -> tuple[Command, ...]:
        return (*(SURE_NO if self.loss.is_safety else (NO,)), *OTHERS)

    # -- painting

    def paint(self, desk: Desk, window: Window) -> Picture:
        """The question, and what must be read before a no, are one paragraph, so that they are in sight together."""
        look, drops = ("Look:", "NO drops:") if window.small else ("Look for:", "With NO nobody asks for:")
        page = Page()
        page.run_on(((look, (self.feature.look_for or "").rstrip(".")), (drops, self.loss.in_words(window.small))))
        asked = Content("  ").join([words(self.feature.asks, BOLD), *page.done()])
        more = words("What is not known counts as there. The answer goes into car.toml, your name into the log.")
        now = clipped(words(f"Now: {self._now(desk.standing.state)}", BOLD), window.columns)
        body = (asked,) if window.small else (asked, more)
        return Picture((now,), "", body, self._prompt(desk, window), focus=0)

    def _now(self, state: State) -> str:
        settled = settled_by(state, self.feature)
        said = IN_WORDS[SAID[state.facts.fitted.get(self.feature.id)]]
        now = f"{IN_WORDS[answer_now(state, self.feature.id)]} {settled}" if settled else said
        who = who_said(state, f"fitted.{self.feature.id}")
        return f"{now} ({who})" if who else now

    def _prompt(self, desk: Desk, window: Window) -> tuple[Content, ...]:
        if not desk.car.can_write:
            return (words("READING ONLY: nothing is answered here", LOUD),)
        others = "[2] yes [3] ?" if window.small else "[2] yes  [3] not known: counts as yes"
        if not self.loss.is_safety:
            return (words(f"{others}  [1] no", LOUD),)
        no = f"NO: press {self._digit(desk)}, then Enter"
        if desk.arming.what == self.feature.id:
            no = "NO: now ENTER" if window.small else "NO: now ENTER. You have looked."
        return (words(f"{others} {no}", LOUD),) if window.small else (words(no, LOUD), words(others, LOUD))

    def _digit(self, desk: Desk) -> str:
        return desk.digit_for(0, NO_DIGITS)

    # -- keys

    def do_arm(self, desk: Desk) -> None:
        if desk.key == self._digit(desk):
            desk.arm(self.feature.id)
        else:
            desk.say(f"that was {desk.key}. If you have looked: press {self._digit(desk)}, then Enter, for NO")

    def do_no(self, desk: Desk) -> None:
        if desk.confirmed() == self.feature.id:
            self._answer(desk, "no")
        else:
            desk.say(f"for NO press {self._digit(desk)} first, then Enter")

    def do_answer(self, desk: Desk) -> None:
        self._answer(desk, ANSWERS[desk.key])

    def _answer(self, desk: Desk, fitted: str) -> None:
        before = desk.standing
        entry = desk.enter("car-answered", feature=self.feature.id, fitted=fitted)
        if entry is None:
            return
        shut = shut_since(before, desk.standing)
        desk.back()
        self.answered(desk)
        also = f". Shut now: {', '.join(shut)}" if shut else ""
        desk.say(f"written: {self.feature.asks} {IN_WORDS[fitted]} (entry {entry.n}){also}")
