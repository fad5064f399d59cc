"""What is being typed: a number on a pad made for gloves, several numbers, a line of text, a digit that chooses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from string import ascii_letters
from typing import NamedTuple, Protocol

from teardown.screens.arming import DIGITS
from teardown.text import plain

LONGEST_NUMBER = 7
LONGEST_TEXT = 200


class Field(Protocol):
    """What answers one question. Both readings are empty while nothing is given."""

    @property
    def answer(self) -> str:
        """As it is entered."""
        ...

    @property
    def shown(self) -> str:
        """As it is read back."""
        ...

    def take(self, character: str) -> bool:
        """Take one character; False when it is none of what is typed here."""
        ...

    def rub_out(self) -> bool:
        """Take the last of it back; False when nothing was given."""
        ...

    def begin(self, answer: str) -> None:
        """Begin with an answer that stands from before."""
        ...


class NumberField:
    """Digits and one decimal point or comma; and the unit, once it was chosen. `beside` is shown and not entered."""

    def __init__(self, unit: str = "", beside: str = "", longest: int = LONGEST_NUMBER) -> None:
        self.text = ""
        self.unit = unit
        self.beside = beside
        self.longest = longest
        self.as_before = False
        """The number stands from before: the first digit typed takes its place."""

    @property
    def answer(self) -> str:
        return self.reading("") if self.text else ""

    @property
    def shown(self) -> str:
        return self.large(self.beside) if self.text else ""

    def take(self, character: str) -> bool:
        """Take one character; False when it is no part of a number, or of one that long."""
        before = "" if self.as_before else self.text
        if len(before) >= self.longest:
            return False
        if character in (".", ",") and "." not in before:
            character = "." if before else "0."
        elif not (character.isascii() and character.isdigit()):
            return False
        self.text, self.as_before = before + character, False
        return True

    def reading(self, unit: str) -> str:
        """The number with the unit chosen, or else `unit`, as it is entered."""
        return f"{self.text.rstrip('.')}{self.unit or unit}"

    def large(self, unit: str) -> str:
        """The same, as the large digits show it while it is typed; where nothing is typed they show no number."""
        return f"{self.text or '-'} {self.unit or unit}".rstrip()

    def rub_out(self) -> bool:
        """Rub out one character; False when nothing was typed."""
        typed = bool(self.text)
        self.text, self.as_before = self.text[:-1], False
        return typed

    def clear(self) -> None:
        self.text = ""

    def let_stand(self) -> None:
        """What is typed stays in sight; the next digit begins another number."""
        self.as_before = True

    def begin(self, answer: str) -> None:
        self.text = answer.rstrip(ascii_letters)
        self.unit = answer.removeprefix(self.text) or self.unit
        self.let_stand()


class NumbersField:
    """Several numbers in one unit, taken one after the other."""

    def __init__(self, unit: str) -> None:
        self.number = NumberField(unit)
        self.kept: list[str] = []

    @property
    def answer(self) -> str:
        return "; ".join([*self.kept, *([self.number.answer] if self.number.text else [])])

    @property
    def shown(self) -> str:
        return self.answer

    def take(self, character: str) -> bool:
        return self.number.take(character)

    def keep(self) -> bool:
        """Keep the number typed and wait for another; False when none is typed."""
        if not self.number.text:
            return False
        self.kept.append(self.number.answer)
        self.number.clear()
        return True

    def rub_out(self) -> bool:
        if self.number.rub_out():
            return True
        if self.kept:
            self.number.text = self.kept.pop().removesuffix(self.number.unit)
        return bool(self.number.text)

    def begin(self, answer: str) -> None:
        self.kept = answer.split("; ")


class TextField:
    """One line of text."""

    def __init__(self) -> None:
        self.text = ""

    @property
    def answer(self) -> str:
        return self.text.strip()

    @property
    def shown(self) -> str:
        return self.text

    def take(self, character: str) -> bool:
        """Take one character; False when it is nothing to be read, or the line is full."""
        clean = plain(character).replace("\n", " ")
        if len(self.text) + len(clean) > LONGEST_TEXT:
            return False
        self.text += clean
        return bool(clean)

    def rub_out(self) -> bool:
        typed = bool(self.text)
        self.text = self.text[:-1]
        return typed

    def begin(self, answer: str) -> None:
        self.text = answer


class Answer(NamedTuple):
    """One thing to choose: as it is entered, and what it is called."""

    value: str
    says: str


class ChoiceField:
    """Answers, each struck by a digit, a page of them at a time. One is chosen, or several."""

    def __init__(self, answers: Sequence[Answer], several: bool = False) -> None:
        self.answers = tuple(answers)
        self.several = several
        self.chosen: list[Answer] = []
        self.first = 0
        self.on_page = len(DIGITS)
        """How many answers have room on the screen."""

    @property
    def answer(self) -> str:
        return ",".join(answer.value for answer in self.chosen)

    @property
    def shown(self) -> str:
        return "; ".join(answer.says for answer in self.chosen)

    @property
    def page(self) -> tuple[Answer, ...]:
        return self.answers[self.first : self.first + self.on_page]

    @property
    def has_more(self) -> bool:
        return len(self.answers) > self.on_page

    def take(self, character: str) -> bool:
        return False

    def strike(self, digit: str) -> Answer:
        """Choose the answer of that digit; one of several is taken out again when it was chosen before."""
        answer = self.page[DIGITS.index(digit)]
        if not self.several:
            self.chosen = [answer]
        elif answer in self.chosen:
            self.chosen.remove(answer)
        else:
            self.chosen.append(answer)
        return answer

    def turn(self) -> None:
        """To the next page; from the last to the first."""
        self.first = self.first + self.on_page if self.first + self.on_page < len(self.answers) else 0

    def find(self, text: str) -> bool:
        """Turn to the next answer with this in its name; False when there is none."""
        n = next_with(text, self.first, len(self.answers), lambda n: " ".join(self.answers[n]))
        if n is not None:
            self.first = n
        return n is not None

    def rub_out(self) -> bool:
        return bool(self.chosen and self.chosen.pop())

    def begin(self, answer: str) -> None:
        self.chosen = [one for one in self.answers if one.value in answer.split(",")]


def next_with(text: str, at: int, count: int, name: Callable[[int], str]) -> int | None:
    """The next after number `at` of `count` names, and round to it again, that has `text` in it, in either case.

    >>> next_with("mat", 0, 3, ["Floor mats", "Seat", "Boot MAT"].__getitem__)
    2
    """
    sought = text.casefold()
    round_to_it = ((at + away) % count for away in range(1, count + 1))
    return next((n for n in round_to_it if sought in name(n).casefold()), None)
