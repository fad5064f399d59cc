"""The form: what makes one entry, asked question by question, for every kind alike.

Enter takes an answer and goes on; with nothing typed, or after the last, it writes. What is optional is passed over
with one key. A refusal stays on the screen with the question it is about, and nothing that was typed is lost.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from textual.content import Content

from teardown.screens.arming import DIGITS
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import Answer, ChoiceField, Field, NumberField, NumbersField, TextField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, body_rows, clipped, side_by_side, words, wrap
from teardown.screens.places import everywhere
from teardown.screens.places.choose import OTHER
from teardown.screens.places.write import TextPad

Write = Callable[[Desk, Mapping[str, str]], bool]
"""Write the answers, or make of them what is wanted; False when that was refused, with the reason said."""

ON_HELP = "take the answer and go on; after the last question, or with nothing typed: write it"
PASS_OVER = Command(
    ("down",), "down", "pass over", "pass this question over: on to the next", "pass_over", KeyKind.TURNS
)
FURTHER = PASS_OVER._replace(label="", help="on to the next question")
BEFORE = Command(("up",), "up", "before", "back to the question before", "before", KeyKind.TURNS)
RUB_OUT = everywhere.RUB_OUT._replace(help="rub out; with nothing typed: the question before, or back")
MORE = Command(("0",), "0", "more", "more of the list", "more", KeyKind.TURNS)
FIND = Command(("f",), "f", "find", "find in the list by a piece of the name", "find", KeyKind.OPENS)
MASS_UNITS = ("kg", "lb")
MOST_GIVEN_LINES = 2
"""In a small window."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a form. `needed` ones are not passed over; `hint` says how it may be answered."""

    key: str
    asks: str
    field: Field
    needed: bool
    hint: str = ""


class Form:
    """A title, whom or what it is about, and questions."""

    def __init__(
        self, title: str, about: str, questions: Sequence[Question], write: Write, done: str = "WRITE"
    ) -> None:
        self.title = title
        self.about = about
        self.questions = tuple(questions)
        self.write = write
        self.done = done
        self.at = 0

    @property
    def name(self) -> str:
        return f"{self.title.lower()}, a question at a time"

    @property
    def types(self) -> bool:
        return not isinstance(self.field, ChoiceField)

    @property
    def question(self) -> Question:
        return self.questions[self.at]

    @property
    def is_begun(self) -> bool:
        """Whether something was answered."""
        return any(question.field.answer for question in self.questions)

    @property
    def _is_last(self) -> bool:
        return self.at == len(self.questions) - 1

    @property
    def _lacks(self) -> bool:
        """Whether something that is needed is not given yet."""
        return any(question.needed and not question.field.answer for question in self.questions)

    @property
    def field(self) -> Field:
        """What is typed into now: of several numbers, the one being typed."""
        field = self.question.field
        return field.number if isinstance(field, NumbersField) else field

    # -- keys

    @property
    def commands(self) -> tuple[Command, ...]:
        goes_on = not self._is_last and bool(self.question.field.answer or self._lacks)
        by_a_scale = isinstance(self.field, NumberField) and self.field.unit in MASS_UNITS
        weight = KeyKind.TAKES if by_a_scale else KeyKind.ACTS
        on = Command(("enter",), "enter", "next" if goes_on else self.done, ON_HELP, "go_on", weight)
        further = () if self._is_last else (FURTHER if self.question.needed else PASS_OVER,)
        moves = (*further, *((BEFORE,) if self.at else ()))
        types = isinstance(self.field, TextField)
        out = (everywhere.LEAVE_TEXT,) if types else (everywhere.POWER, everywhere.HELP, everywhere.LEAVE)
        return (*_picks(self.field), on, *moves, RUB_OUT, *_beside(self.field), *out)

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_go_on(self, desk: Desk) -> None:
        field = self.question.field
        if isinstance(field, NumbersField) and field.keep():
            return
        if field.answer and not self._is_last:
            self.at += 1
        else:
            self._write(desk)

    def do_pass_over(self, desk: Desk) -> None:
        self.at += 1

    def do_before(self, desk: Desk) -> None:
        self.at -= 1

    def do_rub_out(self, desk: Desk) -> None:
        if self.question.field.rub_out():
            return
        if self.at:
            self.at -= 1
        else:
            desk.back()

    def do_pick(self, desk: Desk) -> None:
        field = self.field
        assert isinstance(field, ChoiceField)
        before = [*field.chosen]
        answer = field.strike(desk.key)
        if answer.value == OTHER:
            field.chosen = before  # until something else is typed
            desk.go(TextPad(f"{self.question.asks}:", self._take_other))
        elif not field.several:
            self.do_go_on(desk)

    def _take_other(self, desk: Desk, text: str) -> None:
        field = self.field
        assert isinstance(field, ChoiceField)
        field.chosen = [Answer(text, text)]
        self.do_go_on(desk)

    def do_more(self, desk: Desk) -> None:
        if isinstance(self.field, ChoiceField):
            self.field.turn()

    def do_find(self, desk: Desk) -> None:
        def find(desk: Desk, text: str) -> None:
            if not (isinstance(self.field, ChoiceField) and self.field.find(text)):
                desk.say(f"nothing in the list has {text} in its name")

        desk.go(TextPad("Find in the list: a piece of the name", find))

    def _write(self, desk: Desk) -> None:
        lacking = (n for n, question in enumerate(self.questions) if question.needed and not question.field.answer)
        if (lacks := next(lacking, None)) is not None:
            self.at = lacks
            desk.say(f"NOT WRITTEN. Needed: {self.question.asks}")
            return
        answers = {question.key: question.field.answer for question in self.questions if question.field.answer}
        if not self.write(desk, answers):
            keys = [question.key for question in self.questions]
            self.at = keys.index(desk.refused_field) if desk.refused_field in keys else self.at

    # -- painting

    def paint(self, desk: Desk, window: Window) -> Picture:
        head = [words(self._asks(), BOLD), *self._given(window)]
        hint = words(self._hint(), BOLD)
        prompt = (clipped(hint, window.columns) if window.small else hint,)
        room = body_rows(window, head, prompt, desk.message)
        return Picture(tuple(head), self._digits(), self._body(window, room), prompt)

    def _asks(self) -> str:
        """What is asked, and in which currency: letters would be torn among large digits."""
        beside = f", {self.field.beside}" if isinstance(self.field, NumberField) and self.field.beside else ""
        return f"{self.title} {self.at + 1}/{len(self.questions)}  {self.question.asks}{beside}:"

    def _given(self, window: Window) -> list[Content]:
        """What it is about, and every answer but what is being typed; what is chosen from a list comes first."""
        chosen = self.field.shown if isinstance(self.field, ChoiceField) else ""
        others = [q for q in self.questions if q is not self.question and q.field.answer]
        told = [chosen and f"+ {chosen}", self.about, *(f"{q.asks}: {q.field.shown}" for q in others)]
        line = words(" | ".join(part for part in told if part))
        lines = wrap([line], window.columns) if line.plain else []
        if window.small and len(lines) > MOST_GIVEN_LINES:
            lines[MOST_GIVEN_LINES - 1 :] = [clipped(Content(" ").join(lines[MOST_GIVEN_LINES - 1 :]), window.columns)]
        return lines

    def _hint(self) -> str:
        passes = f"[enter] {self.done}" if self._is_last else "[down] passes it over"
        needed = "needed" if self.question.needed else passes
        return f"{needed}; {self.question.hint}" if self.question.hint else needed

    def _digits(self) -> str:
        return self.field.large("") if isinstance(self.field, NumberField) else ""

    def _body(self, window: Window, room: int) -> tuple[Content, ...]:
        page, field = Page(), self.question.field
        if isinstance(field, TextField):
            page.add(f"{field.text}_", LOUD)
        elif isinstance(field, NumbersField):
            page.labelled("So far:", "; ".join(field.kept))
        elif isinstance(field, ChoiceField):
            return _choices(field, window.columns, room)
        following = [question.asks for question in self.questions[self.at + 1 :]]
        if not window.small and following:
            page.blank()
            page.labelled("Then:", ", ".join(following))
        return page.done()


def _picks(field: Field) -> Iterator[Command]:
    """The digits that answer."""
    if isinstance(field, ChoiceField):
        for digit, answer in zip(DIGITS, field.page, strict=False):
            yield Command((digit,), digit, "", answer.says, "pick")


def _beside(field: Field) -> tuple[Command, ...]:
    """Other keys of this kind of answer."""
    if isinstance(field, ChoiceField) and field.has_more:
        return (MORE, FIND)
    if isinstance(field, NumberField) and field.unit in MASS_UNITS:
        return everywhere.SCALE_UNITS
    return ()


def _choices(field: ChoiceField, columns: int, room: int) -> tuple[Content, ...]:
    """Each answer on a line; together where there is no room for that; a page at a time where they are many."""
    if not field.answers:
        return (words("there is nothing to choose from"),)
    field.on_page = len(DIGITS)
    if not field.has_more:
        field.first = 0
        lines = tuple(_choice_lines(field))
        for shown in (lines, side_by_side(lines, columns)):
            if len(wrap(shown, columns)) <= room:
                return shown
    field.on_page = max(1, min(len(DIGITS), room - 1))
    last = min(field.first + field.on_page, len(field.answers))
    more = words(f"[0] more: {field.first + 1} to {last} of {len(field.answers)} are shown")
    return tuple(clipped(line, columns) for line in (*_choice_lines(field), more))


def _choice_lines(field: ChoiceField) -> Iterator[Content]:
    for digit, answer in zip(DIGITS, field.page, strict=False):
        mark = "+ " if answer in field.chosen else ""
        yield words(f"[{digit}] {mark}{answer.says}", LOUD if mark else "")
