"""Photos: copied into the folder by what is in them, never overwritten; and copies for buyers, without their place.

A photo file is a stranger's file. Its kind is read from its first bytes, not its name; a link, a pipe or a device is
none; what a buyer gets is painted anew, so that nothing hidden in the file goes with it.
"""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from teardown.car.disk import write_new
from teardown.text import one_line

if TYPE_CHECKING:
    from teardown.car.state import State
    from teardown.car.tally_values import Picture

FOLDER = "photos"
MOST_BYTES = 40 * 1024 * 1024
MOST_PIXELS = 120_000_000
BUYERS_SIDE_PX = 1200
_OPEN = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


class NotAPhoto(ValueError):
    """The file cannot be taken as a photo; the message says why and what is taken."""


def image_kind(start: bytes) -> str | None:
    """The ending for an image, by its first bytes; None when it is none that is taken.

    Source: the signatures of JPEG (ITU-T T.81 B.1.1.3), PNG (W3C PNG 5.2) and WebP (RFC 9649 2.4).

    >>> image_kind(bytes([0xFF, 0xD8, 0xFF, 0xE0]))
    'jpg'
    """
    if start.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if start.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if start[:4] == b"RIFF" and start[8:12] == b"WEBP":
        return "webp"
    return None


def take_in(folder: Path, typed: str) -> str:
    """Copy a picture into the car's folder and give back the copy's name. The same picture is kept once.

    Raises NotAPhoto, or OSError when the folder cannot take it.
    """
    content = _content(_meant(typed))
    kind = image_kind(content)
    if kind is None:
        raise NotAPhoto(f"{one_line(typed)[:80]} is no JPEG, PNG or WebP picture by its first bytes")
    name = f"{sha256(content).hexdigest()}.{kind}"
    _keep(folder / FOLDER, name, content)
    return name


def _meant(typed: str) -> Path:
    """A file that is called just so is meant; only else may it be the way a terminal writes a name."""
    path = os.path.expanduser(typed.strip())
    return Path(path if os.path.lexists(path) else os.path.expanduser(dragged(typed)))


def dragged(typed: str) -> str:
    """A file dragged into a terminal arrives quoted, with what is special to a shell escaped, or as an address.

    Source: quoting as a shell reads it (POSIX.1-2017, Shell Command Language 2.2); addresses of files (RFC 8089).

    >>> dragged("'/home/ana/my seat.jpg' "), dragged("file:///home/ana/my%20seat.jpg")
    ('/home/ana/my seat.jpg', '/home/ana/my seat.jpg')
    """
    path = _unquoted(typed.strip())
    scheme, _, address = path.partition(":")
    return _path_in(address) if scheme.lower() == "file" and address.startswith("/") else path


def _unquoted(path: str) -> str:
    if os.sep != "/":  # where a backslash parts folders it escapes nothing
        return path[1:-1] if len(path) > 1 and path[0] == path[-1] and path[0] in "'\"" else path
    import shlex  # with `unquote` below, 5 ms that only a photo need wait for

    try:
        words = shlex.split(path)
    except ValueError:  # an apostrophe in a name is no quotation
        return path
    return words[0] if len(words) == 1 else path


def _path_in(address: str) -> str:
    """The path in what stands behind `file:`; one on another machine is left as it is, to be refused as not there."""
    host, slash, path = address[2:].partition("/") if address.startswith("//") else ("", "/", address[1:])
    if host.lower() not in ("", "localhost"):
        return f"file:{address}"
    from urllib.parse import unquote

    return f"{slash if os.sep == '/' else ''}{unquote(path)}"


def pictures_of(state: State, part: str) -> list[Picture]:
    """The photos of a part, each picture once however often it was entered, with the newest words about it."""
    once: dict[str, Picture] = {}
    for picture in state.photos:
        if picture.part == part:
            once[picture.file] = picture
    return list(once.values())


def photo_path(folder: Path, name: str) -> Path | None:
    """Where a photo of the record lies; None when the name is none of ours, or it is not there."""
    stem, _, kind = name.partition(".")
    if len(stem) != 64 or not set(stem) <= set("0123456789abcdef") or kind not in ("jpg", "png", "webp"):
        return None
    path = folder / FOLDER / name
    return path if path.is_file() and not path.is_symlink() else None


def for_a_buyer(path: Path) -> bytes:
    """A JPEG of the picture alone: no place, time, camera, thumbnail or comment. Raises NotAPhoto.

    The picture is turned as the camera held it, then painted onto an empty one, which has nothing else to give away.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(BytesIO(_content(path)), formats=("JPEG", "PNG", "WEBP")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise NotAPhoto(f"{path.name} has more than {MOST_PIXELS:,} pixels")
            turned = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise NotAPhoto(f"{path.name} cannot be read as a picture") from error
    turned.thumbnail((BUYERS_SIDE_PX, BUYERS_SIDE_PX))
    empty = Image.new("RGB", turned.size)
    empty.paste(turned)
    out = BytesIO()
    empty.save(out, "JPEG", quality=82)
    return out.getvalue()


def _content(path: Path) -> bytes:
    """The bytes of a regular file; a pipe does not make the program hang, and a huge file is not read."""
    try:
        descriptor = os.open(path, _OPEN)
    except (OSError, ValueError) as error:
        raise NotAPhoto(f"{one_line(str(path))[:80]} cannot be read: {getattr(error, 'strerror', error)}") from error
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        os.close(descriptor)
        raise NotAPhoto(f"{one_line(str(path))[:80]} is not a file")
    with open(descriptor, "rb") as file:
        content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise NotAPhoto(f"{one_line(str(path))[:80]} is larger than {MOST_BYTES // 1024**2} MiB, the most for a photo")
    return content


def _keep(folder: Path, name: str, content: bytes) -> None:
    """A new file, whole or not at all, on the disk before this returns. One of that name holds the same picture."""
    if folder.is_symlink():
        raise NotAPhoto(f"{folder} is a link to somewhere else: photos stay in the car's folder")
    folder.mkdir(exist_ok=True)
    if (folder / name).exists():
        return
    with suppress(FileExistsError):
        write_new(folder / name, content)
