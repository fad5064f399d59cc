"""Photos: copied by what is in them, never overwritten, only pictures; and a buyer's copy gives no place away."""

from __future__ import annotations

import os
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from teardown.car import photos
from teardown.car.photos import NotAPhoto, dragged, for_a_buyer, image_kind, photo_path, take_in
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


def test_a_path_dragged_into_a_terminal_is_understood(world: World, photo: Path) -> None:
    for typed in (f"'{photo}'", f'"{photo}" ', str(photo).replace(" ", "\\ ")):
        assert dragged(typed) == str(photo)
    world.done("photo", file=f"'{photo}'")


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
