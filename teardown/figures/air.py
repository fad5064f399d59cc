"""What the carbon dioxide will be when dry ice turns to gas in a room.

A calculation is no meter, and an oxygen meter is no carbon dioxide alarm.
"""

from math import exp, expm1, inf
from typing import Literal, NamedTuple

from teardown.figures.errors import FigureError, between

EIGHT_HOUR_LIMIT_PPM = 5_000.0
QUARTER_HOUR_LIMIT_PPM = 15_000.0
AT_ANY_TIME_LIMIT_PPM = 30_000.0
# "a few per cent": from here the gas drives air out of the room and the simple model reads high
READS_HIGH_FROM_PPM = 30_000.0
OUTDOOR_PPM = 420.0
OXYGEN_IN_AIR_PERCENT = 20.95

_PURE_PPM = 1e6
_QUARTER_H = 0.25
_SHIFT_H = 8.0
_MOLAR_MASS_KG = 0.0440095
_GAS_CONSTANT = 8.314462618
_CELSIUS_ZERO_K = 273.15
# keeps an answer that is a limit on its safe side when it is put back in
_HAIR = 1e-9
_HALVINGS = 60

Verdict = Literal["go", "ventilate", "stop"]


class AirResult(NamedTuple):
    """Carbon dioxide from one charge of dry ice; `reads_high` says the simple model overstates it."""

    gas_m3: float
    end_ppm: float
    peak_ppm: float
    worst_15min_ppm: float
    average_8h_ppm: float
    oxygen_percent: float
    airflow_needed_m3_per_h: float
    ice_limit_kg: float
    verdict: Verdict
    reads_high: bool


def gas_density_kg_per_m3(temperature_c: float = 20.0, pressure_hpa: float = 1013.25) -> float:
    """Density of carbon dioxide gas, from the ideal gas corrected by its second virial coefficient.

    Parameters
    ----------
    temperature_c : temperature of the room [C], -40 to 60
    pressure_hpa : air pressure [hPa], 500 to 1100

    Returns the density [kg/m3], within 0.1 % over those limits.

    Refuses values outside the limits.

    Source: B = 137.6 - 87.7 exp(325.7 K / T) cm3/mol, Kaye & Laby, Tables of Physical and Chemical Constants, 16th
    ed. 1995, s. 3.5 (coefficients from memory, not seen; held against CoolProp by a test).

    >>> round(gas_density_kg_per_m3(20.0), 3)
    1.839
    """
    between("the temperature", temperature_c, -40, 60, "C")
    between("the air pressure", pressure_hpa, 500, 1100, "hPa")
    temperature_k = temperature_c + _CELSIUS_ZERO_K
    molar_volume_m3 = _GAS_CONSTANT * temperature_k / (pressure_hpa * 100)
    virial_m3 = (137.6 - 87.7 * exp(325.7 / temperature_k)) * 1e-6
    return _MOLAR_MASS_KG / (molar_volume_m3 + virial_m3)


def dry_ice_air(
    ice_kg: float,
    volume_m3: float,
    air_changes_per_h: float,
    release_h: float,
    mixing: float = 3.0,
    start_ppm: float = OUTDOOR_PPM,
    temperature_c: float = 20.0,
    outdoor_ppm: float = OUTDOOR_PPM,
    pressure_hpa: float = 1013.25,
) -> AirResult:
    """Carbon dioxide in a well-mixed room while dry ice turns to gas in it, and after.

    The whole charge is taken as released evenly over the working time, because ice on bare steel goes far faster than
    in its insulated box; then the room decays to outdoor air. C(t) = Cin + (G/Q')(1 - exp(-Q't/V)) + (C0 - Cin)
    exp(-Q't/V), where Q' = Q/K is the airflow that counts.

    Parameters
    ----------
    ice_kg : dry ice laid [kg], 0 to 1000
    volume_m3 : volume of the room, or of the cabin if the gas stays in it [m3], 0.1 to 100000
    air_changes_per_h : air changes by the real airflow [1/h], 0 to 10000; no air change fills the room
    release_h : working time over which the whole charge is released [h], 1/60 to 8
    mixing : K, how many times more air than perfect mixing needs, 1 to 10; never combined with an efficiency
    start_ppm : carbon dioxide in the room at the start [ppm], 0 to 5000
    temperature_c : temperature of the room [C], -40 to 60
    outdoor_ppm : carbon dioxide in the air that comes in [ppm], 0 to 2000
    pressure_hpa : air pressure [hPa], 500 to 1100

    Returns the gas the ice makes, the carbon dioxide at the end of the release, at its highest, over the worst
    quarter hour and over the first eight hours; the oxygen at the peak; the real airflow that holds the peak at
    5000 ppm, and the ice that keeps the verdict "go" with the air as it is. The verdict is "stop" above 30000 ppm at
    any time or 15000 ppm over a quarter hour, "ventilate" above 5000 ppm at any time.

    Limits of validity: above a few per cent the gas drives air out, the model adds it as if there were room, and
    reads high (`reads_high`); nothing reads above pure gas. Cold gas lies low: near the floor it is worse than mixed.

    Refuses values outside the limits, and a room that is over 5000 ppm before any ice is laid.

    Source: room, ACGIH Industrial Ventilation, dilution of a steady release with mixing factor K (from memory, not
    seen). 5000 ppm, 29 CFR 1910.1000 Table Z-1 (secondary copy); 30000 ppm, ACGIH short-term limit (secondary copy);
    15000 ppm over 15 min, EH40/2005 (secondary copy), the stricter of two. Oxygen of air 20.95 % by volume.

    >>> cabin = dry_ice_air(ice_kg=1.0, volume_m3=3.0, air_changes_per_h=0.0, release_h=1.0)
    >>> round(cabin.gas_m3, 3), round(cabin.peak_ppm), cabin.verdict
    (0.544, 181641, 'stop')
    """
    room = _room(
        ice_kg, volume_m3, air_changes_per_h, release_h, mixing, start_ppm, temperature_c, outdoor_ppm, pressure_hpa
    )
    return _result(room, mixing, temperature_c, pressure_hpa)


class IndoorsResult(NamedTuple):
    """A cabin whose fan draws the air of the room it stands in; `ice_limit_kg` keeps the verdict of both at "go"."""

    cabin: AirResult
    room: AirResult
    ice_limit_kg: float


def dry_ice_air_indoors(
    ice_kg: float,
    cabin_m3: float,
    cabin_changes_per_h: float,
    room_m3: float,
    room_changes_per_h: float,
    release_h: float,
    mixing: float = 3.0,
    start_ppm: float = OUTDOOR_PPM,
    temperature_c: float = 20.0,
    outdoor_ppm: float = OUTDOOR_PPM,
    pressure_hpa: float = 1013.25,
) -> IndoorsResult:
    """Carbon dioxide in a cabin and in the room around it, in series: the cabin is aired with the air of the room.

    First the room, as `dry_ice_air` has it, with all the gas in it. Then the cabin, by the same formula: the air that
    comes in (Cin) is the room's at its highest, all the time. Where cabin and room pass their air to each other, both
    stay below this (held against an integration of the two by a test): gas the cabin still holds is not in the room
    yet, and the room is at its highest only for a while.

    Parameters
    ----------
    ice_kg : dry ice laid in the cabin [kg], 0 to 1000
    cabin_m3 : volume of the cabin [m3], 0.1 to 100000
    cabin_changes_per_h : air changes of the cabin by the fan's real airflow [1/h], 0 to 10000
    room_m3 : volume of the room [m3], 0.1 to 100000
    room_changes_per_h : air changes of the room with outdoor air [1/h], 0 to 10000
    release_h : working time over which the whole charge is released [h], 1/60 to 8
    mixing : K, how many times more air than perfect mixing needs, in both, 1 to 10; never combined with an efficiency
    start_ppm : carbon dioxide in cabin and room at the start [ppm], 0 to 5000
    temperature_c : temperature of both [C], -40 to 60
    outdoor_ppm : carbon dioxide in the air that comes into the room [ppm], 0 to 2000
    pressure_hpa : air pressure [hPa], 500 to 1100

    Returns what `dry_ice_air` returns, for each, and the ice that keeps the verdict of both at "go". The cabin's
    airflow needed is without end where the room's air alone is at 5000 ppm; its own `ice_limit_kg` holds for the room
    as it is with all this ice.

    Limits of validity: as `dry_ice_air`. The cabin's eight-hour average is on the high side: its room never clears.

    Refuses values outside the limits, and spaces that are over 5000 ppm before any ice is laid.

    Source: as `dry_ice_air`.

    >>> garage = dry_ice_air_indoors(0.5, 3.0, 100.0, 57.6, 2.0, release_h=1.0)
    >>> round(garage.room.peak_ppm), round(garage.cabin.peak_ppm), garage.cabin.verdict
    (3864, 6583, 'ventilate')
    """
    facts = (mixing, start_ppm, temperature_c, outdoor_ppm, pressure_hpa)
    room = _room(ice_kg, room_m3, room_changes_per_h, release_h, *facts)
    in_the_room = _result(room, mixing, temperature_c, pressure_hpa)
    cabin = _room(ice_kg, cabin_m3, cabin_changes_per_h, release_h, *facts)._replace(incoming_ppm=in_the_room.peak_ppm)
    density = gas_density_kg_per_m3(temperature_c, pressure_hpa)
    return IndoorsResult(
        cabin=_result(cabin, mixing, temperature_c, pressure_hpa),
        room=in_the_room,
        ice_limit_kg=_gas_limit_m3(cabin, room) * density * (1 - _HAIR),
    )


def ppm_at(
    time_h: float,
    ice_kg: float,
    volume_m3: float,
    air_changes_per_h: float,
    release_h: float,
    mixing: float = 3.0,
    start_ppm: float = OUTDOOR_PPM,
    temperature_c: float = 20.0,
    outdoor_ppm: float = OUTDOOR_PPM,
    pressure_hpa: float = 1013.25,
) -> float:
    """Carbon dioxide at one moment of the room in `dry_ice_air`, for a picture.

    Parameters
    ----------
    time_h : time since the ice was laid [h], 0 to 1000
    ice_kg : dry ice laid [kg], 0 to 1000
    volume_m3 : volume of the room [m3], 0.1 to 100000
    air_changes_per_h : air changes by the real airflow [1/h], 0 to 10000
    release_h : working time over which the whole charge is released [h], 1/60 to 8
    mixing : K, how many times more air than perfect mixing needs, 1 to 10
    start_ppm : carbon dioxide in the room at the start [ppm], 0 to 5000
    temperature_c : temperature of the room [C], -40 to 60
    outdoor_ppm : carbon dioxide in the air that comes in [ppm], 0 to 2000
    pressure_hpa : air pressure [hPa], 500 to 1100

    Returns the carbon dioxide [ppm], never above pure gas.

    Refuses values outside the limits.

    Source: as `dry_ice_air`.

    >>> round(ppm_at(0.5, ice_kg=1.0, volume_m3=3.0, air_changes_per_h=0.0, release_h=1.0))
    91030
    """
    between("the time", time_h, 0, 1000, "h")
    room = _room(
        ice_kg, volume_m3, air_changes_per_h, release_h, mixing, start_ppm, temperature_c, outdoor_ppm, pressure_hpa
    )
    return min(_ppm(room, time_h), _PURE_PPM)


class _Room(NamedTuple):
    gas_m3: float
    volume_m3: float
    release_h: float
    # air changes that count: the real ones divided by the mixing factor
    changes_per_h: float
    start_ppm: float
    incoming_ppm: float

    @property
    def rise_ppm_per_h(self) -> float:
        return self.gas_m3 / self.volume_m3 / self.release_h * _PURE_PPM


def _room(
    ice_kg: float,
    volume_m3: float,
    air_changes_per_h: float,
    release_h: float,
    mixing: float,
    start_ppm: float,
    temperature_c: float,
    outdoor_ppm: float,
    pressure_hpa: float,
) -> _Room:
    between("the dry ice", ice_kg, 0, 1000, "kg")
    between("the room", volume_m3, 0.1, 100_000, "m3")
    between("the air", air_changes_per_h, 0, 10_000, "changes per hour")
    between("the working time", release_h * 60, 1, _SHIFT_H * 60, "min")
    between("the mixing factor", mixing, 1, 10)
    between("the air coming in", outdoor_ppm, 0, 2000, "ppm")
    if start_ppm > EIGHT_HOUR_LIMIT_PPM:
        raise FigureError(
            f"The room is at {start_ppm:g} ppm before any ice is laid, and the limit is {EIGHT_HOUR_LIMIT_PPM:g} ppm:"
            " air it first."
        )
    between("the room at the start", start_ppm, 0, EIGHT_HOUR_LIMIT_PPM, "ppm")
    gas_m3 = ice_kg / gas_density_kg_per_m3(temperature_c, pressure_hpa)
    return _Room(gas_m3, volume_m3, release_h, air_changes_per_h / mixing, start_ppm, outdoor_ppm)


def _result(room: _Room, mixing: float, temperature_c: float, pressure_hpa: float) -> AirResult:
    end_ppm = _ppm(room, room.release_h)
    peak_ppm = max(room.start_ppm, end_ppm, _ppm(room, _SHIFT_H))
    worst_15min_ppm = _worst_quarter_ppm(room)
    return AirResult(
        gas_m3=room.gas_m3,
        end_ppm=min(end_ppm, _PURE_PPM),
        peak_ppm=min(peak_ppm, _PURE_PPM),
        worst_15min_ppm=min(worst_15min_ppm, _PURE_PPM),
        average_8h_ppm=min(_dose_ppm_h(room, _SHIFT_H) / _SHIFT_H, _PURE_PPM),
        oxygen_percent=OXYGEN_IN_AIR_PERCENT * (1 - min(peak_ppm, _PURE_PPM) / _PURE_PPM),
        airflow_needed_m3_per_h=_changes_needed_per_h(room) * room.volume_m3 * mixing * (1 + _HAIR),
        ice_limit_kg=_ice_limit_kg(room, temperature_c, pressure_hpa),
        verdict=_verdict(peak_ppm, worst_15min_ppm),
        reads_high=peak_ppm > READS_HIGH_FROM_PPM,
    )


def _ppm(room: _Room, time_h: float) -> float:
    released_h = min(time_h, room.release_h)
    rising_ppm = (
        room.incoming_ppm
        + (room.start_ppm - room.incoming_ppm) * exp(-room.changes_per_h * released_h)
        + room.rise_ppm_per_h * _faded_h(room.changes_per_h, released_h)
    )
    return room.incoming_ppm + (rising_ppm - room.incoming_ppm) * exp(-room.changes_per_h * (time_h - released_h))


def _dose_ppm_h(room: _Room, time_h: float) -> float:
    """The carbon dioxide summed over the time since the start."""
    released_h = min(time_h, room.release_h)
    k = room.changes_per_h
    rising = (
        room.incoming_ppm * released_h
        + (room.start_ppm - room.incoming_ppm) * _faded_h(k, released_h)
        + room.rise_ppm_per_h * _faded_h2(k, released_h)
    )
    after_h = time_h - released_h
    return rising + room.incoming_ppm * after_h + (_ppm(room, released_h) - room.incoming_ppm) * _faded_h(k, after_h)


def _faded_h(k: float, time_h: float) -> float:
    """(1 - exp(-k t)) / k, which is t when no air changes."""
    x = k * time_h
    return time_h * (-expm1(-x) / x) if x > 0 else time_h


def _faded_h2(k: float, time_h: float) -> float:
    """The sum of `_faded_h` over the time; by its series where the difference would lose its digits."""
    x = k * time_h
    if x < 1e-3:
        return time_h**2 * (1 / 2 - x / 6 + x**2 / 24 - x**3 / 120)
    return (time_h - _faded_h(k, time_h)) / k


def _worst_quarter_ppm(room: _Room) -> float:
    """The highest rolling quarter hour: it starts where the gas reads the same at its beginning and its end."""
    earliest_h, latest_h = max(0.0, room.release_h - _QUARTER_H), room.release_h
    for _ in range(_HALVINGS):
        middle_h = (earliest_h + latest_h) / 2
        if _ppm(room, middle_h + _QUARTER_H) > _ppm(room, middle_h):
            earliest_h = middle_h
        else:
            latest_h = middle_h
    starts_h = (0.0, earliest_h, _SHIFT_H - _QUARTER_H)
    return max((_dose_ppm_h(room, h + _QUARTER_H) - _dose_ppm_h(room, h)) / _QUARTER_H for h in starts_h)


def _changes_needed_per_h(room: _Room) -> float:
    """Perfectly mixed air changes that hold the end of the release at the eight-hour limit."""

    def end_ppm(changes_per_h: float) -> float:
        return _ppm(room._replace(changes_per_h=changes_per_h), room.release_h)

    if end_ppm(0.0) <= EIGHT_HOUR_LIMIT_PPM:
        return 0.0
    if room.incoming_ppm >= EIGHT_HOUR_LIMIT_PPM:
        return inf
    # a release that never ended would settle at the limit with these
    too_few, enough = 0.0, room.rise_ppm_per_h / (EIGHT_HOUR_LIMIT_PPM - room.incoming_ppm)
    for _ in range(_HALVINGS):
        middle = (too_few + enough) / 2
        if end_ppm(middle) > EIGHT_HOUR_LIMIT_PPM:
            too_few = middle
        else:
            enough = middle
    return enough


def _ice_limit_kg(room: _Room, temperature_c: float, pressure_hpa: float) -> float:
    spare_ppm = EIGHT_HOUR_LIMIT_PPM - _ppm_without_ice(room)
    return spare_ppm / _ppm_per_m3(room) * gas_density_kg_per_m3(temperature_c, pressure_hpa) * (1 - _HAIR)


def _gas_limit_m3(cabin: _Room, room: _Room) -> float:
    """The gas that keeps both at the eight-hour limit. The room's highest, which the cabin draws, is where it started,
    outdoor air, or where the release ends: whichever leaves room for least gas counts."""
    renewed = -expm1(-cabin.changes_per_h * cabin.release_h)

    def spare_ppm(drawn_ppm: float) -> float:
        return EIGHT_HOUR_LIMIT_PPM - drawn_ppm * renewed - cabin.start_ppm * (1 - renewed)

    ended_ppm = _ppm_without_ice(room)
    return min(
        spare_ppm(max(room.start_ppm, room.incoming_ppm)) / _ppm_per_m3(cabin),
        spare_ppm(ended_ppm) / (_ppm_per_m3(cabin) + _ppm_per_m3(room) * renewed),
        (EIGHT_HOUR_LIMIT_PPM - ended_ppm) / _ppm_per_m3(room),
    )


def _ppm_without_ice(room: _Room) -> float:
    """Where the release would end if there were no ice."""
    return _ppm(room._replace(gas_m3=0.0), room.release_h)


def _ppm_per_m3(room: _Room) -> float:
    """What a cubic metre of gas adds by the end of its release."""
    return _faded_h(room.changes_per_h, room.release_h) / room.volume_m3 / room.release_h * _PURE_PPM


def _verdict(peak_ppm: float, worst_15min_ppm: float) -> Verdict:
    if peak_ppm > AT_ANY_TIME_LIMIT_PPM or worst_15min_ppm > QUARTER_HOUR_LIMIT_PPM:
        return "stop"
    return "ventilate" if peak_ppm > EIGHT_HOUR_LIMIT_PPM else "go"
