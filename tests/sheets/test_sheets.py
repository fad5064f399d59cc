"""Sheets: what stands on them, how harmless they are, and that they are written whole or not at all."""

from __future__ import annotations

import base64
import csv
import io
import json
import os
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image

from teardown.car.door import open_car
from teardown.car.log import Damaged
from teardown.car.privacy import BLACK
from teardown.commands.tally import balance_text
from teardown.sheets import sale, writing
from teardown.sheets.sale import MOST_PHOTOS
from teardown.sheets.writing import KINDS, harmless_cell, write_sheet
from tests.car.tally import TALLY_FACTS, tally_world
from tests.sheets.conftest import A_FORMULA_AND_A_SCRIPT, A_TEMPLATE_AND_A_HANDLER, VEHICLE_NUMBER, filled
from tests.world import PROCEDURES, World

PAGES = tuple(kind for kind in KINDS if kind != "record")


class Page(HTMLParser):
    """What a browser would make of a page: its tags, its attributes, its text. The standard library's parser."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.said: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_data(self, data: str) -> None:
        self.said.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.said).split())


def page(world: World, kind: str) -> Page:
    return Page(write_sheet(world.car, kind)[0].read_text())


def tables(files: list[Path]) -> dict[str, list[list[str]]]:
    """Every spreadsheet file, read by the csv module."""
    made = {}
    for path in files:
        if path.suffix == ".csv":
            with open(path, newline="", encoding="utf-8-sig") as file:
                made[path.stem.split("-", 2)[2]] = list(csv.reader(file, strict=True))
    return made


# -- what stands on them


@pytest.mark.parametrize(("kind", "words"), [
    ("weights", ["Floor mats", "3.20", "CLOSES", "Corners before and after", "Weight coming down", "front left"]),
    ("money", ["recovered", "0.00 EUR, 0.0 % of the price", "cap 500.00 EUR (2.1)", "cost: removing", "car.toml"]),
    ("sale", ["Floor mats", "price on asking", "5.20 kg", "Packed size?", "Not in this lot any more: Driver seat."]),
    ("bags", ["BAG 1", "Driver seat out", "4 bolts E12"]),
    ("cage", ["Driver airbag", "handed over to clips, clips, 2026-05-09", "BURNS", "fire watch", "signature", "SHUT"]),
    ("scrutineer", ["Must the door cards stay?", "may go", "4.2", "extinguisher"]),
    ("controlled", ["Driver airbag module", "handed-over", "UN 3268", "1 of 2 are out of the car"]),
    ("gates", ["Battery off", "Ana", "power came back", "Lapses", "Gas in the room", "not that anything was safe"]),
])  # fmt: skip
def test_each_sheet_says_what_it_is_for(world: World, kind: str, words: list[str]) -> None:
    said = page(world, kind).text
    assert [word for word in words if word not in said] == []


def test_the_tables_are_the_tables_of_the_page_with_the_kilos_as_numbers(world: World) -> None:
    made = tables(write_sheet(world.car, "weights"))
    assert set(made) == {"weighings", "parts", "fitted", "balance", "runs"}
    mats = next(row for row in made["parts"] if row[0] == "mats")
    assert dict(zip(made["parts"][0], mats, strict=True))["kg"] == "3.20"
    assert float(made["weighings"][1][2]) == 1193
    assert made["runs"][1][1:] == ["0 to 80 km/h", "12.1, 12.4, 12.2", "clips"]


def test_the_entries_of_the_money_are_a_table_that_adds_up(world: World) -> None:
    world.done("sold", part="mats", amount="30", fees="3.50", to="Kim")
    rows = tables(write_sheet(world.car, "money"))["money"]
    made = [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]
    assert [(one["kind"], one["in hand, EUR"], one["to, or why"]) for one in made] == [
        ("paid", "-1200.00", ""),
        ("cost: removing", "-12.00", ""),
        ("sold", "+26.50", "to Kim"),
    ]
    assert made[1]["who wrote it"] == "Ana"


def test_a_lapse_stands_with_its_reason_and_its_entry(world: World) -> None:
    lapses = tables(write_sheet(world.car, "gates"))["lapses"]
    assert ["Battery off", "power came back: clips"] in [row[2:4] for row in lapses]


def test_the_three_moments_are_the_same_rows_on_the_sheet_and_in_show(world: World) -> None:
    sheet = tables(write_sheet(world.car, "weights"))["balance"]
    shown = [line.split("  ")[0] for line in balance_text(world.state)][1 : len(sheet)]
    assert [row[0].rpartition(", ")[0] for row in sheet[1:]] == shown
    assert shown[4:] == ["total", "front", "left", "diagonal", "height"]


def test_a_gate_is_named_by_its_title_and_what_was_undone_says_so_in_its_own_row(world: World) -> None:
    read = world.done("gate-reading", gate="ice-meter", value="950ppm")
    undo = world.done("undo", entry=read.n)
    made = tables(write_sheet(world.car, "gates"))["gates"]
    row = next(row for row in made if row[0] == str(read.n))
    assert row[4] == world.state.route.gate("ice-meter").title
    assert row[5].startswith(f"UNDONE by entry {undo.n}: value 950ppm")
    assert not {row[4] for row in made[1:]} & set(world.state.route.library.gates)


def test_a_lapse_says_who_wrote_what_shut_the_gate(world: World) -> None:
    lapses = tables(write_sheet(world.car, "gates"))["lapses"]
    assert "Ana (power-restored)" in {row[4] for row in lapses[1:]}


@pytest.mark.parametrize("kind", PAGES)
def test_no_stamp_stands_on_a_sheet_as_the_log_writes_it(world: World, kind: str) -> None:
    for path in write_sheet(world.car, kind):
        assert re.findall(r"\d{4}-\d\d-\d\dT\d\d", path.read_text()) == []


def test_each_day_of_gas_is_a_chart_of_its_own_with_its_alarm_levels(world: World) -> None:
    world.clock.advance(20 * 3600)
    world.done("resumed", power="no", doors="no", people="no")
    world.done("gate-reading", gate="ice-meter", value="6200ppm")
    html = write_sheet(world.car, "gates")[0].read_text()
    charts = re.findall(r"<svg.*?</svg>", html, re.DOTALL)
    assert len(charts) == 2
    for chart in charts:
        assert "<circle" in chart  # a single reading is a dot
        assert chart.count("stroke-dasharray:9,5") == 3
    said = Page(html).text
    levels = world.state.route.gate("ice-meter").levels  # type: ignore[union-attr]
    assert levels
    assert all(f"Dashed, from {level.at:,g} ppm: {level.do}" in said for level in levels)


def test_a_live_module_nobody_accounted_for_is_taken_to_be_in_the_car(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    assert "NOT ACCOUNTED FOR: taken to be in the car" in page(world, "cage").text
    assert "0 of 2 are out of the car" in page(world, "cage").text


def test_the_cage_builder_reads_what_the_car_runs_on(tmp_path: Path) -> None:
    assert "it runs on not said" in page(World(tmp_path / "car"), "cage").text
    text = TALLY_FACTS.replace("[fitted]", 'fuel = "diesel"\n[fitted]')
    assert "it runs on diesel" in page(World(tmp_path / "other", text), "cage").text


def test_what_is_put_off_is_counted_for_the_cage_builder_by_what_brings_it_back(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    world.done("step-deferred", step="safe.mats", why="glued down")
    world.done("step-deferred", step="cabin.knee-out", why="behind a bar", until="cage-in")
    world.done("step-skipped", step="cabin.pads-off", why="there are none")
    files = write_sheet(world.car, "cage")
    assert (
        "3 put off in all. 1 until: somebody takes it up. 2 until: the cage is in." in Page(files[0].read_text()).text
    )
    made = tables(files)
    assert made["put-off"] == [
        ["step", "until", "why"],
        ["Floor mats out", "somebody takes it up", "glued down"],
        ["Knee airbag out", "the cage is in", "behind a bar; comes back by itself: waits for the cage is in"],
        ["Cut the last tabs", "the cage is in", "comes back by itself: waits for the cage is in"],
    ]
    assert [row[0] for row in made["kept"][1:]] == ["Bonded pads off"]


def test_magnesium_that_stays_is_said_loudly(tmp_path: Path) -> None:
    from teardown.car.tally import all_lines
    from teardown.sheets.cage import _magnesium

    line = next(one for one in all_lines(World(tmp_path / "car").state) if one.id == "mats")
    (block,) = _magnesium(World(tmp_path / "other").state, [line._replace(material="Magnesium casting")])
    assert block.loud
    assert block.lines[1] == "Floor mats"


@pytest.mark.parametrize("kind", PAGES)
def test_a_rehearsal_says_so_across_every_sheet_and_in_every_table(tmp_path: Path, kind: str) -> None:
    world = World(tmp_path / "car", rehearsal=True)
    files = write_sheet(world.car, kind)
    html = files[0].read_text()
    assert '<div class="rehearsal" aria-label="REHEARSAL">REHEARSAL</div>' in html
    assert [name for name, rows in tables(files).items() if rows[0] != ["REHEARSAL"]] == []
    assert 'rehearsal = "REHEARSAL: not a car"' in write_sheet(world.car, "record")[0].read_text()


def test_a_real_car_says_nothing_of_a_rehearsal(world: World) -> None:
    assert "REHEARSAL" not in page(world, "cage").text


# -- for strangers


def test_a_buyers_sheet_gives_no_name_number_or_place_away(world: World) -> None:
    files = write_sheet(world.car, "sale")
    for path in files:
        text = path.read_text()
        assert VEHICLE_NUMBER not in text
        assert "Ana" not in text
        assert BLACK in text


def test_a_buyers_photo_has_neither_place_nor_camera(world: World) -> None:
    html = write_sheet(world.car, "sale")[0].read_text()
    (picture,) = re.findall(r'src="data:image/jpeg;base64,([^"]+)"', html)
    content = base64.b64decode(picture)
    assert content.startswith(b"\xff\xd8\xff")  # JPEG start of image: ITU-T T.81 B.1.1.3
    assert b"Exif" not in content
    assert b"SECRETMAKER" not in content


def test_a_lot_is_one_page_and_one_line_with_all_its_parts_their_mass_and_their_photos(world: World) -> None:
    files = write_sheet(world.car, "sale")
    html = files[0].read_text()
    assert re.findall(r"<h2>(.*)</h2>", html) == ["For sale", "Floor mats and 1 more", "Driver seat"]
    said = Page(html).text
    assert "in the lot Floor mats, 3.20 kg in the lot clips, 2.00 kg mass, all of it 5.20 kg" in said
    assert html.count("<figcaption>clips: clips</figcaption>") == 1  # its name, and what was said of the photo
    (head, lot, seat) = tables(files)["sale"]
    assert dict(zip(head, lot, strict=True))["in the lot"] == "Floor mats; clips"
    assert [dict(zip(head, row, strict=True))["kg"] for row in (lot, seat)] == ["5.20", "19.00"]
    assert [dict(zip(head, row, strict=True))["asked"] for row in (lot, seat)] == ["", "90.00"]
    assert dict(zip(head, lot, strict=True))["noted"] == "what is left of a lot: price on asking"


def test_what_is_sold_leaves_the_page_of_its_lot_and_the_page_says_so(world: World) -> None:
    told: list[str] = []
    world.done("sold", part="mats", amount="15")
    write_sheet(world.car, "sale", tell=told.append)
    said = page(world, "sale").text
    assert "Not in this lot any more: Floor mats (sold); Driver seat. What was asked was for the whole lot." in said
    assert "in the lot clips, 2.00 kg mass, all of it 2.00 kg" in said
    assert "clips: Floor mats (sold); Driver seat left the lot: list what is left of it anew" in told
    world.done("sold", part=next(iter(world.state.found)).id, amount="4")
    assert "clips" not in page(world, "sale").text


def test_every_part_of_a_lot_is_in_a_photo_before_any_is_in_two(world: World, tmp_path: Path) -> None:
    for n in range(MOST_PHOTOS):
        Image.new("RGB", (8, 8 + n)).save(tmp_path / f"{n}.png")
        world.done("photo", file=str(tmp_path / f"{n}.png"), part="mats")
    told: list[str] = []
    html = write_sheet(world.car, "sale", tell=told.append)[0].read_text()
    of = re.findall(r"<figcaption>(.*)</figcaption>", html)
    assert of == ["Floor mats", "clips: clips", *["Floor mats"] * (MOST_PHOTOS - 2)]
    assert "Floor mats and 1 more: at most 12 photos stand on a page, 1 were left out" in told


def test_a_live_module_is_not_for_sale_without_its_rule_and_warns_with_it(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    assert "Driver airbag module" not in page(world, "sale").text
    world.done("part-fate", part="driver-bag", fate="sell", rule="permit 12")
    said = page(world, "sale").text
    assert "Driver airbag module" in said
    assert "LIVE MODULE: Driver airbag module." in said


def test_a_picture_entered_twice_stands_once_on_the_buyers_page(world: World) -> None:
    def shown() -> int:
        return write_sheet(world.car, "sale")[0].read_text().count("data:image/jpeg")

    before, again = shown(), next(picture for picture in world.state.photos if picture.part)
    world.done("photo", file=str(world.folder / "photos" / again.file), part=again.part, says="again")
    assert shown() == before > 0


def test_what_any_buyer_asks_and_nobody_has_told_is_to_be_written_in_then_what_buyers_of_this_part_ask(
    world: World,
) -> None:
    clips = next(thing.id for thing in world.state.found)
    world.done("listed", part=clips, ask="5")  # not in the lot with the mats any more
    to_write = {block.title: list(block.to_write) for block in sale.fill(world.car).blocks}
    assert to_write["Floor mats"][-3:] == ["Clean?", "A matching set?", "Any holes?"]
    assert sale.QUESTIONS["fits"] not in to_write["Floor mats"]  # that was told as the mats were listed
    assert sale.QUESTIONS["size"] in to_write["Floor mats"]
    assert to_write["clips"] == [*sale.QUESTIONS.values(), *sale.ALWAYS_ASKED]  # no pack foresaw it


def test_every_page_of_a_buyers_sheet_says_which_lot_of_which_sheet_it_is(world: World) -> None:
    html = write_sheet(world.car, "sale")[0].read_text()
    for n in (1, 2):
        assert f"Test car &middot; lot {n} of 2 &middot; sheet sale 1 &middot; 2026-05-09" in html


def test_a_photo_that_is_gone_is_said_and_the_sheet_is_written(world: World) -> None:
    for path in (world.folder / "photos").iterdir():
        path.unlink()
    assert "Photo left out: a photo is not in the folder any more." in page(world, "sale").text


# -- hostile


@pytest.mark.parametrize("name", [A_FORMULA_AND_A_SCRIPT, A_TEMPLATE_AND_A_HANDLER])
@pytest.mark.parametrize("kind", PAGES)
def test_a_hostile_name_is_text_on_every_sheet(tmp_path: Path, kind: str, name: str) -> None:
    seen_as = " ".join(name.replace("\u202e", "").split())
    facts = TALLY_FACTS.replace('name = "Test car"', f"name = {json.dumps(seen_as)}")
    world = filled(tmp_path / "car", text=facts, name=name)
    html = write_sheet(world.car, kind)[0].read_text()
    seen = Page(html)
    assert seen_as in seen.text  # the car's own name, at the least
    assert "script" not in seen.tags
    assert "evil.example" not in "".join(value for key, value in seen.attributes if key != "data-head")
    assert [key for key, _ in seen.attributes if key.startswith("on")] == []
    assert "\u202e" not in html


@pytest.mark.parametrize("kind", PAGES)
def test_nothing_on_a_sheet_is_fetched_or_run(world: World, kind: str) -> None:
    html = write_sheet(world.car, kind)[0].read_text()
    seen = Page(html)
    assert {"script", "iframe", "object", "embed", "link", "base", "form"}.isdisjoint(seen.tags)
    outside = [
        (name, value)
        for name, value in seen.attributes
        if name in ("src", "href", "xlink:href", "action", "data") and not value.startswith(("data:image/", "#"))
    ]
    assert outside == []
    assert "@import" not in html
    assert not re.search(r"url\(", html)


@pytest.mark.parametrize("cell", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1"])
def test_a_cell_that_a_spreadsheet_would_run_is_made_text(cell: str) -> None:
    # the characters are those of OWASP, CSV Injection (from memory)
    assert harmless_cell(cell).startswith("'")


@pytest.mark.parametrize("cell", ["-3.20", "+4.50", "12", "seat", ""])
def test_numbers_and_words_stay_as_they_are(cell: str) -> None:
    assert harmless_cell(cell) == cell


def test_hostile_cells_come_back_harmless_from_the_csv_module(tmp_path: Path) -> None:
    world = filled(tmp_path / "car", name=A_FORMULA_AND_A_SCRIPT)
    for kind in PAGES:
        for rows in tables(write_sheet(world.car, kind)).values():
            assert len({len(row) for row in rows}) == 1
            cells = [cell for row in rows for cell in row]
            assert [cell for cell in cells if cell[:1] in "=@\t\r" and cell] == []
            assert [cell for cell in cells if cell[:1] in ("+", "-") and not re.fullmatch(r"[+-][\d.]+", cell)] == []


def test_a_table_with_every_awkward_character_is_read_back_cell_by_cell() -> None:
    awkward = [('a,"b"\n;', "ü €", "x" * 500), ("", "'", '"')]
    text = writing.table_csv(writing.Table("t", ("a", "b", "c"), awkward), rehearsal=False)
    assert [tuple(row) for row in csv.reader(io.StringIO(text, newline=""))][1:] == awkward


# -- whole or not at all


def test_a_sheet_is_never_written_over_an_older_one(world: World) -> None:
    first = write_sheet(world.car, "cage")
    before = {path: path.read_bytes() for path in first}
    second = write_sheet(world.car, "cage")
    assert first[0].name == "cage-0001.html"
    assert second[0].name == "cage-0002.html"
    assert {path: path.read_bytes() for path in first} == before


def test_a_name_taken_at_the_last_moment_moves_on_to_the_next(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    (world.folder / "sheets").mkdir()
    taken = world.folder / "sheets" / "cage-0001.html"
    taken.write_text("somebody else's")
    monkeypatch.setattr(writing, "_highest", lambda folder, kind: 0)
    assert write_sheet(world.car, "cage")[0].name == "cage-0002.html"
    assert taken.read_text() == "somebody else's"
    assert [path.name for path in taken.parent.iterdir() if "0001" in path.name] == ["cage-0001.html"]


@pytest.mark.parametrize("failing", ["fsync", "link"])
def test_when_the_disk_gives_out_nothing_of_the_sheet_is_there(
    world: World, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    calls, real = [0], getattr(os, failing)

    def give_out(*args: object) -> object:
        calls[0] += 1
        if calls[0] == 3:
            raise OSError(28, "No space left on device")
        return real(*args)

    monkeypatch.setattr(os, failing, give_out)
    with pytest.raises(OSError, match="No space left"):
        write_sheet(world.car, "weights")
    assert list((world.folder / "sheets").iterdir()) == []


def test_a_sheet_can_be_written_while_another_program_writes_the_log(world: World) -> None:
    with open_car(world.folder, world.clock, write=False, packs=PROCEDURES) as reader:
        assert write_sheet(reader, "bags")[0].exists()


def test_the_log_is_not_changed_by_a_sheet(world: World) -> None:
    before = (world.folder / "log.jsonl").read_bytes()
    for kind in KINDS:
        write_sheet(world.car, kind)
    assert (world.folder / "log.jsonl").read_bytes() == before


@pytest.mark.parametrize("kind", KINDS)
def test_no_sheet_is_written_from_a_damaged_log(world: World, kind: str) -> None:
    world.done("note", text="x")
    world.car.close()
    log = world.folder / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b'"text":"x"', b'"text":"y"'))
    car = open_car(world.folder, world.clock, write=False, packs=PROCEDURES)
    with pytest.raises(Damaged, match="from a damaged log: put back a copy"):
        write_sheet(car, kind)
    assert list(world.folder.glob("sheets/*")) == []
