"""What can be written in the log: one model for each kind of entry, and how it is read from words typed at a prompt.

A quantity is kept as it was typed (`reading`) beside its SI number (`mass_kg`), so the record shows what the scale
showed and a fold needs no parsing.
"""

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

from pydantic import Field, StringConstraints, ValidationError
from pydantic_core import ErrorDetails

from teardown import units
from teardown.car.fields import Answer, DurationText, Fields, MassText, Name, Prose, Why, WrongEntry
from teardown.car.room import RELEASE_MIN
from teardown.car.tally_entries import TALLY_KINDS
from teardown.nearest import did_you_mean
from teardown.packs.model import Event, Id, Reference
from teardown.packs.translate import what_is_wanted
from teardown.text import one_line


class Opened(Fields):
    """A session began: who opened the folder to write, with which program."""

    format: int
    program: str
    rehearsal: bool = False


class Resumed(Fields):
    """After a pause: has power come on, have doors been shut, have people come or gone? `unknown` counts as yes."""

    power: Answer
    doors: Answer
    people: Answer


class StepDone(Fields):
    step: Reference
    refitted: bool = Field(default=False, description="the fasteners that go straight back are in their places")


class StepUndone(Fields):
    step: Reference
    why: Why


class StepSkipped(Fields):
    step: Reference
    why: Why


class StepDeferred(Fields):
    """Put off: until a milestone brings it back by itself, or until somebody takes it up."""

    step: Reference
    why: Why
    until: Id | None = Field(default=None, description="the milestone that brings it back")


class GateTick(Fields):
    gate: Id
    tick: Annotated[int, Field(ge=1)]
    says: str = Field(default="", description="the statement ticked; filled in, so a reworded gate must be ticked anew")
    sources: tuple[Id, ...] | None = Field(
        default=None, description="the sources of power the car may have; filled in, so that one more asks anew"
    )


class GateReading(Fields):
    """A number read from an instrument, with its unit: `1200ppm`, `0.2V`; `over` when it is at full scale."""

    gate: Id
    value: Annotated[str, StringConstraints(max_length=40)]
    number: float = Field(default=0.0, description="the reading in the gate's unit; filled in")
    says: str | None = Field(default=None, description="what the meter showed that is no number; filled in")


class GateFigure(Fields):
    """The dry ice about to be laid, and over how long it will go off. What lies there already is counted with it."""

    in_si: ClassVar[tuple[str, ...]] = ("ice_kg", "over_min")
    gate: Id
    ice: MassText
    over: DurationText = f"{RELEASE_MIN:g}min"
    same: bool | None = Field(default=None, description="the ice entered before, counted again: none comes on top")

    @property
    def ice_kg(self) -> float:
        return units.mass_kg(self.ice)

    @property
    def over_min(self) -> float:
        return units.duration_min(self.over)


class GateSigned(Fields):
    """Someone licensed did it: who, and their paper."""

    gate: Id
    by: Name
    paper: Name


class ManualWait(Fields):
    """The wait the car's service manual asks for, and where it says so."""

    in_si: ClassVar[tuple[str, ...]] = ("wait_min",)
    gate: Id
    wait: DurationText
    page: Name

    @property
    def wait_min(self) -> float:
        return units.duration_min(self.wait)


class WaitOver(Fields):
    """The wait was seen to be over while the clock that counts it could still prove it."""

    gate: Id


class PeopleHere(Fields):
    count: Annotated[int, Field(ge=1, le=20)]
    names: Name | None = None


class Happened(Fields):
    """Something that may shut a gate."""

    what: Event
    why: Why


class PowerRestored(Fields):
    """Power came back, by any route. Gates shut at once; how it came about may be said later."""

    why: Why = "nobody has said how yet"


class PartOff(Fields):
    part: Id


class PartBack(Fields):
    """A part that was out is in again."""

    part: Id


class PartStored(Fields):
    part: Id
    where: Name


class StillFitted(Fields):
    """A live module that stays in the car for now, plugged, by name."""

    module: Id
    why: Why


class NotThere(Fields):
    """Looked for a live module in its place, and it is not there."""

    module: Id
    why: Why


class CarAnswered(Fields):
    """Whether the car has something. car.toml gets the answer, and counts; the entry says who gave it, and when."""

    feature: Id
    fitted: Answer
    before: Answer | None = Field(default=None, description="what car.toml said until then; filled in")


class RuleAnswered(Fields):
    """What the rule book, or the cage builder, says to one question, and where. car.toml gets the same answer."""

    rule: Id
    keep: bool
    says: Name
    before: str | None = Field(default=None, description="what car.toml said until then; filled in")


class Note(Fields):
    text: Prose
    step: Reference | None = None


class Undo(Fields):
    entry: Annotated[int, Field(ge=1)]


KINDS: Mapping[str, type[Fields]] = {
    "opened": Opened,
    "resumed": Resumed,
    "step-done": StepDone,
    "step-undone": StepUndone,
    "step-skipped": StepSkipped,
    "step-deferred": StepDeferred,
    "gate-tick": GateTick,
    "gate-reading": GateReading,
    "gate-figure": GateFigure,
    "gate-signed": GateSigned,
    "manual-wait": ManualWait,
    "wait-over": WaitOver,
    "people-here": PeopleHere,
    "happened": Happened,
    "power-restored": PowerRestored,
    "part-off": PartOff,
    "part-back": PartBack,
    "part-stored": PartStored,
    "still-fitted": StillFitted,
    "not-there": NotThere,
    **TALLY_KINDS,
    "car-answered": CarAnswered,
    "rule-answered": RuleAnswered,
    "note": Note,
    "undo": Undo,
}

WRITTEN_BY_THE_PROGRAM = frozenset({"opened"})
"""Kinds no person enters."""


def read_fields(kind: str, words: Mapping[str, Any], parts_unit: str | None = None) -> Fields:
    """The fields of an entry of `kind` from `key=value` words. Raises WrongEntry with what is wanted.

    With `parts_unit`, what car.toml says the scale for parts shows, a bare number read off that scale gets it: the log
    needs no facts to be understood.
    """
    model = KINDS.get(kind)
    if model is None or kind in WRITTEN_BY_THE_PROGRAM:
        enterable = [name for name in KINDS if name not in WRITTEN_BY_THE_PROGRAM]
        raise WrongEntry(
            f"no entry is called {one_line(kind)!r}{did_you_mean(kind, enterable)}: {', '.join(enterable)}"
        )
    try:
        return model.model_validate(_with_unit(model, words, parts_unit))
    except ValidationError as error:
        raise _what_is_wanted(kind, model, error) from None


def _with_unit(model: type[Fields], words: Mapping[str, Any], parts_unit: str | None) -> dict[str, Any]:
    if parts_unit is None:
        return dict(words)
    bare = {name: words[name] for name in model.on_parts_scale if isinstance(words.get(name), str)}
    return {**words, **{name: units.with_unit(text, parts_unit) for name, text in bare.items()}}


_SEVERAL_PARTS = "parts by their ids, with commas between: left-visor,right-visor"
_FORMS = {
    "step": "a step by its whole name, like seats.driver-out",
    "parts": _SEVERAL_PARTS,
    "along": _SEVERAL_PARTS,
}


def _what_is_wanted(kind: str, model: type[Fields], error: ValidationError) -> WrongEntry:
    wanted = {}
    for problem in error.errors(include_url=False):
        key = one_line(".".join(str(part) for part in problem["loc"])) or "entry"
        wanted[key] = _one_want(key, problem, model)
    return WrongEntry(f"{kind}: " + "; ".join(wanted.values()), next(iter(wanted)))


def _one_want(key: str, problem: ErrorDetails, model: type[Fields]) -> str:
    if problem["type"] == "missing":
        return f"{key}= is missing"
    if problem["type"] == "extra_forbidden":
        return f"{key}= is not known here{did_you_mean(key, list(model.model_fields))}"
    wanted, close = what_is_wanted(problem, model)
    if problem["type"] == "string_pattern_mismatch":
        wanted = _FORMS.get(key, wanted)
    elif problem["type"] == "bool_parsing":
        wanted = "yes or no"
    return f"{key}=: {one_line(wanted)}" + (f" (did you mean {close}?)" if close else "")
