"""Set up a car: asks on a terminal, takes flags without one. What nobody knows about the car counts as fitted."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

from teardown import units
from teardown.car.clock import SystemClock
from teardown.car.facts import SIZE_FACTORS, FactsError
from teardown.car.log import LogError
from teardown.car.record import WrongRecord, set_up_from
from teardown.car.setup import AlreadyThere, questions, set_up
from teardown.packs.model import Feature, FuelKind
from teardown.packs.reader import Library, load
from teardown.packs.shipped import procedures
from teardown.stop import CANNOT_WRITE, DONE, WRONG_USE, Stop

SIZES = """How large is it?
  city         the smallest: two or four seats, hardly any boot
  supermini    small hatchback, small roadster
  compact      five seats, short boot or tailgate
  mid-size     family saloon or estate; Enter alone takes this one
  large        large saloon or estate, luxury
  van          van-based, tall, or heavy with four driven wheels"""

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
        _ask(facts, library)
    facts.setdefault("name", folder.resolve().name or "car")
    who = facts["who"][0] if facts.get("who") else "unknown"
    try:
        set_up(folder, facts, library, SystemClock(), who)
    except (AlreadyThere, FactsError) as error:
        raise Stop(WRONG_USE, str(error)) from error
    except (OSError, LogError) as error:
        raise Stop(CANNOT_WRITE, f"{folder} cannot be set up: {error}") from error
    print(f"{folder} is set up: {len(questions(library, facts))} questions about the car are open in")
    print(f"{folder}/car.toml and count as fitted until they are answered. Next: teardown walk {folder}")
    return DONE


def _from_record(record: Path, folder: Path) -> int:
    try:
        entries = set_up_from(record, folder)
    except (WrongRecord, FactsError, FileExistsError) as error:
        raise Stop(WRONG_USE, f"{record}: {error}") from error
    except OSError as error:
        raise Stop(CANNOT_WRITE, f"{folder} cannot be set up: {error}") from error
    print(f"{folder} is set up again with {entries} entries. Photos are not in a record: copy their folder")
    return DONE


def _facts_from_flags(args: argparse.Namespace, library: Library) -> dict[str, Any]:
    named = ("name", "goal", "kerb", "size", "fuel", "steering", "wheelbase", "track_front", "track_rear")
    facts = {key: getattr(args, key) for key in named if getattr(args, key)}
    if args.who:
        facts["who"] = args.who
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
    _ask_for(facts, "name", "Nickname of the car", str)
    _ask_for(facts, "goal", "Weight goal, like 1100kg", lambda text: _kept(text, units.mass_kg))
    _ask_for(facts, "kerb", "Weight in its papers, like 1350kg", lambda text: _kept(text, units.mass_kg))
    _ask_for(facts, "size", f"{SIZES}\nClass of car: every mass the packs know is scaled by it", _one_of(*SIZE_FACTORS))
    _ask_for(facts, "fuel", "It runs on petrol, diesel or gas", _one_of(*get_args(FuelKind)))
    _ask_for(facts, "steering", "Driver sits on the left or right", _one_of("left", "right"))
    _ask_for(facts, "wheelbase", "Wheelbase, like 2.60m", lambda text: _kept(text, units.length_m))
    _ask_for(facts, "track_front", "Front track, like 1.50m", lambda text: _kept(text, units.length_m))
    if "who" not in facts and (names := input("Who works on it (names, with commas): ").strip()):
        facts["who"] = [name.strip() for name in names.split(",") if name.strip()]
    for feature in questions(library, facts):
        if (answer := _yes_or_no(feature)) is not None:
            facts["fitted"][feature.id] = answer


def _ask_for(facts: dict[str, Any], key: str, question: str, read: Callable[[str], str]) -> None:
    while key not in facts:
        answer = input(f"{question}: ").strip()
        if not answer:
            return
        try:
            facts[key] = read(answer)
        except ValueError as error:
            print(f"  {error}")


def _kept(text: str, check: Callable[[str], float]) -> str:
    check(text)
    return text


def _one_of(*words: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text.lower() not in words:
            raise ValueError(f"{', '.join(words[:-1])} or {words[-1]}")
        return text.lower()

    return read


def _yes_or_no(feature: Feature) -> bool | None:
    hint = f" ({feature.look_for})" if feature.look_for else ""
    while True:
        answer = input(f"{feature.asks}{hint} [y/n/Enter] ").strip().lower()
        if not answer:
            return None
        if answer in ANSWERS:
            return ANSWERS[answer]
