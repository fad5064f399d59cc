"""The sample car: its closing explains itself, and every sheet of it can be written."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from teardown.car.closing import Closing, closing_of
from teardown.car.door import Car, open_car
from teardown.car.log import Entry
from teardown.car.mass import mass_now
from teardown.commands.tally import closing_text
from teardown.packs.shipped import sample_car
from teardown.sheets.writing import KINDS, write_sheet
from tests.world.clock import HandClock


@pytest.fixture
def car(tmp_path: Path) -> Iterator[Car]:
    shutil.copytree(sample_car(), tmp_path / "car")
    with open_car(tmp_path / "car", HandClock(), write=True, rehearsal=True) as opened:
        yield opened


def weigh(car: Car, kg: float) -> str:
    """Put the car on the pads again; give back what the closing says."""
    assert isinstance(car.enter("car-weighed", {"total": f"{kg:.1f}kg"}, "Ines"), Entry)
    return "\n".join(closing_text(car.now().state))


def reckoned_kg(car: Car) -> float:
    """What the lines say the scales must show: fluids went off the scales too, though they are no saving."""
    state = car.now().state
    now_kg = mass_now(state).now_kg
    assert now_kg is not None
    last = state.weighings.last_entry
    fluids = (p for p in state.route.parts.values() if p.part.counts == "fluid" and state.out_since(p.id) > last)
    return now_kg - sum(weight.kg for part in fluids if (weight := state.weight_of(part.id)))


def test_a_weighing_that_agrees_closes_and_says_what_it_rests_on(car: Car) -> None:
    said = weigh(car, reckoned_kg(car) + 0.5)
    assert "CLOSES" in said
    assert "NOT SURE: fuel was not noted" in said
    found = closing_of(car.now().state)
    assert isinstance(found, Closing)
    assert abs(found.result.gap_kg) == pytest.approx(0.5, abs=0.06)


def test_twenty_kilos_nobody_wrote_down_are_found_and_explained(car: Car) -> None:
    said = weigh(car, reckoned_kg(car) - 20)
    assert "WEIGH AGAIN: the gap is over 1 % of the car" in said
    assert "Most often forgotten, the usual first:" in said
    assert "parts thrown into a skip or taken by helpers, never weighed" in said


@pytest.mark.parametrize("kind", KINDS)
def test_every_sheet_of_it_can_be_written(car: Car, kind: str) -> None:
    files = write_sheet(car, kind)
    assert all(path.stat().st_size > 0 for path in files)
