"""Be walked through the strip, at the screen or line by line."""

from __future__ import annotations

import argparse
import os
import sys

from teardown.car.door import Car
from teardown.collector import wake_collector
from teardown.commands.opening import car_at, car_to_work_on
from teardown.stop import DONE, LOG_DAMAGED, WRONG_USE, Stop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("--plain", action="store_true", help="say the step and read a line: no screen is painted")
    parser.add_argument("--who", help="who is working; else the first name of `who` in car.toml")
    parser.add_argument("--read", action="store_true", help="only look: nothing is written")


def run(args: argparse.Namespace) -> int:
    if not args.plain:
        needs_a_terminal(
            f"Line by line: teardown walk {args.folder} --plain. Where the car stands: teardown show {args.folder}. "
            f"One entry: teardown enter {args.folder} KIND key=value"
        )
    return walk(args.folder, plain=args.plain, who=args.who, rehearsal=False, write=not args.read)


def walk(folder: str, *, plain: bool, who: str | None, rehearsal: bool, write: bool = True) -> int:
    """Open the car and walk it; a rehearsal only where one was asked for."""
    opened = car_to_work_on(folder, rehearsal=rehearsal) if write else car_at(folder, write=False)
    with opened as car:
        worker = who or (car.facts.who[0] if car.facts.who else "unknown")
        if plain:
            from teardown.commands.plain import walk_in_lines

            wake_collector()
            walk_in_lines(car, worker, sys.stdin, sys.stdout)
        else:
            _screen(car, worker)
        return LOG_DAMAGED if car.damage else DONE


def _screen(car: Car, worker: str) -> None:
    from teardown.screens.app import run_screen

    run_screen(car, worker)


def needs_a_terminal(instead: str) -> None:
    """Raises Stop, with what to use `instead`, where no screen can be painted."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") == "dumb":
        raise Stop(WRONG_USE, f"the screen needs a terminal. {instead}")
