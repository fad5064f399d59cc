"""One calculation: numbers in with their units, the answer with its limits, its assumptions and its source."""

from __future__ import annotations

import argparse
import sys
from importlib import import_module

from teardown.commands.figure.flags import WrongUse, figure_parser
from teardown.figures.errors import FigureError
from teardown.stop import DONE, WRONG_USE
from teardown.text import one_line
from teardown.units import UnitError

FIGURES = {
    "air": "what will the carbon dioxide be if I lay this much dry ice here?",
    "chill": "how much ice for this area, and how long must it lie?",
    "lift": "is this lift too much for one person?",
    "balance": "where is the weight, and what does this part do to it?",
    "height": "how high is the centre of gravity?",
    "runs": "did it really get quicker, and is it the weight?",
    "stop": "how hard did it brake, and can weight explain the change?",
    "closing": "do the parts explain the scales?",
    "carriage": "what will posting it be billed at?",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The name comes first; what follows belongs to that figure, and only its file is imported."""
    questions = "\n".join(f"  {name:<9} {question}" for name, question in FIGURES.items())
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = f"figures:\n{questions}\n\nteardown figure NAME --help tells what each takes."
    parser.add_argument("name", nargs="?", metavar="NAME", help="one of the figures below")
    parser.add_argument("rest", nargs=argparse.REMAINDER, metavar="...", help=argparse.SUPPRESS)


def run(args: argparse.Namespace) -> int:
    """Print the figure asked for; wrong or impossible input gives one sentence and status 2."""
    if args.name not in FIGURES:
        wrong = "Name a figure" if args.name is None else f"There is no figure {args.name[:40]}"
        return _refuse("teardown figure", f"{wrong}: write one of {', '.join(FIGURES)}.")
    figure = import_module(f"{__name__}.{args.name}")
    parser = figure_parser(args.name, FIGURES[args.name])
    figure.add_flags(parser)
    try:
        given = parser.parse_args(args.rest)
        answer = figure.answer(given)
    except (WrongUse, UnitError, FigureError) as wrong:
        return _refuse(parser.prog, str(wrong))
    print(answer.as_json() if given.json else answer.as_text())
    return DONE


def _refuse(prog: str, sentence: str) -> int:
    print(one_line(f"{prog}: {sentence}"), file=sys.stderr)
    return WRONG_USE
