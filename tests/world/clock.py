"""A clock turned by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from teardown.car.clock import Instant


class HandClock:
    """Wall time and boot time move apart as the test says."""

    def __init__(self) -> None:
        self.wall = datetime(2026, 5, 9, 8, 0, tzinfo=UTC)
        self.boots = 1
        self.seconds = 1000.0

    def now(self) -> Instant:
        utc = self.wall.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        return Instant(utc, f"boot-{self.boots}", self.seconds, self.wall.date().isoformat())

    def advance(self, seconds: float) -> None:
        """Time really passes."""
        self.seconds += seconds
        self.wall += timedelta(seconds=seconds)

    def set_wall(self, by_seconds: float) -> None:
        """Somebody sets the wall clock."""
        self.wall += timedelta(seconds=by_seconds)

    def reboot(self, off_seconds: float = 60) -> None:
        self.boots += 1
        self.seconds = 5.0
        self.wall += timedelta(seconds=off_seconds)
