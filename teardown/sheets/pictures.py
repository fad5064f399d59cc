"""Photos on sheets: numbered in the order they were entered, each with what it is of and what was said of it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable
from typing import NamedTuple

from teardown.car.door import Car
from teardown.car.photos import NotAPhoto, for_a_buyer, photo_path
from teardown.car.state import State
from teardown.car.tally import name_of
from teardown.car.tally_values import Picture
from teardown.sheets.page import Block, Photo, Row, Table

MOST_SHOWN = 24
"""On one sheet: beyond these a person leafs through the folder instead (this project's policy)."""


class Numbered(NamedTuple):
    """A photo and the number it has on every sheet that is not for strangers."""

    number: int
    picture: Picture
    of: str


def numbered(state: State) -> list[Numbered]:
    """Each picture once for each thing it is of, with the newest words about it."""
    once = {(one.file, one.part, one.step): one for one in state.photos}
    return [Numbered(n, one, _of(state, one)) for n, one in enumerate(once.values(), start=1)]


def _of(state: State, picture: Picture) -> str:
    laid = state.route.by_ref.get(picture.step)
    return name_of(state, picture.part) if picture.part else laid.step.title if laid else picture.step or "the car"


def evidence(photos: Iterable[Numbered], parts: Iterable[str], steps: Iterable[str] = ()) -> str:
    """The numbers of the photos of these."""
    parts, steps = set(parts), set(steps)
    found = [str(one.number) for one in photos if one.picture.part in parts or one.picture.step in steps]
    return f"photo {', '.join(found)}" if found else ""


def painted(car: Car, picture: Picture, caption: str) -> Photo:
    """The picture as it can be given away. Raises NotAPhoto."""
    path = photo_path(car.folder, picture.file)
    if path is None:
        raise NotAPhoto("a photo is not in the folder any more")
    return Photo(caption, b64encode(for_a_buyer(path)).decode())


def captioned(of: str, says: str) -> str:
    return f"{of}: {says}" if of and says else of or says


def album(car: Car, photos: list[Numbered]) -> Block:
    """The index, and the pictures as far as a sheet has room for them."""
    if not photos:
        return Block("Photos", lines=("No photo is in the record.",))
    rows: list[Row] = [(str(one.number), one.of, one.picture.says, one.picture.file) for one in photos]
    shown, troubles = [], []
    for one in photos[:MOST_SHOWN]:
        try:
            shown.append(painted(car, one.picture, f"{one.number}: {captioned(one.of, one.picture.says)}"))
        except NotAPhoto as error:
            troubles.append(f"Photo {one.number} left out: {error}.")
    if len(photos) > MOST_SHOWN:
        troubles.append(f"The first {MOST_SHOWN} of {len(photos)} are shown; the others lie in the car's folder.")
    table = Table("photos", ("photo", "of", "what was said of it", "file"), rows, shown=3)
    return Block("Photos", lines=troubles, table=table, photos=shown)
