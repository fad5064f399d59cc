"""A car's own packs add and tighten. Any change that loosens what ships is refused; any that only tightens is accepted.

Which change is which is written here by hand and not taken from the program's own table.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Protocol, TypeVar

import corpus
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from teardown.packs.audit import audit_addition, extend
from teardown.packs.joining import joined
from teardown.packs.loosening import CHANGES, loosened
from teardown.packs.model import Fasteners, Level, Pack, Place, Step, Variant
from teardown.packs.problems import PackError
from teardown.packs.reader import load, read, sources_in

BASE, _ = read(sources_in(corpus.BASE))
T = TypeVar("T")


class Draw(Protocol):
    """Takes one value of a strategy."""

    def __call__(self, strategy: st.SearchStrategy[T], /) -> T: ...


Edit = Callable[[Draw, Any], Any]

FRACTION = st.floats(0.05, 0.95)
FACTOR = st.floats(1.05, 20)


def _more(*extra: object) -> Edit:
    """Items added at any place."""

    def edit(draw: Draw, old: tuple[object, ...]) -> tuple[object, ...]:
        new = list(old)
        for item in extra:
            new.insert(draw(st.integers(0, len(new))), item)
        return tuple(new)

    return edit


def _one_gone(draw: Draw, old: tuple[object, ...]) -> tuple[object, ...]:
    n = draw(st.integers(0, len(old) - 1))
    return old[:n] + old[n + 1 :]


def _turned(draw: Draw, old: tuple[object, ...]) -> tuple[object, ...]:
    return draw(st.permutations(old).filter(lambda new: tuple(new) != old).map(tuple))


def _smaller(draw: Draw, old: float) -> float:
    return old * draw(FRACTION)


def _larger(draw: Draw, old: float) -> float:
    return old * draw(FACTOR)


def _to(new: object) -> Edit:
    return lambda draw, old: new


def _words_added(draw: Draw, old: str | None) -> str:
    return (old or "") + draw(st.sampled_from([" On this car too.", " Twice."]))


def _words_lost(draw: Draw, old: str) -> str:
    return old[: draw(st.integers(1, len(old) - 1))]


def _levels(edit: Callable[[Draw, Level], Level]) -> Edit:
    """One of the levels changed."""

    def change(draw: Draw, old: tuple[Level, ...]) -> tuple[Level, ...]:
        n = draw(st.integers(0, len(old) - 1))
        return (*old[:n], edit(draw, old[n]), *old[n + 1 :])

    return change


def _level(**edits: Edit) -> Callable[[Draw, Level], Level]:
    return lambda draw, level: level.model_copy(
        update={key: edit(draw, getattr(level, key)) for key, edit in edits.items()}
    )


TIGHTER: list[tuple[str, str, str, Edit]] = [
    ("gate", "battery", "ticks", _more("Keys in the tin.", "Second battery off.")),
    ("gate", "battery", "lapses", _more("new-day")),
    ("gate", "battery", "follows", _more("high-voltage")),
    ("gate", "battery", "pause_min", _to(90.0)),
    ("gate", "battery", "why", _words_added),
    ("gate", "battery", "counts_modules", _to(True)),
    ("gate", "airbag-wait", "unknown_min", _larger),
    ("gate", "airbag-wait", "floor_min", lambda draw, old: old + draw(st.floats(0.1, 20))),
    ("gate", "ice-place", "pause_min", _smaller),
    ("gate", "ice-place", "each_step", _to(True)),
    ("gate", "ice-meter", "below", _smaller),
    ("gate", "ice-meter", "full_scale", _larger),
    ("gate", "ice-meter", "fresh_min", _smaller),
    ("gate", "ice-meter", "levels", _levels(_level(back_below=_smaller))),
    ("gate", "ice-meter", "levels", _levels(_level(hold_min=lambda draw, old: old + draw(st.floats(0.1, 60))))),
    ("gate", "ice-meter", "levels", _levels(_level(do=_words_added))),
    ("gate", "second-person", "people", _to(3)),
    ("gate", "refrigerant", "paper", _words_added),
    ("hazard", "glass", "gates", _more("second-person")),
    ("hazard", "glass", "wear", _more("boots")),
    ("hazard", "sharp", "signal", _to("WARNING")),
    ("hazard", "fuel", "avoid", _words_added),
    ("hazard", "sharp", "everywhere", _to(True)),
    ("feature", "airbags", "source_of_power", _to(True)),
    ("module", "seat-bag", "has", _one_gone),
    ("module", "seat-bag", "inside_with", _more("sunroof")),
    ("pack", "seats", "why", _words_added),
    ("pack", "seats", "hazards", _more("sharp", "fuel")),
    ("step", "driver-out", "do", _words_added),
    ("step", "driver-out", "hurts", _words_added),
    ("step", "driver-out", "tools", _more("E10")),
    ("step", "driver-out", "hazards", _more("sharp")),
    ("step", "driver-out", "needs", _more("prepare.lay-out")),
    ("step", "driver-out", "people", _to(3)),
    ("step", "driver-out", "minutes", _to((20.0, 30.0, 60.0))),
    ("step", "driver-out", "causes", _more("car-moved", "fuel-opened")),
    ("step", "unplug", "hazards", _more("heavy-lift")),
    ("part", "driver-seat", "kg", _to((20.0, 25.0, 34.0))),
]

LOOSER: list[tuple[str, str, str, Edit]] = [
    ("gate", "battery", "ticks", _one_gone),
    ("gate", "battery", "ticks", _turned),
    ("gate", "battery", "lapses", _one_gone),
    ("gate", "battery", "has", _more("sunroof")),
    ("gate", "battery", "why", _words_lost),
    ("gate", "battery", "title", _to("Lunch")),
    ("gate", "airbag-wait", "follows", _one_gone),
    ("gate", "airbag-wait", "unknown_min", _smaller),
    ("gate", "airbag-wait", "floor_min", _smaller),
    ("gate", "ice-place", "pause_min", _larger),
    ("gate", "ice-place", "pause_min", _to(None)),
    ("gate", "ice-place", "counts_modules", _to(False)),
    ("gate", "ice-meter", "below", _larger),
    ("gate", "ice-meter", "full_scale", _smaller),
    ("gate", "ice-meter", "full_scale", _to(None)),
    ("gate", "ice-meter", "fresh_min", _larger),
    ("gate", "ice-meter", "fresh_min", _to(None)),
    ("gate", "ice-meter", "quantity", _to("voltage_v")),
    ("gate", "ice-meter", "reads", _to("Volts")),
    ("gate", "ice-meter", "levels", _one_gone),
    ("gate", "ice-meter", "levels", _levels(_level(back_below=_larger))),
    ("gate", "ice-meter", "levels", lambda draw, old: (*old[:2], _level(hold_min=_smaller)(draw, old[2]))),
    ("gate", "ice-meter", "levels", _levels(_level(do=_words_lost))),
    ("gate", "ice-meter", "levels", _more(Level(at=20000, do="Away from the car.", back_below=2000))),
    ("gate", "none-left", "allows_fitted", _to(True)),
    ("gate", "none-left", "allows_outside", _to(True)),
    ("gate", "all-back", "has", _more("sunroof")),
    ("gate", "refrigerant", "call", _words_lost),
    ("hazard", "airbag", "gates", _one_gone),
    ("hazard", "airbag", "signal", lambda draw, old: draw(st.sampled_from(["WARNING", "CAUTION", "NOTICE"]))),
    ("hazard", "airbag", "wear", _one_gone),
    ("hazard", "airbag", "happens", _words_lost),
    ("hazard", "airbag", "avoid", _to("Be quick.")),
    ("hazard", "high-voltage", "everywhere", _to(False)),
    ("hazard", "dry-ice", "until", _to(None)),
    ("feature", "airbags", "asks", _to("Is the car red?")),
    ("feature", "airbags", "fuel", _to("diesel")),
    ("feature", "sunroof", "source_of_power", _to(False)),
    ("module", "seat-bag", "has", _more("sunroof")),
    ("module", "seat-bag", "outside", _to(True)),
    ("rule", "door-cards", "asks", _to("Is the car red?")),
    ("milestone", "cage-in", "step", _to("prepare.lay-out")),
    ("pack", "seats", "follows", _one_gone),
    ("pack", "seats", "has", _more("sunroof")),
    ("pack", "finish", "hazards", _one_gone),
    ("step", "driver-out", "do", _words_lost),
    ("step", "driver-out", "hazards", _one_gone),
    ("step", "cage", "hazards", _one_gone),
    ("step", "cage", "causes", _one_gone),
    ("step", "driver-out", "needs", _one_gone),
    ("step", "driver-out", "elsewhere", _to("On the bench.")),
    ("step", "driver-out", "has", _more("sunroof")),
    ("step", "driver-out", "has_any", _to(("sunroof",))),
    ("step", "driver-out", "people", _to(1)),
    ("step", "driver-out", "tools", _one_gone),
    ("step", "driver-out", "fasteners", _one_gone),
    ("step", "driver-out", "parts", _one_gone),
    ("step", "driver-out", "keep_rule", _to("door-cards")),
    ("step", "driver-out", "defer_until", _to("cage-in")),
    ("step", "unplug", "mentions", _to({"airbag": "There is none."})),
    ("part", "driver-seat", "modules", _one_gone),
    ("part", "driver-seat", "variants", _more(Variant(feature="sunroof", material="paper"))),
    ("part", "driver-seat", "fate", _to("scrap")),
    ("part", "driver-seat", "counts", _to("fluid")),
]

SEVERAL_TIGHTER = st.lists(st.sampled_from(TIGHTER), max_size=6, unique_by=lambda change: change[:3])


def changed(library: Any, kind: str, name: str, key: str, edit: Callable[[Any], Any]) -> Any:
    """`library` with one key of one thing changed."""

    def on(thing: BaseModel) -> Any:
        return thing.model_copy(update={key: edit(getattr(thing, key))})

    if kind == "pack":
        return replace(library, packs=tuple(on(pack) if pack.id == name else pack for pack in library.packs))
    if kind in ("step", "part"):
        packs = tuple(pack.model_copy(update={"steps": _steps(pack, kind, name, on)}) for pack in library.packs)
        return replace(library, packs=packs)
    section = f"{kind}s"
    things = getattr(library, section)
    return replace(library, **{section: {**things, name: on(things[name])}})


def _steps(pack: Pack, kind: str, name: str, on: Callable[[Any], Any]) -> tuple[Step, ...]:
    if kind == "step":
        return tuple(on(step) if step.id == name else step for step in pack.steps)
    return tuple(
        step.model_copy(update={"parts": tuple(on(part) if part.id == name else part for part in step.parts)})
        for step in pack.steps
    )


def edited(library: Any, draw: Draw, change: tuple[str, str, str, Edit]) -> Any:
    kind, name, key, edit = change
    return changed(library, kind, name, key, lambda old: edit(draw, old))


@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_any_changes_that_only_tighten_are_accepted(data: st.DataObject) -> None:
    own = BASE
    for change in data.draw(SEVERAL_TIGHTER):
        own = edited(own, data.draw, change)
    assert [str(problem) for problem in loosened(BASE, own)] == []


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_any_change_that_loosens_is_refused_whatever_else_tightens(data: st.DataObject) -> None:
    kind, name, key, _ = looser = data.draw(st.sampled_from(LOOSER))
    own = edited(BASE, data.draw, looser)
    for change in data.draw(SEVERAL_TIGHTER):
        if change[:3] != looser[:3]:
            own = edited(own, data.draw, change)
    told = [
        problem
        for problem in loosened(BASE, own)
        if problem.path.endswith((f": {key}", f".{key}")) or problem.path == key
    ]
    assert told, f"{kind} {name}: {key}"
    assert all(problem.wanted for problem in told)


@pytest.mark.parametrize("change", LOOSER, ids=lambda change: "-".join(change[:3]))
@given(data=st.data())
@settings(max_examples=3, deadline=None)
def test_each_way_to_loosen_is_refused(change: tuple[str, str, str, Edit], data: st.DataObject) -> None:
    assert tuple(loosened(BASE, edited(BASE, data.draw, change)))


@pytest.mark.parametrize("change", TIGHTER, ids=lambda change: "-".join(change[:3]))
@given(data=st.data())
@settings(max_examples=3, deadline=None)
def test_each_way_to_tighten_is_accepted(change: tuple[str, str, str, Edit], data: st.DataObject) -> None:
    assert [str(problem) for problem in loosened(BASE, edited(BASE, data.draw, change))] == []


def test_every_key_of_every_table_says_what_may_become_of_it() -> None:
    for table, changes in CHANGES.items():
        assert changes.keys() == table.model_fields.keys(), table.__name__


def test_nothing_of_the_shipped_packs_is_lost_when_own_packs_are_laid_over_them() -> None:
    own, _ = read([])
    assert joined(BASE, own).steps.keys() == BASE.steps.keys()
    assert joined(BASE, own).gates == BASE.gates


def test_an_own_pack_that_names_one_step_keeps_the_others_in_order() -> None:
    library = corpus.library_of(corpus.GOOD, "own-step-added")
    assert [step.id for step in library.by_id["seats"].steps] == ["unplug", "rail-covers", "driver-out"]


def test_new_steps_stand_where_their_file_puts_them() -> None:
    seats = BASE.by_id["seats"]
    new = {name: seats.steps[0].model_copy(update={"id": name}) for name in ("a", "b", "c", "d")}
    own = seats.model_copy(update={"steps": (new["a"], seats.steps[0], new["b"], new["c"], seats.steps[1], new["d"])})
    laid = joined(BASE, replace(BASE, packs=(own,)))
    assert [step.id for step in laid.by_id["seats"].steps] == ["a", "unplug", "b", "c", "driver-out", "d"]


def test_new_steps_alone_stand_at_the_end() -> None:
    seats = BASE.by_id["seats"]
    new = seats.steps[0].model_copy(update={"id": "a"})
    laid = joined(BASE, replace(BASE, packs=(seats.model_copy(update={"steps": (new,)}),)))
    assert [step.id for step in laid.by_id["seats"].steps] == ["unplug", "driver-out", "a"]


def test_what_is_loosened_is_told_once_and_without_its_consequences() -> None:
    own = changed(BASE, "gate", "airbag-wait", "floor_min", lambda old: 1.0)
    assert [(problem.found, problem.wanted) for problem in audit_addition(BASE, own)] == [
        ("1", "no less than what ships: 10")
    ]


def test_a_folder_of_own_packs_extends_the_library(tmp_path: Any) -> None:
    good = (corpus.GOOD / "own-new-pack.toml").read_text(encoding="utf-8")
    (tmp_path / "extra.toml").write_text(good, encoding="utf-8")
    assert "extra.tow-bar" in extend(load(corpus.BASE), sources_in(tmp_path)).steps


def test_a_folder_of_own_packs_that_loosens_is_refused_with_the_reason(tmp_path: Any) -> None:
    (tmp_path / "shared").mkdir()
    bad = (corpus.BAD / "own-wait-shorter.shared.toml").read_text(encoding="utf-8")
    (tmp_path / "shared" / "gates.toml").write_text(bad, encoding="utf-8")
    with pytest.raises(PackError, match="found 5; wanted no less than what ships: 10"):
        extend(load(corpus.BASE), sources_in(tmp_path))


def test_tables_that_lie_inside_a_step_are_compared_whole() -> None:
    """Fasteners, places and levels have no id of their own: a new one must not be taken for a changed old one."""
    fasteners = Fasteners(count=(1, 2), what="clips", fate="discard")
    own = changed(BASE, "step", "driver-out", "fasteners", lambda old: (*old, fasteners))
    assert tuple(loosened(BASE, own)) == ()
    moved = changed(BASE, "part", "driver-seat", "place", lambda old: Place(x=0.1, y="0", z=0.1))
    assert [problem.path for problem in loosened(BASE, moved)] == ['step 2 "driver-out": parts[0].place']
