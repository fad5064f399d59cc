"""What `runs` and `stop` print alike: two sets of readings, and whether their change is shown."""

from __future__ import annotations

from collections.abc import Sequence

from teardown.cells import dots

_CELLS = 56


def verdict(shown: bool, change: float, unit: str, fewer: str, more: str) -> str:
    """Shown, or no difference."""
    if not shown:
        return "NO DIFFERENCE shown: the interval of the change includes none. It is smaller than the scatter can tell."
    return f"SHOWN: {abs(change):.2f} {unit} {fewer if change < 0 else more}, and the interval excludes no change."


def interval(low: float, high: float, unit: str) -> str:
    """Both ends of the 95 % interval."""
    return f"95 % interval {low + 0.0:+.3f} to {high + 0.0:+.3f} {unit}"


def two_rows_of_dots(before: Sequence[float], after: Sequence[float], unit: str) -> list[str]:
    """Both sets on one line from the least to the greatest reading."""
    low, high = min(*before, *after), max(*before, *after)
    ends = f"{low:g} {unit}"
    return [
        f"  before  {dots(before, low, high, _CELLS)}",
        f"  after   {dots(after, low, high, _CELLS)}",
        f"          {ends}{f'{high:g} {unit}':>{_CELLS - len(ends)}}",
    ]
