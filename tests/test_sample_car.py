"""The sample car that ships is what its script makes, believable, and never taken for a real car."""

from __future__ import annotations

from pathlib import Path

from teardown.car.door import open_car
from teardown.car.steps import view_route
from teardown.packs.shipped import sample_car
from tests.make_sample_car import make
from tests.world import HandClock


def test_the_sample_car_is_what_its_script_makes(tmp_path: Path) -> None:
    make(tmp_path / "car")
    for name in ("car.toml", "log.jsonl"):
        assert (sample_car() / name).read_bytes() == (tmp_path / "car" / name).read_bytes(), (
            f"{name} is out of date: python -m tests.make_sample_car"
        )


def test_the_sample_car_is_a_rehearsal_half_way_through() -> None:
    with open_car(sample_car(), HandClock(), write=False) as car:
        state = car.now().state
        assert state.rehearsal
        assert 200 <= state.entries <= 600
        states = [view.state for view in view_route(car.now())]
    assert 0.25 < states.count("done") / len(states) < 0.75
