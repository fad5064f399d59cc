"""Values entered one after the other; the last counts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Generic, TypeVar

Value = TypeVar("Value")


class Series(Generic[Value]):
    """Values with the entries they came from. Undoing one takes it out wherever it stands."""

    __slots__ = ("items",)

    def __init__(self) -> None:
        self.items: list[tuple[int, Value]] = []

    def add(self, entry: int, value: Value) -> None:
        self.items.append((entry, value))

    def drop(self, entry: int) -> None:
        self.items = [item for item in self.items if item[0] != entry]

    @property
    def last(self) -> Value | None:
        return self.items[-1][1] if self.items else None

    @property
    def last_entry(self) -> int:
        """The number of the entry that counts, or 0."""
        return self.items[-1][0] if self.items else 0

    def at(self, upto: int | None) -> tuple[int, Value | None]:
        """The entry and the value that counted after entry `upto`, or count now."""
        if upto is None:
            return self.last_entry, self.last
        return next((item for item in reversed(self.items) if item[0] <= upto), (0, None))

    def __iter__(self) -> Iterator[Value]:
        return (value for _, value in self.items)

    def __len__(self) -> int:
        return len(self.items)
