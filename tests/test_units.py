"""What a person types, against a general unit library (pint) and the exact definitions of NIST SP 811."""

from __future__ import annotations

import ast
import math
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from teardown import units

ROOT = Path(__file__).parents[1]
REGISTRY = pint.UnitRegistry()
POSITIVE = st.floats(min_value=0.01, max_value=99999, allow_nan=False)


# unit here, quantity, the same unit for pint, the SI unit for pint
AGAINST_PINT = [
    ("kg", "mass", "kg", "kg"), ("g", "mass", "g", "kg"), ("t", "mass", "tonne", "kg"), ("lb", "mass", "lb", "kg"),
    ("oz", "mass", "oz", "kg"), ("st", "mass", "stone", "kg"),
    ("m", "length", "m", "m"), ("cm", "length", "cm", "m"), ("mm", "length", "mm", "m"), ("ft", "length", "ft", "m"),
    ("in", "length", "inch", "m"), ("mi", "length", "mile", "m"), ("in", "position", "inch", "m"),
    ("s", "duration", "s", "min"), ("h", "duration", "hour", "min"), ("d", "duration", "day", "min"),
    ("min", "run time", "min", "s"), ("h", "run time", "hour", "s"),
    ("km/h", "speed", "km/hour", "m/s"), ("mph", "speed", "mph", "m/s"), ("ft/s", "speed", "ft/s", "m/s"),
    ("F", "temperature", "degF", "degC"), ("K", "temperature", "kelvin", "degC"), ("C", "temperature", "degC", "degC"),
    ("L", "volume", "litre", "m**3"), ("gal", "volume", "gallon", "m**3"), ("ft3", "volume", "ft**3", "m**3"),
    ("impgal", "volume", "imperial_gallon", "m**3"), ("in3", "volume", "inch**3", "m**3"),
    ("cfm", "airflow", "ft**3/min", "m**3/hour"), ("L/s", "airflow", "litre/s", "m**3/hour"),
    ("m3/s", "airflow", "m**3/s", "m**3/hour"),
    ("ft2", "area", "ft**2", "m**2"), ("cm2", "area", "cm**2", "m**2"), ("in2", "area", "inch**2", "m**2"),
    ("kPa", "pressure", "kPa", "hPa"), ("bar", "pressure", "bar", "hPa"), ("psi", "pressure", "psi", "hPa"),
    ("mbar", "pressure", "mbar", "hPa"), ("mV", "voltage", "mV", "V"), ("rad", "angle", "rad", "deg"),
    ("kg/L", "density", "kg/litre", "kg/m**3"), ("lb/gal", "density", "lb/gallon", "kg/m**3"),
    ("in3/lb", "divisor", "inch**3/lb", "cm**3/kg"), ("%", "carbon dioxide", "percent", "ppm"),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "quantity", "pint_unit", "pint_si"), AGAINST_PINT)
def test_a_unit_means_what_a_general_unit_library_says(unit: str, quantity: str, pint_unit: str, pint_si: str) -> None:
    expected = REGISTRY.Quantity(71.5, pint_unit).to(pint_si).magnitude
    assert units.parse(f"71.5{unit}", quantity) == pytest.approx(expected, rel=1e-13)


def test_inches_of_mercury_agree_with_the_library_to_its_own_digits() -> None:
    # NIST SP 811 (2008) appendix B.8: conventional inch of mercury 3.386389 kPa (from memory)
    assert units.pressure_hpa("1 inHg") == pytest.approx(33.86389, rel=1e-6)
    assert units.pressure_hpa("29.92inHg") == pytest.approx(
        REGISTRY.Quantity(29.92, "inch_Hg").to("hPa").magnitude, rel=1e-6
    )


def test_the_factors_are_the_exact_ones_of_the_definitions() -> None:
    # NIST SP 811 (2008), appendix B (secondary copy): lb 0.45359237 kg, ft 0.3048 m, US gallon 3.785411784 L, exact
    assert units.mass_kg("1lb") == 0.45359237
    assert units.length_m("1ft") == 0.3048
    assert units.volume_m3("1gal") == 3.785411784e-3


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [
        ("19.4kg", "mass", 19.4),
        ("19,4kg", "mass", 19.4),
        (" 19.4 KG ", "mass", 19.4),
        ("19.4\u00a0kg", "mass", 19.4),
        ("0,234kg", "mass", 0.234),
        (".5kg", "mass", 0.5),
        ("1.234kg", "mass", 1.234),
        ("12 ft", "length", 3.6576),
        ("5ft6in", "length", 1.6764),
        ("5'6\"", "length", 1.6764),
        ("5′6″", "length", 1.6764),
        ("1h30min", "duration", 90.0),
        ("1 h 30 min", "duration", 90.0),
        ("90s", "duration", 1.5),
        ("6.8s", "run time", 6.8),
        ("-14in", "position", -0.3556),
        ("\u22120.36m", "position", -0.36),
        ("-40F", "temperature", -40.0),
        ("-78.5 °C", "temperature", -78.5),
        ("200 m³/h", "airflow", 200.0),
        ("60 W/m²K", "heat transfer", 60.0),
        ("420ppm", "carbon dioxide", 420.0),
        ("0.2", "number", 0.2),
        ("2/h", "rate", 2.0),
    ],
)
def test_a_quantity_is_read_as_a_person_writes_it(text: str, quantity: str, expected: float) -> None:
    assert units.parse(text, quantity) == expected


@pytest.mark.parametrize(
    ("text", "quantity", "reason"),
    [
        ("19.4", "mass", "19.4 has no unit: write 19.4kg or 19.4lb."),
        ("1,234kg", "mass", "can be read two ways: write 1.234 for the smaller or 1234 for the larger"),
        ("1,234.5kg", "mass", "two marks in one number"),
        ("1 200kg", "mass", "space inside the number"),
        ("", "mass", "Nothing was written: write a mass, such as 19.4kg"),
        ("nan", "mass", "is not a mass in a unit known here: write 19.4kg or 42.8lb."),
        ("nankg", "mass", "is not a mass in a unit known here"),
        ("infkg", "mass", "is not a mass in a unit known here"),
        ("1e3kg", "mass", "is not a mass in a unit known here"),
        ("--5kg", "mass", "is not a mass in a unit known here"),
        ("-3kg", "mass", "below 0 kg, the least there can be"),
        ("-300C", "temperature", "below -273.15 C, the least there can be"),
        ("5C3F", "temperature", "mixes units that do not go together"),
        ("3kg20lb", "mass", "mixes units that do not go together"),
        ("30min1h", "duration", "mixes units that do not go together"),
        ("1.5h30min", "duration", "mixes units that do not go together"),
        ("12345678901234567890kg", "mass", "more than 15 digits"),
        ("9" * 5000 + "kg", "mass", "longer than 200 characters"),
        ("19.4 m", "mass", "is not a mass in a unit known here"),
        ("２kg", "mass", "is not a mass in a unit known here"),
        ("0.2kg", "number", "is not a plain number in a unit known here: write 0.2."),
    ],
)
def test_what_cannot_be_meant_is_refused_with_an_example(text: str, quantity: str, reason: str) -> None:
    with pytest.raises(units.UnitError) as refusal:
        units.parse(text, quantity)
    assert reason in str(refusal.value)


def test_a_refusal_cannot_drive_the_terminal_and_fits_a_line() -> None:
    with pytest.raises(units.UnitError) as refusal:
        units.mass_kg("\x1b]0;owned\x07\u202e" + "x" * 190)
    assert str(refusal.value).isprintable()
    assert len(str(refusal.value)) < 160


def test_a_bare_number_is_read_only_where_its_unit_is_set() -> None:
    assert units.parse("42.8", "mass", default_unit="lb") == pytest.approx(42.8 * 0.45359237, rel=1e-15)
    assert units.parse("30", "angle", "deg") == 30
    assert units.parse("42.8kg", "mass", default_unit="lb") == 42.8


@pytest.mark.parametrize(
    ("text", "quantity", "count", "expected"),
    [
        ("334,331,266,262kg", "mass", None, [334, 331, 266, 262]),
        ("334kg, 331kg ,266kg,262kg", "mass", None, [334, 331, 266, 262]),
        ("6.8s,6.9s", "run time", None, [6.8, 6.9]),
        ("6,8s; 6,9s", "run time", None, [6.8, 6.9]),
        ("6,8;6,9s", "run time", None, [6.8, 6.9]),
        ("1.4m,-0.36m,0.5m", "position", None, [1.4, -0.36, 0.5]),
        ("334.5,331kg", "mass", None, [334.5, 331]),
        ("90,85,70,70kg", "mass", 4, [90, 85, 70, 70]),
        ("52m", "length", None, [52]),
    ],
)
def test_a_list_is_read_with_the_unit_on_each_or_on_the_last(
    text: str, quantity: str, count: int | None, expected: list[float]
) -> None:
    assert units.parse_list(text, quantity, count=count) == expected


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("334,5kg", "can be read two ways"),
        ("90,85,70,70kg", "can be read two ways"),
        ("6,8kg,6,9kg", "has units on some numbers only"),
        ("334kg,331", "has units on some numbers only"),
        ("3,,4kg", "has an empty place"),
        ("334,331,266,262", "334,331,266,262 has no unit: write 334,331,266,262kg or 334,331,266,262lb."),
    ],
)
def test_a_list_that_may_hold_decimal_commas_is_never_guessed_at(text: str, reason: str) -> None:
    with pytest.raises(units.UnitError) as refusal:
        units.parse_list(text, "mass")
    assert reason in str(refusal.value)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6x6x2.4m", (6, 6, 2.4)),
        ("6 X 6 × 2,4 m", (6, 6, 2.4)),
        ("60x40x30cm", (0.6, 0.4, 0.3)),
        ("12ftx10ftx8ft", (3.6576, 3.048, 2.4384)),
        ("5ft6in x 6ft x 7ft", (1.6764, 1.8288, 2.1336)),
    ],
)
def test_a_size_is_three_lengths(text: str, expected: tuple[float, float, float]) -> None:
    assert units.size_m(text) == expected


@pytest.mark.parametrize("text", ["6x6m", "6x6x6x6m", "6x6m x2.4", "6x-6x2m", "axbxcm"])
def test_a_size_that_is_not_three_lengths_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(units.UnitError, match=r"write 6x6x2\.4m or 20x12x8ft"):
        units.size_m(text)


MEASURED = [quantity for quantity in units.QUANTITIES if quantity != "number"]


def told_to_write(refusal: str) -> list[str]:
    return refusal.partition(": write ")[2].removesuffix(".").split(" or ")


@pytest.mark.parametrize("quantity", MEASURED)
@given(number=st.from_regex(r"\A(0|[1-9][0-9]{0,4})([.,][0-9]{1,2})?\Z"))
def test_a_bare_number_is_refused_with_that_number_in_units_that_are_taken(quantity: str, number: str) -> None:
    with pytest.raises(units.UnitError) as refusal:
        units.parse(number, quantity)
    written = told_to_write(str(refusal.value))
    assert written
    for one in written:
        assert one.startswith(number)
        assert not one.removeprefix(number)[:1].isdigit()
        assert math.isfinite(units.parse(one, quantity))


@pytest.mark.parametrize(
    ("read", "typed", "written"),
    [
        (units.mass_kg, "2.2", ["2.2kg", "2.2lb"]),
        (units.temperature_c, "-5", ["-5C", "-5F"]),
        (units.duration_min, "90", ["90min", "90h"]),
        (units.durations_s, "6.8;6.9", ["6.8;6.9s"]),
        (lambda text: units.parse_list(text, "mass", count=4), "90,85,70,70", ["90,85,70,70kg", "90,85,70,70lb"]),
        (units.size_m, "6x6x2.4", ["6x6x2.4m", "6x6x2.4ft"]),
    ],
)
def test_what_a_refusal_says_to_write_is_what_was_typed_and_is_taken(
    read: Callable[[str], object], typed: str, written: list[str]
) -> None:
    with pytest.raises(units.UnitError, match="has no unit") as refusal:
        read(typed)
    assert told_to_write(str(refusal.value)) == written
    for one in written:
        assert read(one)


def test_a_bare_number_that_can_be_read_two_ways_is_not_given_back_with_a_unit() -> None:
    with pytest.raises(units.UnitError, match=r"can be read two ways: write 1\.234 for the smaller"):
        units.mass_kg("1,234")


def test_each_reader_reads_its_own_quantity() -> None:
    assert units.duration_min("15min") == 15
    assert units.speed_m_per_s("60mph") == pytest.approx(26.8224, rel=1e-15)
    assert units.temperature_c("68F") == 20
    assert units.volume_m3("36m3") == 36
    assert units.airflow_m3_per_h("200m3/h") == 200
    assert units.area_m2("1.5m2") == 1.5
    assert units.carbon_dioxide_ppm("3%") == 30_000
    assert units.pressure_hpa("101.325kPa") == 1013.25
    assert units.voltage_v("12,6V") == 12.6


@given(kg=st.floats(min_value=0, max_value=5000), unit=st.sampled_from(["kg", "lb"]))
def test_a_printed_mass_reads_back_to_half_a_printed_step(kg: float, unit: str) -> None:
    printed = units.show_mass(kg, unit, places=3)
    assert abs(units.mass_kg(printed) - kg) <= 0.000501 * units.mass_kg(f"1{unit}")


@given(value=st.floats(min_value=-20, max_value=2000), unit=st.sampled_from(units.PRINTED_UNITS))
@example(value=-0.0, unit="kg")
@example(value=-0.0004, unit="m")
def test_nothing_is_ever_printed_as_minus_zero(value: float, unit: str) -> None:
    number = units.show(value, unit).split()[0]
    assert not (number.startswith("-") and float(number) == 0)


@pytest.mark.parametrize(
    ("printed", "expected"),
    [
        (units.show_mass(19.4), "19.4 kg"),
        (units.show_mass(19.4, "lb"), "42.8 lb"),
        (units.show_length(-0.0), "0.00 m"),
        (units.show_length(1.4999, 3), "1.500 m"),
        (units.show_duration(0.5), "30 s"),
        (units.show_duration(119.6), "2 h"),
        (units.show_duration(90), "1 h 30 min"),
        (units.show_speed(26.8224), "97 km/h"),
        (units.show_volume(0.04, "L"), "40.0 L"),
        (units.show_airflow(203.9), "204 m3/h"),
        (units.show_carbon_dioxide(5000.2), "5000 ppm"),
    ],
)
def test_a_quantity_is_printed_in_the_unit_asked_for(printed: str, expected: str) -> None:
    assert printed == expected


@settings(max_examples=400)
@given(text=st.text(max_size=40) | st.from_regex(r"\A[-+]?[0-9.,x ;]{0,12}[a-zA-Z/0-9% ]{0,6}\Z"))
@example(text="x")
@example(text=",")
@example(text=" - ")
def test_no_text_does_anything_but_be_read_or_be_refused(text: str) -> None:
    for read in (
        *(lambda t, q=q: [units.parse(t, q)] for q in units.QUANTITIES),
        lambda t: units.parse_list(t, "mass"),
        units.size_m,
    ):
        outcome = _outcome(read, text)
        if isinstance(outcome, str):
            assert outcome.isprintable()
            assert outcome.endswith(".")
        else:
            assert all(math.isfinite(value) for value in outcome)


def _outcome(read: Callable[[str], Sequence[float]], text: str) -> Sequence[float] | str:
    try:
        return read(text)
    except units.UnitError as refusal:
        return str(refusal)


@given(kg=POSITIVE)
def test_a_mass_is_the_same_in_any_unit_it_is_typed_in(kg: float) -> None:
    grams = units.mass_kg(f"{kg:.6f}kg")
    for unit, factor in (("lb", 0.45359237), ("g", 0.001), ("t", 1000.0)):
        typed = f"{grams / factor:.9f}"
        if len(typed) <= units.LONGEST_NUMBER:
            assert units.mass_kg(f"{typed}{unit}") == pytest.approx(grams, rel=1e-6)


def test_importing_units_costs_the_standard_library_only() -> None:
    script = "import sys, teardown.units; print(sorted({name.split('.')[0] for name in sys.modules}))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    outside = set(ast.literal_eval(done.stdout)) - sys.stdlib_module_names
    assert {name for name in outside if not name.startswith("_")} <= {"teardown", "sitecustomize", "usercustomize"}


# -- the last digit and the unit, as they were typed


@pytest.mark.parametrize(("unit", "quantity", "name", "si"), AGAINST_PINT)
@pytest.mark.parametrize("decimals", [0, 2])
def test_one_of_the_last_digit_is_worth_what_pint_makes_of_it(
    unit: str, quantity: str, name: str, si: str, decimals: int
) -> None:
    typed = f"7{'.25' if decimals else ''} {unit}"
    one = float(REGISTRY.Quantity(1, name).to(si).magnitude) if quantity != "temperature" else {"F": 5 / 9}.get(unit, 1)
    assert math.isclose(units.last_digit_si(typed, quantity), one / 10**decimals, rel_tol=1e-9)


@pytest.mark.parametrize(("typed", "unit", "one_kg"), [
    ("300g", "g", 0.001), ("3oz", "oz", 0.028349523125), ("12 pounds", "lb", 0.45359237), ("19,45 KG", "kg", 0.01),
    ("1lb 3oz", "oz", 0.028349523125), ("1.2t", "t", 100.0),
])  # fmt: skip
def test_the_unit_and_the_last_digit_come_from_the_parser_and_are_not_guessed(
    typed: str, unit: str, one_kg: float
) -> None:
    # NIST SP 811 (2008), appendix B (secondary copy): lb 0.45359237 kg, oz a sixteenth of it, both exact
    assert (units.unit_typed(typed, "mass"), units.last_digit_si(typed, "mass")) == (unit, pytest.approx(one_kg))


def test_a_unit_that_is_never_printed_keeps_its_own_spelling() -> None:
    assert units.unit_typed("5st", "mass") == "st"
    assert units.size_si("st", "mass") == pytest.approx(14 * 0.45359237)


def test_what_is_no_quantity_has_no_last_digit() -> None:
    with pytest.raises(units.UnitError, match="has no unit"):
        units.last_digit_si("12", "mass")
