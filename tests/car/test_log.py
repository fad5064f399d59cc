"""The log: what is written, what is read back, and what is refused."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import resource
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car.log import (
    FORMAT,
    LONGEST_LINE,
    START,
    CannotWrite,
    Damaged,
    Locked,
    LogError,
    Newer,
    ReadOnly,
    Unreadable,
    read_log,
)
from teardown.car.logwriter import open_for_writing
from tests.car.logs import body, look, opened, read, signed, written
from tests.world.clock import HandClock


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.jsonl"


def fails_with(number: int) -> Callable[..., NoReturn]:
    def fail(*_: object, **__: object) -> NoReturn:
        raise OSError(number, os.strerror(number))

    return fail


# -- the format


def test_a_line_is_what_the_format_says_to_the_byte(path: Path) -> None:
    with opened(path) as log:
        log.append("Ana", "opened", {"format": 1})
        log.append("Bo", "note", {"text": "3 \u00b0C"})
    # Both digests were made with sha256sum (GNU coreutils) from the bytes FORMAT.md names: FIPS 180-4.
    assert path.read_bytes().decode() == (
        '{"n":1,"utc":"2026-05-09T08:00:00.000Z","boot":"boot-1","s":1000.0,"day":"2026-05-09","who":"Ana",'
        '"kind":"opened","fields":{"format":1},'
        '"digest":"54f5faa24b41745f552191d80dd70844edcc5fde4877818acc124fe840aaa979"}\n'
        '{"n":2,"utc":"2026-05-09T08:00:00.000Z","boot":"boot-1","s":1000.0,"day":"2026-05-09","who":"Bo",'
        '"kind":"note","fields":{"text":"3 \u00b0C"},'
        '"digest":"8be39acfbaffdc9e66da47ebceaf4948ba94aabb9791aad802a40b12c1df52bd"}\n'
    )


def test_every_digest_covers_the_line_and_the_digest_before_it(path: Path) -> None:
    made = written(path, 5)
    before = START
    for line, entry in zip(path.read_bytes().splitlines(), made, strict=True):
        covered, _, rest = line.rpartition(b',"digest":"')
        before = hashlib.sha256(before.encode() + covered).hexdigest()
        assert rest == before.encode() + b'"}'
        assert entry.digest == before


def test_what_append_returned_is_what_is_read(path: Path) -> None:
    made = written(path, 5)
    entries, found, error = look(path)
    assert entries == made
    assert error is None
    assert (found.entries, found.digest, found.length) == (5, made[-1].digest, path.stat().st_size)
    assert (found.first_utc, found.last_utc) == ("2026-05-09T08:00:00.000Z", "2026-05-09T08:00:30.000Z")
    assert (found.torn_bytes, found.damage, found.newer_format) == (0, None, None)


def test_seconds_are_kept_to_the_millisecond(path: Path) -> None:
    clock = HandClock()
    clock.seconds = 5120.37749
    with opened(path, clock) as log:
        assert log.append("Ana", "note", {}).at.seconds == 5120.377
    assert read(path)[0].at.seconds == 5120.377


text = st.text(max_size=30)
values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**30), 10**30)
    | st.floats(allow_nan=False, allow_infinity=False)
    | text,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(text, inner, max_size=3),
    max_leaves=8,
)


@given(who=text, fields=st.dictionaries(text, values, max_size=4))
def test_any_text_and_number_comes_back_as_it_was_and_nothing_unprintable_stands_in_the_file(
    tmp_path_factory: pytest.TempPathFactory, who: str, fields: dict[str, Any]
) -> None:
    path = tmp_path_factory.mktemp("any") / "log.jsonl"
    with opened(path) as log:
        entry = log.append(who, "note", fields)
    assert (entry.who, entry.fields) == (who, fields)
    assert read(path) == [entry]
    line = path.read_bytes().decode()
    assert line.removesuffix("\n").isprintable()
    assert json.loads(line)["fields"] == fields


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"text": "\ud800"}, "its text holds half a character"),
        ({"text": "\ud83d\ude00"}, "its text holds half a character"),
        ({"kg": float("nan")}, "could not be read again"),
        ({"kg": float("inf")}, "could not be read again"),
        ({"text": "x" * LONGEST_LINE}, f"{LONGEST_LINE} are the most"),
        ({"deep": json.loads("[" * 300 + "]" * 300)}, "could not be read again"),
    ],
)
def test_what_could_not_be_read_again_is_not_written(path: Path, fields: dict[str, Any], says: str) -> None:
    made = written(path, 2)
    with opened(path) as log:
        with pytest.raises(CannotWrite, match=f"^entry 3 was not written: .*{says}"):
            log.append("Ana", "note", fields)
        made.append(log.append("Ana", "note", {"text": "goes on"}))
    assert read(path) == made


def test_a_log_that_is_not_there_has_no_entries(path: Path) -> None:
    assert read(path) == []
    assert not path.exists()


def test_opening_gives_every_entry_that_stands_and_the_numbers_go_on(path: Path) -> None:
    made = written(path, 3)
    taken: list[object] = []
    with open_for_writing(path, HandClock(), taken.append) as log:
        assert taken == made
        assert log.told == ()
        assert log.append("Ana", "note", {}).n == 4


def test_what_stops_the_reader_of_the_entries_gives_the_lock_up(path: Path) -> None:
    written(path)

    def refuse(_: object) -> NoReturn:
        raise RuntimeError("cannot fold this")

    with pytest.raises(RuntimeError, match="cannot fold this"):
        open_for_writing(path, HandClock(), refuse)
    opened(path).close()


# -- damage: named, never cut off


def test_every_flipped_bit_of_a_log_is_found_in_its_line_and_everything_before_stands(path: Path) -> None:
    made = written(path, 3)
    whole = path.read_bytes()
    for position in range(len(whole)):
        line = whole[:position].count(b"\n") + 1
        for bit in range(8):
            path.write_bytes(whole[:position] + bytes([whole[position] ^ 1 << bit]) + whole[position + 1 :])
            entries, found, error = look(path)
            assert isinstance(error, Damaged), (position, bit)
            assert (found.damaged_line, entries) == (line, made[: line - 1])
            assert str(error).startswith(f"log.jsonl is damaged in line {line}: it")


@pytest.mark.parametrize("value", [0x00, 0x20, 0x7F, 0xFF])
def test_every_byte_overwritten_is_found_in_its_line(path: Path, value: int) -> None:
    made = written(path, 3)
    whole = path.read_bytes()
    for position in range(len(whole)):
        if whole[position] == value:
            continue
        path.write_bytes(whole[:position] + bytes([value]) + whole[position + 1 :])
        line = whole[:position].count(b"\n") + 1
        entries, found, error = look(path)
        assert entries == made[: line - 1]
        if position == len(whole) - 1 and value == 0:  # the one case that looks like a last write gone on in zeros
            assert (error, found.torn_bytes) == (None, len(whole) - found.length)
        else:
            assert (type(error), found.damaged_line) == (Damaged, line)


def lines_of(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines(keepends=True)


@pytest.mark.parametrize(
    ("change", "line", "says"),
    [
        (lambda lines: lines.pop(2), 3, "it carries number 4 where 3 comes: a line is missing, repeated or moved"),
        (lambda lines: lines.insert(2, lines[1]), 3, "it carries number 2 where 3 comes"),
        (lambda lines: lines.reverse(), 1, "it carries number 5 where 1 comes"),
        (lambda lines: lines.pop(0), 1, "it carries number 2 where 1 comes"),
        (lambda lines: lines.insert(3, b"\n"), 4, "it does not end as an entry does"),
        (lambda lines: lines.append(b"hello\n"), 6, "it does not end as an entry does"),
        (lambda lines: lines.append(b"\0" * 40 + b"\n"), 6, "it does not end as an entry does"),
        (lambda lines: lines.insert(0, b"\xef\xbb\xbf"), 1, "its digest does not fit: it was changed"),
        (
            lambda lines: lines.__setitem__(1, signed(body(n=2), START)[0]),
            2,
            "its digest does not fit: it was changed, or the line before it was replaced",
        ),
        (lambda lines: lines.append(b"x" * LONGEST_LINE), 6, "it does not end as an entry does"),
    ],
)
def test_a_line_that_is_missing_repeated_moved_or_strange_is_named_with_what_is_wrong(
    path: Path, change: Callable[[list[bytes]], object], line: int, says: str
) -> None:
    made = written(path, 5)
    lines = lines_of(path)
    change(lines)
    path.write_bytes(b"".join(lines))
    entries, found, error = look(path)
    assert isinstance(error, Damaged)
    assert str(error).startswith(f"log.jsonl is damaged in line {line}: {says}")
    assert (found.damaged_line, entries) == (line, made[: line - 1])


def test_a_log_made_of_windows_lines_is_damaged_in_its_first_line(path: Path) -> None:
    written(path)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    with pytest.raises(Damaged, match=r"line 1: it does not end as an entry does: it was changed or cut off. No entry"):
        read(path)


def test_a_damaged_log_is_never_written_and_not_a_byte_of_it_changes(path: Path) -> None:
    written(path, 4)
    damaged = path.read_bytes().replace(b"note 3", b"note 8") + b'{"n":5,"utc":"20'
    path.write_bytes(damaged)
    with pytest.raises(Damaged, match=r"line 3: its digest does not fit.* The 2 entries before it stand"):
        opened(path)
    assert path.read_bytes() == damaged
    assert [file.name for file in path.parent.iterdir()] == ["log.jsonl"]


def test_damage_in_front_of_a_tail_of_zeros_is_damage(path: Path) -> None:
    written(path, 4)
    path.write_bytes(path.read_bytes().replace(b"note 2", b"note 8") + b"\0" * 300)
    with pytest.raises(Damaged, match=r"line 2.* The entry before it stands"):
        opened(path)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (body(n="1"), "its members are not those of an entry"),
        (body(n=True), "its members are not those of an entry"),
        (body(n=2), "it carries number 2 where 1 comes"),
        (body(utc="2026-11-25 07:29"), "its members are not those of an entry"),
        (body(utc="2026-13-25T07:29:53.120Z"), "its members are not those of an entry"),
        (body(utc="2026-11-25T07:29:53.1200"), "its members are not those of an entry"),
        (body(utc=0), "its members are not those of an entry"),
        (body(boot=None), "its members are not those of an entry"),
        (body(s="5120"), "its members are not those of an entry"),
        (body(s=True), "its members are not those of an entry"),
        (body(s=-1), "its members are not those of an entry"),
        (body(s=10**400), "its members are not those of an entry"),
        (body(day="yesterday"), "its members are not those of an entry"),
        (body(day=...), "its members are not those of an entry"),
        (body(who=["Ana"]), "its members are not those of an entry"),
        (body(kind=...), "its members are not those of an entry"),
        (body(fields=...), "its members are not those of an entry"),
        (body(fields=[1]), "its members are not those of an entry"),
        (body(kind="opened", fields=None), "its members are not those of an entry"),
        (body(fields={"text": "\ud800"}), "it is not JSON"),
        (body().replace(b"5120.377", b"NaN"), "it is not JSON"),
        (body().replace(b"5120.377", b"1e999"), "its members are not those of an entry"),
        (body().replace(b'"x"', b'"\xff"'), "it is not JSON"),
        (body().replace(b'"x"', b"[" * 5000 + b"]" * 5000), "it is not JSON"),
        (b"", "it is not JSON"),
        (b"[1", "it is not JSON"),
    ],
)
def test_a_strangers_line_whose_digest_fits_is_still_refused_when_it_is_no_entry(
    path: Path, line: bytes, says: str
) -> None:
    path.write_bytes(signed(line, START)[0])
    with pytest.raises(Damaged, match=f"^log.jsonl is damaged in line 1: {says}.*, though its digest fits"):
        read(path)


def test_a_strangers_line_that_is_an_entry_is_read(path: Path) -> None:
    first, digest = signed(body(), START)
    path.write_bytes(first + signed(body(n=2, s=5), digest)[0])
    assert [entry.n for entry in read(path)] == [1, 2]


# -- a newer format


@pytest.mark.parametrize("shape", [{}, {"boot": ..., "day": 7, "by": "Ana"}])
def test_a_newer_format_stops_reading_and_writing_and_changes_nothing(path: Path, shape: dict[str, Any]) -> None:
    line, _ = signed(body(kind="opened", fields={"format": FORMAT + 1}, **shape), START)
    path.write_bytes(line + b"\x00 whatever a later format may put here")
    entries, found, error = look(path)
    says = f"newer version of teardown from line 1 on .format {FORMAT + 1}; this one knows {FORMAT}.. Use that version"
    assert (entries, found.newer_format, found.damage) == ([], FORMAT + 1, None)
    assert isinstance(error, Newer)
    with pytest.raises(Newer, match=says):
        opened(path)
    assert path.read_bytes() == line + b"\x00 whatever a later format may put here"


def test_what_this_version_wrote_before_a_newer_one_wrote_on_can_be_read(path: Path) -> None:
    made = written(path, 2)
    line, _ = signed(body(n=3, kind="opened", fields={"format": 7}), made[-1].digest)
    path.write_bytes(path.read_bytes() + line)
    entries, found, error = look(path)
    assert (entries, found.newer_format, type(error)) == (made, 7, Newer)


def test_a_number_called_format_in_another_kind_of_entry_names_no_format(path: Path) -> None:
    made = written(path, 2)
    line, _ = signed(body(n=3, kind="note", fields={"text": "x", "format": FORMAT + 1}), made[-1].digest)
    path.write_bytes(path.read_bytes() + line)
    entries, found, _ = look(path)
    assert ([entry.n for entry in entries], found.newer_format) == ([1, 2, 3], None)


def test_a_format_number_is_not_believed_from_a_line_whose_digest_does_not_fit(path: Path) -> None:
    written(path, 2)
    path.write_bytes(path.read_bytes().replace(b'"format":1', b'"format":9'))
    with pytest.raises(Damaged, match="line 1: its digest does not fit"):
        read(path)


# -- one writer


def test_a_second_writer_is_refused_and_told_how_to_look_while_a_reader_reads(path: Path) -> None:
    made = written(path, 2)
    with opened(path) as log:
        with pytest.raises(Locked, match=f"another program is writing to {path}.*teardown show {path.parent}"):
            opened(path)
        made.append(log.append("Ana", "note", {}))
        assert read(path) == made
    opened(path).close()


def test_a_disk_that_cannot_lock_is_not_mistaken_for_a_second_program(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fcntl.flock", fails_with(errno.ENOLCK))
    with pytest.raises(
        CannotWrite, match=r"cannot be locked on this disk .* Keep the folder on the computer's own disk"
    ):
        opened(path)


def test_a_closed_log_takes_no_entry_and_may_be_closed_twice(path: Path) -> None:
    log = opened(path)
    log.close()
    log.close()
    with pytest.raises(CannotWrite, match="the log is closed"):
        log.append("Ana", "note", {})


# -- the file must be the file


def test_a_link_is_refused_and_what_it_points_to_is_left_alone(path: Path, tmp_path: Path) -> None:
    victim = tmp_path / "elsewhere"
    path.symlink_to(victim)
    with pytest.raises(ReadOnly, match="it is a link to somewhere else, not the file itself"):
        opened(path)
    assert not victim.exists()
    with pytest.raises(Unreadable, match="it is a link to somewhere else, not the file itself"):
        read(path)


def test_a_pipe_is_refused_and_hangs_nobody(path: Path) -> None:
    os.mkfifo(path)
    with pytest.raises(Unreadable, match="it is not a file"):
        read(path)
    with pytest.raises(LogError, match="it is not a file"):
        opened(path)


def test_a_folder_in_place_of_the_log_is_refused(path: Path) -> None:
    path.mkdir()
    with pytest.raises(Unreadable, match="it is not a file"):
        read(path)
    with pytest.raises(ReadOnly, match="it is a folder, not a file"):
        opened(path)


def _deleted(path: Path) -> None:
    path.unlink()


def _replaced(path: Path) -> None:
    copy = path.with_name("copy")
    copy.write_bytes(path.read_bytes())
    os.replace(copy, path)


def _written_to(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"# a remark\n")


def _cut(path: Path) -> None:
    os.truncate(path, path.stat().st_size - 10)


@pytest.mark.parametrize("meddle", [_deleted, _replaced, _written_to, _cut])
def test_no_entry_goes_into_a_file_that_another_program_deleted_replaced_or_changed(
    path: Path, meddle: Callable[[Path], None]
) -> None:
    written(path, 2)
    with opened(path) as log:
        log.append("Ana", "note", {})
        meddle(path)
        left = path.read_bytes() if path.exists() else b""
        for _ in range(2):
            with pytest.raises(CannotWrite, match=r"moved, replaced or changed .*: entry 4 was not written\. Quit"):
                log.append("Ana", "note", {})
        assert (path.read_bytes() if path.exists() else b"") == left


# -- a disk that does not take it


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EDQUOT, "the disk is full"),
        (errno.EROFS, "the disk is read-only"),
        (errno.EIO, r"the disk does not do it \(Input/output error\)"),
    ],
)
def test_a_write_the_disk_refuses_is_told_and_the_next_one_goes_on(path: Path, number: int, says: str) -> None:
    made = written(path, 3)
    with opened(path) as log:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(os, "write", fails_with(number))
            with pytest.raises(CannotWrite, match=f"^{says}: entry 4 was not written; nothing before it is lost$"):
                log.append("Ana", "note", {})
        assert read(path) == made
        made.append(log.append("Ana", "note", {"text": "there is room again"}))
    assert read(path) == made


def test_half_a_write_is_cut_back_when_the_file_may_grow_no_more(path: Path) -> None:
    made = written(path, 3)
    whole = path.read_bytes()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    with opened(path) as log:
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(whole) + 100, hard))  # setrlimit(2): the rest is refused
        try:
            with pytest.raises(
                CannotWrite, match="the disk is full: entry 4 was not written; nothing before it is lost"
            ):
                log.append("Ana", "note", {"text": "x" * 200})
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert path.read_bytes() == whole
        made.append(log.append("Ana", "note", {}))
    assert read(path) == made


def test_half_a_write_that_cannot_be_cut_back_stops_the_writer_and_is_set_aside_at_the_next_opening(path: Path) -> None:
    made = written(path, 3)
    really_write = os.write
    with opened(path) as log, pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "write", lambda descriptor, data: really_write(descriptor, data[:30]))
        patch.setattr(os, "ftruncate", fails_with(errno.EIO))
        with pytest.raises(CannotWrite, match="the disk is full: entry 4 was not written"):
            log.append("Ana", "note", {})
        with pytest.raises(CannotWrite, match=r"entry 4 was interrupted .* Quit, and open the folder again"):
            log.append("Ana", "note", {})
    with opened(path) as log:
        assert "its 30 bytes are set aside in log.torn-" in log.told[0]
    assert read(path) == made


@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC])
def test_after_a_failed_sync_nothing_is_written_until_the_folder_is_opened_again(path: Path, number: int) -> None:
    made = written(path, 3)
    with opened(path) as log:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(os, "fsync", fails_with(number))
            with pytest.raises(
                CannotWrite, match=r"entry 4 counts as not written; nothing before it is lost. Quit, and"
            ):
                log.append("Ana", "note", {})
        with pytest.raises(CannotWrite, match="entry 4 counts as not written"):  # a sync that works now proves nothing
            log.append("Ana", "note", {})
        assert read(path) == made
    with opened(path) as log:
        made.append(log.append("Ana", "note", {}))
    assert read(path) == made


def test_an_interrupt_in_the_middle_of_a_write_never_makes_two_entries_of_one_number(path: Path) -> None:
    made = written(path, 3)

    def interrupt(_: int) -> NoReturn:
        raise KeyboardInterrupt

    with opened(path) as log:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(os, "fsync", interrupt)
            with pytest.raises(KeyboardInterrupt):
                log.append("Ana", "note", {"text": "interrupted"})
        with pytest.raises(CannotWrite, match="entry 4 was interrupted and may not be on the disk"):
            log.append("Ana", "note", {})
    with opened(path) as log:
        assert log.append("Ana", "note", {}).n == 5
    assert [entry.n for entry in read(path)] == [1, 2, 3, 4, 5]
    assert read(path)[:3] == made


@pytest.mark.parametrize(
    ("number", "says"), [(errno.EROFS, "the disk is read-only"), (errno.EACCES, "you are not permitted to")]
)
def test_a_folder_that_cannot_be_written_is_told_and_can_still_be_read(path: Path, number: int, says: str) -> None:
    made = written(path, 3)
    really_open = os.open

    def open_to_read(name: str, flags: int, *mode: int) -> int:
        if flags & (os.O_WRONLY | os.O_RDWR):
            raise OSError(number, os.strerror(number))
        return really_open(name, flags, *mode)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "open", open_to_read)
        with pytest.raises(ReadOnly, match=f"log.jsonl cannot be written: {says}"):
            opened(path)
        assert read(path) == made


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(ReadOnly, match="cannot be written: the folder is not there"):
        opened(tmp_path / "nowhere" / "log.jsonl")


def test_a_disk_that_fails_while_the_log_is_read_is_told_with_the_line_reached(path: Path) -> None:
    written(path, 3)
    entries = read_log(path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "lseek", fails_with(errno.EIO))
        with pytest.raises(Unreadable, match="cannot be read after line 0: the disk does not do it"):
            next(entries)


# -- what reaches the disk, and when


class Watched:
    """The calls that make an entry last, in the order they came."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.calls: list[str] = []
        self._write, self._fsync, self._cut = os.write, os.fsync, os.ftruncate
        patch.setattr(os, "write", self.write)
        patch.setattr(os, "fsync", self.fsync)
        patch.setattr(os, "ftruncate", self.cut)

    def write(self, descriptor: int, data: bytes) -> int:
        self.calls.append(f"write {data.count(10)} line")
        return self._write(descriptor, data)

    def cut(self, descriptor: int, length: int) -> None:
        self.calls.append("cut")
        self._cut(descriptor, length)

    def fsync(self, descriptor: int) -> None:
        self.calls.append("sync folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "sync file")
        self._fsync(descriptor)


def test_an_entry_is_one_write_then_a_sync_and_the_first_one_syncs_the_folder_too(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with opened(path) as log:
        watched = Watched(monkeypatch)
        log.append("Ana", "opened", {"format": 1})
        assert watched.calls == ["write 1 line", "sync file", "sync folder"]
        watched.calls.clear()
        log.append("Ana", "note", {"text": "a\nb"})
        assert watched.calls == ["write 1 line", "sync file"]


def test_a_log_left_empty_by_a_killed_program_syncs_its_folder_with_the_first_entry(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path.touch()
    with opened(path) as log:
        watched = Watched(monkeypatch)
        log.append("Ana", "opened", {"format": 1})
    assert watched.calls == ["write 1 line", "sync file", "sync folder"]


def test_opening_to_write_syncs_what_it_read(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(path)
    watched = Watched(monkeypatch)
    opened(path).close()
    assert watched.calls == ["sync file"]


def test_a_torn_tail_is_on_the_disk_elsewhere_before_it_is_cut_off(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(path)
    with path.open("ab") as file:
        file.write(b'{"n":5')
    watched = Watched(monkeypatch)
    opened(path).close()
    assert watched.calls == ["write 0 line", "sync file", "sync folder", "cut", "sync file"]


def test_what_was_read_but_cannot_be_synced_is_not_built_on(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(path)
    monkeypatch.setattr(os, "fsync", fails_with(errno.EIO))
    with pytest.raises(CannotWrite, match=r"cannot be written: the disk does not do it .* It can still be read"):
        opened(path)


def test_a_network_disk_that_syncs_no_folders_still_takes_entries(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    really_sync = os.fsync

    def sync_files_only(descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            raise OSError(errno.EINVAL, "Invalid argument")  # as SMB shares do
        really_sync(descriptor)

    monkeypatch.setattr(os, "fsync", sync_files_only)
    written(path, 2)
    assert len(read(path)) == 2
