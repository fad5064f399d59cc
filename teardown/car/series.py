"""Values entered one after the other; the last counts."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from operator import itemgetter
from typing import Generic, TypeVar

Value = TypeVar("Value")

_entry_of = itemgetter(0)


class Series(Generic[Value]):
    """Values with the entries they came from, in the order of the entries. Undoing one takes it out wherever it stands.

    A log may be long and its undos many: what an entry gave is found by halves, not by looking at all the others.
    """

    __slots__ = ("items",)

    def __init__(self) -> None:
        self.items: list[tuple[int, Value]] = []

    def add(self, entry: int, value: Value) -> None:
        self.items.append((entry, value))

    def drop(self, entry: int) -> None:
        first = bisect_left(self.items, entry, key=_entry_of)
        after = bisect_right(self.items, entry, key=_entry_of)
        del self.items[first:after]

    @property
    def last(self) -> Value | None:
        return self.items[-1][1] if self.items else None

    @property
    def last_entry(self) -> int:
        """The number of the entry that counts, or 0."""
        return self.items[-1][0] if self.items else 0

    def at(self, upto: int | None) -> tuple[int, Value | None]:
        """The entry and the value that counted after entry `upto`, or count now."""
        after = len(self.items) if upto is None else bisect_right(self.items, upto, key=_entry_of)
        return self.items[after - 1] if after else (0, None)

    def of(self, entry: int) -> Value | None:
        """What that entry gave, when it gave something that still stands."""
        given, value = self.at(entry)
        return value if given == entry else None

    def __iter__(self) -> Iterator[Value]:
        return (value for _, value in self.items)

    def __len__(self) -> int:
        return len(self.items)
