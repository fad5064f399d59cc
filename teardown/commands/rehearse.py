"""The screen on a scratch copy of the sample car: a rehearsal, with waits that run 60 times faster."""

from __future__ import annotations

import argparse
import os
import shutil
import tempfile
from pathlib import Path

from teardown.car.disk import reason
from teardown.car.facts import FACTS
from teardown.commands.walk import needs_a_terminal, walk
from teardown.packs.shipped import sample_car
from teardown.stop import CANNOT_WRITE, WRONG_USE, Stop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--folder", metavar="DIR", help="keep the copy here; an earlier copy is opened again")
    parser.add_argument("--plain", action="store_true", help="say the step and read a line: no screen is painted")
    parser.add_argument("--who", help="who is working")


def run(args: argparse.Namespace) -> int:
    if not args.plain:
        needs_a_terminal(f"Line by line: {_again(args.folder)} --plain")
    if args.folder:
        _copy(Path(args.folder))
        return walk(args.folder, plain=args.plain, who=args.who, rehearsal=True)
    with _scratch() as scratch:
        folder = Path(scratch) / "sample_car"
        _copy(folder)
        return walk(str(folder), plain=args.plain, who=args.who, rehearsal=True)


def _again(folder: str | None) -> str:
    """The command that opens the same rehearsal: a scratch copy is gone with the program that made it."""
    return f"teardown try --folder {folder}" if folder else "teardown try"


def _scratch() -> tempfile.TemporaryDirectory[str]:
    try:
        return tempfile.TemporaryDirectory(prefix="teardown-rehearsal-", ignore_cleanup_errors=True)
    except OSError as error:
        raise Stop(CANNOT_WRITE, f"no folder for a scratch copy: {reason(error)}. Name one: --folder DIR") from error


def _copy(folder: Path) -> None:
    """The sample car, copied unless the folder holds a car already."""
    if (folder / FACTS).exists():
        return
    if folder.exists() and any(folder.iterdir()):
        raise Stop(WRONG_USE, f"{folder} holds other files: nothing is copied over them. Name a new folder")
    beside = folder.with_name(f".{folder.name}.{os.getpid()}.new")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        shutil.copytree(sample_car(), beside)
        if folder.exists():
            folder.rmdir()
        beside.rename(folder)  # whole or not at all: half a rehearsal would be taken for a car
    except OSError as error:  # of a copy that failed, shutil tells only a list of what was copied
        full = isinstance(error, shutil.Error)
        why = "the disk is full, or does not do it" if full else reason(error)
        raise Stop(CANNOT_WRITE, f"the sample car cannot be copied to {folder}: {why}") from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
