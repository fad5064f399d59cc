"""The whole way in a real terminal: make safe, wait, airbag and seat out, weigh, undo, kill -9, find everything."""

from __future__ import annotations

from tests.terminal.conftest import MakeCar, choose, confirm_line, entries, kinds, walk
from tests.terminal.pty import Terminal


def make_safe(terminal: Terminal) -> None:
    terminal.press("space", "2/12")
    terminal.press("g", "Line 1 of 3")
    confirm_line(terminal, "Line 2 of 3")
    confirm_line(terminal, "Line 3 of 3")
    confirm_line(terminal, "READY")
    terminal.press("space", "3/12")


def wait_for_the_airbags(terminal: Terminal) -> None:
    """The manual asks for 10 min, which a rehearsal runs through in 10 s."""
    terminal.press("right", "4/12")
    terminal.press("g", "How many people are here")
    choose(terminal, "two people", "GATE Leads dead: SHUT")
    terminal.type("0.1", "[backspace] rub out")
    terminal.press("enter", "GATE Airbag wait: SHUT")
    terminal.press("m", "Which book and page")
    terminal.type("b4 p12", "b4 p12_")
    terminal.press("enter", "2/2  The wait it asks for")
    terminal.type("10", "[enter] WRITE")
    terminal.press("enter", "manual: 10")
    terminal.wait_for("WAIT OVER: the whole wait has run.")
    terminal.press("enter", "Line 1 of 2")


def airbag_out(terminal: Terminal) -> None:
    confirm_line(terminal, "Line 2 of 2")
    confirm_line(terminal, "4/12")
    terminal.press("space", "WEIGH  Driver airbag module")
    terminal.type("1.1", "usually")
    terminal.press("enter", "LIVE MODULE. Where is it stored?")
    choose(terminal, "airbag store", "stored: airbag store")


def seat_out(terminal: Terminal) -> None:
    terminal.press("right", "6/12")
    terminal.press("g", "GATE Ready to lift: SHUT")
    confirm_line(terminal, "READY")
    terminal.press("space", "WEIGH  Driver seat")
    terminal.type("19.4", "usually")
    terminal.press("enter", "written: Driver seat 19.4kg")


def test_the_whole_way_and_everything_is_there_after_a_kill(make_car: MakeCar) -> None:
    folder = make_car(rehearsal=True)
    with walk(folder, 60, 18, "--rehearsal") as terminal:
        terminal.wait_for("REHEARSAL")
        make_safe(terminal)
        wait_for_the_airbags(terminal)
        assert terminal.bells == 1
        airbag_out(terminal)
        seat_out(terminal)
        assert "1179.5 kg by its papers | 179.5 kg to go" in terminal.text
        terminal.press("u", "undone: entry")
        assert "1179.9 kg" in terminal.text  # the seat counts with the pack's likely 19.0 kg again
        written = entries(folder)
        terminal.kill()
        assert terminal.ends() == -9
    with walk(folder, 60, 18, "--rehearsal") as terminal:
        terminal.wait_for("1179.9 kg")
        assert "+BATTERY off  +AIRBAG waited" in terminal.text
        assert "+PEOPLE 2" in terminal.text
        terminal.press("l", "+ Driver seat out")
        assert "+ Driver airbag out" in terminal.text
        terminal.press("backspace", "[space] done")
        terminal.press("q", "")
        assert terminal.ends() == 0
    assert entries(folder)[: len(written)] == written
    assert kinds(folder)[len(written) :] == ["opened"]
