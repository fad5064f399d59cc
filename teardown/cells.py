"""Pictures in text cells, for the screen and for what is printed: of plain characters that every font has, or of blocks
where the output can show them."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from math import inf
from typing import NamedTuple

_BLOCKS = " ▁▂▃▄▅▆▇█"
_PLAIN = " .:-=+*%#"


def bar(value: float, most: float, cells: int) -> str:
    """A bar of at most `cells`; anything above 0 shows."""
    if value <= 0 or most <= 0:
        return ""
    return "#" * max(1, min(cells, round(cells * value / most)))


def descent(values: Sequence[float], goal: float | None, columns: int, rows: int) -> list[str]:
    """Values from left to right as columns; a line across where the goal lies. The top line is the most."""
    if not values or rows < 2:
        return []
    seen = _spread(values, columns)
    most, least = max(seen), min((*seen, goal) if goal is not None else seen)
    step = (most - least) / (rows - 1) or 1.0
    heights = [round((value - least) / step) for value in seen]
    goal_row = None if goal is None else round((goal - least) / step)
    lines = []
    for row in range(rows - 1, -1, -1):
        full, empty = ("=", "-") if row == goal_row else ("#", " ")
        lines.append("".join(full if height >= row else empty for height in heights).rstrip())
    return lines


def _spread(values: Sequence[float], columns: int) -> list[float]:
    """As many as there are columns: the last of each share, so that the newest is always seen."""
    if len(values) <= columns:
        return [values[min(len(values) - 1, n * len(values) // columns)] for n in range(columns)]
    return [values[(n + 1) * len(values) // columns - 1] for n in range(columns)]


def gap_line(gap: float, limit: float, cells: int) -> str:
    """A gap on a line, with the limits between which it shows nothing."""
    reach = 1.1 * max(abs(gap), limit) or 1.0
    line = ["."] * cells
    for mark, value in (("[", -limit), ("]", limit), ("|", 0.0), ("X", gap)):
        line[round((value / reach + 1) / 2 * (cells - 1))] = mark
    return "".join(line)


def column_row(values: Sequence[float], top: float) -> str:
    """One mark a value, by its height between 0 and `top`; anything above 0 shows."""
    marks = _heights()
    most = len(marks) - 1
    return "".join(marks[0 if value <= 0 else max(1, min(most, round(most * value / top)))] for value in values)


def _heights() -> str:
    """Nine marks from nothing to full that the output can print."""
    try:
        _BLOCKS.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return _PLAIN
    return _BLOCKS


def dots(values: Sequence[float], low: float, high: float, cells: int) -> str:
    """Each value at its place on a line from `low` to `high`; a number where several meet."""
    places = [0] * cells
    for value in values:
        place = round((value - low) / (high - low) * (cells - 1)) if high > low else 0
        places[max(0, min(cells - 1, place))] += 1
    return "".join("." if not count else "o" if count == 1 else str(min(count, 9)) for count in places)


class Mark(NamedTuple):
    """One value: at which share of the time it was read, and the character that stands for it."""

    share: float
    value: float
    sign: str


def levels_over_time(marks: Sequence[Mark], levels: Sequence[tuple[float, str]], columns: int, rows: int) -> list[str]:
    """Marks from left to right as time went, between lines that say in words what each level means.

    `rows` lines lie between two levels, however far they are apart: it can be read between which levels a mark lies.
    """
    edges = [0.0, *(at for at, _ in levels), inf]
    margin = max(len(f"{at:,g}") for at in edges[:-1]) + 1
    lines: list[str] = []
    for n in range(len(levels), -1, -1):
        inside = [mark for mark in marks if edges[n] <= mark.value < edges[n + 1]]
        if inside or n < len(levels):  # above the highest level there is room only for what was read there
            top = edges[n + 1] if n < len(levels) else 2 * edges[n]
            lines += _band(inside, edges[n], top, columns - margin, rows, margin)
        if n > 0:
            lines.append(f"{edges[n]:>{margin - 1},g} {_line_that_says(levels[n - 1][1], columns - margin)}")
    return lines


def _line_that_says(text: str, cells: int) -> str:
    says = f"= {text} "
    return says.ljust(cells, "=") if len(says) <= cells else says[: cells - 2] + ".."


def _band(marks: Sequence[Mark], low: float, top: float, columns: int, rows: int, margin: int) -> list[str]:
    grid = [[" "] * columns for _ in range(rows)]
    for mark in marks:
        row = min(rows - 1, int((mark.value - low) / ((top - low) or 1.0) * rows))
        grid[rows - 1 - row][round(mark.share * (columns - 1))] = mark.sign
    return [(" " * margin + "".join(line)).rstrip() for line in grid]
