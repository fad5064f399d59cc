"""May this much dry ice be laid where the car stands? The calculation of the dry-ice gate, with its working shown."""

from collections.abc import Sequence
from math import ceil, floor, isfinite
from typing import NamedTuple

from teardown.car.facts import Room
from teardown.car.ice import Batch, Ice
from teardown.figures.air import (
    AT_ANY_TIME_LIMIT_PPM,
    EIGHT_HOUR_LIMIT_PPM,
    OUTDOOR_PPM,
    QUARTER_HOUR_LIMIT_PPM,
    AirResult,
    dry_ice_air,
    dry_ice_air_indoors,
    ppm_at,
)
from teardown.figures.errors import FigureError

MIXING = 3.0
"""How many times more air than perfect mixing needs, in a cabin or a workshop (this project's policy)."""

RELEASE_MIN = 45.0
"""Over how long a batch on bare steel goes off, unless a shorter time is said: what the trade counts with (common
practice). The same gas in less time is more in the air, so no longer one is believed (this project's policy)."""

SHORTEST_RELEASE_MIN = 5.0
"""A shorter time is a slip: ice lies 8 to 15 min before a pad cracks (common practice; the limit is this project's
policy)."""


LONGEST_AFTERMATH_H = 1000.0
"""By then nothing is left anywhere, and the formula goes no further."""

_VERDICTS = ("go", "ventilate", "stop")


class Space(NamedTuple):
    """Somewhere the gas can gather: its air, how often that is changed, and with what."""

    name: str
    volume_m3: float
    air_changes_per_h: float
    drawing: str

    @property
    def airflow_m3_per_h(self) -> float:
        return self.volume_m3 * self.air_changes_per_h


class Verdict(NamedTuple):
    """Whether the figure lets the gate stand, why, and how the figure came about, line by line."""

    stands: bool
    why: str
    working: tuple[str, ...]


class _Counted(NamedTuple):
    """What each space comes to, and the ice that none of them is too small for."""

    airs: tuple[tuple[Space, AirResult], ...]
    limit_kg: float


def judge_room(
    room: Room, ice_kg: float, over_min: float, start_ppm: float = OUTDOOR_PPM, lying_kg: float = 0.0
) -> Verdict:
    """Every space the gas can gather in must stay below the limits; an unknown room is a room that fails. What lies
    there already goes off together with what is about to be laid."""
    spaces = spaces_of(room)
    if isinstance(spaces, str):
        return Verdict(False, spaces, ())
    try:
        counted = _count(spaces, ice_kg + lying_kg, over_min, start_ppm)
    except FigureError as error:
        return Verdict(False, str(error), ())
    ice = f"{ice_kg:.1f} kg of ice" + (f" and the {lying_kg:.1f} kg laid before" if lying_kg else "")
    working = (
        f"{ice} {'make' if lying_kg else 'makes'} {counted.airs[0][1].gas_m3:.1f} m3 of gas in {over_min:.0f} min",
        *(line for space, air in counted.airs for line in _working(space, air)),
        *((f"the air is at {start_ppm:,.0f} ppm before",) if start_ppm > OUTDOOR_PPM else ()),
    )
    space, air = max(counted.airs, key=lambda pair: _VERDICTS.index(pair[1].verdict))
    if air.verdict == "go":
        space, air = counted.airs[-1]
        return Verdict(True, f"at most {air.peak_ppm:,.0f} ppm in the {space.name}", working)
    crossed = f"{ice} would bring the {space.name} to {_crossed(air)}"
    return Verdict(False, f"{crossed}: {_advice(space, air, counted.limit_kg, lying_kg)}", working)


def spaces_of(room: Room) -> tuple[Space, ...] | str:
    """The spaces to count with, the outer one first, or what car.toml must say first."""
    if room.place is None:
        return 'car.toml [room] does not say where the car stands: place = "outdoors" or "indoors"'
    if room.fan is None:
        return 'car.toml [room] does not say what the fan moves through the cabin: fan = "2400m3/h"'
    cabin_m3 = room.cabin
    if room.place == "outdoors":
        return (Space("cabin", cabin_m3, room.fan / cabin_m3, "of air"),)
    if room.volume_m3 is None:
        return 'car.toml [room] does not say how large the room is: size = "6x6x2.4m"'
    if room.air_changes_per_hour is None:
        return "car.toml [room] does not say how often its air is changed: air_changes_per_hour = 2"
    return (
        Space("room", room.volume_m3, room.air_changes_per_hour, "of air"),
        Space("cabin", cabin_m3, room.fan / cabin_m3, "of the room's air"),
    )


def _count(spaces: tuple[Space, ...], ice_kg: float, over_min: float, start_ppm: float) -> _Counted:
    """Outdoors the cabin's fan draws clean air; indoors it draws the air of the room, gas and all."""
    cabin, release_h = spaces[-1], over_min / 60.0
    if len(spaces) == 1:
        air = dry_ice_air(ice_kg, cabin.volume_m3, cabin.air_changes_per_h, release_h, MIXING, start_ppm)
        return _Counted(((cabin, air),), air.ice_limit_kg)
    room = spaces[0]
    both = dry_ice_air_indoors(ice_kg, *cabin[1:3], *room[1:3], release_h, MIXING, start_ppm)
    return _Counted(((room, both.room), (cabin, both.cabin)), both.ice_limit_kg)


def counted_ice(
    room: Room, ice_kg: float, over_min: float, read_ppm: float | None, earlier: Sequence[Batch], again: bool
) -> Ice:
    """A batch as the figure must count it: in the air as it was read lately, or else as earlier batches leave it; and
    together with every batch whose minutes are not over, whole, over the shortest of their times. The air is never
    higher for a batch that goes off more slowly, or has gone off in part.

    Counted `again`, it takes the place of what lies there and does not come on top.
    """
    lying = [batch for batch in earlier if batch.lies and not again]
    return Ice(
        kg=ice_kg,
        over_min=min([over_min, *(batch.over_min for batch in lying)]),
        start_ppm=max(OUTDOOR_PPM, _left_ppm(room, earlier) if read_ppm is None else read_ppm),
        lying_kg=sum((batch.kg for batch in lying), 0.0),
    )


def _left_ppm(room: Room, earlier: Sequence[Batch]) -> float:
    """What earlier batches have put into cabin and room and not lost yet, each by the same formula."""
    spaces = spaces_of(room)
    try:
        return OUTDOOR_PPM + sum(
            _ppm_of(batch, space) - OUTDOOR_PPM for batch in earlier for space in spaces if isinstance(space, Space)
        )
    except FigureError:  # told by the figure itself
        return OUTDOOR_PPM


def _ppm_of(batch: Batch, space: Space) -> float:
    release_h, ran_h = batch.over_min / 60.0, min(batch.ran_min / 60.0, LONGEST_AFTERMATH_H)
    return ppm_at(ran_h, batch.kg, space.volume_m3, space.air_changes_per_h, release_h, MIXING)


def _working(space: Space, air: AirResult) -> list[str]:
    return [
        f"{space.name}: {space.volume_m3:.1f} m3, {space.airflow_m3_per_h:,.0f} m3/h {space.drawing}, "
        "a third of it counted (mixing)",
        f"{space.name}: {air.peak_ppm:,.0f} ppm at most (limit {EIGHT_HOUR_LIMIT_PPM:,.0f}), "
        f"{air.worst_15min_ppm:,.0f} over 15 min (limit {QUARTER_HOUR_LIMIT_PPM:,.0f})",
    ]


def _crossed(air: AirResult) -> str:
    """The reading that is too high, with the limit it crosses and over which time."""
    if air.peak_ppm > AT_ANY_TIME_LIMIT_PPM:
        return f"{air.peak_ppm:,.0f} ppm (limit {AT_ANY_TIME_LIMIT_PPM:,.0f} at any time)"
    if air.worst_15min_ppm > QUARTER_HOUR_LIMIT_PPM:
        return f"{air.worst_15min_ppm:,.0f} ppm over 15 min (limit {QUARTER_HOUR_LIMIT_PPM:,.0f} over 15 min)"
    return f"{air.peak_ppm:,.0f} ppm (limit {EIGHT_HOUR_LIMIT_PPM:,.0f}: the 8-hour limit, held at any time)"


def _advice(space: Space, air: AirResult, limit_kg: float, lying_kg: float) -> str:
    """What to do instead, rounded to the safe side."""
    least_kg = floor((limit_kg - lying_kg) * 10) / 10
    lay = f"lay at most {least_kg:.1f} kg" if least_kg > 0 else "lay none"
    airflow = air.airflow_needed_m3_per_h
    move = f", or move {ceil(airflow):,} m3/h of air through the {space.name}" if isfinite(airflow) else ""
    before = ". The same ice, counted again: same=yes" if lying_kg else ""
    return f"{lay}{move}{before}"
