"""What stands after a crash: power cuts, kills, and files nobody should ever meet."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.log import START, Damaged, Locked, LogError, Newer
from tests.car.logs import body, look, opened, read, signed, written

HOUSE = Path(__file__).parents[2]
WRITE_UNTIL_KILLED = (
    "import sys, pathlib; from tests.car.killed_writers import *; write_until_killed(pathlib.Path({!r}), 1)"
)
TIMES, LONGEST_S = 200, 60


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.jsonl"


def set_aside(path: Path) -> list[bytes]:
    """What was set aside beside a log, oldest first."""
    return [aside.read_bytes() for aside in sorted(path.parent.glob("log.torn-*.bin"))]


# -- power cuts


@pytest.mark.parametrize("zeros", [0, 1, 700])
def test_a_last_line_cut_at_any_byte_leaves_what_stood_before_and_is_set_aside(tmp_path: Path, zeros: int) -> None:
    made = written(tmp_path / "log.jsonl", 3)
    whole = (tmp_path / "log.jsonl").read_bytes()
    start = whole.rindex(b"\n", 0, -1) + 1
    for cut in range(start, len(whole)):
        path = tmp_path / f"{cut}" / "log.jsonl"
        path.parent.mkdir()
        torn = whole[start:cut] + b"\0" * zeros
        path.write_bytes(whole[:start] + torn)
        entries, found, error = look(path)
        assert (entries, error, found.torn_bytes, found.length) == (made[:2], None, len(torn), start)
        with opened(path) as log:
            assert set_aside(path) == ([torn] if torn else [])
            if torn:
                assert f"its {len(torn)} bytes are set aside in log.torn-20260509T080000000Z.bin" in log.told[0]
                assert log.told[0].endswith("The 2 entries before it stand")
            assert path.read_bytes() == whole[:start]
            third = log.append("Ana", "note", {"text": "after the power cut"})
        assert read(path) == [*made[:2], third]


def test_a_whole_line_followed_by_zeros_stands_and_only_the_zeros_are_set_aside(path: Path) -> None:
    made = written(path, 3)
    with path.open("ab") as file:
        file.write(b"\0" * 4096)
    opened(path).close()
    assert read(path) == made
    assert set_aside(path) == [b"\0" * 4096]


def test_a_first_line_that_was_never_finished_leaves_an_empty_log(path: Path) -> None:
    path.write_bytes(b'{"n":1,"utc":"2026')
    with opened(path) as log:
        assert log.told[0].endswith("No entry stands before it")
        assert log.append("Ana", "opened", {"format": 1}).n == 1


def test_a_reader_leaves_a_torn_tail_where_it_is(path: Path) -> None:
    made = written(path, 3)
    torn = path.read_bytes()[:-5]
    path.write_bytes(torn)
    assert read(path) == made[:2]
    assert path.read_bytes() == torn
    assert set_aside(path) == []


def test_two_power_cuts_in_the_same_moment_keep_both_tails(path: Path) -> None:
    made = written(path, 2)
    for torn in (b'{"n":3,"first', b'{"n":3,"second'):
        with path.open("ab") as file:
            file.write(torn)
        opened(path).close()
    assert read(path) == made
    assert sorted(set_aside(path)) == [b'{"n":3,"first', b'{"n":3,"second']


def test_a_power_cut_between_keeping_the_tail_and_cutting_it_off_loses_neither(path: Path) -> None:
    made = written(path, 2)
    torn = path.read_bytes() + b'{"n":3'
    path.write_bytes(torn)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "ftruncate", lambda *_: os.stat(path / "power cut"))
        with pytest.raises(LogError, match="cannot be set aside"):
            opened(path)
    assert (path.read_bytes(), set_aside(path)) == (torn, [b'{"n":3'])
    opened(path).close()
    assert read(path) == made
    assert set_aside(path) == [b'{"n":3', b'{"n":3']


def test_a_tail_that_cannot_be_kept_is_not_cut_off(path: Path) -> None:
    written(path, 2)
    torn = path.read_bytes() + b'{"n":3'
    path.write_bytes(torn)

    def full(_: int, __: bytes) -> int:
        raise OSError(28, "No space left on device")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "write", full)
        with pytest.raises(LogError, match=r"unfinished last line .* cannot be set aside: the disk is full"):
            opened(path)
    assert path.read_bytes() == torn
    assert set_aside(path) == []


# -- kills


def test_two_hundred_writers_killed_in_a_row_lose_nothing_they_had_confirmed(path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "tests.car.killed_writers", str(path), str(TIMES), "1"],
        cwd=HOUSE,
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        check=True,
    )
    told = json.loads(ran.stdout)
    assert (told["lost"], told["lost at the end"]) == (0, 0), told
    assert told["writers with more than one entry unconfirmed"] == 0, told
    # Enough was confirmed for the nought to mean something.
    assert told["writers that confirmed something"] > TIMES / 10, told
    assert told["confirmed"] > TIMES / 10, told


@pytest.fixture
def writer(path: Path) -> Iterator[subprocess.Popen[bytes]]:
    """A writer in a process of its own, appending until it is killed."""
    process = subprocess.Popen(
        [sys.executable, "-c", WRITE_UNTIL_KILLED.format(str(path))], cwd=HOUSE, stdout=subprocess.PIPE
    )
    with process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"opened\n"
        yield process
        process.kill()


def test_the_lock_dies_with_its_process(path: Path, writer: subprocess.Popen[bytes]) -> None:
    with pytest.raises(Locked, match="another program is writing"):
        opened(path)
    writer.kill()
    writer.wait()
    with opened(path) as log:
        assert log.append("Ana", "note", {}).n == len(read(path))


def test_a_reader_beside_a_writer_always_finds_a_whole_log_that_grows(
    path: Path, writer: subprocess.Popen[bytes]
) -> None:
    seen = 0
    end = time.monotonic() + 1
    while time.monotonic() < end or seen < 2:
        entries, found, error = look(path)
        assert (error, found.damage) == (None, None)
        assert [entry.n for entry in entries] == list(range(1, found.entries + 1))
        assert found.entries >= seen
        seen = found.entries


# -- whatever else a file may hold


def lines() -> st.SearchStrategy[bytes]:
    """Bytes of any kind, and lines that come close."""
    near = st.builds(
        lambda start, middle: signed(start + middle, START)[0],
        st.sampled_from([b"{", b"", body()]),
        st.binary(max_size=30),
    )
    return st.lists(st.binary(max_size=60) | near | st.just(b"\n") | st.just(b"\0" * 9), max_size=6).map(b"".join)


@given(content=lines())
def test_no_file_makes_the_reader_fail_in_any_way_but_its_own(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    path = tmp_path_factory.mktemp("any") / "log.jsonl"
    path.write_bytes(content)
    entries, found, error = look(path)
    assert error is None or type(error) in (Damaged, Newer)
    assert (found.damage is not None) == isinstance(error, Damaged)
    assert len(entries) == found.entries
    assert found.length + found.torn_bytes <= len(content)


@st.composite
def meddled(draw: st.DrawFn, whole: bytes) -> bytes:
    """A log after somebody, or something, went over it."""
    content = bytearray(whole)
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(content)))
        end = draw(st.integers(start, min(len(content), start + draw(st.sampled_from([0, 1, 8, 300])))))
        piece = draw(st.sampled_from([b"", b"\0" * 20, b"\n", whole[:250]]) | st.binary(max_size=20))
        content[start:end] = piece
    return bytes(content)


@settings(max_examples=300)
@given(data=st.data())
def test_a_log_anything_was_done_to_is_refused_untouched_or_every_byte_of_it_is_kept(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("meddled") / "log.jsonl"
    made = written(path, 4)
    content = data.draw(meddled(path.read_bytes()))
    path.write_bytes(content)
    entries, _, error = look(path)
    assert entries == made[: len(entries)]
    refused = refusal(path)
    assert (type(refused), str(refused)) == (type(error), str(error))
    if refused is not None:
        assert path.read_bytes() == content
        assert set_aside(path) == []
    else:
        assert read(path) == entries
        torn = b"".join(set_aside(path))
        assert path.read_bytes() + torn == content
        assert b"\n" not in torn


def refusal(path: Path) -> LogError | None:
    """Why a log does not open to write, if it does not."""
    try:
        opened(path).close()
    except LogError as error:
        return error
    return None
