"""The record: the whole car as TOML, read back into the same state."""

from __future__ import annotations

import json
import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.door import open_car
from teardown.car.record import WrongRecord, read_record, record_text, set_up_from
from teardown.car.steps import look_around
from teardown.cli import main
from teardown.commands.show import as_data, as_text
from tests.sheets.conftest import A_TEMPLATE_AND_A_HANDLER, filled
from tests.world import PROCEDURES, World

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
    ),
    max_size=12,
)


def told(world: World) -> tuple[str, str]:
    """All that can be asked of a car, as data and as text."""
    standing = look_around(world.car.folded, world.clock.now())
    texts = [as_text(standing, what) for what in ("all", "money", "closing", "balance")]
    return json.dumps(as_data(standing), sort_keys=True), json.dumps(texts)


@given(drafts)
@settings(max_examples=25)
def test_a_car_read_back_from_its_record_is_the_same_car(entries: list[tuple[str, dict[str, object]]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = World(Path(folder) / "car")
        for kind, fields in entries:
            money = {"listed": {"ask": "40"}, "sold": {"amount": "30"}}.get(kind, {})
            try:
                world.enter(kind, **fields | money)
            except ValueError:
                continue  # words that make no entry
        record = Path(folder) / "record.toml"
        record.write_text(record_text(world.folder), encoding="utf-8", newline="")
        again = World.__new__(World)
        again.folder, again.clock, again.rehearsal = Path(folder) / "again", world.clock, False
        assert set_up_from(record, again.folder) == world.car.folded.entries
        again.car = again.opened()
        assert told(again) == told(world)
        assert (again.folder / "log.jsonl").read_bytes() == (world.folder / "log.jsonl").read_bytes()
        again.car.close()
        world.car.close()


def test_the_record_of_a_hostile_car_is_toml_and_comes_back_to_the_byte(tmp_path: Path) -> None:
    world = filled(tmp_path / "car", name=A_TEMPLATE_AND_A_HANDLER)
    text = record_text(world.folder)
    assert len(tomllib.loads(text)["entries"]) == world.state.entries
    _, lines, _ = read_record(text)
    assert b"".join(lines) == (world.folder / "log.jsonl").read_bytes()


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
