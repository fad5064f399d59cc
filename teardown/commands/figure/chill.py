"""`teardown figure chill`: dry ice for a sound-deadening pad."""

from __future__ import annotations

import argparse

from teardown import units
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.flags import quantity, typed
from teardown.figures import chill

# a maker's sheet: not to be handled below this
_BRITTLE_BELOW_C = 5


def add_flags(parser: argparse.ArgumentParser) -> None:
    """The pad, the panel, and the temperatures."""
    parser.add_argument("--area", type=typed(units.area_m2), required=True, help="under the ice, such as 1.5m2")
    parser.add_argument("--pad", type=typed(units.length_m), required=True, help="thickness of the pad, such as 2.5mm")
    parser.add_argument("--steel", type=typed(units.length_m), required=True, help="of the panel, such as 0.8mm")
    parser.add_argument("--from", dest="start", type=typed(units.temperature_c), required=True, help="such as 20C")
    parser.add_argument("--to", dest="end", type=typed(units.temperature_c), required=True, help="such as -40C")
    parser.add_argument("--contact", type=quantity("heat transfer"), default=60.0, help="pad to ice (60W/m2K)")
    parser.add_argument("--warmth", type=quantity("heat transfer"), default=10.0, help="from the room (10W/m2K)")
    parser.add_argument(
        "--pad-density", type=quantity("density"), default=chill.PAD_KG_PER_M3, help="(1100kg/m3; a filled sheet 2000)"
    )


def answer(given: argparse.Namespace) -> Answer:
    """Ice and soak first."""
    found = chill.chill(
        given.area,
        given.pad,
        given.steel,
        given.start,
        given.end,
        contact_w_per_m2_k=given.contact,
        air_w_per_m2_k=given.warmth,
        pad_kg_per_m3=given.pad_density,
    )
    return Answer(
        facts=found._asdict(),
        headline=f"{units.show_mass(found.ice_kg)} of ice, lying {_minutes(found.soak_min)}"
        + ("." if found.lumped else f" to {_minutes(found.soak_longest_min)}."),
        rows=[
            Row("pad", units.show_mass(found.pad_kg)),
            Row("heat in pad and panel", f"{found.heat_kj:.0f} kJ"),
            Row("heat from the room", f"{found.air_heat_kj:.0f} kJ"),
            Row("ice", units.show_mass(found.ice_kg, places=2), "check it with: teardown figure air"),
            Row("soak, as one lump", _minutes(found.soak_min)),
            Row("soak, at the longest", _minutes(found.soak_longest_min)),
            Row("Biot number", f"{found.biot:.2f}", f"one lump holds up to {chill.LUMP_BIOT_LIMIT:g}"),
        ],
        assumes=_assumes(found, given),
        source="steel and bitumen sheet, ISO 10456:2007 (secondary copy); 571 kJ/kg, handbook (secondary copy); ice at"
        " -78.5 C, FAA AC 91-76A; brittle below 5 C, a pad maker's sheet.",
    )


def _minutes(minutes: float) -> str:
    return units.show(minutes, "min", 1)


def _assumes(found: chill.ChillResult, given: argparse.Namespace) -> list[str]:
    lines = [
        f"Assumes {given.contact:g} W/m2K from pad to ice and {given.warmth:g} W/m2K from the room, through the foil"
        " over the ice and from below. This is ice that touches: a layer that covers is more, and is pushed on to the"
        " next area. Give the figure for air the ice you really lay.",
    ]
    if not found.lumped:
        lines.append(
            f"The Biot number is over {chill.LUMP_BIOT_LIMIT:g}: the pad is colder at the ice than at the steel, so it"
            " is no lump, and the real soak lies between the two times."
        )
    if given.end > _BRITTLE_BELOW_C:
        lines.append(
            f"Filled pads turn brittle in the cold: {given.end:g} C may not do; below {_BRITTLE_BELOW_C} C is usual."
        )
    return lines
