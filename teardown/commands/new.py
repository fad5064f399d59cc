"""Set up a car: asks on a terminal, takes flags without one. What nobody knows about the car counts as fitted."""

from __future__ import annotations

import argparse
import re
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap
from typing import Any, NamedTuple, get_args

import tomli_w

from teardown.car.clock import SystemClock
from teardown.car.disk import reason
from teardown.car.facts import SIZE_FACTORS, FactsError, Money, parse_facts
from teardown.car.log import LogError
from teardown.car.record import WrongRecord, set_up_from
from teardown.car.setup import AlreadyThere, questions, set_up
from teardown.nearest import did_you_mean
from teardown.packs.model import Feature, FuelKind
from teardown.packs.reader import Library, load
from teardown.packs.route import settled
from teardown.packs.shipped import procedures
from teardown.stop import CANNOT_WRITE, DONE, WRONG_USE, Stop
from teardown.text import counted, plain

DEFAULT_CURRENCY: str = Money.model_fields["currency"].default

SIZES = """How large is it?
   city         the smallest: two or four seats, hardly any boot
   supermini    small hatchback, small roadster
   compact      five seats, short boot or tailgate
   mid-size     family saloon or estate; Enter alone takes this one
   large        large saloon or estate, luxury
   van          van-based, tall, or heavy with four driven wheels"""

INTRODUCTION = """Press Enter alone where you do not know: what is not known counts as fitted.
Type b to go back to the question before."""

QUESTIONS = {
    "name": "Nickname of the car:",
    "goal": "Weight goal, like 1100kg:",
    "kerb": "Weight in its papers, like 1350kg:",
    "size": f"{SIZES}\nClass of car: every mass the packs know is scaled by it:",
    "fuel": "It runs on petrol, diesel or gas:",
    "steering": "Driver sits on the left or right:",
    "wheelbase": "Wheelbase, like 2.60m:",
    "track_front": "Front track, like 1.50m:",
    "who": "Who works on it (names, with commas):",
    "money": f"Currency of its money, the ISO 4217 code; Enter alone takes {DEFAULT_CURRENCY}:",
    "private": "What no buyer may read: plate, chassis number, street, your name (with commas):",
}
SEVERAL = ("who", "private")
CHOSEN = ("size", "fuel", "steering")
BACK = object()
ANSWERS = {"yes": True, "y": True, "no": False, "n": False}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("--name", help="the car's nickname; else the folder's name")
    parser.add_argument("--goal", help="the weight you have set yourself, like 1100kg")
    parser.add_argument("--kerb", help="what its papers say it weighs, until it is weighed")
    parser.add_argument("--size", choices=SIZE_FACTORS, help="the class of car; scales the packs' masses")
    parser.add_argument("--fuel", choices=get_args(FuelKind), help="what it runs on")
    parser.add_argument("--steering", choices=("left", "right"), help="the side the driver sits on")
    parser.add_argument("--currency", metavar="CODE", help="of its money, by ISO 4217; else " + DEFAULT_CURRENCY)
    parser.add_argument("--wheelbase", help="like 2.60m")
    parser.add_argument("--track-front", help="like 1.50m")
    parser.add_argument("--track-rear", help="like 1.48m")
    parser.add_argument("--who", action="append", default=[], help="who works on it; may be given more than once")
    parser.add_argument(
        "--private",
        action="append",
        default=[],
        metavar="TEXT",
        help="what no buyer may read, like the plate, the chassis number, the street; may be given more than once",
    )
    parser.add_argument(
        "--fitted", action="append", default=[], metavar="FEATURE=yes|no", help="may be given more than once"
    )
    parser.add_argument(
        "--record", metavar="FILE", type=Path, help="set it up again from a record: teardown sheet FOLDER record"
    )
    parser.add_argument("--no-questions", action="store_true", help="ask nothing, even on a terminal")


def run(args: argparse.Namespace) -> int:
    if args.record is not None:
        return _from_record(args.record, Path(args.folder))
    folder, library = Path(args.folder), load(procedures())
    facts = _facts_from_flags(args, library)
    if sys.stdin.isatty() and sys.stdout.isatty() and not args.no_questions:
        try:
            _ask(facts, library)
        except (EOFError, UnicodeError):
            raise Stop(WRONG_USE, "the answers ended before the questions did: nothing was set up") from None
    facts.setdefault("name", folder.resolve().name or "car")
    who = facts["who"][0] if facts.get("who") else "unknown"
    try:
        set_up(folder, facts, library, SystemClock(), who)
    except (AlreadyThere, FactsError) as error:
        raise Stop(WRONG_USE, str(error)) from error
    except OSError as error:
        raise Stop(CANNOT_WRITE, f"{folder} cannot be set up: {reason(error)}") from error
    except LogError as error:
        raise Stop(CANNOT_WRITE, f"{folder} cannot be set up: {error}") from error
    named = plain(str(folder))
    print(f"{named} is set up: {named}/car.toml holds what is known, and every other key as a comment.")
    print(f"Open questions about the car, which count as fitted: {len(questions(library, facts))}")
    if "money" not in facts:
        print(
            f"Its money is in {DEFAULT_CURRENCY}. If that is wrong, change it in car.toml: the first amount settles it"
        )
    print(f"Next: teardown walk {named}")
    return DONE


def _from_record(record: Path, folder: Path) -> int:
    try:
        held = set_up_from(record, folder)
    except (WrongRecord, FactsError, FileExistsError) as error:
        raise Stop(WRONG_USE, f"{record}: {error}") from error
    except OSError as error:
        raise Stop(CANNOT_WRITE, f"{folder} cannot be set up: {reason(error)}") from error
    packs = f" and packs of its own: {', '.join(held.packs)}" if held.packs else ""
    print(plain(f"{folder} is set up again with {counted(len(held.entries), 'entry')}{packs}."))
    print("Photos are not in a record: copy their folder")
    if held.lacks is not None:
        lacks = f"car.toml names the packs in {held.lacks}, which this record does not hold: copy that folder too"
        print(plain(lacks))
    return DONE


def _facts_from_flags(args: argparse.Namespace, library: Library) -> dict[str, Any]:
    named = ("name", "goal", "kerb", "size", "fuel", "steering", "wheelbase", "track_front", "track_rear")
    facts = {key: getattr(args, key) for key in named if getattr(args, key)}
    facts |= {"money": {"currency": args.currency.upper()}} if args.currency else {}
    facts |= {key: words for key, words in (("who", args.who), ("private", args.private)) if words}
    facts["fitted"] = dict(_fitted_flag(word, library) for word in args.fitted)
    return facts


def _fitted_flag(word: str, library: Library) -> tuple[str, bool]:
    name, _, answer = word.partition("=")
    if name not in library.features or answer not in ANSWERS:
        nearby = "" if name in library.features else did_you_mean(name, library.features)
        raise Stop(WRONG_USE, f"--fitted {word}: FEATURE=yes or no{nearby}, of: {', '.join(library.features)}")
    return name, ANSWERS[answer]


class _Question(NamedTuple):
    """One thing to ask: a fact by its key, or a feature by its id."""

    key: str
    text: str
    feature: Feature | None = None

    def store(self, facts: dict[str, Any]) -> dict[str, Any]:
        """Where its answer is kept."""
        return facts["fitted"] if self.feature else facts

    def is_open(self, facts: dict[str, Any], library: Library) -> bool:
        """Whether nothing that was said has answered it."""
        if self.feature is None:
            return self.key not in facts
        return self.key not in settled(library, facts["fitted"], facts.get("fuel"))


def _ask(facts: dict[str, Any], library: Library) -> None:
    """The questions, one a line. An empty answer leaves the matter open; `b` goes back to the question before."""
    print(_wrapped(INTRODUCTION))
    todo = [question for question in _questions(library) if question.is_open(facts, library)]
    asked: list[_Question] = []
    while ahead := _ahead(todo, asked, facts, library):
        question = ahead[0]
        answer = _answer(question, f"{len(asked) + 1} of {len(asked) + len(ahead)}: ")
        if answer is BACK:
            before = asked.pop() if asked else question
            if (taken := before.store(facts).pop(before.key, None)) is not None:
                print(_wrapped(f"taken back: {_typed(taken)}. Type it again if it stands", "  "))
            continue
        asked.append(question)
        if answer is not None:
            question.store(facts)[question.key] = answer


def _questions(library: Library) -> Iterator[_Question]:
    yield from (_Question(key, text) for key, text in QUESTIONS.items())
    for feature in library.features.values():
        hint = f" ({feature.look_for})" if feature.look_for else ""
        yield _Question(feature.id, f"{feature.asks}{hint} [y/n/Enter]", feature)


def _ahead(todo: list[_Question], asked: list[_Question], facts: dict[str, Any], library: Library) -> list[_Question]:
    """The questions that are still to come, in their order."""
    behind = todo.index(asked[-1]) + 1 if asked else 0
    return [question for question in todo[behind:] if question.is_open(facts, library)]


def _answer(question: _Question, number: str) -> object:
    """What was answered: BACK, None for nothing. What cannot be meant is asked again."""
    while typed := input(f"{_wrapped(number + question.text)} ").strip():
        if (typed.lower() if question.feature else typed) in ("b", "back"):  # a person may be called B
            return BACK
        try:
            return _read(question, typed)
        except _NotMeant as error:
            print(_wrapped(f"wanted {error}", "  "))
    return None


class _NotMeant(Exception):
    """An answer that cannot be meant; the message says what is wanted."""


def _read(question: _Question, typed: str) -> object:
    """Each answer is held against car.toml at once: nobody should answer forty more before one is refused."""
    if question.feature is not None:
        if typed.lower() not in ANSWERS:
            raise _NotMeant("y for yes, n for no, or Enter alone where you do not know")
        return ANSWERS[typed.lower()]
    value = _value(question.key, typed)
    try:
        parse_facts(tomli_w.dumps({"name": "car", question.key: value}))
    except FactsError as error:
        raise _NotMeant("; ".join(problem.wanted for problem in error.problems)) from None
    return value


def _value(key: str, typed: str) -> object:
    """An answer as car.toml holds it."""
    if key == "money":
        return {"currency": typed.upper()}
    if key in SEVERAL:
        return [one.strip() for one in typed.split(",") if one.strip()]
    return typed.lower() if key in CHOSEN else typed


def _typed(value: object) -> str:
    """An answer as it may be typed again."""
    if isinstance(value, bool):
        return "y" if value else "n"
    several = value.values() if isinstance(value, dict) else value if isinstance(value, list) else [value]
    return ", ".join(map(str, several))


def _wrapped(text: str, indent: str = "") -> str:
    """The lines of a text, broken between words at the terminal's edge."""
    columns = max(20, shutil.get_terminal_size().columns - 1)
    lines = (_indented(line, indent) for line in text.splitlines())
    return "\n".join(part for line, hanging in lines for part in wrap(line, columns, subsequent_indent=hanging))


def _indented(line: str, indent: str) -> tuple[str, str]:
    """A line, and what the lines that it is broken into begin with: what stands below the first word of a table."""
    inside = len(line) - len(line.lstrip())
    table = re.match(r" +\S+ {2,}", line)
    return indent + line, " " * (len(indent) + (table.end() if table else inside))
