"""Terminals as they are: sizes, names, colours, a window that changes or closes, signals, tmux, no terminal at all."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.terminal.conftest import HOUSE, PROGRAM, entries, kinds, walk, walk_in_pipes
from tests.terminal.pty import Terminal

MOUSE_MODES = (9, 1000, 1001, 1002, 1003, 1005, 1006, 1015, 1016)
"""xterm's control sequences, "Mouse Tracking" (from memory)."""

COLOURS = {*range(30, 39), *range(40, 49), *range(90, 98), *range(100, 108)}
"""ECMA-48 SGR and aixterm: every parameter that sets a colour; 39 and 49 are the terminal's own (from memory)."""


def colours_set(raw: bytes) -> set[int]:
    """The colour parameters among all SGR sequences."""
    return {int(n) for found in re.findall(rb"\x1b\[([0-9;]*)m", raw) for n in found.split(b";") if n} & COLOURS


# -- sizes


@pytest.mark.parametrize(("columns", "rows"), [(40, 12), (60, 18), (80, 24), (120, 40)])
def test_it_works_in_a_window_of_every_size(car: Path, columns: int, rows: int) -> None:
    with walk(car, columns, rows) as terminal:
        terminal.wait_for("[space] done")
        for words in (
            "1200.0 kg by its papers | 200.0 kg to go",
            "DANGER  High voltage",
            "1/12  Look for high voltage",
            "[?]",
        ):
            assert words in terminal.text
        terminal.press("space", "2/12")
        terminal.press("q", "")
        assert terminal.ends() == 0
    assert kinds(car) == ["opened", "opened", "step-done"]


def test_the_window_may_be_pulled_about_while_it_runs(car: Path) -> None:
    with walk(car, 120, 40) as terminal:
        terminal.wait_for("=> > Look for high voltage")
        terminal.resize(60, 18)
        terminal.wait_until(lambda text: "=> >" not in text and "[space] done" in text, "the card alone")
        terminal.resize(38, 10)
        terminal.wait_for("This window is 38 x 10.")
        terminal.resize(40, 12)
        terminal.wait_for("[space] done")
        terminal.press("space", "2/12")


# -- names of terminals, colours, the mouse


def band_and_the_rest(terminal: Terminal) -> Iterator[tuple[bool, str, str]]:
    """Of each cell: whether it is in the line of the signal word, its colour and the colour under it."""
    for row in range(terminal.rows):
        line = [terminal.screen.buffer[row][column] for column in range(terminal.columns)]
        is_band = "DANGER" in "".join(cell.data for cell in line)
        yield from ((is_band, cell.fg, cell.bg) for cell in line)


def test_the_kernels_own_console_can_draw_the_large_digits(car: Path) -> None:
    """TERM=linux: its default font has the characters of code page 437 (from memory)."""
    with walk(car, TERM="linux") as terminal:
        terminal.wait_for("[space] done")
        terminal.press("space", "2/12")
        terminal.press("g", "Line 1 of 3")
        terminal.press("right", "GATE Airbag wait: SHUT")
        assert "\N{FULL BLOCK}" in terminal.text
        assert terminal.text.encode("cp437")


@pytest.mark.parametrize(
    ("name", "more"),
    [("xterm-256color", ""), ("xterm-256color", "truecolor"), ("linux", ""), ("screen", "")],
)
def test_outside_the_signal_word_the_colours_are_the_terminals_own(car: Path, name: str, more: str) -> None:
    with walk(car, TERM=name, COLORTERM=more) as terminal:
        terminal.wait_for("[space] done")
        cells = list(band_and_the_rest(terminal))
        assert {(ink, ground) for is_band, ink, ground in cells if not is_band} == {("default", "default")}
        assert {ground for is_band, _, ground in cells if is_band} != {"default"}
        terminal.press("g", "GATES")


def test_where_no_colour_is_wanted_none_is_set_and_the_words_say_all(car: Path) -> None:
    """NO_COLOR, any value: no-color.org (from memory)."""
    with walk(car, NO_COLOR="1") as terminal:
        terminal.wait_for("[space] done")
        assert "/!\\ DANGER  High voltage" in terminal.text
        assert "#BATTERY ON?" in terminal.text
        terminal.press("l", "=> > Look for high voltage")
        assert colours_set(terminal.raw) == set()


def test_with_colour_some_is_set(car: Path) -> None:
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        assert colours_set(terminal.raw) == {38, 48}


def test_the_mouse_is_left_to_the_terminal(car: Path) -> None:
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("g", "GATES")
        assert not any(f"\x1b[?{mode}h".encode() in terminal.raw for mode in MOUSE_MODES)


# -- how it ends


def left_as_it_was_found(terminal: Terminal, before: list[int]) -> None:
    """The alternate screen left, the cursor back, and keys echoed and gathered into lines again."""
    assert terminal.raw.count(b"\x1b[?1049h") == terminal.raw.count(b"\x1b[?1049l") == 1
    assert terminal.raw.rindex(b"\x1b[?25h") > terminal.raw.rindex(b"\x1b[?25l")
    assert b"\x1b[?2004l" in terminal.raw
    local_modes = 3  # the fourth of termios' fields (POSIX, General Terminal Interface)
    assert terminal.modes()[local_modes] == before[local_modes]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_to_end_leaves_the_terminal_as_it_was_and_the_log_whole(car: Path, number: signal.Signals) -> None:
    with walk(car) as terminal:
        before = terminal.modes()
        terminal.wait_for("[space] done")
        assert terminal.modes()[3] != before[3]
        terminal.press("space", "2/12")
        terminal.kill(number)
        assert terminal.ends() == 0
        left_as_it_was_found(terminal, before)
    assert kinds(car) == ["opened", "opened", "step-done"]


@pytest.mark.parametrize("typing", [False, True])
def test_ctrl_c_quits_wherever_one_is_and_asks_nothing(car: Path, typing: bool) -> None:
    with walk(car) as terminal:
        before = terminal.modes()
        terminal.wait_for("[space] done")
        if typing:
            terminal.press("t", "Note on:")
        terminal.send(b"\x03")
        assert terminal.ends() == 0
        left_as_it_was_found(terminal, before)


def test_a_window_that_is_closed_ends_the_program_and_loses_nothing(car: Path) -> None:
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("space", "2/12")
        terminal.close_window()
        terminal.ends()
    assert kinds(car) == ["opened", "opened", "step-done"]
    with walk(car) as terminal:
        terminal.wait_for("2/12  Isolate the battery")


# -- tmux, and no terminal


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed here")
def test_it_works_inside_tmux(car: Path, tmp_path: Path) -> None:
    socket = ["tmux", "-S", str(tmp_path / "socket"), "-f", os.devnull]
    command = [*socket, "new-session", "-x", "60", "-y", "18", *PROGRAM, str(car)]
    with Terminal(command, 60, 19, cwd=str(HOUSE)) as terminal:  # one line is tmux's own
        try:
            terminal.wait_for("[space] done")
            terminal.press("space", "2/12")
            terminal.press("g", "GATE Battery off")
            terminal.press("right", "GATE Airbag wait")
            terminal.press("q", "")
            assert terminal.ends() == 0
        finally:
            subprocess.run([*socket, "kill-server"], capture_output=True, check=False)
    assert kinds(car) == ["opened", "opened", "step-done"]


def test_without_a_terminal_it_says_what_to_use_instead(car: Path) -> None:
    done = walk_in_pipes(car)
    assert (done.returncode, done.stdout) == (2, b"")
    complaint = done.stderr.decode()
    for words in ("needs a terminal", f"teardown walk {car} --plain", f"teardown show {car}", f"teardown enter {car}"):
        assert words in complaint
    assert len(entries(car)) == 1


def test_a_terminal_that_cannot_paint_is_told_the_same(car: Path) -> None:
    with walk(car, 200, 18, TERM="dumb") as terminal:
        assert terminal.ends() == 2
        assert "the screen needs a terminal. Line by line: teardown walk" in terminal.text


# -- two programs


def test_a_second_program_is_told_that_another_writes_and_may_look(car: Path) -> None:
    with walk(car) as first:
        first.wait_for("[space] done")
        done = walk_in_pipes(car, "--plain")
        assert done.returncode == 0
        assert "another program is writing to" in done.stderr.decode()
        assert "Opened to read only" in done.stderr.decode()
        with walk(car, 60, 18) as second:
            second.wait_for("READING ONLY")
            second.press("space", "open to read only")
            first.press("space", "2/12")
            second.wait_for("DONE")  # what the first writes, the second shows
            second.press("q", "")
            assert second.ends() == 0
    assert kinds(car) == ["opened", "opened", "step-done"]
