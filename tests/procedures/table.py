"""The trade's table this project started from: what every step and part of it was, to hold the packs against.

Estimates from common practice for a mid-size car. The table is never changed to suit the packs: where a pack differs on
purpose, the test names the step and says why.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

TABLE = Path(__file__).parent / "trade_table.json"


class TablePart(NamedTuple):
    """A part as the table has it. `counts` is the table's own word: base, option, rule decides, added and so on."""

    id: str
    kg: tuple[float, float, float]
    place: tuple[float, str, float]
    quantity: int
    counts: str


class TableStep(NamedTuple):
    """A step as the table has it, under the id it has in the packs. `persons` is from, to."""

    number: str
    id: str
    minutes: tuple[float, float, float]
    persons: tuple[int, int]
    after: tuple[str, ...]
    hazards: tuple[str, ...]
    parts: tuple[TablePart, ...]

    @property
    def stage(self) -> str:
        return self.number[:2]


class StageTotal(NamedTuple):
    """The table's own totals for a stage: hours as they pass, and kilos that come off almost every car."""

    steps: int
    hours: tuple[float, float, float]
    base_kg: tuple[float, float, float]


@cache
def steps() -> tuple[TableStep, ...]:
    return tuple(_step(row) for row in _table()["steps"])


@cache
def stages() -> dict[str, StageTotal]:
    """Totals by stage number; those of the whole job under `all`."""
    return {
        stage: StageTotal(row["steps"], tuple(row["hours"]), tuple(row["base_kg"] or (0.0, 0.0, 0.0)))
        for stage, row in _table()["stages"].items()
    }


@cache
def _table() -> dict[str, Any]:
    table: dict[str, Any] = json.loads(TABLE.read_text(encoding="utf-8"))
    return table


def _step(row: dict[str, Any]) -> TableStep:
    return TableStep(
        row["number"],
        row["id"],
        tuple(row["minutes"]),
        (min(row["persons"]), max(row["persons"])),
        tuple(row["after"]),
        tuple(row["hazards"]),
        tuple(_part(part) for part in row["parts"]),
    )


def _part(row: dict[str, Any]) -> TablePart:
    place = (row["x"], row["y"], row["z"])
    return TablePart(row["id"], tuple(row["kg"]), place, row["quantity"], row["counts"])
