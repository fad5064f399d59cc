"""How a figure declares its flags: each with the quantity it takes, so that the refusal gives an example."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from typing import NoReturn, TypeVar

from teardown import units

Read = TypeVar("Read")


class WrongUse(Exception):
    """The command line cannot be understood; the message is one sentence."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise WrongUse(message)


def figure_parser(name: str, question: str) -> argparse.ArgumentParser:
    """A parser that refuses in one sentence and takes -40C and -0.36m for values, not flags."""
    parser = _Parser(prog=f"teardown figure {name}", description=question, allow_abbrev=False)
    parser._negative_number_matcher = re.compile(r"^-[0-9.,]")
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")
    return parser


def typed(read: Callable[[str], Read]) -> Callable[[str], Read]:
    """A reader whose own sentence reaches the person, not the parser's general one."""

    def convert(text: str) -> Read:
        try:
            return read(text)
        except units.UnitError as wrong:
            raise argparse.ArgumentTypeError(str(wrong)) from None

    return convert


def quantity(name: str, default_unit: str | None = None) -> Callable[[str], float]:
    """A reader of one quantity."""
    return typed(lambda text: units.parse(text, name, default_unit))


def quantities(name: str, count: int | None = None) -> Callable[[str], list[float]]:
    """A reader of several."""
    return typed(lambda text: units.parse_list(text, name, count=count))
