"""Is the log whole: what stands, what was torn off by a power cut, what is damaged. Never changes anything."""

from __future__ import annotations

import argparse
import json
import os
from pathlib import Path
from typing import Any

from teardown.car.door import LOG
from teardown.car.entries import KINDS
from teardown.car.log import FORMAT, Damaged, Entry, Found, Newer, Unreadable, read_log
from teardown.stop import DONE, LOG_DAMAGED, WRONG_USE, Stop
from teardown.text import counted, one_line


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.epilog = "exit status: 0 whole (a torn tail is no damage); 2 no such log; 4 damaged, or of a newer version"
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("--json", action="store_true", help="print what was found as JSON")


def run(args: argparse.Namespace) -> int:
    path = Path(args.folder) / LOG
    found, stranger = look_through(path)
    data = as_data(path, found, stranger)
    print(json.dumps(data, ensure_ascii=False) if args.json else "\n".join(as_text(path, found, stranger)))
    return DONE if data["whole"] else LOG_DAMAGED


def look_through(path: Path) -> tuple[Found, Entry | None]:
    """What reading the whole log finds, and the first entry of a kind that this version does not know. Raises Stop
    where there is nothing to read."""
    if not path.parent.is_dir():
        raise Stop(WRONG_USE, f"{one_line(str(path.parent))} is no folder")
    if not os.path.lexists(path):
        raise Stop(WRONG_USE, f"{one_line(str(path.parent))} holds no {path.name}: it is not a car's folder")
    found, stranger = Found(), None
    try:
        for entry in read_log(path, found):
            if stranger is None and entry.kind not in KINDS:
                stranger = entry
    except (Damaged, Newer):
        pass  # `found` tells
    except Unreadable as error:
        raise Stop(WRONG_USE, one_line(str(error))) from error
    return found, stranger


def as_data(path: Path, found: Found, stranger: Entry | None) -> dict[str, Any]:
    """Everything `--json` prints. A torn tail is no damage: what it was part of had never been confirmed."""
    return {
        "log": one_line(str(path)),
        "whole": found.entries > 0 and found.damage is None and found.newer_format is None and stranger is None,
        "entries": found.entries,
        "first_utc": found.first_utc,
        "last_utc": found.last_utc,
        "digest": found.digest,
        "torn": {"offset": found.length, "bytes": found.torn_bytes} if found.torn_bytes else None,
        "damage": {"line": found.damaged_line, "why": found.damage} if found.damage else None,
        "newer_format": found.newer_format,
        "unknown_kind": {"line": stranger.n, "kind": one_line(stranger.kind)} if stranger else None,
    }


def as_text(path: Path, found: Found, stranger: Entry | None) -> list[str]:
    """The same for people."""
    lines = [f"{one_line(str(path))}: {counted(found.entries, 'entry')}"]
    if found.entries:
        lines += [
            f"from {found.first_utc} to {found.last_utc}",
            f"digest of entry {found.entries}: {found.digest}",
            f"Keep a note of it elsewhere: while the log is whole and its line {found.entries} still ends in it, "
            "nothing up to there was changed.",
        ]
    return lines + _what_else(found, stranger)


def _what_else(found: Found, stranger: Entry | None) -> list[str]:
    if found.damage:
        return [
            f"DAMAGED in line {found.damaged_line}: {found.damage}.",
            "What comes before that line stands and can be read; nothing more is written to this log. "
            "Put back a copy of the folder from before the damage.",
        ]
    if found.newer_format:
        return [
            f"NOT READ FURTHER: a newer version of teardown wrote on (format {found.newer_format}; "
            f"this one knows {FORMAT}). Use that version."
        ]
    if stranger is not None:
        return [
            f"NOT UNDERSTOOD: its lines fit, but entry {stranger.n} is of a kind that this version does not know "
            f"({one_line(stranger.kind)[:40]}): a newer version of teardown wrote it. Use that version."
        ]
    if found.torn_bytes:
        return [
            "Whole, save that the last write was never finished, or is being written just now: the "
            f"{found.torn_bytes} bytes after byte {found.length} are no entry. Nothing that was confirmed is lost. "
            "The next program that writes here sets them aside in a file.",
        ]
    if not found.entries:
        return ["EMPTY: a car's log begins with an entry. Put back a copy of the folder from before it was emptied."]
    return ["Whole."]
