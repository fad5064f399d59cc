"""The sheets in a real browser: the text is there, on A4 and at 390 px, and nothing is wider than the page."""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image

from teardown.sheets.sale import MOST_PHOTOS
from teardown.sheets.writing import write_sheet
from tests.sheets.conftest import filled

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no chromium is installed: the sheets are not looked at")


def browse(page: Path, *asks: str) -> str:
    profile = page.parent / "profile"
    told = subprocess.run(
        [CHROMIUM or "", *FLAGS, f"--user-data-dir={profile}", *asks, page.as_uri()],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return told.stdout


def framed(sheet: Path, width: int) -> Path:
    """The sheet in a frame of exactly that width, and its own measure of itself in the title."""
    page = sheet.with_name(f"framed-{width}.html")
    page.write_text(
        f'<iframe id="f" style="width:{width}px;height:2000px;border:0" srcdoc="{html.escape(_measurable(sheet))}">'
        "</iframe><script>onload=()=>{let d=f.contentDocument.documentElement;"
        'document.title="measured "+d.scrollWidth+" of "+d.clientWidth+" "+'
        'getComputedStyle(d.querySelector("thead")||d).display}</script>'
    )
    return page


def _measurable(sheet: Path) -> str:
    """Without its own ban on scripts, which a frame hands up."""
    return re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", sheet.read_text())


@pytest.mark.parametrize("width", [794, 390])
@pytest.mark.parametrize("kind", ["weights", "sale"])
def test_a_sheet_is_no_wider_than_paper_or_phone(tmp_path: Path, kind: str, width: int) -> None:
    # A4 is 210 mm wide (ISO 216): 794 px at 96 to the inch
    world = filled(tmp_path / "car", name="W" * 80)
    sheet = write_sheet(world.car, kind)[0]
    seen = browse(framed(sheet, width), "--allow-file-access-from-files", "--dump-dom")
    found = re.search(r"measured (\d+) of (\d+)", seen)
    assert found is not None
    assert int(found[1]) <= int(found[2]) == width


def test_the_browser_shows_the_words_and_the_pictures(tmp_path: Path) -> None:
    world = filled(tmp_path / "car")
    sheet = write_sheet(world.car, "weights")[0]
    seen = browse(sheet, "--dump-dom")
    for word in ("Floor mats", "CLOSES", "Weight coming down", "Corners before and after"):
        assert word in seen
    assert seen.count("<svg") == 3
    shot = tmp_path / "shot.png"
    browse(sheet, "--window-size=794,1123", f"--screenshot={shot}")
    assert shot.read_bytes().startswith(b"\x89PNG")  # W3C PNG 5.2


@pytest.mark.parametrize(("size", "points"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_it_prints_on_the_paper_that_is_in_the_printer(tmp_path: Path, size: str, points: tuple[int, int]) -> None:
    # ISO 216 A4 is 210 x 297 mm, ANSI Letter 8.5 x 11 in; a point is 1/72 in
    world = filled(tmp_path / "car")
    sheet = write_sheet(world.car, "sale")[0]
    sheet.write_text(sheet.read_text().replace("@page { margin", f"@page {{ size: {size}; margin", 1))
    paper = tmp_path / "sale.pdf"
    browse(sheet, f"--print-to-pdf={paper}", "--no-pdf-header-footer")
    boxes = re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", paper.read_bytes())
    assert len(boxes) == 3  # the list, the lot, the part by itself
    assert {tuple(round(float(side)) for side in box) for box in boxes} == {points}


def test_a_lot_with_all_the_photos_that_fit_is_one_sheet_of_a4(tmp_path: Path) -> None:
    world = filled(tmp_path / "car")
    for n in range(MOST_PHOTOS):
        picture = tmp_path / f"{n}.png"
        Image.new("RGB", (160, 120 + n)).save(picture)  # four to three, as cameras make them
        world.done("photo", file=str(picture), part="mats")
    sheet = write_sheet(world.car, "sale")[0]
    sheet.write_text(sheet.read_text().replace("@page { margin", "@page { size: A4; margin", 1))
    paper = tmp_path / "sale.pdf"
    browse(sheet, f"--print-to-pdf={paper}", "--no-pdf-header-footer")
    assert len(re.findall(rb"/MediaBox", paper.read_bytes())) == 3
