"""One answer changed in the text of car.toml: every comment and every other line stays as its owner wrote it.

Nothing here understands TOML well enough to be trusted with somebody's file. Each way of writing the answer is only
tried: it counts when the text, parsed again, says what it said before with that one answer changed.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Any

from teardown.car.facts import FACTS, LARGEST_BYTES, parse_facts
from teardown.packs.files import parsed
from teardown.packs.problems import WrongFile

_LINES = re.compile(r"[^\n]*\n|[^\n]+\Z")
MOST_TRIED = 20
"""Places of one kind in which an answer is tried."""

_NOTHING_FITTED: dict[str, Any] = {"fitted": {}}
"""An empty table says what none says."""
_END = r"(?=[ \t]*(?:#[^\n]*)?\r?\n?\Z)"
"""Nothing but a comment follows."""


class CannotEdit(Exception):
    """The answer cannot be put into this text; the message says what to write by hand."""


def with_feature(text: str, feature: str, fitted: bool | None) -> str:
    """`text` with that answer in `[fitted]`, or with none. Raises CannotEdit; `text` parses."""
    wanted = dict(parsed(text, FACTS))
    answers = {name: yes for name, yes in wanted.get("fitted", {}).items() if name != feature}
    if fitted is None and feature not in wanted.get("fitted", {}):
        return text
    wanted["fitted"] = answers | ({} if fitted is None else {feature: fitted})
    by_hand = f"a # before {feature} =" if fitted is None else f"{feature} = {_toml(fitted)}"
    return _first_that_says(wanted, _ways_for_a_feature(text, feature, fitted), f"in [fitted] {by_hand}")


def with_rule(text: str, rule: str, answer: Mapping[str, Any]) -> str:
    """`text` with that answer (`keep`, `rule`, `date`) as `[rules.NAME]`. Raises CannotEdit; `text` parses."""
    wanted = dict(parsed(text, FACTS))
    wanted["rules"] = wanted.get("rules", {}) | {rule: dict(answer)}
    lines = [f"{key} = {_toml(value)}" for key, value in answer.items()]
    by_hand = f"[rules.{rule}] with the lines {', '.join(lines)}"
    return _first_that_says(wanted, _ways_for_a_rule(text, rule, answer), by_hand)


def _first_that_says(wanted: Mapping[str, Any], ways: Iterator[str], by_hand: str) -> str:
    for changed in ways:
        if _says(changed, wanted):
            return changed
    raise CannotEdit(
        f"{FACTS} is not written in a way that one answer can be changed in safely: nothing was changed. "
        f"Write there by hand, {by_hand}, and open the car again"
    )


def _says(text: str, wanted: Mapping[str, Any]) -> bool:
    try:
        parse_facts(text)
        same = _NOTHING_FITTED | parsed(text, FACTS) == _NOTHING_FITTED | dict(wanted)
        return same and len(text.encode()) + len(codecs.BOM_UTF8) <= LARGEST_BYTES  # the file may begin with that mark
    except WrongFile:
        return False


# -- ways to write what the car has


def _ways_for_a_feature(text: str, feature: str, fitted: bool | None) -> Iterator[str]:
    """The careful ways first: a line that is there, then a comment opened, then a line more."""
    lines = _LINES.findall(text)
    ways = _taken_out(lines, feature) if fitted is None else _put_in(lines, feature, _toml(fitted))
    return map("".join, ways)


def _put_in(lines: list[str], feature: str, value: str) -> Iterator[list[str]]:
    here = _key(feature)
    yield from _first_few(
        _replaced(lines, rf"((?:{_key('fitted')}[ \t]*\.[ \t]*)?{here}[ \t]*=[ \t]*)(?:true|false){_END}", value),
        _in_braces(lines, rf"(?<=[{{, \t])({here}[ \t]*=[ \t]*)(?:true|false)(?=[ \t]*[,}}])", rf"\g<1>{value}"),
        _replaced(lines, rf"#[ \t]*({here}[ \t]*=[ \t]*)(?:true|false){_END}", value),
        _in_braces(lines, r"\{[ \t]*\}", f"{{ {feature} = {value} }}"),
        _in_braces(lines, r"\{[ \t]*", f"{{ {feature} = {value}, "),
        _below(lines, rf"\[[ \t]*{_key('fitted')}[ \t]*\]{_END}", f"{feature} = {value}"),
        _below(lines, rf"{_key('fitted')}[ \t]*\.", f"fitted.{feature} = {value}"),
    )
    yield [*_ended(lines), "[fitted]" + _line_end(lines), f"{feature} = {value}" + _line_end(lines)]


def _taken_out(lines: list[str], feature: str) -> Iterator[list[str]]:
    """The line stays as a comment, as a question that nobody has answered is first written."""
    here = _key(feature)
    there = rf"[ \t]*(?:{_key('fitted')}[ \t]*\.[ \t]*)?{here}[ \t]*="
    yield from _first_few(
        (_with_line(lines, n, f"# {line.lstrip()}") for n, line in enumerate(lines) if re.match(there, line)),
        _in_braces(lines, rf",[ \t]*{here}[ \t]*=[ \t]*(?:true|false)", ""),
        _in_braces(lines, rf"{here}[ \t]*=[ \t]*(?:true|false)[ \t]*,?[ \t]*", ""),
    )


def _first_few(*ways: Iterator[list[str]]) -> Iterator[list[str]]:
    """Some of each kind of way: each that is tried takes a parse, and a stranger's file may have thousands."""
    for of_a_kind in ways:
        yield from islice(of_a_kind, MOST_TRIED)


def _in_braces(lines: list[str], pattern: str, by: str) -> Iterator[list[str]]:
    """Each line that holds the whole table `fitted = { ... }`, with the first place that fits changed."""
    for n, line in enumerate(lines):
        if re.match(rf"[ \t]*{_key('fitted')}[ \t]*=[ \t]*\{{", line):
            changed, found = re.subn(pattern, by, line, count=1)
            if found:
                yield _with_line(lines, n, changed)


# -- ways to write what a rule says


def _ways_for_a_rule(text: str, rule: str, answer: Mapping[str, Any]) -> Iterator[str]:
    lines = _LINES.findall(text)
    header = rf"\[[ \t]*{_key('rules')}[ \t]*\.[ \t]*{_key(rule)}[ \t]*\]{_END}"
    headers = (n for n, line in enumerate(lines, start=1) if re.match(rf"[ \t]*{header}", line))
    yield from map("".join, _first_few(_with_answer_below(lines, begin, answer) for begin in headers))
    end = _line_end(lines)
    section = [f"[rules.{rule}]", *(f"{key} = {_toml(value)}" for key, value in answer.items())]
    yield "".join([*_ended(lines), end, *(line + end for line in section)])


def _with_answer_below(lines: list[str], begin: int, answer: Mapping[str, Any]) -> list[str]:
    """The values of one section put in, from line `begin` to the next section."""
    ends = (n for n, line in enumerate(lines[begin:], start=begin) if line.lstrip(" \t").startswith("["))
    end = next(ends, len(lines))
    section = lines[begin:end]
    for key, value in answer.items():
        pattern = rf"([ \t]*{_key(key)}[ \t]*=[ \t]*)(?:true|false|[^ \t\"'#\r\n]+|\"[^\"\\\r\n]*\"|'[^'\r\n]*'){_END}"
        for n, line in enumerate(section):
            if found := re.match(pattern, line):
                section[n] = f"{found[1]}{_toml(value)}{line[found.end() :]}"
                break
    return [*lines[:begin], *section, *lines[end:]]


# -- lines


def _key(name: str) -> str:
    """A key, bare or in quotes."""
    return rf"(?:{re.escape(name)}|\"{re.escape(name)}\"|'{re.escape(name)}')"


def _replaced(lines: list[str], pattern: str, value: str) -> Iterator[list[str]]:
    """Each line that fits, indented or not, with the value put after what the pattern holds on to."""
    for n, line in enumerate(lines):
        changed, found = re.subn(rf"\A([ \t]*){pattern}", rf"\g<1>\g<2>{value}", line)
        if found:
            yield _with_line(lines, n, changed)


def _below(lines: list[str], pattern: str, more: str) -> Iterator[list[str]]:
    """A line more below each that fits."""
    for n, line in enumerate(lines):
        if re.match(rf"[ \t]*{pattern}", line):
            yield [*_ended(lines[: n + 1]), more + _line_end([line, *lines]), *lines[n + 1 :]]


def _with_line(lines: list[str], n: int, line: str) -> list[str]:
    return [*lines[:n], line, *lines[n + 1 :]]


def _ended(lines: list[str]) -> list[str]:
    """With an end to the last line, where it has none."""
    if not lines or lines[-1].endswith("\n"):
        return lines
    return [*lines[:-1], lines[-1] + _line_end(lines)]


def _line_end(lines: list[str]) -> str:
    """How lines end in this file."""
    ended = next((line for line in lines if line.endswith("\n")), "\n")
    return "\r\n" if ended.endswith("\r\n") else "\n"


def _toml(value: object) -> str:
    import tomli_w

    return tomli_w.dumps({"x": value}).removeprefix("x = ").rstrip("\n")
