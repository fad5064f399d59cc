"""List the packs that ship; check packs, describe what one may say, or begin one."""

from __future__ import annotations

import argparse
import json
import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from teardown.car.disk import reason, write_new
from teardown.packs.audit import audit, audit_addition
from teardown.packs.files import Source
from teardown.packs.joining import joined
from teardown.packs.model import ID_PATTERN, LONGEST_ID, Pack, Part, Shared
from teardown.packs.problems import PackError, Problem, in_file_order, shortened
from teardown.packs.reader import Library, collect, load, read, sources_in
from teardown.packs.shipped import procedures
from teardown.packs.skeleton import SKELETON
from teardown.packs.translate import ID_WORDS
from teardown.stop import CANNOT_WRITE, DONE, WRONG_USE, Stop
from teardown.text import counted, one_line

RANGE = ("low", "likely", "high")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Nothing lists the packs; a word before the rest does more."""
    parser.add_argument("--json", action="store_true", help="print the list as JSON")
    actions = parser.add_subparsers(dest="action", metavar="ACTION", title="more")
    check = actions.add_parser("check", help="tell everything that is wrong with packs")
    check.add_argument("paths", nargs="*", type=Path, metavar="PATH", help="a pack or a folder; none: all that ship")
    check.add_argument("--json", action="store_true", dest="check_json", help="print the problems as JSON")
    schema = actions.add_parser("schema", help="print what a pack may say, as JSON Schema for an editor")
    schema.add_argument("--shared", action="store_true", help="of a shared file: hazards, gates, features and the like")
    new = actions.add_parser("new", help="write a pack to begin with: AREA.toml")
    new.add_argument("area", metavar="AREA", help="the area of the car, in small letters, like roof-rack")
    new.add_argument("--to", type=Path, default=Path(), metavar="FOLDER", help="where to write it; otherwise here")


def run(args: argparse.Namespace) -> int:
    """List, check, describe or begin."""
    if args.action == "check":
        return _check(args.paths, args.check_json)
    if args.action == "schema":
        return _schema(Shared if args.shared else Pack)
    if args.action == "new":
        return _new(args.area, args.to)
    return _list(args.json)


def _list(as_json: bool) -> int:
    rows = [_row(pack) for pack in _shipped().packs]
    print(json.dumps({"packs": rows}, indent=2, ensure_ascii=False) if as_json else "\n".join(_lines(rows)))
    return DONE


def _shipped() -> Library:
    try:
        return load(procedures())
    except PackError as error:
        raise Stop(WRONG_USE, f"the packs that ship cannot be read:\n{error}") from None


def _row(pack: Pack) -> dict[str, Any]:
    """What the list tells of one pack."""
    hours = [round(sum(step.minutes[n] for step in pack.steps) / 60, 2) for n in range(3)]
    return {
        "pack": pack.id,
        "title": pack.title,
        "steps": len(pack.steps),
        "hours": dict(zip(RANGE, hours, strict=True)),
        "likely_kg": round(sum(part.kg[1] for part in _parts_of_any_car(pack)), 2),
        "hazards": list(dict.fromkeys(hazard for step in pack.steps for hazard in pack.hazards_of(step))),
    }


def _parts_of_any_car(pack: Pack) -> Iterator[Part]:
    """What every car has, what no rule may want kept and what does not go back: kilos to reckon with."""
    for step in pack.steps:
        if not (pack.has or step.has or step.has_any or step.keep_rule):
            yield from (part for part in step.parts if part.counts == "saving" and not part.has)


def _lines(rows: list[dict[str, Any]]) -> Iterator[str]:
    for row in rows:
        yield f"{row['pack']}: {row['title']}"
        yield f"    {counted(row['steps'], 'step')}, {_hours([row])}, {row['likely_kg']:.1f} kg"
        yield from [f"    {', '.join(row['hazards'])}"] if row["hazards"] else []
    steps, likely_kg = sum(row["steps"] for row in rows), sum(row["likely_kg"] for row in rows)
    yield f"{counted(len(rows), 'pack')}, {counted(steps, 'step')}, {_hours(rows)} (low / likely / high);"
    yield f"{likely_kg:.0f} kg likely to come off any car"


def _hours(rows: list[dict[str, Any]]) -> str:
    return " / ".join(f"{sum(row['hours'][word] for row in rows):.1f}" for word in RANGE) + " h"


def _check(paths: list[Path], as_json: bool) -> int:
    library, problems = _checked(paths)
    if as_json:
        print(json.dumps({"problems": [problem._asdict() for problem in problems]}, indent=2, ensure_ascii=False))
    else:
        print("\n".join([*map(str, problems), _count(library, problems)]))
    return WRONG_USE if problems else DONE


def _checked(paths: list[Path]) -> tuple[Library, tuple[Problem, ...]]:
    """A library, and what is wrong in the files asked for: those that ship by themselves, any other laid over them."""
    shipped, problems = collect([procedures()])
    problems = (*problems, *audit(shipped))
    if not paths:
        return shipped, in_file_order(problems)
    names = {name for path in paths for name in _shipped_names(path)}
    own, own_problems = read(source for path in paths if not _ships(path) for source in _sources(path))
    missing = [one_line(str(path)) for path in paths if not path.exists()]
    found = (
        *(Problem(path, "", "no such file", "a pack or a folder of packs") for path in missing),
        *(problem for problem in problems if problem.file in names),
        *own_problems,
        *audit_addition(shipped, own),
    )
    return joined(shipped, own), in_file_order(found)


def _ships(path: Path) -> bool:
    return path.resolve().is_relative_to(procedures().resolve())


def _shipped_names(path: Path) -> Iterator[str]:
    """The names, in the shipped folder, of the files that `path` means."""
    if _ships(path):
        files = path.rglob("*.toml") if path.is_dir() else [path]
        yield from (file.resolve().relative_to(procedures().resolve()).as_posix() for file in files)


def _sources(path: Path) -> Iterator[Source]:
    if path.is_dir():
        yield from (source._replace(name=one_line(str(source.path))) for source in sources_in(path))
    elif path.exists():
        yield Source(path, one_line(str(path)), path.absolute().parent.name == "shared")


def _count(library: Library, problems: tuple[Problem, ...]) -> str:
    things = {"pack": library.packs, "step": library.steps, "part": library.parts}
    things |= {"hazard": library.hazards, "gate": library.gates}
    read_so_far = ", ".join(counted(len(found), name) for name, found in things.items())
    if not problems:
        return f"no problems: {read_so_far}"
    files = len({problem.file for problem in problems})
    return f"{counted(len(problems), 'problem')} in {counted(files, 'file')} ({read_so_far})"


def _schema(table: type[Pack] | type[Shared]) -> int:
    title = "A pack: one area of the car" if table is Pack else "A shared file: what packs have in common"
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **table.model_json_schema(), "title": title}
    print(json.dumps(schema, indent=2, ensure_ascii=False))
    return DONE


def _new(area: str, folder: Path) -> int:
    if not re.fullmatch(ID_PATTERN, area) or len(area) > LONGEST_ID:
        raise Stop(WRONG_USE, f'"{shortened(area)}": wanted {ID_WORDS}; at most {LONGEST_ID} characters')
    if area in _shipped().by_id:
        raise Stop(WRONG_USE, f"{area}: a pack that ships has this id; choose another")
    path = folder / f"{area}.toml"
    name = one_line(str(path))
    try:
        write_new(path, SKELETON.format(area=area, title=area.replace("-", " ").capitalize()).encode())
    except FileExistsError:
        raise Stop(WRONG_USE, f"{name} is there already: nothing was written") from None
    except OSError as error:
        raise Stop(CANNOT_WRITE, f"cannot write {name}: {reason(error)}") from None
    print(f"{name} written. Now: teardown packs check {shlex.quote(name)}")
    return DONE
