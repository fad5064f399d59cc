"""What keys do, said once: the dispatch, the line of keys and the help all read these lists."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from teardown.screens.guard import KeyKind


class Command(NamedTuple):
    """One thing a key does in one place. `act` names the place's method; without a `label` the key is in help only.

    `brief` is how the line of keys names it in a small window. Help names the keys that are not `shown`, if `also`.
    """

    keys: tuple[str, ...]
    shown: str
    label: str
    help: str
    act: str
    kind: KeyKind = KeyKind.ACTS
    brief: str = ""
    also: bool = True


ALWAYS_NAMED = ("power", "undo", "back", "rub_out")
"""What must not be looked for under `?` when it is needed."""


def find(commands: Iterable[Command], key: str) -> Command | None:
    """The command `key` stands for here; the same with Caps Lock on."""
    names = (key, key.lower()) if len(key) == 1 else (key,)
    return next((command for command in commands for name in names if name in command.keys), None)


def offered(commands: Iterable[Command], can_write: bool) -> list[Command]:
    """The commands to name: where nothing can be written, none that writes."""
    return [command for command in commands if can_write or command.kind in (KeyKind.OPENS, KeyKind.TURNS)]


def key_lines(commands: Sequence[Command], columns: int, lines: int) -> list[str]:
    """The labelled commands that have room in `lines` lines: before all others the one that goes on, power, undo and
    the way back. The rest is found under `?`, where it works."""
    named = [command for command in commands if command.label]
    has_help = find(commands, "question_mark") is not None
    shown: list[Command] = []
    for command in sorted(named, key=lambda one: one is not named[0] and one.act not in ALWAYS_NAMED):
        more = [one for one in named if one is command or one in shown]
        if len(_packed(more, has_help, columns, lines)) <= lines:
            shown = more
    return _packed(shown, has_help, columns, lines)


def _packed(commands: Sequence[Command], has_help: bool, columns: int, lines: int) -> list[str]:
    """In as few lines as they take; briefly where there is one line only."""
    gap = " " if lines == 1 else "  "
    words = [(lines == 1 and command.brief) or f"[{command.shown}] {command.label}" for command in commands]
    packed = [""]
    for help_ in (("[?] every key", "[?]") if columns >= 60 else ("[?]",)) if has_help else ("",):
        packed = [""]
        for word in filter(None, (*words, help_)):
            longer = f"{packed[-1]}{gap}{word}" if packed[-1] else word
            packed = [*packed[:-1], longer] if len(longer) <= columns else [*packed, word]
        if len(packed) <= lines:
            break
    return packed
