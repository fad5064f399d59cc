"""Pictures in text cells, of plain characters that every font has."""

from __future__ import annotations

from collections.abc import Sequence


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
