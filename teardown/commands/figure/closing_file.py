"""A file of weighings and items for the closing; every problem in it is reported at once.

shared = "0.5kg"                       # uncertainty common to both weighings
fuel_density = "0.745kg/L"

[opening]
mass = "1350.5kg"
step = "0.5kg"                         # of the scales
repeatability = "1kg"                  # standard deviation of repeated readings
readings = 3
fuel = "40L"
fuel_u = "2L"

[closing]
mass = "1302kg"
step = "20kg"
way = "weighbridge"

[[item]]
name = "driver's seat"
mass = "19.4kg"
step = "0.05kg"

[[item]]
name = "carpet"
way = "estimate"
mass = "8kg"
low = "5kg"
high = "12kg"
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from teardown import units
from teardown.commands.figure.flags import WrongUse
from teardown.figures.closing import Item, Weighing
from teardown.figures.errors import FigureError
from teardown.figures.fuel import PETROL_KG_PER_M3, PETROL_U_KG_PER_M3
from teardown.figures.uncertainty import class_iii_tolerance_kg, combined_u, estimate_u_kg, reading_u_kg

_LARGEST_BYTES = 1_000_000
_READING_KEYS = {"mass", "way", "step", "repeatability", "readings", "u"}
_WEIGHING_KEYS = _READING_KEYS | {"fuel", "fuel_u"}
_ITEM_KEYS = _READING_KEYS | {"name", "low", "high", "fitted"}
_TOP_KEYS = {"opening", "closing", "item", "shared", "fuel_density", "fuel_density_u"}
# how a mass was found: read off a scale, as the difference of two readings (with and without, or gross less tare),
# on a weighbridge, guessed, or given by someone with its uncertainty
_WAYS = ("scale", "difference", "weighbridge", "estimate", "stated")


class Facts(NamedTuple):
    """Everything a closing needs, from a file or from a car folder."""

    opening: Weighing
    closing: Weighing
    items: tuple[Item, ...]
    shared_u_kg: float = 0.0


def read(path: Path) -> Facts:
    """Read the file, or refuse it with every problem found."""
    problems: list[str] = []
    top = _Table(_parsed(path), "", problems)
    top.allow(_TOP_KEYS)
    fuel_kg_per_m3 = top.quantity("fuel_density", "density", PETROL_KG_PER_M3)
    fuel_u_kg_per_m3 = top.quantity(
        "fuel_density_u", "density", PETROL_U_KG_PER_M3 if "fuel_density" not in top.values else 0.0
    )
    opening, closing = (
        _weighing(top.table(name))._replace(fuel_kg_per_m3=fuel_kg_per_m3, fuel_u_kg_per_m3=fuel_u_kg_per_m3)
        for name in ("opening", "closing")
    )
    items = tuple(_item(table) for table in top.tables("item"))
    shared_u_kg = top.quantity("shared", "mass", 0.0)
    if problems:
        raise WrongUse("; ".join(f"{path.name}: {problem}" for problem in problems))
    return Facts(opening, closing, items, shared_u_kg)


def _parsed(path: Path) -> Mapping[str, object]:
    import tomli

    try:
        with path.open("rb") as file:
            content = file.read(_LARGEST_BYTES + 1)
    except OSError as wrong:
        raise WrongUse(f"{path} cannot be read: {wrong.strerror or wrong}.") from None
    if len(content) > _LARGEST_BYTES:
        raise WrongUse(f"{path} is larger than {_LARGEST_BYTES} bytes, the most a closing file may be.")
    try:
        return tomli.loads(content.decode())
    except (tomli.TOMLDecodeError, UnicodeDecodeError, RecursionError) as wrong:
        raise WrongUse(f"{path.name} is not TOML: {wrong}.") from None


class _Table:
    """One table of the file, and the list its problems are written to."""

    def __init__(self, values: Mapping[str, object], at: str, problems: list[str]) -> None:
        self.values, self.at, self.problems = values, at, problems

    def wrong(self, key: str, problem: str) -> None:
        self.problems.append(f"{self.at}{key}: {problem.rstrip('.')}")

    def allow(self, keys: set[str]) -> None:
        from teardown.nearest import did_you_mean

        for key in self.values.keys() - keys:
            self.wrong(key, f"is not a key here{did_you_mean(key, sorted(keys))}")

    def table(self, key: str) -> _Table:
        value = self.values.get(key, {})
        if not isinstance(value, Mapping):
            self.wrong(key, f"must be a table: write [{key}] on a line of its own")
            value = {}
        return _Table(value, f"{self.at}{key}.", self.problems)

    def tables(self, key: str) -> list[_Table]:
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, Mapping) for one in value):
            self.wrong(key, f"must be a list of tables: write [[{key}]] above each")
            return []
        return [_Table(one, f"{key}[{place}].", self.problems) for place, one in enumerate(value)]

    def quantity(self, key: str, quantity: str, default: float | None = None) -> float:
        """A typed quantity; without a default it must be there."""
        value = self.values.get(key)
        if value is None:
            if default is None:
                self.wrong(key, "is missing")
            return default or 0.0
        if not isinstance(value, str):
            self.wrong(key, f'must be written with its unit, in quotes, such as "{units.example(quantity)}"')
            return 0.0
        try:
            return units.parse(value, quantity)
        except units.UnitError as wrong:
            self.wrong(key, str(wrong))
            return 0.0

    def text(self, key: str, default: str | None = None) -> str:
        value = self.values.get(key, default)
        if not isinstance(value, str) or not value.strip():
            self.wrong(key, "must be a text in quotes")
            return ""
        return value

    def count(self, key: str) -> int:
        value = self.values.get(key, 1)
        if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= 1000:
            self.wrong(key, "must be a whole number from 1 to 1000")
            return 1
        return value

    def yes(self, key: str) -> bool:
        value = self.values.get(key, False)
        if not isinstance(value, bool):
            self.wrong(key, "must be true or false")
            return False
        return value


def _weighing(table: _Table) -> Weighing:
    table.allow(_WEIGHING_KEYS)
    mass_kg = table.quantity("mass", "mass")
    fuel_m3 = table.quantity("fuel", "volume") if "fuel" in table.values else None
    return Weighing(mass_kg, _u_kg(table, mass_kg), fuel_m3, table.quantity("fuel_u", "volume", 0.0))


def _item(table: _Table) -> Item:
    table.allow(_ITEM_KEYS)
    mass_kg = table.quantity("mass", "mass")
    estimated = table.values.get("way") == "estimate"
    return Item(table.text("name"), mass_kg, _u_kg(table, mass_kg), table.yes("fitted"), estimated)


def _u_kg(table: _Table, mass_kg: float) -> float:
    """The standard uncertainty of a mass, by the way it was found."""
    way = table.text("way", "scale")
    try:
        if way == "estimate":
            return estimate_u_kg(table.quantity("low", "mass"), table.quantity("high", "mass"))
        if way == "stated":
            return table.quantity("u", "mass")
        if way in _WAYS:
            return _scale_u_kg(table, mass_kg, way)
    except FigureError as wrong:
        table.wrong("way", str(wrong))
        return 0.0
    table.wrong("way", f"must be one of {', '.join(_WAYS)}")
    return 0.0


def _scale_u_kg(table: _Table, mass_kg: float, way: str) -> float:
    step_kg = table.quantity("step", "mass")
    tolerance_kg = class_iii_tolerance_kg(mass_kg, step_kg) if way == "weighbridge" and step_kg > 0 else 0.0
    once_kg = reading_u_kg(step_kg, table.quantity("repeatability", "mass", 0.0), table.count("readings"), tolerance_kg)
    return combined_u(once_kg, once_kg) if way == "difference" else once_kg
