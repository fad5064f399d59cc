"""A hand at the keys and an eye on the screen: the application run without a terminal, read back as text."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from rich.segment import Segment
from textual import events
from textual.pilot import Pilot

from teardown.screens.app import WalkApp
from teardown.screens.desk import Desk, Place
from teardown.screens.dispatch import strike
from teardown.screens.guard import Guard, KeyKind
from teardown.screens.places.card import Card
from teardown.screens.work import SIDE_COLUMNS, Work
from tests.world import World

CHARACTERS = {"space": " ", "question_mark": "?", "full_stop": ".", "comma": ",", "enter": "\r", "backspace": "\x7f"}
"""Keys whose names are not the character they give."""


AT_ARMS_LENGTH, WITH_ROOM, FROM_TWO_METRES, USUAL = (60, 18), (120, 40), (40, 12), (80, 24)
"""The windows everything is made for: columns and rows."""

in_each_window = pytest.mark.parametrize("hand", [AT_ARMS_LENGTH, WITH_ROOM], ids=["60x18", "120x40"], indirect=True)
from_two_metres_too = pytest.mark.parametrize(
    "hand", [AT_ARMS_LENGTH, WITH_ROOM, FROM_TWO_METRES], ids=["60x18", "120x40", "40x12"], indirect=True
)
"""In which windows a test's `hand` walks; without either at arm's length."""


class EveryKeyCounts:
    """In place of the glove guard, where a test is about what keys do and not about which count."""

    in_a_burst = False

    def counts(self, key: str, typed_at: float, now: float, kind: KeyKind) -> bool:
        return True

    def place_shown(self, now: float) -> None:
        pass

    def place_hidden(self) -> None:
        pass


class Hand:
    """Presses keys in a running application and reads what it shows."""

    def __init__(self, world: World, app: WalkApp, pilot: Pilot[None], runner: asyncio.Runner) -> None:
        self.world, self.app, self.pilot, self.runner = world, app, pilot, runner
        self.bells = 0
        app.bell = self._hear  # type: ignore[method-assign]

    def _hear(self) -> None:
        self.bells += 1

    def press(self, *keys: str) -> None:
        for key in keys:
            self.runner.run(self._strike(key))

    async def _strike(self, key: str) -> None:
        """As a terminal's driver hands a key on; each pause lets one queue of messages run empty."""
        driver = self.app._driver
        assert driver is not None
        driver.send_message(events.Key(key, CHARACTERS.get(key, key if len(key) == 1 else None)))
        for _ in range(2):
            await self.pilot.pause(0)

    def turn_to(self, ref: str) -> None:
        """Turn pages until that step is in front."""
        wanted = [step.ref for step in self.desk.standing.state.route.steps].index(ref)
        while (away := wanted - self.desk.position) != 0:
            self.press("right" if away > 0 else "left")

    @property
    def digit(self) -> str:
        """The digit the screen asks for before Enter."""
        asked = re.search(r"press (\d), then Enter", self.reads)
        assert asked, self.reads
        return asked[1]

    def confirm_line(self) -> None:
        """The digit the screen asks for, then Enter."""
        self.press(self.digit, "enter")

    def digit_of(self, answer: str) -> str:
        """The digit that stands beside an answer."""
        beside = re.search(rf"\[(\d)\] {re.escape(answer)}", self.reads)
        assert beside, self.reads
        return beside[1]

    def choose(self, answer: str) -> None:
        """An answer that opens something: its digit, then Enter."""
        self.press(self.digit_of(answer), "enter")

    def type(self, text: str) -> None:
        names = {character: key for key, character in CHARACTERS.items()}
        self.press(*(names.get(character, character) for character in text))

    def time_passes(self, minutes: float) -> None:
        """The clock goes on, and the screen looks at it as it does twice a second."""
        self.world.clock.advance(60 * minutes)
        self.look()

    def look(self) -> None:
        self.work.look()
        self.runner.run(self.pilot.pause())

    def resize(self, columns: int, rows: int) -> None:
        self.runner.run(self.pilot.resize_terminal(columns, rows))
        self.runner.run(self.pilot.pause())

    @property
    def work(self) -> Work:
        screen = self.app.screen
        assert isinstance(screen, Work)
        return screen

    @property
    def desk(self) -> Desk:
        return self.app.desk

    @property
    def place(self) -> Place:
        return self.desk.place

    # -- reading

    def strips(self) -> list[list[Segment]]:
        """The screen as styled text, line by line. The one spot that knows how Textual keeps it."""
        return [list(strip) for strip in self.app.screen._compositor.render_strips()]

    @property
    def lines(self) -> list[str]:
        """The whole screen, line by line."""
        return ["".join(segment.text for segment in strip).rstrip() for strip in self.strips()]

    @property
    def side(self) -> list[str]:
        """The list of steps beside the card; empty where there is no room for it."""
        return [line[:SIDE_COLUMNS].rstrip() for line in self.lines] if self._has_side else []

    @property
    def page(self) -> list[str]:
        """What stands beside the list of steps, line by line."""
        return [line[SIDE_COLUMNS:] for line in self.lines] if self._has_side else self.lines

    @property
    def reads(self) -> str:
        """The page as running text: where a line breaks is left to the size of the window."""
        return " ".join(" ".join(self.page).split())

    @property
    def digits(self) -> str:
        """The large digits, as a person reads them."""
        return self.work.digits

    @property
    def _has_side(self) -> bool:
        return bool(self.app.screen.query_one("#side").display)


@contextmanager
def walking(world: World, columns: int = 60, rows: int = 18, guard: Guard | None = None) -> Iterator[Hand]:
    """Walk the world's car in a window of that size."""
    with asyncio.Runner() as runner:
        app = WalkApp(world.car, "Ana", guard or EveryKeyCounts())  # type: ignore[arg-type]
        running = app.run_test(size=(columns, rows))
        pilot = runner.run(running.__aenter__())
        try:
            runner.run(pilot.pause())
            yield Hand(world, app, pilot, runner)
        finally:
            runner.run(running.__aexit__(None, None, None))


class KeysOnly:
    """A desk without a screen: a key does what it does, and nothing is painted."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.desk = Desk(world.car, "Ana", Card())

    def press(self, *keys: str) -> None:
        for key in keys:
            character = CHARACTERS.get(key, key if len(key) == 1 else None)
            strike(self.desk, EveryKeyCounts(), key, character, 0.0, 0.0)  # type: ignore[arg-type]
