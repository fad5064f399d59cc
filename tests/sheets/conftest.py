"""A car with something on every sheet, and everything a stranger could write into it."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from tests.car.tally import TALLY_FACTS, mats_off, tally_world
from tests.world import World

A_FORMULA_AND_A_SCRIPT = "=cmd|'/c calc'!A1 <script>alert(1)</script> <img src=//evil.example/x>"
A_TEMPLATE_AND_A_HANDLER = "{{7*7}} {% raw %} \" onerror=alert(2) ' ]]> &lt; \u202egpj <svg/onload=alert(3)>"
VEHICLE_NUMBER = "WXZ12345678901234"
"""Seventeen letters and digits, invented: ISO 3779 leaves out I, O and Q."""


def filled(folder: Path, *, text: str = TALLY_FACTS, name: str = "clips", rehearsal: bool = False) -> World:
    """Every kind of thing a sheet can tell, with `name` wherever a person may write."""
    world = World(folder, text, rehearsal) if rehearsal else tally_world(folder, text)
    world.done("car-weighed", corners="334,331,266,262kg", fuel="40L", conditions=name)
    mats_off(world)
    world.done("part-weighed", part="mats", reading="3.2kg")
    world.done("part-fate", part="mats", fate="sell")
    found = f"found-{world.done('part-found', name=name, reading='2kg', fate='sell').n}"
    told = dict.fromkeys(("fits", "number", "colour", "tested", "included", "where"), name)
    world.done("listed", part="mats", along=f"{found},driver-seat", ask="40", floor="20", faults=VEHICLE_NUMBER, **told)
    world.done("listed", part="driver-seat", ask="90")
    world.done("part-fitted", name=name, reading="8kg")
    world.done("cost", amount="12", what=name, of="removing")
    world.modules_out()
    world.done("handed-over", part="driver-bag", to=name, paper=name)
    world.done("gate-reading", gate="ice-meter", value="900ppm")
    world.done("power-restored", why=name)
    world.done("note", text=name)
    world.done("run-timed", what="0 to 80 km/h", times="12.1;12.4;12.2s", conditions=name)
    world.done("photo", file=str(photo(folder.parent)), part=found, says=name)
    world.done("still-fitted", module="knee-bag", why=name)
    world.done("car-weighed", corners="330,331,266,262kg", fuel="30L")
    return world


def photo(folder: Path) -> Path:
    """A picture with a place in it."""
    exif, path = Image.Exif(), folder / "mats.jpg"
    exif[0x8825] = {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)}  # GPS Info IFD: CIPA DC-008, table 4
    exif[0x010F] = "SECRETMAKER"
    out = BytesIO()
    Image.new("RGB", (60, 40), (20, 90, 160)).save(out, "JPEG", exif=exif.tobytes())
    path.write_bytes(out.getvalue())
    return path


@pytest.fixture
def world(tmp_path: Path) -> World:
    return filled(tmp_path / "car")
