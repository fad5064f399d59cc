"""`teardown packs`: the list, the check, the schema, a new pack."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path

import corpus
import pytest

from teardown.cli import main


@pytest.fixture(autouse=True)
def base_packs_ship(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("teardown.commands.packs.procedures", lambda: corpus.BASE)


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["packs", *words])
    out, err = capsys.readouterr()
    return status, out, err


def test_the_list_tells_steps_hours_kilos_and_hazards_of_each_pack(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys)
    assert status == 0
    assert out == (
        "prepare: Prepare\n    1 step, 0.1 / 0.2 / 0.3 h, 0.0 kg\n"
        "seats: Seats\n    2 steps, 0.1 / 0.2 / 0.5 h, 19.0 kg\n    airbag, heavy-lift\n"
        "finish: Finish\n    2 steps, 0.1 / 0.2 / 0.3 h, 0.0 kg\n    sharp, left-out\n"
        "3 packs, 5 steps, 0.3 / 0.6 / 1.2 h (low / likely / high);\n19 kg likely to come off any car\n"
    )


def test_the_list_as_json_has_the_same_facts(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "--json")
    assert status == 0
    assert json.loads(out)["packs"][1] == {
        "pack": "seats",
        "title": "Seats",
        "steps": 2,
        "hours": {"low": 0.12, "likely": 0.25, "high": 0.5},
        "likely_kg": 19.0,
        "hazards": ["airbag", "heavy-lift"],
    }


def test_packs_that_ship_are_checked_by_themselves(capsys: pytest.CaptureFixture[str]) -> None:
    expected = "no problems: 3 packs, 5 steps, 1 part, 14 hazards, 13 gates\n"
    assert run(capsys, "check") == (0, expected, "")
    assert run(capsys, "check", str(corpus.BASE)) == (0, expected, "")
    assert run(capsys, "check", str(corpus.BASE / "seats.toml")) == (0, expected, "")


def test_a_pack_of_ones_own_is_checked_over_those_that_ship(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "check", str(corpus.GOOD / "own-new-pack.toml"))
    assert (status, out) == (0, "no problems: 4 packs, 6 steps, 2 parts, 14 hazards, 13 gates\n")


def test_every_problem_of_every_file_is_told_and_counted(capsys: pytest.CaptureFixture[str]) -> None:
    names = ("kg-two-numbers", "name-unknown-hazard")
    paths = [str(corpus.BAD / f"{name}.toml") for name in names]
    status, out, _ = run(capsys, "check", *paths)
    assert status == 2
    assert out.startswith(
        f'{paths[0]}: step 1 "first": parts[0].kg\n  found [1, 2]; wanted three numbers: low, likely, high\n'
    )
    assert f'{paths[1]}: id\n  found "extra"; wanted an id of its own: {paths[0]} has this one\n' in out
    assert out.splitlines()[-1].startswith("2 problems in 2 files (")


def test_a_file_that_is_not_there_is_a_problem(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "check", "gone.toml")
    assert status == 2
    assert out.startswith("gone.toml\n  found no such file; wanted a pack or a folder of packs\n1 problem in 1 file (")


def test_a_folder_of_ones_own_may_tighten_and_may_not_loosen(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    for name, status in (("own-gate-tighter", 0), ("own-wait-shorter", 2)):
        text = (corpus.BAD if status else corpus.GOOD) / f"{name}.shared.toml"
        (shared / "gates.toml").write_text(text.read_text(encoding="utf-8"), encoding="utf-8")
        assert run(capsys, "check", str(tmp_path))[0] == status
    assert "wanted no less than what ships: 30" in run(capsys, "check", str(shared / "gates.toml"))[1]


def test_problems_as_json_keep_their_parts_apart(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(corpus.BAD / "choice-misspelt.toml")
    status, out, _ = run(capsys, "check", "--json", path)
    assert status == 2
    assert json.loads(out)["problems"][1] == {
        "file": path,
        "path": 'step 1 "first": parts[0].counts',
        "found": '"temporarily"',
        "wanted": "one of saving, temporary, fluid, contents or added",
        "nearest": "temporary",
        "line": None,
    }


def test_broken_packs_that_ship_are_told_by_the_list_in_a_sentence(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "seats.toml").write_text("id =\n", encoding="utf-8")
    monkeypatch.setattr("teardown.commands.packs.procedures", lambda: tmp_path)
    status, out, err = run(capsys)
    assert (status, out) == (2, "")
    assert "the packs that ship cannot be read:\nseats.toml: line 1\n" in err


@pytest.mark.parametrize(("words", "keys"), [((), {"id", "steps", "follows"}), (("--shared",), {"gates", "hazards"})])
def test_the_schema_is_for_an_editor(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], keys: set[str]
) -> None:
    status, out, _ = run(capsys, "schema", *words)
    schema = json.loads(out)
    assert status == 0
    assert schema["$schema"].startswith("https://json-schema.org/")
    assert schema["title"].startswith("A ")
    assert schema["additionalProperties"] is False
    assert keys <= schema["properties"].keys()


def test_a_new_pack_passes_the_check_as_it_stands(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, out, _ = run(capsys, "new", "roof-rack", "--to", str(tmp_path))
    path = tmp_path / "roof-rack.toml"
    assert (status, out) == (0, f"{path} written. Now: teardown packs check {path}\n")
    assert run(capsys, "check", str(path))[:2] == (0, "no problems: 4 packs, 6 steps, 1 part, 14 hazards, 13 gates\n")


def test_a_new_pack_with_its_comments_opened_has_only_names_to_fill_in(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    run(capsys, "new", "roof-rack", "--to", str(tmp_path))
    path = tmp_path / "roof-rack.toml"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(lines[:4] + [line.removeprefix("# ") for line in lines[4:]]), encoding="utf-8")
    status, out, _ = run(capsys, "check", str(path))
    assert status == 2
    assert {line.split("; wanted ")[1].split(" (")[0] for line in out.splitlines() if "; wanted " in line} <= {
        "the id of a known pack",
        "the id of a known step",
        "the id of a known module",
        "the id of a known hazard",
        "the hazard `airbag` on this step, or no live module in this part",
    }


def test_a_new_pack_never_overwrites(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "roof-rack.toml").write_text("mine", encoding="utf-8")
    status, _, err = run(capsys, "new", "roof-rack", "--to", str(tmp_path))
    assert status == 2
    assert "is there already: nothing was written" in err
    assert (tmp_path / "roof-rack.toml").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("area", ["Roof Rack", "../roof", "roof/rack", "", "x" * 41, "roof\x1b[2J"])
def test_a_new_pack_has_a_name_a_pack_can_have(capsys: pytest.CaptureFixture[str], tmp_path: Path, area: str) -> None:
    status, _, err = run(capsys, "new", area, "--to", str(tmp_path))
    assert status == 2
    assert "small letters, digits and single hyphens" in err
    assert "\x1b" not in err
    assert list(tmp_path.iterdir()) == []


def test_a_new_pack_takes_no_name_that_ships(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, _, err = run(capsys, "new", "seats", "--to", str(tmp_path))
    assert status == 2
    assert "seats: a pack that ships has this id; choose another" in err


def test_a_folder_that_cannot_be_written_is_status_5(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, _, err = run(capsys, "new", "roof-rack", "--to", str(tmp_path / "gone"))
    assert status == 5
    assert "cannot write" in err


def test_a_full_disk_leaves_no_half_pack_in_the_way_of_a_whole_one(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(descriptor: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as broken:
        broken.setattr("teardown.car.disk.sync", full)
        status, _, err = run(capsys, "new", "roof-rack", "--to", str(tmp_path))
    assert (status, "the disk is full" in err, list(tmp_path.iterdir())) == (5, True, [])
    assert run(capsys, "new", "roof-rack", "--to", str(tmp_path))[0] == 0
