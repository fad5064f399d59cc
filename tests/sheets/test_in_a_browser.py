"""The sheets in a real browser: the text is there, on A4 and at 390 px, and nothing is wider than the page."""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image

from teardown.car.door import open_car
from teardown.packs.shipped import sample_car
from teardown.sheets.sale import MOST_PHOTOS
from teardown.sheets.writing import KINDS, write_sheet
from tests.sheets.conftest import filled
from tests.world.clock import HandClock

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


PAPER_PX = {"A4": (210 - 24) / 25.4 * 96, "Letter": 8.5 * 96 - 24 / 25.4 * 96}
"""Between the margins of 12 mm: ISO 216 A4 is 210 mm wide, ANSI Letter 8.5 in; 96 px to the inch."""

MEASURE = """
onload = () => {
  const wrong = [], frames = document.querySelectorAll("iframe");
  const right = one => one.getBoundingClientRect().right;
  for (const frame of frames) {
    const page = frame.contentDocument;
    if (!page.querySelector("h1")) wrong.push(frame.id + ": not shown");
    for (const table of page.querySelectorAll("table")) {
      const box = table.parentElement, called = frame.id + ": table of " + table.querySelector("th").textContent;
      if (box.scrollWidth > box.clientWidth || right(table) > right(box) + 0.5) wrong.push(called + " is cut");
    }
    for (const cell of page.querySelectorAll("td")) {
      const text = page.createRange();
      text.selectNodeContents(cell);
      if (/^[+-]?[0-9.]+$/.test(cell.textContent) && text.getClientRects().length > 1)
        wrong.push(frame.id + ": the number " + cell.textContent + " is broken");
    }
  }
  document.title = "measured " + frames.length + ": " + wrong.join("; ");
};
"""


def as_printed(sheet: Path, paper: str) -> str:
    """The sheet in a frame as wide as the paper between its margins, with the rules for print."""
    html_text = (
        _measurable(sheet).replace("@media print", "@media screen").replace("max-width: 600px", "max-width: 1px")
    )
    name, style = f"{sheet.stem} on {paper}", f"width:{PAPER_PX[paper]:.0f}px;height:3000px;border:0"
    return f'<iframe id="{name}" style="{style}" srcdoc="{html.escape(html_text)}"></iframe>'


@pytest.mark.parametrize("of", ["the sample car", "a car with long names"])
def test_no_table_of_any_sheet_is_cut_on_a4_or_letter(tmp_path: Path, of: str) -> None:
    if of == "the sample car":
        shutil.copytree(sample_car(), tmp_path / "car")
        with open_car(tmp_path / "car", HandClock(), write=False, rehearsal=True) as car:
            sheets = [write_sheet(car, kind, tmp_path)[0] for kind in KINDS if kind != "record"]
    else:
        world = filled(tmp_path / "car", name="W" * 80)
        sheets = [write_sheet(world.car, kind, tmp_path)[0] for kind in KINDS if kind != "record"]
    page = tmp_path / "printed.html"
    frames = "".join(as_printed(sheet, paper) for sheet in sheets for paper in PAPER_PX)
    page.write_text(f"<meta charset='utf-8'>{frames}<script>{MEASURE}</script>")
    seen = browse(page, "--allow-file-access-from-files", "--dump-dom")
    found = re.search(r"<title>measured (\d+): (.*?)</title>", seen)
    assert found is not None
    assert (int(found[1]), found[2]) == (2 * len(sheets), "")


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
