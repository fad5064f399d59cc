"""One TOML file, from whoever it may come: plain text of a reasonable size, parsed, or one clear problem."""

import os
from pathlib import Path
from typing import Any, NamedTuple

import tomli

from teardown.packs.problems import PackError, Problem, shortened

LARGEST_BYTES = 1024 * 1024
LONGEST_LINE = 4000
"""Longer than any honest line; a parser's time grows with the square of a line of dotted keys."""
DEEPEST = 12


class Source(NamedTuple):
    """One file to read: where it lies, its name as it is printed, whether it holds what packs share."""

    path: Path
    name: str
    is_shared: bool


def content_of(source: Source) -> dict[str, Any]:
    """The file as nested tables and tuples. Raises PackError."""
    return parsed(text_of(source), source.name)


def parsed(text: str, name: str) -> dict[str, Any]:
    """The text of the file `name` as nested tables and tuples. Raises PackError."""
    lines = text.split("\n")
    for n, line in enumerate(lines, start=1) if max(map(len, lines)) > LONGEST_LINE else ():
        if len(line) > LONGEST_LINE:
            found, wanted = f"line {n} of {len(line)} characters", f"lines of at most {LONGEST_LINE}"
            raise PackError((Problem(name, "", found, wanted),))
    try:
        content: dict[str, Any] = _settled(tomli.loads(text))
        return content
    except tomli.TOMLDecodeError as error:
        raise PackError((_syntax_problem(error, name),)) from None
    except (RecursionError, ValueError):
        raise PackError((Problem(name, "", "lists in lists", f"at most {DEEPEST} inside each other"),)) from None


def _syntax_problem(error: tomli.TOMLDecodeError, name: str) -> Problem:
    lines = error.doc.split("\n")
    text = lines[error.lineno - 1] if error.lineno <= len(lines) else ""
    at_end = error.pos >= len(error.doc)
    found = "the end of the file" if at_end else f"`{shortened(text.strip())}`"
    wanted = f"TOML ({error.msg[:1].lower()}{shortened(error.msg[1:])}, column {error.colno})"
    return Problem(name, "", found, wanted, line=error.lineno)


def text_of(source: Source, largest_bytes: int = LARGEST_BYTES) -> str:
    """The text of a plain file of its own folder. Raises PackError."""

    def refused(found: str, wanted: str) -> PackError:
        return PackError((Problem(source.name, "", found, wanted),))

    if _leads_out(source):
        raise refused("a link that leads out of the folder", "a file of its own")
    try:
        if not source.path.is_file():
            raise refused("something that is not a file", "a file")
        with source.path.open("rb") as file:
            content = file.read(min(os.fstat(file.fileno()).st_size, largest_bytes) + 1)
    except OSError as error:
        raise refused(f"no way to read it ({error.strerror})", "a file that can be read") from None
    if len(content) > largest_bytes:
        raise refused("a larger file", f"at most {largest_bytes // 1024} KiB")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refused(f"byte {error.start + 1} is not UTF-8", "text in UTF-8") from None


def _leads_out(source: Source) -> bool:
    """Whether a link takes the file out of the folder of packs it seems to lie in."""
    path = source.path
    if not (path.is_symlink() or (source.is_shared and path.parent.is_symlink())):
        return False
    folder = path.parent.parent if source.is_shared else path.parent
    return not Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder))


_NESTED = (dict, list)


def _settled(value: Any, depth: int = 0) -> Any:
    """A table or list with tuples for the lists in it, which is what a frozen model holds: tables are changed in place.
    Raises ValueError when nested too deeply."""
    if depth > DEEPEST:
        raise ValueError("nested too deeply")
    places = value.items() if isinstance(value, dict) else enumerate(value)
    for place, inner in places:
        if isinstance(inner, _NESTED):
            value[place] = _settled(inner, depth + 1)
    return value if isinstance(value, dict) else tuple(value)
