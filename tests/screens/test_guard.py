"""The glove guard: which strikes of a key count. Times are in seconds; a key held down repeats 33 times in one."""

from __future__ import annotations

from math import inf
from pathlib import Path

import pytest

from teardown.screens.app import WalkApp
from teardown.screens.dispatch import SWALLOWED, strike
from teardown.screens.guard import Guard, KeyKind
from teardown.screens.places.weigh.car import CarPad
from tests.screens.hand import CHARACTERS, KeysOnly, walking
from tests.world import FACTS, World

NAMES = {character: key for key, character in CHARACTERS.items()}
REPEAT_S = 1 / 33
"""The fastest repeat that keyboards are commonly set to (30 to 33 a second: common practice)."""


def reading(guard_s: float = 0.35) -> Guard:
    """The guard of somebody who has had a picture before them for a while."""
    guard = Guard(guard_s)
    guard.place_shown(-10.0)
    return guard


def counted(strikes: list[tuple[float, str]], kind: KeyKind = KeyKind.ACTS, guard: Guard | None = None) -> list[float]:
    """The moments at which strikes counted; each is handled 5 ms after it was struck."""
    guard = guard or reading()
    return [at for at, key in strikes if guard.counts(key, at, at + 0.005, kind)]


def held(key: str, begins_s: float, delay_s: float, for_s: float) -> list[tuple[float, str]]:
    """A key pressed and held: once, then after a delay again and again."""
    repeats = int((for_s - delay_s) / REPEAT_S)
    return [(begins_s, key), *((begins_s + delay_s + n * REPEAT_S, key) for n in range(repeats))]


@pytest.mark.parametrize("guard_s", [0.15, 0.35, 2.0])
@pytest.mark.parametrize("delay_s", [0.25, 0.5, 0.66])
def test_a_key_held_for_ten_seconds_counts_once(delay_s: float, guard_s: float) -> None:
    assert counted(held("enter", 1.0, delay_s, 10), guard=reading(guard_s)) == [1.0]


@pytest.mark.parametrize("delay_s", [0.25, 0.5, 0.66])
def test_a_key_held_after_another_was_struck_counts_once(delay_s: float) -> None:
    assert counted([(0.5, "4"), *held("enter", 1.0, delay_s, 10)]) == [0.5, 1.0]


def test_a_stuck_key_does_not_count_again_because_another_is_struck() -> None:
    stuck = held("enter", 1.0, 0.5, 8)
    tapped = [(2.01 + n, "b") for n in range(5)]
    assert [at for at in counted(sorted(stuck + tapped)) if at not in dict(tapped)] == [1.0]


@pytest.mark.parametrize("gap_s", [0.02, 0.08, 0.15, 0.3, 0.34])
def test_a_double_strike_counts_once(gap_s: float) -> None:
    assert counted([(1.0, "enter"), (1.0 + gap_s, "enter")]) == [1.0]


def test_two_strikes_meant_as_two_count_as_two() -> None:
    assert counted([(1.0, "enter"), (1.75, "enter")]) == [1.0, 1.75]


def test_a_key_counts_sooner_when_another_came_between_for_then_it_was_let_go() -> None:
    assert counted([(1.0, "enter"), (1.2, "4"), (1.4, "enter")]) == [1.0, 1.2, 1.4]
    assert counted([(1.0, "enter"), (1.2, "4"), (1.3, "enter")]) == [1.0, 1.2]


def test_every_strike_that_does_not_count_begins_the_silence_anew() -> None:
    assert counted([(1.0, "enter"), (1.6, "enter"), (2.2, "enter"), (2.8, "enter")]) == [1.0]


def test_a_digit_and_enter_may_follow_each_other_quickly() -> None:
    guard = reading()
    assert guard.counts("7", 0.5, 0.505, KeyKind.TURNS)
    assert guard.counts("enter", 0.58, 0.585, KeyKind.ACTS)


def test_a_key_that_waited_too_long_answers_a_picture_long_gone() -> None:
    guard = reading()
    assert not guard.counts("enter", 1.0, 1.51, KeyKind.ACTS)
    assert not guard.counts("5", 1.0, 1.51, KeyKind.TURNS)
    assert guard.counts("enter", 3.0, 3.49, KeyKind.ACTS)


def test_a_key_older_than_the_picture_does_not_answer_it() -> None:
    guard = Guard()
    guard.place_shown(1.0)
    assert not guard.counts("right", 0.99, 1.01, KeyKind.TURNS)
    assert guard.counts("left", 1.01, 1.02, KeyKind.TURNS)


@pytest.mark.parametrize("kind", KeyKind)
def test_no_key_counts_before_the_first_picture_or_while_there_is_none(kind: KeyKind) -> None:
    guard = Guard()
    assert not guard.counts("space", 5.0, 5.01, kind)
    guard.place_shown(6.0)
    assert guard.counts("space", 8.0, 8.01, kind)
    guard.place_hidden()
    assert not guard.counts("enter", 10.0, 10.01, kind)


def test_what_writes_waits_until_the_picture_can_have_been_read() -> None:
    guard = Guard(guard_s=0.35)
    guard.place_shown(1.0)
    assert not guard.counts("enter", 1.34, 1.35, KeyKind.ACTS)
    assert guard.counts("space", 1.40, 1.41, KeyKind.ACTS)


def test_digits_are_typed_as_fast_as_fingers_go_but_a_held_one_is_typed_once() -> None:
    assert len(counted([(1.0, "1"), (1.12, "1"), (1.2, "9"), (1.3, "4")], KeyKind.TURNS)) == 4
    assert counted([(1.0 + n * REPEAT_S, "1") for n in range(60)], KeyKind.TURNS) == [1.0]


def burst(line: str, begins_s: float, gap_s: float = 0.001) -> list[tuple[float, str]]:
    """What a scale or scanner types that stands in for a keyboard."""
    return [(begins_s + n * gap_s, NAMES.get(character, character)) for n, character in enumerate(line)]


@pytest.mark.parametrize("gap_s", [0.0, 0.001, 0.015, 0.04])
def test_what_writes_does_not_count_so_soon_after_another_key(gap_s: float) -> None:
    """Inter-character gaps of keyboard wedges: none to some tens of milliseconds (common practice)."""
    assert counted(burst("7\r", 1.0, gap_s)) == [1.0]
    assert len(counted(burst("12.7\r", 1.0, gap_s))) == 1


def test_what_writes_counts_at_the_pace_of_a_quick_hand() -> None:
    assert len(counted([(1.0, "g"), (1.08, "7"), (1.16, "enter")])) == 3


def counted_of_a_scale(weight: str, guard: Guard) -> tuple[int, int]:
    """How many of the digits it types count, and whether its Enter does."""
    *digits, enter = burst(f"{weight}\r", 1.0)
    return len(counted(digits, KeyKind.TURNS, guard)), len(counted([enter], KeyKind.TAKES, guard))


def test_a_scale_that_types_may_write_what_it_typed() -> None:
    assert counted_of_a_scale("19.4", reading()) == (4, 1)


def test_what_a_scale_typed_is_not_written_when_one_of_its_keys_was_lost() -> None:
    """Of two equal digits at once the second looks like a key held down: 3.4 kg must not be written for 33.4."""
    guard = reading()
    assert counted_of_a_scale("33.4", guard) == (3, 0)
    assert counted([(2.0, "enter")], KeyKind.TAKES, guard) == [2.0]


def test_the_guard_time_is_the_cars_own(tmp_path: Path) -> None:
    world = World(tmp_path / "car", FACTS + "[keys]\nguard_ms = 600\n")
    guard = WalkApp(world.car, "Ana").guard
    guard.place_shown(0.0)
    assert guard.guard_s == 0.6
    assert counted([(1.0, "enter"), (2.15, "enter")], guard=guard) == [1.0]


def test_coming_back_from_a_window_too_small_is_a_new_picture(world: World) -> None:
    """However long it was too small: nobody has read yet what is in sight now."""
    guard = Guard(guard_s=30.0)
    with walking(world, guard=guard) as hand:
        guard.place_shown(-100.0)
        hand.resize(30, 8)
        assert guard.shown_at == inf
        hand.resize(60, 18)
        hand.press("space")
        assert SWALLOWED in hand.reads
        assert world.state.entries == 1


def test_keys_count_from_the_first_picture_on_and_not_only_once_all_else_is_fetched(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fetching the other places takes a tenth of a second: a key struck meanwhile answers what is in sight."""
    guard = Guard(0.35)
    shown_at: list[float] = []
    monkeypatch.setattr(WalkApp, "on_work_first_picture", lambda app: shown_at.append(guard.shown_at))
    with walking(world, guard=guard) as hand:
        hand.resize(80, 24)
    assert len(shown_at) == 1
    assert shown_at[0] < inf


# -- through the dispatch


def test_enter_struck_twice_goes_through_one_place_only(world: World) -> None:
    """The double strike that opens a pad must not also write what the pad shows."""
    keys, guard = KeysOnly(world), reading()
    world.done("step-done", step="safe.look")
    keys.desk.position = 2
    assert strike(keys.desk, guard, "enter", "\r", 1.0, 1.0)
    guard.place_shown(1.02)
    for at in (1.08, 1.15, 1.3):
        assert not strike(keys.desk, guard, "enter", "\r", at, at)
    assert keys.desk.place.name == "the weigh pad"
    assert world.state.entries == 3
    assert keys.desk.message == f"written: Floor mats out is done (entry 3). {SWALLOWED}"


def test_a_swallowed_key_says_so_whatever_it_would_have_done(world: World) -> None:
    keys, guard = KeysOnly(world), reading()
    for key in ("right", "1", "space"):
        keys.desk.hush()
        strike(keys.desk, guard, key, None, 1.0, 9.0)
        assert keys.desk.message == SWALLOWED


def test_digits_that_arrive_in_one_burst_are_not_lost_in_silence(world: World) -> None:
    """Over a slow line a whole number comes at once, and two equal digits look like one that was held."""
    keys, guard = KeysOnly(world), reading()
    keys.desk.go(CarPad())
    for at, key in ((1.0, "3"), (1.001, "3"), (1.002, "4")):
        strike(keys.desk, guard, key, key, at, at)
    assert keys.desk.place.field.text == "34"  # type: ignore[attr-defined]
    assert keys.desk.message == SWALLOWED
