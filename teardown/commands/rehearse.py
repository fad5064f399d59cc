"""The screen on a scratch copy of the sample car: a rehearsal, with waits that run 60 times faster."""

from __future__ import annotations

import argparse
import shutil
import tempfile
from pathlib import Path

from teardown.car.facts import FACTS
from teardown.commands.walk import walk
from teardown.packs.shipped import sample_car
from teardown.stop import CANNOT_WRITE, WRONG_USE, Stop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--folder", metavar="DIR", help="keep the copy here; an earlier copy is opened again")
    parser.add_argument("--plain", action="store_true", help="say the step and read a line: no screen is painted")
    parser.add_argument("--who", help="who is working")


def run(args: argparse.Namespace) -> int:
    if args.folder:
        _copy(Path(args.folder))
        return walk(args.folder, plain=args.plain, who=args.who, rehearsal=True)
    with tempfile.TemporaryDirectory(prefix="teardown-rehearsal-") as scratch:
        folder = Path(scratch) / "sample_car"
        _copy(folder)
        return walk(str(folder), plain=args.plain, who=args.who, rehearsal=True)


def _copy(folder: Path) -> None:
    """The sample car, copied unless the folder holds a car already."""
    if (folder / FACTS).exists():
        return
    if folder.exists() and any(folder.iterdir()):
        raise Stop(WRONG_USE, f"{folder} holds other files: nothing is copied over them. Name a new folder")
    try:
        shutil.copytree(sample_car(), folder, dirs_exist_ok=True)
    except OSError as error:
        raise Stop(CANNOT_WRITE, f"the sample car cannot be copied to {folder}: {error}") from error
