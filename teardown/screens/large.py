"""Large digits: three rows of blocks, read from two metres.

Full and half blocks are in code page 437, so that the kernel's own console draws them too (its default font, and the
table `cp437.uni` it is built with: from memory); the box-drawing arcs of prettier digits are not.
"""

from __future__ import annotations

from textual.content import Content

from teardown.screens.paint import words

ROWS = 3

GLYPHS = {
    "0": ("█▀█", "█ █", "▀▀▀"),
    "1": ("▄█ ", " █ ", "▀▀▀"),
    "2": ("▀▀█", "█▀▀", "▀▀▀"),
    "3": ("▀▀█", "▀▀█", "▀▀▀"),
    "4": ("█ █", "▀▀█", "  ▀"),
    "5": ("█▀▀", "▀▀█", "▀▀▀"),
    "6": ("█▀▀", "█▀█", "▀▀▀"),
    "7": ("▀▀█", "  █", "  ▀"),
    "8": ("█▀█", "█▀█", "▀▀▀"),
    "9": ("█▀█", "▀▀█", "▀▀▀"),
    "-": ("   ", "▀▀▀", "   "),
    ".": (" ", " ", "▀"),
    ":": ("▄", "▄", " "),
}
"""Five dots high, three wide, two dots to a row."""


def large(text: str, columns: int) -> list[Content]:
    """`text` in the middle of three lines; what has no large form, like a unit, stands small on the last."""
    drawn = [GLYPHS.get(character, (" ", " ", character)) for character in text]
    rows = [_row(text, [glyph[row] for glyph in drawn]) for row in range(ROWS)]
    margin = max(0, columns - max(map(len, rows))) // 2
    return [words((" " * margin + row)[:columns]) for row in rows]


def _row(text: str, pieces: list[str]) -> str:
    """Large glyphs stand a cell apart; the letters of a unit do not."""
    row = ""
    for character, piece in zip(text, pieces, strict=True):
        row += f" {piece}" if row and character in GLYPHS else piece
    return row
