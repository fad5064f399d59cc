"""The application around the places: what it says at first, and how it ends."""

from __future__ import annotations

import signal

import pytest

from teardown.screens.app import WalkApp, run_screen
from tests.screens.hand import walking
from tests.world import World


def test_what_opening_the_log_found_is_said_first(world: World) -> None:
    with open(world.folder / "log.jsonl", "ab") as log:
        log.write(b'{"n":2,"utc":"2026-05')
    world.reopen()
    with walking(world) as hand:
        assert "the last line of the log was never finished (power cut?)" in hand.reads


def test_a_session_at_the_screen_is_written_and_only_looking_is_not(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(WalkApp, "run", lambda app, mouse: None)
    run_screen(world.car, "Bo")
    assert (world.state.entries, world.state.who) == (2, "Bo")


def test_a_program_that_broke_does_not_end_as_if_all_were_well(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(app: WalkApp, mouse: bool) -> None:
        app._return_code = 1

    monkeypatch.setattr(WalkApp, "run", breaks)
    with pytest.raises(SystemExit) as ended:
        run_screen(world.car, "Ana")
    assert ended.value.code == 1


def test_signals_are_left_alone_where_there_is_no_terminal(world: World) -> None:
    before = signal.getsignal(signal.SIGTERM)
    with walking(world):
        assert signal.getsignal(signal.SIGTERM) is before
