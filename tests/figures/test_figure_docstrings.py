"""Every public figure is documented as an engineering document, and imports no more than it should."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import teardown.figures

ROOT = Path(__file__).parents[2]
MODULES = [f"teardown.figures.{found.name}" for found in pkgutil.iter_modules(teardown.figures.__path__)]
FUNCTIONS = [
    function
    for module in map(importlib.import_module, MODULES)
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if not name.startswith("_") and function.__module__ == module.__name__
]
# how the end of a name says its unit, and how the docstring must print it
UNITS = {
    "kg": "kg", "m": "m", "m2": "m2", "m3": "m3", "h": "h", "s": "s", "c": "C", "hpa": "hPa",
    "ppm": "ppm", "deg": "deg", "kg_per_m3": "kg/m3", "m_per_s": "m/s",
    "w_per_m2_k": "W/m2K", "cm3_per_kg": "cm3/kg", "per_h": "1/h",
}  # fmt: skip


def described(function: Callable[..., object]) -> dict[str, str]:
    """The parameters of a docstring's own section, in order, with what is said of each."""
    text = inspect.getdoc(function) or ""
    section = re.search(r"Parameters\n-+\n(.*?)(?:\n\n|\Z)", text, re.DOTALL)
    return dict(re.findall(r"^(\w+) : (.+)$", section[1], re.MULTILINE)) if section else {}


def unit_of(name: str) -> str | None:
    """The unit the end of a name says, the longest ending that is one."""
    words = name.split("_")
    endings = ("_".join(words[start:]) for start in range(1, len(words)))
    return next((UNITS[ending] for ending in endings if ending in UNITS), None)


def test_there_are_figures_to_check() -> None:
    names = {function.__name__ for function in FUNCTIONS}
    assert {"dry_ice_air", "chill", "lift", "balance", "height", "runs", "stop", "carriage", "reconcile"} <= names
    assert "closing_from_items" in names


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_a_docstring_names_the_parameters_of_the_signature_in_their_order(function: Callable[..., object]) -> None:
    assert list(described(function)) == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_a_docstring_says_units_refusals_source_and_a_worked_number(function: Callable[..., object]) -> None:
    text = inspect.getdoc(function) or ""
    for must in ("Returns", "Refuses", "Source:", ">>> "):
        assert must in text, must
    for name, said in described(function).items():
        unit = unit_of(name)
        assert unit is None or f"[{unit}]" in said, f"{name}: {said}"


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_every_number_of_a_figure_says_its_unit_in_its_name_or_its_docstring(function: Callable[..., object]) -> None:
    for name, parameter in inspect.signature(function).parameters.items():
        if "float" in str(parameter.annotation) and unit_of(name) is None:
            said = described(function)[name]
            assert re.search(r"\[|unit|times|lifts|how often|coefficient", said), f"{name}: {said}"


def imported_by(script: str) -> set[str]:
    """Every module a fresh interpreter has after a script."""
    done = subprocess.run(
        [sys.executable, "-c", f"{script}\nimport sys; print('\\n' + repr(sorted(sys.modules)))"],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return set(ast.literal_eval(done.stdout.strip().splitlines()[-1]))


def test_importing_every_figure_costs_the_standard_library_only() -> None:
    found = imported_by("; ".join(f"import {module}" for module in MODULES))
    assert not {"numpy", "scipy", "rich", "textual", "pydantic"} & found
    ours = {name for name in found if name.split(".")[0] == "teardown"}
    assert ours == {"teardown", "teardown.figures", *MODULES}


def test_the_command_imports_the_chosen_figure_only() -> None:
    words = ["figure", "air", "--ice", "1kg", "--volume", "3m3", "--air-changes", "2", "--over", "60min"]
    found = imported_by(f"from teardown.cli import main; main({words})")
    assert not {"numpy", "scipy", "rich", "textual", "pydantic", "tomllib"} & found
    assert {name for name in found if name.startswith("teardown.figures.")} == {
        "teardown.figures.air",
        "teardown.figures.errors",
    }
