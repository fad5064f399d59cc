"""The whole record of a car as one TOML file, and reading it back into the same state.

The facts stand as the text of car.toml, the car's own packs as the text of their files, the entries as the log has
them, digests and all. Reading back writes the same log again, line by line, and holds every digest against the
record's: what was changed in between is found. Photos are not in it.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath
from typing import Any, NamedTuple

import tomli

from teardown.car.clock import Instant
from teardown.car.disk import sync_folder, write_synced
from teardown.car.door import LOG
from teardown.car.facts import FACTS, FactsError, facts_text_at, parse_facts
from teardown.car.log import START, CannotWrite, Entry, line_of, read_log
from teardown.car.own_packs import FROM_ELSEWHERE, OWN_PACKS, lies_inside, own_packs
from teardown.packs.files import text_of
from teardown.packs.problems import WrongFile
from teardown.text import one_line

FORMAT = 2
FORMATS = (1, FORMAT)
"""The first held no packs."""
MOST_BYTES = 256 * 1024 * 1024


class WrongRecord(ValueError):
    """The file is no record, or not as it was written; the message says where."""


class Record(NamedTuple):
    """What a record holds: the facts, the car's own packs by their place in its folder, the lines of its log."""

    facts: str
    packs: Mapping[str, str]
    lines: tuple[bytes, ...]
    entries: tuple[Entry, ...]
    lacks: str | None = None
    """The folder of packs that car.toml names and a record of the first format does not hold."""


def record_text(folder: Path) -> str:
    """The record of the car in `folder`. Raises OSError, with the reason, when something of it cannot be held."""
    import tomli_w

    facts, packs = _facts_and_packs(folder)
    entries = list(read_log(folder / LOG))
    rehearsal = bool(entries) and entries[0].fields.get("rehearsal") is True
    record = {
        "record": FORMAT,
        **({"rehearsal": "REHEARSAL: not a car"} if rehearsal else {}),
        "facts": facts,
        "packs": [{"file": file, "text": text} for file, text in packs.items()],
        "entries": [_as_table(entry) for entry in entries],
    }
    try:
        return tomli_w.dumps(record)
    except (TypeError, ValueError, RecursionError) as error:  # a stranger's log: this program writes no such entry
        raise OSError(f"the log holds something that a record cannot: {one_line(str(error))}") from None


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


def _facts_and_packs(folder: Path) -> tuple[str, dict[str, str]]:
    """The facts and the car's own packs. Those that lay outside of its folder lie inside, and the facts say so."""
    try:
        facts = facts_text_at(folder / FACTS)
        named = parse_facts(facts).packs
        packs = {_place_of(folder, named, source.path): text_of(source) for source in own_packs(folder, named)}
    except WrongFile as error:
        raise OSError(str(error)) from None
    if wrong := [place for place in packs if not lies_inside(place)]:
        raise OSError(f"{one_line(wrong[0])} has a name that not every system can write: rename it")
    return (facts if named is None or lies_inside(named) else _with_packs_inside(facts, named)), packs


def _place_of(folder: Path, named: str | None, path: Path) -> str:
    """Where a pack lies when the car is set up again."""
    if named is None or lies_inside(named) or path.is_relative_to(folder / OWN_PACKS):
        return path.relative_to(folder).as_posix()
    return PurePosixPath(FROM_ELSEWHERE, path.relative_to(folder / named).as_posix()).as_posix()


def _with_packs_inside(facts: str, named: str) -> str:
    line = f'packs = "{FROM_ELSEWHERE}"  # when this was recorded: {named}'
    changed = re.sub(r"(?m)^\s*packs\s*=.*$", lambda _: line, facts, count=1)
    try:
        says_so = parse_facts(changed) == parse_facts(facts).model_copy(update={"packs": FROM_ELSEWHERE})
    except FactsError:
        says_so = False
    if not says_so:
        raise OSError(f"{FACTS} must name the folder of packs on a line of its own, like packs = {named!r}")
    return changed


def read_record(text: str) -> Record:
    """What the record in `text` holds. Raises WrongRecord or FactsError."""
    try:
        record = tomli.loads(text)
        if record["record"] not in FORMATS:
            raise WrongRecord(f"this record is of format {record['record']!r:.40}, and this version reads {FORMAT}")
        facts, tables = record["facts"], record["entries"]
        packs = _packs_again(record.get("packs", []))
        read = list(_lines_again(tables))
        named = parse_facts(facts).packs
    except WrongRecord:
        raise
    except (ValueError, RecursionError) as error:  # a number of thousands of digits too
        raise WrongRecord(f"not TOML: {one_line(str(error))}") from None
    except (KeyError, TypeError, AttributeError) as error:
        raise WrongRecord(f"not a record of a car: {error!r}") from None
    lines, entries = tuple(line for line, _ in read), tuple(entry for _, entry in read)
    return Record(facts, packs, lines, entries, lacks=None if "packs" in record else named)


def _packs_again(tables: list[dict[str, Any]]) -> dict[str, str]:
    packs: dict[str, str] = {}
    for table in tables:
        file, text = table["file"], table["text"]
        if not isinstance(text, str) or not file.endswith(".toml") or not lies_inside(file) or file in packs:
            raise WrongRecord(f"{one_line(str(file))[:80]!r} is no place for a pack in a car's folder")
        packs[file] = text
    return packs


def _lines_again(tables: list[dict[str, Any]]) -> Iterator[tuple[bytes, Entry]]:
    before = START
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


def set_up_from(record: Path, folder: Path) -> Record:
    """Make a car's folder from a record, whole or not at all; give back what it holds.

    Raises WrongRecord, FactsError, FileExistsError when something is there already, or OSError.
    """
    with record.open("rb") as file:
        content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise WrongRecord(f"{record.name} is larger than {MOST_BYTES // 1024**2} MiB")
    try:
        held = read_record(content.decode())
    except UnicodeDecodeError:
        raise WrongRecord(f"{record.name} is not text in UTF-8") from None
    _refuse_taken(folder)
    made = folder.with_name(f".{folder.name}.{os.getpid()}.new")
    try:
        for name in ("photos", "sheets"):
            (made / name).mkdir(parents=True)
        write_synced(made / FACTS, held.facts.encode())
        write_synced(made / LOG, b"".join(held.lines))
        _put_packs(made, held)
        for inner in (made, *(path for path in made.rglob("*") if path.is_dir())):
            sync_folder(inner)
        os.rename(made, folder)
    finally:
        shutil.rmtree(made, ignore_errors=True)
    sync_folder(folder.parent)
    return held


def _put_packs(folder: Path, held: Record) -> None:
    """The car's own packs, in the folders they are read from and nowhere else."""
    named = None if held.lacks else parse_facts(held.facts).packs
    if named is not None and not lies_inside(named):
        raise WrongRecord(f"{FACTS} names {named}, which is no folder of this car's own")
    if named is not None:
        (folder / named).mkdir(parents=True, exist_ok=True)
    for file, text in held.packs.items():
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        write_synced(folder / file, text.encode())
    read = {source.path.relative_to(folder).as_posix() for source in own_packs(folder, named)}
    if unread := sorted(set(held.packs) - read):
        raise WrongRecord(f"{one_line(unread[0])[:80]!r} is no place for a pack in a car's folder")


def _refuse_taken(folder: Path) -> None:
    if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
        raise FileExistsError(f"{folder} is there already and not empty: nothing was changed")
