"""The log: one entry a line, appended, synced, chained by digests. FORMAT.md beside this file says it on one page.

Nothing here knows what an entry means. An entry counts once `append` has returned it; what was returned is on the disk.
"""

import json
import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from hashlib import sha256
from operator import itemgetter
from pathlib import Path
from typing import Any, NamedTuple

from pydantic_core import from_json

from teardown.car.clock import Instant
from teardown.car.disk import OPEN_PLAINLY, reason

FORMAT = 1
START = "0" * 64
LONGEST_LINE = 1 << 20
"""Bytes. What is longer was not written here, and is not taken into memory."""

_TAIL_LENGTH = len(',"digest":""}\n') + 64
_ANY_TAIL = re.compile(rb',"digest":"[0-9a-f]{64}"}\n\Z')
_NUMBER = re.compile(rb'\{"n":(\d{1,15}),')
_UTC_LENGTH, _DAY_LENGTH = len("2026-11-25T07:29:53.120Z"), len("2026-11-25")
_LONGEST_S = 1e12
_made = tuple.__new__
"""Makes a named tuple of its values in their order: in half the time; of reading a long log that is some 3 %."""
_MEMBERS = itemgetter("n", "utc", "boot", "s", "day", "who", "kind", "fields")


class LogError(Exception):
    """The log cannot be used as asked; the message is a sentence for the person."""


class Damaged(LogError):
    """A line that had been written is not what was written."""


class Newer(LogError):
    """A later version of this program wrote the log."""


class Unreadable(LogError):
    """The file cannot be read at all."""


class Locked(LogError):
    """Another program writes to it."""


class ReadOnly(LogError):
    """The folder or the file cannot be written, or was opened to be looked at."""


class CannotWrite(LogError):
    """The disk did not take the entry; what stood before still stands."""


class Entry(NamedTuple):
    """One line of the log."""

    n: int
    at: Instant
    who: str
    kind: str
    fields: dict[str, Any]
    digest: str


@dataclass(slots=True)
class Found:
    """What reading a log found. `entries` stand, in so many bytes; a torn tail is no damage; damage names its line."""

    first: Entry | None = None
    last: Entry | None = None
    length: int = 0
    torn_bytes: int = 0
    damage: str | None = None
    damaged_line: int | None = None
    newer_format: int | None = None

    @property
    def entries(self) -> int:
        return self.last.n if self.last else 0

    @property
    def digest(self) -> str:
        return self.last.digest if self.last else START

    @property
    def first_utc(self) -> str | None:
        return self.first.at.utc if self.first else None

    @property
    def last_utc(self) -> str | None:
        return self.last.at.utc if self.last else None


# -- reading


def read_log(path: Path, found: Found | None = None) -> Iterator[Entry]:
    """The entries that stand, from the first on. What else is in the file is told in `found`.

    Raises Damaged or Newer where reading has to end, after every entry before it was given; Unreadable when the file
    cannot be read. A log that is not there has no entries.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | OPEN_PLAINLY)
    except FileNotFoundError:
        return
    except OSError as error:
        raise Unreadable(f"{path} cannot be read: {reason(error)}") from error
    try:
        yield from read_open_log(descriptor, path, Found() if found is None else found)
    finally:
        os.close(descriptor)


def read_open_log(descriptor: int, path: Path, found: Found) -> Iterator[Entry]:
    """The entries of an open file, in little memory however long it is."""
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        raise Unreadable(f"{path} cannot be read: it is not a file")
    try:
        os.lseek(descriptor, 0, os.SEEK_SET)
        with open(descriptor, "rb", closefd=False) as file:
            yield from _entries(iter(partial(file.readline, LONGEST_LINE), b""), found)
    except OSError as error:
        raise Unreadable(f"{path} cannot be read after line {found.entries}: {reason(error)}") from error


def _entries(lines: Iterator[bytes], found: Found) -> Iterator[Entry]:
    """A line that cannot stand is a torn tail when it is the last and was never finished; otherwise it is damage."""
    before = START
    for n, line in enumerate(lines, start=1):
        try:
            digest, members = _open_line(line, before, n)
            if type(members) is dict and members.get("kind") == "opened":
                _refuse_newer(members, found, n)
            entry = _entry(members, n, digest)
        except ValueError as error:
            if _is_torn(line, before, n):
                found.torn_bytes = len(line)
                return
            found.damaged_line, found.damage = n, str(error)
            raise Damaged(f"log.jsonl is damaged in line {n}: {error}. {what_stands(n - 1)}") from None
        found.first, found.last = found.first or entry, entry
        found.length += len(line)
        before = digest
        yield entry


def _open_line(line: bytes, before: str, n: int) -> tuple[str, Any]:
    """The digest and the members of a line that is as it was written. Raises ValueError with what is wrong."""
    digest = _digest(before, line[:-_TAIL_LENGTH])
    if not line.endswith(_tail(digest)):
        raise ValueError(_why_unfit(line, n))
    try:
        return digest, from_json(line, allow_inf_nan=False, cache_strings="keys")  # the keys repeat, the rest seldom
    except ValueError:
        raise ValueError("it is not JSON, though its digest fits: this program did not write it") from None


def _why_unfit(line: bytes, n: int) -> str:
    if not _ANY_TAIL.search(line):
        return "it does not end as an entry does: it was changed or cut off"
    carried = _NUMBER.match(line)
    if carried and int(carried[1]) != n:
        return f"it carries number {int(carried[1])} where {n} comes: a line is missing, repeated or moved"
    return "its digest does not fit: it was changed, or the line before it was replaced"


def _refuse_newer(members: dict[str, Any], found: Found, n: int) -> None:
    """Stop at the first line of a later format; it may mean anything, save for its digest, its kind and this number."""
    fields = members.get("fields")
    written = fields.get("format") if type(fields) is dict else None
    if type(written) is int and written > FORMAT:
        found.newer_format = written
        raise Newer(
            f"log.jsonl was written by a newer version of teardown from line {n} on (format {written}; this one knows "
            f"{FORMAT}). Use that version; nothing was changed"
        )


def _entry(members: Any, n: int, digest: str) -> Entry:
    """The values of a line whose digest fits. Raises ValueError when they are no entry's: anybody can make a digest."""
    try:
        number, utc, boot, seconds, day, who, kind, fields = _MEMBERS(members)
        right = (
            _is_moment(utc, boot, seconds, day)
            and type(number) is int
            and type(who) is type(kind) is str
            and type(fields) is dict
        )
    except (KeyError, TypeError, ValueError):
        right = False
    if not right:
        raise ValueError("its members are not those of an entry, though its digest fits: this program did not write it")
    if number != n:
        raise ValueError(f"it carries number {number} where {n} comes, though its digest fits")
    at = _made(Instant, (utc, boot, seconds, day))
    return _made(Entry, (n, at, who, kind, fields, digest))


def _is_moment(utc: Any, boot: Any, seconds: Any, day: Any) -> bool:
    """Raises TypeError or ValueError, or is False, when a member is not what it must be."""
    datetime.fromisoformat(utc)
    date.fromisoformat(day)
    return (
        len(utc) == _UTC_LENGTH
        and utc[-1] == "Z"
        and len(day) == _DAY_LENGTH
        and type(boot) is str
        and type(seconds) in (float, int)
        and 0 <= seconds < _LONGEST_S
    )


def _is_torn(line: bytes, before: str, n: int) -> bool:
    """What a power cut leaves of the last write: a line that stops short, or goes on in zeros.

    A whole line with something else in place of its line end had been finished: that is damage.
    """
    if line.endswith(b"\n") or len(line) >= LONGEST_LINE:
        return False
    try:
        _open_line(line[:-1] + b"\n", before, n)
    except ValueError:
        return True
    return line.endswith(b"\0")


def what_stands(entries: int) -> str:
    if not entries:
        return "No entry stands before it"
    return "The entry before it stands" if entries == 1 else f"The {entries} entries before it stand"


def _tail(digest: str) -> bytes:
    return b',"digest":"%b"}\n' % digest.encode()


def _digest(before: str, body: bytes) -> str:
    return sha256(before.encode() + body).hexdigest()


def line_of(n: int, at: Instant, who: str, kind: str, fields: dict[str, Any], before: str) -> tuple[bytes, Entry]:
    """One line, and the entry as it will be read from it. Raises CannotWrite when it could not be read again."""
    members = {"n": n, "utc": at.utc, "boot": at.boot, "s": round(at.seconds, 3), "day": at.day}
    members |= {"who": who, "kind": kind, "fields": fields}
    try:
        text = json.dumps(members, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        text.encode()  # half a character (a lone surrogate) is refused here, before escaping would hide it
        body = _escaped(text).encode()[:-1]
        line = body + _tail(_digest(before, body))
        if len(line) > LONGEST_LINE:
            raise CannotWrite(f"entry {n} was not written: it takes {len(line)} bytes, and {LONGEST_LINE} are the most")
        digest, read = _open_line(line, before, n)
        return line, _entry(read, n, digest)
    except UnicodeEncodeError as error:
        raise CannotWrite(f"entry {n} was not written: its text holds half a character") from error
    except (ValueError, RecursionError) as error:
        raise CannotWrite(
            f"entry {n} was not written: it could not be read again (a number that is none, or lists too deep)"
        ) from error


def _escaped(text: str) -> str:
    """No character that a terminal obeys stands raw in the file, so that it can be looked at with any tool."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else json.dumps(c)[1:-1] for c in text)
