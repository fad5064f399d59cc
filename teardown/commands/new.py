"""Set up a car: asks on a terminal, takes flags without one. What nobody knows about the car counts as fitted."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any, get_args

import tomli_w

from teardown.car.clock import SystemClock
from teardown.car.disk import reason
from teardown.car.facts import SIZE_FACTORS, FactsError, parse_facts
from teardown.car.log import LogError
from teardown.car.record import WrongRecord, set_up_from
from teardown.car.setup import AlreadyThere, questions, set_up
from teardown.packs.model import Feature, FuelKind
from teardown.packs.reader import Library, load
from teardown.packs.shipped import procedures
from teardown.stop import CANNOT_WRITE, DONE, WRONG_USE, Stop
from teardown.text import counted

SIZES = """How large is it?
   city         the smallest: two or four seats, hardly any boot
   supermini    small hatchback, small roadster
   compact      five seats, short boot or tailgate
   mid-size     family saloon or estate; Enter alone takes this one
   large        large saloon or estate, luxury
   van          van-based, tall, or heavy with four driven wheels"""

QUESTIONS = {
    "name": "Nickname of the car",
    "goal": "Weight goal, like 1100kg",
    "kerb": "Weight in its papers, like 1350kg",
    "size": f"{SIZES}\nClass of car: every mass the packs know is scaled by it",
    "fuel": "It runs on petrol, diesel or gas",
    "steering": "Driver sits on the left or right",
    "wheelbase": "Wheelbase, like 2.60m",
    "track_front": "Front track, like 1.50m",
    "who": "Who works on it (names, with commas)",
    "private": "What no buyer may read: plate, chassis number, street, your name (with commas)",
}
SEVERAL = ("who", "private")
CHOSEN = ("size", "fuel", "steering")
ANSWERS = {"yes": True, "y": True, "no": False, "n": False}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("--name", help="the car's nickname; else the folder's name")
    parser.add_argument("--goal", help="the weight you have set yourself, like 1100kg")
    parser.add_argument("--kerb", help="what its papers say it weighs, until it is weighed")
    parser.add_argument("--size", choices=SIZE_FACTORS, help="the class of car; scales the packs' masses")
    parser.add_argument("--fuel", choices=get_args(FuelKind), help="what it runs on")
    parser.add_argument("--steering", choices=("left", "right"), help="the side the driver sits on")
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
    print(f"{folder} is set up: {len(questions(library, facts))} questions about the car are open in")
    print(f"{folder}/car.toml and count as fitted until they are answered. Next: teardown walk {folder}")
    return DONE


def _from_record(record: Path, folder: Path) -> int:
    try:
        held = set_up_from(record, folder)
    except (WrongRecord, FactsError, FileExistsError) as error:
        raise Stop(WRONG_USE, f"{record}: {error}") from error
    except OSError as error:
        raise Stop(CANNOT_WRITE, f"{folder} cannot be set up: {reason(error)}") from error
    packs = f" and packs of its own: {', '.join(held.packs)}" if held.packs else ""
    print(f"{folder} is set up again with {counted(len(held.entries), 'entry')}{packs}.")
    print("Photos are not in a record: copy their folder")
    if held.lacks is not None:
        print(f"car.toml names the packs in {held.lacks}, which this record does not hold: copy that folder too")
    return DONE


def _facts_from_flags(args: argparse.Namespace, library: Library) -> dict[str, Any]:
    named = ("name", "goal", "kerb", "size", "fuel", "steering", "wheelbase", "track_front", "track_rear")
    facts = {key: getattr(args, key) for key in named if getattr(args, key)}
    facts |= {key: words for key, words in (("who", args.who), ("private", args.private)) if words}
    facts["fitted"] = dict(_fitted_flag(word, library) for word in args.fitted)
    return facts


def _fitted_flag(word: str, library: Library) -> tuple[str, bool]:
    name, _, answer = word.partition("=")
    if name not in library.features or answer not in ANSWERS:
        raise Stop(WRONG_USE, f"--fitted {word}: FEATURE=yes or no, of: {', '.join(library.features)}")
    return name, ANSWERS[answer]


def _ask(facts: dict[str, Any], library: Library) -> None:
    """The questions, one a line. An empty answer leaves the matter open."""
    print("Press Enter alone where you do not know: what is not known counts as fitted.")
    for key, question in QUESTIONS.items():
        _ask_for(facts, key, question)
    for feature in questions(library, facts):
        if (answer := _yes_or_no(feature)) is not None:
            facts["fitted"][feature.id] = answer


def _ask_for(facts: dict[str, Any], key: str, question: str) -> None:
    """Each answer is held against car.toml at once: nobody should answer forty more before one is refused."""
    while key not in facts and (answer := input(f"{question}: ").strip()):
        value: str | list[str] = answer.lower() if key in CHOSEN else answer
        if key in SEVERAL:
            value = [one.strip() for one in answer.split(",") if one.strip()]
        try:
            parse_facts(tomli_w.dumps({"name": "car", key: value}))
            facts[key] = value
        except FactsError as error:
            print("  " + "; ".join(f"wanted {problem.wanted}" for problem in error.problems))


def _yes_or_no(feature: Feature) -> bool | None:
    hint = f" ({feature.look_for})" if feature.look_for else ""
    while True:
        answer = input(f"{feature.asks}{hint} [y/n/Enter] ").strip().lower()
        if not answer:
            return None
        if answer in ANSWERS:
            return ANSWERS[answer]
