"""A car of the small world, and the windows it is walked in."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.screens.hand import AT_ARMS_LENGTH, WITH_ROOM
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


@pytest.fixture(params=[AT_ARMS_LENGTH, WITH_ROOM], ids=["60x18", "120x40"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    return request.param  # type: ignore[no-any-return]
