"""`teardown figure`: every figure from the command line, as text and as JSON, and every way of asking wrongly."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.cli import main

EXAMPLES = {
    "air": "--ice 13.6kg --room 6x6x2.4m --air-changes 2 --over 60min --mixing 3 --start 420ppm",
    "chill": "--area 1.5m2 --pad 2.5mm --steel 0.8mm --from 20C --to -40C --contact 60W/m2K",
    "lift": "--mass 29kg --reach 40cm --height 60cm --reach-end 30cm --height-end 90cm --twist 30 --per-minute 0.2"
    " --hours 1 --grip fair",
    "balance": "--corners 334,331,266,262kg --wheelbase 2.60m --track 1.50m --track-rear 1.48m"
    " --take 29.5kg@1.4m,-0.36m,0.5m --add 8kg@1m,0m,0.4m 2kg@2m,0.1m,0.3m --height 0.55m",
    "height": "--total 1200kg --front-level 672kg --front-raised 700.3kg --wheelbase 2.5m --angle 15"
    " --axle-height 0.30m",
    "runs": "--before 6.8s,6.9s,6.75s --after 6.1s,6.2s,6.15s --mass-before 1610kg --mass-after 1415kg"
    " --air-before 990hPa,25C --air-after 1000hPa,20C",
    "stop": "--from 60mph --before 52m,51m,53m --after 43m,44m,42m --measured-from 61mph",
    "closing": "--file {file}",
    "carriage": "--size 60x40x30cm --mass 4kg --divisor 5000",
}
KEYS = {
    "air": "gas_m3 end_ppm worst_15min_ppm average_8h_ppm oxygen_percent airflow_needed_m3_per_h ice_limit_kg verdict",
    "chill": "heat_kj ice_kg soak_min",
    "lift": "limit_start_kg limit_end_kg index_start index_end multipliers_start multipliers_end",
    "balance": "total_kg front_percent left_percent cross_percent x_m y_m corners_kg height_m after",
    "height": "height_m height_u_m",
    "runs": "before_mean_s before_sd_s after_mean_s after_sd_s change_s change_low_s change_high_s t df p"
    " mass_only_after_s shown",
    "stop": "before_mean_m after_mean_m before_g after_g change_m change_low_m change_high_m shown mass_explains_m",
    "closing": "gap_kg gap_u_kg verdict adjusted global_test limit",
    "carriage": "dimensional_kg billed_kg",
}
# a limit that must stand beside its value, and the assumption and source that must stand under it
LIMITS = {
    "air": [
        "stop above 30000 ppm",
        "stop above 15000 ppm",
        "limit 5000 ppm",
        "you have 173 m3/h",
        "no carbon dioxide alarm",
    ],
    "chill": ["one lump holds up to 0.1", "through the foil", "it is no lump"],
    "lift": ["limit 1", "load 29.0 kg", "outside the equation", "Most is lost to reach"],
    "balance": ["each axle is assumed to take a part's sideways moment"],
    "height": ["uncertainty 0.0", "slope of the load against the tangent"],
    "runs": ["shown below 0.05", "95 % interval", "constant power and no losses", "driver aboard"],
    "stop": ["mass explains", "while the tyres hold", "bedding of the pads", "surface", "temperature"],
    "closing": ["shows from", "limit 3.84", "cannot say which entry is wrong", "of its uncertainty"],
    "carriage": ["the larger, rounded up", "--divisor"],
}
CLOSING = """
shared = "0.5kg"
fuel_density = "0.745kg/L"
[opening]
mass = "1350.5kg"
step = "0.5kg"
repeatability = "1kg"
readings = 3
fuel = "40L"
fuel_u = "2L"
[closing]
mass = "1322kg"
step = "20kg"
way = "weighbridge"
fuel = "38L"
[[item]]
name = "driver's seat"
mass = "19.4kg"
step = "0.05kg"
[[item]]
name = "carpet"
way = "estimate"
mass = "8kg"
low = "5kg"
high = "12kg"
[[item]]
name = "bucket seat"
way = "difference"
mass = "9kg"
step = "0.1kg"
fitted = true
[[item]]
name = "coolant"
way = "stated"
mass = "5kg"
u = "0.3kg"
"""


@pytest.fixture(autouse=True)
def plain_output(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "80")


@pytest.fixture
def closing_file(tmp_path: Path) -> Path:
    path = tmp_path / "closing.toml"
    path.write_text(CLOSING)
    return path


def words(name: str, file: Path, *more: str) -> list[str]:
    return ["figure", name, *(word.format(file=file) for word in EXAMPLES[name].split()), *more]


def facts(capsys: pytest.CaptureFixture[str], line: str) -> dict[str, object]:
    assert main(["figure", *line.split(), "--json"]) == 0
    read = json.loads(capsys.readouterr().out)
    assert isinstance(read, dict)
    return read


def printed(capsys: pytest.CaptureFixture[str], line: str) -> str:
    """The printed page, its lines run together."""
    assert main(["figure", *line.split()]) == 0
    return " ".join(capsys.readouterr().out.split())


def refusal(capsys: pytest.CaptureFixture[str], *line: str) -> str:
    assert main(["figure", *line]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.endswith("\n")
    assert "\n" not in err[:-1]
    return err


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_figure_prints_json_with_its_promised_keys(
    name: str, closing_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words(name, closing_file, "--json")) == 0
    read = json.loads(capsys.readouterr().out)
    assert set(KEYS[name].split()) <= set(read)
    if name == "balance":
        assert set(read["after"]) == set(read) - {"after"}


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_figure_prints_limits_assumptions_and_source(
    name: str, closing_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words(name, closing_file)) == 0
    text = capsys.readouterr().out
    flowing = " ".join(text.split())
    for must in LIMITS[name]:
        assert must in flowing
    assert "Source: " in text
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_terminal_without_blocks_gets_plain_letters(
    name: str, closing_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    assert main(words(name, closing_file)) == 0
    sys.stdout.flush()
    assert raw.getvalue().decode("ascii")


def test_the_picture_of_the_air_uses_blocks_where_it_can(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figure", "air", *EXAMPLES["air"].split()]) == 0
    text = capsys.readouterr().out
    assert "█" in text
    assert "SSSS" in text
    assert "top 62880 ppm" in text


def test_published_examples_come_out_of_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    # NIOSH 94-110 rev. 9/2021, example 1 (from memory): 16.3 and 14.5 lb, index 2.7 and 3.0
    lift = facts(capsys, "lift --mass 44lb --reach 23in --height 15in --height-end 64in --grip fair")
    assert lift["limit_start_kg"] == pytest.approx(16.3 * 0.45359237, abs=0.4 * 0.45359237)
    assert lift["index_end"] == pytest.approx(3.0, abs=0.15)
    # a carrier's worked parcel (secondary copy)
    parcel = facts(capsys, "carriage --size 20x15x10in --mass 4lb --divisor 139in3/lb")
    assert parcel["billed_kg"] == pytest.approx(22 * 0.45359237)
    # Welch, worked example (secondary copy)
    sets = "--before 30.02s,29.99s,30.11s,29.97s,30.01s,29.99s --after 29.89s,29.93s,29.72s,29.98s,30.02s,29.98s"
    times = facts(capsys, f"runs {sets}")
    assert times["p"] == pytest.approx(0.090773324285671, rel=1e-12)
    assert times["shown"] is False
    # round trip by statics, two raises and a lift
    raised = "height --total 1200kg --front-level 672kg --wheelbase 2.5m --axle-height 0.30m --front-raised"
    by_lift = facts(capsys, f"{raised} 700.2954kg --lift 0.647048m")
    assert by_lift["height_m"] == pytest.approx(0.520, abs=1e-5)
    by_two_angles = facts(capsys, f"{raised} 690.62kg,700.2954kg --angle 10,15")
    assert by_two_angles["height_m"] == pytest.approx(0.520, abs=1e-3)
    assert by_two_angles["raises"] == 2


@pytest.mark.parametrize(
    ("name", "metric", "other"),
    [
        (
            "air",
            "--ice 10kg --volume 36m3 --air-changes 2 --over 45min",
            "--ice 10000g --volume 36000L --airflow 72m3/h --over 0.75h",
        ),
        ("lift", "--mass 10kg --reach 40cm --height 60cm", "--mass 10000g --reach 0.4m --height 600mm"),
        ("carriage", "--size 60x40x30cm --mass 4kg", "--size 0.6x0.4x0.3m --mass 4000g"),
        (
            "balance",
            "--corners 453.59237,453.59237,317.514659,317.514659kg --wheelbase 3.048m --track 1.524m"
            " --take 4.5359237kg@0.3048m,0.1m",
            "--corners 1000,1000,700,700lb --wheelbase 10ft --track 5ft --take 10lb@1ft,10cm",
        ),
        (
            "stop",
            "--from 26.8224m/s --before 52m,51m --after 43m,44m",
            "--from 60mph --before 5200cm,5100cm --after 43m,44m",
        ),
    ],
)
def test_a_figure_is_the_same_in_whatever_units_it_is_typed(
    name: str, metric: str, other: str, capsys: pytest.CaptureFixture[str]
) -> None:
    one, two = facts(capsys, f"{name} {metric}"), facts(capsys, f"{name} {other}")
    assert _flat(one) == pytest.approx(_flat(two), rel=1e-9)


@settings(max_examples=25)
@given(grams=st.integers(min_value=1000, max_value=30_000))
def test_a_mass_in_pounds_gives_the_figure_of_the_same_kilograms(
    grams: int, capsys: pytest.CaptureFixture[str]
) -> None:
    rest = "--volume 86.4m3 --air-changes 2 --over 60min"
    in_kg = facts(capsys, f"air --ice {grams / 1000:.3f}kg {rest}")
    in_lb = facts(capsys, f"air --ice {grams / 453.59237:.9f}lb {rest}")
    assert _flat(in_lb) == pytest.approx(_flat(in_kg), rel=1e-7)


def _flat(value: object) -> list[object]:
    """Every number in a JSON answer, in its order."""
    if isinstance(value, dict):
        return [leaf for inner in value.values() for leaf in _flat(inner)]
    if isinstance(value, list):
        return [leaf for inner in value for leaf in _flat(inner)]
    return [value] if isinstance(value, int | float) else []


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("", "Name a figure: write one of air, chill, lift"),
        ("nosuch", "There is no figure nosuch: write one of air, chill, lift"),
        ("air", "the following arguments are required: --ice"),
        ("air --ice 13.6 --volume 3m3 --air-changes 2 --over 60min", "13.6 has no unit: write 13.6kg or 13.6lb."),
        ("air --ice 1,234kg --volume 3m3 --air-changes 2 --over 60min", "can be read two ways"),
        ("air --ice 5kg --volume 3m3 --air-changes 2 --over 60min --nosuch", "unrecognized arguments: --nosuch"),
        (
            "air --ice 5kg --volume 0m3 --air-changes 2 --over 60min",
            "The room is 0 m3, and the figure holds for 0.1 to",
        ),
        (
            "air --ice 5kg --volume 0m3 --airflow 2m3/h --over 60min",
            "The room is 0 m3, and the figure holds for 0.1 to",
        ),
        ("air --ice 5kg --volume 3m3 --room 1x1x1m --air-changes 2 --over 1h", "not allowed with argument --volume"),
        ("air --ice 5kg --volume 3m3 --air-changes 2 --over 60min --mixing 0.5", "holds for 1 to 10."),
        (
            "air --ice 5kg --volume 3m3 --air-changes 2 --over 60min --start 6000ppm",
            "the limit is 5000 ppm: air it first.",
        ),
        ("chill --area 1m2 --pad 2mm --steel 1mm --from 20C --to -90C", "Dry ice is at -78.5 C"),
        ("lift --mass 9kg --reach 9cm --height 9cm --grip firm", "argument --grip: invalid choice: 'firm'"),
        ("lift --mass 9kg --reach 9cm --height 9cm --hours 0", "it must be more than none and at most 8 h."),
        ("balance --corners 1,2,3kg --wheelbase 2m --track 1m", "There are 3 corner masses, and a car has 4"),
        ("balance --corners 9,9,9,9kg --wheelbase 2m --track 1m --take 5kg", "5kg has no place: write mass@"),
        (
            "balance --corners 9,9,9,9kg --wheelbase 2m --track 1m --take 5kg@1m",
            "has 1 of the 2 or 3 lengths of a place",
        ),
        (
            "balance --corners 9,9,9,9kg --wheelbase 2m --track 1m --take 50kg@1m,0m",
            "takes off more than the car's 36.0 kg",
        ),
        (
            "height --total 9t --front-level 4t --front-raised 5t --wheelbase 2m --angle 0 --axle-height 30cm",
            "The angle is 0 deg, and the figure holds for 1 to 45 deg.",
        ),
        (
            "height --total 9t --front-level 4t --front-raised 5t --wheelbase 2m --angle 10,15 --axle-height 30cm",
            "can be read two ways",
        ),
        ("runs --before 6.8s --after 6.1s,6.2s", "There are 1 readings, and a scatter takes 2"),
        ("runs --before 6,8s --after 6.1s,6.2s", "can be read two ways"),
        (
            "runs --before 6.8s,6.9s --after 6.1s,6.2s --air-before 990hPa",
            "is not pressure and temperature: write 990hPa,25C.",
        ),
        ("stop --from 60mph --before 52m,51m --after 1m,2m", "no road car brakes beyond 3 g"),
        ("closing", "Give a car folder, or --file"),
        ("closing --file /nowhere/at/all.toml", "/nowhere/at/all.toml cannot be read: No such file or directory."),
        ("carriage --size 60x40cm --mass 4kg", "is not length x width x height"),
    ],
)
def test_wrong_input_gets_one_sentence_with_the_limit_and_status_2(
    line: str, reason: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert reason in refusal(capsys, *line.split())


def test_nothing_typed_can_drive_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    said = refusal(capsys, "air", "--ice", "\x1b]0;owned\x07", "--\x1b[2J")
    assert said.isascii()
    assert said.strip().isprintable()


def test_negative_temperatures_places_and_twists_are_values_not_flags(capsys: pytest.CaptureFixture[str]) -> None:
    assert facts(capsys, f"chill {EXAMPLES['chill']}")["ice_kg"] == pytest.approx(1.10, abs=0.005)
    twisted = f"lift {EXAMPLES['lift']} --twist -30".split()
    assert "argument --twist: -30 is below 0 deg, the least there can be: write 30deg." in refusal(capsys, *twisted)


def test_a_lift_beyond_the_equation_has_no_index(capsys: pytest.CaptureFixture[str]) -> None:
    line = "lift --mass 9kg --reach 80cm --height 60cm"
    assert facts(capsys, line)["index_start"] is None
    assert printed(capsys, line).startswith("NOT THIS WAY")


def test_air_says_when_it_reads_high_and_when_it_only_fills(capsys: pytest.CaptureFixture[str]) -> None:
    said = printed(capsys, "air --ice 1kg --volume 3m3 --air-changes 0 --over 30min")
    assert "this simple model reads high" in said
    assert "the room only fills" in said
    said = printed(capsys, "air --ice 0kg --volume 3m3 --air-changes 1 --over 30min")
    assert said.startswith("GO, by this calculation")


def test_runs_without_masses_say_what_is_missing(capsys: pytest.CaptureFixture[str]) -> None:
    said = printed(capsys, "runs --before 6.8s,7.2s --after 6.7s,7.1s")
    assert said.startswith("NO DIFFERENCE shown")
    assert "Give --mass-before and --mass-after" in said


def test_a_closing_is_read_with_every_way_of_weighing(closing_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = facts(capsys, f"closing --file {closing_file}")
    by_name = {one["name"]: one for one in found["adjusted"]}  # type: ignore[attr-defined]
    assert by_name["opening weighing"]["u_kg"] == pytest.approx((0.25 / 12 + 1 / 3 + 0.25) ** 0.5)
    # NIST Handbook 44-2023 (secondary copy): 67 steps of 20 kg may be off by one of them
    assert by_name["closing weighing"]["u_kg"] == pytest.approx((400 / 12 + 400 / 3 + 0.25) ** 0.5)
    assert by_name["bucket seat"]["u_kg"] == pytest.approx((2 * 0.01 / 12) ** 0.5)
    assert by_name["carpet"]["u_kg"] == pytest.approx(7 / 2.5631031310892)
    assert by_name["coolant"]["u_kg"] == 0.3
    assert found["gap_kg"] == pytest.approx(1322 - (1350.5 - 19.4 - 8 + 9 - 5 - 745 * 0.002))
    assert found["verdict"] == "closes"


def test_a_closing_that_does_not_close_adjusts_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "gap.toml"
    path.write_text(CLOSING.replace("1322kg", "1280kg").replace('way = "weighbridge"', "").replace("20kg", "0.5kg"))
    assert main(["figure", "closing", "--file", str(path)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("WEIGH AGAIN")
    assert "that would hide the gap" in said


def test_every_problem_of_a_closing_file_is_named_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "wrong.toml"
    path.write_text(
        'oppening = 1\nclosing = 5\nitem = [{name = "", mass = 19.4, way = "guess", fitted = "yes", readings = 0}]\n'
        '[opening]\nmass = "1350"\nstep = "0.5kg"\nreadings = true\n'
    )
    said = refusal(capsys, "closing", "--file", str(path))
    for problem in (
        "wrong.toml: oppening: is not a key here (did you mean opening?)",
        "wrong.toml: closing: must be a table",
        "wrong.toml: opening.mass: 1350 has no unit: write 1350kg or 1350lb",
        "wrong.toml: opening.readings: must be a whole number from 1 to 1000",
        'wrong.toml: item[0].mass: must be written with its unit, in quotes, such as "19.4kg or 42.8lb"',
        "wrong.toml: item[0].name: must be a text in quotes",
        "wrong.toml: item[0].way: must be one of scale, difference, weighbridge, estimate, stated",
        "wrong.toml: item[0].fitted: must be true or false",
    ):
        assert problem in said, said


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"= nonsense", "is not TOML"),
        (b"\xff\xfe", "is not TOML"),
        (b"x = " + b"[" * 50_000, "is not TOML"),
        (b"#" * 1_000_001, "is larger than 1000000 bytes, the most a closing file may be."),
        (b'item = 3\n[opening]\nmass="9kg"\nstep="1kg"', "item: must be a list of tables"),
        (b'[[item]]\nname="x"\nmass="2kg"\nway="estimate"\nlow="3kg"\nhigh="1kg"', "The high case is 1 kg"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(
    content: bytes, reason: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    assert reason in refusal(capsys, "closing", "--file", str(path))


def test_help_says_what_each_figure_takes(capsys: pytest.CaptureFixture[str]) -> None:
    for line in (["figure", "--help"], *(["figure", name, "--help"] for name in EXAMPLES)):
        with pytest.raises(SystemExit) as done:
            main(line)
        assert done.value.code == 0
        said = capsys.readouterr().out
        assert "usage: teardown figure" in said
        assert "--json" in said or line == ["figure", "--help"]


FLAGS = sorted(
    {word for line in EXAMPLES.values() for word in line.split() if word.startswith("--")} | {"--json", "--x"}
)
VALUES = sorted({word for line in EXAMPLES.values() for word in line.split() if not word.startswith("--")})
ANY_WORD = (
    st.sampled_from(FLAGS)
    | st.sampled_from(VALUES)
    | st.text(max_size=12)
    | st.from_regex(r"\A-?[0-9]{1,8}[a-z]{0,3}\Z")
)


@settings(max_examples=150)
@given(name=st.sampled_from(sorted(EXAMPLES)), changes=st.lists(st.tuples(st.integers(0, 30), ANY_WORD), max_size=4))
def test_no_command_line_ever_ends_in_a_traceback(
    name: str, changes: list[tuple[int, str]], closing_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = words(name, closing_file)
    for place, word in changes:
        line[2 + place % (len(line) - 2)] = word
    if {"-h", "--help"} & set(line):
        return
    status = main(line)
    out, err = capsys.readouterr()
    assert status in (0, 2)
    assert (status == 2) == (err != "")
    assert (status == 2) == (out == "")
    assert err.count("\n") == (status == 2)
    assert "Traceback" not in err
