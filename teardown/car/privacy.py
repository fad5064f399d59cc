"""What a stranger must not read: the owner's own private texts however they are written, and what gives a car or a
person away by its form. It is blacked out, and the owner is told what was, so that the words can be mended."""

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple
from unicodedata import normalize

BLACK = "█████"
"""Of one length, whatever it stands for; no letter of it can make a new word with those beside it."""
FEWEST = 4
"""Letters and digits of a private text. Fewer are found in what is none: `Ana` in "an armrest", 7 in every mass."""

BY_FORM = {
    "a vehicle number": r"(?i)(?<![a-z0-9])(?=[a-z0-9]*[0-9])([a-hj-npr-z0-9]{17})(?![a-z0-9])",
    "an e-mail address": r"([\w.+-]+@(?:[\w-]+\.)+[^\W\d_]{2,})",
    "a phone number": r"([+＋](?:[\s()./-]{0,3}\d){8,})",
    "a number to call": (
        r"(?i)\b(?:tel|telephone|telefon|phone|mobile|call|fax)\b[\s.:]*(?:(?:me|us|on|at|under|no|number)\b[\s.:]*)*"
        r"(\d(?:[\s()./-]{0,3}\d){5,})"
    ),
}
"""A vehicle's is seventeen letters and digits without I, O and Q (ISO 3779:2009). A phone number is told from a part
number only by its plus and country code (ITU-T E.164) or by the word before it: the numbers on labels have neither, and
a bare row of digits may be either, so it stays."""


class Blacked(NamedTuple):
    """A text as it may be shown, and for each thing that went, why."""

    text: str
    why: tuple[str, ...]


class _Span(NamedTuple):
    start: int
    end: int
    why: str


def letters(text: str) -> str:
    """What is left of a text without case, accents, spaces, hyphens and other marks.

    >>> letters("Mühl-Lane 7 b")
    'muhllane7b'
    """
    return "".join(letter for letter, _ in _letters(text))


def private_text(text: str) -> str:
    """`text`, when it can be told from ordinary words. Raises ValueError."""
    if len(letters(text)) < FEWEST:
        raise ValueError(f"{text}: fewer than {FEWEST} letters or digits are found in ordinary words: write more of it")
    return text


def black_out(text: str, private: Sequence[str]) -> Blacked:
    """`text` without the private texts and without what is private by its form.

    Again until nothing is found: what stood on both sides of a piece could be private when read on.
    """
    why: list[str] = []
    while spans := sorted((*_by_form(text), *_by_letters(text, private))):
        why += (span.why for span in spans)
        text = _painted(text, spans)
    return Blacked(text, tuple(dict.fromkeys(why)))


def _by_form(text: str) -> Iterator[_Span]:
    for why, form in BY_FORM.items():
        yield from (_Span(*found.span(1), why) for found in re.finditer(form, text))


def _by_letters(text: str, private: Sequence[str]) -> Iterator[_Span]:
    seen = list(_letters(text)) if private else []
    run = "".join(letter for letter, _ in seen)
    for one in private:
        wanted = letters(one)
        start = run.find(wanted) if wanted else -1
        while start >= 0:
            end = start + len(wanted)
            yield _Span(seen[start][1], seen[end - 1][1] + 1, f"private: {one}")
            start = run.find(wanted, end)


def _letters(text: str) -> Iterator[tuple[str, int]]:
    """Each letter or digit in its plainest form, and where in the text it stands."""
    for at, character in enumerate(text):
        for plain in normalize("NFKD", normalize("NFKD", character).casefold()):
            if plain.isalnum():
                yield plain, at


def _painted(text: str, spans: Sequence[_Span]) -> str:
    """Spans that touch become one."""
    shown, upto = "", 0
    for start, end, _ in spans:
        if start >= upto:
            shown += text[upto:start] + BLACK
        upto = max(upto, end)
    return shown + text[upto:]
