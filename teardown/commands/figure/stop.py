"""`teardown figure stop`: stopping distances before and after."""

from __future__ import annotations

import argparse

from teardown import units
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.comparison import interval, two_rows_of_dots, verdict
from teardown.commands.figure.flags import quantities, typed
from teardown.figures import stop


def add_flags(parser: argparse.ArgumentParser) -> None:
    """The speed, and both sets of stops."""
    parser.add_argument("--from", dest="speed", type=typed(units.speed_m_per_s), required=True, help="such as 60mph")
    parser.add_argument("--before", type=quantities("length"), required=True, help="such as 52m,51m,53m")
    parser.add_argument("--after", type=quantities("length"), required=True, help="such as 43m,44m,42m")
    parser.add_argument("--measured-from", type=typed(units.speed_m_per_s), help="if the stops began at another speed")
    parser.add_argument("--measured-from-after", type=typed(units.speed_m_per_s), help="if it differed after")


def answer(given: argparse.Namespace) -> Answer:
    """Whether a change is shown, and that mass does not explain it."""
    measured_after = given.measured_from if given.measured_from_after is None else given.measured_from_after
    found = stop.stop(given.speed, given.before, given.after, given.measured_from, measured_after)
    return Answer(
        facts=found._asdict(),
        headline=verdict(found.shown, found.change_m, "m", "shorter", "longer"),
        rows=[
            Row("before", f"{found.before_mean_m:.2f} m", f"scatter {found.before_sd_m:.2f} m, {found.before_g:.2f} g"),
            Row("after", f"{found.after_mean_m:.2f} m", f"scatter {found.after_sd_m:.2f} m, {found.after_g:.2f} g"),
            Row("change", f"{found.change_m + 0.0:+.2f} m", interval(found.change_low_m, found.change_high_m, "m")),
            Row("Welch's t", f"{found.t:.3f}", f"{found.df:.1f} degrees of freedom, p {found.p:.4f}; shown below 0.05"),
            Row("mass explains", f"{found.mass_explains_m:.2f} m", "while the tyres hold"),
        ],
        picture=two_rows_of_dots(given.before, given.after, "m"),
        assumes=[
            "While the tyres hold, stopping distance does not fall with mass: what the car loses in weight its tyres"
            " lose in grip. Look for what else changed: bedding of the pads, tyres and their pressure, surface,"
            " temperature, slope, wind, the driver.",
            f"Distances count from {units.show_speed(given.speed)}, by the square of the speed.",
            "With weight gone from the back the rear may lock first: try it carefully, in a straight line.",
        ],
        source="uniform deceleration; speed correction in the form of SAE J299 (from memory); Welch, Biometrika 34"
        " (1947) 28 (from memory).",
    )
