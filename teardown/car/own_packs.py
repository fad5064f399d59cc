"""Where a car's own packs lie: in its folder `packs`, and in the folder that car.toml names. Both are read.

What lies loose beside car.toml is no pack unless car.toml names that very folder: a copy of car.toml kept there must
not stop the car from opening. It is told, so that nobody waits for the gates of a pack that was never read.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePosixPath

from teardown.car.facts import FACTS
from teardown.packs.files import Source
from teardown.packs.problems import PackError, Problem
from teardown.packs.reader import sources_in
from teardown.text import one_line

OWN_PACKS = "packs"
FROM_ELSEWHERE = "packs-from-elsewhere"
"""Where a record puts the packs of a folder that lay outside of the car's."""
MOST_NAMED = 8
_RECORD = re.compile(r"record-\d{4,9}\.toml")


def own_packs(folder: Path, named: str | None) -> tuple[Source, ...]:
    """The files of the packs of the car in `folder`, each by its path from there. Raises PackError when the folder that
    car.toml names is not there."""
    return tuple(source for name in _folders(folder, named) for source in _packs_in(folder, name))


def _folders(folder: Path, named: str | None) -> Iterator[str]:
    default = folder / OWN_PACKS
    if default.is_dir():
        yield OWN_PACKS
    if named is None or (default.is_dir() and (folder / named).resolve() == default.resolve()):
        return
    if not (folder / named).is_dir():
        raise PackError((Problem(one_line(str(folder / named)), "", "no such folder", "a folder of packs"),))
    yield named


def _packs_in(folder: Path, name: str) -> Iterator[Source]:
    for source in sources_in(folder / name):
        if not _is_the_cars_own(folder, source.path):
            path = PurePosixPath(name, source.path.relative_to(folder / name).as_posix())
            yield source._replace(name=one_line(str(path)))


def _is_the_cars_own(folder: Path, path: Path) -> bool:
    """car.toml itself, and a record put beside it, are no packs."""
    is_one = path.name == FACTS or _RECORD.fullmatch(path.name) is not None
    return is_one and path.parent.resolve() == folder.resolve()


def lies_inside(name: str) -> bool:
    """Whether a path stays in the folder it is put in, on any system."""
    path = PurePosixPath(name)
    return not (path.is_absolute() or ".." in path.parts or set(name) & set('\\:*?"<>|')) and name.isprintable()


def told_of_own_packs(folder: Path, named: str | None, read: tuple[Source, ...]) -> Iterator[str]:
    """Which packs were read beside those that ship, and what looks like one and was not read. `read` is what
    `own_packs` gave."""
    if read:
        yield f"read with packs of this car's own: {_listed(source.name for source in read)}"
    elif named is not None:
        yield f"{one_line(named)}, which car.toml names, holds no packs"
    known = {source.path.resolve() for source in read}
    loose = [path for path in sorted(folder.glob("*.toml")) if not _is_the_cars_own(folder, path)]
    if unread := [one_line(path.name) for path in loose if path.resolve() not in known]:
        yield f"beside car.toml and NOT read: {_listed(unread)}. Packs of one's own go into the folder {OWN_PACKS}"


def _listed(names: Iterable[str]) -> str:
    names = list(names)
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more
