"""The trade's table of what lapses when, held against the gates that ship (common practice, every line of it).

A lapse takes with it every gate that follows, so what is looked at is what an event leaves standing of gates that all
stood. Where the gates are stricter than the table, the reason stands here.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from teardown.car.gatebook import BREAK_MIN, EVENTS, GateBook
from teardown.packs.model import Event
from teardown.packs.reader import load
from teardown.packs.route import CarShape, lay_route
from teardown.packs.shipped import procedures
from tests.world.clock import HandClock

ROUTE = lay_route(load(procedures()), CarShape(fitted={"hybrid-or-48v": False}))

RE_READ = ("battery-dead", "battery-looked")
"""Leads and meter read again, the tag looked at: a new person hangs a new one. The battery itself stays off."""

COLUMNS = {
    "battery isolation": ("battery", *RE_READ),
    "airbag wait": ("airbag-wait",),
    "airbag handling, count and store": ("airbag-store", "airbag-handling"),
    "dry ice": ("ice-place", "ice-room", "ice-meter"),
    "second adult for the ice": ("ice-people",),
    "car support and scales": ("car-support", "scales"),
    "chocks": ("chocked",),
    "hot work": ("hot-work",),
    "fuel": ("fuel",),
    "lifting": ("lift-ready",),
    "moving the car": ("moving",),
    "heat and solvent": ("heat-and-solvent",),
    "start of work": ("session",),
}
"""The table's columns; the second adult and the chocks are conditions of the columns before them. Lifting is in the
trade's line of what a short break lapses, and has no column."""

IN_THE_TABLE = {gate for gates in COLUMNS.values() for gate in gates} | {"refrigerant"}

TABLE: dict[Event, dict[str, tuple[str, ...] | str]] = {
    "power": {
        "battery isolation": "redo",
        "airbag wait": "restart at 0",
        "airbag handling, count and store": "recount",
        "hot work": "redo",
    },
    "new-day": {
        "battery isolation": RE_READ,
        "airbag handling, count and store": "recount",
        "dry ice": "redo",
        "second adult for the ice": "redo",
        "car support and scales": "redo",
        "chocks": "redo",
        "hot work": "redo",
        "fuel": "sniff again",
        "moving the car": "redo",
        "heat and solvent": "redo",
        "start of work": "redo",
    },
    "break": {
        "battery isolation": RE_READ,
        "airbag handling, count and store": "recount if the store is open; nobody says that it is not",
        "dry ice": "redo",
        "second adult for the ice": "redo",
        "car support and scales": "look again",
        "chocks": "look again",
        "hot work": "redo the watch",
        "fuel": "sniff again",
        "moving the car": "redo",
        "heat and solvent": "redo",
        "start of work": "read again",
    },
    "doors-shut": {"dry ice": "redo", "heat and solvent": "look again"},
    "fan-stopped": {"dry ice": "redo", "hot work": "redo", "start of work": "redo"},
    "people-changed": {
        "battery isolation": RE_READ,
        "airbag handling, count and store": "recount",
        "dry ice": "redo",
        "second adult for the ice": "redo",
        "car support and scales": "look again",
        "chocks": "look again",
        "hot work": "redo",
        "moving the car": "redo",
        "heat and solvent": "redo",
        "start of work": "redo",
    },
    "car-moved": {
        "airbag handling, count and store": "recount",
        "dry ice": "redo",
        "car support and scales": "redo",
        "chocks": "redo",
        "hot work": "redo",
        "fuel": "sniff again",
        "moving the car": "redo",
    },
    "fuel-opened": {"hot work": "redo", "fuel": "redo", "heat and solvent": "redo"},
    "module-moved": {
        "airbag handling, count and store": "STOP",
        "dry ice": "blocked",
        "hot work": "blocked",
        "heat and solvent": "blocked",
    },
}
"""A lamp, a chime, a click or a motor is power that came back. A fan or meter that is gone is a fan that stopped, a
helper who is gone is people that changed: both have the table's line."""

FOLLOW_THE_START_OF_WORK = {
    *("airbag-handling", "ice-people", "car-support", "scales", "moving", "heat-and-solvent"),
}

STRICTER: dict[Event, set[str]] = {
    "fan-stopped": FOLLOW_THE_START_OF_WORK,
    "doors-shut": {"fuel"},
    "new-day": {"lift-ready"},
    "break": {"lift-ready"},
    "people-changed": {"lift-ready"},
}
"""What lapses though the table does not ask it: what follows the start of work goes with it; a shut garage is one of
the fuel gate's own lapses; every lift is a gate of its own, and a helper who changes or a break ends it."""

BESIDE_THE_TABLE: dict[Event, set[str]] = {
    "load-changed": {"car-support"},
    "ice-delivered": {"ice-place", "ice-room", "ice-meter"},
    "air-bad": {"session", "hot-work", "ice-place", "ice-room", "ice-meter", *FOLLOW_THE_START_OF_WORK},
    "hurt": {"session", "hot-work", "ice-place", "ice-room", "ice-meter", *FOLLOW_THE_START_OF_WORK},
    "refrigerant-there": {"refrigerant"},
    "refitted": {"hot-work"},
}
"""Lapses that the trade names at the gates themselves: 50 kg gone from one end, a new batch of ice, an injury or a near
miss (whoever feels the air is one), a system that was filled again or hissed on opening, any part refitted."""


def all_standing() -> GateBook:
    """A book of gates that have all begun, but the one for what this car does not have."""
    book = GateBook(ROUTE)
    for name, record in book.records.items():
        record.ticks = () if name == "high-voltage" else (1,)
    return book


def lapsed(book: GateBook) -> set[str]:
    return {gate for gate in IN_THE_TABLE if not book[gate].begun}


def asked(event: Event) -> Iterator[str]:
    """The gates that a line of the table shuts."""
    for column, cell in TABLE[event].items():
        yield from COLUMNS[column] if isinstance(cell, str) else cell


@pytest.mark.parametrize("event", TABLE)
def test_an_event_shuts_what_the_trades_table_says(event: Event) -> None:
    book = all_standing()
    book.happen(event, "as the table has it")
    assert lapsed(book) == set(asked(event)) | STRICTER.get(event, set())


@pytest.mark.parametrize("event", BESIDE_THE_TABLE)
def test_an_event_beside_the_table_shuts_what_the_gates_of_the_trade_say(event: Event) -> None:
    book = all_standing()
    book.happen(event, "as the gates have it")
    assert lapsed(book) == BESIDE_THE_TABLE[event]


@pytest.mark.parametrize("event", ["new-day", "break", "people-changed"])
def test_the_wait_is_kept_while_the_tag_is_intact_and_the_car_was_locked(event: Event) -> None:
    book = all_standing()
    book.happen(event, "as the table has it")
    assert book["airbag-wait"].begun
    book.answer(power="unknown", doors="no", people="no")
    assert not book["airbag-wait"].begun, "not locked, or nobody knows: the wait is restarted"


def test_a_short_break_shuts_ice_and_heat_and_nothing_else() -> None:
    """Over 10 min: both gates' own lapses, and work there goes in bouts of a few minutes. The trade's constants let a
    short break lapse lifting, cars on stands, hot work and moving too; the gates' own lists and the table name half an
    hour. One lift and one movement use their gate up. Under cars and at hot work a break of less than half an hour
    cannot be told from work: nothing is written either way, and a gate that lapses under working hands would be
    confirmed when the sparks are over."""
    clock, book = HandClock(), all_standing()
    book.pass_time(clock.now())
    for minutes, shut in ((10.0, set()), (10.1, {"ice-place", "ice-room", "ice-meter", "heat-and-solvent"})):
        clock.advance(minutes * 60)
        book.pass_time(clock.now())
        assert lapsed(book) == shut
    clock.advance(BREAK_MIN * 60)
    book.pass_time(clock.now())
    assert "session" not in lapsed(book)
    clock.advance(BREAK_MIN * 60 + 1)
    book.pass_time(clock.now())
    assert set(asked("break")) <= lapsed(book)


@pytest.mark.parametrize(("event", "words"), [
    ("car-moved", ("moved", "bumped", "jack was touched")),
    ("fan-stopped", ("fan", "meter", "wind dropped")),
    ("fuel-opened", ("opened", "added", "smelt")),
    ("refrigerant-there", ("filled in", "hissed")),
    ("refitted", ("went back in", "fitted")),
    ("hurt", ("hurt", "nearly")),
])  # fmt: skip
def test_what_the_trade_names_at_a_gate_is_named_where_a_person_says_what_has_happened(
    event: Event, words: tuple[str, ...]
) -> None:
    assert [word for word in words if word not in EVENTS[event]] == []


@pytest.mark.parametrize("gate", ["lift-ready", "moving"])
def test_each_lift_and_each_movement_is_a_gate_of_its_own(gate: str) -> None:
    assert ROUTE.gate(gate).each_step
