"""Small pictures in text cells: blocks where the output can show them, plain letters where it cannot."""

from __future__ import annotations

import sys
from collections.abc import Sequence

_BLOCKS = " ▁▂▃▄▅▆▇█"
_PLAIN = " .:-=+*%#"


def levels() -> str:
    """Nine marks from nothing to full that this output can print."""
    try:
        _BLOCKS.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return _PLAIN
    return _BLOCKS


def column_row(values: Sequence[float], top: float) -> str:
    """One mark a value, by its height between 0 and `top`; anything above 0 shows."""
    marks = levels()
    most = len(marks) - 1
    return "".join(marks[0 if value <= 0 else max(1, min(most, round(most * value / top)))] for value in values)


def bar(share: float, cells: int) -> str:
    """A bar that fills `share` of its cells, on a row of dots."""
    filled = max(0, min(cells, round(share * cells)))
    return levels()[-1] * filled + "." * (cells - filled)


def dots(values: Sequence[float], low: float, high: float, cells: int) -> str:
    """Each value at its place on a line from `low` to `high`; a number where several meet."""
    places = [0] * cells
    for value in values:
        place = round((value - low) / (high - low) * (cells - 1)) if high > low else 0
        places[max(0, min(cells - 1, place))] += 1
    return "".join("." if not count else "o" if count == 1 else str(min(count, 9)) for count in places)
