"""Everything written in the tally can be undone, and is then as if it had never been written."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.balance import balances
from teardown.car.closing import closing_of
from teardown.car.mass import mass_now, mass_over_entries
from teardown.car.money import money_now
from teardown.car.offers import offers
from teardown.car.state import State
from teardown.car.tally import all_lines
from teardown.car.tally_entries import TALLY_KINDS
from teardown.car.tickets import check_tickets
from tests.car.tally import mats_off, tally_world
from tests.sheets.conftest import photo

WRITTEN: dict[str, dict[str, object]] = {
    "part-weighed": {"part": "mats", "reading": "2kg"},
    "parts-weighed": {"parts": "mats,driver-seat", "reading": "20kg"},
    "part-found": {"name": "clips", "reading": "1kg"},
    "part-fate": {"part": "mats", "fate": "scrap"},
    "part-fitted": {"name": "seat", "reading": "8kg"},
    "car-weighed": {"corners": "300,300,250,250kg", "fuel": "20L"},
    "cost": {"amount": "12.50", "what": "ice", "of": "removing"},
    "listed": {"part": "mats", "along": "driver-seat", "ask": "40", "floor": "20"},
    "sold": {"part": "mats", "amount": "30", "fees": "3"},
    "refunded": {"part": "pads", "amount": "5", "why": "torn", "returned": True},
    "scrap-ticket": {"reading": "10kg", "amount": "2"},
    "handed-over": {"part": "mats", "to": "neighbour"},
    "run-timed": {"what": "0 to 80 km/h", "times": "12.1;12.4s"},
    "photo": {"part": "mats"},
}


def told(state: State) -> tuple[object, ...]:
    """All the tally says of a car."""
    pages = (mass_now, mass_over_entries, money_now, offers, check_tickets, closing_of, balances, all_lines)
    return (*(page(state) for page in pages), list(state.runs), list(state.photos))


def test_every_kind_of_the_tally_is_tried_here() -> None:
    assert set(WRITTEN) == set(TALLY_KINDS)


@pytest.mark.parametrize("kind", WRITTEN)
def test_what_is_undone_is_as_if_it_had_never_been_written(tmp_path: Path, kind: str) -> None:
    world = tally_world(tmp_path / "car")
    world.done("car-weighed", corners="334,331,266,262kg", fuel="40L")
    mats_off(world)
    world.done("part-fate", part="mats", fate="sell")
    world.done("sold", part="pads", amount="9")
    world.done("car-weighed", corners="333,330,265,261kg", fuel="40L")
    before = told(world.state)
    words = WRITTEN[kind] | ({"file": str(photo(tmp_path))} if kind == "photo" else {})
    entry = world.done(kind, **words)
    assert told(world.state) != before  # else there would be nothing to undo
    world.done("undo", entry=entry.n)
    assert told(world.state) == before
    world.reopen()
    assert told(world.state) == before
