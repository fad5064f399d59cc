"""The tables in a real spreadsheet program: every cell arrives, and none is run."""

from __future__ import annotations

import csv
import shutil
import subprocess
from pathlib import Path

import pytest

from teardown.sheets.writing import write_sheet
from tests.sheets.conftest import A_FORMULA_AND_A_SCRIPT, filled

SSCONVERT = shutil.which("ssconvert")

pytestmark = pytest.mark.skipif(SSCONVERT is None, reason="no gnumeric is installed: the tables are not opened in it")


def opened(path: Path) -> list[list[str]]:
    """What the spreadsheet makes of the file, written out by it again."""
    out = path.with_suffix(".out.csv")
    subprocess.run([SSCONVERT or "", str(path), str(out)], capture_output=True, timeout=60, check=True)
    with open(out, newline="", encoding="utf-8") as file:
        return list(csv.reader(file))


def test_a_formula_that_is_not_made_harmless_is_run_by_it(tmp_path: Path) -> None:
    path = tmp_path / "raw.csv"
    path.write_text('"a","b"\r\n"=1+1","x"\r\n')
    assert opened(path)[1] == ["2", "x"]  # else the next test could not fail


def test_hostile_names_come_out_as_the_words_they_are(tmp_path: Path) -> None:
    world = filled(tmp_path / "car", name="=1+1")
    path = next(path for path in write_sheet(world.car, "weights") if path.name.endswith("-parts.csv"))
    rows = opened(path)
    names = [row[rows[0].index("name")] for row in rows[1:]]
    assert "2" not in names
    assert "=1+1" in names  # the apostrophe says "text" to it, and is not shown
    mats = next(row for row in rows if row[0] == "mats")
    assert float(mats[rows[0].index("kg")]) == pytest.approx(3.2)


def test_every_table_opens_with_as_many_rows_as_it_has(tmp_path: Path) -> None:
    world = filled(tmp_path / "car", name=A_FORMULA_AND_A_SCRIPT)
    for path in write_sheet(world.car, "cage"):
        if path.suffix == ".csv":
            with open(path, newline="", encoding="utf-8-sig") as file:
                assert len(opened(path)) == len(list(csv.reader(file))), path.name
