"""What a pack file may say.

Two kinds of TOML file lie in a folder of packs. A *pack* has steps and covers one area of the car.
A *shared* file holds what packs have in common: hazards, gates, features, modules, rules, milestones.
The models know shapes and ranges only; what must agree between files is the audit's business.
"""

from collections.abc import Callable, Iterable
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field
from pydantic_core import core_schema

from teardown.text import plain

LONGEST_ID = 40
ID_PATTERN = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
REFERENCE_PATTERN = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*(\.[a-z][a-z0-9]*(-[a-z0-9]+)*)?$"
SIDE_PATTERN = r"^(-?0(\.\d+)?|[DP]0(\.\d+)?)$"


def plain_line(value: str) -> str:
    """Titles and names share a line with other things: no line breaks, nothing that drives a terminal."""
    if not value.isprintable() and (plain(value) != value or "\n" in value):
        raise ValueError("plain text on one line, without control characters")
    return value


def _prose(value: str) -> str:
    """Line breaks of the file mean nothing; an empty line begins a new paragraph."""
    if plain(value) != value:
        raise ValueError("plain text, without control characters")
    return "\n".join(" ".join(paragraph.split()) for paragraph in value.strip().split("\n\n"))


class ReadyMade:
    """What a value must be, as the validator's own schema: hundreds of fields have one, and all are built at every
    start."""

    def __init__(self, schema: core_schema.CoreSchema, pattern: str | None = None) -> None:
        self.schema, self.pattern = schema, pattern

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> core_schema.CoreSchema:
        return self.schema


def of_text(
    longest: int, shortest: int = 0, pattern: str | None = None, reads: Callable[[str], str] | None = None
) -> ReadyMade:
    """Text of so many characters; `reads` makes of it what is kept, or raises ValueError."""
    schema = core_schema.str_schema(max_length=longest, min_length=shortest, pattern=pattern)
    return ReadyMade(core_schema.no_info_after_validator_function(reads, schema) if reads else schema, pattern)


Id = Annotated[str, of_text(LONGEST_ID, pattern=ID_PATTERN)]
Reference = Annotated[str, of_text(2 * LONGEST_ID + 1, pattern=REFERENCE_PATTERN)]
Line = Annotated[str, of_text(80, 1, reads=plain_line)]
Sentence = Annotated[str, of_text(240, 1, reads=plain_line)]
Prose = Annotated[str, of_text(1200, reads=_prose)]
Range = Annotated[tuple[float, float, float], Field(description="low, likely, high")]

SignalWord = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
FastenerFate = Literal["bag", "refit", "discard", "stays"]
PartFate = Literal["keep", "refit", "sell", "scrap", "controlled"]
Worth = Literal["none", "low", "medium", "high"]
FuelKind = Literal["petrol", "diesel", "gas"]
Counts = Literal["saving", "temporary", "fluid", "contents", "added"]
Event = Literal[
    "power",
    "new-day",
    "break",
    "people-changed",
    "doors-shut",
    "fan-stopped",
    "ice-delivered",
    "car-moved",
    "load-changed",
    "fuel-opened",
    "module-moved",
    "air-bad",
    "broken",
    "refrigerant-there",
    "hurt",
    "refitted",
]


class Model(BaseModel):
    """Strict and frozen: a key nobody knows is a spelling mistake that could hide a gate."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)


class Fasteners(Model):
    """What holds the part: how many (fewest, most), what, which drive, where, and what becomes of them."""

    count: Annotated[tuple[int, int], Field(description="fewest, most")]
    what: Line
    drive: Line | None = None
    where: Line | None = None
    fate: FastenerFate

    @property
    def counted(self) -> str:
        """How many of what: `4 bolts`, `2 to 6 clips`."""
        fewest, most = self.count
        return f"{fewest} {self.what}" if fewest == most else f"{fewest} to {most} {self.what}"

    @property
    def in_words(self) -> str:
        """The same, with its drive and its place."""
        drive = f" {self.drive}" if self.drive else ""
        return f"{self.counted}{drive}" + (f", {self.where}" if self.where else "")


class Place(Model):
    """Where a part sits. x: share of the wheelbase behind the front axle; y: share of the track, right positive,
    `D0.24` the driver's side and `P0.24` the passenger's; z: metres above ground."""

    x: Annotated[float, Field(ge=-1.0, le=2.5)]
    y: Annotated[str, of_text(LONGEST_ID, pattern=SIDE_PATTERN)]
    z: Annotated[float, Field(ge=0.0, le=3.0)]


class Variant(Model):
    """What an answer of the owner makes of a part. No answer leaves the part's own figures."""

    feature: Id
    fitted: bool = Field(default=True, description="the answer that makes it so")
    kg: Range | None = None
    material: Line | None = None
    place: Place | None = None
    note: Sentence | None = None

    @property
    def changes(self) -> dict[str, Any]:
        """What it says of the part instead of the part's own words."""
        said = {key: getattr(self, key) for key in ("kg", "material", "place", "note")}
        return {key: value for key, value in said.items() if value is not None}


class Part(Model):
    """Something that comes off (or, with `counts = "added"`, goes on)."""

    id: Id
    name: Line
    kg: Range
    material: Line
    place: Place
    quantity: Annotated[int, Field(ge=1, le=50)] = 1
    modules: tuple[Id, ...] = Field(default=(), description="live modules inside this part")
    worth: Worth = "none"
    buyers_ask: Sentence | None = Field(default=None, description="what buyers of just this ask: questions, no advice")
    fate: PartFate
    counts: Counts = "saving"
    has: tuple[Id, ...] = Field(default=(), description="features the car must have for this part to be there")
    note: Sentence | None = None
    variants: tuple[Variant, ...] = Field(default=(), description="what answers about the car make of it")


class Step(Model):
    """One thing to do."""

    id: Id
    title: Line
    do: Prose
    hurts: Prose | None = Field(default=None, description="what injures people here")
    breaks: Prose | None = Field(default=None, description="what spoils the part")
    keep: Prose | None = Field(default=None, description="what rules or the car's own functions may want kept")
    tools: tuple[Line, ...] = ()
    fasteners: tuple[Fasteners, ...] = ()
    hazards: tuple[Id, ...] = ()
    mentions: dict[Id, Sentence] = Field(
        default_factory=dict,
        description="hazards the words speak of, or the pack has, that this step does not meet; why not",
    )
    needs: tuple[Reference, ...] = Field(default=(), description="steps that must be done first")
    after: tuple[Reference, ...] = Field(default=(), description="steps that come first but may be kept or skipped")
    elsewhere: Sentence | None = Field(
        default=None,
        description="why nobody is at the car: the step meets no hazard of its pack or of every step, only its own",
    )
    has: tuple[Id, ...] = Field(default=(), description="features the car must have; unknown counts as fitted")
    has_any: tuple[Id, ...] = Field(default=(), description="features of which the car must have at least one")
    parts: tuple[Part, ...] = ()
    minutes: Range
    people: Annotated[int, Field(ge=1, le=6)] = 1
    causes: tuple[Event, ...] = Field(
        default=(), description="what finishing it does to gates, besides what its hazards do"
    )
    keep_rule: Id | None = Field(default=None, description="the rule question that decides whether this stays")
    defer_until: Id | None = Field(default=None, description="the milestone this waits for")

    @property
    def bagged(self) -> tuple[Fasteners, ...]:
        """The fasteners that go into the step's bag."""
        return tuple(fasteners for fasteners in self.fasteners if fasteners.fate == "bag")

    @property
    def discarded(self) -> tuple[Fasteners, ...]:
        """The fasteners that are used once and thrown away."""
        return tuple(fasteners for fasteners in self.fasteners if fasteners.fate == "discard")

    @property
    def refits(self) -> tuple[Fasteners, ...]:
        """The fasteners that must be in their places before the step is done."""
        return tuple(fasteners for fasteners in self.fasteners if fasteners.fate == "refit")


class Pack(Model):
    """One area of the car, in working order."""

    id: Id
    title: Line
    why: Prose
    follows: tuple[Id, ...] = ()
    has: tuple[Id, ...] = ()
    hazards: tuple[Id, ...] = Field(
        default=(), description="hazards that every step meets besides its own, unless its mentions say why not"
    )
    steps: Annotated[tuple[Step, ...], Field(min_length=1)]

    def hazards_of(self, step: Step, everywhere: tuple[Id, ...] = ()) -> tuple[Id, ...]:
        """The hazards a step meets: its own, then those of the whole pack and of every step, unless it is done
        elsewhere or its mentions say why not."""
        shared = () if step.elsewhere else self.hazards + everywhere
        own = step.hazards
        return own + tuple(name for name in shared if name not in own and name not in step.mentions)


class Hazard(Model):
    """What can hurt, written as a warning: signal word, hazard, consequence, avoidance, what to wear."""

    id: Id
    signal: SignalWord
    title: Line
    happens: Sentence
    avoid: Sentence
    wear: tuple[Line, ...] = ()
    gates: tuple[Id, ...] = ()
    everywhere: bool = Field(default=False, description="whether every step of every pack meets it at the car")
    until: Id | None = Field(
        default=None,
        description="once such a step is done, this gate shuts every other step at the car until it has been made anew",
    )
    causes: tuple[Event, ...] = Field(default=(), description="what finishing such a step does to gates")
    undone_causes: tuple[Event, ...] = Field(default=(), description="what taking such a step back does to gates")
    source: Sentence


def greatest_first(hazards: Iterable[Hazard]) -> list[Hazard]:
    """The greatest hazard is told first: ANSI Z535.4-2007 s. 4.14."""
    return sorted(hazards, key=lambda hazard: get_args(SignalWord).index(hazard.signal))


class _Gate(Model):
    id: Id
    title: Line
    why: Sentence
    follows: tuple[Id, ...] = Field(default=(), description="gates that must stand first; their lapse lapses this one")
    lapses: tuple[Event, ...] = ()
    pause_min: Annotated[float, Field(ge=1)] | None = Field(
        default=None, description="lapses when longer than this passes without an entry"
    )
    each_step: bool = Field(default=False, description="one step uses it up")
    has: tuple[Id, ...] = Field(default=(), description="stands by itself when the car has none of this")
    source: Sentence


class TicksGate(_Gate):
    """Stands when every statement has been ticked, in its order."""

    kind: Literal["ticks"]
    ticks: Annotated[tuple[Sentence, ...], Field(min_length=1, max_length=20)]
    counts_modules: bool = Field(
        default=False,
        description="live modules are counted here: shut while one is off and not stored; after module-moved it shuts "
        "the counts, and every step at the car, until it has been made anew",
    )


class WaitGate(_Gate):
    """Stands when the gate it follows has stood, unbroken, for the minutes it asks."""

    kind: Literal["wait"]
    unknown_min: Annotated[float, Field(gt=0)] = Field(description="minutes when the manual's figure is not known")
    floor_min: Annotated[float, Field(gt=0)] = Field(description="minutes it never goes under")


LEAST_BELIEVED = {"carbon_dioxide_ppm": 300.0, "voltage_v": 0.0}
"""No air on earth reads less carbon dioxide: a meter that does is off or broken (this project's policy)."""


class Level(Model):
    """From this reading on: what to do, and the reading that must be reached before work goes on."""

    at: float
    do: Sentence
    back_below: float
    hold_min: Annotated[float, Field(ge=0)] = 0.0


class ReadingGate(_Gate):
    """Stands when a number read from an instrument is below a limit and fresh."""

    kind: Literal["reading"]
    reads: Line
    quantity: Literal["carbon_dioxide_ppm", "voltage_v"]
    below: float
    full_scale: float | None = Field(default=None, description="the instrument must read at least this far")
    fresh_min: Annotated[float, Field(gt=0)] | None = Field(default=None, description="older readings count as none")
    levels: tuple[Level, ...] = ()


class FigureGate(_Gate):
    """Stands when a calculation on this car's facts says so."""

    kind: Literal["figure"]
    figure: Literal["dry-ice-air"]


class PeopleGate(_Gate):
    """Stands when enough people are present."""

    kind: Literal["people"]
    people: Annotated[int, Field(ge=2, le=6)]


class StopGate(_Gate):
    """Never opened by this program: ticked with who did it and their paper."""

    kind: Literal["stop"]
    look_for: Sentence
    call: Sentence
    paper: Sentence


class CountGate(_Gate):
    """Stands when every live module the car may carry is off and stored, or listed by name as still fitted."""

    kind: Literal["count"]
    allows_fitted: bool = Field(description="whether modules listed as still fitted and plugged count as accounted for")
    allows_outside: bool = Field(default=False, description="whether those do that sit outside the cabin")


class BackGate(_Gate):
    """Stands when every part taken out only for now is back in, or posted as removed. It keeps no record of its own."""

    kind: Literal["back"]


Gate = Annotated[
    TicksGate | WaitGate | ReadingGate | FigureGate | PeopleGate | StopGate | CountGate | BackGate,
    Field(discriminator="kind"),
]


class Feature(Model):
    """Something a car may have. The owner answers yes or no; no answer counts as fitted."""

    id: Id
    asks: Sentence
    look_for: Sentence | None = None
    fuel: FuelKind | None = Field(default=None, description="the fuel in car.toml that answers it with yes")
    only_if: Id | None = Field(default=None, description="an earlier feature; where its answer is no, so is this one's")
    source_of_power: bool = Field(
        default=False,
        description="what was confirmed of every source while it was ruled out counts only as long as it is",
    )


class Module(Model):
    """A live pyrotechnic module a car may carry."""

    id: Id
    name: Line
    where: Line
    has: tuple[Id, ...] = ()
    outside: bool = Field(default=False, description="outside the cabin, on most cars")
    inside_with: tuple[Id, ...] = Field(default=(), description="features of cars where it is inside all the same")


class Rule(Model):
    """A question only the rule book (or the cage builder) can answer."""

    id: Id
    asks: Sentence


class Milestone(Model):
    """Something that has happened to the car, once its step is done, that deferred steps wait for."""

    id: Id
    title: Line
    step: Reference


class Word(Model):
    """A British word and its American pair."""

    british: Line
    american: Line


class Shared(Model):
    """What packs have in common."""

    hazards: tuple[Hazard, ...] = ()
    gates: tuple[Gate, ...] = ()
    features: tuple[Feature, ...] = ()
    modules: tuple[Module, ...] = ()
    rules: tuple[Rule, ...] = ()
    milestones: tuple[Milestone, ...] = ()
    words: tuple[Word, ...] = ()
