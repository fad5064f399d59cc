"""Logs to test with; and the format written once more, from FORMAT.md alone, to hold the program against it."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

from teardown.car.log import Entry, Found, read_log
from teardown.car.logwriter import LogWriter, open_for_writing
from tests.world.clock import HandClock


def opened(path: Path, clock: HandClock | None = None) -> LogWriter:
    return open_for_writing(path, clock or HandClock(), lambda entry: None)


def written(path: Path, entries: int = 4) -> list[Entry]:
    """A log of so many entries, the first one marking the format."""
    clock = HandClock()
    with opened(path, clock) as log:
        made = [log.append("Ana", "opened", {"format": 1})]
        for n in range(2, entries + 1):
            clock.advance(7.5)
            made.append(log.append("Bo", "note", {"text": f"note {n}: 3 \u00b0C", "mass_kg": n / 7}))
    return made


def read(path: Path) -> list[Entry]:
    return list(read_log(path))


def look(path: Path) -> tuple[list[Entry], Found, Exception | None]:
    """What stands, what was found, and what ended the reading."""
    entries: list[Entry] = []
    found = Found()
    try:
        entries.extend(read_log(path, found))
    except Exception as error:
        return entries, found, error
    return entries, found, None


def signed(body: bytes, before: str) -> tuple[bytes, str]:
    """A line with a digest that fits, whatever `body` says; FIPS 180-4 by way of hashlib."""
    digest = hashlib.sha256(before.encode() + body).hexdigest()
    return body + b',"digest":"' + digest.encode() + b'"}\n', digest


def body(**changed: Any) -> bytes:
    """A line as FORMAT.md has it, up to its digest; a member changed to `...` is left out."""
    members: dict[str, Any] = {
        "n": 1,
        "utc": "2026-11-25T07:29:53.120Z",
        "boot": "boot-1",
        "s": 5120.377,
        "day": "2026-11-25",
        "who": "Ana",
        "kind": "note",
        "fields": {"text": "x"},
    }
    kept = {key: value for key, value in (members | changed).items() if value is not ...}
    return json.dumps(kept, separators=(",", ":")).encode()[:-1]
