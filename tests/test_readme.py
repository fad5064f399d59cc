"""What README and DEVELOPERS name is there, and what is there is named."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from teardown.car.entries import KINDS as ENTRIES
from teardown.cli import COMMANDS, main
from teardown.commands.enter import EXAMPLES
from teardown.commands.figure import FIGURES
from teardown.commands.show import WHAT
from teardown.packs.reader import load
from teardown.packs.shipped import procedures
from teardown.sheets.writing import KINDS

HOUSE = Path(__file__).parents[1]
ROWS = dict(re.findall(r"^\| `teardown (\w+)(.*)$", (HOUSE / "README.md").read_text(), re.MULTILINE))
"""README's table of commands: what stands behind each name."""


def in_code(text: str) -> list[str]:
    return re.findall(r"`([^`]+)`", text)


def test_readme_has_a_line_for_every_command_and_for_no_other() -> None:
    assert ROWS.keys() == COMMANDS.keys()


@pytest.mark.parametrize(
    ("command", "names"), [("show", WHAT[1:]), ("sheet", tuple(KINDS)), ("figure", tuple(FIGURES))]
)
def test_readme_names_everything_a_command_is_asked_for(command: str, names: tuple[str, ...]) -> None:
    told = ROWS[command].partition("|")[2]
    assert tuple(word for word in in_code(told) if word in names) == names


def test_every_flag_in_readme_is_one_of_its_command(capsys: pytest.CaptureFixture[str]) -> None:
    for command, row in ROWS.items():
        with pytest.raises(SystemExit):
            main([command, *(["air"] if command == "figure" else []), "--help"])
        known = capsys.readouterr().out
        used = re.findall(r"--[a-z]+", row.partition("|")[0])
        assert [flag for flag in used if flag not in known] == [], command


def test_every_file_that_developers_names_is_in_the_house() -> None:
    named = re.findall(
        r"`((?:car|packs|commands|screens|sheets|tests)/[\w/]+\.py)`", (HOUSE / "DEVELOPERS.md").read_text()
    )
    assert len(named) > 10
    assert [name for name in named if not (HOUSE / name).exists() and not (HOUSE / "teardown" / name).exists()] == []


def test_the_examples_of_enter_name_what_the_packs_have() -> None:
    library = load(procedures())
    parts = {part.id for pack in library.packs for step in pack.steps for part in step.parts}
    steps = {f"{pack.id}.{step.id}" for pack in library.packs for step in pack.steps}
    known = {"gate": library.gates.keys(), "step": steps, "part": parts, "feature": library.features.keys()}
    examples = re.findall(r"teardown enter mycar (\S+) (.+)", EXAMPLES)
    assert len(examples) == EXAMPLES.count("\n")
    for kind, words in examples:
        assert kind in ENTRIES
        fields = dict(re.findall(r'(\w+)=("[^"]*"|\S+)', words))
        assert not [word for key, word in fields.items() if key in known and word not in known[key]], words
