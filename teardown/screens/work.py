"""The one long-lived screen. Its regions are updated in place; what they show, the place in front paints."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Digits, Static

from teardown.car.steps import view_route
from teardown.packs.model import WaitGate
from teardown.screens.commands import key_lines
from teardown.screens.desk import Desk
from teardown.screens.dispatch import strike
from teardown.screens.guard import Guard
from teardown.screens.lamps import lamp_line, mass_line
from teardown.screens.paint import BOLD, LOUD, Picture, Window, words, wrap
from teardown.screens.places.questions import Questions
from teardown.screens.places.steplist import step_lines

SMALLEST = Window(40, 12)
SIDE_COLUMNS = 44
DIGIT_ROWS = 3
LOOK_EVERY_S = 0.5
REGIONS = ("top", "head", "body", "prompt", "say", "keys")


class Work(Screen[None]):
    """Paints the desk and hands it the keys."""

    AUTO_FOCUS: ClassVar[str | None] = ""
    CSS = """
    Work { layout: vertical; overflow: hidden; }
    Static { height: auto; }
    #side { dock: left; width: 44; height: 100%; display: none; padding: 0 1 0 0; }
    #digits { height: 3; width: 100%; text-align: center; display: none; }
    #body { height: 1fr; }
    """

    def __init__(self, desk: Desk, guard: Guard) -> None:
        super().__init__()
        self.desk = desk
        self.guard = guard
        self.scroll_line = 0
        self.waits_left: dict[str, float] = {}
        self._painted: dict[str, list[Content]] = {}

    def compose(self) -> ComposeResult:
        yield Static(id="side", markup=False)
        yield Static(id="top", markup=False)
        yield Static(id="head", markup=False)
        yield Digits(id="digits")
        yield Static(id="body", markup=False)
        yield Static(id="prompt", markup=False)
        yield Static(id="say", markup=False)
        yield Static(id="keys", markup=False)

    def on_mount(self) -> None:
        self.set_interval(LOOK_EVERY_S, self.look)

    def on_resize(self) -> None:
        self.paint_desk()

    # -- keys

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        place, lines = self.desk.place, self.scroll_line
        acted = strike(self.desk, self.guard, event.key, event.character, event.time, time.monotonic())
        if self.desk.leaving:
            self.app.exit()
            return
        if event.key in ("up", "down", "pageup", "pagedown") and self.scroll_line == lines:
            self._scroll(event.key)
        if self.desk.place is not place:
            self.scroll_line = 0
        self.paint_desk()
        if acted:
            self.guard.place_shown(time.monotonic())

    def on_paste(self, event: events.Paste) -> None:
        if self.desk.place.types:
            for character in event.text[:200]:
                self.desk.place.typed(self.desk, character)
            self.paint_desk()

    def _scroll(self, key: str) -> None:
        self.scroll_line = max(0, self.scroll_line + {"up": -1, "down": 1, "pageup": -8, "pagedown": 8}[key])

    # -- painting

    def look(self) -> None:
        """Time has passed: count down, and say when a wait is over."""
        self.desk.look_again()
        self._ring_when_a_wait_ends()
        self.paint_desk()

    def paint_desk(self) -> None:
        """Show the desk as it is now. Regions that have not changed are left alone."""
        self._ask_after_a_pause()
        columns, rows = self.size.width, self.size.height
        if columns < SMALLEST.columns or rows < SMALLEST.rows:
            self._show_too_small()
            return
        side = Window(columns, rows).wide and not isinstance(self.desk.place, Questions)
        self._paint_side(rows if side else 0)
        self._paint_regions(Window(columns - SIDE_COLUMNS if side else columns, rows))

    def _paint_regions(self, window: Window) -> None:
        picture = self.desk.place.paint(self.desk, window)
        top = [
            mass_line(self.desk.standing, window, not self.desk.car.can_write),
            lamp_line(self.desk.standing, window),
        ]
        regions = {
            "top": top,
            "head": wrap(picture.head, window.columns),
            "prompt": wrap(picture.prompt, window.columns),
            "say": wrap([words(self.desk.message, BOLD)], window.columns)[:3] if self.desk.message else [],
            "keys": self._key_lines(window),
        }
        fixed = sum(map(len, regions.values())) + (DIGIT_ROWS if picture.digits else 0)
        if window.rows - fixed < 2:  # the head gives way first: its last lines are the longest
            keep = max(1, len(regions["head"]) - (2 - (window.rows - fixed)))
            fixed -= len(regions["head"]) - keep
            regions["head"] = regions["head"][:keep]
        regions["body"] = self._visible(picture, window.columns, max(1, window.rows - fixed))
        self._paint_digits(picture.digits)
        for name, lines in regions.items():
            self._show(name, lines)

    def _key_lines(self, window: Window) -> list[Content]:
        lines = 1 if window.small else 2
        return [words(line) for line in key_lines(self.desk.place.commands, window.columns, lines)]

    def _visible(self, picture: Picture, columns: int, rows: int) -> list[Content]:
        """The lines of the body in sight, with a mark where there is more."""
        starts: list[int] = []
        lines: list[Content] = []
        for paragraph in picture.body:
            starts.append(len(lines))
            lines.extend(wrap([paragraph], columns))
        if len(lines) <= rows:
            self.scroll_line = 0
            return lines
        if picture.focus is not None:
            first = _in_sight(starts[picture.focus], len(lines), rows)
        else:
            first = self.scroll_line = min(self.scroll_line, len(lines) - rows + 1)
        return _marked(lines, first, rows)

    def _paint_side(self, rows: int) -> None:
        side = self.query_one("#side", Static)
        side.display = rows > 0
        if rows:
            lines = list(step_lines(view_route(self.desk.standing), self.desk.position, SIDE_COLUMNS - 1))
            first = _in_sight(self.desk.position, len(lines), rows)
            self._show("side", _marked(lines, first, rows) if len(lines) > rows else lines)

    def _paint_digits(self, digits: str) -> None:
        widget = self.query_one("#digits", Digits)
        widget.display = bool(digits)
        if digits and widget.value != digits:
            widget.update(digits)

    def _show(self, region: str, lines: Sequence[Content]) -> None:
        before = self._painted.get(region)
        if (
            before is not None
            and len(before) == len(lines)
            and all(a.is_same(b) for a, b in zip(before, lines, strict=True))
        ):
            return
        self._painted[region] = list(lines)
        widget = self.query_one(f"#{region}", Static)
        widget.display = bool(lines) or region == "body"
        widget.update(Content("\n").join(lines))

    def _show_too_small(self) -> None:
        self._paint_side(0)
        self._paint_digits("")
        for name in REGIONS:
            self._show(name, [])
        say = f"This window is {self.size.width} x {self.size.height}. It needs {SMALLEST.columns} x {SMALLEST.rows}."
        self._show("body", wrap([words(say, LOUD), words("Make it larger, or the letters smaller.")], self.size.width))

    # -- what time brings

    def _ask_after_a_pause(self) -> None:
        asked = any(isinstance(place, Questions) for place in self.desk.places)
        if self.desk.car.can_write and self.desk.standing.state.gates.questions and not asked:
            self.desk.go(Questions())
            self.guard.place_shown(time.monotonic())

    def _ring_when_a_wait_ends(self) -> None:
        for gate_id, view in self.desk.standing.gates.items():
            if not isinstance(view.gate, WaitGate) or view.wait_left_s is None:
                continue
            if self.waits_left.get(gate_id, 0) > 0 and view.wait_left_s == 0:
                self.app.bell()
                self.desk.say(f"{view.gate.title}: WAIT OVER")
            self.waits_left[gate_id] = view.wait_left_s


def _in_sight(line: int, lines: int, rows: int) -> int:
    """The first line to show so that `line` is near the middle."""
    return max(0, min(line - rows // 2, lines - rows + 1))


def _marked(lines: list[Content], first: int, rows: int) -> list[Content]:
    """`rows` lines from `first` on, the outermost given to marks where there is more."""
    more_above, room = first > 0, rows - (first > 0)
    more_below = first + room < len(lines)
    room -= more_below
    shown = lines[first : first + room]
    above = [words(f"^ {first} more above: [up]", BOLD)] if more_above else []
    below = [words(f"v {len(lines) - first - len(shown)} more below: [down]", BOLD)] if more_below else []
    return above + shown + below
