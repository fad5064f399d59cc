"""car.toml as it is first written: what was said of the car, and every key that was not, as a comment to be opened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

import tomli_w

from teardown.packs.reader import Library


class Key(NamedTuple):
    """One key: how it may be filled in, with its unit, and what it means."""

    name: str
    example: str
    says: str


HEAD = """# Facts about this car. Edit freely; quantities carry their unit. The log beside it is never edited.
# A line behind a # says nothing: take the # away, and put what is so on your car. In the sections at the end the line
# [in brackets] goes before its keys.
"""

TOP = (
    Key("name", '"Tin Kettle"', "what you call it"),
    Key("goal", '"1100kg"', "the weight you have set yourself"),
    Key("kerb", '"1350kg"', "what its papers say it weighs, until it is weighed"),
    Key("size", '"mid-size"', "city, supermini, compact, mid-size, large or van: scales every mass the packs know"),
    Key("fuel", '"petrol"', "petrol, diesel or gas"),
    Key("steering", '"left"', "the side the driver sits on: left or right"),
    Key("wheelbase", '"2.60m"', "between the axles"),
    Key("track_front", '"1.50m"', "between the middles of the front wheels"),
    Key("track_rear", '"1.49m"', "and of the rear ones"),
    Key("height", '"0.55m"', "centre of gravity above ground, as first weighed, without driver and contents"),
    Key("welder_date", "2026-06-20", "the date with the welder"),
    Key("words", '"british"', "british or american"),
    Key("who", '["Ana", "Bo"]', "who works on it; the first is taken where nobody says"),
    Key("private", '["the plate", "the chassis number", "the street"]', "yours: buyers never read them"),
    Key("packs", '"../club-packs"', "a folder of packs of your own, besides the folder packs beside this file"),
)

SECTIONS: dict[str, tuple[Key, ...]] = {
    "room": (
        Key("place", '"indoors"', "indoors or outdoors; the dry-ice figure assumes nothing that is missing here"),
        Key("size", '"6x6x2.4m"', "length x width x height of the room; or volume"),
        Key("volume", '"86m3"', "instead of size"),
        Key("air_changes_per_hour", "2", "of the room's air, 0 to 200"),
        Key("fan", '"2400m3/h"', "what the fan moves through the cabin"),
        Key("cabin", '"3m3"', "air in the cabin; 3 m3 where nothing is said"),
    ),
    "scales.pads": (
        Key("name", '"club pads"', "the pads under the wheels"),
        Key("step", '"0.5kg"', "the smallest step they show"),
        Key("repeats", '"1kg"', "how well they repeat: the standard deviation of repeated readings"),
        Key("unit", '"kg"', "what they show: kg or lb"),
    ),
    "scales.parts": (
        Key("name", '"bench scale"', "the scale for parts"),
        Key("step", '"0.02kg"', "the smallest step it shows"),
        Key("repeats", '"0.05kg"', "how well it repeats"),
        Key("unit", '"kg"', "kg or lb: with this line a bare number read off it is taken"),
    ),
    "scales.person": (
        Key("name", '"bathroom scale"', "the scale a person stands on, with a part and without it"),
        Key("step", '"0.1kg"', "the smallest step it shows"),
        Key("repeats", '"0.2kg"', "how well it repeats"),
        Key("unit", '"kg"', "what it shows: kg or lb"),
    ),
    "money": (
        Key("currency", '"EUR"', "ISO 4217 code; the first amount in the log settles it"),
        Key("paid", '"900.00"', "what the car cost"),
        Key("cap", '"1500.00"', "the most the series lets it cost"),
        Key("cap_rule", '"4.2"', "where its rule book says so"),
        Key(
            "cap_counts",
            '["purchase", "fitting"]',
            "of purchase, removing, waste, fitting, safety, travel, other",
        ),
        Key("cap_sales", '"net"', "how sales count back: not, gross or net"),
        Key("cap_sales_limit", '"500.00"', "the most that sales may count back"),
        Key("fees_percent", "12", "what selling takes; 12 where nothing is said"),
        Key("returns_percent", "5", "how much comes back; 5 where nothing is said"),
        Key("packing", '"3.00"', "a box and what fills it, a parcel"),
        Key("carriage_per_kg", '"1.20"', "sending, a kilo"),
        Key("hour_floor", '"8.00"', "an hour of your own is worth at least this"),
    ),
    "keys": (Key("guard_ms", "350", "a key struck again within so many milliseconds counts once; 150 to 2000"),),
}


def facts_text(facts: Mapping[str, Any], library: Library) -> str:
    """car.toml for `facts`."""
    return (
        "\n".join((HEAD, *_keys(TOP, facts), "", *_fitted(facts, library), "", *_rules(library), *_sections(facts)))
        + "\n"
    )


def _fitted(facts: Mapping[str, Any], library: Library) -> Iterator[str]:
    answers = facts.get("fitted", {})
    yield "# What the car has. What is not answered counts as fitted."
    yield "[fitted]"
    yield from (f"{name} = {str(yes).lower()}" for name, yes in answers.items())
    for feature in library.features.values():
        if feature.id not in answers:
            only = f" (only where {feature.only_if} is true)" if feature.only_if else ""
            yield f"# {feature.id} = true    # {feature.asks}{only}"


def _rules(library: Library) -> Iterator[str]:
    yield "# What the rule book or the cage builder says must stay: a section for each of"
    yield from (f"#   {name}: {rule.asks}" for name, rule in library.rules.items())
    yield "# [rules.NAME]"
    yield "# keep = true"
    yield '# rule = "4.2"    # where it says so'
    yield "# date = 2026-01-31    # when you read it"


def _sections(facts: Mapping[str, Any]) -> Iterator[str]:
    for header, keys in SECTIONS.items():
        given = facts.get(header, {})
        yield ""
        yield f"[{header}]" if given else f"# [{header}]"
        yield from _keys(keys, given)


def _keys(keys: Iterable[Key], given: Mapping[str, Any]) -> Iterator[str]:
    """Each with what was said; behind a # where nothing was."""
    for key in keys:
        if key.name in given:
            yield tomli_w.dumps({key.name: given[key.name]}).rstrip("\n")
        else:
            yield f"# {key.name} = {key.example}    # {key.says}"
