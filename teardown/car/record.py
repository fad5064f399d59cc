"""The whole record of a car as one TOML file, and reading it back into the same state.

The facts stand as the text of car.toml, the entries as the log has them, digests and all. Reading back writes the same
log again, line by line, and holds every digest against the record's: what was changed in between is found.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import tomli

from teardown.car.clock import Instant
from teardown.car.disk import sync_folder, write_synced
from teardown.car.door import LOG
from teardown.car.facts import FACTS, parse_facts
from teardown.car.log import CannotWrite, Entry, line_of, read_log
from teardown.text import one_line

FORMAT = 1
MOST_BYTES = 256 * 1024 * 1024
NOT_BEGUN = "0" * 64


class WrongRecord(ValueError):
    """The file is no record, or not as it was written; the message says where."""


def record_text(folder: Path) -> str:
    """The record of the car in `folder`."""
    import tomli_w

    entries = list(read_log(folder / LOG))
    rehearsal = bool(entries) and entries[0].fields.get("rehearsal") is True
    record = {
        "record": FORMAT,
        **({"rehearsal": "REHEARSAL: not a car"} if rehearsal else {}),
        "facts": (folder / FACTS).read_text(encoding="utf-8"),
        "entries": [_as_table(entry) for entry in entries],
    }
    return tomli_w.dumps(record)


def _as_table(entry: Entry) -> dict[str, Any]:
    return {
        "n": entry.n,
        "utc": entry.at.utc,
        "boot": entry.at.boot,
        "s": entry.at.seconds,
        "day": entry.at.day,
        "who": entry.who,
        "kind": entry.kind,
        "fields": entry.fields,
        "digest": entry.digest,
    }


def read_record(text: str) -> tuple[str, list[bytes], list[Entry]]:
    """The facts, the lines of the log and its entries. Raises WrongRecord or FactsError."""
    try:
        record = tomli.loads(text)
        if record["record"] != FORMAT:
            raise WrongRecord(f"this record is of format {record['record']!r:.40}, and this version reads {FORMAT}")
        facts, tables = record["facts"], record["entries"]
        read = list(_lines_again(tables))
        parse_facts(facts)
    except WrongRecord:
        raise
    except (ValueError, RecursionError) as error:  # a number of thousands of digits too
        raise WrongRecord(f"not TOML: {one_line(str(error))}") from None
    except (KeyError, TypeError, AttributeError) as error:
        raise WrongRecord(f"not a record of a car: {error!r}") from None
    return facts, [line for line, _ in read], [entry for _, entry in read]


def _lines_again(tables: list[dict[str, Any]]) -> Iterator[tuple[bytes, Entry]]:
    before = NOT_BEGUN
    for number, table in enumerate(tables, start=1):
        at = Instant(table["utc"], table["boot"], table["s"], table["day"])
        try:
            line, entry = line_of(table["n"], at, table["who"], table["kind"], table["fields"], before)
        except CannotWrite as error:
            raise WrongRecord(f"entry {number}: {error}") from None
        if table["n"] != number or entry.digest != table["digest"]:
            raise WrongRecord(f"entry {number} is not as it was recorded: its digest does not fit")
        before = entry.digest
        yield line, entry


def set_up_from(record: Path, folder: Path) -> int:
    """Make a car's folder from a record, whole or not at all; give back how many entries it has.

    Raises WrongRecord, FactsError, FileExistsError when something is there already, or OSError.
    """
    with record.open("rb") as file:
        content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise WrongRecord(f"{record.name} is larger than {MOST_BYTES // 1024**2} MiB")
    try:
        facts, lines, entries = read_record(content.decode())
    except UnicodeDecodeError:
        raise WrongRecord(f"{record.name} is not text in UTF-8") from None
    _refuse_taken(folder)
    made = folder.with_name(f".{folder.name}.{os.getpid()}.new")
    try:
        for name in ("photos", "sheets"):
            (made / name).mkdir(parents=True)
        write_synced(made / FACTS, facts.encode())
        write_synced(made / LOG, b"".join(lines))
        os.rename(made, folder)
    finally:
        shutil.rmtree(made, ignore_errors=True)
    sync_folder(folder.parent)
    return len(entries)


def _refuse_taken(folder: Path) -> None:
    if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
        raise FileExistsError(f"{folder} is there already and not empty: nothing was changed")
