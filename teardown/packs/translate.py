"""From the validator's errors to sentences about the TOML file."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from teardown.nearest import nearest
from teardown.packs.model import ID_PATTERN, REFERENCE_PATTERN, SIDE_PATTERN
from teardown.packs.problems import Loc, Problem, shortened, shown

MOST_OF_A_FILE = 200
"""Told of one file: a file made to waste time gets no more of it."""

ID_WORDS = "small letters, digits and single hyphens, beginning with a letter, like `driver-out`"
_FORMS = {
    ID_PATTERN: ID_WORDS,
    REFERENCE_PATTERN: "a step of this pack, like `driver-out`, or of another, like `seats.driver-out`",
    SIDE_PATTERN: 'the side in quotes: "0", "0.24", "-0.24", "D0.24" (driver) or "P0.24" (passenger)',
}
_NUMBER_WORDS = {1: "one", 2: "two", 3: "three", 4: "four"}
_LIMITS: dict[str, Callable[[dict[str, Any]], str]] = {
    "string_pattern_mismatch": lambda limit: _FORMS.get(limit["pattern"], f"text of the form {limit['pattern']}"),
    "string_too_short": lambda limit: _at_least(limit["min_length"]),
    "string_too_long": lambda limit: f"at most {limit['max_length']} characters",
    "too_short": lambda limit: f"at least {limit['min_length']} in the list",
    "too_long": lambda limit: f"at most {limit['max_length']} in the list",
    "greater_than": lambda limit: f"a number above {limit['gt']:g}",
    "greater_than_equal": lambda limit: f"a number of at least {limit['ge']:g}",
    "less_than": lambda limit: f"a number below {limit['lt']:g}",
    "less_than_equal": lambda limit: f"a number of at most {limit['le']:g}",
    "finite_number": lambda limit: "an ordinary number",
    "value_error": lambda limit: str(limit["error"]),
}


def problems_in(error: ValidationError, raw: object, file: str, table: type[BaseModel]) -> tuple[Problem, ...]:
    """Every problem in `error`, which came from reading `raw`, the content of `file`, as a `table`."""
    problems: dict[Loc, Problem] = {}
    for detail in error.errors(include_url=False):
        if len(problems) == MOST_OF_A_FILE:
            return (*problems.values(), Problem(file, "", "more problems", "the first of them mended"))
        spot = _find(table, detail["loc"])
        if spot.loc not in problems and not _is_echo(detail):
            problems[spot.loc] = _problem(detail, spot, raw, file)
    return tuple(problems.values())


def known_keys(table: type[BaseModel], loc: Loc) -> tuple[Loc, tuple[str, ...]]:
    """The place in the file of an error at `loc`, and the keys that are known in the table it lies in."""
    spot = _find(table, loc)
    return spot.loc, tuple(spot.tables[0].model_fields)


def what_is_wanted(detail: ErrorDetails, table: type[BaseModel]) -> tuple[str, str | None]:
    """What one wrong value of a `table` should be, and the nearest word where there are only so many to choose from."""
    spot = _find(table, detail["loc"])
    close = nearest(detail["input"], _choices(detail, spot)) if isinstance(detail["input"], str) else None
    return _wanted(detail, spot), close


def _is_echo(detail: ErrorDetails) -> bool:
    """A list is called too short when all its items are wrong, which has been said."""
    return detail["type"] == "too_short" and len(detail["input"]) >= detail["ctx"]["min_length"]


class _Spot:
    """Where an error lies: its place in the file, the field there, and the table that holds it."""

    def __init__(self, table: type[BaseModel]) -> None:
        self.tables = [table]
        self.field: FieldInfo | None = None
        self.loc: Loc = ()

    def descend(self, key: int | str) -> None:
        """One step further in. A gate's kind stands in the error's place but not in the file."""
        if len(self.tables) > 1 and isinstance(key, str):
            self.tables = [table for table in self.tables if key in _kinds(table)] or self.tables[:1]
            return
        self.loc += (key,)
        if isinstance(key, str) and self.tables:
            self._enter(self.tables[0].model_fields.get(key))

    def _enter(self, field: FieldInfo | None) -> None:
        if field is not None:
            self.field = field
            self.tables = _tables_in(field.annotation) or self.tables

    @property
    def is_numbers(self) -> bool:
        return self.field is not None and _numbers(self.field.annotation) > 0


def _find(table: type[BaseModel], loc: Loc) -> _Spot:
    """Walk down `loc`; a list of so many numbers is one thing, whichever of them is wrong."""
    spot = _Spot(table)
    for key in loc:
        if key != "[key]":
            spot.descend(key)
        if spot.is_numbers:
            break
    return spot


def _problem(detail: ErrorDetails, spot: _Spot, raw: object, file: str) -> Problem:
    path = path_of(raw, spot.loc)
    if detail["type"] == "extra_forbidden":
        return _unknown_key(spot, path, file)
    value = spot.loc[-1] if detail["loc"][-1] == "[key]" else _value_at(raw, spot.loc)
    if detail["type"].startswith("union_tag"):
        path, value = f"{path}: kind", _value_at(raw, (*spot.loc, "kind"))
    close = nearest(value, _choices(detail, spot)) if isinstance(value, str) else None
    return Problem(file, path, "nothing" if value is None else shown(value), _wanted(detail, spot), close)


def _unknown_key(spot: _Spot, path: str, file: str) -> Problem:
    keys = tuple(spot.tables[0].model_fields)
    close = nearest(str(spot.loc[-1]), keys)
    wanted = "a key that is known here" if close else f"one of the keys known here: {', '.join(keys)}"
    return Problem(file, path, f"the key `{shortened(str(spot.loc[-1]))}`", wanted, close)


def _wanted(detail: ErrorDetails, spot: _Spot) -> str:
    """What the file should say there: the limit it crosses, or else the shape of the value."""
    limit = _LIMITS.get(detail["type"])
    if limit is not None and not spot.is_numbers:
        wanted = limit(detail.get("ctx", {}))
        return f"{wanted}; it has {len(detail['input'])}" if detail["type"] == "string_too_long" else wanted
    if choices := _choices(detail, spot):
        return _choice(choices)
    return _shape(spot.field, inside=bool(spot.loc) and isinstance(spot.loc[-1], int))


def _choices(detail: ErrorDetails, spot: _Spot) -> tuple[str, ...]:
    """The words to choose from, when there are only so many."""
    if detail["type"].startswith("union_tag"):
        return tuple(kind for table in spot.tables for kind in _kinds(table))
    if spot.field is None:
        return ()
    inside_a_list = isinstance(spot.loc[-1], int)
    kinds = get_args(spot.field.annotation) if inside_a_list else (spot.field.annotation,)
    return tuple(word for kind in kinds for word in _literals(kind))


def _shape(field: FieldInfo | None, inside: bool = False) -> str:
    """What a field holds, in TOML's words; `inside` when one item of a list is meant."""
    if field is None:
        return "a table"
    annotation = field.annotation
    count = _numbers(annotation)
    if count:
        whole = "whole " if int in get_args(annotation) else ""
        return f"{_NUMBER_WORDS[count]} {whole}numbers{f': {field.description}' if field.description else ''}"
    form = next((_FORMS[p] for limit in field.metadata if (p := getattr(limit, "pattern", None)) in _FORMS), None)
    return form or _plain_shape(annotation, inside)


def _plain_shape(annotation: object, inside: bool) -> str:
    kinds = _alternatives(annotation)
    if tuple in [get_origin(kind) for kind in kinds] and not inside:
        return "a list of tables" if _tables_in(annotation) else "a list in square brackets"
    if dict in [get_origin(kind) for kind in kinds] or _tables_in(annotation):
        return "a table"
    words = {float: "a number", Decimal: "a number", int: "a whole number", bool: "true or false", date: "a date"}
    return next((words[kind] for kind in kinds if isinstance(kind, type) and kind in words), "text in quotes")


def path_of(raw: object, loc: Loc) -> str:
    """`loc` as a person would say it.

    >>> path_of({"steps": [{"id": "unplug"}]}, ("steps", 0, "parts", 2, "kg"))
    'step 1 "unplug": parts[2].kg'
    """
    head, rest = _labelled(raw, loc)
    tail = ""
    for key in rest:
        tail += f"[{key}]" if isinstance(key, int) else f".{_key(key)}"
    return ": ".join(filter(None, (head, tail.removeprefix("."))))


def _labelled(raw: object, loc: Loc) -> tuple[str, Loc]:
    """The item of the file's own list that is meant, by number and id, and what follows it."""
    if len(loc) < 2 or not isinstance(loc[1], int):
        return "", loc
    item = _value_at(raw, loc[:2])
    if not isinstance(item, dict):
        return "", loc
    name = item.get("id")
    label = f"{str(loc[0]).removesuffix('s')} {loc[1] + 1}"
    return (f'{label} "{shortened(name)}"' if isinstance(name, str) else label), loc[2:]


def _key(key: str) -> str:
    return key if key.replace("-", "").replace("_", "").isalnum() and key.isascii() else f'"{shortened(key)}"'


def _value_at(raw: object, loc: Loc) -> object:
    value: Any = raw
    for key in loc:
        inside = isinstance(value, dict) or (isinstance(value, list | tuple) and isinstance(key, int))
        if not inside or (isinstance(value, dict) and key not in value):
            return None
        value = value[key]
    return value


def _alternatives(annotation: object) -> tuple[object, ...]:
    """The types of a union, without what is annotated to them; None is no alternative a file could name."""
    union = get_origin(annotation) in (Union, UnionType)
    kinds = get_args(annotation) if union else (annotation,)
    return tuple(get_args(kind)[0] if get_origin(kind) is Annotated else kind for kind in kinds if kind is not NoneType)


def _tables_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [table for inner in get_args(annotation) for table in _tables_in(inner)]


def _kinds(table: type[BaseModel]) -> tuple[str, ...]:
    field = table.model_fields.get("kind")
    return _literals(field.annotation) if field else ()


def _literals(annotation: object) -> tuple[str, ...]:
    return tuple(str(a) for kind in _alternatives(annotation) if get_origin(kind) is Literal for a in get_args(kind))


def _numbers(annotation: object) -> int:
    """How many numbers a fixed list holds; 0 when it is something else."""
    for kind in _alternatives(annotation):
        inner = get_args(kind)
        if get_origin(kind) is tuple and Ellipsis not in inner and set(inner) <= {int, float}:
            return len(inner)
    return 0


def _at_least(characters: int) -> str:
    return "text that is not empty" if characters == 1 else f"at least {characters} characters"


def _choice(words: tuple[str, ...]) -> str:
    return f"one of {', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else words[0]
