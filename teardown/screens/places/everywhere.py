"""Keys that mean the same in every place where nothing is typed."""

from __future__ import annotations

from teardown.screens.arming import DIGITS
from teardown.screens.commands import Command
from teardown.screens.guard import KeyKind

POWER = Command(
    ("p",),
    "p",
    "POWER came back",
    "power came back, by any route: battery gates shut, waits start again",
    "power",
    brief="[p]ower",
)
UNDO = Command(("u",), "u", "undo", "undo the last entry that can be undone", "undo", brief="[u]ndo")
GATE = Command(
    ("g",), "g", "gates", "go to the gate that shuts this, or to the list of gates", "gate", KeyKind.OPENS, "[g]ates"
)
HAPPENED = Command(
    ("e",), "e", "", "something happened: doors shut, fan stopped, car moved, people changed ...", "happened"
)
WORKER = Command(("o",), "o", "", "who is working", "worker", KeyKind.OPENS)
PEOPLE = Command(("y",), "y", "", "how many people are here", "people")
CAR = Command(("0",), "0", "", "what the car has: the question this hangs on, or all of them", "car", KeyKind.OPENS)
HELP = Command(("question_mark", "h"), "?", "", "every key of this place", "help", KeyKind.TURNS)
QUIT = Command(("q",), "q", "", "quit; nothing is ever lost", "quit", KeyKind.OPENS)
BACK = Command(
    ("backspace", "b", "escape"), "backspace", "back", "back to where you came from", "back", KeyKind.TURNS, "[b]ack"
)
RUB_OUT = Command(
    ("backspace",), "backspace", "rub out", "rub out; with nothing typed: back", "rub_out", KeyKind.TURNS, "[bksp]"
)
TO_GATES = Command(
    ("g",), "g", "gates", "go to the gate a refusal named, or to the list of gates", "gate", KeyKind.OPENS, "[g]ates"
)
DOWN = Command(("down", "pagedown"), "down", "", "read on below", "down", KeyKind.TURNS)
UP = Command(("up", "pageup"), "up", "", "read above", "up", KeyKind.TURNS)

SCALE_UNITS = (
    Command(("k",), "k", "kg", "the scale shows kilograms", "kg", KeyKind.TURNS),
    Command(("l",), "l", "lb", "the scale shows pounds", "lb", KeyKind.TURNS),
)

ALWAYS = (POWER, UNDO, HAPPENED, PEOPLE, WORKER, UP, DOWN, HELP, QUIT)
IN_A_PLACE = (BACK, *ALWAYS)
ON_A_PAGE = (BACK, POWER, UNDO, UP, DOWN, HELP, QUIT)
IN_A_LIST = (BACK, POWER, UNDO, HELP, QUIT)
"""Up and down move the cursor there."""

LEAVE = Command(("escape",), "escape", "leave", "back, writing nothing", "back", KeyKind.TURNS, "[esc]")
LEAVE_TEXT = LEAVE._replace(label="leave, then [p] POWER", brief="[esc] then [p]ower")
"""Where letters are typed p is one of them: the line of keys says how power that came back is told from here."""


def digits(says: str, of: str = DIGITS) -> Command:
    """The first of two keys in turn."""
    return Command(tuple(of), "digit", "", says, "arm", also=False)


def confirm(says: str) -> Command:
    """The second of them."""
    return Command(("enter",), "digit, enter", "CONFIRM", says, "confirm", brief="[enter] sure")


WHILE_TYPING = (
    Command(("enter",), "enter", "done", "write it", "finish"),
    RUB_OUT,
    LEAVE_TEXT,
)
