"""When something happened, by clocks that cannot be argued with.

Wall time can be set; seconds since boot cannot, as long as they count the time a closed lid slept. Within one boot they
prove that time really passed. Across a restart nothing does.
"""

from __future__ import annotations

import os
import secrets
import sys
import time
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import NamedTuple, Protocol

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
TIME_OFFSETS = Path("/proc/self/timens_offsets")


class Instant(NamedTuple):
    """One moment: wall time (UTC and the local day), and seconds since which boot."""

    utc: str
    boot: str
    seconds: float
    day: str


class Clock(Protocol):
    """What tells the moment."""

    def now(self) -> Instant: ...


class SystemClock:
    """The computer's own clocks."""

    def now(self) -> Instant:
        utc = datetime.now(UTC)
        return Instant(
            utc=utc.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            boot=boot_identity(),
            seconds=round(seconds_since_boot(), 3),
            day=utc.astimezone().date().isoformat(),
        )


def seconds_since_boot() -> float:
    """Seconds since boot, the time asleep counted, where the system tells; never a clock that can be set."""
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":  # CLOCK_MONOTONIC goes on while a Mac sleeps; time.monotonic() does not
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


@cache
def boot_identity() -> str:
    """What tells one boot from the next. Where the system does not say, each run of the program counts as a boot of its
    own: a wait then begins again with the program, and is never shortened."""
    try:
        told = _told_by_the_system()
    except OSError:
        told = ""
    return told or f"run-{os.getpid()}-{secrets.token_hex(8)}"


def _told_by_the_system() -> str:
    """The system's name for this boot; empty where it has none."""
    if sys.platform == "linux":
        return BOOT_ID.read_text().strip() + _moved_by()
    if sys.platform == "darwin":
        return _told_by_sysctl("kern.bootsessionuuid")
    return ""


def _told_by_sysctl(name: str) -> str:
    import subprocess  # takes a while to import, and only a Mac needs it

    try:
        asked = subprocess.run(["/usr/sbin/sysctl", "-n", name], capture_output=True, check=True, text=True, timeout=5)
    except subprocess.SubprocessError:
        return ""
    return asked.stdout.strip()


def _moved_by() -> str:
    """A container may count from a boot time that was moved by hand. Its seconds compare with nobody else's."""
    lines = TIME_OFFSETS.read_text().splitlines() if TIME_OFFSETS.exists() else []
    moved = [offset for clock, *offset in map(str.split, lines) if clock == "boottime" and offset != ["0", "0"]]
    return "".join(f"+{seconds}.{nanoseconds}" for seconds, nanoseconds in moved)
