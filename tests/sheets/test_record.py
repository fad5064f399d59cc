"""The record: the whole car as TOML, read back into the same state."""

from __future__ import annotations

import codecs
import json
import os
import shutil
import tempfile
import tomllib
from datetime import date
from pathlib import Path

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.door import open_car
from teardown.car.log import line_of, read_log
from teardown.car.record import WrongRecord, read_record, record_text, set_up_from
from teardown.car.steps import look_around
from teardown.cli import main
from teardown.commands.show import as_data, as_text
from teardown.packs.model import WaitGate
from teardown.packs.problems import PackError
from tests.sheets.conftest import A_TEMPLATE_AND_A_HANDLER, filled
from tests.world import FACTS, PROCEDURES, World

words = st.text(min_size=1, max_size=60).filter(lambda text: text.encode("utf-8", "ignore").decode().strip() != "")
masses = st.decimals(min_value="0.01", max_value=90, places=2, allow_nan=False).map(lambda kg: f"{kg}kg")
lots = st.fixed_dictionaries(
    {"part": st.sampled_from(("mats", "driver-seat"))}, optional={"along": st.sampled_from(("pads", "mats,pads"))}
)
drafts = st.lists(
    st.one_of(
        st.tuples(st.just("note"), st.fixed_dictionaries({"text": words})),
        st.tuples(st.just("part-found"), st.fixed_dictionaries({"name": words, "reading": masses})),
        st.tuples(st.just("part-weighed"), st.fixed_dictionaries({"part": st.just("mats"), "reading": masses})),
        st.tuples(st.just("car-weighed"), st.fixed_dictionaries({"total": masses, "fuel": st.just("40L")})),
        st.tuples(st.just("cost"), st.fixed_dictionaries({"amount": st.just("12.50"), "what": words})),
        st.tuples(st.sampled_from(("listed", "sold")), lots),
        st.tuples(st.just("step-done"), st.fixed_dictionaries({"step": st.sampled_from(("safe.look", "safe.mats"))})),
        st.tuples(st.just("gate-tick"), st.fixed_dictionaries({"gate": st.just("battery"), "tick": st.integers(1, 3)})),
        st.tuples(st.just("undo"), st.fixed_dictionaries({"entry": st.integers(1, 12)})),
        st.tuples(st.just("step-done"), st.fixed_dictionaries({"step": st.sampled_from(("net.net", "other.net"))})),
        st.tuples(st.just("part-weighed"), st.fixed_dictionaries({"part": st.just("net"), "reading": masses})),
    ),
    max_size=12,
)

NET = """
id = "{id}"
title = "Luggage net"
why = "It goes first."
[[steps]]
id = "net"
title = "Luggage net"
do = "Undo the four hooks. Lift the net out."
minutes = [1, 2, 3]
fasteners = [{{ count = [4, 4], what = "hooks", fate = "bag" }}]
"""
PART = """
[[steps.parts]]
id = "net"
name = "Net"
kg = [0.1, 0.2, 0.3]
material = "cord"
place = { x = 0.9, y = "0", z = 0.6 }
fate = "sell"
"""
LONGER_WAIT = """
[[gates]]
id = "airbag-wait"
kind = "wait"
title = "Airbag wait"
why = "Only time empties it."
follows = ["battery"]
unknown_min = 60
floor_min = 10
source = "invented for tests"
"""


def own_packs(folder: Path, named: str | None) -> str:
    """A car's own packs, in `packs` and in the folder named; gives back car.toml for them."""
    here = folder / (named or "packs")
    for where, name, text in (
        (folder / "packs", "other.toml", NET.format(id="other")),
        (here, "net\u00e9.toml", NET.format(id="net") + PART),
        (here / "shared", "gates.toml", LONGER_WAIT),
    ):
        where.mkdir(parents=True, exist_ok=True)
        (where / name).write_text(text)
    return f"packs = {json.dumps(named)}\n{FACTS}" if named else FACTS


def told(world: World) -> tuple[str, str]:
    """All that can be asked of a car, as data and as text."""
    standing = look_around(world.car.folded, world.clock.now())
    texts = [as_text(standing, what, date(2026, 11, 25)) for what in ("all", "money", "closing", "balance")]
    return json.dumps(as_data(standing), sort_keys=True), json.dumps(texts)


@pytest.mark.parametrize("packs", [None, "packs", "own", "deep/own/", ".", "../club", "/ABSOLUTE/club"])
@given(drafts)
@settings(max_examples=8)
def test_a_car_read_back_from_its_record_is_the_same_car(
    packs: str | None, entries: list[tuple[str, dict[str, object]]]
) -> None:
    with tempfile.TemporaryDirectory() as at_home, tempfile.TemporaryDirectory() as away:
        folder, named = Path(at_home) / "car", packs.replace("/ABSOLUTE", at_home) if packs else None
        world = World(folder, own_packs(folder, named))
        for kind, fields in entries:
            money = {"listed": {"ask": "40"}, "sold": {"amount": "30"}}.get(kind, {})
            try:
                world.enter(kind, **fields | money)
            except ValueError:
                continue  # words that make no entry
        record = Path(away) / "record.toml"
        record.write_text(record_text(folder), encoding="utf-8", newline="")
        world.car.close()
        shutil.rmtree(at_home)  # nothing of the car is left but its record
        again = World.__new__(World)
        again.folder, again.clock, again.rehearsal = Path(away) / "again", world.clock, False
        held = set_up_from(record, again.folder)
        again.car = again.opened()
        assert told(again) == told(world)
        assert list(again.state.route.by_ref) == list(world.car.folded.route.by_ref)
        assert {"net.net", "other.net"} <= set(again.state.route.by_ref)
        (wait,) = again.state.route.waits
        assert isinstance(wait, WaitGate)
        assert wait.unknown_min == 60
        assert again.car.facts.model_copy(update={"packs": named}) == world.car.facts
        assert (again.folder / "log.jsonl").read_bytes() == b"".join(held.lines)
        assert len(held.entries) == world.car.folded.entries
        again.car.close()
        os.makedirs(at_home)  # the context manager takes it away


def test_the_record_of_a_hostile_car_is_toml_and_comes_back_to_the_byte(tmp_path: Path) -> None:
    world = filled(tmp_path / "car", name=A_TEMPLATE_AND_A_HANDLER)
    text = record_text(world.folder)
    assert len(tomllib.loads(text)["entries"]) == world.state.entries
    assert b"".join(read_record(text).lines) == (world.folder / "log.jsonl").read_bytes()


def test_a_strangers_log_that_no_record_can_hold_is_told_and_is_no_traceback(
    world: World, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The digests fit, and one value is nothing at all."""
    path = world.folder / "log.jsonl"
    last = list(read_log(path))[-1]
    line, _ = line_of(last.n + 1, world.clock.now(), "x", "note", {"text": "x", "step": None}, last.digest)
    path.write_bytes(path.read_bytes() + line)
    monkeypatch.setattr("teardown.car.door.procedures", lambda: PROCEDURES)
    assert main(["sheet", str(world.folder), "record"]) == 5
    assert "the log holds something that a record cannot" in capsys.readouterr().err
    assert not any((world.folder / "sheets").iterdir())


def test_what_was_changed_in_the_record_is_found_with_its_entry(world: World) -> None:
    text = record_text(world.folder).replace("3.2kg", "2.3kg", 1)
    with pytest.raises(WrongRecord, match=r"entry \d+ is not as it was recorded"):
        read_record(text)


@pytest.mark.parametrize(("text", "why"), [
    ("record = 1", "not a record of a car"),
    ("x = ", "not TOML"),
    ("record = 9", "format 9"),
    ('record = 1\nfacts = "name = \'x\'"\nentries = [1]', "not a record of a car"),
])  # fmt: skip
def test_a_file_that_is_no_record_is_refused(text: str, why: str) -> None:
    with pytest.raises(WrongRecord, match=why):
        read_record(text)


def test_a_record_is_never_read_back_over_a_car(world: World, tmp_path: Path) -> None:
    record = tmp_path / "record.toml"
    record.write_text(record_text(world.folder))
    before = (world.folder / "log.jsonl").read_bytes()
    with pytest.raises(FileExistsError, match="is there already and not empty"):
        set_up_from(record, world.folder)
    assert (world.folder / "log.jsonl").read_bytes() == before


def test_the_command_writes_the_record_and_sets_a_car_up_again_from_it(
    world: World, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("teardown.car.door.procedures", lambda: PROCEDURES)
    monkeypatch.setattr("teardown.commands.new.procedures", lambda: PROCEDURES)
    world.car.close()
    assert main(["sheet", str(world.folder), "record", "--json"]) == 0
    (record,) = json.loads(capsys.readouterr().out)["files"]
    assert main(["new", str(tmp_path / "again"), "--record", record]) == 0
    assert f"with {world.car.folded.entries} entries" in capsys.readouterr().out
    with open_car(tmp_path / "again", world.clock, write=False, packs=PROCEDURES) as again:
        assert again.folded.entries == world.car.folded.entries
    assert main(["new", str(tmp_path / "again"), "--record", record]) == 2


# -- the car's own packs, from whoever the record may come


def record_with(world: World, *files: str, text: object = "id = ") -> str:
    """A record as it was written, with packs put in by hand."""
    record = tomllib.loads(record_text(world.folder))
    return tomli_w.dumps(record | {"packs": [{"file": file, "text": text} for file in files]})


def set_up(tmp_path: Path, text: str) -> Path:
    (tmp_path / "record.toml").write_text(text)
    set_up_from(tmp_path / "record.toml", tmp_path / "again")
    return tmp_path / "again"


@pytest.mark.parametrize("file", [
    "../evil.toml",
    "packs/../../evil.toml",
    "/tmp/evil.toml",
    "packs\\..\\..\\evil.toml",
    "C:evil.toml",
    "packs/evil.py",
    "packs/\u202elmot.toml",
    "photos/evil.toml",
    "evil.toml",
    "packs/deeper/evil.toml",
    "",
])  # fmt: skip
def test_a_record_puts_packs_where_packs_are_read_from_and_nowhere_else(
    world: World, tmp_path: Path, file: str
) -> None:
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(WrongRecord, match="is no place for a pack"):
        set_up(tmp_path, record_with(world, file))
    assert sorted(tmp_path.rglob("*")) == sorted([*before, tmp_path / "record.toml"])


def test_a_record_writes_no_pack_over_the_facts(world: World, tmp_path: Path) -> None:
    text = record_with(world, "car.toml").replace('facts = "', "facts = \"packs = '.'\\n", 1)
    with pytest.raises(FileExistsError):
        set_up(tmp_path, text)
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize(("files", "text"), [(("packs/a.toml", "packs/a.toml"), ""), (("packs/a.toml",), 7)])
def test_a_pack_held_twice_or_that_is_no_text_is_refused(world: World, files: tuple[str, ...], text: object) -> None:
    with pytest.raises(WrongRecord, match="is no place for a pack"):
        read_record(record_with(world, *files, text=text))


def test_a_record_names_no_folder_of_packs_outside_of_the_car(world: World, tmp_path: Path) -> None:
    text = record_text(world.folder).replace('facts = "', "facts = \"packs = '../club'\\n", 1)
    with pytest.raises(WrongRecord, match="no folder of this car's own"):
        set_up(tmp_path, text)


def test_packs_of_a_folder_outside_lie_inside_afterwards_and_car_toml_says_where_they_were(tmp_path: Path) -> None:
    world = World(tmp_path / "car", own_packs(tmp_path / "car", "../club"))
    world.car.close()
    again = set_up(tmp_path, record_text(world.folder))
    assert 'packs = "packs-from-elsewhere"  # when this was recorded: ../club' in (again / "car.toml").read_text()
    assert sorted(path.relative_to(again).as_posix() for path in again.rglob("*.toml")) == [
        "car.toml",
        "packs-from-elsewhere/net\u00e9.toml",
        "packs-from-elsewhere/shared/gates.toml",
        "packs/other.toml",
    ]


def test_a_folder_outside_that_cannot_be_named_anew_stops_the_record_and_not_the_car(tmp_path: Path) -> None:
    facts = own_packs(tmp_path / "car", "../club").replace("packs =", '"packs" =', 1)
    world = World(tmp_path / "car", facts)
    with pytest.raises(OSError, match="must name the folder of packs on a line of its own"):
        record_text(world.folder)


def test_a_pack_that_cannot_be_held_stops_the_record_with_the_reason(tmp_path: Path) -> None:
    world = World(tmp_path / "car", own_packs(tmp_path / "car", None))
    (world.folder / "packs" / "back\\slash.toml").write_text(NET.format(id="slash"))
    with pytest.raises(OSError, match="not every system can write: rename it"):
        record_text(world.folder)


def test_a_record_of_the_first_format_says_which_packs_it_lacks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    world = World(tmp_path / "car", own_packs(tmp_path / "car", "own"))
    world.car.close()
    record = tomllib.loads(record_text(world.folder)) | {"record": 1}
    del record["packs"]
    (tmp_path / "record.toml").write_text(tomli_w.dumps(record))
    assert main(["new", str(tmp_path / "again"), "--record", str(tmp_path / "record.toml")]) == 0
    assert "names the packs in own, which this record does not hold" in capsys.readouterr().out
    with pytest.raises(PackError, match="no such folder"):
        open_car(tmp_path / "again", world.clock, write=False, packs=PROCEDURES)


def test_the_command_names_the_packs_that_came_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    world = World(tmp_path / "car", own_packs(tmp_path / "car", None))
    world.car.close()
    (tmp_path / "record.toml").write_text(record_text(world.folder))
    assert main(["new", str(tmp_path / "again"), "--record", str(tmp_path / "record.toml")]) == 0
    said = capsys.readouterr().out
    assert "with 1 entry and packs of its own: packs/shared/gates.toml, packs/net\u00e9.toml, packs/other.toml" in said


def test_a_car_toml_as_another_systems_editor_writes_it_is_recorded(tmp_path: Path) -> None:
    world = World(tmp_path / "car")
    (world.folder / "car.toml").write_bytes(codecs.BOM_UTF8 + FACTS.replace("\n", "\r\n").encode())
    world.car.close()
    facts = tomllib.loads(record_text(world.folder))["facts"]
    assert facts == FACTS.replace("\n", "\r\n")
