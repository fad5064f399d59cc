"""A car of the small world, opened by the real program in a terminal, on the computer's own clock."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from teardown.car.clock import SystemClock
from teardown.car.door import begin_log
from teardown.car.log import Entry, read_log
from tests.terminal.pty import Terminal
from tests.world import FACTS

HOUSE = Path(__file__).resolve().parents[2]
PROGRAM = [sys.executable, "-m", "tests.world.walk"]
QUICK_KEYS = "[keys]\nguard_ms = 150\n"
"""The shortest guard time a car may set, so that the hand in these tests need not be slow."""

MakeCar = Callable[..., Path]


@pytest.fixture
def make_car(tmp_path: Path) -> MakeCar:
    """Set a car up in a folder."""

    def make(text: str = FACTS, rehearsal: bool = False) -> Path:
        folder = tmp_path / "car"
        folder.mkdir()
        (folder / "car.toml").write_text(text + QUICK_KEYS)
        begin_log(folder, SystemClock(), "Ana", rehearsal=rehearsal)
        return folder

    return make


@pytest.fixture
def car(make_car: MakeCar) -> Path:
    return make_car()


def walk(folder: Path, columns: int = 60, rows: int = 18, *flags: str, **environment: str) -> Terminal:
    """The program, about to walk that car in a window of that size."""
    return Terminal([*PROGRAM, str(folder), *flags], columns, rows, cwd=str(HOUSE), **environment)


def walk_in_pipes(folder: Path, *flags: str, said: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    """The program where there is no terminal: what is said to it, and what comes back."""
    return subprocess.run([*PROGRAM, str(folder), *flags], input=said, capture_output=True, cwd=HOUSE, timeout=60)


def entries(folder: Path) -> list[Entry]:
    """All that stands in the log; damage or a torn tail would raise or be missing."""
    return list(read_log(folder / "log.jsonl"))


def kinds(folder: Path) -> list[str]:
    return [entry.kind for entry in entries(folder)]


def choose(terminal: Terminal, answer: str, shows: str) -> None:
    """An answer that opens something: the digit beside it, then Enter."""
    beside = re.compile(rf"\[(\d)\] {answer}")
    terminal.wait_until(beside.search, f"a digit beside {answer}")
    terminal.press(beside.findall(terminal.text)[0], f"now ENTER: {answer}")
    terminal.press("enter", shows)


def confirm_line(terminal: Terminal, shows: str) -> None:
    """The digit the screen asks for, then Enter."""
    asked = re.compile(r"press (\d), then Enter")
    terminal.wait_until(asked.search, "the digit for this line")
    terminal.press(asked.findall(terminal.text)[0], "now ENTER")
    terminal.press("enter", shows)
