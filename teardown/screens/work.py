"""The one long-lived screen. Its regions are updated in place; what they show, the place in front paints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from teardown.packs.model import WaitGate
from teardown.screens.desk import Desk, TypedInto
from teardown.screens.guard import Guard
from teardown.screens.lamps import order_lines
from teardown.screens.large import large
from teardown.screens.layout import lay_out, side_lines
from teardown.screens.paint import LOUD, Window, words, wrap
from teardown.screens.places.questions import Questions

SMALLEST = Window(40, 12)
TOO_SMALL = "Make it larger, or the letters smaller: until then no key counts but ctrl+c, which quits."
SIDE_COLUMNS = 44
LOOK_EVERY_S = 0.5
REGIONS = ("top", "head", "body", "prompt", "say", "keys")


class Work(Screen[None]):
    """Paints the desk and hands it the keys."""

    class FirstPicture(Message):
        """Something stands in sight, and keys count."""

    AUTO_FOCUS: ClassVar[str | None] = ""
    STYLES = """
    Work { layout: vertical; overflow: hidden; }
    Static { height: auto; }
    #side { dock: left; width: 44; height: 100%; display: none; padding: 0 1 0 0; }
    #body { height: 1fr; }
    """

    def __init__(self, desk: Desk, guard: Guard) -> None:
        super().__init__()
        self.desk = desk
        self.guard = guard
        self.waits_left: dict[str, float] = {}
        self.digits = ""
        self._painted: dict[str, list[Content]] = {}
        self._painted_for: Size | None = None
        self._was_seen = False
        self._changed = False

    def compose(self) -> ComposeResult:
        yield Static(id="side", markup=False)
        yield Static(id="top", markup=False)
        yield Static(id="head", markup=False)
        yield Static(id="digits", markup=False)
        yield Static(id="body", markup=False)
        yield Static(id="prompt", markup=False)
        yield Static(id="say", markup=False)
        yield Static(id="keys", markup=False)

    def on_mount(self) -> None:
        self.set_interval(LOOK_EVERY_S, self.look)
        self.paint_desk()

    def on_resize(self) -> None:
        """The first picture, or every line elsewhere than it was. The first is announced several times over."""
        if self.size != self._painted_for:
            self.paint_desk()
        self._await_the_picture()

    # -- keys

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if self._is_too_small():  # no key answers a picture that cannot be seen
            return
        from teardown.screens.dispatch import strike  # every place there is: not one is needed for the first picture

        acted = strike(self.desk, self.guard, event.key, event.character, event.time, _now())
        if self.desk.leaving:
            self.app.exit()
            return
        if not self.paint_desk() and not self.desk.message:
            self.desk.say(f"[{event.key}] changes nothing here now")
            self.paint_desk()
        if acted:
            self._await_the_picture()

    def on_paste(self, event: events.Paste) -> None:
        if self._is_too_small():
            return
        place, text = self.desk.place, event.text[:200]
        taken = [place.typed(self.desk, character) for character in text] if isinstance(place, TypedInto) else []
        if not any(taken):
            self.desk.say("what was pasted is not typed here")
        self.paint_desk()

    # -- painting

    def look(self) -> None:
        """Time has passed: count down, and say when a wait is over."""
        self.desk.look_again()
        self._ring_when_a_wait_ends()
        self.paint_desk()

    def paint_desk(self) -> bool:
        """Show the desk as it is now; whether anything changed. Regions that have not are left alone."""
        self._changed = False
        self._painted_for = self.size
        self._ask_after_a_pause()
        if self._is_too_small():
            self._show_too_small()
            return self._changed
        columns, rows = self.size.width, self.size.height
        side = Window(columns, rows).wide and not isinstance(self.desk.place, Questions)
        self._paint_side(rows if side else 0)
        self._paint_regions(Window(columns - SIDE_COLUMNS if side else columns, rows))
        return self._changed

    def _paint_regions(self, window: Window) -> None:
        layout = lay_out(self.desk, window)
        self._paint_digits(layout.digits, window.columns)
        for name, lines in layout.regions.items():
            self._show(name, lines)

    def _paint_side(self, rows: int) -> None:
        side = self.query_one("#side", Static)
        side.display = rows > 0
        if rows:
            self._show("side", side_lines(self.desk, SIDE_COLUMNS - 1, rows))

    def _paint_digits(self, digits: str, columns: int) -> None:
        self.digits = digits
        self._show("digits", large(digits, columns) if digits else [])

    def _show(self, region: str, lines: Sequence[Content]) -> None:
        before = self._painted.get(region)
        if (
            before is not None
            and len(before) == len(lines)
            and all(a.is_same(b) for a, b in zip(before, lines, strict=True))
        ):
            return
        self._painted[region] = list(lines)
        self._changed = True
        widget = self.query_one(f"#{region}", Static)
        widget.display = bool(lines) or region == "body"
        widget.update(Content("\n").join(lines))

    def _await_the_picture(self) -> None:
        """No key counts until what is laid out now has been painted: what was struck before does not answer it."""
        self.guard.place_hidden()
        self.call_after_refresh(self._picture_painted)

    def _picture_painted(self) -> None:
        if not self._is_too_small():
            self.guard.place_shown(_now())
        if not self._was_seen:
            self._was_seen = True
            self.post_message(self.FirstPicture())

    def _is_too_small(self) -> bool:
        return self.size.width < SMALLEST.columns or self.size.height < SMALLEST.rows

    def _show_too_small(self) -> None:
        self._paint_side(0)
        self._paint_digits("", self.size.width)
        for name in REGIONS:
            self._show(name, [])
        say = f"This window is {self.size.width} x {self.size.height}. It needs {SMALLEST.columns} x {SMALLEST.rows}."
        orders = order_lines(self.desk.standing, Window(*self.size))
        self._show("body", [*orders, *wrap([words(say, LOUD), words(TOO_SMALL)], self.size.width)])

    # -- what time brings

    def _ask_after_a_pause(self) -> None:
        asked = any(isinstance(place, Questions) for place in self.desk.places)
        if self.desk.car.can_write and self.desk.standing.state.gates.questions and not asked:
            self.desk.go(Questions())
            self._await_the_picture()

    def _ring_when_a_wait_ends(self) -> None:
        """Also while it does not stand for another reason: whoever waits in the yard hears it."""
        for gate_id, view in self.desk.standing.gates.items():
            if not isinstance(view.gate, WaitGate) or view.wait_left_s is None:
                continue
            if self.waits_left.get(gate_id, 0) > 0 and view.wait_left_s == 0:
                self.app.bell()
                over = "WAIT OVER" if view.stands else "its time has run. Say first what has happened"
                self.desk.say(f"{view.gate.title}: {over}")
            self.waits_left[gate_id] = view.wait_left_s


def _now() -> float:
    """The moment, on the clock that stamps key events: not the same on every system."""
    return Message().time
