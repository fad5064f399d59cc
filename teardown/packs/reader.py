"""Reading packs: from folders of TOML files to one library. Every problem is found in one pass; none is a traceback.

A folder holds packs (`*.toml`) and, in its folder `shared`, what packs have in common (`shared/*.toml`).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Generic, Literal, NamedTuple, TypeVar

from pydantic import BaseModel, ValidationError

from teardown.packs.files import Source, content_of
from teardown.packs.model import Feature, Gate, Hazard, Milestone, Module, Pack, Part, Rule, Shared, Step, Word
from teardown.packs.problems import Loc, PackError, Problem, shortened, shown
from teardown.text import one_line

Kind = Literal["pack", "step", "part", "hazard", "gate", "feature", "module", "rule", "milestone"]
KINDS: dict[str, Kind] = {
    "hazards": "hazard",
    "gates": "gate",
    "features": "feature",
    "modules": "module",
    "rules": "rule",
    "milestones": "milestone",
}
"""The lists of a shared file, and what one of each is called."""

_Table = TypeVar("_Table", bound=BaseModel)


class Spot(NamedTuple):
    """Where something is written: the file, and the key path in it."""

    file: str
    path: str


@dataclass(frozen=True)
class Library:
    """All packs in working order, and by id what they have in common."""

    packs: tuple[Pack, ...] = ()
    hazards: dict[str, Hazard] = field(default_factory=dict)
    gates: dict[str, Gate] = field(default_factory=dict)
    features: dict[str, Feature] = field(default_factory=dict)
    modules: dict[str, Module] = field(default_factory=dict)
    rules: dict[str, Rule] = field(default_factory=dict)
    milestones: dict[str, Milestone] = field(default_factory=dict)
    words: tuple[Word, ...] = ()
    spots: dict[tuple[Kind, str], Spot] = field(default_factory=dict)
    unread: frozenset[tuple[Kind, str]] = frozenset()
    """What has an id but could not be read. A reference to it is no second mistake."""
    shared_unread: bool = False
    told: frozenset[Spot] = frozenset()
    """Where reading has found something: what stands there is mended, and nothing more is said of it."""
    bagged_before: tuple[str, ...] = ()
    """The steps that had fasteners to keep before packs of one's own were laid over."""

    @cached_property
    def by_id(self) -> dict[str, Pack]:
        return {pack.id: pack for pack in self.packs}

    @cached_property
    def steps(self) -> dict[str, Step]:
        """Every step by its whole reference, in working order; the first, when an id was given twice."""
        steps: dict[str, Step] = {}
        for pack in self.packs:
            for step in pack.steps:
                steps.setdefault(f"{pack.id}.{step.id}", step)
        return steps

    @cached_property
    def parts(self) -> dict[str, Part]:
        """Every part by its id; the first, when an id was given twice."""
        parts: dict[str, Part] = {}
        for step in self.steps.values():
            for part in step.parts:
                parts.setdefault(part.id, part)
        return parts

    def step(self, reference: str) -> Step:
        """The step `pack.step`. KeyError when there is none."""
        return self.steps[reference]

    @cached_property
    def everywhere(self) -> tuple[str, ...]:
        """The hazards that every step meets."""
        return tuple(hazard.id for hazard in self.hazards.values() if hazard.everywhere)

    @cached_property
    def opened_here(self) -> frozenset[str]:
        """The gates that do not wait for somebody licensed."""
        return frozenset(gate.id for gate in self.gates.values() if gate.kind != "stop")

    def hazards_of(self, reference: str) -> tuple[str, ...]:
        """Every hazard a step meets: its own, those of its pack, and those of every step."""
        return self.by_id[reference.partition(".")[0]].hazards_of(self.steps[reference], self.everywhere)

    def shared(self, kind: Kind) -> dict[str, Any]:
        """What packs share of one kind, by id."""
        tables: dict[str, dict[str, Any]] = {name: getattr(self, section) for section, name in KINDS.items()}
        return tables[kind]

    def ids(self, kind: Kind) -> Iterable[str]:
        """Every id of one kind; a step's is its whole reference."""
        own: dict[str, Iterable[str]] = {"pack": self.by_id, "step": self.steps, "part": self.parts}
        return own[kind] if kind in own else self.shared(kind)

    def gates_behind(self, gates: Iterable[str]) -> tuple[Gate, ...]:
        """`gates` and all they follow, as far as they are known."""
        found: dict[str, Gate] = {}
        waiting = list(gates)
        while waiting:
            name = waiting.pop(0)
            if name in self.gates and name not in found:
                found[name] = self.gates[name]
                waiting += found[name].follows
        return tuple(found.values())

    def problem(
        self, kind: Kind, name: str, key: str, found: str | None, wanted: str, nearest: str | None = None
    ) -> Problem:
        """What is wrong with `key` of one thing, with the file and path where that thing is written."""
        spot = self.spots[kind, name]
        inside = "." if spot.path.endswith("]") else ": "
        return Problem(spot.file, inside.join(filter(None, (spot.path, key))), found, wanted, nearest)

    def may_have(self, kind: Kind, name: str) -> bool:
        """Whether there is such a thing, or may be one in what could not be read."""
        if name in self.ids(kind) or (kind, name) in self.unread:
            return True
        if kind == "step":
            return ("pack", name.split(".")[0]) in self.unread
        return self.shared_unread and kind in KINDS.values()


def load(*folders: Path) -> Library:
    """The packs in `folders`. Raises PackError with every problem found."""
    library, problems = collect(folders)
    if problems:
        raise PackError(problems)
    return library


def collect(folders: Iterable[Path]) -> tuple[Library, tuple[Problem, ...]]:
    """What can be read of the packs in `folders`, and every problem found."""
    sources: list[Source] = []
    missing: list[Problem] = []
    for folder in folders:
        if folder.is_dir():
            sources += sources_in(folder)
        else:
            missing.append(Problem(one_line(str(folder)), "", "no such folder", "a folder of packs"))
    library, problems = read(sources)
    return library, (*missing, *problems)


def sources_in(folder: Path) -> Iterator[Source]:
    """The files of a folder of packs, in the order of their names."""
    for part, is_shared in (("shared", True), (".", False)):
        for path in sorted((folder / part).glob("*.toml")):
            yield Source(path, one_line(path.relative_to(folder).as_posix()), is_shared)


def read(sources: Iterable[Source]) -> tuple[Library, tuple[Problem, ...]]:
    """What can be read of `sources`, and every problem found."""
    reading = _Reading()
    for source in sources:
        reading.add(source)
    return reading.library(), tuple(reading.problems)


class _Reading:
    """What has been read so far."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.packs: list[Pack] = []
        self.shared: dict[str, dict[str, Any]] = {section: {} for section in KINDS}
        self.words: list[Word] = []
        self.spots: dict[tuple[Kind, str], Spot] = {}
        self.unread: set[tuple[Kind, str]] = set()
        self.shared_unread = False

    def library(self) -> Library:
        return Library(
            packs=in_working_order(self.packs),
            words=tuple(self.words),
            spots=self.spots,
            unread=frozenset(self.unread),
            shared_unread=self.shared_unread,
            told=frozenset(Spot(problem.file, problem.path) for problem in self.problems),
            bagged_before=(),
            **self.shared,
        )

    def add(self, source: Source) -> None:
        """Read one file; what is wrong with it joins the problems."""
        try:
            content = content_of(source)
        except PackError as error:
            self.problems += error.problems
            content = {}
        if source.is_shared:
            self._add_shared(content, source, unread=not content)
        elif content:
            self._add_pack(content, source)
        else:
            self.unread.add(("pack", source.path.stem))

    def _add_pack(self, content: dict[str, Any], source: Source) -> None:
        pack, content, rest = self._validated(Pack, content, source)
        name = content.get("id") if isinstance(content.get("id"), str) else source.path.stem
        assert isinstance(name, str)
        if pack is None:
            self.unread.add(("pack", name))
        self.unread |= {("step", f"{name}.{step}") for _, step in rest}
        if self._taken("pack", name, Spot(source.name, "")):
            return
        if pack is not None:
            self.packs.append(pack)
        self._place_steps(name, content.get("steps"), source)

    def _place_steps(self, pack: str, steps: object, source: Source) -> None:
        for path, step in _items("step", steps):
            self._taken("step", f"{pack}.{step['id']}", Spot(source.name, path))
            for n, part in enumerate(_list(step.get("parts"))):
                if isinstance(part, dict) and isinstance(part.get("id"), str):
                    self._taken("part", part["id"], Spot(source.name, f"{path}: parts[{n}]"))

    def _add_shared(self, content: dict[str, Any], source: Source, unread: bool) -> None:
        shared, content, rest = self._validated(Shared, content, source)
        self.shared_unread |= unread or shared is None
        self.unread |= {(KINDS[section], name) for section, name in rest if section in KINDS}
        taken = {
            (kind, item["id"])
            for section, kind in KINDS.items()
            for path, item in _items(kind, content.get(section))
            if self._taken(kind, item["id"], Spot(source.name, path))
        }
        for section, kind in KINDS.items():
            for item in getattr(shared, section, ()):
                if (kind, item.id) not in taken or item.id not in self.shared[section]:
                    self.shared[section][item.id] = item
        self.words += shared.words if shared else ()

    def _taken(self, kind: Kind, name: str, spot: Spot) -> bool:
        """Note where something is written; a second one of the same id is a problem."""
        first = self.spots.setdefault((kind, name), spot)
        if first is spot:
            return False
        elsewhere = ": ".join(filter(None, first))
        path = f"{spot.path}.id" if spot.path.endswith("]") else ": ".join(filter(None, (spot.path, "id")))
        own = name.rpartition(".")[2]
        self.problems.append(Problem(spot.file, path, shown(own), f"an id of its own: {elsewhere} has this one"))
        return True

    def _validated(self, table: type[_Table], content: dict[str, Any], source: Source) -> "_Read[_Table]":
        """The content as a `table`. Where something is wrong, all the rest, and the ids of the items that have it."""
        try:
            return _Read(table.model_validate(content, strict=True), content, set())
        except ValidationError as error:
            from teardown.packs.mending import mended  # only for a file with mistakes
            from teardown.packs.translate import problems_in

            self.problems += problems_in(error, content, source.name, table)
            details = error.errors(include_url=False, include_context=False)
        places = {detail["loc"][:2] for detail in details}
        names = {(str(loc[0]), name) for loc in places if (name := _id_at(content, loc))}
        misread: set[Loc] = set()
        gone: set[Loc] = set()
        for _ in range(3):  # a key taken for another may be wrong there: it goes; and at last the whole item
            left, beyond = mended(content, details, table, misread)
            try:
                return _Read(table.model_validate(_without(left, beyond | gone), strict=True), left, names)
            except ValidationError as error:
                wrong = set(_places_of(error, left, beyond | gone))
                gone |= wrong & misread
                misread |= wrong
        return _Read(None, content, names)


class _Read(NamedTuple, Generic[_Table]):
    """What was read of one file."""

    table: _Table | None
    content: dict[str, Any]
    """As it was read, its mistakes mended."""
    wrong: set[tuple[str, str]]
    """The sections and ids of what had mistakes."""


def _without(content: dict[str, Any], wrong: set[Loc]) -> dict[str, Any]:
    """`content` without the items at `wrong`."""
    left = dict(content)
    for section, items in left.items():
        if isinstance(items, tuple):
            left[section] = tuple(items[n] for n in _kept(section, items, wrong))
    return left


def _kept(section: str, items: tuple[Any, ...], wrong: set[Loc]) -> list[int]:
    return [n for n in range(len(items)) if (section, n) not in wrong]


def _places_of(error: ValidationError, content: dict[str, Any], without: set[Loc]) -> Iterator[Loc]:
    """The items of `content` that are wrong, as they are numbered in the file, of which some were left out."""
    for detail in error.errors(include_url=False, include_context=False):
        section, *inside = detail["loc"][:2]
        items = content.get(str(section))
        if isinstance(items, tuple) and inside and isinstance(inside[0], int):
            yield section, _kept(str(section), items, without)[inside[0]]
        else:
            yield detail["loc"][:2]


def _id_at(content: dict[str, Any], loc: tuple[int | str, ...]) -> str | None:
    items = content.get(str(loc[0]))
    item = items[loc[1]] if len(loc) == 2 and isinstance(items, tuple) and isinstance(loc[1], int) else None
    name = item.get("id") if isinstance(item, dict) else None
    return name if isinstance(name, str) else None


def _items(kind: str, items: object) -> Iterator[tuple[str, dict[str, Any]]]:
    """The items of a list that have an id, each with its key path."""
    for n, item in enumerate(_list(items), start=1):
        if isinstance(item, dict) and isinstance(item.get("id"), str):
            yield f'{kind} {n} "{shortened(item["id"])}"', item


def _list(value: object) -> tuple[Any, ...]:
    return value if isinstance(value, tuple) else ()


def in_working_order(packs: Iterable[Pack]) -> tuple[Pack, ...]:
    """Each pack after those it follows; otherwise in the order given. Packs that follow each other stay as given."""
    waiting = {pack.id: pack for pack in packs}
    done: dict[str, Pack] = {}
    while waiting:
        ready = (pack for pack in waiting.values() if waiting.keys().isdisjoint(pack.follows))
        following = next(ready, next(iter(waiting.values())))
        done[following.id] = waiting.pop(following.id)
    return tuple(done.values())
