"""The disk: writing that is whole or a failure, syncing that reaches it, and its refusals in words."""

from __future__ import annotations

import errno
import os
import stat
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

# No link is followed, and a pipe in place of the file does not make the program hang.
OPEN_PLAINLY = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def write_whole(descriptor: int, data: bytes) -> None:
    """All of it in one write: an append that only half happened is a failure."""
    if os.write(descriptor, data) != len(data):
        raise OSError(errno.ENOSPC, "only part of it was written")


def write_synced(path: Path, content: bytes) -> None:
    """A new file, on the disk before this returns. Raises FileExistsError rather than touch one that is there."""
    with open(path, "xb") as file:
        file.write(content)
        file.flush()
        sync(file.fileno())


def write_new(path: Path, content: bytes) -> None:
    """The same, and whole or not at all: under its name there is never half of it."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        write_synced(temporary, content)
        os.link(temporary, path)
        sync_folder(path.parent)
    finally:
        temporary.unlink(missing_ok=True)


@contextmanager
def replacement(path: Path, content: bytes) -> Iterator[Callable[[], None]]:
    """`content` in place of a file that is there: on the disk beside it first, so that a full disk is met while nothing
    has changed. What this gives puts it in its place, whole, and raises OSError where that fails; not called, it does
    nothing. Only for who holds the one lock of the folder: the file beside it always has the same name."""
    os.close(os.open(path, os.O_WRONLY | OPEN_PLAINLY))  # who may not write it may not replace it either
    ready = path.with_name(f".{path.name}.new")
    ready.unlink(missing_ok=True)
    try:
        write_synced(ready, content)
        os.chmod(ready, stat.S_IMODE(path.stat().st_mode))

        def put_in_place() -> None:
            os.replace(ready, path)
            sync_folder(path.parent)

        yield put_in_place
    finally:
        with suppress(OSError):  # a disk that just failed may refuse this too; the next answer takes it away
            ready.unlink(missing_ok=True)


def sync(descriptor: int) -> None:
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


def sync_folder(folder: Path) -> None:
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


def reason(error: OSError) -> str:
    """In words. Where it was raised with words of its own and not by the system, those."""
    if error.errno is None:
        return str(error)
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
