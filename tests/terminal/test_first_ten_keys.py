"""What a newcomer meets in the rehearsal within the first ten keys, on the sample car as its script makes it."""

from __future__ import annotations

import re
import sys
from pathlib import Path

from tests.make_sample_car import make
from tests.terminal.conftest import HOUSE, kinds
from tests.terminal.pty import Terminal

KEYS_MOST = 10


class Newcomer:
    """Presses only what the screen names, and counts the keys."""

    def __init__(self, terminal: Terminal) -> None:
        self.terminal = terminal
        self.keys = 0

    def press(self, key: str, shows: str) -> None:
        self.keys += 1
        self.terminal.press(key, shows)


def test_within_ten_keys_a_newcomer_sees_three_gates_and_ticks_weighs_and_undoes(tmp_path: Path) -> None:
    folder = tmp_path / "try"
    make(folder)
    command = [sys.executable, "-m", "teardown", "try", "--folder", str(folder)]
    with Terminal(command, 60, 18, cwd=str(HOUSE)) as terminal:
        terminal.wait_for("[0] know none")
        began = len(kinds(folder))
        newcomer = Newcomer(terminal)
        newcomer.press("0", "[w] weigh")
        newcomer.press("w", "WEIGH")
        newcomer.press("1", "usually")
        newcomer.press("enter", "written:")
        newcomer.press("u", "undone: entry")
        newcomer.press("g", "GATE Every battery off: SHUT")
        digit = re.findall(r"press (\d), then Enter", terminal.text)[0]
        newcomer.press(digit, "now ENTER")
        newcomer.press("enter", "written: you have confirmed line 1")
        newcomer.press("right", "GATE Airbag wait: SHUT")
        assert "Waits 30 min" in terminal.text
        newcomer.press("right", "GATE Carbon dioxide in the cabin: SHUT")
        assert "DANGER  Carbon dioxide from dry ice" in terminal.text
        assert newcomer.keys == KEYS_MOST
    assert kinds(folder)[began:] == ["resumed", "part-weighed", "undo", "gate-tick"]
