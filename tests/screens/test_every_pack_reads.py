"""Every card and every gate that ships can be read: nothing is cut off without a mark, the keys stay in sight, and
scrolling shows the rest."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from teardown.car.briefing import at_a_glance, hazards_of
from teardown.car.door import Car, begin_log, open_car
from teardown.car.gates import Tick
from teardown.packs.model import TicksGate
from teardown.packs.route import RouteStep
from teardown.packs.shipped import procedures
from teardown.screens.desk import NOT_IN_SIGHT, Desk
from teardown.screens.dispatch import SWALLOWED
from teardown.screens.layout import DIGIT_ROWS, Layout, lay_out
from teardown.screens.paint import Window
from teardown.screens.places import common
from teardown.screens.places.card import Card
from teardown.screens.places.gates.count import CountPlace
from teardown.screens.places.steplist import StepList
from tests.walker import Walker
from tests.world import FACTS, HandClock

MORE_BELOW = re.compile(r"(^|  )v \d+ (more )?below")
SIZES = [Window(40, 12), Window(60, 18), Window(80, 24), Window(76, 40)]


@pytest.fixture(scope="module")
def car(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Car]:
    """A car of which nothing is known: every step of every pack is on its route."""
    folder = tmp_path_factory.mktemp("car")
    (folder / "car.toml").write_text(FACTS.split("[fitted]")[0])
    begin_log(folder, HandClock(), "Ana")
    with open_car(folder, HandClock(), write=True, packs=procedures()) as opened:
        yield opened


@pytest.fixture
def walked(tmp_path: Path) -> Iterator[Walker]:
    """The same car and somebody who opens what a gate follows."""
    (tmp_path / "car.toml").write_text(FACTS.split("[fitted]")[0])
    clock = HandClock()
    begin_log(tmp_path, clock, "Ana")
    with open_car(tmp_path, clock, write=True, packs=procedures()) as opened:
        yield Walker(opened, clock)


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
    """Everything the body shows, a page at a time; wherever more is hidden, a mark says so."""
    desk.scrolled, desk.key, seen, shown_from = 0, "pagedown", list[str](), -1
    while True:
        layout = lay_out(desk, window)
        check_fits(layout, window, what)
        body = shown(layout, "body")
        seen += [line for line in body if not line.startswith(("^ ", "v ")) and line not in seen]
        if not body or not MORE_BELOW.search(body[-1]):
            return " ".join((*shown(layout, "head"), *seen))
        assert desk.shown_from > shown_from, f"{what}: a mark says more below, but scrolling shows nothing"
        shown_from = desk.shown_from
        common.down(desk)


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


@pytest.mark.parametrize(
    ("window", "most_without_what_to_do", "most_without_the_rest"),
    [(Window(60, 18), 1, 24), (Window(80, 24), 0, 0), (Window(40, 12), 61, 176)],
    ids=lambda of: f"{of.columns}x{of.rows}" if isinstance(of, Window) else str(of),
)
def test_what_must_be_in_sight_without_scrolling_is_on_all_cards_but_the_longest(
    car: Car, window: Window, most_without_what_to_do: int, most_without_the_rest: int
) -> None:
    """The hazard on each from arm's length; what to do; tools, fasteners with their bag, and what comes off. Counted
    where not one step is ready but the first few, which takes most room; more than this is a card that got longer."""
    desk = Desk(car, "Ana", Card())
    without_what_to_do, without_the_rest = [], []
    for position, laid in enumerate(car.folded.route.steps):
        desk.position, desk.scrolled = position, 0
        layout = lay_out(desk, window)
        text = " ".join(" ".join((*shown(layout, "head"), *shown(layout, "body"))).split())
        for hazard in hazards_of(car.folded, desk.step)[:1]:
            assert window.small or f"{hazard.happens} {hazard.avoid}" in text, laid.ref
        if " ".join(laid.step.do.split()) not in text:
            without_what_to_do.append(laid.ref)
        if any(told not in text for _, told in at_a_glance(car.folded, desk.step)):
            without_the_rest.append(laid.ref)
    assert len(without_what_to_do) <= most_without_what_to_do, without_what_to_do
    assert len(without_the_rest) <= most_without_the_rest, without_the_rest


def test_of_lesser_hazards_every_name_is_read_and_each_signal_word_once(car: Car) -> None:
    """A row saved in the head is one more of what to do."""
    desk = Desk(car, "Ana", Card())
    for position, laid in enumerate(car.folded.route.steps):
        desk.position = position
        others = hazards_of(car.folded, desk.step)[1:]
        head = " ".join(shown(lay_out(desk, Window(60, 18)), "head"))
        also = head.partition(". And ")[2].partition(f"{position + 1}/")[0]
        for hazard in others:
            assert hazard.title in also, laid.ref
            assert also.count(hazard.signal) == 1, laid.ref


def good_to_know(car: Car, laid: RouteStep, window: Window) -> list[str]:
    """What the packs know of the parts, and why a pack is done: shown wherever there is room for it."""
    notes = [part.note for part in laid.step.parts if part.note and not window.small]
    return notes + ([laid.pack.why] if window.roomy and laid.ref in car.folded.route.pack_begins else [])


def test_every_gate_for_what_the_car_may_lack_says_how_its_owner_tells_so(car: Car) -> None:
    gates = car.now().gates
    may_lack = [view for view in gates.values() if view.gate.has and view.first is None]
    assert {"high-voltage", "refrigerant", "magnesium"} <= {view.gate.id for view in may_lack}
    for view in may_lack:
        assert f"the car has none: enter car-answered feature={view.gate.has[0]} fitted=no" in view.why


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


@pytest.mark.parametrize("window", SIZES, ids=lambda window: f"{window.columns}x{window.rows}")
def test_where_to_look_for_each_live_module_is_whole_in_sight_at_the_cursor(car: Car, window: Window) -> None:
    desk = Desk(car, "Ana", Card())
    desk.go_to_gate("live-count")
    place = desk.place
    assert isinstance(place, CountPlace)
    for n, module in enumerate(car.folded.route.modules):
        place.cursor.at = n
        layout = lay_out(desk, window)
        check_fits(layout, window, module.id)
        assert f"{module.name}: look: {module.where}" in " ".join(shown(layout, "body")), module.id


@pytest.mark.parametrize("window", SIZES, ids=lambda window: f"{window.columns}x{window.rows}")
def test_the_title_at_the_cursor_of_the_list_of_steps_is_whole(car: Car, window: Window) -> None:
    desk = Desk(car, "Ana", Card())
    longest = max(range(len(car.folded.route.steps)), key=lambda n: len(car.folded.route.steps[n].step.title))
    desk.go(StepList(longest))
    layout = lay_out(desk, window)
    check_fits(layout, window, "the list of steps")
    assert car.folded.route.steps[longest].step.title in " ".join(shown(layout, "body"))


@pytest.mark.parametrize("window", SIZES, ids=lambda window: f"{window.columns}x{window.rows}")
def test_every_statement_is_whole_in_sight_before_it_can_be_confirmed(walked: Walker, window: Window) -> None:
    """Fresh, right after the line before it, armed, and after a key that did not count."""
    car = walked.car
    desk = Desk(car, "Ana", Card())
    for gate_id, gate in car.folded.route.library.gates.items():
        if not isinstance(gate, TicksGate):
            continue
        walked.open_gates_before(gate_id)
        del desk.places[1:]
        desk.look_again()
        desk.go_to_gate(gate_id)
        for n, says in enumerate(gate.ticks, start=1):
            is_whole(desk, window, f"{n}. {says}")
            desk.key = desk.digit_for(n)
            desk.place.do_arm(desk)  # type: ignore[attr-defined]
            assert "now ENTER" in is_whole(desk, window, f"{n}. {says}")
            desk.say(SWALLOWED)
            is_whole(desk, window, f"{n}. {says}")
            desk.place.do_confirm(desk)  # type: ignore[attr-defined]
            assert f"written: you have confirmed line {n}" in desk.message
        assert car.now().gates[gate_id].stands, gate_id


def is_whole(desk: Desk, window: Window, statement: str) -> str:
    """The statement stands in the body from its first word to its last; returns the prompt."""
    layout = lay_out(desk, window)
    check_fits(layout, window, statement)
    assert statement in " ".join(line.strip() for line in shown(layout, "body"))
    assert desk.in_sight
    return " ".join(shown(layout, "prompt"))


@pytest.mark.parametrize("reading", ["5000ppm", "16019ppm", "64000ppm"])
@pytest.mark.parametrize("window", SIZES, ids=lambda window: f"{window.columns}x{window.rows}")
def test_what_bad_air_orders_is_whole_in_sight_in_every_gate_and_on_the_card(
    walked: Walker, window: Window, reading: str
) -> None:
    walked.enter("gate-reading", gate="ice-meter", value=reading)
    desk = Desk(walked.car, "Ana", Card())
    order = desk.standing.gates["ice-meter"].do
    assert order
    for gate_id in (None, *walked.car.folded.route.library.gates):
        del desk.places[1:]
        if gate_id is not None:
            desk.go_to_gate(gate_id)
        for said in ("", "written: something that takes more than one line to say in a small window (entry 140)"):
            desk.say(said)
            layout = lay_out(desk, window)
            check_fits(layout, window, f"{gate_id}")
            assert order in " ".join(shown(layout, "top"))


def test_a_statement_that_does_not_fit_cannot_be_confirmed(walked: Walker) -> None:
    """With the longest statement a pack may have, in the smallest window, after it was scrolled half away."""
    desk = Desk(walked.car, "Ana", Card())
    desk.go_to_gate("may-i")
    window = Window(40, 12)
    desk.look_again()
    view = desk.standing.gates["may-i"]
    longest = ("word " * 48).strip()
    desk.standing.gates["may-i"] = view._replace(ticks=(Tick(1, longest, False),))  # type: ignore[index]
    lay_out(desk, window)
    desk.scrolled += 3
    lay_out(desk, window)
    desk.key = desk.digit_for(1)
    desk.place.do_arm(desk)  # type: ignore[attr-defined]
    assert desk.message == NOT_IN_SIGHT
    desk.place.do_confirm(desk)  # type: ignore[attr-defined]
    assert desk.message == f"first press {desk.digit_for(1)}, then Enter"
