"""Every card and every gate that ships can be read: nothing is cut off without a mark, the keys stay in sight, and
scrolling shows the rest."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from teardown.car.door import Car, begin_log, open_car
from teardown.packs.route import RouteStep
from teardown.packs.shipped import procedures
from teardown.screens.desk import Desk
from teardown.screens.layout import DIGIT_ROWS, Layout, lay_out
from teardown.screens.paint import Window
from teardown.screens.places.card import Card
from tests.world import FACTS, HandClock

SIZES = [Window(40, 12), Window(60, 18), Window(80, 24), Window(76, 40)]


@pytest.fixture(scope="module")
def car(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Car]:
    """A car of which nothing is known: every step of every pack is on its route."""
    folder = tmp_path_factory.mktemp("car")
    (folder / "car.toml").write_text(FACTS.split("[fitted]")[0])
    begin_log(folder, HandClock(), "Ana")
    with open_car(folder, HandClock(), write=True, packs=procedures()) as opened:
        yield opened


def shown(layout: Layout, region: str) -> list[str]:
    return [line.plain.rstrip() for line in layout.regions[region]]


def check_fits(layout: Layout, window: Window, what: str) -> None:
    rows = sum(map(len, layout.regions.values())) + (DIGIT_ROWS if layout.digits else 0)
    assert rows <= window.rows, f"{what}: {rows} rows in {window.rows}"
    for lines in layout.regions.values():
        for line in lines:
            assert line.cell_length <= window.columns, f"{what}: {line.plain!r}"
    assert "[" in "".join(shown(layout, "keys")), f"{what}: no keys in sight"


def read_to_the_end(desk: Desk, window: Window, what: str) -> str:
    """Everything the body shows, scrolled line by line; wherever more is hidden, a mark says so."""
    desk.scrolled, seen = 0, []
    for _ in range(400):
        layout = lay_out(desk, window)
        check_fits(layout, window, what)
        body = shown(layout, "body")
        seen += [line for line in body if not line.startswith(("^ ", "v ")) and line not in seen]
        if not body or not body[-1].startswith("v "):
            return " ".join((*shown(layout, "head"), *seen))
        before = desk.scrolled
        desk.scrolled += 1
        lay_out(desk, window)
        if desk.scrolled == before:
            raise AssertionError(f"{what}: a mark says more below, but scrolling shows nothing")
    raise AssertionError(f"{what}: no end")


@pytest.mark.parametrize("window", SIZES, ids=lambda window: f"{window.columns}x{window.rows}")
def test_every_card_can_be_read_to_its_end(car: Car, window: Window) -> None:
    desk = Desk(car, "Ana", Card())
    for position, laid in enumerate(car.folded.route.steps):
        desk.position = position
        text = read_to_the_end(desk, window, laid.ref)
        assert all(word in text for word in laid.step.title.split()), laid.ref
        assert all(word in text for word in laid.step.do.split()), laid.ref
        for hazard in laid.step.hazards if not window.small else laid.step.hazards[:1]:
            assert car.folded.route.library.hazards[hazard].signal in text or window.small, (laid.ref, hazard)
        for note in good_to_know(car, laid, window):
            assert all(word in text for word in note.split()), (laid.ref, note)


def good_to_know(car: Car, laid: RouteStep, window: Window) -> list[str]:
    """What the packs know of the parts, and why a pack is done: shown wherever there is room for it."""
    notes = [part.note for part in laid.step.parts if part.note and not window.small]
    return notes + ([laid.pack.why] if window.roomy and laid.ref in car.folded.route.pack_begins else [])


@pytest.mark.parametrize("window", SIZES, ids=lambda window: f"{window.columns}x{window.rows}")
def test_every_gate_fits_with_its_keys(car: Car, window: Window) -> None:
    desk = Desk(car, "Ana", Card())
    for gate_id, gate in car.folded.route.library.gates.items():
        del desk.places[1:]
        desk.go_to_gate(gate_id)
        layout = lay_out(desk, window)
        check_fits(layout, window, gate_id)
        if gate.kind not in ("people",):
            assert gate.title.split()[0] in " ".join(shown(layout, "head")), gate_id


def test_the_statement_to_confirm_is_in_sight_on_the_smallest_screen(car: Car) -> None:
    """The line a glove is about to confirm must be read whole, or be scrolled to with a mark."""
    window = Window(40, 12)
    desk = Desk(car, "Ana", Card())
    for gate_id, gate in car.folded.route.library.gates.items():
        if gate.kind == "ticks":
            del desk.places[1:]
            desk.go_to_gate(gate_id)
            text = read_to_the_end(desk, window, gate_id)
            assert all(word in text for word in gate.ticks[0].split()), gate_id
