"""One question, a few answers. Where they open something: the digit beside an answer, which changes, then Enter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from teardown.screens.arming import DIGITS
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, side_by_side, words
from teardown.screens.places import everywhere
from teardown.screens.places.gates.parts import GATE_KEYS, gate_head


@dataclass(frozen=True, eq=False)
class Sure:
    """Asks; it may be asked for a gate. `chosen` gets the answer in the place before this one."""

    question: str
    answers: tuple[str, ...]
    chosen: Callable[[Desk, str], None]
    at_once: tuple[str, ...] = ()
    """The answers that open nothing: for them the digit is enough."""
    gate_id: str | None = None
    of: str = DIGITS
    """The digits that may stand beside an answer: none that the answers name themselves."""

    types = False

    @property
    def name(self) -> str:
        return self.question

    @property
    def commands(self) -> tuple[Command, ...]:
        return (
            everywhere.confirm("confirm an answer: first its digit, then Enter"),
            everywhere.digits("the digit of an answer: Enter then confirms it"),
            *(() if self.gate_id is None else GATE_KEYS),
            *everywhere.ON_A_PAGE,
        )

    def paint(self, desk: Desk, window: Window) -> Picture:
        page, armed = Page(), desk.arming.what
        for digit, answer in self.by_digit(desk).items():
            page.labelled(f"[{digit}]", answer)
        prompt = words(f"now ENTER: {armed}" if armed else "the digit of an answer, then ENTER", LOUD)
        head = [words(self.question, BOLD)]
        if self.gate_id is not None:
            head = [*gate_head(desk, desk.standing.gates[self.gate_id], window), *head]
        body = side_by_side(page.done(), window.columns) if window.small else page.done()
        return Picture(head=tuple(head), body=body, prompt=(prompt,))

    def by_digit(self, desk: Desk) -> dict[str, str]:
        """The answers by their digits: others each time something was written."""
        begin = 4 * desk.standing.state.entries
        return {self.of[(begin + n) % len(self.of)]: answer for n, answer in enumerate(self.answers)}

    def do_arm(self, desk: Desk) -> None:
        answer = self.by_digit(desk).get(desk.key)
        if answer is None:
            desk.say(f"that was {desk.key}: none of these answers")
        elif answer in self.at_once:
            self._answer(desk, answer)
        else:
            desk.arm(answer)

    def do_confirm(self, desk: Desk) -> None:
        if answer := desk.confirmed():
            self._answer(desk, answer)
        else:
            desk.say("first the digit of an answer, then Enter")

    def _answer(self, desk: Desk, answer: str) -> None:
        desk.back()
        self.chosen(desk, answer)
