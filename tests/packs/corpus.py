"""The small libraries of these tests: good and bad files, beside files that say what the check must tell of them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from teardown.packs.audit import audit, audit_addition
from teardown.packs.files import Source
from teardown.packs.joining import joined
from teardown.packs.problems import Problem, in_file_order
from teardown.packs.reader import Library, read, sources_in

HERE = Path(__file__).parent
BASE = HERE / "base"
BAD = HERE / "bad"
GOOD = HERE / "good"


def problems_of(folder: Path, name: str) -> tuple[Problem, ...]:
    """Everything wrong with `name`, as the check would tell it.

    NAME.toml is read beside the base packs; with a NAME.shared.toml the two are a library of their own.
    A name that begins with `own-` is a car's own pack, laid over the base packs.
    """
    return in_file_order(_checked(folder, name)[1])


def library_of(folder: Path, name: str) -> Library:
    """The library that `name` makes, for what is not wrong."""
    return _checked(folder, name)[0]


@cache
def _checked(folder: Path, name: str) -> tuple[Library, tuple[Problem, ...]]:
    shared, pack = folder / f"{name}.shared.toml", folder / f"{name}.toml"
    sources = [Source(path, path.name, path == shared) for path in (shared, pack) if path.exists()]
    if name.startswith("own-"):
        base, _ = read(sources_in(BASE))
        own, problems = read(sources)
        return joined(base, own), (*problems, *audit_addition(base, own))
    beside = [] if shared.exists() else list(sources_in(BASE))
    library, problems = read(sorted([*beside, *sources], key=lambda source: source.name))
    return library, (*problems, *audit(library))
