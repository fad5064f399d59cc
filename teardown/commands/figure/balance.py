"""`teardown figure balance`: the weight on the wheels, and what parts do to it."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from teardown import units
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.flags import quantities, typed
from teardown.figures import balance

_PART_EXAMPLE = "29.5kg@1.4m,-0.36m or 29.5kg@1.4m,-0.36m,0.5m"


def part(text: str) -> balance.Part:
    """Read mass@x,y or mass@x,y,z."""
    mass, at, place = text.partition("@")
    if not at:
        raise units.UnitError(
            f"{text[:40]} has no place: write mass@behind-the-front-axle,right, such as {_PART_EXAMPLE}."
        )
    where_m = units.parse_list(place, "position")
    if len(where_m) not in (2, 3):
        raise units.UnitError(
            f"{text[:40]} has {len(where_m)} of the 2 or 3 lengths of a place: write {_PART_EXAMPLE}."
        )
    return balance.Part(units.mass_kg(mass), *where_m)


def add_flags(parser: argparse.ArgumentParser) -> None:
    """The four corners, the car's size, and the parts."""
    parser.add_argument(
        "--corners",
        type=quantities("mass", count=4),
        required=True,
        help="front left, front right, rear left, rear right, such as 334,331,266,262kg",
    )
    parser.add_argument("--wheelbase", type=typed(units.length_m), required=True, help="such as 2.60m")
    parser.add_argument("--track", type=typed(units.length_m), required=True, help="in front, such as 1.50m")
    parser.add_argument("--track-rear", type=typed(units.length_m), help="if it differs")
    parser.add_argument("--height", type=typed(units.length_m), help="of the centre of gravity now, such as 0.55m")
    place = "mass@x,y[,z]: behind the front axle, right of the middle, above the ground"
    for flag in ("--take", "--add"):
        parser.add_argument(flag, type=typed(part), nargs="+", action="extend", default=[], metavar="PART", help=place)


def answer(given: argparse.Namespace) -> Answer:
    """Before and after, side by side."""
    found = balance.balance(
        given.corners,
        given.wheelbase,
        given.track,
        track_rear_m=given.track_rear,
        height_m=given.height,
        take=given.take,
        add=given.add,
    )
    before, after = found.before, found.after
    changed = bool(given.take or given.add)
    return Answer(
        facts=before._asdict() | {"after": after._asdict()},
        headline=_headline(after if changed else before, changed),
        rows=_rows(before, after if changed else None),
        picture=_picture(before, after if changed else None),
        assumes=_assumes(given, changed),
        source="moments; centre of gravity as in R. N. Jazar, Vehicle Dynamics, example 40.",
    )


def _headline(stance: balance.Stance, changed: bool) -> str:
    return (
        f"{units.show_mass(stance.total_kg)}, {stance.front_percent:.1f} % front, {stance.left_percent:.1f} % left"
        + (" after the change." if changed else ".")
    )


def _rows(before: balance.Stance, after: balance.Stance | None) -> list[Row]:
    shown: list[tuple[str, Callable[[balance.Stance], str]]] = [
        ("total", lambda s: units.show_mass(s.total_kg)),
        ("front", lambda s: f"{s.front_percent:.2f} %"),
        ("left", lambda s: f"{s.left_percent:.2f} %"),
        ("cross (front right and rear left)", lambda s: f"{s.cross_percent:.2f} %"),
        ("centre behind the front axle", lambda s: units.show_length(s.x_m, places=3)),
        ("centre right of the middle", lambda s: units.show_length(s.y_m, places=3)),
        (
            "height of the centre",
            lambda s: "not given" if s.height_m is None else units.show_length(s.height_m, places=3),
        ),
    ]
    return [Row(label, show(before), f"after: {show(after)}" if after else "") for label, show in shown]


def _picture(before: balance.Stance, after: balance.Stance | None) -> list[str]:
    """The car from above, nose up."""
    stances = [before] if after is None else [before, after]
    titles = ["before", "after"] if after else [""]

    def pair(left: int) -> str:
        return "  ".join(f"  {s.corners_kg[left]:7.1f} | {s.corners_kg[left + 1]:7.1f}" for s in stances)

    title = "  ".join(f"  {name:^17}" for name in titles)
    line = "  ".join("  --------+--------" for _ in stances)
    return [*([title] if after else []), pair(0), line, pair(2)]


def _assumes(given: argparse.Namespace, changed: bool) -> list[str]:
    lines = []
    if changed:
        lines.append(
            "Total, axles and, with equal tracks, sides are exact by moments. How the change splits across the diagonal"
            " is not: each axle is assumed to take a part's sideways moment in the share in which it takes its weight."
        )
    if changed and given.height is not None and any(p.z_m is None for p in [*given.take, *given.add]):
        lines.append("The height after is not known, because a part has no height.")
    lines.append("Holds for a level car on level pads, suspension free, the same driver or none, fuel as noted.")
    return lines
