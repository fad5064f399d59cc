"""Sheets from the screen: a digit writes one into the car's folder."""

from __future__ import annotations

from teardown.car.disk import reason
from teardown.car.log import LogError
from teardown.screens.desk import Desk
from teardown.screens.places.choose import Choose


def ask_sheet() -> Choose:
    """Which sheet? Written at once, never over an older one."""
    from teardown.sheets.writing import KINDS

    answers = tuple(f"{kind}: {says}" for kind, says in KINDS.items())
    return Choose("Which sheet?", answers, lambda desk, answer: _write(desk, answer.partition(":")[0]))


def _write(desk: Desk, kind: str) -> None:
    from teardown.sheets.writing import write_sheet

    try:
        files = write_sheet(desk.car, kind)
    except (OSError, LogError) as error:
        why = reason(error) if isinstance(error, OSError) else error
        desk.say(f"NOT WRITTEN, and nothing of it is there: {why}")
        return
    desk.say(f"written: {files[0]}")
