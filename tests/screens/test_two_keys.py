"""What opens something takes two keys in turn: no scale, scanner, glove or stuck key gets through, and a hand does."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.log import Entry, read_log
from teardown.screens.dispatch import SWALLOWED, strike
from teardown.screens.guard import Guard
from teardown.screens.places.choose import ask_people, ask_stored
from teardown.screens.places.gates.ticks import TicksPlace
from teardown.screens.places.questions import Questions
from tests.screens.hand import CHARACTERS, KeysOnly
from tests.world import FACTS, World

NAMES = {character: key for key, character in CHARACTERS.items()}
AT_ONCE_S, APART_S = 0.001, 1.0


class Struck:
    """Keys with their times, through the guard. A picture is painted as soon as a key has acted."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.desk = KeysOnly(world).desk
        self.guard = Guard(0.35)
        self.guard.place_shown(0.0)
        self.now = 10.0
        self.began = world.state.entries

    def line(self, typed: str, gap_s: float = AT_ONCE_S) -> None:
        """All of it in one go, as an instrument types; then nothing for a while."""
        for character in typed:
            self.key(NAMES.get(character, character), gap_s)
        self.now += APART_S

    def key(self, key: str, after_s: float = APART_S) -> None:
        self.now += after_s
        if strike(self.desk, self.guard, key, CHARACTERS.get(key, key), self.now, self.now):
            self.guard.place_shown(self.now)

    @property
    def written(self) -> list[Entry]:
        return [entry for entry in read_log(self.world.folder / "log.jsonl") if entry.n > self.began]


def opens(entry: Entry) -> bool:
    """Whether an entry may open a gate or finish a step."""
    if entry.kind == "people-here":
        return bool(entry.fields["count"] > 1)
    if entry.kind == "resumed":
        return "no" in entry.fields.values()
    return entry.kind in (
        *("gate-tick", "gate-reading", "gate-figure", "gate-signed", "wait-over", "manual-wait"),
        *("not-there", "still-fitted", "part-stored", "part-back", "step-done"),
    )


def at_the_battery(world: World) -> Struck:
    struck = Struck(world)
    struck.desk.go_to_gate("battery")
    return struck


def at_the_count(world: World) -> Struck:
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    struck = Struck(world)
    struck.desk.go_to_gate("live-count")
    return struck


def at_the_questions(world: World) -> Struck:
    world.airbags_ready()
    world.clock.advance(31 * 60)
    struck = Struck(world)
    struck.desk.go(Questions())
    return struck


def where_it_is_stored(world: World) -> Struck:
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    struck = Struck(world)
    struck.desk.go(ask_stored("driver-bag", "Driver airbag module"))
    return struck


def how_many_are_here(world: World) -> Struck:
    struck = Struck(world)
    struck.desk.go(ask_people())
    return struck


def at_high_voltage(world: World) -> Struck:
    (world.folder / "car.toml").write_text(FACTS.replace("hybrid = false", "hybrid = true"))
    world.reopen()
    struck = Struck(world)
    struck.desk.go_to_gate("high-voltage")
    return struck


def at_a_reading(world: World) -> Struck:
    world.battery_off()
    struck = Struck(world)
    struck.desk.go_to_gate("battery-dead")
    return struck


PLACES: list[Callable[[World], Struck]] = [
    at_the_battery,
    at_the_count,
    at_the_questions,
    where_it_is_stored,
    how_many_are_here,
    at_high_voltage,
    at_a_reading,
    Struck,
]


@settings(max_examples=150)
@given(
    begin=st.sampled_from(PLACES),
    lines=st.lists(st.text("0123456789.,-", min_size=1, max_size=6), min_size=1, max_size=12),
    gap_s=st.floats(0.0, 0.049),
    apart_s=st.sampled_from([0.1, 0.4, 1.0, 30.0]),
)
def test_nothing_is_opened_by_a_scale_or_scanner_that_types(
    begin: Callable[[World], Struck], lines: list[str], gap_s: float, apart_s: float
) -> None:
    """Every line ends in Enter, as keyboard wedges send it (common practice)."""
    with tempfile.TemporaryDirectory() as folder:
        struck = begin(World(Path(folder) / "car"))
        for typed in lines:
            struck.now += apart_s
            struck.line(f"{typed}\r", gap_s)
        assert [entry for entry in struck.written if opens(entry)] == []
        struck.world.car.close()


@pytest.mark.parametrize("gap_s", [0.001, 0.02, 0.1, 0.2, 0.3])
def test_the_very_digit_and_enter_in_one_go_confirm_no_line(world: World, gap_s: float) -> None:
    struck = at_the_battery(world)
    for _ in range(4):
        struck.line(f"{struck.desk.digit_for(1)}\r", gap_s)
        assert SWALLOWED in struck.desk.message
    assert struck.written == []


def test_after_a_burst_enter_alone_confirms_nothing(world: World) -> None:
    struck = at_the_battery(world)
    struck.line(f"{struck.desk.digit_for(1)}\r")
    struck.key("enter")
    assert struck.desk.message == f"first press {struck.desk.digit_for(1)}, then Enter"
    assert struck.written == []


def test_a_second_digit_disarms_whether_it_counted_or_not(world: World) -> None:
    for after_s in (0.1, 1.0):
        struck = at_the_battery(world)
        struck.key(struck.desk.digit_for(1))
        struck.key("0" if after_s > 0.35 else "9" if struck.desk.digit_for(1) != "9" else "8", after_s)
        struck.key("enter")
        assert struck.desk.message == f"first press {struck.desk.digit_for(1)}, then Enter"
        assert struck.written == []


def test_an_enter_that_came_too_soon_may_be_struck_again(world: World) -> None:
    struck = at_the_battery(world)
    struck.key(struck.desk.digit_for(1))
    struck.key("enter", 0.2)
    assert struck.written == []
    struck.key("enter", 0.8)
    assert [entry.kind for entry in struck.written] == ["gate-tick"]


def test_a_digit_that_was_held_for_a_moment_still_arms(world: World) -> None:
    struck = at_the_battery(world)
    digit = struck.desk.digit_for(1)
    for after_s in (1.0, 0.3, 0.03, 0.03):
        struck.key(digit, after_s)
    struck.key("enter", 0.5)
    assert [entry.kind for entry in struck.written] == ["gate-tick"]


def test_no_takes_a_digit_that_changes_and_enter_and_the_other_answers_one_key(world: World) -> None:
    struck = at_the_questions(world)
    first = struck.desk.digit_for(0, "456789")
    struck.key("1")
    assert struck.desk.message == f"that was 1. If you are sure: press {first}, then Enter, for NO"
    struck.key(first)
    struck.key("enter")
    second = struck.desk.digit_for(1, "456789")
    assert second != first
    struck.key("enter")
    assert struck.desk.message == f"for NO press {second} first, then Enter"
    struck.key("2")
    struck.key("3")
    assert [(entry.kind, entry.fields) for entry in struck.written] == [
        ("resumed", {"power": "no", "doors": "yes", "people": "unknown"})
    ]


def test_who_knows_nothing_of_the_rest_says_so_with_one_key(world: World) -> None:
    struck = at_the_questions(world)
    struck.key(struck.desk.digit_for(0, "456789"))
    struck.key("enter")
    struck.key("0")
    assert struck.written[-1].fields == {"power": "no", "doors": "unknown", "people": "unknown"}


def test_the_digits_of_answers_that_open_something_change_from_one_asking_to_the_next(world: World) -> None:
    seen = set()
    for _ in range(9):
        struck = how_many_are_here(world)
        place = struck.desk.place
        seen.add(next(digit for digit, answer in place.by_digit(struck.desk).items() if answer == "two people"))  # type: ignore[attr-defined]
        world.done("note", text="something is written")
    assert seen == set("56789")  # no digit that is also a number of people among the answers


def test_a_place_that_was_left_and_come_back_to_is_not_armed(world: World) -> None:
    struck = at_the_battery(world)
    struck.key(struck.desk.digit_for(1))
    struck.desk.go(Questions())
    struck.desk.places.pop()
    assert isinstance(struck.desk.place, TicksPlace)
    struck.key("enter")
    assert struck.written == []
