"""The log: one entry a line, appended, synced, chained by digests. FORMAT.md beside this file says it on one page.

Nothing here knows what an entry means. An entry counts once `append` has returned it; what was returned is on the disk.
"""

from __future__ import annotations

import errno
import json
import os
import re
import stat
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from hashlib import sha256
from itertools import count
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple

from pydantic_core import from_json

from teardown.car.clock import Clock, Instant

FORMAT = 1
START = "0" * 64
LONGEST_LINE = 1 << 20
"""Bytes. What is longer was not written here, and is not taken into memory."""

_TAIL_LENGTH = len(',"digest":""}\n') + 64
_ANY_TAIL = re.compile(rb',"digest":"[0-9a-f]{64}"}\n\Z')
_NUMBER = re.compile(rb'\{"n":(\d{1,15}),')
_UTC_LENGTH, _DAY_LENGTH = len("2026-11-25T07:29:53.120Z"), len("2026-11-25")
_LONGEST_S = 1e12

# No link is followed, and a pipe in place of the file does not make the program hang.
_OPEN = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


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
    """The folder or the file cannot be written."""


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
    """What reading a log found. `entries` stand; a torn tail is no damage; damage names its line."""

    entries: int = 0
    digest: str = START
    first_utc: str | None = None
    last_utc: str | None = None
    length: int = 0
    torn_bytes: int = 0
    damage: str | None = None
    damaged_line: int | None = None
    newer_format: int | None = None


# -- reading


def read_log(path: Path, found: Found | None = None) -> Iterator[Entry]:
    """The entries that stand, from the first on. What else is in the file is told in `found`.

    Raises Damaged or Newer where reading has to end, after every entry before it was given; Unreadable when the file
    cannot be read. A log that is not there has no entries.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | _OPEN)
    except FileNotFoundError:
        return
    except OSError as error:
        raise Unreadable(f"{path} cannot be read: {_reason(error)}") from error
    try:
        yield from _read(descriptor, path, Found() if found is None else found)
    finally:
        os.close(descriptor)


def _read(descriptor: int, path: Path, found: Found) -> Iterator[Entry]:
    """The entries of an open file, in little memory however long it is."""
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        raise Unreadable(f"{path} cannot be read: it is not a file")
    try:
        os.lseek(descriptor, 0, os.SEEK_SET)
        with open(descriptor, "rb", closefd=False) as file:
            yield from _entries(iter(partial(file.readline, LONGEST_LINE), b""), found)
    except OSError as error:
        raise Unreadable(f"{path} cannot be read after line {found.entries}: {_reason(error)}") from error


def _entries(lines: Iterator[bytes], found: Found) -> Iterator[Entry]:
    """A line that cannot stand is a torn tail when it is the last and was never finished; otherwise it is damage."""
    for line in lines:
        n = found.entries + 1
        try:
            digest, members = _open_line(line, found.digest, n)
            _refuse_newer(members, found, n)
            entry = _entry(members, n, digest)
        except ValueError as error:
            if _is_torn(line, found.digest, n):
                found.torn_bytes = len(line)
                return
            found.damaged_line, found.damage = n, str(error)
            raise Damaged(f"log.jsonl is damaged in line {n}: {error}. {_what_stands(found.entries)}") from None
        found.entries, found.digest, found.last_utc = n, digest, entry.at.utc
        found.first_utc = found.first_utc or entry.at.utc
        found.length += len(line)
        yield entry


def _open_line(line: bytes, before: str, n: int) -> tuple[str, Any]:
    """The digest and the members of a line that is as it was written. Raises ValueError with what is wrong."""
    digest = _digest(before, line[:-_TAIL_LENGTH])
    if not line.endswith(_tail(digest)):
        raise ValueError(_why_unfit(line, n))
    try:
        return digest, from_json(line, allow_inf_nan=False)
    except ValueError:
        raise ValueError("it is not JSON, though its digest fits: this program did not write it") from None


def _why_unfit(line: bytes, n: int) -> str:
    if not _ANY_TAIL.search(line):
        return "it does not end as an entry does: it was changed or cut off"
    carried = _NUMBER.match(line)
    if carried and int(carried[1]) != n:
        return f"it carries number {int(carried[1])} where {n} comes: a line is missing, repeated or moved"
    return "its digest does not fit: it was changed, or the line before it was replaced"


def _refuse_newer(members: Any, found: Found, n: int) -> None:
    """Stop at the first line of a later format; it may mean anything, save for its digest and this number."""
    if type(members) is not dict or members.get("kind") != "opened":
        return
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
        at = Instant(members["utc"], members["boot"], members["s"], members["day"])
        entry = Entry(members["n"], at, members["who"], members["kind"], members["fields"], digest)
        right = _is_right(*entry)
    except (KeyError, TypeError, ValueError):
        right = False
    if not right:
        raise ValueError("its members are not those of an entry, though its digest fits: this program did not write it")
    if entry.n != n:
        raise ValueError(f"it carries number {entry.n} where {n} comes, though its digest fits")
    return entry


def _is_right(n: Any, at: Instant, who: Any, kind: Any, fields: Any, _: str) -> bool:
    """Raises TypeError or ValueError, or is False, when a member is not what it must be."""
    utc, boot, seconds, day = at
    datetime.fromisoformat(utc)
    date.fromisoformat(day)
    return (
        type(n) is int
        and len(utc) == _UTC_LENGTH
        and utc[-1] == "Z"
        and len(day) == _DAY_LENGTH
        and type(boot) is type(who) is type(kind) is str
        and type(seconds) in (float, int)
        and 0 <= seconds < _LONGEST_S
        and type(fields) is dict
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


def _what_stands(entries: int) -> str:
    if not entries:
        return "No entry stands before it"
    return "The entry before it stands" if entries == 1 else f"The {entries} entries before it stand"


def _tail(digest: str) -> bytes:
    return f',"digest":"{digest}"}}\n'.encode()


def _digest(before: str, body: bytes) -> str:
    return sha256(before.encode() + body).hexdigest()


# -- writing


class LogWriter:
    """The one writer of a log. Made by `open_for_writing`."""

    def __init__(self, path: Path, clock: Clock, descriptor: int, found: Found, told: tuple[str, ...]) -> None:
        self.told = told
        self._path = path
        self._clock = clock
        self._descriptor = descriptor
        self._n, self._digest, self._length = found.entries, found.digest, found.length
        self._broken = ""

    def append(self, who: str, kind: str, fields: dict[str, Any]) -> Entry:
        """Write one entry and sync it. Once this returns, the entry is on the disk.

        Raises CannotWrite; then the entry counts as not written, and nothing before it is lost.
        """
        if self._broken:
            raise CannotWrite(self._broken)
        n = self._n + 1
        line, entry = _line(n, self._clock.now(), who, kind, fields, self._digest)
        self._check_that_the_file_is_ours(n)
        # Stands until the end is reached: whatever breaks in, an interrupt too, leaves a writer that writes no more.
        self._broken = f"entry {n} was interrupted and may not be on the disk. Quit, and open the folder again"
        self._write(line, n)
        self._broken = ""
        self._n, self._digest, self._length = n, entry.digest, self._length + len(line)
        return entry

    def _check_that_the_file_is_ours(self, n: int) -> None:
        """What is written to a file that was deleted or replaced would be lost without a word."""
        ours = os.fstat(self._descriptor)
        try:
            there = os.stat(self._path, follow_symlinks=False)
        except OSError:
            there = None
        if there is None or not os.path.samestat(ours, there) or ours.st_size != self._length:
            raise CannotWrite(
                f"another program moved, replaced or changed {self._path}: entry {n} was not written. "
                "Quit, put the file back, and open the folder again"
            )

    def _write(self, line: bytes, n: int) -> None:
        try:
            _write_whole(self._descriptor, line)
        except OSError as error:
            if self._cut_back():
                self._broken = ""
            raise CannotWrite(f"{_reason(error)}: entry {n} was not written; nothing before it is lost") from error
        try:
            _sync(self._descriptor)
            if n == 1:
                _sync_folder(self._path.parent)
        except OSError as error:  # a second sync after a failed one proves nothing: the writer stays broken
            self._cut_back()
            self._broken = (
                f"{_reason(error)}: entry {n} counts as not written; nothing before it is lost. "
                "Quit, and open the folder again"
            )
            raise CannotWrite(self._broken) from error

    def _cut_back(self) -> bool:
        """Take away what a failed write left behind, if that can be done."""
        try:
            os.ftruncate(self._descriptor, self._length)
        except OSError:
            return False
        return True

    def close(self) -> None:
        """Give up the lock."""
        self._broken = "the log is closed"
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1

    def __enter__(self) -> LogWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def open_for_writing(path: Path, clock: Clock, take: Callable[[Entry], None]) -> LogWriter:
    """Open a log to append to, alone; every entry that stands is given to `take` first, and is on the disk.

    Raises Locked, ReadOnly, Unreadable, Damaged, Newer, CannotWrite, or what `take` raises. A torn tail is set aside
    and told.
    """
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | _OPEN, 0o644)
    except OSError as error:
        raise ReadOnly(f"{path} cannot be written: {_reason(error)}") from error
    try:
        found = Found()
        _lock(descriptor, path)
        for entry in _read(descriptor, path, found):
            take(entry)
        told = _set_torn_tail_aside(path, descriptor, found, clock) if found.torn_bytes else ()
        _settle(descriptor, path)
        return LogWriter(path, clock, descriptor, found, told)
    except BaseException:
        os.close(descriptor)
        raise


def _line(n: int, at: Instant, who: str, kind: str, fields: dict[str, Any], before: str) -> tuple[bytes, Entry]:
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


def _set_torn_tail_aside(path: Path, descriptor: int, found: Found, clock: Clock) -> tuple[str, ...]:
    """Keep the bytes of a line that was never finished in a file of their own, then cut them off the log."""
    try:
        os.lseek(descriptor, found.length, os.SEEK_SET)
        aside = _write_aside(path.parent, clock.now(), os.read(descriptor, found.torn_bytes))
        os.ftruncate(descriptor, found.length)
    except OSError as error:
        raise CannotWrite(f"the unfinished last line of {path} cannot be set aside: {_reason(error)}") from error
    return (
        f"the last line of the log was never finished (power cut?): its {found.torn_bytes} bytes are set aside in "
        f"{aside.name}. {_what_stands(found.entries)}",
    )


def _write_aside(folder: Path, at: Instant, torn: bytes) -> Path:
    """A new file of that name, on the disk before this returns; nothing that is there is overwritten."""
    stamp = re.sub(r"[-:.]", "", at.utc)
    for again in count():
        aside = folder / (f"log.torn-{stamp}-{again}.bin" if again else f"log.torn-{stamp}.bin")
        try:
            descriptor = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _OPEN, 0o644)
            break
        except FileExistsError:
            continue
    try:
        _write_whole(descriptor, torn)
        _sync(descriptor)
    except OSError:
        aside.unlink(missing_ok=True)
        raise
    finally:
        os.close(descriptor)
    _sync_folder(folder)
    return aside


def _settle(descriptor: int, path: Path) -> None:
    """What was read may still have been on its way to the disk, when the program that wrote it was killed."""
    try:
        _sync(descriptor)
    except OSError as error:
        raise CannotWrite(f"{path} cannot be written: {_reason(error)}. It can still be read") from error


def _write_whole(descriptor: int, data: bytes) -> None:
    """All of it in one write: an append that only half happened is a failure."""
    if os.write(descriptor, data) != len(data):
        raise OSError(errno.ENOSPC, "only part of it was written")


def _sync(descriptor: int) -> None:
    """Through to the disk itself. On a Mac fsync stops at the drive's cache."""
    if sys.platform == "darwin":
        import fcntl

        try:
            fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
        except OSError as error:
            if error.errno not in (errno.EINVAL, errno.ENOTSUP):
                raise
            os.fsync(descriptor)  # a network disk knows no better
    else:
        os.fsync(descriptor)


def _sync_folder(folder: Path) -> None:
    """So that a new file's name survives a power cut too."""
    if sys.platform == "win32":  # a folder cannot be opened there, and needs no sync
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # network disks sync no folders
            raise
    finally:
        os.close(descriptor)


def _lock(descriptor: int, path: Path) -> None:
    """A lock the kernel gives up when the process dies, however it dies."""
    try:
        if sys.platform == "win32":
            import msvcrt

            os.lseek(descriptor, 1 << 40, os.SEEK_SET)  # far beyond the data, which others may read
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno not in (errno.EAGAIN, errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK):
            raise CannotWrite(
                f"{path} cannot be locked on this disk ({error.strerror}), and two programs could write at once. "
                "Keep the folder on the computer's own disk"
            ) from error
        raise Locked(
            f"another program is writing to {path}: only one can. To look: teardown show {path.parent}, "
            f"or teardown walk {path.parent} --read"
        ) from error


def _reason(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "the disk is full"
    if error.errno == errno.EROFS:
        return "the disk is read-only"
    if error.errno in (errno.EACCES, errno.EPERM):
        return "you are not permitted to"
    if error.errno == errno.ELOOP:
        return "it is a link to somewhere else, not the file itself"
    if error.errno == errno.ENOENT:
        return "the folder is not there"
    if error.errno == errno.EISDIR:
        return "it is a folder, not a file"
    return f"the disk does not do it ({error.strerror})"
