"""What was noted and what happened, the newest first: a note without a step, and what shut a gate, are found again."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from teardown.car.door import LOG
from teardown.car.log import Entry, LogError, read_log
from teardown.car.state import State
from teardown.screens.desk import Desk
from teardown.screens.paint import Page

NAME = "what happened"
KINDS = ("note", "happened", "power-restored", "resumed")
MOST_TOLD = 100


class Happenings:
    """The log is read when this is first looked at, and again once more was written."""

    def __init__(self) -> None:
        self._upto = -1
        self._entries: list[Entry] = []
        self._unread = ""

    def tell(self, page: Page, desk: Desk) -> None:
        state = desk.standing.state
        if self._upto != state.entries:
            self._upto = state.entries
            self._read(desk)
        page.add(self._unread)
        told = [entry for entry in reversed(self._entries) if entry.n not in state.undone]
        if not told and not self._unread:
            page.add("Nothing yet. On the card [t] notes something, [e] says that something happened.")
        for entry in told[:MOST_TOLD]:
            page.labelled(f"{_when(entry)} {entry.who}, entry {entry.n}:", _says(state, entry))
        if len(told) > MOST_TOLD:
            page.add(f"{len(told) - MOST_TOLD} earlier ones are in the log.")

    def _read(self, desk: Desk) -> None:
        self._entries, self._unread = [], ""
        try:
            self._entries += (entry for entry in read_log(desk.car.folder / LOG) if entry.kind in KINDS)
        except LogError as error:
            self._unread = f"{error}"


def _when(entry: Entry) -> str:
    """The time on the wall here."""
    return f"{datetime.fromisoformat(entry.at.utc).astimezone():%Y-%m-%d %H:%M}"


def _says(state: State, entry: Entry) -> str:
    return ". ".join(_words(state, entry))


def _words(state: State, entry: Entry) -> Iterator[str]:
    fields = entry.fields
    if entry.kind == "note":
        yield str(fields["text"])
        if (step := state.route.by_ref.get(str(fields.get("step", "")))) is not None:
            yield f"On: {step.step.title}"
    elif entry.kind == "resumed":
        answers = ", ".join(f"{asked} {fields[asked]}" for asked in ("power", "doors", "people"))
        yield f"after a pause, what had happened: {answers}"
    else:
        yield "POWER came back" if entry.kind == "power-restored" else "happened"
        yield str(fields.get("why", ""))
