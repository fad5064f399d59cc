"""Sealed from the machine: no colour, no home, no time zone from outside."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "sealed",
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("sealed")


@pytest.fixture(autouse=True)
def _sealed(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "LINES", "TEXTUAL", "TEXTUAL_THEME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", "/nonexistent")
    monkeypatch.setenv("TZ", "UTC")
    if hasattr(time, "tzset"):
        time.tzset()
    yield
    assert os.environ.get("HOME") == "/nonexistent"
