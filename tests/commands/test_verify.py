"""teardown verify: says what the log holds, changes nothing."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from teardown.car.log import START
from teardown.cli import main
from tests.car.logs import body, opened, signed, written


@pytest.fixture
def path(tmp_path: Path) -> Path:
    folder = tmp_path / "car"
    folder.mkdir()
    return folder / "log.jsonl"


class Said:
    """One run of the command: its status and what it said."""

    def __init__(self, capsys: pytest.CaptureFixture[str], path: Path, *words: str) -> None:
        before = _pictured(path)
        self.status = main(["verify", str(path.parent), *words])
        told = capsys.readouterr()
        self.out, self.err = told.out, told.err
        assert _pictured(path) == before, "verify changed something"


def _pictured(path: Path) -> dict[str, tuple[int, bytes]]:
    """Every file of the car's folder: when it was changed, and its bytes."""
    files = path.parent.iterdir() if path.parent.is_dir() else ()
    return {file.name: (file.stat().st_mtime_ns, file.read_bytes()) for file in files if file.is_file()}


def test_a_whole_log_is_told_with_its_first_and_last_time_and_the_digest_to_write_down(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = written(path, 3)
    said = Said(capsys, path)
    assert said.status == 0
    assert said.out.splitlines() == [
        f"{path}: 3 entries",
        "from 2026-05-09T08:00:00.000Z to 2026-05-09T08:00:15.000Z",
        f"digest of entry 3: {made[2].digest}",
        "Keep a note of it elsewhere: while the log is whole and its line 3 still ends in it, nothing up to there was "
        "changed.",
        "Whole.",
    ]


def test_an_entry_of_a_kind_this_version_does_not_know_is_told_as_a_newer_versions(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with opened(path) as log:
        log.append("Ana", "opened", {"format": 1})
        log.append("Ana", "paint-mixed", {"colour": "red"})
        log.append("Ana", "note", {"text": "x"})
    said = Said(capsys, path)
    assert said.status == 4
    assert said.out.splitlines()[0] == f"{path}: 3 entries"
    assert said.out.splitlines()[-1] == (
        "NOT UNDERSTOOD: its lines fit, but entry 2 is of a kind that this version does not know (paint-mixed): "
        "a newer version of teardown wrote it. Use that version."
    )
    told = json.loads(Said(capsys, path, "--json").out)
    assert (told["whole"], told["unknown_kind"]) == (False, {"line": 2, "kind": "paint-mixed"})


def test_the_digest_it_tells_is_the_one_anybody_can_compute(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written(path, 3)
    digest = START
    for line in path.read_bytes().splitlines():  # FORMAT.md; SHA-256 as in FIPS 180-4, by hashlib
        digest = hashlib.sha256(digest.encode() + line[: line.rindex(b',"digest":"')]).hexdigest()
    assert json.loads(Said(capsys, path, "--json").out)["digest"] == digest


def test_as_data_it_says_the_same(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = written(path, 2)
    said = Said(capsys, path, "--json")
    assert said.status == 0
    assert json.loads(said.out) == {
        "log": str(path),
        "whole": True,
        "entries": 2,
        "first_utc": "2026-05-09T08:00:00.000Z",
        "last_utc": "2026-05-09T08:00:07.500Z",
        "digest": made[1].digest,
        "torn": None,
        "damage": None,
        "newer_format": None,
        "unknown_kind": None,
    }


def test_a_torn_tail_is_told_and_is_no_damage(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written(path, 2)
    length = path.stat().st_size
    with path.open("ab") as file:
        file.write(b'{"n":3,"utc":')
    said = Said(capsys, path)
    assert said.status == 0
    assert said.out.splitlines()[-1] == (
        "Whole, save that the last write was never finished, or is being written just now: the 13 bytes after byte "
        f"{length} are no entry. Nothing that was confirmed is lost. The next program that writes here sets them aside "
        "in a file."
    )
    data = json.loads(Said(capsys, path, "--json").out)
    assert (data["whole"], data["torn"]) == (True, {"offset": length, "bytes": 13})


def test_damage_is_told_with_its_line_and_what_is_wrong(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = written(path, 4)
    path.write_bytes(path.read_bytes().replace(b"note 3", b"note 8"))
    said = Said(capsys, path)
    assert said.status == 4
    assert f"{path}: 2 entries" in said.out
    assert "DAMAGED in line 3: its digest does not fit: it was changed, or the line before it was replaced." in said.out
    assert "nothing more is written to this log. Put back a copy of the folder from before the damage." in said.out
    assert "Whole" not in said.out
    data = json.loads(Said(capsys, path, "--json").out)
    assert (data["whole"], data["entries"], data["digest"]) == (False, 2, made[1].digest)
    assert data["damage"]["line"] == 3
    assert data["damage"]["why"].startswith("its digest does not fit")


def test_a_newer_format_is_not_vouched_for(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path.write_bytes(signed(body(kind="opened", fields={"format": 2}), START)[0])
    said = Said(capsys, path)
    assert said.status == 4
    assert said.out.splitlines() == [
        f"{path}: 0 entries",
        "NOT READ FURTHER: a newer version of teardown wrote on (format 2; this one knows 1). Use that version.",
    ]
    data = json.loads(Said(capsys, path, "--json").out)
    assert (data["whole"], data["damage"], data["newer_format"]) == (False, None, 2)


def test_an_empty_log_is_no_cars(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A car's log begins as the car is set up: what is empty was emptied."""
    path.touch()
    said = Said(capsys, path)
    assert said.status == 4
    assert said.out.splitlines() == [
        f"{path}: 0 entries",
        "EMPTY: a car's log begins with an entry. Put back a copy of the folder from before it was emptied.",
    ]


def test_a_log_somebody_is_writing_to_can_be_looked_at(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with opened(path) as log:
        log.append("Ana", "opened", {"format": 1})
        said = Said(capsys, path)
    assert (said.status, said.out.splitlines()[0]) == (0, f"{path}: 1 entry")


def test_where_there_is_no_folder_or_no_log_it_says_which(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(capsys, path)
    assert (said.status, said.out) == (2, "")
    assert said.err == f"teardown: {path.parent} holds no log.jsonl: it is not a car's folder\n"
    said = Said(capsys, path.parent / "nowhere" / "log.jsonl")
    assert (said.status, said.out) == (2, "")
    assert said.err == f"teardown: {path.parent}/nowhere is no folder\n"


def test_a_log_that_is_a_link_is_refused_even_if_it_leads_nowhere(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path.symlink_to(path.with_name("elsewhere"))
    said = Said(capsys, path)
    assert (said.status, said.out) == (2, "")
    assert said.err == f"teardown: {path} cannot be read: it is a link to somewhere else, not the file itself\n"


def test_a_folders_name_does_not_drive_the_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "car\x1b]0;owned\x07" / "log.jsonl"
    path.parent.mkdir()
    written(path, 1)
    said = Said(capsys, path)
    assert said.status == 0
    assert said.out.startswith(f"{tmp_path}/car]0;owned/log.jsonl: 1 entry\n")
