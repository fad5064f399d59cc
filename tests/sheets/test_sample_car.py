"""The sample car: its closing explains itself, and every sheet of it can be written."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from teardown.car.closing import Closing, closing_of
from teardown.car.door import Car, open_car
from teardown.car.log import Entry
from teardown.commands.tally import closing_text
from teardown.packs.shipped import sample_car
from teardown.sheets.writing import KINDS, write_sheet
from tests.world.clock import HandClock


@pytest.fixture
def car(tmp_path: Path) -> Iterator[Car]:
    shutil.copytree(sample_car(), tmp_path / "car")
    with open_car(tmp_path / "car", HandClock(), write=True, rehearsal=True) as opened:
        yield opened


def test_the_sample_as_it_ships_closes_and_says_what_the_gap_is_worth(car: Car) -> None:
    state = car.now().state
    said = "\n".join(closing_text(state))
    assert "CLOSES" in said
    assert "One gap cannot say which entry is wrong" in said
    found = closing_of(state)
    assert isinstance(found, Closing)
    assert 0 < abs(found.result.gap_kg) < 5  # what its maker left unwritten, less the refrigerant, fluids apart


def test_twenty_kilos_nobody_wrote_down_are_found_and_explained(car: Car) -> None:
    weighed = car.now().state.weighings.last
    assert weighed is not None
    short = {"total": f"{weighed.total_kg - 20:.1f}kg", "fuel": "12L"}
    assert isinstance(car.enter("car-weighed", short, "Ines"), Entry)
    said = "\n".join(closing_text(car.now().state))
    assert "WEIGH AGAIN: the gap is over 1 % of the car" in said
    assert "Most often forgotten, the usual first:" in said
    assert "parts thrown into a skip or taken by helpers, never weighed" in said


@pytest.mark.parametrize("kind", KINDS)
def test_every_sheet_of_it_can_be_written(car: Car, kind: str) -> None:
    files = write_sheet(car, kind)
    assert all(path.stat().st_size > 0 for path in files)


def test_its_pillar_trims_are_a_lot_and_the_street_among_its_words_is_blacked_out(car: Car) -> None:
    told: list[str] = []
    html = write_sheet(car, "sale", tell=told.append)[0].read_text()
    assert "A-pillar trims, pair and 3 more" in html
    assert "can be seen in █████ on Saturdays" in html
    assert told == ['blacked out (private: Kiln Lane): "held up to the light, can be seen in █████ on Saturdays"']
