"""From a key to what it does, over random keys: nothing ever breaks, nothing is silent, no shut step is finished."""

from __future__ import annotations

import tempfile
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.door import open_car
from teardown.screens.layout import lay_out
from teardown.screens.paint import Window
from teardown.screens.places.gates.ticks import TicksPlace
from tests.screens.hand import KeysOnly, walking
from tests.world import FACTS, PROCEDURES, World

LETTERS = "abcdefghijklmnopqrstuvwxyz"
KEYS = (
    *LETTERS,
    *"0123456789",
    *("space", "enter", "backspace", "escape", "up", "down", "left", "right", "pageup", "pagedown"),
    *("question_mark", "full_stop", "comma", "f5", "ctrl+x", "P", "é", "車", "\u202e"),
)
CONFIRM = "the digit asked for, then Enter"
MINUTES = {"a minute passes": 1, "half an hour passes": 31, "a night passes": 14 * 60}
STARTS = ("as it drove in", "battery off", "airbags ready", "modules out", "rehearsal")
WINDOWS = (Window(40, 12), Window(60, 18), Window(76, 40))


def begin(folder: Path, start: str) -> World:
    world = World(folder / "car", FACTS, rehearsal=start == "rehearsal")
    ready = {"battery off": world.battery_off, "airbags ready": world.airbags_ready, "modules out": world.modules_out}
    ready.get(start, lambda: None)()
    return world


def strike_or_wait(keys: KeysOnly, key: str) -> None:
    if key in MINUTES:
        keys.world.clock.advance(60 * MINUTES[key])
        keys.desk.look_again()
    elif key == CONFIRM:
        place = keys.desk.place
        if isinstance(place, TicksPlace):
            following = next((tick.n for tick in keys.desk.standing.gates[place.gate_id].ticks if not tick.done), 1)
            keys.press(keys.desk.digit_for(following), "enter")
    else:
        keys.press(key)


@settings(max_examples=60)
@given(
    start=st.sampled_from(STARTS),
    struck=st.lists(st.sampled_from((*KEYS, *([CONFIRM, "enter", "g", "space", "right"] * 4), *MINUTES)), max_size=60),
)
def test_whatever_is_struck_nothing_breaks_and_no_shut_step_is_finished(start: str, struck: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = begin(Path(folder), start)
        keys = KeysOnly(world)
        for n, key in enumerate(struck):
            before = world.car.now()
            entries = world.state.entries
            strike_or_wait(keys, key)
            lay_out(keys.desk, WINDOWS[n % len(WINDOWS)])
            for ref, marks in world.state.steps.items():
                if marks.last_entry > entries and marks.last is not None and marks.last.status == "done":
                    laid = world.state.route.by_ref[ref]
                    shut = [gate for gate in world.state.route.gate_order(laid.gates) if not before.gates[gate].stands]
                    assert shut == [], f"{ref} was finished by {key} while these were shut"
        world.car.close()


@settings(max_examples=8)
@given(
    start=st.sampled_from(STARTS),
    struck=st.lists(st.sampled_from([key for key in KEYS if key != "q"]), max_size=25),
)
def test_no_key_is_ever_answered_by_nothing(start: str, struck: list[str]) -> None:
    """The picture changes, or a reason stands on the screen."""
    with tempfile.TemporaryDirectory() as folder, walking(begin(Path(folder), start)) as hand:
        for key in struck:
            before = hand.lines
            hand.press(key)
            assert hand.lines != before or hand.desk.message, f"[{key}] in {hand.place.name}"


def test_a_key_that_does_nothing_here_says_where_the_keys_are(keys: KeysOnly) -> None:
    keys.press("7")
    assert keys.desk.message == "[7] does nothing here. [?] shows every key"
    keys.press("f5")
    assert keys.desk.message == "[f5] does nothing here. [?] shows every key"


def test_an_answered_key_takes_the_last_refusal_off_the_screen(keys: KeysOnly) -> None:
    keys.press("l", "z")
    assert "does nothing here" in keys.desk.message
    keys.press("down")
    assert keys.desk.message == ""


def test_the_gate_a_refusal_named_stays_on_offer_while_one_reads_on(keys: KeysOnly) -> None:
    keys.press("space", "space", "down", "g")
    assert keys.desk.place.gate_id == "battery"  # type: ignore[attr-defined]


def test_what_a_refusal_offers_can_be_had_in_the_place_it_stands_in(world: World) -> None:
    """Wherever `[g] goes to the gate` can stand, g goes there."""
    world.modules_out()
    keys = KeysOnly(world)
    keys.desk.go_to_gate("ice-room")
    keys.press("3", "enter")
    assert keys.desk.message.startswith("NOT WRITTEN: [g] goes to the gate. ")
    keys.press("g")
    assert keys.desk.place.gate_id == "ice-place"  # type: ignore[attr-defined]


def test_no_refusal_offers_the_gate_one_stands_in(world: World) -> None:
    world.battery_off()
    keys = KeysOnly(world)
    keys.desk.go_to_gate("airbag-wait")
    keys.press("enter")
    assert keys.desk.message == "NOT WRITTEN. Airbag wait: hands off the car until it is over"


# -- undo


def test_what_cannot_be_taken_back_is_not_passed_over_in_silence(world: World) -> None:
    """Who struck undo meant what was written last, not what came before it."""
    keys = KeysOnly(world)
    keys.press("space", "p", "backspace", "u")
    assert keys.desk.message == (
        "NOT undone: power restored (entry 3) cannot be taken back. "
        "[u] again takes back entry 2, step done: Look for high voltage"
    )
    assert world.state.mark("safe.look") is not None


def test_the_same_key_again_takes_back_what_came_before(world: World) -> None:
    keys = KeysOnly(world)
    keys.press("space", "e", "2", "u")
    assert keys.desk.message.startswith("NOT undone: happened: ")
    assert keys.desk.message.endswith("[u] again takes back entry 2, step done: Look for high voltage")
    assert world.state.mark("safe.look") is not None
    keys.press("right", "u")
    assert keys.desk.message.startswith("NOT undone: ")  # another key came between: it is asked anew
    keys.press("u")
    assert keys.desk.message == "undone: entry 2, step done: Look for high voltage"
    assert world.state.mark("safe.look") is None


def test_what_was_written_before_this_opening_is_asked_about_first(world: World) -> None:
    world.done("part-weighed", part="mats", reading="3.2kg")
    world.reopen()
    keys = KeysOnly(world)
    keys.press("u")
    assert keys.desk.message == (
        "NOT undone: that was written before this opening. "
        "[u] again takes back entry 2, part weighed: Floor mats, 3.2kg"
    )
    keys.press("u")
    assert world.state.weight_of("mats") is None


def test_who_only_looks_undoes_nothing_and_is_told_so(world: World) -> None:
    world.done("part-weighed", part="mats", reading="3.2kg")
    world.car.close()
    world.car = open_car(world.folder, world.clock, write=False, packs=PROCEDURES)
    keys = KeysOnly(world)
    keys.press("u")
    assert keys.desk.message == "READING ONLY: nothing is undone here"


def test_a_disk_that_is_full_is_told_and_nothing_goes_on(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """No space left on device: errno 28 (POSIX, ENOSPC)."""

    def full(descriptor: int, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    keys = KeysOnly(world)
    with monkeypatch.context() as patched:
        patched.setattr("os.write", full)
        keys.press("space")
    assert keys.desk.message == "the disk is full: entry 2 was not written; nothing before it is lost"
    assert keys.desk.position == 0
    keys.press("space")
    assert keys.desk.message == "written: Look for high voltage is done (entry 2)"


def test_an_act_that_nobody_knows_is_a_mistake_in_the_program(world: World) -> None:
    from teardown.screens.dispatch import act

    with pytest.raises(KeyError):
        act(SimpleNamespace(place=object()), "fly")  # type: ignore[arg-type]
