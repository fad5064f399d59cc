"""A small world to test in: one gate of each kind, a dozen steps, a clock that is turned by hand, a car in a folder."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from teardown.car.clock import Instant
from teardown.car.door import Car, begin_log, open_car
from teardown.car.facts import Facts, parse_facts
from teardown.car.log import Entry
from teardown.car.ruling import Refusal
from teardown.car.state import State
from teardown.packs.reader import Library, load
from teardown.packs.route import Route, lay_route
from tests.world.clock import HandClock

PROCEDURES = Path(__file__).parent / "procedures"

FACTS = """
name = "Test car"
goal = "1000kg"
kerb = "1200kg"
who = ["Ana", "Bo"]
[fitted]
hybrid = false
second-source = false
[rules.door-cards]
keep = false
rule = "4.2"
date = 2026-01-31
[room]
place = "outdoors"
fan = "4000m3/h"
"""


def library() -> Library:
    return load(PROCEDURES)


def facts(text: str = FACTS) -> Facts:
    return parse_facts(text)


def route(text: str = FACTS) -> Route:
    return lay_route(library(), facts(text).shape)


def fold(route: Route, facts: Facts, entries: Iterable[Entry]) -> State:
    """The state after `entries`."""
    state = State(route, facts)
    for entry in entries:
        state.apply(entry)
    return state


class World:
    """A car in a folder, entered through the door, with a clock turned by hand."""

    def __init__(self, folder: Path, text: str = FACTS, rehearsal: bool = False) -> None:
        self.folder = folder
        self.clock = HandClock()
        folder.mkdir(exist_ok=True)
        (folder / "car.toml").write_text(text)
        begin_log(folder, self.clock, "Ana", rehearsal=rehearsal)
        self.rehearsal = rehearsal
        self.car = self.opened()

    def opened(self) -> Car:
        return open_car(self.folder, self.clock, write=True, rehearsal=self.rehearsal, packs=PROCEDURES)

    def reopen(self) -> None:
        self.car.close()
        self.car = self.opened()

    def enter(self, kind: str, **words: object) -> Entry | Refusal:
        return self.car.enter(kind, words, "Ana")

    def done(self, kind: str, **words: object) -> Entry:
        """An entry that must be accepted."""
        result = self.enter(kind, **words)
        assert isinstance(result, Entry), result
        return result

    def refused(self, kind: str, **words: object) -> Refusal:
        """An entry that must be refused."""
        result = self.enter(kind, **words)
        assert isinstance(result, Refusal), result
        return result

    def stands(self, gate: str) -> bool:
        return self.car.now().gates[gate].stands

    def why(self, gate: str) -> str:
        return self.car.now().gates[gate].why

    @property
    def state(self) -> State:
        return self.car.now().state

    # -- ways a mechanic goes again and again

    def tick_all(self, gate: str) -> None:
        for tick in self.car.now().gates[gate].ticks:
            self.done("gate-tick", gate=gate, tick=tick.n)

    def battery_off(self) -> None:
        if self.state.mark("safe.look") is None:
            self.done("step-done", step="safe.look")
        self.tick_all("battery")

    def wait(self, minutes: float) -> None:
        """Time passes while somebody writes a note now and then, so that nothing counts as a pause."""
        left = minutes
        while left > 0:
            self.clock.advance(60 * min(left, 5))
            left -= 5
            self.done("note", text="still here")

    def airbags_ready(self) -> None:
        """Every gate of the airbag hazard stands, and the battery step is done."""
        self.battery_off()
        if self.state.mark("safe.isolate") is None:
            self.done("step-done", step="safe.isolate")
        self.wait(30)
        if not self.stands("second-person"):
            self.done("people-here", count=2)
        self.done("gate-reading", gate="battery-dead", value="0.1V")
        self.tick_all("airbag-handling")

    def seat_ready(self) -> None:
        """What the driver seat waits for is done, and two people have readied its lift."""
        self.airbags_ready()
        self.done("step-done", step="cabin.bag-out")
        self.done("people-here", count=2)
        self.tick_all("lift-ready")

    def modules_out(self) -> None:
        self.airbags_ready()
        self.done("step-done", step="cabin.bag-out")
        self.done("part-stored", part="driver-bag", where="store")
        self.done("step-done", step="cabin.knee-out")
        self.done("part-stored", part="knee-bag", where="store")


__all__ = ["FACTS", "PROCEDURES", "HandClock", "Instant", "World", "facts", "fold", "library", "route"]
