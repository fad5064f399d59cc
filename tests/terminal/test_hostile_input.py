"""What terminals and gloves may send: bytes that are no text, unknown sequences, keys that stick, double strikes."""

from __future__ import annotations

import random
import re
import time
from pathlib import Path

import pytest

from teardown.car.clock import SystemClock
from teardown.car.door import open_car
from tests.terminal.conftest import MakeCar, entries, kinds, walk
from tests.terminal.pty import Terminal, did_not_count
from tests.world import FACTS, PROCEDURES

REPEATS_A_SECOND = 33
"""The fastest repeat keyboards are commonly set to (common practice)."""


NO_KEYS = {
    "not UTF-8": b"\xff\xfe\x80\xc3\x28\xf0\x9f",
    "surrogates and overlong forms": b"\xed\xa0\x80\xc0\x80",
    # The keyboard protocol of some terminals: code:alternate ; modifiers:event (1 press, 2 repeat, 3 release).
    "keys let go": b"\x1b[97;1:3u\x1b[13;1:3u\x1b[1;1:3B\x1b[5;1:3~",
    "alternate keys": b"\x1b[97:65;2u\x1b[1089::99;5u\x1b[97:65:97;2:1;65u",
    "keys nobody knows": b"\x1b[57441;2u\x1b[99999999;1u\x1b[57358u\x1b[;u\x1b[1;u",
    "a mouse that was not asked for": b"\x1b[M !!\x1b[<0;5;5M\x1b[<0;5;5m\x1b[<64;1;1M",
    "reports nobody asked for": b"\x1b[I\x1b[O\x1b[?2026;2$y\x1b[?1;2c\x1b[12;40R",
    "sequences nobody knows": b"\x1b[12;34z\x1b[999z\x1b[?1u\x1b[?62;22c\x1b[3;4;5t\x1b[0n",
    "function keys and chords": b"\x1bOP\x1b[15~\x1b[24~\x1b[20;5~\x1b[Z\x1b[1;5A",
    "control characters": b"\x00\x01\x02\x04\x05\x1a\x1c\x1d\x1e\x1f",
}


def test_what_no_key_sends_breaks_nothing_and_writes_nothing(car: Path) -> None:
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        for name, sent in NO_KEYS.items():
            terminal.send(sent)
            terminal.rest()
            assert "[space] done" in terminal.text, f"{name}: it led somewhere"
            terminal.press("?", "KEYS: the walk")
            terminal.press("backspace", "[space] done")
            assert b"Traceback" not in terminal.raw, name
        terminal.kill(15)
        assert terminal.ends() == 0
    assert "step-done" not in kinds(car)


@pytest.fixture
def slow_reader(car: Path) -> Path:
    """A car whose guard time is so long that the quickest hand is within it."""
    (car / "car.toml").write_text(f"{FACTS}[keys]\nguard_ms = 2000\n")
    return car


@pytest.mark.parametrize("key", [b" ", b"\r"])
@pytest.mark.parametrize("after_s", [0.0, 0.1, 0.3, 0.5])
def test_a_key_struck_before_the_first_picture_does_nothing(slow_reader: Path, key: bytes, after_s: float) -> None:
    """Typed ahead in the shell, struck while the program starts, or at the very moment it is painted."""
    with walk(slow_reader) as terminal:
        terminal.rest(after_s)
        terminal.send(key)
        terminal.wait_for("[space] done")
        terminal.send(b"u")
        terminal.press("right", "2/12")
        assert kinds(slow_reader) == ["opened", "opened"]


def test_a_key_struck_while_the_window_was_too_small_does_nothing(slow_reader: Path) -> None:
    with walk(slow_reader) as terminal:
        terminal.wait_for("[space] done")
        terminal.resize(30, 8)
        terminal.wait_for("This window is 30 x 8.")
        time.sleep(2.1)  # longer than the guard time: it is the new picture that counts, not the old one
        terminal.send(b" ")
        terminal.resize(60, 18)
        terminal.send(b" ")
        terminal.wait_for("[space] done")
        terminal.send(b"\r")
        terminal.press("right", "2/12")
        assert kinds(slow_reader) == ["opened", "opened"]


def test_commands_meant_for_a_terminal_are_keys_like_others(car: Path) -> None:
    """OSC, DCS and APC strings (ECMA-48): their letters come as if struck, too fast for a hand."""
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        terminal.rest()
        terminal.send(b"\x1b]0;title\x07\x1bP1$r0m\x1b\\\x1b_apc\x1b\\")
        terminal.wait_until(did_not_count, "that a key did not count")
        assert "Note on:" not in terminal.text
        terminal.kill(15)
        assert terminal.ends() == 0
    assert kinds(car) == ["opened", "opened"]


def test_keys_sent_with_their_events_do_what_they_do_once(car: Path) -> None:
    """Press and release of `l` in the keyboard protocol that names events: the press counts, the release does not."""
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        terminal.rest()
        terminal.send(b"\x1b[108;1:1u\x1b[108;1:3u")
        terminal.wait_for("=> > Look for high voltage")
        assert "does nothing here" not in terminal.text
        terminal.send(b"\x1b[1;1:1B\x1b[1;1:3B")
        terminal.wait_for("=> . Isolate the battery")


@pytest.mark.parametrize("seed", [2, 3])
def test_random_bytes_break_nothing(car: Path, seed: int) -> None:
    """Any bytes but those that quit (q, Q, ctrl+c, ctrl+q), rich in beginnings of sequences."""
    source = random.Random(seed)
    alphabet = [n for n in range(256) if n not in b"qQ\x03\x11"] + [0x1B, 0x5B, 0x5B, 0x3B, 0x75] * 12
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        for _ in range(12):
            terminal.send(bytes(source.choice(alphabet) for _ in range(200)))
            terminal.take(0.2)
        terminal.kill(15)
        assert terminal.ends() == 0
        assert b"Traceback" not in terminal.raw
    assert entries(car)


def hold(terminal: Terminal, key: bytes, seconds: float, delay_s: float = 0.5) -> None:
    """A key held down, as a keyboard sends it: once, then after a delay again and again."""
    began_s = time.perf_counter()
    terminal.send(key)
    for n in range(int((seconds - delay_s) * REPEATS_A_SECOND)):
        due_s = began_s + delay_s + n / REPEATS_A_SECOND
        while (left_s := due_s - time.perf_counter()) > 0:
            terminal.take(left_s)
        terminal.send(key)


@pytest.fixture
def noted(car: Path) -> Path:
    """A car with five notes in its log, each of which an undo could take back."""
    with open_car(car, SystemClock(), write=True, packs=PROCEDURES) as door:
        for n in range(5):
            door.enter("note", {"text": f"note {n}"}, "Ana")
    return car


def test_a_stuck_key_acts_once_and_leaves_no_backlog(noted: Path) -> None:
    with walk(noted) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("u", "[u] again")  # of an earlier opening: asked about first
        terminal.rest(1.0)
        hold(terminal, b"u", 3.0)
        let_go_s = time.perf_counter()
        terminal.press("right", "2/12")
        assert time.perf_counter() - let_go_s < 1.0
    assert kinds(noted).count("undo") == 1


def test_a_thousand_strikes_at_once_act_once(noted: Path) -> None:
    with walk(noted) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("u", "[u] again")
        terminal.rest(1.0)
        terminal.send(b"u" * 1000)
        terminal.rest(1.0)  # until the last of them is answered: what is struck now answers that picture
        terminal.press("right", "2/12")
    assert kinds(noted).count("undo") == 1


def test_a_scale_that_types_confirms_no_line(noted: Path) -> None:
    """A keyboard wedge: every digit of the weight and Enter, in one write."""
    with walk(noted) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("space", "2/12")
        terminal.press("g", "Line 1 of 3")
        terminal.rest()
        for _ in range(3):
            digit = re.findall(r"press (\d), then Enter", terminal.text)[0]
            for line in (f"12.{digit}\r", f"{digit}\r", f"{digit}.4\r"):
                terminal.send(line.encode())
                terminal.rest(1.0)
                assert did_not_count(terminal.text)
    assert "gate-tick" not in kinds(noted)


def test_a_scale_that_types_signs_for_nobody(make_car: MakeCar) -> None:
    folder = make_car(FACTS.replace("hybrid = false", "hybrid = true"))
    with walk(folder) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("g", "GATE High voltage: SHUT")
        for _ in range(4):
            terminal.send(b"19.4\r")
            terminal.rest(1.0)
        terminal.press("enter", "name and licence")
        terminal.type("19.4", "19.4_")
        terminal.press("enter", "Their paper")
        terminal.rest()
        terminal.type("19.4", "19.4_")
        terminal.press("enter", "NOT WRITTEN")
        assert "is no signature" in terminal.text
    assert "gate-signed" not in kinds(folder)


@pytest.mark.parametrize(
    ("to_the_scale", "weighed"),
    [
        ([("space", "2/12"), ("right", "3/12"), ("w", "WEIGH  Floor mats")], "Floor mats 2.71kg"),
        ([("f", "Found: its name"), ("j", "j_"), ("a", "ja_"), ("r", "jar_"), ("enter", "FOUND  jar")], "FOUND: jar"),
    ],
    ids=["what comes off", "what nobody foresaw"],
)
def test_a_scale_that_types_may_weigh(noted: Path, to_the_scale: list[tuple[str, str]], weighed: str) -> None:
    with walk(noted) as terminal:
        terminal.wait_for("[space] done")
        for key, shows in to_the_scale:
            terminal.press(key, shows)
        terminal.rest()
        terminal.send(b"2.71\r")
        terminal.wait_for(f"written: {weighed}")
    assert entries(noted)[-1].fields["reading"] == "2.71kg"


def test_a_double_enter_does_not_go_through_what_it_opens(noted: Path) -> None:
    with walk(noted) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("space", "2/12")
        terminal.press("right", "3/12")
        terminal.rest()
        terminal.send(b"\r\r")
        terminal.wait_until(did_not_count, "that a key did not count")
        assert "WEIGH  Floor mats" in terminal.text
        terminal.send(b"\r\r\r")
        terminal.press("2", "picture")
        terminal.press("n", "4/12" if "4/12" in terminal.text else "[space] done")
    assert kinds(noted)[-2:] == ["step-done", "step-done"]


def test_a_glove_resting_on_enter_confirms_no_line(noted: Path) -> None:
    with walk(noted) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("space", "2/12")
        terminal.press("g", "Line 1 of 3")
        hold(terminal, b"\r", 2.0)
        terminal.press("?", "KEYS: a gate")
    assert "gate-tick" not in kinds(noted)


def test_what_is_pasted_is_typed_where_text_is_typed_and_commands_nothing(noted: Path) -> None:
    with walk(noted) as terminal:
        terminal.wait_for("[space] done")
        terminal.send(b"\x1b[200~u p 1 w q\x1b[201~")
        terminal.wait_for("what was pasted is not typed here")
        terminal.press("t", "Note on:")
        terminal.send("\x1b[200~bolt\nM8 \x07 \u202e(two)\x1b[201~".encode())
        terminal.wait_for("bolt M8  (two)_")
        terminal.press("enter", "written: note")
    assert entries(noted)[-1].fields["text"] == "bolt M8  (two)"
