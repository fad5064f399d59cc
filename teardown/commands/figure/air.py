"""`teardown figure air`: the carbon dioxide of dry ice in a room."""

from __future__ import annotations

import argparse

from teardown import units
from teardown.cells import column_row
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.flags import quantity, typed
from teardown.figures import air

_CELLS = 48
_HEADLINES = {
    "go": "GO, by this calculation: it stays at or under 5000 ppm. Confirm it with a carbon dioxide alarm.",
    "ventilate": "VENTILATE: it passes 5000 ppm. Lay less ice, or move more air.",
    "stop": "STOP: it passes 30000 ppm, or 15000 ppm over a quarter hour. Do not lay this ice here.",
}


def add_flags(parser: argparse.ArgumentParser) -> None:
    """The ice, the room, its air, and the time."""
    parser.add_argument("--ice", type=typed(units.mass_kg), required=True, help="dry ice, such as 13.6kg")
    room = parser.add_mutually_exclusive_group(required=True)
    room.add_argument("--room", type=typed(units.size_m), help="the room, such as 6x6x2.4m")
    room.add_argument("--volume", type=typed(units.volume_m3), help="or its volume; a cabin is about 3m3")
    moved = parser.add_mutually_exclusive_group(required=True)
    moved.add_argument(
        "--air-changes",
        type=quantity("rate", "/h"),
        help="air changes per hour; a house has 0.25 tight, 0.5, 1 leaky, 2 very leaky",
    )
    moved.add_argument("--airflow", type=typed(units.airflow_m3_per_h), help="or the airflow, such as 200m3/h")
    parser.add_argument("--over", type=typed(units.duration_min), required=True, help="working time, such as 60min")
    parser.add_argument("--mixing", type=quantity("number"), default=3.0, help="times more air than mixed; 1 to 10 (3)")
    parser.add_argument("--start", type=typed(units.carbon_dioxide_ppm), default=air.OUTDOOR_PPM, help="now (420ppm)")
    parser.add_argument("--outdoor", type=typed(units.carbon_dioxide_ppm), default=air.OUTDOOR_PPM, help="(420ppm)")
    parser.add_argument("--temperature", type=typed(units.temperature_c), default=20.0, help="of the room (20C)")
    parser.add_argument("--pressure", type=typed(units.pressure_hpa), default=1013.25, help="of the air (1013.25hPa)")


def answer(given: argparse.Namespace) -> Answer:
    """The verdict first."""
    volume_m3 = given.volume if given.room is None else given.room[0] * given.room[1] * given.room[2]
    facts = {
        "ice_kg": given.ice,
        "volume_m3": volume_m3,
        "air_changes_per_h": _changes_per_h(given, volume_m3),
        "release_h": given.over / 60,
        "mixing": given.mixing,
        "start_ppm": given.start,
        "temperature_c": given.temperature,
        "outdoor_ppm": given.outdoor,
        "pressure_hpa": given.pressure,
    }
    found = air.dry_ice_air(**facts)
    return Answer(
        facts=found._asdict() | {"volume_m3": volume_m3, "airflow_m3_per_h": facts["air_changes_per_h"] * volume_m3},
        headline=_HEADLINES[found.verdict],
        rows=_rows(found, facts),
        picture=_picture(facts, found.peak_ppm),
        assumes=_assumes(found, facts),
        source="well-mixed room with mixing factor, ACGIH Industrial Ventilation (from memory); 5000 ppm over 8 h, 29"
        " CFR 1910.1000 Table Z-1; 30000 ppm, ACGIH; 15000 ppm over 15 min, EH40/2005; 19.5 % oxygen, 29 CFR"
        " 1910.146(b).",
    )


def _changes_per_h(given: argparse.Namespace, volume_m3: float) -> float:
    if given.airflow is None:
        return float(given.air_changes)
    return given.airflow / volume_m3 if volume_m3 > 0 else 0.0


def _rows(found: air.AirResult, facts: dict[str, float]) -> list[Row]:
    ppm = units.show_carbon_dioxide
    airflow_m3_per_h = facts["air_changes_per_h"] * facts["volume_m3"]
    return [
        Row("gas from the ice", units.show_volume(found.gas_m3), f"room {units.show_volume(facts['volume_m3'])}"),
        Row("at the end", ppm(found.end_ppm), f"go to {air.EIGHT_HOUR_LIMIT_PPM:.0f} ppm"),
        Row("at its highest", ppm(found.peak_ppm), f"stop above {air.AT_ANY_TIME_LIMIT_PPM:.0f} ppm"),
        Row("worst quarter hour", ppm(found.worst_15min_ppm), f"stop above {air.QUARTER_HOUR_LIMIT_PPM:.0f} ppm"),
        Row("eight-hour average", ppm(found.average_8h_ppm), f"limit {air.EIGHT_HOUR_LIMIT_PPM:.0f} ppm"),
        Row("oxygen at the worst", f"{found.oxygen_percent:.1f} %", "limit 19.5 %, and no alarm for this"),
        Row(
            "airflow needed", units.show_airflow(found.airflow_needed_m3_per_h), f"you have {airflow_m3_per_h:.0f} m3/h"
        ),
        Row("ice that stays at go", units.show_mass(found.ice_limit_kg), f"you lay {units.show_mass(facts['ice_kg'])}"),
    ]


def _picture(facts: dict[str, float], peak_ppm: float) -> list[str]:
    """The gas over time, and under it which limit it is over."""
    last_h = min(8.0, 2 * facts["release_h"] + 0.5)
    ppm = [air.ppm_at(last_h * cell / (_CELLS - 1), **facts) for cell in range(_CELLS)]
    marks = "".join(
        "S" if now > air.AT_ANY_TIME_LIMIT_PPM else "v" if now > air.EIGHT_HOUR_LIMIT_PPM else "." for now in ppm
    )
    end = units.show_duration(last_h * 60)
    return [
        f"  {column_row(ppm, max(peak_ppm, 1.0))}  top {units.show_carbon_dioxide(peak_ppm)}",
        f"  {marks}  v above 5000, S above 30000",
        f"  0{end:>{_CELLS - 1}}",
    ]


def _assumes(found: air.AirResult, facts: dict[str, float]) -> list[str]:
    over = units.show_duration(facts["release_h"] * 60)
    lines = [
        "A calculation is no meter: work by a carbon dioxide alarm. An oxygen meter is no carbon dioxide alarm.",
        f"Assumes the whole charge turns to gas evenly over {over}, and {facts['mixing']:g} times more air needed than"
        " if it mixed perfectly. Cold gas lies low: in footwells, pits and below sills it is worse than this.",
    ]
    if found.reads_high:
        lines.append("Above a few per cent the gas drives air out, and this simple model reads high.")
    if facts["air_changes_per_h"] == 0:
        lines.append("With no air change the gas stays: the room only fills.")
    return lines
