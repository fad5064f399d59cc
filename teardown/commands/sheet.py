"""Write a sheet for other people: into the car's folder, or where you say. Nothing older is written over."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from teardown.car.disk import reason
from teardown.commands.opening import car_at
from teardown.sheets.writing import KINDS, write_sheet
from teardown.stop import CANNOT_WRITE, DONE, Stop
from teardown.text import plain


def add_arguments(parser: argparse.ArgumentParser) -> None:
    kinds = "\n".join(f"  {kind:<11} {says}" for kind, says in KINDS.items())
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = f"kinds:\n{kinds}\n\nA record is read back with: teardown new FOLDER --record FILE"
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("kind", choices=KINDS, metavar="KIND", help="one of the kinds below")
    parser.add_argument("--to", metavar="FOLDER", type=Path, help="write it there instead of into the car's folder")
    parser.add_argument("--json", action="store_true")


def run(args: argparse.Namespace) -> int:
    told: list[str] = []
    with car_at(args.folder, write=False) as car:
        try:
            files = write_sheet(car, args.kind, args.to, told.append)
        except OSError as error:
            why = f"the sheet was not written, and nothing of it is there: {reason(error)}"
            raise Stop(CANNOT_WRITE, why) from error
    names = [str(file) for file in files]
    if args.json:
        print(json.dumps({"kind": args.kind, "files": names, "told": told}, ensure_ascii=False))
        return DONE
    print(plain("\n".join(names)))
    for note in told:
        print(plain(note), file=sys.stderr)
    return DONE
