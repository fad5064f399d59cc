"""A car of the small world, and the windows it is walked in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.screens.hand import AT_ARMS_LENGTH, WITH_ROOM, Hand, KeysOnly, walking
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


@pytest.fixture
def hand(world: World, request: pytest.FixtureRequest) -> Iterator[Hand]:
    """A hand that walks the test's world, at arm's length if no window is asked for."""
    with walking(world, *getattr(request, "param", AT_ARMS_LENGTH)) as walks:
        yield walks


@pytest.fixture
def keys(world: World) -> KeysOnly:
    return KeysOnly(world)


@pytest.fixture(params=[AT_ARMS_LENGTH, WITH_ROOM], ids=["60x18", "120x40"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    return request.param  # type: ignore[no-any-return]
