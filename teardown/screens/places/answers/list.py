"""Every question about the car and its answer: what it has, then what the rule book says must stay."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from teardown.car.answers import Asked, questions_of
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import next_with
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Picture, Window, clipped, words
from teardown.screens.places import everywhere
from teardown.screens.places.answers.feature import FeaturePlace
from teardown.screens.places.enter import ask
from teardown.screens.places.lines import ONE_DOWN, ONE_UP, Cursor, told_at_cursor
from teardown.screens.places.write import TextPad

MARKS = {"yes": "+", "no": "-", "unknown": "?"}


class CarQuestions:
    """A cursor over the questions; it begins at the first that nobody has answered."""

    name = "questions about the car"
    types = False
    commands = (
        Command(("enter", "space"), "enter", "answer", "answer this one", "open", KeyKind.OPENS, "[enter] say"),
        ONE_DOWN,
        ONE_UP,
        Command(("right", "pagedown"), "right", "next open", "to the next one not known", "next_open", KeyKind.TURNS),
        Command(("f",), "f", "find", "find a question by a piece of it", "find", KeyKind.OPENS),
        *everywhere.IN_A_LIST,
    )

    def __init__(self, desk: Desk) -> None:
        self.cursor = Cursor(lambda desk: len(questions_of(desk.standing.state)))
        self.to_next_open(desk)

    def paint(self, desk: Desk, window: Window) -> Picture:
        asked = questions_of(desk.standing.state)
        waiting = sum(one.is_open for one in asked)
        head = words(f"THE CAR: ? not known ({waiting})  + yes  - no", BOLD)
        lines = tuple(_line(one, n == self.cursor.at, window.columns) for n, one in enumerate(asked))
        return Picture((clipped(head, window.columns),), "", lines, focus=self.cursor.at if lines else None)

    def to_next_open(self, desk: Desk) -> None:
        """From the cursor on and round again; where all are answered it stays."""
        self._to_open(desk, self.cursor.at)

    def _to_open(self, desk: Desk, begin: int) -> None:
        asked = questions_of(desk.standing.state)
        around = (*range(begin, len(asked)), *range(begin))
        self.cursor.at = next((n for n in around if asked[n].is_open), self.cursor.at)

    def do_open(self, desk: Desk) -> None:
        asked = questions_of(desk.standing.state)
        if asked:
            go_to_question(desk, asked[self.cursor.at].key, self.to_next_open)
        else:
            desk.say("the packs ask nothing about the car")

    def do_next_open(self, desk: Desk) -> None:
        if any(one.is_open for one in questions_of(desk.standing.state)):
            self._to_open(desk, self.cursor.at + 1)
        else:
            desk.say("every question is answered")

    def do_find(self, desk: Desk) -> None:
        desk.go(TextPad("Find a question: a piece of it", self._find))

    def _find(self, desk: Desk, text: str) -> None:
        asked = questions_of(desk.standing.state)
        n = next_with(text, self.cursor.at, len(asked), lambda n: asked[n].asks)
        if n is None:
            desk.say(f"no question has {text} in it")
        else:
            self.cursor.at = n


def _line(one: Asked, here: bool, columns: int) -> Content:
    mark = MARKS[one.answer] if one.answer != "unknown" or one.is_open else " "
    rule = "RULE " if one.table == "rules" else ""
    return told_at_cursor(f" {mark} {rule}{one.asks}", here, columns, BOLD if one.is_open else "")


def go_to_question(desk: Desk, key: str | None, answered: Callable[[Desk], None] = lambda desk: None) -> None:
    """To one question by its key in car.toml; to the list of all where there is none."""
    if key is None:
        desk.go(CarQuestions(desk))
        return
    table, _, name = key.partition(".")
    if table == "fitted":
        desk.go(FeaturePlace(desk, name, answered))
    else:
        ask(desk, "rule-answered", desk.standing.state.route.library.rules[name].asks, rule=name)
