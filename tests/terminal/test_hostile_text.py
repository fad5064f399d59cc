"""Packs and car folders from strangers: their words are read, and never drive the terminal or the program."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from teardown.car.clock import SystemClock
from teardown.car.logwriter import open_for_writing
from tests.terminal.conftest import MakeCar, entries, kinds, walk, walk_in_pipes
from tests.terminal.pty import Terminal
from tests.world import FACTS, PROCEDURES

POISON = "\x1b]0;owned\x07\x1b[31mRED\x1b[2J\x9b6n\u202eback\u2066\u00ad\U000e0041"
MARKUP = "[@click=app.quit]go[/] [bold red]x[/] [/] [$y] \\[z]"
LONG = "x" * 10_000

PACK = """
id = "extra"
title = {title}
why = "To see what happens."

[[steps]]
id = "odd"
title = {title}
do = {do}
minutes = [1, 2, 3]
parts = [
  {{ id = "odd-part", name = {title}, kg = [1, 2, 3], material = "steel", fate = "sell", {place} }},
]
"""


PLACE = 'place = { x = 0.5, y = "0", z = 0.3 }'


def write_raw(folder: Path, kind: str, fields: dict[str, object], who: str = "Ana") -> None:
    """An entry that no door let through: its digest is right, for anybody can make one."""
    with open_for_writing(folder / "log.jsonl", SystemClock(), lambda _: None) as log:
        log.append(who, kind, fields)


def only_paints(terminal: Terminal) -> None:
    """Nothing reached the terminal but painting. The pointer's shape (OSC 22) is the screen library's own."""
    assert terminal.commands <= {b"\x1b]22;default\x07"}
    assert b"owned" not in terminal.raw.replace(b"]0;owned", b"")
    assert not re.search(rb"\x1b\[31mRED|\x1b\[6n|\x9b|\x1b\]0", terminal.raw)
    shown = terminal.raw.decode()
    assert not any(character in shown for character in "\u202e\u2066\u00ad\U000e0041")


def quote(text: str) -> str:
    """As a TOML string; what may not stand raw is escaped."""
    escaped = "".join(c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08x}" for c in text)
    return f'"{escaped}"'


def with_pack(folder: Path, title: str, do: str) -> None:
    (folder / "own").mkdir()
    (folder / "own" / "extra.toml").write_text(PACK.format(title=quote(title), do=quote(do), place=PLACE))


def test_a_pack_that_would_drive_the_terminal_is_refused_in_harmless_words(make_car: MakeCar) -> None:
    folder = make_car('packs = "own"\n' + FACTS)
    with_pack(folder, POISON, "two\nlines" + POISON)
    with walk(folder, 200, 24) as terminal:
        assert terminal.ends() == 2
        assert "extra.toml" in terminal.text
        only_paints(terminal)


def test_a_title_with_a_line_break_is_refused(make_car: MakeCar) -> None:
    folder = make_car('packs = "own"\n' + FACTS)
    with_pack(folder, "Seat\nout", "Do it.")
    done = walk_in_pipes(folder, "--plain")
    assert done.returncode == 2
    assert "extra.toml" in done.stderr.decode()


def test_markup_in_a_pack_is_shown_as_it_is_and_runs_nothing(make_car: MakeCar) -> None:
    folder = make_car('packs = "own"\n' + FACTS)
    with_pack(folder, MARKUP, MARKUP)
    with walk(folder, 80, 24) as terminal:
        terminal.wait_for("1/13")
        terminal.press("l", "=> > Look for high voltage")
        for _ in range(12):  # the last of thirteen
            terminal.press("down", "=>")
        terminal.press("enter", f"{MARKUP}\n")
        terminal.press("space", f"WEIGH  {MARKUP}")
        terminal.type("2", "usually")
        terminal.press("enter", f"written: {MARKUP} 2kg")
        only_paints(terminal)


def test_facts_that_would_drive_the_terminal_are_refused_in_harmless_words(make_car: MakeCar) -> None:
    folder = make_car(FACTS.replace('"Test car"', quote(POISON)))
    with walk(folder, 200, 24) as terminal:
        assert terminal.ends() == 2
        assert "car.toml" in terminal.text
        only_paints(terminal)


@pytest.mark.parametrize(("columns", "rows"), [(60, 18), (40, 12)])
def test_a_log_from_a_stranger_is_shown_harmlessly(make_car: MakeCar, columns: int, rows: int) -> None:
    folder = make_car()
    write_raw(folder, "step-skipped", {"step": "safe.isolate", "why": f"{POISON}\n{MARKUP}\n{LONG}"}, who=POISON)
    write_raw(folder, "part-found", {"name": f"{POISON}{MARKUP}"[:80], "reading": "2kg", "mass_kg": 2.0})
    write_raw(folder, "part-weighed", {"part": "mats", "reading": "2kg", "how": "direct", "mass_kg": 2.0})
    write_raw(folder, "note", {"text": POISON + LONG, "step": "safe.look"})
    with walk(folder, columns, rows) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("right", "SKIPPED: ]0;owned[31mRED[2J")
        terminal.press("l", "- Isolate the battery")
        terminal.press("backspace", "[space] done")
        terminal.press("?", "KEYS")
        terminal.press("backspace", "[space] done")
        terminal.press("u", "undone: entry 5")
        terminal.resize(80, 24)
        terminal.wait_for("[u] undo")
        only_paints(terminal)


def test_names_and_notes_typed_with_markup_stay_words(make_car: MakeCar) -> None:
    folder = make_car(FACTS.replace('"Ana"', quote(MARKUP)))
    with walk(folder, 120, 40) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("o", f"[1] {MARKUP}")
        terminal.press("1", f"{MARKUP} is working now")
        terminal.press("f", "Found: its name")
        terminal.type("[/][b]", "[/][b]_")
        terminal.press("enter", "FOUND  [/][b]")
        terminal.type("3", "[enter] WRITE")
        terminal.press("enter", "written: FOUND: [/][b], 3.0 kg")
        only_paints(terminal)
    assert entries(folder)[-1].who == MARKUP[:80]


def test_a_worker_named_on_the_command_line_is_made_harmless(car: Path) -> None:
    with walk(car, 60, 18, "--who", "\x1b]0;owned\x07" + LONG) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("space", "2/12")
        only_paints(terminal)
    assert entries(car)[-1].who == ("]0;owned" + LONG)[:80]


def test_line_by_line_nothing_drives_the_terminal_either(make_car: MakeCar) -> None:
    folder = make_car()
    write_raw(folder, "step-skipped", {"step": "safe.look", "why": POISON + MARKUP})
    done = walk_in_pipes(folder, "--plain", said=b"go safe.look\ngates\nfly \x1b]0;owned\x07\nquit\n")
    assert done.returncode == 0
    said = done.stdout.decode()
    assert "]0;owned[31mRED[2J" in said
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\u2066\u00ad]", said)


def test_packs_are_found_where_they_ship_and_nowhere_else(make_car: MakeCar, tmp_path: Path) -> None:
    """A folder of packs named in car.toml may lie anywhere, but a link in it may not lead out of it."""
    folder = make_car('packs = "own"\n' + FACTS)
    (folder / "own").mkdir()
    shutil.copy(PROCEDURES / "c-finish.toml", tmp_path / "elsewhere.toml")
    (folder / "own" / "extra.toml").symlink_to(tmp_path / "elsewhere.toml")
    done = walk_in_pipes(folder, "--plain")
    assert done.returncode == 2
    assert "a link that leads out of the folder" in done.stderr.decode()
    assert kinds(folder) == ["opened"]
