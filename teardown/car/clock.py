"""When something happened, by clocks that cannot be argued with.

Wall time can be set; seconds since boot cannot, as long as they count the time a closed lid slept. Within one boot they
prove that time really passed. Across a restart nothing does.
"""

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

UNKNOWN_MIN = float("inf")
"""How long it is when no clock can say."""


class Instant(NamedTuple):
    """One moment: wall time (UTC and the local day), and seconds since which boot."""

    utc: str
    boot: str
    seconds: float
    day: str


class Pause(NamedTuple):
    """How long nothing was written: minutes by the clock that says most, and whether the computer restarted."""

    minutes: float
    restarted: bool


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


# -- from one moment to another


def waited_min(since: Instant, now: Instant, rate: float) -> float:
    """Minutes that really passed: by the boot clock, within one boot, never less than none."""
    if since.boot != now.boot:
        return 0.0
    return max(0.0, now.seconds - since.seconds) * rate / 60.0


def age_min(then: Instant, now: Instant) -> float:
    """How old something is, by the clock that says most; unknown across a restart."""
    if then.boot != now.boot or now.seconds < then.seconds:
        return UNKNOWN_MIN
    return max(now.seconds - then.seconds, _wall_s(then, now)) / 60.0


def within_the_minute(last: Instant, now: Instant) -> bool:
    """Every clock agrees that next to no time has passed: the usual case, and the cheap one."""
    utc, boot, seconds, day = last
    return now.boot == boot and now.day == day and 0 <= now.seconds - seconds < 60 and now.utc[:16] == utc[:16]


def pause_between(last: Instant, now: Instant) -> Pause:
    """How long nothing was written. A clock that went backwards proves nothing, so the pause counts as unknown."""
    ran_s, wall_s = now.seconds - last.seconds, _wall_s(last, now)
    restarted = last.boot != now.boot or ran_s < 0
    minutes = max(ran_s, wall_s) / 60.0
    if restarted:
        minutes = wall_s / 60.0 if wall_s >= 0 else UNKNOWN_MIN
    return Pause(minutes, restarted)


def _wall_s(then: Instant, now: Instant) -> float:
    return (datetime.fromisoformat(now.utc) - datetime.fromisoformat(then.utc)).total_seconds()


def pause_in_words(pause: Pause) -> str:
    if pause.minutes == UNKNOWN_MIN:
        return "nobody knows how long nothing was written: the clock went backwards"
    if pause.restarted:
        return "the computer restarted"
    if pause.minutes > 2 * 60:
        return f"nothing was written for {pause.minutes / 60:.0f} hours"
    return f"nothing was written for {pause.minutes:.0f} minutes"
