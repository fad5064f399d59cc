"""Photos: copied by what is in them, never overwritten, only pictures; and a buyer's copy gives no place away."""

from __future__ import annotations

import os
import shlex
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from urllib.parse import quote

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from teardown.car import photos
from teardown.car.photos import NotAPhoto, dragged, for_a_buyer, image_kind, photo_path, pictures_of, take_in
from tests.world import World

GPS = 0x8825  # CIPA DC-008 (Exif 2.32), table 4: GPS Info IFD pointer


def picture(kind: str = "JPEG", place: bool = False, size: tuple[int, int] = (40, 20)) -> bytes:
    image, out = Image.new("RGB", size, (200, 30, 30)), BytesIO()
    exif = Image.Exif()
    if place:
        exif[GPS] = {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)}
        exif[0x010F] = "SECRETMAKER"
        exif[0x0112] = 6  # turned a quarter: Exif orientation
    image.save(out, kind, **({"exif": exif.tobytes(), "comment": b"OUR GARAGE"} if place else {}))
    return out.getvalue()


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "my seat.jpg"
    path.write_bytes(picture(place=True))
    return path


def test_a_picture_is_kept_under_its_digest_and_the_entry_names_the_copy(world: World, photo: Path) -> None:
    entry = world.done("photo", file=str(photo), part="mats", says="front")
    name = f"{sha256(photo.read_bytes()).hexdigest()}.jpg"  # SHA-256: FIPS 180-4, by hashlib
    assert entry.fields["file"] == name
    assert (world.folder / "photos" / name).read_bytes() == photo.read_bytes()
    assert str(photo) not in (world.folder / "log.jsonl").read_text()


def test_a_picture_of_a_step_nobody_knows_is_refused_with_the_nearest_one(world: World, photo: Path) -> None:
    why = world.refused("photo", file=str(photo), step="safe.luk").why
    assert why == "no step is called safe.luk (did you mean safe.look?)"


def test_the_same_picture_is_kept_once_and_never_written_again(world: World, photo: Path) -> None:
    name = take_in(world.folder, str(photo))
    kept = world.folder / "photos" / name
    before = kept.stat().st_mtime_ns
    assert take_in(world.folder, str(photo)) == name
    assert kept.stat().st_mtime_ns == before
    assert [path.name for path in kept.parent.iterdir()] == [name]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_kind_is_read_from_the_first_bytes_not_the_name(world: World, tmp_path: Path, kind: str) -> None:
    path = tmp_path / "misnamed.exe"
    path.write_bytes(picture(kind))
    assert take_in(world.folder, str(path)).endswith({"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp"}[kind])


@pytest.mark.parametrize("content", [b"", b"GIF89a", b"<svg onload=alert(1)>", b"#!/bin/sh\n", b"RIFF0000WAVE"])
def test_what_is_no_picture_is_refused(world: World, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "seat.jpg"
    path.write_bytes(content)
    before = world.state.entries
    assert "is no JPEG, PNG or WebP picture" in world.refused("photo", file=str(path)).why
    assert world.state.entries == before


def test_folders_pipes_and_files_that_are_not_there_are_refused(world: World, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "is not a file" in world.refused("photo", file=str(tmp_path / "pipe")).why
    assert "cannot be read" in world.refused("photo", file=str(tmp_path / "none.jpg")).why
    assert "is not a file" in world.refused("photo", file=str(tmp_path)).why
    assert "cannot be read" in world.refused("photo", file="a\0b").why


def test_a_huge_file_is_refused(world: World, photo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MOST_BYTES", 100)
    assert "the most for a photo" in world.refused("photo", file=str(photo)).why


def test_photos_stay_in_the_cars_folder(world: World, photo: Path, tmp_path: Path) -> None:
    (world.folder / "photos").symlink_to(tmp_path)
    with pytest.raises(NotAPhoto, match="a link to somewhere else"):
        take_in(world.folder, str(photo))


@pytest.mark.parametrize("name", ["../car.toml", "/etc/passwd", "x.jpg", f"{'0' * 64}.svg", f"{'../' * 20}aaaa.jpg"])
def test_a_record_cannot_point_out_of_the_folder(world: World, name: str) -> None:
    assert photo_path(world.folder, name) is None


def escaped(path: str) -> str:
    """As a shell wants it: POSIX.1-2017, Shell Command Language 2.2.1, a backslash before every special character."""
    return "".join(f"\\{c}" if c in " ()'\"&;$`\\!*?[]#~|<>" else c for c in path)


NAMES = [
    "photo (1).jpg",
    "Ana's seat.jpg",
    'say "cheese".jpg',
    "a%20b.jpg",
    "a&b;c$d!.jpg",
    "seat\u00e9.jpg",
    "a#b?c.jpg",
]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    "way", ["as it is", "escaped", "single", "double", "address", "local address", "quoted address"]
)
def test_a_path_dragged_into_a_terminal_is_understood(world: World, tmp_path: Path, name: str, way: str) -> None:
    path = tmp_path / name
    path.write_bytes(picture())
    address = f"file://{quote(str(path))}"  # RFC 8089, by urllib
    typed = {
        "as it is": str(path),
        "escaped": f"{escaped(str(path))} ",
        "single": shlex.quote(str(path)),
        "double": '"' + str(path).replace("\\", "\\\\").replace('"', '\\"') + '"',
        "address": address,
        "local address": address.replace("file://", "file://localhost", 1) + " ",
        "quoted address": f"'{address}'",
    }[way]
    assert world.done("photo", file=typed).fields["file"] == f"{sha256(path.read_bytes()).hexdigest()}.jpg"


def test_a_file_that_is_called_just_as_typed_is_meant(world: World, tmp_path: Path) -> None:
    for name, colour in (("a b.jpg", "red"), ("a\\ b.jpg", "blue"), ("'q'.jpg", "green")):
        Image.new("RGB", (4, 4), colour).save(tmp_path / name)
        taken = world.done("photo", file=str(tmp_path / name)).fields["file"]
        assert taken == f"{sha256((tmp_path / name).read_bytes()).hexdigest()}.jpg", name


@pytest.mark.parametrize("typed", [
    "file://elsewhere/seat.jpg",
    "file:",
    "file://",
    "file:///%00",
    "https://example.org/seat.jpg",
    "'",
    "''",
    "~nobody-of-that-name/seat.jpg",
    "a.jpg b.jpg",
])  # fmt: skip
def test_what_is_no_path_to_a_file_here_is_refused(world: World, typed: str) -> None:
    why = world.refused("photo", file=typed).why
    assert "cannot be read" in why or "is not a file" in why


@given(st.text(max_size=60))
def test_whatever_is_typed_is_a_path_or_stays_as_it_is(typed: str) -> None:
    assert isinstance(dragged(typed), str)


def test_the_same_picture_entered_twice_for_a_part_is_one_with_the_newest_words(world: World, tmp_path: Path) -> None:
    front, back = tmp_path / "front.jpg", tmp_path / "back.jpg"
    front.write_bytes(picture())
    back.write_bytes(picture(size=(30, 30)))
    for path, part, says in ((front, "mats", "front"), (back, "mats", "back"), (front, "driver-seat", "seat")):
        world.done("photo", file=str(path), part=part, says=says)
    again = world.done("photo", file=f"file://{front}", part="mats", says="front, clean")
    assert [one.says for one in pictures_of(world.state, "mats")] == ["front, clean", "back"]
    assert [one.says for one in pictures_of(world.state, "driver-seat")] == ["seat"]
    world.done("undo", entry=again.n)
    assert [one.says for one in pictures_of(world.state, "mats")] == ["front", "back"]


def test_the_picture_carries_a_place_and_the_buyers_copy_does_not(photo: Path) -> None:
    with Image.open(photo) as original:
        assert dict(original.getexif().get_ifd(GPS))  # else this test could not fail
    copy = for_a_buyer(photo)
    with Image.open(BytesIO(copy)) as opened:
        assert dict(opened.getexif()) == {}
        assert opened.info.keys() <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert opened.size == (20, 40)  # turned as the camera held it, since that note is gone too
    assert b"Exif" not in copy
    assert b"SECRETMAKER" not in copy
    assert b"OUR GARAGE" in photo.read_bytes()
    assert b"OUR GARAGE" not in copy


def test_what_hangs_behind_the_picture_does_not_go_with_it(tmp_path: Path) -> None:
    path = tmp_path / "seat.jpg"
    path.write_bytes(picture() + b"ADDRESS OF THE GARAGE")
    assert b"ADDRESS" not in for_a_buyer(path)


def test_a_broken_picture_is_told_and_does_not_end_the_program(tmp_path: Path) -> None:
    path = tmp_path / "seat.jpg"
    path.write_bytes(picture()[:200])
    with pytest.raises(NotAPhoto, match="cannot be read as a picture"):
        for_a_buyer(path)


def test_bytes_that_begin_like_no_picture_have_no_kind() -> None:
    assert image_kind(b"\xff\xd8") is None
