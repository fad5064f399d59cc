"""Writing the log: alone, one entry at a time, each on the disk before it counts. The format is `log.py`'s business."""

from __future__ import annotations

import errno
import os
import re
import sys
from collections.abc import Callable
from itertools import count
from pathlib import Path
from types import TracebackType
from typing import Any

from teardown.car.clock import Clock, Instant
from teardown.car.disk import OPEN_PLAINLY, reason, sync, sync_folder, write_whole
from teardown.car.log import (
    CannotWrite,
    Entry,
    Found,
    Locked,
    ReadOnly,
    line_of,
    read_open_log,
    what_stands,
)


class LogWriter:
    """The one writer of a log. Made by `open_for_writing`."""

    def __init__(self, path: Path, clock: Clock, descriptor: int, found: Found, told: tuple[str, ...]) -> None:
        self.told = told
        self._path = path
        self._clock = clock
        self._descriptor = descriptor
        self._n, self._digest, self._length = found.entries, found.digest, found.length
        self._broken = ""

    def append(self, who: str, kind: str, fields: dict[str, Any], at: Instant | None = None) -> Entry:
        """Write one entry of the moment `at`, or of now, and sync it. Once this returns, the entry is on the disk.

        Raises CannotWrite; then the entry counts as not written, and nothing before it is lost.
        """
        if self._broken:
            raise CannotWrite(self._broken)
        n = self._n + 1
        line, entry = line_of(n, at or self._clock.now(), who, kind, fields, self._digest)
        self.check_that_the_file_is_ours()
        # Stands until the end is reached: whatever breaks in, an interrupt too, leaves a writer that writes no more.
        self._broken = f"entry {n} was interrupted and may not be on the disk. Quit, and open the folder again"
        self._write(line, n)
        self._broken = ""
        self._n, self._digest, self._length = n, entry.digest, self._length + len(line)
        return entry

    def check_that_the_file_is_ours(self) -> None:
        """What is written to a file that was deleted or replaced would be lost without a word. Raises CannotWrite."""
        try:
            ours, there = os.fstat(self._descriptor), os.stat(self._path, follow_symlinks=False)
            is_ours = os.path.samestat(ours, there) and ours.st_size == self._length
        except OSError:
            is_ours = False
        if not is_ours:
            raise CannotWrite(
                f"another program moved, replaced or changed {self._path}: entry {self._n + 1} was not written. "
                "Quit, put the file back, and open the folder again"
            )

    def _write(self, line: bytes, n: int) -> None:
        try:
            write_whole(self._descriptor, line)
        except OSError as error:
            if self._cut_back():
                self._broken = ""
            raise CannotWrite(f"{reason(error)}: entry {n} was not written; nothing before it is lost") from error
        try:
            sync(self._descriptor)
            if n == 1:
                sync_folder(self._path.parent)
        except OSError as error:  # a second sync after a failed one proves nothing: the writer stays broken
            self._cut_back()
            self._broken = (
                f"{reason(error)}: entry {n} counts as not written; nothing before it is lost. "
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
        descriptor = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | OPEN_PLAINLY, 0o644)
    except OSError as error:
        raise ReadOnly(f"{path} cannot be written: {reason(error)}") from error
    try:
        found = Found()
        _lock(descriptor, path)
        for entry in read_open_log(descriptor, path, found):
            take(entry)
        told = _set_torn_tail_aside(path, descriptor, found, clock) if found.torn_bytes else ()
        _settle(descriptor, path)
        return LogWriter(path, clock, descriptor, found, told)
    except BaseException:
        os.close(descriptor)
        raise


def _set_torn_tail_aside(path: Path, descriptor: int, found: Found, clock: Clock) -> tuple[str, ...]:
    """Keep the bytes of a line that was never finished in a file of their own, then cut them off the log."""
    try:
        os.lseek(descriptor, found.length, os.SEEK_SET)
        aside = _write_aside(path.parent, clock.now(), os.read(descriptor, found.torn_bytes))
        os.ftruncate(descriptor, found.length)
    except OSError as error:
        raise CannotWrite(f"the unfinished last line of {path} cannot be set aside: {reason(error)}") from error
    return (
        f"the last line of the log was never finished (power cut?): its {found.torn_bytes} bytes are set aside in "
        f"{aside.name}. {what_stands(found.entries)}",
    )


def _write_aside(folder: Path, at: Instant, torn: bytes) -> Path:
    """A new file of that name, on the disk before this returns; nothing that is there is overwritten."""
    stamp = re.sub(r"[-:.]", "", at.utc)
    for again in count():
        aside = folder / (f"log.torn-{stamp}-{again}.bin" if again else f"log.torn-{stamp}.bin")
        try:
            descriptor = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | OPEN_PLAINLY, 0o644)
            break
        except FileExistsError:
            continue
    try:
        write_whole(descriptor, torn)
        sync(descriptor)
    except OSError:
        aside.unlink(missing_ok=True)
        raise
    finally:
        os.close(descriptor)
    sync_folder(folder)
    return aside


def _settle(descriptor: int, path: Path) -> None:
    """What was read may still have been on its way to the disk, when the program that wrote it was killed."""
    try:
        sync(descriptor)
    except OSError as error:
        raise CannotWrite(f"{path} cannot be written: {reason(error)}. It can still be read") from error


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
