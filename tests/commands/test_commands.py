"""new, show, enter: what they print, how they refuse, what status they end with."""

from __future__ import annotations

import errno
import io
import json
import os
import re
import shutil
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest

from teardown.car.facts import SIZE_FACTORS, read_facts
from teardown.cli import COMMANDS, NOT_PRINTED, main
from teardown.commands.show import WHAT
from teardown.packs.shipped import sample_car
from tests.commands.conftest import Run
from tests.world import PROCEDURES, World


def test_a_new_car_is_a_folder_with_facts_a_log_and_room_for_photos_and_sheets(car: Path) -> None:
    assert sorted(path.name for path in car.iterdir()) == ["car.toml", "log.jsonl", "photos", "sheets"]
    facts = read_facts(car / "car.toml")
    assert (facts.name, facts.goal, facts.who) == ("car", 1000.0, ("Ana",))


def test_what_nobody_answered_is_written_as_a_question_and_counts_as_fitted(car: Path, run: Run) -> None:
    assert "# knee-bag = true    # Is there a knee airbag?" in (car / "car.toml").read_text()
    route = json.loads(run("show", car, "--json")[1])["route"]
    assert next(step["state"] for step in route if step["step"] == "cabin.knee-out") == "waiting"


def test_a_car_is_never_set_up_over_another(car: Path, run: Run) -> None:
    before = (car / "car.toml").read_bytes()
    status, _, complaint = run("new", car)
    assert (status, complaint) == (2, f"teardown: {car} holds a car already: nothing was changed\n")
    assert (car / "car.toml").read_bytes() == before


def answer(monkeypatch: pytest.MonkeyPatch, *lines: str) -> list[str]:
    """Somebody sits at a terminal, types these lines and then the sign that there are no more; what they are asked."""
    left, asked = iter(lines), list[str]()

    def typed(question: str) -> str:
        asked.append(question)
        for line in left:
            return line
        raise EOFError

    monkeypatch.setattr("builtins.input", typed)
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    return asked


def test_new_asks_on_a_terminal_and_leaves_open_what_is_not_answered(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = ("Old Tin", "heavy", "1100kg", "", "huge", "Large", "diesel", "right", "", "", "Ana, Bo", "euro", "chf")
    private = ("WX51 ABC, 7", "WX51 ABC, Mill Lane")
    asked = answer(monkeypatch, *given, *private, "n", "", "maybe", "y", "")
    status, out, _ = run("new", tmp_path / "car")
    facts = read_facts(tmp_path / "car" / "car.toml")
    assert status == 0
    assert "19.4kg or 42.8lb" in out  # "heavy" was refused with an example, and asked again
    assert (facts.name, facts.goal, facts.steering, facts.who) == ("Old Tin", 1100.0, "right", ("Ana", "Bo"))
    assert "7: fewer than 4 letters or digits" in out
    assert facts.private == ("WX51 ABC", "Mill Lane")
    assert (facts.size, facts.fuel) == ("large", "diesel")
    assert "wanted the ISO 4217 code of a currency in use" in out
    assert facts.money.currency == "CHF"
    (size,) = {question for question in asked if "Class of car" in question}
    assert all(f"  {name}" in size for name in SIZE_FACTORS)  # each in plain words
    assert "wanted one of city, supermini, compact, mid-size, large or van" in out  # what "huge" was refused with
    assert facts.fitted == {"hybrid": False, "sunroof": True}


def test_new_holds_each_answer_against_the_facts_before_it_asks_the_next(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer(monkeypatch, "Rust\x1b[31my", "Rusty", "0kg", "1100kg", "", "", "", "middle", *[""] * 10)
    status, out, _ = run("new", tmp_path / "car")
    assert status == 0
    for wanted in ("plain text on one line", "a number above 0", "one of left or right"):
        assert f"  wanted {wanted}" in out
    assert read_facts(tmp_path / "car" / "car.toml").goal == 1100.0


def asked_of(asked: list[str]) -> list[str]:
    """The questions on one line each, as they were asked."""
    return [" ".join(question.split()) for question in asked]


FACTS_ASKED = 11
"""Before the questions about what is fitted."""


def test_back_returns_to_the_question_before_and_takes_its_answer_back(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rest = [""] * (FACTS_ASKED - 2)
    answer(monkeypatch, "b", "Rust", "900kg", "back", "b", "Tin", "", *rest, "y", "n", "B", "b", "n", "n", "n", "")
    status, out, _ = run("new", tmp_path / "car")
    assert status == 0
    for taken in ("900kg", "Rust", "n"):  # Enter alone would forget it: nobody forgets what they were not told of
        assert f"  taken back: {taken}. Type it again if it stands" in out
    facts = read_facts(tmp_path / "car" / "car.toml")
    assert (facts.name, facts.goal) == ("Tin", None)
    assert facts.fitted == {"hybrid": False, "knee-bag": False, "sunroof": False}


def test_how_many_questions_there_are_is_told_and_what_an_answer_settled_is_not_asked(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    procedures = tmp_path / "procedures"
    shutil.copytree(PROCEDURES, procedures)
    shared = procedures / "shared" / "shared.toml"
    shared.write_text(
        shared.read_text().replace('asks = "Is there a sunroof?"', 'asks = "Is there a sunroof?"\nonly_if = "knee-bag"')
    )
    monkeypatch.setattr("teardown.commands.new.procedures", lambda: procedures)
    asked = answer(monkeypatch, *[""] * FACTS_ASKED, "y", "n", "")
    assert run("new", tmp_path / "car")[0] == 0
    assert asked_of(asked)[-3:-1] == [
        "12 of 15: Is it a hybrid? [y/n/Enter]",
        "13 of 15: Is there a knee airbag? [y/n/Enter]",
    ]
    asked = answer(monkeypatch, *[""] * FACTS_ASKED, "", "y", "n", "")
    assert run("new", tmp_path / "other")[0] == 0
    assert asked_of(asked)[-2] == "14 of 15: Is there a sunroof? [y/n/Enter]"
    asked = answer(monkeypatch, *[""] * FACTS_ASKED, "", "")
    out = run("new", tmp_path / "third", "--fitted", "knee-bag=no")[1]
    assert asked_of(asked)[-2] == "12 of 13: Is it a hybrid? [y/n/Enter]"
    assert "which count as fitted: 2\n" in out


def test_questions_break_between_words_at_the_edge_of_the_terminal(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    asked = answer(monkeypatch, *[""] * (FACTS_ASKED + 4))
    _, out, _ = run("new", tmp_path / "car")
    lines = [line for text in (*asked, out.partition(" is set up")[0]) for line in text.splitlines()[:-1]]
    assert max(map(len, lines)) < 40
    words = {word for line in lines for word in line.split()}
    assert {"hatchback,", "motors", "counts"} & words


def test_the_currency_is_a_flag_too_and_where_nobody_said_it_the_one_taken_is_told(run: Run, tmp_path: Path) -> None:
    assert "Its money is in EUR. If that is wrong" in run("new", tmp_path / "car")[1]
    status, out, _ = run("new", tmp_path / "other", "--currency", "gbp")
    assert (status, "Its money" in out) == (0, False)
    assert read_facts(tmp_path / "other" / "car.toml").money.currency == "GBP"
    status, _, complaint = run("new", tmp_path / "third", "--currency", "pounds")
    assert status == 2
    assert "the ISO 4217 code of a currency in use" in complaint


def test_answers_that_end_too_soon_set_nothing_up(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answer(monkeypatch, "Rusty", "1100kg")
    status, _, complaint = run("new", tmp_path / "car")
    assert status == 2
    assert "the answers ended before the questions did: nothing was set up" in complaint
    assert not (tmp_path / "car").exists()


def test_a_rehearsal_that_finds_no_room_says_so(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no folder for scratch files can be written, tempfile raises as if there were none."""

    def none(*_: object, **__: object) -> str:
        raise FileNotFoundError(errno.ENOENT, "No usable temporary directory found in ['/tmp']")

    monkeypatch.setattr("tempfile.mkdtemp", none)
    status, _, complaint = run("try", "--plain")
    assert (status, "Name one: --folder DIR" in complaint) == (5, True)


def test_a_rehearsal_is_copied_whole_or_not_at_all(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half a copy would be walked as if it were whole, or as a car."""

    def half_a_copy(source: Path, to: Path) -> None:
        to.mkdir()
        (to / "car.toml").write_bytes((source / "car.toml").read_bytes())
        raise shutil.Error([("log.jsonl", "log.jsonl", "No space left on device")])

    monkeypatch.setattr("shutil.copytree", half_a_copy)
    status, _, complaint = run("try", "--folder", tmp_path / "try", "--plain")
    assert status == 5
    assert complaint.endswith("cannot be copied to " + f"{tmp_path / 'try'}: the disk is full, or does not do it\n")
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_leaves_no_half_car_that_could_be_neither_used_nor_set_up_again(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(descriptor: int, data: bytes) -> None:
        raise OSError(errno.ENOSPC, "no space")

    with monkeypatch.context() as broken:
        broken.setattr("teardown.car.logwriter.write_whole", full)
        status, _, complaint = run("new", tmp_path / "car")
    assert (status, "cannot be set up: the disk is full" in complaint) == (5, True)
    assert sorted(path.name for path in (tmp_path / "car").iterdir()) == ["photos", "sheets"]
    assert run("new", tmp_path / "car")[0] == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no disk that is always full")
@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("words", [("show", "--json"), ("verify",), ("enter", "note", "text=hello")])
def test_what_cannot_be_printed_is_told_in_a_sentence_and_what_was_written_stands(
    car: Path, words: tuple[str, ...], unbuffered: str
) -> None:
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), "PYTHONUNBUFFERED": unbuffered}
    command = [sys.executable, "-m", "teardown", words[0], str(car), *words[1:]]
    lines = len((car / "log.jsonl").read_bytes().splitlines())
    with open("/dev/full", "w") as full:
        told = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, env=env, check=False)
    assert told.returncode == 5
    assert "Traceback" not in told.stderr
    assert told.stderr.endswith(f"teardown: {NOT_PRINTED}\n")
    assert len((car / "log.jsonl").read_bytes().splitlines()) == lines + (words[0] == "enter")


def test_letters_that_cannot_be_shown_do_not_stop_the_program(car: Path) -> None:
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), "PYTHONIOENCODING": "ascii"}
    command = [sys.executable, "-m", "teardown", "enter", str(car), "note", "text=hello", "é=1"]
    told = subprocess.run(command, capture_output=True, env=env, check=False)
    assert told.returncode == 2
    assert re.search(rb"note: \?+= is not known here", told.stderr)


def test_the_name_of_a_folder_does_not_drive_the_terminal(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "car\x1b]0;owned\x07"
    told = [run("new", folder, "--name", "Tin"), run("sheet", folder, "record"), run("show", folder)]
    again = tmp_path / "again\x1b[31m"
    told.append(run("new", again, "--record", folder / "sheets" / "record-0001.toml"))
    assert [status for status, _, _ in told] == [0, 0, 0, 0]
    assert all("\x1b" not in out + complaint for _, out, complaint in told)
    assert all(folder.exists() for folder in (folder, again))


def test_what_is_private_is_a_flag_too_and_a_line_to_fill_in_where_nobody_said(run: Run, tmp_path: Path) -> None:
    assert run("new", tmp_path / "car", "--private", "WX51 ABC", "--private", "Mill Lane")[0] == 0
    assert read_facts(tmp_path / "car" / "car.toml").private == ("WX51 ABC", "Mill Lane")
    assert run("new", tmp_path / "other")[0] == 0
    text = (tmp_path / "other" / "car.toml").read_text()
    assert read_facts(tmp_path / "other" / "car.toml").private == ()
    (tmp_path / "other" / "car.toml").write_text(text.replace('# private = ["the plate",', 'private = ["WX51 ABC",'))
    assert read_facts(tmp_path / "other" / "car.toml").private[0] == "WX51 ABC"  # the line stands where it counts
    status, _, complaint = run("new", tmp_path / "third", "--private", "7")
    assert status == 2
    assert "private" in complaint
    assert not (tmp_path / "third").exists()


@pytest.mark.parametrize(("gate", "value", "write"), [
    ("battery-dead", "12", "12 has no unit: write 12V"),
    ("ice-meter", "1200", "1200 has no unit: write 1200ppm"),
    ("ice-meter", "plenty", "write 420ppm or 0.5%"),
])  # fmt: skip
def test_a_reading_that_is_none_is_wrong_use_and_gets_an_example(
    run: Run, car: Path, gate: str, value: str, write: str
) -> None:
    status, out, complaint = run("enter", car, "gate-reading", f"gate={gate}", f"value={value}")
    assert (status, out) == (2, "")
    assert complaint.startswith("teardown: gate-reading: value=: ")
    assert write in complaint


def test_a_flag_for_a_feature_nobody_knows_lists_those_that_are(run: Run, tmp_path: Path) -> None:
    status, _, complaint = run("new", tmp_path / "car", "--fitted", "wings=yes")
    assert status == 2
    assert "hybrid, knee-bag, sunroof" in complaint
    assert not (tmp_path / "car").exists()
    assert "(did you mean sunroof?)" in run("new", tmp_path / "car", "--fitted", "sunrof=no")[2]


def test_a_bad_reading_says_beside_its_number_what_to_do(car: Path, run: Run) -> None:
    reading = ("enter", car, "gate-reading", "gate=ice-meter", "value=16000ppm")
    why = "Carbon dioxide: the air counts as 15,000 ppm or more: work goes on below 2,000 ppm, held for 10 min\n"
    assert run(*reading) == (0, "2\n", f"Carbon dioxide: Everyone away.\n{why}")
    assert json.loads(run(*reading, "--json")[1])["do"] == ["Carbon dioxide: Everyone away."]
    told = run("enter", car, "gate-reading", "gate=battery-dead", "value=0.1V")[2]
    assert told.startswith("Carbon dioxide: Everyone away.\nLeads dead: ")
    assert run("enter", car, "note", "text=x") == (0, "5\n", "")


def test_a_reading_out_of_its_range_is_written_and_says_that_its_gate_does_not_stand(car: Path, run: Run) -> None:
    reading = ("enter", car, "gate-reading", "gate=battery-dead")
    for n in (1, 2, 3):
        run("enter", car, "gate-tick", "gate=battery", f"tick={n}")
    assert run(*reading, "value=6V")[::2] == (0, "Leads dead: you read 6 V; it must be below 0.5 V\n")
    told = json.loads(run(*reading, "value=6V", "--json")[1])["gate"]
    assert (told["gate"], told["stands"]) == ("battery-dead", False)
    assert told["why"] == "you read 6 V; it must be below 0.5 V"
    assert run(*reading, "value=0.1V")[::2] == (0, "")
    assert json.loads(run(*reading, "value=0.1V", "--json")[1])["gate"]["stands"]


def _ready_to_lay_ice(car: Path, run: Run) -> None:
    with (car / "car.toml").open("a") as facts:
        facts.write('[room]\nplace = "outdoors"\nfan = "4000m3/h"\n')
    for module in ("driver-bag", "knee-bag"):
        run("enter", car, "not-there", f"module={module}", "why=looked behind the cover")
    for n in (1, 2):
        assert run("enter", car, "gate-tick", "gate=ice-place", f"tick={n}")[0] == 0


def test_ice_above_the_limit_is_written_and_says_so_with_its_working(car: Path, run: Run) -> None:
    _ready_to_lay_ice(car, run)
    ice = ("enter", car, "gate-figure", "gate=ice-room")
    status, out, said = run(*ice, "ice=60kg")
    assert (status, out) == (0, "6\n")
    first, *working = said.splitlines()
    assert "60.0 kg of ice would bring the cabin to" in first
    assert working[0].startswith("60.0 kg of ice makes 32.")
    told = json.loads(run(*ice, "ice=60kg", "--json")[1])["gate"]
    assert (told["stands"], told["working"]) == (False, working)


def test_show_gates_tells_how_a_figure_that_stands_came_about(car: Path, run: Run) -> None:
    _ready_to_lay_ice(car, run)
    assert run("enter", car, "gate-figure", "gate=ice-room", "ice=1kg")[2] == ""
    lines = run("show", car, "gates")[1].splitlines()
    at = next(n for n, line in enumerate(lines) if " ice-room " in line)
    assert lines[at].startswith("stands")
    assert lines[at + 1].strip().startswith("1.0 kg of ice makes 0.5 m3 of gas")
    assert "kg of ice makes" not in run("show", car)[1]


def test_show_of_one_thing_as_json_prints_only_that(car: Path, run: Run) -> None:
    whole = json.loads(run("show", car, "--json")[1])
    for what in WHAT[1:]:
        told = json.loads(run("show", car, what, "--json")[1])
        assert told == {key: whole[key] for key in ("damage", "car", "rehearsal", "entries", what)}
    assert {"questions", "welder_date", "mass", *WHAT[1:]} < whole.keys()


def test_bags_are_told_as_json_too(car: Path, run: Run) -> None:
    bags = json.loads(run("show", car, "bags", "--json")[1])["bags"]
    assert [bag["bag"] for bag in bags] == sorted(bag["bag"] for bag in bags)
    assert bags[0].keys() == {"bag", "step", "holds", "parts", "filled"}
    assert not bags[0]["filled"]


def test_the_date_with_the_welder_is_told_with_the_days_to_it(car: Path, run: Run) -> None:
    assert "welder" not in run("show", car)[1]
    text = (car / "car.toml").read_text()
    day = date.today() + timedelta(days=2)
    (car / "car.toml").write_text(f"welder_date = {day}\n{text}")
    assert f"welder on {day}: 2 days from today\n" in run("show", car)[1]
    assert json.loads(run("show", car, "--json")[1])["welder_date"] == str(day)


def test_where_the_car_stands_tells_what_bad_air_orders(car: Path, run: Run) -> None:
    run("enter", car, "gate-reading", "gate=ice-meter", "value=16000ppm")
    out = run("show", car, "gates")[1]
    assert "Carbon dioxide: Everyone away.\n" in out
    assert "SHUT       ice-meter            Carbon dioxide: Everyone away. (the air counts as 15,000" in out
    gates = {gate["gate"]: gate for gate in json.loads(run("show", car, "--json")[1])["gates"]}
    assert gates["ice-meter"]["do"] == "Everyone away."
    assert gates["ice-meter"]["why"].startswith("the air counts as 15,000 ppm or more")
    assert gates["battery"]["do"] is None


def test_an_entry_prints_its_number(car: Path, run: Run) -> None:
    assert run("enter", car, "step-done", "step=safe.look")[:2] == (0, "2\n")


def test_a_refusal_says_why_and_which_gate_and_ends_with_status_3(car: Path, run: Run) -> None:
    run("enter", car, "step-done", "step=safe.look")
    status, out, complaint = run("enter", car, "step-done", "step=safe.isolate")
    assert (status, out) == (3, "")
    assert complaint == "teardown: refused: shut: Battery off: 0 of 3 lines confirmed (gate: battery)\n"


@pytest.mark.parametrize(("words", "complaint"), [
    (["step-don", "step=safe.look"], "did you mean step-done?"),
    (["step-done", "stp=safe.look"], "stp= is not known here (did you mean step?)"),
    (["step-done"], "step= is missing"),
    (["step-done", "safe.look"], "'safe.look' is not key=value"),
    (["step-done", "step=safe.look", "step=safe.mats"], "step= is there twice"),
    (["part-weighed", "part=mats", "reading=19.4"], "19.4 has no unit"),
    (["opened", "format=1", "program=x"], "no entry is called 'opened'"),
])  # fmt: skip
def test_words_that_make_no_entry_end_with_status_2_and_the_reason(
    car: Path, run: Run, words: list[str], complaint: str
) -> None:
    status, _, said = run("enter", car, *words)
    assert status == 2
    assert complaint in said


def test_a_step_nobody_knows_is_refused_with_the_nearest_one(car: Path, run: Run) -> None:
    status, _, complaint = run("enter", car, "step-done", "step=safe.luk")
    assert status == 3
    assert "did you mean safe.look?" in complaint


def test_show_prints_every_fact_as_json(car: Path, run: Run) -> None:
    run("enter", car, "step-done", "step=safe.look")
    run("enter", car, "step-done", "step=safe.mats")
    run("enter", car, "part-weighed", "part=mats", "reading=4.41lb")
    data = json.loads(run("show", car, "--json")[1])
    assert data["mass"]["now_kg"] == pytest.approx(1198.0, abs=0.01)
    assert data["mass"]["to_go_kg"] == pytest.approx(198.0, abs=0.01)
    assert (data["car"], data["entries"]) == ("car", 4)
    mats = next(part for part in data["parts"] if part["part"] == "mats")
    assert mats | {"state": "off", "fate": "undecided", "weighed": "direct"} == mats
    battery = next(gate for gate in data["gates"] if gate["gate"] == "battery")
    assert battery["ticks"][0] == {"n": 1, "says": "Negative off, tied back.", "done": False}
    isolate = next(step for step in data["route"] if step["step"] == "safe.isolate")
    assert (isolate["state"], isolate["shut_by"]) == ("shut", ["battery"])
    wait = next(gate for gate in data["gates"] if gate["gate"] == "airbag-wait")
    assert wait["wait_left_s"] == 1800


def test_show_says_what_is_asked_for_a_lot_and_what_left_it(car: Path, run: Run) -> None:
    run("enter", car, "listed", "part=mats", "along=driver-seat", "ask=90", "floor=70")
    assert "Floor mats: about 3.0 kg, undecided, asked 90.00 EUR for a lot of 2\n" in run("show", car, "parts")[1]
    asked = "asked 90.00 EUR, floor 70.00 EUR  lot of 2: Floor mats; Driver seat, 22.0 kg\n"
    assert asked in run("show", car, "money")[1]
    run("enter", car, "sold", "part=mats", "amount=20")
    assert "Floor mats: about 3.0 kg, undecided, sold: net 20.00 EUR\n" in run("show", car, "parts")[1]
    said = "NOT IN IT ANY MORE: Floor mats (sold): list what is left anew"
    assert said in run("show", car, "money")[1]
    (offer,) = json.loads(run("show", car, "--json")[1])["money"]["offers"]
    assert offer == {
        "parts": ["driver-seat"],
        "asked": None,
        "floor": None,
        "kg": 19,
        "not_in_it_any_more": ["Floor mats (sold)"],
    }


def test_show_parts_tells_what_is_good_to_know_and_what_buyers_ask(car: Path, run: Run) -> None:
    detail = ["Wet mats weigh twice as much.", "buyers ask: Clean? A matching set? Any holes?"]
    lines = run("show", car, "parts")[1].splitlines()
    at = next(n for n, line in enumerate(lines) if " mats " in line)
    assert [line.strip() for line in lines[at + 1 : at + 3]] == detail
    assert not any(words in run("show", car)[1] for words in detail)
    parts = json.loads(run("show", car, "--json")[1])["parts"]
    assert next((p["note"], f"buyers ask: {p['buyers_ask']}") for p in parts if p["part"] == "mats") == tuple(detail)


def test_show_parts_tells_what_was_typed_how_it_was_weighed_and_how_many_pieces(car: Path, run: Run) -> None:
    run("enter", car, "part-weighed", "part=mats", "reading=84.4lb", "without=80lb", "wet=yes", "complete=yes")
    run("enter", car, "part-found", "name=Gear oil", "reading=2kg", "count=3", "counts=fluid")
    text = run("show", car, "parts")[1]
    assert "read 84.4lb less 80lb, difference, wet, complete\n" in text
    assert "read 2kg, direct, 3 pieces\n" in text
    assert "fluid: no kilo off the car\n" in text
    parts = {part["part"]: part for part in json.loads(run("show", car, "--json")[1])["parts"]}
    told = parts["mats"]
    assert (told["read"], told["weighed"], told["noted"]) == ("84.4lb less 80lb", "difference", "wet, complete")
    assert (parts["found-3"]["pieces"], parts["found-3"]["counts"], parts["found-3"]["live"]) == (3, "fluid", False)


def test_what_was_never_weighed_is_told_of_all_that_is_off_and_not_only_since_the_last_weighing(
    car: Path, run: Run
) -> None:
    run("enter", car, "step-done", "step=safe.look")
    run("enter", car, "step-done", "step=safe.mats")
    run("enter", car, "car-weighed", "total=1197kg")
    assert "(3.0 kg of what is off was never weighed)" in run("show", car)[1]
    mass = json.loads(run("show", car, "--json")[1])["mass"]
    assert (mass["never_weighed_kg"], mass["estimated_kg"]) == (3, 0)


def test_a_weighing_far_from_what_is_known_is_written_and_asked_about(car: Path, run: Run) -> None:
    status, out, asked = run("enter", car, "car-weighed", "total=1193kg;119.4kg")
    assert (status, out) == (0, "2\n")
    assert "the readings are 1073.6 kg apart" in asked
    assert "undo entry=2" in asked


def test_show_never_changes_the_folder(car: Path, run: Run) -> None:
    before = {path.name: path.read_bytes() for path in car.iterdir() if path.is_file()}
    run("show", car)
    assert {path.name: path.read_bytes() for path in car.iterdir() if path.is_file()} == before


@pytest.mark.parametrize("command", ["show", "walk", "enter", "verify"])
def test_a_folder_that_holds_no_car_is_told(run: Run, tmp_path: Path, command: str) -> None:
    words = ["step-done", "step=a.b"] if command == "enter" else ["--plain"] if command == "walk" else []
    status, _, complaint = run(command, tmp_path, *words)
    assert status == 2
    assert str(tmp_path) in complaint


def test_facts_that_cannot_be_read_are_told_all_at_once(car: Path, run: Run) -> None:
    (car / "car.toml").write_text('nam = "x"\ngoal = "heavy"\n[room]\nplace = "attic"\n')
    status, _, complaint = run("show", car)
    assert status == 2
    assert all(word in complaint for word in ("nam", "goal", "room.place", "name"))


def test_a_rehearsal_is_refused_as_a_car_and_a_car_as_a_rehearsal(tmp_path: Path, run: Run, car: Path) -> None:
    World(tmp_path / "try", rehearsal=True).car.close()
    status, _, complaint = run("enter", tmp_path / "try", "note", "text=hello")
    assert status == 3
    assert "is a REHEARSAL, not a car" in complaint
    status, _, complaint = run("enter", car, "note", "text=hello", "--rehearsal")
    assert status == 3
    assert "is a real car" in complaint


def test_a_second_writer_is_told_and_a_reader_is_not(tmp_path: Path, run: Run) -> None:
    world = World(tmp_path / "car")
    status, _, complaint = run("enter", world.folder, "note", "text=hello")
    assert status == 5
    assert "another program" in complaint
    assert run("show", world.folder)[0] == 0


def test_walk_without_a_terminal_says_what_to_use_instead(car: Path, run: Run) -> None:
    status, _, complaint = run("walk", car)
    assert status == 2
    assert "--plain" in complaint


def test_a_rehearsal_without_a_terminal_points_at_no_scratch_copy_that_is_gone(tmp_path: Path, run: Run) -> None:
    told = "teardown: the screen needs a terminal. Line by line: teardown try"
    assert run("try") == (2, "", f"{told} --plain\n")
    assert run("try", "--folder", tmp_path / "kept") == (2, "", f"{told} --folder {tmp_path / 'kept'} --plain\n")
    assert not (tmp_path / "kept").exists()


@pytest.mark.parametrize(("words", "wrong"), [
    ([], "teardown: name a command"),
    (["shw"], "teardown: no command is called shw (did you mean show?)"),
    (["--frob"], "teardown: unrecognized arguments: --frob"),
])  # fmt: skip
def test_who_names_no_command_sees_them_all_and_status_2(run: Run, words: list[str], wrong: str) -> None:
    status, out, said = run(*words)
    assert (status, out) == (2, "")
    assert said.startswith(f"{wrong}\n\ncommands:\n")
    assert all(f"\n  {name} " in said for name in COMMANDS)


def test_the_program_also_runs_as_a_module() -> None:
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    told = subprocess.run(
        [sys.executable, "-m", "teardown", "--help"], capture_output=True, text=True, env=env, check=True
    )
    assert "teardown try" in told.stdout


def test_a_damaged_log_is_read_as_far_as_it_stands_and_told_with_status_4(car: Path, run: Run) -> None:
    run("enter", car, "step-done", "step=safe.look")
    run("enter", car, "step-done", "step=safe.mats")
    lines = (car / "log.jsonl").read_bytes().splitlines(keepends=True)
    lines[1] = lines[1].replace(b"safe.look", b"safe.lock")
    (car / "log.jsonl").write_bytes(b"".join(lines))
    status, out, complaint = run("show", car)
    assert (status, "car: 1 entry\n" in out) == (4, True)
    assert "damaged in line 2" in complaint
    status, _, complaint = run("enter", car, "note", "text=hello")
    assert status == 4
    assert "damaged in line 2" in complaint


def test_who_looks_through_a_damaged_log_is_told_so_by_the_status_too(
    car: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("quit\n"))
    run("enter", car, "note", "text=hello")
    (car / "log.jsonl").write_bytes((car / "log.jsonl").read_bytes().replace(b"hello", b"hullo"))
    status, out, complaint = run("walk", car, "--plain")
    assert (status, "Opened to read only" in complaint) == (4, True)
    assert "Look for high voltage" in out


PROMISED = {
    "mass": {"now_kg", "goal_kg", "to_go_kg"},
    "route": {"step", "title", "pack", "state", "hazards", "shut_by"},
    "gates": {"gate", "kind", "stands", "why", "ticks", "wait_left_s"},
    "parts": {"part", "name", "state", "mass_kg", "fate"},
}
STATES = {"done", "ready", "shut", "waiting", "skipped", "deferred", "kept", "not-fitted"}


def test_every_field_that_other_programs_were_promised_is_in_the_json(capsys: pytest.CaptureFixture[str]) -> None:
    """On the sample car, whose steps stand in every way but skipped."""
    assert main(["show", str(sample_car()), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {"car", "entries", *PROMISED} <= told.keys()
    for name, fields in PROMISED.items():
        assert all(fields <= one.keys() for one in ([told[name]] if name == "mass" else told[name])), name
    assert {tuple(tick) for gate in told["gates"] for tick in gate["ticks"]} == {("n", "says", "done")}
    assert {step["state"] for step in told["route"]} == STATES - {"skipped"}


def test_a_log_that_was_taken_away_is_not_begun_anew(car: Path, run: Run) -> None:
    (car / "log.jsonl").unlink()
    for command in (("show",), ("enter",)):
        status, _, complaint = run(*command, car, *(["note", "text=hello"] if command == ("enter",) else []))
        assert status == 2
        assert "holds car.toml but no log.jsonl: put that back from a copy" in complaint
    assert not (car / "log.jsonl").exists()


def test_show_tells_where_bolts_go(car: Path, run: Run) -> None:
    assert "BAG 1: Driver seat out (Driver seat): 4 bolts E12, not filled yet" in run("show", car, "bags")[1]


@pytest.mark.parametrize(("words", "asked"), [
    (["part-weighed", "part=driver-seat", "reading=1.94kg"], "1.94 or 19.4? 1.94kg is written"),
    (["part-weighed", "part=driver-seat", "reading=430lb"], "430 or 43? 430lb is written"),
    (["part-weighed", "part=driver-seat", "reading=81.9kg", "how=difference", "without=80kg"], "1.9 or 19?"),
    (["parts-weighed", "parts=driver-seat,mats", "reading=2.2kg"], "2.2 or 22?"),
])  # fmt: skip
def test_a_reading_far_off_is_written_and_asked_about(car: Path, run: Run, words: list[str], asked: str) -> None:
    status, out, complaint = run("enter", car, *words)
    assert (status, out) == (0, "2\n")
    assert complaint.startswith(asked)
    assert complaint.endswith("if it is wrong: undo entry=2\n")


def test_an_ordinary_reading_is_not_asked_about(car: Path, run: Run) -> None:
    assert run("enter", car, "part-weighed", "part=driver-seat", "reading=43lb") == (0, "2\n", "")


@pytest.mark.parametrize("words", [
    ["part-weighed", "part=mats", "reading=1000000kg"],
    ["parts-weighed", "parts=mats,driver-seat", "reading=501kg"],
    ["part-found", "name=jack", "reading=501kg"],
    ["part-fitted", "name=cage", "reading=501kg"],
])  # fmt: skip
def test_what_no_part_of_a_car_can_weigh_is_refused_with_the_limit(car: Path, run: Run, words: list[str]) -> None:
    status, _, complaint = run("enter", car, *words)
    assert status == 3
    assert "no part of a car weighs that (limit 500 kg)" in complaint


def test_a_note_is_on_a_step_there_is(car: Path, run: Run) -> None:
    status, _, complaint = run("enter", car, "note", "text=so", "step=safe.lok")
    assert status == 3
    assert "no step is called safe.lok" in complaint
    assert "did you mean safe.look?" in complaint


def test_what_was_found_and_what_was_fitted_are_among_the_parts(car: Path, run: Run) -> None:
    run("enter", car, "part-found", "name=old jack", "reading=4kg")
    run("enter", car, "part-fitted", "name=fire bottle", "reading=6kg")
    text = run("show", car, "parts")[1]
    assert re.search(r"^off +found-2 +old jack: 4.0 kg, undecided$", text, re.MULTILINE)
    assert re.search(r"^fitted +fitted-3 +fire bottle: 6.0 kg, undecided$", text, re.MULTILINE)
    parts = {part["part"]: part for part in json.loads(run("show", car, "--json")[1])["parts"]}
    assert (parts["found-2"]["state"], parts["found-2"]["step"], parts["found-2"]["mass_kg"]) == ("off", None, 4)
    assert (parts["fitted-3"]["state"], parts["fitted-3"]["counts"]) == ("fitted", "added")
    assert parts["mats"]["state"] == "on"


@pytest.mark.parametrize(("words", "asks"), [
    (("reading=3.2kg",), ""),
    (("reading=32kg",), "32 or 3.2? 32kg is written; if it is wrong: undo entry=2\n"),
    (("reading=0.66lb", "wet=yes"), "0.66 or 6.6? 0.66lb is written; if it is wrong: undo entry=2\n"),
    (("how=estimate",), ""),
])  # fmt: skip
def test_a_mass_far_outside_the_packs_is_written_and_asked_about(
    run: Run, car: Path, words: tuple[str, ...], asks: str
) -> None:
    status, printed, complaint = run("enter", car, "part-weighed", "part=mats", *words)
    assert (status, printed) == (0, "2\n")
    assert complaint == asks


def test_a_question_about_the_car_is_answered_from_the_command_line_with_the_same_refusals(car: Path, run: Run) -> None:
    drops = "Nobody asks any more for: LIVE Knee airbag, the step Knee airbag out\n"
    assert run("enter", car, "car-answered", "feature=knee-bag", "fitted=no") == (0, "2\n", drops)
    assert "knee-bag = false    # Is there a knee airbag?" in (car / "car.toml").read_text()
    assert run("enter", car, "car-answered", "feature=knee-bga", "fitted=no")[0] == 3
    assert run("enter", car, "car-answered", "feature=knee-bag", "fitted=perhaps")[0] == 2
    assert run("enter", car, "rule-answered", "rule=door-cards", "keep=yes", "says=club 5.2")[:2] == (0, "3\n")
    route = json.loads(run("show", car, "--json")[1])["route"]
    states = {step["step"]: step["state"] for step in route}
    assert (states["cabin.knee-out"], states["cabin.card-off"]) == ("not-fitted", "kept")
    assert run("verify", car)[0] == 0


def test_show_answers_tells_every_question_about_the_car_and_who_answered_it(car: Path, run: Run) -> None:
    for feature in ("knee-bag", "hybrid"):
        run("enter", car, "car-answered", f"feature={feature}", "fitted=no")
    lines = run("show", car, "answers")[1].splitlines()
    assert re.search(r"^no +fitted.knee-bag +Is there a knee airbag\? \(Ana, [0-9-]{10}, entry 2\)$", lines[-4])
    assert re.search(r"^unknown +fitted.sunroof +Is there a sunroof\? OPEN$", "\n".join(lines), re.MULTILINE)
    told = {one["question"]: one for one in json.loads(run("show", car, "answers", "--json")[1])["answers"]}
    assert told["fitted.knee-bag"].pop("by").startswith("Ana, ")
    assert told["fitted.knee-bag"] == {
        "question": "fitted.knee-bag",
        "asks": "Is there a knee airbag?",
        "answer": "no",
        "open": False,
    }
    assert (told["fitted.sunroof"]["open"], told["fitted.sunroof"]["by"]) == (True, None)
    assert (told["rules.door-cards"]["answer"], told["rules.door-cards"]["open"]) == ("unknown", True)


def test_an_answer_that_shuts_a_gate_says_so(car: Path, run: Run) -> None:
    run("enter", car, "car-answered", "feature=second-source", "fitted=no")
    for n in (1, 2, 3):
        run("enter", car, "gate-tick", "gate=battery", f"tick={n}")
    answer = ("enter", car, "car-answered", "feature=second-source", "fitted=unknown", "--json")
    status, out, said = run(*answer)
    assert (status, said) == (0, "Shut now: Battery off\n")
    assert json.loads(out)["changed"] == ["Shut now: Battery off"]


def test_a_sheet_that_meets_a_full_disk_says_so(car: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "no space")

    monkeypatch.setattr("teardown.commands.sheet.write_sheet", full)
    told = "teardown: the sheet was not written, and nothing of it is there: the disk is full\n"
    assert run("sheet", car, "weights") == (5, "", told)


def test_what_was_changed_by_hand_after_an_answer_is_told_whenever_the_car_is_opened(car: Path, run: Run) -> None:
    run("enter", car, "car-answered", "feature=knee-bag", "fitted=no")
    text = (car / "car.toml").read_text()
    (car / "car.toml").write_text(text.replace("knee-bag = false", "knee-bag = true"))
    complaint = run("show", car)[2]
    assert "Is there a knee airbag? Here it was answered NO (Ana, " in complaint
    assert "car.toml says YES, and that counts" in complaint
