"""What the owner says about the car, in car.toml. Read when the folder is opened, and again when a question about the
car is answered: the program writes there only when a car is set up, and that one answer."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import core_schema

from teardown import units
from teardown.car.amounts import known_currency
from teardown.packs.files import Source, parsed, text_of
from teardown.packs.model import FuelKind, Id, ReadyMade, of_text, plain_line
from teardown.packs.problems import PackError, Problem, WrongFile
from teardown.packs.route import CarShape, KeepAnswer

FACTS = "car.toml"
LARGEST_BYTES = 256 * 1024
SIZE_FACTORS = {"city": 0.65, "supermini": 0.75, "compact": 0.85, "mid-size": 1.0, "large": 1.3, "van": 1.4}
"""Masses of a pack, for cars of other classes than the reference car (common practice)."""

CABIN_M3 = 3.0
"""Air in the cabin of an ordinary car (common practice)."""


class FactsError(WrongFile):
    """car.toml cannot be used."""


def _typed(read: Callable[[str], float], above: float | None = None, least: float | None = None) -> ReadyMade:
    def convert(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError(f"a quantity with its unit, in quotes, instead of {value!r}")
        return read(value)

    return ReadyMade(
        core_schema.no_info_before_validator_function(convert, core_schema.float_schema(gt=above, ge=least))
    )


def _size(value: object) -> object:
    return units.size_m(value) if isinstance(value, str) else value


def _private(value: str) -> str:
    from teardown.car.privacy import private_text  # only for an owner who has written some

    return private_text(value)


Words = Annotated[str, of_text(120, 1, reads=plain_line)]
Kilograms = Annotated[float, _typed(units.mass_kg, above=0)]
Metres = Annotated[float, _typed(units.length_m, above=0)]
CubicMetres = Annotated[float, _typed(units.volume_m3, above=0)]
CubicMetresPerHour = Annotated[float, _typed(units.airflow_m3_per_h, least=0)]
CostKind = Literal["purchase", "removing", "waste", "fitting", "safety", "travel", "other"]
Size = Annotated[tuple[float, float, float], BeforeValidator(_size)]


class Table(BaseModel):
    """Strict: a misspelt key would silently be an unknown."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class RuleAnswer(Table):
    """What the rule book says to one question."""

    keep: bool
    rule: Words
    date: date


class Room(Table):
    """Where the car stands: what the dry-ice figure counts with. Nothing here is assumed when it is missing."""

    place: Literal["indoors", "outdoors"] | None = None
    size: Size | None = None
    volume: CubicMetres | None = None
    air_changes_per_hour: Annotated[float, Field(ge=0, le=200)] | None = None
    fan: CubicMetresPerHour | None = None
    cabin: CubicMetres = Field(default=CABIN_M3, validate_default=False)

    @property
    def volume_m3(self) -> float | None:
        if self.volume is not None or self.size is None:
            return self.volume
        length_m, width_m, height_m = self.size
        return length_m * width_m * height_m


class Scale(Table):
    """One scale: its name, its step, how well it repeats, and the unit it shows."""

    name: Words
    step: Kilograms
    repeats: Kilograms | None = None
    unit: Literal["kg", "lb"] = "kg"


class Scales(Table):
    """The pads under the wheels, the scale for parts, and the one a person stands on with a part and without it."""

    pads: Scale | None = None
    parts: Scale | None = None
    person: Scale | None = None


Percent = Annotated[Decimal, Field(ge=0, le=100, decimal_places=3)]
Coins = Annotated[Decimal, Field(ge=0, decimal_places=3)]


class Money(Table):
    """What the car cost, what the series allows by its own arithmetic, and what selling takes."""

    currency: Annotated[str, AfterValidator(known_currency)] = "EUR"
    paid: Coins | None = None
    cap: Coins | None = None
    cap_rule: Words | None = None
    cap_counts: tuple[CostKind, ...] | None = Field(default=None, description="the costs that count towards the cap")
    cap_sales: Literal["not", "gross", "net"] | None = Field(default=None, description="how sales count back")
    cap_sales_limit: Coins | None = None
    fees_percent: Percent = Field(default=Decimal(12), description="10 to 15 % is common practice")
    returns_percent: Percent = Field(default=Decimal(5), description="common practice")
    packing: Coins | None = Field(default=None, description="a box and what fills it")
    carriage_per_kg: Coins | None = None
    hour_floor: Coins | None = Field(default=None, description="an hour of your own is worth at least this")


class Keys(Table):
    """The glove guard: a key struck again within this time counts once."""

    guard_ms: Annotated[int, Field(ge=150, le=2000)] = 350


class Facts(Table):
    """car.toml."""

    name: Words
    goal: Kilograms | None = None
    kerb: Kilograms | None = Field(default=None, description="what the papers say it weighs, until it is weighed")
    size: Literal["city", "supermini", "compact", "mid-size", "large", "van"] = "mid-size"
    fuel: FuelKind | None = Field(
        default=None, description="what it runs on, and what is in its tank when it is weighed"
    )
    steering: Literal["left", "right"] = "left"
    wheelbase: Metres | None = None
    track_front: Metres | None = None
    track_rear: Metres | None = None
    height: Metres | None = Field(
        default=None, description="centre of gravity above ground, as first weighed, without driver and contents"
    )
    welder_date: date | None = None
    words: Literal["british", "american"] = "british"
    who: tuple[Words, ...] = ()
    private: tuple[Annotated[Words, AfterValidator(_private)], ...] = Field(
        default=(), description="what no buyer may read: the plate, the chassis number, the street"
    )
    packs: Words | None = Field(default=None, description="a folder of packs of one's own, beside `packs`")
    fitted: dict[Id, bool] = Field(default_factory=dict)
    rules: dict[Id, RuleAnswer] = Field(default_factory=dict)
    room: Room = Field(default_factory=Room)
    scales: Scales = Field(default_factory=Scales)
    money: Money = Field(default_factory=Money)
    keys: Keys = Field(default_factory=Keys)

    @property
    def shape(self) -> CarShape:
        """What the route needs to know of this car."""
        answers = {name: KeepAnswer(a.keep, a.rule, a.date.isoformat()) for name, a in self.rules.items()}
        return CarShape(self.fitted, self.steering, SIZE_FACTORS[self.size], answers, self.fuel)

    @property
    def mass_unit(self) -> str:
        """The unit the parts scale shows, and masses are shown in."""
        return self.parts_unit or "kg"

    @property
    def parts_unit(self) -> str | None:
        """The unit of a bare number read off the parts scale, where it is said: what is not said is not guessed."""
        parts = self.scales.parts
        return parts.unit if parts and "unit" in parts.model_fields_set else None


def read_facts(path: Path) -> Facts:
    """car.toml at `path`. Raises FactsError with every problem found, never anything else."""
    return parse_facts(facts_text_at(path), path.name)


def facts_text_at(path: Path) -> str:
    """The text of car.toml at `path`. Raises FactsError."""
    try:
        if path.is_symlink():
            raise FactsError((Problem(path.name, "", "a link", "a file of its own"),))
        return text_of(Source(path, path.name, is_shared=False), LARGEST_BYTES)
    except PackError as error:
        raise FactsError(error.problems) from None
    except OSError as error:  # not even whether it is there
        found = f"no way to read it ({error.strerror})"
        raise FactsError((Problem(path.name, "", found, "a file that can be read"),)) from None


def parse_facts(text: str, file: str = FACTS) -> Facts:
    """The facts in `text`. Raises FactsError with every problem found."""
    try:
        data = parsed(text, file)
        return Facts.model_validate(data)
    except PackError as error:
        raise FactsError(error.problems) from None
    except ValidationError as error:
        from teardown.packs.translate import problems_in  # only for a file with mistakes

        raise FactsError(problems_in(error, data, file, Facts)) from None
