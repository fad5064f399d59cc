"""The clock: what it counts, and that nothing a person can set moves it."""

from __future__ import annotations

import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path

import pytest

from teardown.car import clock
from teardown.car.clock import SystemClock, boot_identity, seconds_since_boot

on_linux = pytest.mark.skipif(sys.platform != "linux", reason="reads what only Linux tells")

ASK = "from teardown.car.clock import SystemClock as C; now = C().now(); print(now.boot, now.seconds)"


def asked_in_another_process() -> tuple[str, float]:
    told = subprocess.run([sys.executable, "-c", ASK], capture_output=True, text=True, check=True).stdout
    boot, seconds = told.split()
    return boot, float(seconds)


def boot_identity_anew() -> str:
    """As a program that has just started finds it."""
    return boot_identity.__wrapped__()


class Wall:
    """A wall clock somebody sets."""

    def __init__(self) -> None:
        self.told = datetime(2026, 5, 9, 23, 30, 0, 120_999, tzinfo=UTC)

    def now(self, _: tzinfo) -> datetime:
        return self.told


@pytest.fixture
def wall(monkeypatch: pytest.MonkeyPatch) -> Wall:
    wall = Wall()
    monkeypatch.setattr(clock, "datetime", wall)
    return wall


@on_linux
def test_a_program_started_again_finds_the_same_boot_and_seconds_that_go_on() -> None:
    before = SystemClock().now()
    boot, seconds = asked_in_another_process()
    after = SystemClock().now()
    assert before.boot == boot == after.boot
    assert before.seconds < seconds < after.seconds


@on_linux
def test_seconds_agree_with_the_uptime_of_the_kernel_which_counts_the_time_asleep() -> None:
    # proc(5): /proc/uptime is "the uptime of the system (including time spent in suspend)", in hundredths of a second.
    before = seconds_since_boot()
    uptime_s = float(Path("/proc/uptime").read_text().split()[0])
    after = seconds_since_boot()
    assert before - 0.02 <= uptime_s <= after + 0.02


@on_linux
def test_seconds_are_the_clock_that_counts_the_time_asleep_and_not_the_one_that_does_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # time(7), clock_gettime(2): CLOCK_BOOTTIME "also includes any time that the system is suspended".
    laptop = {time.CLOCK_BOOTTIME: 4000.0, time.CLOCK_MONOTONIC: 400.0}  # asleep for an hour
    monkeypatch.setattr(time, "clock_gettime", laptop.__getitem__)
    assert seconds_since_boot() == 4000.0


def test_a_wall_clock_set_forward_or_back_moves_no_second(wall: Wall) -> None:
    start = SystemClock().now()
    for jump in (timedelta(days=365), timedelta(days=-730), timedelta(minutes=31)):
        wall.told += jump
        now = SystemClock().now()
        assert now.utc != start.utc
        assert 0 <= now.seconds - start.seconds < 5
        assert now.boot == start.boot


def test_seconds_really_pass() -> None:
    start = SystemClock().now().seconds
    time.sleep(0.05)
    assert 0.049 <= SystemClock().now().seconds - start < 5


def test_wall_time_is_always_as_long_in_whole_milliseconds_and_never_ahead(wall: Wall) -> None:
    assert SystemClock().now().utc == "2026-05-09T23:30:00.120Z"
    wall.told = datetime(2027, 1, 1, tzinfo=UTC)
    assert SystemClock().now().utc == "2027-01-01T00:00:00.000Z"


def test_the_day_is_the_one_where_the_work_is_done(wall: Wall, monkeypatch: pytest.MonkeyPatch) -> None:
    assert SystemClock().now().day == "2026-05-09"
    monkeypatch.setenv("TZ", "AHEAD-12")  # POSIX: twelve hours east
    time.tzset()
    assert SystemClock().now().day == "2026-05-10"


def test_where_no_boot_can_be_told_each_run_counts_as_a_boot_of_its_own(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(clock, "BOOT_ID", tmp_path / "not-there")
    first, second = boot_identity_anew(), boot_identity_anew()
    assert first.startswith("run-")
    assert first != second


def test_an_empty_boot_identity_is_none(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "boot_id").write_text("\n")
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(clock, "BOOT_ID", tmp_path / "boot_id")
    monkeypatch.setattr(clock, "TIME_OFFSETS", tmp_path / "not-there")
    assert boot_identity_anew().startswith("run-")


def test_a_system_that_tells_no_boot_makes_a_wait_start_again_with_the_program(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    assert boot_identity_anew() != boot_identity_anew()


def test_within_one_run_the_boot_is_asked_for_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    before = SystemClock().now().boot
    monkeypatch.setattr(clock, "BOOT_ID", tmp_path / "not-there")
    assert SystemClock().now().boot == before


def test_a_container_whose_boot_time_was_moved_by_hand_is_a_boot_of_its_own(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # time_namespaces(7): lines of clock, seconds and nanoseconds. Without this an hour's wait passes in no time.
    offsets = tmp_path / "timens_offsets"
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(clock, "TIME_OFFSETS", offsets)
    (tmp_path / "boot_id").write_text("a486a251\n")
    monkeypatch.setattr(clock, "BOOT_ID", tmp_path / "boot_id")
    assert boot_identity_anew() == "a486a251"
    offsets.write_text("monotonic           0         0\nboottime            0         0\n")
    assert boot_identity_anew() == "a486a251"
    offsets.write_text("monotonic           0         0\nboottime         3600         0\n")
    assert boot_identity_anew() == "a486a251+3600.0"


def test_a_mac_is_asked_for_the_boot_and_for_the_clock_that_goes_on_asleep(monkeypatch: pytest.MonkeyPatch) -> None:
    def answer(asked: list[str], **_: object) -> subprocess.CompletedProcess[str]:
        return subprocess.CompletedProcess(asked, 0, stdout=f"{asked[-1]}: 7E0\n")

    monkeypatch.setattr(sys, "platform", "darwin")
    monkeypatch.setattr(subprocess, "run", answer)
    monkeypatch.setattr(time, "clock_gettime", {time.CLOCK_MONOTONIC: 12.5}.__getitem__)
    assert boot_identity_anew() == "kern.bootsessionuuid: 7E0"
    assert seconds_since_boot() == 12.5
