"""A log may come from a stranger: a name may be a list, JSON can say 1e999, and quotes can hold "nan"."""

from __future__ import annotations

from collections import defaultdict
from math import isfinite
from typing import TypeVar

Value = TypeVar("Value")


LARGEST = 1e24
"""Nothing that can be typed comes to more, in whatever unit; sums and squares of more would come to no number."""


def number(value: object) -> float:
    """Raises ValueError for what is no number, or larger than any that can be typed."""
    if not isinstance(value, (int, float)) or not isfinite(value) or abs(value) > LARGEST:
        raise ValueError("a number that is none")
    return float(value)


class ByName(defaultdict[str, Value]):
    """What is known of each thing, by its name. Raises ValueError for a new name that is none."""

    def __missing__(self, name: object) -> Value:
        if not isinstance(name, str):
            raise ValueError("a name that is none")
        return super().__missing__(name)
