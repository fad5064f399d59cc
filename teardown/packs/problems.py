"""What is wrong with a file, said so that its author can mend it."""

import re
from collections.abc import Iterable
from typing import NamedTuple

from teardown.text import one_line

LONGEST_SHOWN = 48

Loc = tuple[int | str, ...]
"""The keys and numbers that lead to a place in a file."""


class Problem(NamedTuple):
    """One thing wrong: where, what stands there, what is wanted, and the nearest spelling when one is close.

    >>> print(Problem("seats.toml", 'step 4 "unplug": hazards[0]', '"airbagg"', "the id of a hazard", "airbag"))
    seats.toml: step 4 "unplug": hazards[0]
      found "airbagg"; wanted the id of a hazard (did you mean `airbag`?)
    """

    file: str
    path: str
    found: str | None
    wanted: str
    nearest: str | None = None
    line: int | None = None

    def __str__(self) -> str:
        line = f"line {self.line}" if self.line else ""
        where = ": ".join(filter(None, (self.file, line, self.path)))
        found = f"found {self.found}; " if self.found else ""
        hint = f" (did you mean `{self.nearest}`?)" if self.nearest else ""
        return f"{where}\n  {found}wanted {self.wanted}{hint}"


class WrongFile(Exception):
    """A file cannot be used; carries every problem found."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems


class PackError(WrongFile):
    """Packs cannot be used."""


def shown(value: object) -> str:
    """`value` as a person would read it in the file: short, on one line, harmless to a terminal.

    >>> shown(["a\\x1b[2J", True, 1.5])
    '["a[2J", true, 1.5]'
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{shortened(value)}"'
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, list | tuple):
        return shortened(f"[{', '.join(shown(item) for item in value[:9])}{', ...' if len(value) > 9 else ''}]")
    if isinstance(value, dict):
        return "a table"
    return shortened(str(value))


def shortened(text: str) -> str:
    """The beginning of `text`, plain and on one line.

    >>> shortened("word " * 20)
    'word word word word word word word word word wor...'
    """
    if len(text) <= LONGEST_SHOWN and text.isascii() and text.isprintable():
        return text.strip()
    begins = one_line(text[: 2 * LONGEST_SHOWN]).strip()
    return begins if len(begins) <= LONGEST_SHOWN and len(text) <= 2 * LONGEST_SHOWN else begins[:LONGEST_SHOWN] + "..."


def in_file_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """`problems` file by file, from the top of each to its bottom, each once."""
    return tuple(sorted(dict.fromkeys(problems), key=_place))


def _place(problem: Problem) -> tuple[str, int, list[tuple[int, str]]]:
    """Numbers in a key path count as numbers: step 9 comes before step 10, and the head of a file before its steps."""
    words = re.split(r"(\d+)", problem.path) if re.search(r"\d", problem.path) else []
    return problem.file, problem.line or 0, [(int(word), "") if word.isdecimal() else (0, word) for word in words]
