"""`teardown figure runs`: times before and after."""

from __future__ import annotations

import argparse

from teardown import units
from teardown.commands.figure.answer import Answer, Row
from teardown.commands.figure.comparison import interval, two_rows_of_dots, verdict
from teardown.commands.figure.flags import typed
from teardown.figures import runs


def air(text: str) -> runs.Air:
    """Read pressure,temperature."""
    pressure, comma, temperature = text.partition(",")
    if not comma:
        raise units.UnitError(f"{text[:40]} is not pressure and temperature: write 990hPa,25C.")
    return runs.Air(units.pressure_hpa(pressure), units.temperature_c(temperature))


def add_flags(parser: argparse.ArgumentParser) -> None:
    """Both sets of runs, and what else changed."""
    parser.add_argument("--before", type=typed(units.durations_s), required=True, help="such as 6.8s,6.9s,6.7s")
    parser.add_argument("--after", type=typed(units.durations_s), required=True, help="the same speeds, after")
    parser.add_argument("--mass-before", type=typed(units.mass_kg), help="as driven, with driver and fuel")
    parser.add_argument("--mass-after", type=typed(units.mass_kg), help="as driven, with driver and fuel")
    parser.add_argument("--air-before", type=typed(air), help="pressure and temperature, such as 990hPa,25C")
    parser.add_argument("--air-after", type=typed(air), help="the same, after")


def answer(given: argparse.Namespace) -> Answer:
    """Whether a change is shown first, then whether it is the weight."""
    found = runs.runs(given.before, given.after, given.mass_before, given.mass_after, given.air_before, given.air_after)
    return Answer(
        facts=found._asdict(),
        headline=verdict(found.shown, found.change_s, "s", "quicker", "slower"),
        rows=_rows(found, given),
        picture=two_rows_of_dots(given.before, given.after, "s"),
        assumes=_assumes(found),
        source="Welch, Biometrika 34 (1947) 28 (from memory); air, SAE J1349 (1990) (secondary copy).",
    )


def _rows(found: runs.RunsResult, given: argparse.Namespace) -> list[Row]:
    rows = [
        Row("before", f"{found.before_mean_s:.3f} s", f"scatter {found.before_sd_s:.3f} s in {len(given.before)} runs"),
        Row("after", f"{found.after_mean_s:.3f} s", f"scatter {found.after_sd_s:.3f} s in {len(given.after)} runs"),
        Row("change", f"{found.change_s + 0.0:+.3f} s", interval(found.change_low_s, found.change_high_s, "s")),
        Row("Welch's t", f"{found.t:.3f}", f"{found.df:.1f} degrees of freedom, p {found.p:.4f}; shown below 0.05"),
    ]
    for label, time_s in (
        ("mass alone would give", found.mass_only_after_s),
        ("air alone would give", found.air_only_after_s),
        ("mass and air would give", found.expected_after_s if found.air_only_after_s is not None else None),
    ):
        if time_s is not None:
            rows.append(Row(label, f"{time_s:.3f} s", f"change {time_s - found.before_mean_s:+.3f} s"))
    return rows


def _assumes(found: runs.RunsResult) -> list[str]:
    lines = []
    if found.mass_only_after_s is None:
        lines.append(
            "Give --mass-before and --mass-after, with driver and fuel aboard, to see what mass alone would do."
        )
    else:
        both = "mass alone" if found.air_only_after_s is None else "mass and air together"
        lines.append(
            "Mass alone: constant power and no losses, so time goes as mass, with the driver aboard. The measured"
            f" change {f'agrees with {both}' if found.agrees_with_mass else f'does not agree with {both}'}:"
            + (" the interval holds it." if found.agrees_with_mass else " losses make a gain smaller, or more changed.")
        )
    lines.append(
        "Assumes the same stretch both ways, gear, driver, fuel and tyres, and no run dropped after its time was known."
    )
    return lines
