"""How a figure's answer is printed: each value with its limit beside it, a picture, what it assumes, its source."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from math import isfinite
from typing import NamedTuple

WIDTH = 78


class Row(NamedTuple):
    """One value, and the limit or the fact to hold it against."""

    label: str
    value: str
    beside: str = ""


class Answer(NamedTuple):
    """What a figure found: `facts` for programs, the rest for people."""

    facts: Mapping[str, object]
    headline: str
    rows: list[Row]
    assumes: list[str]
    source: str
    picture: Sequence[str] = ()

    def as_json(self) -> str:
        """Keys end in their unit; what is not finite or not known is null."""
        import json

        return json.dumps(_jsonable(self.facts), indent=2, allow_nan=False)

    def as_text(self) -> str:
        """The answer first, its values, its picture, and what it rests on."""
        parts = [_wrapped(self.headline, ""), _table(self.rows), self.picture]
        parts.append([line for sentence in self.assumes for line in _wrapped(sentence, "- ")])
        parts.append(_wrapped(f"Source: {self.source}", ""))
        return "\n\n".join("\n".join(line.rstrip() for line in part) for part in parts if part)


def _table(rows: list[Row]) -> list[str]:
    label_width = max(len(row.label) for row in rows)
    value_width = max(len(row.value) for row in rows)
    lines = []
    for row in rows:
        start = f"  {row.label:<{label_width}}  {row.value:>{value_width}}"
        beside = textwrap.wrap(row.beside, max(20, WIDTH - len(start) - 2)) or [""]
        lines.append(f"{start}  {beside[0]}")
        lines += [f"{'':<{len(start)}}  {more}" for more in beside[1:]]
    return lines


def _wrapped(sentence: str, bullet: str) -> list[str]:
    return textwrap.wrap(sentence, WIDTH, initial_indent=bullet, subsequent_indent=" " * len(bullet))


def _jsonable(value: object) -> object:
    if isinstance(value, float):
        return value + 0.0 if isfinite(value) else None
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        value = value._asdict()
    if isinstance(value, Mapping):
        return {key: _jsonable(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_jsonable(inner) for inner in value]
    return value
