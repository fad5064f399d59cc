"""A car's own packs: read from `packs` and from the folder car.toml names, told, and only ever tighter."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.door import Car, open_car
from teardown.packs.problems import PackError
from tests.world import FACTS, PROCEDURES, HandClock, World

NET = """
id = "{id}"
title = "Luggage net"
why = "It goes first."
[[steps]]
id = "net"
title = "Luggage net"
do = "Undo the four hooks. Lift the net out."
minutes = [1, 2, 3]
"""
SHORTER_WAIT = """
[[gates]]
id = "airbag-wait"
kind = "wait"
title = "Airbag wait"
why = "Only time empties it."
follows = ["battery"]
unknown_min = 30
floor_min = 1
source = "invented for tests"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    World(tmp_path / "car").car.close()
    return tmp_path / "car"


def opened(folder: Path) -> Car:
    return open_car(folder, HandClock(), write=False, packs=PROCEDURES)


def put(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return path


def name_folder(folder: Path, named: str) -> None:
    (folder / "car.toml").write_text(f'packs = "{named}"\n{FACTS}')


def own_steps(car: Car) -> list[str]:
    return [step.ref for step in car.folded.route.steps if step.ref.endswith(".net")]


def test_a_pack_in_the_folder_packs_is_read_and_told_though_car_toml_names_none(folder: Path) -> None:
    put(folder / "packs" / "net.toml", NET.format(id="net"))
    car = opened(folder)
    assert own_steps(car) == ["net.net"]
    assert car.told == ("read with packs of this car's own: packs/net.toml",)


def test_the_folder_that_car_toml_names_is_read_beside_it_wherever_it_lies(folder: Path, tmp_path: Path) -> None:
    put(folder / "packs" / "net.toml", NET.format(id="net"))
    put(tmp_path / "club" / "other.toml", NET.format(id="other"))
    for named in ("../club", str(tmp_path / "club")):
        name_folder(folder, named)
        car = opened(folder)
        assert own_steps(car) == ["net.net", "other.net"]
        assert car.told == (f"read with packs of this car's own: packs/net.toml, {named}/other.toml",)


@pytest.mark.parametrize("named", ["packs", "./packs/", "sheets/../packs"])
def test_the_folder_packs_is_read_once_though_car_toml_names_it(folder: Path, named: str) -> None:
    put(folder / "packs" / "net.toml", NET.format(id="net"))
    (folder / "sheets").mkdir(exist_ok=True)
    name_folder(folder, named)
    assert own_steps(opened(folder)) == ["net.net"]


def test_what_lies_loose_beside_car_toml_does_not_stop_the_car_and_is_told(folder: Path) -> None:
    put(folder / "car copy.toml", FACTS)
    put(folder / "net.toml", NET.format(id="net"))
    put(folder / "record-0001.toml", "record = 1")
    car = opened(folder)
    assert own_steps(car) == []
    assert car.told == (
        "beside car.toml and NOT read: car copy.toml, net.toml. Packs of one's own go into the folder packs",
    )


def test_car_toml_may_name_its_own_folder_and_is_itself_no_pack(folder: Path) -> None:
    name_folder(folder, ".")
    put(folder / "net.toml", NET.format(id="net"))
    put(folder / "record-0001.toml", "record = 1")
    car = opened(folder)
    assert own_steps(car) == ["net.net"]
    assert car.told == ("read with packs of this car's own: net.toml",)


def test_a_pack_called_like_a_record_is_read_where_packs_lie(folder: Path) -> None:
    put(folder / "packs" / "record-0001.toml", NET.format(id="net"))
    assert own_steps(opened(folder)) == ["net.net"]


def test_a_named_folder_that_is_not_there_stops_the_car_and_an_empty_one_is_told(folder: Path) -> None:
    name_folder(folder, "club")
    with pytest.raises(PackError, match="no such folder"):
        opened(folder)
    (folder / "club").mkdir()
    assert opened(folder).told == ("club, which car.toml names, holds no packs",)


@pytest.mark.parametrize("named", [None, "club", "."])
def test_no_own_pack_loosens_wherever_it_lies(folder: Path, named: str | None) -> None:
    if named is not None:
        name_folder(folder, named)
    shared = folder / (named or "packs") / "shared" / "gates.toml"
    put(shared, SHORTER_WAIT)
    with pytest.raises(PackError) as refused:
        opened(folder)
    assert f'{shared.relative_to(folder)}: gate 1 "airbag-wait": floor_min' in str(refused.value)
    assert "no less than what ships" in str(refused.value)


def test_a_wrong_pack_is_told_with_the_folder_it_lies_in(folder: Path) -> None:
    put(folder / "packs" / "net.toml", "id = ")
    with pytest.raises(PackError, match=r"packs/net\.toml: line 1"):
        opened(folder)


def test_of_very_many_packs_the_first_are_named_and_the_rest_counted(folder: Path) -> None:
    for n in range(11):
        put(folder / "packs" / f"n{n:02}.toml", NET.format(id=f"n{n:02}"))
    (told,) = opened(folder).told
    assert told.endswith("packs/n07.toml and 3 more")
