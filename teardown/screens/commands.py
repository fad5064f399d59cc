"""What keys do, said once: the dispatch, the line of keys and the help all read these lists."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from teardown.screens.guard import Weight


class Command(NamedTuple):
    """One thing a key does in one place. `act` names the place's method; without a `label` the key is in help only."""

    keys: tuple[str, ...]
    shown: str
    label: str
    help: str
    act: str
    weight: Weight = Weight.ACTS


def find(commands: Iterable[Command], key: str) -> Command | None:
    """The command `key` stands for here; the same with Caps Lock on."""
    names = (key, key.lower()) if len(key) == 1 else (key,)
    return next((command for command in commands for name in names if name in command.keys), None)


def key_lines(commands: Sequence[Command], columns: int, lines: int) -> list[str]:
    """The labelled commands, packed into at most `lines` lines; the others are found under `?`, where it works."""
    words = [f"[{command.shown}] {command.label}" for command in commands if command.label]
    last = ("[?] every key" if columns >= 60 else "[?]") if find(commands, "question_mark") else ""
    packed: list[str] = [""]
    for word in words:
        longer = f"{packed[-1]}  {word}".strip()
        room = columns - (len(last) + 2 if len(packed) == lines else 0)
        if len(longer) <= room:
            packed[-1] = longer
        elif len(packed) < lines:
            packed.append(word)
        else:
            break
    if len(packed[-1]) + len(last) + 2 > columns:
        packed.append("")
    packed[-1] = f"{packed[-1]}  {last}".strip()
    return packed
