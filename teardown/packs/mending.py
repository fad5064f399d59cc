"""What is left of a file with mistakes in it, so that all the rest is checked in the same pass.

A misspelt key is taken for the known one it is nearest to, any other unknown key is left out, and a wrong text or time
of a step gets a stand-in. Nobody works by what is mended: a file with a problem is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from teardown.nearest import nearest
from teardown.packs.problems import Loc
from teardown.packs.translate import MOST_OF_A_FILE, known_keys

HEAD = {"title": "-", "why": "-"}
STEP = {"title": "-", "do": "-", "hurts": "-", "breaks": "-", "keep": "-", "tools": (), "minutes": (1, 1, 1)}
"""Stand-ins that no rule asks more of."""


def mended(
    content: dict[str, Any], details: Sequence[ErrorDetails], table: type[BaseModel], misread: Collection[Loc] = ()
) -> tuple[dict[str, Any], set[Loc]]:
    """`content` with its mistakes mended, and the places of the items in which something cannot be. In the items at
    `misread` no key is taken for another."""
    beyond = {detail["loc"][:2] for detail in details[MOST_OF_A_FILE:]}
    for detail in details[:MOST_OF_A_FILE]:
        loc, keys = known_keys(table, detail["loc"])
        known = () if loc[:2] in misread else keys
        change = _change(loc, known if detail["type"] == "extra_forbidden" else None)
        if change is None:
            beyond.add(loc[:2])
        elif loc[:2] not in beyond:
            content = _changed(content, change[0], change[1])
    return content, beyond


Change = Callable[[dict[str, Any]], dict[str, Any]]


def _change(loc: Loc, known: tuple[str, ...] | None) -> tuple[Loc, Change] | None:
    """The table to change and how, or None where nothing but leaving the whole item out would help."""
    if known is not None:
        return loc[:-1], lambda inside: _respelt(inside, str(loc[-1]), known)
    if len(loc) == 1 and loc[0] in HEAD:
        return (), lambda inside: {**inside, str(loc[0]): HEAD[str(loc[0])]}
    if len(loc) >= 3 and loc[0] == "steps" and loc[2] in STEP:
        return loc[:2], lambda inside: {**inside, str(loc[2]): STEP[str(loc[2])]}
    return None


def _respelt(inside: dict[str, Any], key: str, known: tuple[str, ...]) -> dict[str, Any]:
    """A table with an unknown key under the name it is nearest to, unless that is there; then without it."""
    close = nearest(key, known)
    rest = {name: value for name, value in inside.items() if name != key}
    return {**rest, close: inside[key]} if close and close not in inside else rest


def _changed(value: Any, loc: Loc, change: Change) -> Any:
    """`value` with the table at `loc` changed."""
    if not loc:
        return change(value)
    key, rest = loc[0], loc[1:]
    if isinstance(value, dict):
        return {**value, str(key): _changed(value[key], rest, change)}
    assert isinstance(key, int)
    return (*value[:key], _changed(value[key], rest, change), *value[key + 1 :])
