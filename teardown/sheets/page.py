"""What a sheet is made of. The fillers make these; the template shows them; nothing here knows HTML."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

Row = tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A table; it is also written beside the sheet for a spreadsheet, under its name. Units stand in the head.

    `shown` is how many of its columns the page has room for; the spreadsheet has them all. What `loud` names stands in
    red.
    """

    name: str
    head: Row
    rows: Sequence[Row]
    shown: int | None = None
    loud: Collection[str] = ()


@dataclass(frozen=True)
class Photo:
    """A picture as JPEG in base64, and what it is of."""

    of: str
    jpeg: str


@dataclass(frozen=True)
class Block:
    """One part of a sheet."""

    title: str = ""
    lines: Sequence[str] = ()
    pairs: Sequence[tuple[str, str]] = ()
    table: Table | None = None
    chart: str = ""
    """A vector picture, made by `charts` alone."""
    photos: Sequence[Photo] = ()
    to_write: Sequence[str] = ()
    """Lines to be filled in by hand."""
    signatures: Sequence[str] = ()
    loud: bool = False
    new_page: bool = False
    stamp: str = ""
    """On a page that goes its own way: which it is, beside the sheet's own number and date."""
    label: bool = False
    """One of many small labels, to be cut out."""


@dataclass(frozen=True)
class Sheet:
    """A whole sheet. One for strangers names nobody. `notes` are for who writes it, and do not stand on it."""

    kind: str
    title: str
    blocks: Sequence[Block]
    for_strangers: bool = False
    notes: Sequence[str] = ()
    car: str = ""


def when(utc: str) -> str:
    """A moment to the minute, UTC."""
    return utc[:16].replace("T", " ")


def kg(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"
