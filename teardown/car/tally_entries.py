"""Entries of the tally: what parts and the car weighed, what was asked, paid and sold, and what proves it."""

import re
from collections.abc import Mapping
from statistics import fmean, stdev
from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from teardown import units
from teardown.car.amounts import amount
from teardown.car.facts import CostKind
from teardown.car.fields import Fields, MassText, Name, Prose, Why, checked, listed_parts
from teardown.packs.model import ID_PATTERN, SIDE_PATTERN, FuelKind, Id, PartFate, Reference

FUEL_U = "2L"
"""How well a fuel level is known when nobody said (common practice)."""

_READINGS = ("reading", "without")
_ON_THE_SCALES = ("total", "corners", "front_left", "front_right", "rear_left", "rear_right", "step")
_ABOARD = ("fuel", "fuel_u", "driver", "contents")
_ONE_ID = ID_PATTERN.removeprefix("^").removesuffix("$")
PartList = Annotated[str, StringConstraints(max_length=2000, pattern=rf"^{_ONE_ID}(,\s*{_ONE_ID})*$")]
AmountText = Annotated[str, StringConstraints(max_length=20), checked(amount)]
VolumeText = Annotated[str, StringConstraints(max_length=40), checked(units.volume_m3)]
SizeText = Annotated[str, StringConstraints(max_length=40), checked(units.size_m)]
TimesText = Annotated[str, StringConstraints(max_length=200), checked(units.durations_s)]
TotalsText = Annotated[str, StringConstraints(max_length=200), checked(lambda text: _totals_kg(text))]
CornersText = Annotated[str, StringConstraints(max_length=400), checked(lambda text: _corner_sets_kg(text))]


def _totals_kg(text: str) -> list[float]:
    return units.parse_list(text, "mass") if ";" in text else [units.mass_kg(text)]


def _corner_sets_kg(text: str) -> list[list[float]]:
    sets = [units.parse_list(one, "mass", count=4) for one in text.split("/")]
    if any(len(one) != 4 for one in sets):
        raise ValueError("four corners: front left, front right, rear left, rear right")
    return sets


class Noted(Fields):
    """How a part was as it was weighed."""

    wet: bool = False
    complete: bool = Field(default=False, description="weighed with what belongs to it still on it")


class PartWeighed(Noted):
    """What the scale showed. `without` is the reading without the part, and makes it a difference; an estimate takes no
    reading: it is the pack's likely mass for this car."""

    in_si: ClassVar[tuple[str, ...]] = ("mass_kg",)
    on_parts_scale: ClassVar[tuple[str, ...]] = _READINGS
    part: Id
    reading: MassText | None = None
    how: Literal["direct", "difference", "estimate"] | None = None
    without: MassText | None = None

    @property
    def mass_kg(self) -> float | None:
        return None if self.reading is None else _less(self.reading, self.without)


class PartsWeighed(Noted):
    """Several parts on one reading. Alike parts share it evenly, others by the packs' masses."""

    in_si: ClassVar[tuple[str, ...]] = ("mass_kg",)
    on_parts_scale: ClassVar[tuple[str, ...]] = _READINGS
    parts: PartList
    reading: MassText
    without: MassText | None = Field(default=None, description="the box or the person alone")

    @property
    def mass_kg(self) -> float:
        return _less(self.reading, self.without)


class Placed(Fields):
    """Where on the car something is, if that is known: as a pack's place."""

    x: Annotated[float, Field(ge=-1.0, le=2.5, description="share of the wheelbase behind the front axle")] | None = (
        None
    )
    y: Annotated[str, StringConstraints(pattern=SIDE_PATTERN)] | None = Field(
        default=None, description="share of the track, right positive; D0.24 the driver's side, P0.24 the passenger's"
    )
    z: Annotated[float, Field(ge=0.0, le=3.0, description="metres above ground")] | None = None


class PartFound(Noted, Placed):
    """A part no pack foresaw, or a lot of small things, weighed as it came off."""

    in_si: ClassVar[tuple[str, ...]] = ("mass_kg",)
    on_parts_scale: ClassVar[tuple[str, ...]] = _READINGS
    name: Name
    reading: MassText
    without: MassText | None = Field(default=None, description="the empty box")
    count: Annotated[int, Field(ge=1, le=10_000)] = 1
    fate: PartFate | None = None
    counts: Literal["saving", "fluid", "contents"] = Field(
        default="saving", description="a kilo off the car, or a fluid, or something that only lay in it"
    )

    @property
    def mass_kg(self) -> float:
        return _less(self.reading, self.without)


class PartFitted(Placed):
    """Something that goes on: seat, small battery, panel, cage, fire system."""

    in_si: ClassVar[tuple[str, ...]] = ("mass_kg",)
    on_parts_scale: ClassVar[tuple[str, ...]] = _READINGS
    name: Name
    reading: MassText
    without: MassText | None = None

    @property
    def mass_kg(self) -> float:
        return _less(self.reading, self.without)


class PartFateSet(Fields):
    part: Id
    fate: PartFate
    rule: Name | None = Field(default=None, description="the local rule that allows selling a live module")


class CarWeighed(Fields):
    """The car on its four pads or in total, and how it stood there. Repeated readings are averaged: `total` parted by
    semicolons, sets of `corners` parted by slashes."""

    in_si: ClassVar[tuple[str, ...]] = (
        "total_kg",
        "corners_kg",
        "readings",
        "spread_kg",
        "repeat_kg",
        "fuel_m3",
        "fuel_u_m3",
        "aboard_kg",
        "contents_kg",
        "step_kg",
    )
    only_in_si: ClassVar[frozenset[str]] = frozenset((*_ON_THE_SCALES, *_ABOARD))
    total: TotalsText | None = None
    corners: CornersText | None = Field(default=None, description="front left, front right, rear left, rear right")
    front_left: MassText | None = None
    front_right: MassText | None = None
    rear_left: MassText | None = None
    rear_right: MassText | None = None
    fuel: VolumeText | None = None
    fuel_u: VolumeText = FUEL_U
    fuel_kind: FuelKind | None = Field(default=None, description="else the fuel in car.toml, or petrol")
    driver: MassText | None = Field(default=None, description="the driver, or ballast, aboard")
    contents: MassText | None = Field(default=None, description="what lay in the car and is no part of it")
    tyres: Name | None = None
    way: Literal["pads", "weighbridge"] = "pads"
    step: MassText | None = Field(default=None, description="the smallest step these scales show")
    conditions: Prose | None = None

    @property
    def pads(self) -> tuple[str | None, ...]:
        return self.front_left, self.front_right, self.rear_left, self.rear_right

    @property
    def sets_kg(self) -> list[list[float]]:
        """The four corners, as often as they were read."""
        if self.corners:
            return _corner_sets_kg(self.corners)
        return [[units.mass_kg(pad or "0kg") for pad in self.pads]] if any(self.pads) else []

    @property
    def totals_kg(self) -> list[float]:
        """The car in all, as often as it was read."""
        return _totals_kg(self.total) if self.total else [sum(one) for one in self.sets_kg]

    @property
    def unit(self) -> str:
        """The unit of the scales, as it was typed last."""
        typed = re.split(r"[;,/]", self.total or self.corners or self.rear_right or "0kg")[-1]
        return units.unit_typed(typed, "mass")

    @property
    def corners_kg(self) -> list[float] | None:
        return [fmean(corner) for corner in zip(*self.sets_kg, strict=True)] or None

    @property
    def total_kg(self) -> float:
        return fmean(self.totals_kg)

    @property
    def readings(self) -> int:
        return len(self.totals_kg)

    @property
    def spread_kg(self) -> float | None:
        return max(self.totals_kg) - min(self.totals_kg) if self.readings > 1 else None

    @property
    def repeat_kg(self) -> float | None:
        """The standard deviation of the readings."""
        return stdev(self.totals_kg) if self.readings > 1 else None

    @property
    def fuel_m3(self) -> float | None:
        return units.volume_m3(self.fuel) if self.fuel else None

    @property
    def fuel_u_m3(self) -> float | None:
        return units.volume_m3(self.fuel_u) if self.fuel else None

    @property
    def aboard_kg(self) -> float | None:
        return units.mass_kg(self.driver) if self.driver else None

    @property
    def contents_kg(self) -> float | None:
        return units.mass_kg(self.contents) if self.contents else None

    @property
    def step_kg(self) -> float | None:
        return units.mass_kg(self.step) if self.step else None


class Cost(Fields):
    """Money put in. What the car itself cost is of the kind `purchase`, or `paid` in car.toml."""

    amount: AmountText
    what: Name
    of: CostKind = "other"
    receipt: Name | None = None


class Lot(Fields):
    """A part, or several that go together for one price: `along` names what goes with it."""

    part: Id
    along: PartList | None = None

    @property
    def parts(self) -> tuple[str, ...]:
        return (self.part, *listed_parts(self.along))


class Listed(Lot):
    """A part or a lot offered for sale: what is asked for all of it, the floor, and the facts buyers ask for."""

    ask: AmountText
    floor: AmountText | None = None
    where: Name | None = None
    grade: Literal["A", "B", "C"] | None = Field(default=None, description="A unmarked, B usable marks, C for repair")
    fits: Name | None = None
    number: Name | None = Field(default=None, description="the part number on its label")
    colour: Name | None = None
    faults: Name | None = None
    tested: Name | None = None
    included: Name | None = None
    size: SizeText | None = Field(default=None, description="packed: length x width x height")
    collection: bool = False


class Sold(Lot):
    """Money in hand for a part or a lot."""

    amount: AmountText
    fees: AmountText = "0"
    packing: AmountText = "0"
    carriage: AmountText = "0"
    to: Name | None = None


class Refunded(Fields):
    """Money given back to a buyer; with `returned` the part is unsold again."""

    part: Id
    amount: AmountText
    why: Why
    returned: bool = False


class ScrapTicket(Fields):
    """What the scrap yard weighed and paid. `parts` names what went; else all that is to be scrapped of `material`."""

    in_si: ClassVar[tuple[str, ...]] = ("mass_kg",)
    reading: MassText
    amount: AmountText
    material: Name | None = None
    parts: PartList | None = None
    ticket: Name | None = None

    @property
    def mass_kg(self) -> float:
        return units.mass_kg(self.reading)


class HandedOver(Fields):
    """A controlled part, a fluid or a battery left the place: who took it, and their paper."""

    part: Id
    to: Name
    paper: Name | None = None


class RunTimed(Fields):
    """Timed runs of one kind, in the conditions they were made in."""

    in_si: ClassVar[tuple[str, ...]] = ("times_s",)
    what: Name
    times: TimesText
    conditions: Prose | None = None

    @property
    def times_s(self) -> list[float]:
        return units.durations_s(self.times)


class Photo(Fields):
    """A picture, copied into the folder by what is in it. `file` is the path typed; the copy's name is kept."""

    file: Annotated[str, StringConstraints(min_length=1, max_length=4000)]
    part: Id | None = None
    step: Reference | None = None
    says: Name | None = None


def _less(reading: str, without: str | None) -> float:
    return units.mass_kg(reading) - (units.mass_kg(without) if without else 0.0)


TALLY_KINDS: Mapping[str, type[Fields]] = {
    "part-weighed": PartWeighed,
    "parts-weighed": PartsWeighed,
    "part-found": PartFound,
    "part-fate": PartFateSet,
    "part-fitted": PartFitted,
    "car-weighed": CarWeighed,
    "cost": Cost,
    "listed": Listed,
    "sold": Sold,
    "refunded": Refunded,
    "scrap-ticket": ScrapTicket,
    "handed-over": HandedOver,
    "run-timed": RunTimed,
    "photo": Photo,
}
