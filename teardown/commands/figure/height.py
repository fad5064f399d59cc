"""`teardown figure height`: the height of the centre of gravity."""

from __future__ import annotations

import argparse

from teardown import units
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.flags import quantities, quantity, typed
from teardown.figures import height


def add_flags(parser: argparse.ArgumentParser) -> None:
    """The car level, and at each raise of its rear."""
    parser.add_argument("--total", type=typed(units.mass_kg), required=True, help="the car, such as 1200kg")
    parser.add_argument("--front-level", type=typed(units.mass_kg), required=True, help="both front wheels, level")
    parser.add_argument(
        "--front-raised", type=quantities("mass"), required=True, help="at each raise of the rear: 686.1kg,700.3kg"
    )
    parser.add_argument("--wheelbase", type=typed(units.length_m), required=True, help="such as 2.5m")
    raised = parser.add_mutually_exclusive_group(required=True)
    raised.add_argument("--angle", help="of the car at each raise, degrees, such as 7.5,15")
    raised.add_argument("--lift", help="or how much higher the rear wheel centres stand, such as 0.6m")
    parser.add_argument("--axle-height", type=typed(units.length_m), required=True, help="wheel centres: 0.30m")
    parser.add_argument("--reading-u", type=typed(units.mass_kg), default=1.0, help="uncertainty of a reading (1kg)")
    parser.add_argument("--angle-u", type=quantity("angle", "deg"), default=0.1, help="uncertainty of an angle (0.1)")


def answer(given: argparse.Namespace) -> Answer:
    """The height with its uncertainty."""
    angles_deg = _angles_deg(given)
    found = height.height(
        given.total,
        given.front_level,
        given.front_raised,
        angles_deg,
        given.wheelbase,
        given.axle_height,
        reading_u_kg=given.reading_u,
        angle_u_deg=given.angle_u,
    )
    shown = units.show_length(found.height_m, places=3)
    spread = units.show_length(2 * found.height_u_m, places=3)
    return Answer(
        facts={"height_m": found.height_m, "height_u_m": found.height_u_m, "raises": found.raises},
        headline=f"The centre of gravity is {shown} above the pads, give or take {spread} (two uncertainties).",
        rows=[
            Row("height", shown, f"uncertainty {units.show_length(found.height_u_m, places=3)}"),
            *(
                Row(
                    f"front at {angle:.1f} deg", units.show_mass(load_kg), f"level {units.show_mass(given.front_level)}"
                )
                for angle, load_kg in zip(angles_deg, given.front_raised, strict=True)
            ),
        ],
        assumes=[
            f"Assumes suspension locked, wheels free to roll, {units.show_mass(given.reading_u)} uncertainty of a front"
            f" reading, {given.angle_u:g} deg of an angle, 5 mm of the axle height. Raises are averaged by the slope of"
            " the load against the tangent of the angle.",
            "A lifted car can roll and fall: chock the front, strap it, nobody under it or beside it.",
        ],
        source="ISO 10392 (derivation); combined uncertainty, JCGM 100:2008 s. 5.1.",
    )


def _angles_deg(given: argparse.Namespace) -> list[float]:
    raises = len(given.front_raised)
    if given.angle is not None:
        return units.parse_list(given.angle, "angle", "deg", count=raises)
    lifts_m = units.parse_list(given.lift, "length", count=raises)
    return [height.angle_from_lift_deg(lift_m, given.wheelbase) for lift_m in lifts_m]
