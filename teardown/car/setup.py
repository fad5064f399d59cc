"""Setting up a car: a folder with car.toml, an empty log that has begun, and room for photos and sheets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from teardown.car.clock import Clock
from teardown.car.disk import write_new
from teardown.car.door import LOG, begin_log
from teardown.car.facts import FACTS, parse_facts
from teardown.car.facts_file import facts_text
from teardown.car.log import LogError
from teardown.packs.model import Feature
from teardown.packs.reader import Library
from teardown.packs.route import settled

FOLDERS = ("photos", "sheets")


class AlreadyThere(Exception):
    """The folder holds a car already."""


def set_up(folder: Path, facts: Mapping[str, Any], library: Library, clock: Clock, who: str) -> None:
    """Make the folder. Raises AlreadyThere, FactsError, LogError or OSError; nothing that exists is overwritten, and
    nothing that stops it leaves half a car."""
    if (folder / FACTS).exists() or (folder / LOG).exists():
        half = [name for name in (FACTS, LOG) if not (folder / name).exists()]
        missing = f", but no {half[0]}: put that back, or use a new folder" if half else ""
        raise AlreadyThere(f"{folder} holds a car already{missing}: nothing was changed")
    text = facts_text(facts, library)
    parse_facts(text)
    folder.mkdir(parents=True, exist_ok=True)
    for name in FOLDERS:
        (folder / name).mkdir(parents=True, exist_ok=True)
    write_new(folder / FACTS, text.encode())
    try:
        begin_log(folder, clock, who)
    except (LogError, OSError):
        _take_back(folder)
        raise


def _take_back(folder: Path) -> None:
    """What was just made of a car whose log could not begin: left there it could be neither used nor set up anew."""
    log = folder / LOG
    if not log.exists() or not log.stat().st_size:
        log.unlink(missing_ok=True)
        (folder / FACTS).unlink()


def questions(library: Library, facts: Mapping[str, Any]) -> tuple[Feature, ...]:
    """The questions about the car that are open: neither answered in `facts` nor settled by what is."""
    answers = settled(library, facts.get("fitted", {}), facts.get("fuel"))
    return tuple(feature for feature in library.features.values() if feature.id not in answers)
