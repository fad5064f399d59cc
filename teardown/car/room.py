"""May this much dry ice be laid where the car stands? The calculation of the dry-ice gate, with its working shown."""

from __future__ import annotations

from typing import NamedTuple

from teardown.car.facts import CABIN_M3, Room
from teardown.figures.air import (
    AT_ANY_TIME_LIMIT_PPM,
    EIGHT_HOUR_LIMIT_PPM,
    QUARTER_HOUR_LIMIT_PPM,
    AirResult,
    dry_ice_air,
)
from teardown.figures.errors import FigureError

MIXING = 3.0
"""How many times more air than perfect mixing needs, in a cabin or a workshop (this project's policy)."""


class Space(NamedTuple):
    """Somewhere the gas can gather: its air and how often that is changed."""

    name: str
    volume_m3: float
    air_changes_per_h: float


class Verdict(NamedTuple):
    """Whether the figure lets the gate stand, why, and how the figure came about, line by line."""

    stands: bool
    why: str
    working: tuple[str, ...]


def judge_room(room: Room, ice_kg: float, over_min: float) -> Verdict:
    """Every space the gas can gather in must stay below the limits; an unknown room is a room that fails."""
    spaces = spaces_of(room)
    if isinstance(spaces, str):
        return Verdict(False, spaces, ())
    try:
        results = [
            (space, dry_ice_air(ice_kg, space.volume_m3, space.air_changes_per_h, over_min / 60.0, MIXING))
            for space in spaces
        ]
    except FigureError as error:
        return Verdict(False, str(error), ())
    working = tuple(line for space, air in results for line in _working(space, air, ice_kg, over_min))
    worst_space, worst = max(results, key=lambda pair: pair[1].peak_ppm)
    if worst.verdict == "go":
        return Verdict(True, f"at most {worst.peak_ppm:,.0f} ppm in the {worst_space.name}", working)
    return Verdict(False, _refusal(worst_space, worst, ice_kg), working)


def spaces_of(room: Room) -> tuple[Space, ...] | str:
    """The spaces to count with, or what car.toml must say first."""
    if room.place is None:
        return 'car.toml [room] does not say where the car stands: place = "outdoors" or "indoors"'
    if room.fan is None:
        return 'car.toml [room] does not say what the fan moves through the cabin: fan = "2400m3/h"'
    cabin_m3 = room.cabin if isinstance(room.cabin, float) else CABIN_M3
    cabin = Space("cabin", cabin_m3, room.fan / cabin_m3)
    if room.place == "outdoors":
        return (cabin,)
    if room.volume_m3 is None:
        return 'car.toml [room] does not say how large the room is: size = "6x6x2.4m"'
    if room.air_changes_per_hour is None:
        return "car.toml [room] does not say how often its air is changed: air_changes_per_hour = 2"
    return cabin, Space("room", room.volume_m3, room.air_changes_per_hour)


def _working(space: Space, air: AirResult, ice_kg: float, over_min: float) -> list[str]:
    airflow_m3_per_h = space.volume_m3 * space.air_changes_per_h
    return [
        f"{ice_kg:.1f} kg of ice makes {air.gas_m3:.1f} m3 of gas in {over_min:.0f} min",
        f"{space.name}: {space.volume_m3:.1f} m3, {airflow_m3_per_h:,.0f} m3/h of air, a third of it counted (mixing)",
        f"{space.name}: {air.peak_ppm:,.0f} ppm at most (limit {EIGHT_HOUR_LIMIT_PPM:,.0f}), "
        f"{air.worst_15min_ppm:,.0f} over 15 min (limit {QUARTER_HOUR_LIMIT_PPM:,.0f})",
    ]


def _refusal(space: Space, air: AirResult, ice_kg: float) -> str:
    limit = AT_ANY_TIME_LIMIT_PPM if air.verdict == "stop" else EIGHT_HOUR_LIMIT_PPM
    return (
        f"{ice_kg:.1f} kg would bring the {space.name} to {air.peak_ppm:,.0f} ppm (limit {limit:,.0f}): "
        f"lay at most {air.ice_limit_kg:.1f} kg, or move {air.airflow_needed_m3_per_h:,.0f} m3/h of air"
    )
