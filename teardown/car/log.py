"""The log: one entry a line, appended, synced, chained by digests. FORMAT.md beside this file says it on one page.

Nothing here knows what an entry means. An entry counts once `append` has returned it; what was returned is on the disk.
"""

from __future__ import annotations

import errno
import json
import os
import stat
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple

from pydantic_core import from_json

from teardown.car.clock import Clock, Instant

FORMAT = 1
START = "0" * 64
_TAIL = b',"digest":"'
_TAIL_LENGTH = len(_TAIL) + 64 + len(b'"}')


class LogError(Exception):
    """The log cannot be used as asked; the message is a sentence for the person."""


class Damaged(LogError):
    """A line that had been written is not what was written."""


class Newer(LogError):
    """A later version of this program wrote the log."""


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


def read_log(path: Path, found: Found | None = None) -> Iterator[Entry]:
    """The entries that stand, from the first on. What else is in the file is told in `found`.

    Raises Damaged or Newer where reading has to end, after every entry before it was given.
    """
    found = Found() if found is None else found
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        return
    except OSError as error:
        raise ReadOnly(f"{path.name} cannot be read: {error.strerror}") from None
    with os.fdopen(descriptor, "rb") as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise ReadOnly(f"{path.name} is not a file")
        yield from _entries(file, found)


def _entries(lines: Iterator[bytes], found: Found) -> Iterator[Entry]:
    """A line that cannot stand is a torn tail when it is the last and was never finished; otherwise it is damage."""
    for line in lines:
        try:
            entry = _read_line(line, found.digest, found.entries + 1)
        except ValueError as error:
            rest = line + b"".join(lines)
            if _is_torn(rest):
                found.torn_bytes = len(rest)
                return
            found.damaged_line, found.damage = found.entries + 1, str(error)
            raise Damaged(f"log.jsonl line {found.damaged_line}: {error}") from None
        if entry.kind == "opened":
            _check_format(entry, found)
        found.entries, found.digest, found.last_utc = entry.n, entry.digest, entry.at.utc
        found.first_utc = found.first_utc or entry.at.utc
        found.length += len(line)
        yield entry


def _read_line(line: bytes, before: str, n: int) -> Entry:
    """One line, checked against the digest of the line before. Raises ValueError with what is wrong."""
    if line[-1:] != b"\n":
        raise ValueError("the line is not finished")
    tail = len(line) - 1 - _TAIL_LENGTH
    if tail < 1 or line[tail : tail + len(_TAIL)] != _TAIL:
        raise ValueError("the line does not end in its digest")
    digest = line[tail + len(_TAIL) : -3].decode("ascii", "replace")
    if digest != _digest(before, line[:tail]):
        raise ValueError("the digest does not fit: the line, or one before it, was changed, moved or taken out")
    return _entry(from_json(line), n, digest)


def _entry(read: Any, n: int, digest: str) -> Entry:
    """The values of a line whose digest fits. Raises ValueError when they are not an entry's."""
    try:
        at = Instant(read["utc"], read["boot"], read["s"], read["day"])
        entry = Entry(read["n"], at, read["who"], read["kind"], read["fields"], digest)
    except (KeyError, TypeError):
        raise ValueError("the line is no entry") from None
    if entry.n != n:
        raise ValueError(f"the line carries number {entry.n!r}; {n} comes here")
    return entry


def _check_format(entry: Entry, found: Found) -> None:
    written = entry.fields.get("format") if isinstance(entry.fields, dict) else None
    if isinstance(written, int) and written > FORMAT:
        found.newer_format = written
        raise Newer(
            f"line {entry.n}: a newer version of this program wrote here (format {written}; this one knows {FORMAT}). "
            "Use that version; nothing was changed"
        )


def _is_torn(rest: bytes) -> bool:
    """What a power cut leaves: one line that was never finished, or zeros where a line should be."""
    return rest.count(b"\n") == 0 or b"\0" in rest.rsplit(b"\n", 2)[-2 if rest.endswith(b"\n") else -1]


def _digest(before: str, body: bytes) -> str:
    return sha256(before.encode() + body).hexdigest()


def _line(n: int, at: Instant, who: str, kind: str, fields: dict[str, Any], before: str) -> tuple[bytes, str]:
    """The bytes of one line, and its digest."""
    members = {"n": n, "utc": at.utc, "boot": at.boot, "s": at.seconds, "day": at.day, "who": who, "kind": kind}
    text = json.dumps(members | {"fields": fields}, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    body = text.encode()[:-1]
    digest = _digest(before, body)
    return body + _TAIL + digest.encode() + b'"}\n', digest


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

        Raises CannotWrite; then nothing was added, and nothing before is lost.
        """
        if self._broken:
            raise CannotWrite(self._broken)
        n, at = self._n + 1, self._clock.now()
        line, digest = _line(n, at, who, kind, fields, self._digest)
        try:
            _write_whole(self._descriptor, line)
        except OSError as error:
            self._cut_back()
            raise CannotWrite(f"{_reason(error)}: entry {n} was not written; nothing before it is lost") from error
        try:
            _sync(self._descriptor)
        except OSError as error:  # a second sync after a failed one proves nothing
            self._broken = f"{_reason(error)}: entry {n} may not be on the disk. Quit and open the folder again"
            raise CannotWrite(self._broken) from error
        self._n, self._digest, self._length = n, digest, self._length + len(line)
        return Entry(n, at, who, kind, fields, digest)

    def _cut_back(self) -> None:
        """Take away what a failed write left behind; if that fails too, write no more."""
        try:
            os.ftruncate(self._descriptor, self._length)
        except OSError as error:
            self._broken = f"{_reason(error)}: the log ends in half an entry. Quit and open the folder again"

    def close(self) -> None:
        """Give up the lock."""
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
    """Open a log to append to, alone; every entry that stands is given to `take` first.

    Raises Locked, ReadOnly, Damaged, Newer, CannotWrite, or what `take` raises. A torn tail is set aside and told.
    """
    descriptor = _open(path)
    try:
        _lock(descriptor, path)
        found = Found()
        for entry in read_log(path, found):
            take(entry)
        told = _set_torn_tail_aside(path, descriptor, found, clock) if found.torn_bytes else ()
        return LogWriter(path, clock, descriptor, found, told)
    except BaseException:
        os.close(descriptor)
        raise


def _open(path: Path) -> int:
    """The log's descriptor; a new file's folder is synced, so that the file survives a power cut too."""
    flags = os.O_RDWR | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        new = not path.exists()
        descriptor = os.open(path, flags | os.O_CREAT, 0o644)
        if new:
            _sync_folder(path.parent)
        return descriptor
    except OSError as error:
        raise ReadOnly(f"{path} cannot be written: {_reason(error)}. It can still be read") from error


def _set_torn_tail_aside(path: Path, descriptor: int, found: Found, clock: Clock) -> tuple[str, ...]:
    """Keep the bytes of a line that was never finished in a file of their own, then cut them off the log."""
    stamp = clock.now().utc.replace(":", "").replace("-", "").replace(".", "")
    aside = path.with_name(f"log.torn-{stamp}.bin")
    try:
        torn = os.pread(descriptor, found.torn_bytes, found.length)
        copy = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
        try:
            _write_whole(copy, torn)
            _sync(copy)
        finally:
            os.close(copy)
        _sync_folder(path.parent)
        os.ftruncate(descriptor, found.length)
        _sync(descriptor)
    except OSError as error:
        raise CannotWrite(f"the unfinished last line cannot be set aside: {_reason(error)}") from error
    return (
        f"the last line was never finished (power cut?): its {found.torn_bytes} bytes are set aside in {aside.name}. "
        f"The {found.entries} entries before it stand",
    )


def _write_whole(descriptor: int, data: bytes) -> None:
    """All of it in one write: an append that only half happened is a failure."""
    written = os.write(descriptor, data)
    if written != len(data):
        raise OSError(errno.ENOSPC, "only part of it was written")


def _sync(descriptor: int) -> None:
    """Through to the disk itself. On a Mac fsync stops at the drive's cache."""
    if sys.platform == "darwin":
        import fcntl

        fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
    else:
        os.fsync(descriptor)


def _sync_folder(folder: Path) -> None:
    if sys.platform == "win32":  # a folder cannot be opened there, and needs no sync
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _lock(descriptor: int, path: Path) -> None:
    """A lock the kernel gives up when the process dies, however it dies."""
    try:
        if sys.platform == "win32":
            import msvcrt

            os.lseek(descriptor, 1 << 40, os.SEEK_SET)
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        raise Locked(
            f"another program is writing to {path}: only one can. To look: teardown show {path.parent}, "
            f"or teardown walk {path.parent} --read"
        ) from error


def _reason(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "the disk is full"
    if error.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
        return "it is read-only"
    return f"the disk does not take it ({error.strerror})"
