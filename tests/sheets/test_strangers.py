"""A sheet for strangers, whole: no private text gets onto it by any way a person can write one, and who wrote it is
told."""

from __future__ import annotations

import csv
import json
import tempfile
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from teardown.car.door import FACTS
from teardown.car.privacy import BLACK, letters
from teardown.cli import main
from teardown.sheets.sale import ASKED
from teardown.sheets.writing import write_sheet
from tests.car.tally import TALLY_FACTS, mats_off
from tests.car.test_privacy import some_letters, written
from tests.sheets.conftest import A_FORMULA_AND_A_SCRIPT, A_TEMPLATE_AND_A_HANDLER, filled
from tests.world import PROCEDURES, World

TOLD = tuple(key for key in ASKED if key not in ("grade", "size"))
"""The facts about a part that are written in words."""


class Texts(HTMLParser):
    """Every text of a page, and every word in an attribute; pictures apart."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self.feed(html)

    def handle_data(self, data: str) -> None:
        self.found.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for _, value in attrs if value and not value.startswith("data:image/")]


def texts_of(files: list[Path]) -> Iterator[str]:
    """All that a buyer can read in what is given away: pages, tables, and how the files are called."""
    for path in files:
        yield path.name
        if path.suffix == ".html":
            yield from Texts(path.read_text()).found
        else:
            with open(path, newline="", encoding="utf-8-sig") as file:
                yield from (cell for row in csv.reader(file) for cell in row)


def facts_with(name: str, *private: str) -> str:
    head = f"name = {json.dumps(name, ensure_ascii=False)}\nprivate = {json.dumps(private, ensure_ascii=False)}\n"
    return head + TALLY_FACTS.replace('name = "Test car"', "", 1)


def for_sale(folder: Path, facts: str, words: list[str]) -> World:
    """A lot and a part by itself, with the words wherever the owner may write any."""
    world = World(folder, facts)
    mats_off(world)
    found = f"found-{world.done('part-found', name=words[0], reading='1kg').n}"
    world.done("listed", part="mats", along=found, ask="40", **dict(zip(TOLD, words, strict=True)))
    world.done("listed", part="driver-seat", ask="90", where=words[0])
    world.done("sold", part=found, amount="5", to=words[1])
    world.done("part-found", name=words[2], reading="2kg", fate="sell")
    world.done("part-stored", part="mats", where=words[3])
    world.done("note", text=words[4])
    return world


@cache
def own_words() -> str:
    """What the program itself says on such a sheet: its headings, the date."""
    with tempfile.TemporaryDirectory() as folder:
        world = for_sale(Path(folder) / "car", facts_with("~", "~~~~ none"), ["~"] * len(TOLD))
        return letters(" ".join(texts_of(write_sheet(world.car, "sale"))))


@given(st.data(), some_letters)
@settings(max_examples=25)
def test_no_private_text_gets_onto_a_sheet_for_buyers_by_any_way(data: st.DataObject, private: str) -> None:
    words = [data.draw(written(private)).strip()[:80] for _ in range(len(TOLD) + 1)]
    assume(letters(private) not in own_words())
    assume(all(letters(word) == letters(private) for word in words))
    with tempfile.TemporaryDirectory() as folder:
        world = for_sale(Path(folder) / "car", facts_with(words[-1].replace("\u200b", ""), private), words[:-1])
        files = write_sheet(world.car, "sale")
        told = list(texts_of(files))
        assert [text for text in told if letters(private) in letters(text)] == []
        assert sum(BLACK in text for text in told) > len(TOLD)
        world.car.close()


@pytest.mark.parametrize("hostile", [A_FORMULA_AND_A_SCRIPT, A_TEMPLATE_AND_A_HANDLER.replace("\u202e", "")])
def test_a_hostile_text_can_be_private_and_is_gone(tmp_path: Path, hostile: str) -> None:
    told: list[str] = []
    world = filled(tmp_path / "car", text=facts_with(hostile, hostile), name=hostile)
    files = write_sheet(world.car, "sale", tell=told.append)
    assert [text for text in texts_of(files) if letters(hostile) in letters(text)] == []
    assert "alert" not in files[0].read_text()
    assert any(note.startswith(f"blacked out (private: {hostile}): ") for note in told)


def test_other_sheets_are_for_who_knows_the_car_and_hide_nothing(tmp_path: Path) -> None:
    world = filled(tmp_path / "car", text=facts_with("Test car", "Mill Lane"), name="Mill Lane")
    assert "Mill Lane" in write_sheet(world.car, "weights")[0].read_text()


@pytest.fixture
def told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A car whose owner has written its street into what buyers read; its folder."""
    monkeypatch.setattr("teardown.car.door.procedures", lambda: PROCEDURES)
    world = World(tmp_path / "car", facts_with("Tin", "Mill Lane"))
    world.done("listed", part="mats", ask="40", tested="on the drive in MILL-LANE")
    world.car.close()
    return world.folder


def test_the_command_tells_what_it_blacked_out_apart_from_the_files_it_wrote(
    told: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", str(told), "sale"]) == 0
    printed = capsys.readouterr()
    assert printed.out.splitlines() == [str(told / "sheets" / f"sale-0001{end}") for end in (".html", "-sale.csv")]
    assert printed.err == f'blacked out (private: Mill Lane): "on the drive in {BLACK}"\n'
    assert main(["sheet", str(told), "sale", "--json"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out)["told"] == [f'blacked out (private: Mill Lane): "on the drive in {BLACK}"']
    assert printed.err == ""


def test_who_has_said_nothing_is_private_is_told_so(told: Path, capsys: pytest.CaptureFixture[str]) -> None:
    facts = (told / FACTS).read_text()
    (told / FACTS).write_text(facts.replace('private = ["Mill Lane"]\n', ""))
    assert main(["sheet", str(told), "sale"]) == 0
    assert "car.toml says nothing is private" in capsys.readouterr().err
    assert main(["sheet", str(told), "bags"]) == 0
    assert capsys.readouterr().err == ""
