"""Imports run downward only, and the core runs where the screen library was never installed."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

import teardown
from tests.world import PROCEDURES, World

HOUSE = Path(teardown.__file__).parent
BOTTOM = ("units", "text", "cells", "nearest", "stop", "collector", "__init__")

MAY_IMPORT: dict[str, tuple[str, ...]] = {
    "figures": (),
    **dict.fromkeys(BOTTOM, ()),
    "packs": BOTTOM,
    "car": ("packs", "figures", *BOTTOM),
    "sheets": ("car", "packs", "figures", *BOTTOM),
    "screens": ("sheets", "car", "packs", "figures", *BOTTOM),
    "commands": ("sheets", "car", "packs", "figures", *BOTTOM),
    "cli": ("commands", *BOTTOM),
    "__main__": ("cli",),
}
"""What each room of the house may import besides itself."""

THE_START_OF_THE_SCREEN = ("commands/walk.py", "screens")
"""The one import across: the command that starts the application."""


class Import(NamedTuple):
    file: str
    line: int
    room: str
    """The room that is imported."""

    @property
    def within(self) -> str:
        return self.file.split("/")[0].removesuffix(".py")


def imports() -> Iterator[Import]:
    """Every import of ours, wherever in a file it stands."""
    for path in sorted(HOUSE.rglob("*.py")):
        file = path.relative_to(HOUSE).as_posix()
        for node in ast.walk(ast.parse(path.read_bytes())):
            for module in _modules(node, file):
                _, _, inside = module.partition(".")
                yield Import(file, node.lineno, inside.split(".")[0] or "__init__")


def _modules(node: ast.AST, file: str) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (name.name for name in node.names if name.name.split(".")[0] == "teardown")
    elif isinstance(node, ast.ImportFrom):
        assert node.level == 0, f"{file}:{node.lineno} imports by dots: say the whole name"
        if node.module == "teardown":
            yield from (f"teardown.{name.name}" for name in node.names if _is_module(name.name))
            yield from ("teardown" for name in node.names if not _is_module(name.name))
        elif node.module and node.module.startswith("teardown."):
            yield node.module


def _is_module(name: str) -> bool:
    return (HOUSE / name).is_dir() or (HOUSE / f"{name}.py").is_file()


def test_every_room_of_the_house_has_its_rule() -> None:
    rooms = {path.name.removesuffix(".py") for path in HOUSE.iterdir() if path.suffix == ".py" or _holds_code(path)}
    assert rooms <= set(MAY_IMPORT), f"say in MAY_IMPORT what these may import: {rooms - set(MAY_IMPORT)}"


def _holds_code(path: Path) -> bool:
    return path.is_dir() and any(path.glob("*.py"))


def test_imports_run_downward_only() -> None:
    upward = [
        f"{found.file}:{found.line} imports teardown.{found.room}"
        for found in imports()
        if found.room not in (found.within, *MAY_IMPORT.get(found.within, ()))
        and (found.file, found.room) != THE_START_OF_THE_SCREEN
    ]
    assert upward == []


def test_the_one_import_across_is_still_needed() -> None:
    assert THE_START_OF_THE_SCREEN in {(found.file, found.room) for found in imports()}


def test_an_import_upward_would_be_found() -> None:
    node = ast.parse("from teardown.screens.app import run_screen\nfrom teardown import car, __version__")
    assert [list(_modules(inner, "x.py")) for inner in node.body] == [
        ["teardown.screens.app"],
        ["teardown.car", "teardown"],
    ]


# -- in a fresh interpreter


def run(code: str, *words: str) -> str:
    """Run code in an interpreter that has imported nothing yet; what it printed."""
    command = [sys.executable, "-W", "error", "-c", code, *words]
    done = subprocess.run(command, capture_output=True, text=True, cwd=HOUSE.parent, timeout=60)
    assert done.returncode == 0, done.stderr
    return done.stdout


WITHOUT_THE_SCREEN_LIBRARY = """
import importlib, io, pkgutil, sys
from pathlib import Path

class NotInstalled:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("textual", "rich"):
            raise ModuleNotFoundError(f"{name} is not installed", name=name)

sys.meta_path.insert(0, NotInstalled())
import teardown
ROOMS = ("teardown.car", "teardown.packs", "teardown.figures", "teardown.units", "teardown.text")
for module in pkgutil.walk_packages(teardown.__path__, "teardown."):
    if module.name.startswith(ROOMS):
        importlib.import_module(module.name)

from teardown.car import door
from teardown.cli import main
from teardown.commands.plain import walk_in_lines
folder, procedures = Path(sys.argv[1]), Path(sys.argv[2])
door.procedures = lambda: procedures
import teardown.commands.new as new
new.procedures = door.procedures
assert main(["new", str(folder), "--goal", "1000kg", "--kerb", "1200kg", "--fitted", "hybrid=no"]) == 0
assert main(["enter", str(folder), "step-done", "step=safe.look"]) == 0
assert main(["show", str(folder), "gates"]) == 0
assert main(["walk", str(folder), "--read", "--plain"]) == 0
print("textual" in sys.modules)
"""


def test_the_core_and_its_commands_run_without_the_screen_library(tmp_path: Path) -> None:
    printed = run(WITHOUT_THE_SCREEN_LIBRARY, str(tmp_path / "car"), str(PROCEDURES))
    assert "Battery off" in printed
    assert "Step 2 of 12: Isolate the battery." in printed
    assert printed.endswith("False\n")


AFTER_THE_FIRST_PAINT = """
import asyncio, sys
from textual.app import App

def paint_once(app, **_):
    async def paint():
        async with app.run_test(size=(60, 18)) as pilot:
            await pilot.pause()
            assert app.screen.query_one("#body").size.height > 1
            print(*sorted(sys.modules))
    asyncio.run(paint())

App.run = paint_once
sys.stdin.isatty = sys.stdout.isatty = lambda: True
from tests.world.walk import walk
sys.exit(walk([sys.argv[1]]))
"""

NOT_BEFORE_THE_FIRST_PAINT = ("numpy", "scipy", "jinja2", "matplotlib", "altair", "markdown_it", "hypothesis", "pytest")
NOTHING_OF_OURS_EITHER = (
    *(f"teardown.car.{name}" for name in ("rules", "entries", "tally_entries", "money", "balance", "closing")),
    *(f"teardown.{name}" for name in ("car.room", "car.photos", "car.privacy", "packs.translate", "packs.mending")),
    *(f"teardown.figures.{name}" for name in ("air", "closing")),
    *(f"teardown.car.{name}" for name in ("answers", "facts_edit")),
    *(f"teardown.screens.places.{name}" for name in ("bench", "tally", "weigh", "form", "gates.ticks", "answers")),
)


def test_nothing_heavy_is_imported_before_the_first_paint(tmp_path: Path) -> None:
    World(tmp_path / "car").car.close()
    loaded = set(run(AFTER_THE_FIRST_PAINT, str(tmp_path / "car")).split())
    assert "teardown.screens.work" in loaded
    assert loaded.isdisjoint(NOT_BEFORE_THE_FIRST_PAINT)
    assert loaded.isdisjoint(NOTHING_OF_OURS_EITHER)


@pytest.mark.parametrize("module", ["figures", "units", "packs", "car"])
def test_figures_units_packs_and_car_import_nothing_heavy_by_themselves(module: str) -> None:
    code = f"import sys, teardown.{module}, pkgutil\n"
    code += f"for m in pkgutil.iter_modules(getattr(teardown.{module}, '__path__', []), 'teardown.{module}.'):\n"
    code += "    __import__(m.name)\n"
    loaded = run(code + "print(*sys.modules)").split()
    assert set(loaded).isdisjoint(("numpy", "scipy", "jinja2", "textual", "rich"))


def test_the_closing_of_a_file_needs_neither_the_car_nor_the_command_that_shows_it() -> None:
    loaded = run("import sys, teardown.commands.figure.closing\nprint(*sys.modules)").split()
    assert "teardown.car.closing_words" in loaded
    assert set(loaded).isdisjoint(("teardown.commands.tally", "teardown.car.state", "pydantic"))
