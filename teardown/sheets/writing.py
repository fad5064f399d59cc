"""Sheets as files: the page, and a file for a spreadsheet beside each table; whole or not at all, and never over an
older one."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from importlib import import_module
from itertools import count
from pathlib import Path

from teardown.car.disk import sync_folder, write_synced
from teardown.car.door import Car
from teardown.car.log import Damaged
from teardown.car.record import record_text
from teardown.sheets.page import Block, Sheet, Table
from teardown.sheets.strangers import blacked_out
from teardown.text import plain

KINDS: Mapping[str, str] = {
    "weights": "every line, the closing, the balance before and after",
    "sale": "one page a part or a lot, for buyers; what is private in car.toml is blacked out",
    "bags": "labels for the bags, to cut out",
    "cage": "hand-over to the cage builder",
    "scrutineer": "rules, what is out, what was fitted, what it weighs",
    "controlled": "airbags, fluids, batteries: count, where, who took them",
    "gates": "who confirmed what, when; every lapse",
    "money": "what the car cost, what came back, and every entry that proves it",
    "record": "the whole record as TOML, to be read back",
}
SHEETS = "sheets"
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def write_sheet(
    car: Car, kind: str, folder: Path | None = None, tell: Callable[[str], object] = lambda _: None
) -> list[Path]:
    """Write one sheet into `folder`, or the car's own; give back its files, the sheet itself first.

    `tell` is called with each thing that who wrote it should know.

    Raises OSError when the folder cannot take it, and Damaged when the log is: a page that others go by does not end
    where the damage begins. Then nothing of it is there.
    """
    car.now()
    if car.damage is not None:
        raise Damaged("no sheet is written from a damaged log: put back a copy of the folder from before the damage")
    into = folder or car.folder / SHEETS
    if folder is None and into.is_symlink():
        raise OSError(f"{into} is a link to somewhere else: sheets stay inside the car's folder")
    into.mkdir(exist_ok=True)
    if kind == "record":
        return _whole(into, kind, lambda _: {".toml": record_text(car.folder)})
    sheet = _filled(car, kind)
    files = _whole(into, kind, lambda number: _files(car, sheet, number))
    for note in sheet.notes:
        tell(note)
    return files


def _filled(car: Car, kind: str) -> Sheet:
    sheet = replace(_filler(kind)(car), car=car.facts.name)
    return blacked_out(sheet, car.facts.private) if sheet.for_strangers else sheet


def _filler(kind: str) -> Callable[[Car], Sheet]:
    """Only the sheet asked for is imported."""
    fill: Callable[[Car], Sheet] = import_module(f"teardown.sheets.{kind}").fill
    return fill


def _files(car: Car, sheet: Sheet, number: int) -> dict[str, str]:
    files = {".html": page_html(car, sheet, number)}
    for block in sheet.blocks:
        if block.table is not None:
            files[f"-{block.table.name}.csv"] = table_csv(block.table, car.folded.rehearsal)
    return files


def page_html(car: Car, sheet: Sheet, number: int) -> str:
    """The page: no network, no script, everything a stranger wrote escaped."""
    import jinja2
    from markupsafe import Markup

    surroundings = jinja2.Environment(
        loader=jinja2.PackageLoader("teardown.sheets", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    surroundings.filters["harmless"] = plain
    state = car.now().state
    return surroundings.get_template("sheet.html").render(
        sheet=sheet,
        blocks=[block for block in sheet.blocks if block != Block()],
        number=number,
        rehearsal=state.rehearsal,
        utc=car.clock.now().utc[:16].replace("T", " "),
        who="" if sheet.for_strangers else state.who,
        entries=state.entries,
        drawn=Markup,
    )


def table_csv(table: Table, rehearsal: bool) -> str:
    """For a spreadsheet: RFC 4180, with what a spreadsheet would run made text."""
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    if rehearsal:
        writer.writerow(["REHEARSAL"])
    writer.writerow([harmless_cell(cell) for cell in table.head])
    writer.writerows([harmless_cell(cell) for cell in row] for row in table.rows)
    return out.getvalue()


def harmless_cell(cell: str) -> str:
    """A cell that a spreadsheet takes for a formula gets an apostrophe in front; plain numbers stay numbers.

    >>> harmless_cell("=1+1"), harmless_cell("-3.20"), harmless_cell("seat")
    ("'=1+1", '-3.20', 'seat')
    """
    clean = plain(cell)
    if _NUMBER.fullmatch(clean):
        return clean
    return f"'{clean}" if cell.startswith("\t") or clean.lstrip().startswith(_STARTS_A_FORMULA) else clean


# -- whole or not at all


def _whole(folder: Path, kind: str, make: Callable[[int], dict[str, str]]) -> list[Path]:
    """All files under the next free number. The sheet itself comes last: where it is, all of it is."""
    for number in count(_highest(folder, kind) + 1):
        made = make(number)
        paths = {folder / f"{kind}-{number:04d}{ending}": text for ending, text in made.items()}
        if _written(folder, paths):
            return list(paths)
    raise AssertionError("numbers do not end")


def _highest(folder: Path, kind: str) -> int:
    numbers = (re.match(rf"{kind}-(\d{{4,9}})[.-]", path.name) for path in folder.iterdir())
    return max((int(found[1]) for found in numbers if found), default=0)


def _written(folder: Path, files: dict[Path, str]) -> bool:
    """Write them all, or none: False when a name was taken meanwhile."""
    linked: list[Path] = []
    temporary = {path: folder / f".{path.name}.{os.getpid()}.new" for path in files}
    try:
        for path, text in files.items():
            write_synced(temporary[path], text.encode("utf-8-sig" if path.suffix == ".csv" else "utf-8"))
        for path in reversed(files):
            os.link(temporary[path], path)
            linked.append(path)
    except FileExistsError:
        _take_away(linked)
        return False
    except BaseException:
        _take_away(linked)
        raise
    finally:
        _take_away(temporary.values())
    sync_folder(folder)
    return True


def _take_away(paths: Iterable[Path]) -> None:
    for path in paths:
        path.unlink(missing_ok=True)
