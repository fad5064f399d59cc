"""The commands as a person types them, on the small world's packs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from teardown.cli import main
from tests.world import PROCEDURES

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run one command; give back its status, what it printed and what it complained of."""
    monkeypatch.setattr("teardown.car.door.procedures", lambda: PROCEDURES)
    monkeypatch.setattr("teardown.commands.new.procedures", lambda: PROCEDURES)

    def command(*words: object) -> tuple[int, str, str]:
        status = main([str(word) for word in words])
        printed = capsys.readouterr()
        return status, printed.out, printed.err

    return command


@pytest.fixture
def car(run: Run, tmp_path: Path) -> Path:
    """A car set up without a terminal; not a hybrid, nothing else known."""
    folder = tmp_path / "car"
    assert run("new", folder, "--goal", "1000kg", "--kerb", "1200kg", "--who", "Ana", "--fitted", "hybrid=no")[0] == 0
    return folder
