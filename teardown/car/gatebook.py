"""What has been done at each gate, and what has made it lapse: the memory the gate rules judge by.

Everything here follows from entries alone. Time enters only as the instants of entries (and the instant of a look),
and is believed only in the careful direction: a pause is as long as the longest clock says, a wait only as long as
the boot clock proves.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple

from teardown.car.clock import Instant
from teardown.packs.model import CountGate, Event, Level, PeopleGate, ReadingGate, TicksGate, WaitGate
from teardown.packs.route import Route, RouteStep

BREAK_MIN = 30.0
"""A longer pause than this asks what has happened meanwhile (this project's policy)."""

NEW_SESSION_MIN = 8 * 60.0
"""A longer pause than this is a new working day (this project's policy)."""

UNKNOWN_MIN = float("inf")

LEAST_BELIEVED = {"carbon_dioxide_ppm": 300.0, "voltage_v": 0.0}
"""No air on earth reads less carbon dioxide: a meter that does is off or broken (this project's policy)."""

EVENTS: dict[Event, str] = {
    "power": "power came back",
    "new-day": "a new working day",
    "break": "work paused for more than 30 minutes",
    "people-changed": "somebody came or went",
    "doors-shut": "a door, window or lid was shut",
    "fan-stopped": "the fan or the meter stopped",
    "ice-delivered": "more ice came",
    "car-moved": "the car was moved",
    "load-changed": "more than 50 kg left one end of the car",
    "fuel-opened": "fuel was opened, added or smelt",
    "module-moved": "a live module was moved or the count does not agree",
    "air-bad": "the air went bad",
    "broken": "something broke",
}


class Pause(NamedTuple):
    """How long nothing was written: minutes by the clock that says most, and whether the computer restarted."""

    minutes: float
    restarted: bool
    new_day: bool


class Reading(NamedTuple):
    number: float
    at: Instant


class Ice(NamedTuple):
    kg: float
    over_min: float


class Signature(NamedTuple):
    by: str
    paper: str


@dataclass(slots=True)
class GateRecord:
    """What stands written for one gate since it last lapsed."""

    ticks: tuple[int, ...] = ()
    reading: Reading | None = None
    ice: Ice | None = None
    people: int | None = None
    signed: Signature | None = None
    since: Instant | None = None
    proven_min: float = 0.0
    restarted: bool = False
    manual_min: float | None = None
    alarm: Level | None = None
    cleared: Level | None = None
    clear_since: Instant | None = None
    lapse: str | None = None

    @property
    def begun(self) -> bool:
        return bool(self.ticks or self.reading or self.ice or self.people or self.signed or self.since)

    def forget(self, why: str) -> None:
        """Back to the first tick. What the manual says and a bad reading of the air are facts, and stay."""
        self.ticks = ()
        self.reading = self.ice = self.people = self.signed = self.since = None
        self.proven_min = 0.0
        self.restarted = False
        self.lapse = why


@dataclass(slots=True)
class GateBook:
    """The records of all gates of one route."""

    route: Route
    rate: float = 1.0
    records: dict[str, GateRecord] = field(default_factory=dict)
    last: Instant | None = None
    questions: str | None = None
    here: int | None = None
    left: frozenset[str] = frozenset()
    """Gates that have yet to see gone what a step left in the car."""
    seen_gone: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        if not self.records:
            self.records = {gate: GateRecord() for gate in self.route.library.gates}

    def at(self, now: Instant) -> GateBook:
        """The book as it must be read at `now`: this one is not changed."""
        seen = copy(self)
        seen.records = {gate: copy(record) for gate, record in self.records.items()}
        seen.pass_time(now)
        return seen

    def __getitem__(self, gate: str) -> GateRecord:
        return self.records[gate]

    # -- time

    def pass_time(self, now: Instant) -> None:
        """Everything the time from the last entry to `now` does to gates."""
        last, self.last = self.last, now
        if last is None:
            return
        if _within_the_minute(last, now):
            return
        if last.boot != now.boot:
            self._prove_waits(last)
            self._restart_unproven_waits(now)
        pause = pause_between(last, now)
        self._lapse_paused(pause)
        if pause.new_day:
            self.happen("new-day", EVENTS["new-day"])
        if pause.minutes > BREAK_MIN or pause.restarted:
            self.happen("break", _pause_in_words(pause))
            self.questions = _pause_in_words(pause)

    def _prove_waits(self, last: Instant) -> None:
        """A boot has ended: what a wait had run by the last entry made in it is proven, and nothing more."""
        for gate in self.route.waits:
            record = self.records[gate.id]
            record.proven_min = self.waited_min(gate.id, last)

    def _restart_unproven_waits(self, now: Instant) -> None:
        for gate in self.route.waits:
            record = self.records[gate.id]
            begun_before = record.since is not None and record.since.boot != now.boot
            if begun_before and record.proven_min < wait_needed_min(gate, record):
                record.since, record.proven_min, record.restarted = now, 0.0, True

    def waited_min(self, gate_id: str, now: Instant) -> float:
        """How much of a wait has run by `now`: what is proven, or what ran in this boot."""
        record = self.records[gate_id]
        return 0.0 if record.since is None else max(record.proven_min, waited_min(record.since, now, self.rate))

    def _lapse_paused(self, pause: Pause) -> None:
        for gate in self.route.pausing:
            if gate.pause_min is not None and pause.minutes > gate.pause_min:
                self.lapse(gate.id, f"nothing was written for more than {gate.pause_min:g} minutes")

    # -- what happens

    def happen(self, event: Event, why: str) -> None:
        if event == "people-changed":
            self.here = None
        for gate_id in self.route.lapsing.get(event, ()):
            self.lapse(gate_id, why)

    def lapse(self, gate_id: str, why: str) -> None:
        """The gate stands no more, and neither do those that follow it."""
        record = self.records[gate_id]
        if record.begun:
            record.forget(why)
        elif not isinstance(self.route.gate(gate_id), CountGate):  # a count has no record, but gates may follow it
            return
        for follower in self.route.followers[gate_id]:
            self.lapse(follower, why)

    def undo(self, gate_id: str, why: str) -> None:
        """Something done at a gate is taken back: the gate lapses. Air that was bad counts as bad again, and what a
        step left in the car counts as there again."""
        self.lapse(gate_id, why)
        record = self.records[gate_id]
        record.alarm, record.cleared, record.clear_since = record.alarm or record.cleared, None, None
        self.left |= self.seen_gone & {gate_id}

    def answer(self, power: str, doors: str, people: str) -> None:
        """The questions after a pause. Not knowing counts as yes."""
        if power != "no":
            self.happen("power", "power may have come back while you were away")
        if doors != "no":
            self.happen("doors-shut", "doors may have been shut while you were away")
        if people != "no":
            self.happen("people-changed", "people came or went while you were away")
        self.questions = None

    def finish_step(self, step: RouteStep, title: str) -> None:
        """A step, or a part of it, is done: gates for one step are used up, and what it leaves in the car is there."""
        for gate_id in self.route.gate_order(step.gates):
            if self.route.gate(gate_id).each_step:
                self.lapse(gate_id, f"used by: {title}")
        for gate_id in step.until:
            self.lapse(gate_id, f"since then: {title}")
            self.records[gate_id].lapse = f"since then: {title}"
        self.left = self.left.union(step.until)

    # -- what is done at a gate

    def tick(self, gate_id: str, tick: int, says: str, entry: int, now: Instant) -> None:
        """A tick counts in its order, and only while the statement still says what was ticked."""
        gate, record = self.route.gate(gate_id), self.records[gate_id]
        if isinstance(gate, TicksGate) and tick == len(record.ticks) + 1 and says == gate.ticks[tick - 1]:
            record.ticks += (entry,)
            if len(record.ticks) == len(gate.ticks):
                record.lapse = None
                self.begin_followers(gate_id, now)

    def read(self, gate_id: str, number: float, now: Instant) -> None:
        gate, record = self.route.gate(gate_id), self.records[gate_id]
        if not isinstance(gate, ReadingGate):
            return
        record.reading, record.lapse = Reading(number, now), None
        if number < LEAST_BELIEVED[gate.quantity]:
            return
        reached = [level for level in gate.levels if number >= level.at]
        if reached:
            self._raise_alarm(record, max(reached, key=lambda level: level.at))
        elif record.alarm is not None:
            _clear_alarm(record, number, now)

    def _raise_alarm(self, record: GateRecord, level: Level) -> None:
        if record.alarm is None or level.at > record.alarm.at:
            record.alarm = level
        record.clear_since = None
        if record.alarm.hold_min > 0:
            self.happen("air-bad", f"the reading reached {record.alarm.at:,g}")

    def plan_ice(self, gate_id: str, ice: Ice) -> None:
        self.records[gate_id].ice, self.records[gate_id].lapse = ice, None

    def sign(self, gate_id: str, signature: Signature, now: Instant) -> None:
        self.records[gate_id].signed, self.records[gate_id].lapse = signature, None
        self.begin_followers(gate_id, now)

    def manual_wait(self, gate_id: str, minutes: float, now: Instant) -> None:
        self.records[gate_id].manual_min = minutes
        self._restart_unproven_waits(now)

    def present(self, count: int) -> None:
        """How many are here. Another number than before means that somebody came or went."""
        if self.here is not None and self.here != count:
            self.happen("people-changed", EVENTS["people-changed"])
        self.here = count
        for gate in self.route.library.gates.values():
            if isinstance(gate, PeopleGate):
                self.records[gate.id].people = count

    def begin_followers(self, gate_id: str, now: Instant) -> None:
        """A gate has come to stand: waits behind it begin, and what was made before it counts no more."""
        self.seen_gone |= self.left & {gate_id}
        self.left -= {gate_id}
        for follower in self.route.followers[gate_id]:
            gate, record = self.route.gate(follower), self.records[follower]
            if isinstance(gate, WaitGate):
                record.since, record.proven_min, record.restarted, record.lapse = now, 0.0, False, None
            elif isinstance(gate, ReadingGate):
                record.reading = None
            elif not isinstance(gate, PeopleGate):
                self.lapse(follower, f"made before {self.route.gate(gate_id).title} stood")


def wait_needed_min(gate: WaitGate, record: GateRecord) -> float:
    """The manual's figure governs; unknown counts as the long wait; nothing goes under the floor."""
    return max(gate.floor_min, gate.unknown_min if record.manual_min is None else record.manual_min)


def waited_min(since: Instant, now: Instant, rate: float) -> float:
    """Minutes that really passed: by the boot clock, within one boot, never less than none."""
    if since.boot != now.boot:
        return 0.0
    return max(0.0, now.seconds - since.seconds) * rate / 60.0


def age_min(then: Instant, now: Instant) -> float:
    """How old something is, by the clock that says most; unknown across a restart."""
    if then.boot != now.boot or now.seconds < then.seconds:
        return UNKNOWN_MIN
    return max(now.seconds - then.seconds, _wall_s(then, now)) / 60.0


def _within_the_minute(last: Instant, now: Instant) -> bool:
    """Every clock agrees that next to no time has passed: the usual case, and the cheap one."""
    same = last.boot == now.boot and last.utc[:16] == now.utc[:16] and last.day == now.day
    return same and 0 <= now.seconds - last.seconds < 60


def pause_between(last: Instant, now: Instant) -> Pause:
    """How long nothing was written. A clock that went backwards proves nothing, so the pause counts as unknown."""
    restarted = last.boot != now.boot or now.seconds < last.seconds
    wall_s = _wall_s(last, now)
    if not restarted:
        minutes = max(now.seconds - last.seconds, wall_s) / 60.0
    else:
        minutes = wall_s / 60.0 if wall_s >= 0 else UNKNOWN_MIN
    return Pause(minutes, restarted, now.day != last.day or minutes > NEW_SESSION_MIN)


def _wall_s(then: Instant, now: Instant) -> float:
    return (datetime.fromisoformat(now.utc) - datetime.fromisoformat(then.utc)).total_seconds()


def _clear_alarm(record: GateRecord, number: float, now: Instant) -> None:
    """Work goes on only after the reading has been low enough, for long enough."""
    level = record.alarm
    if level is None or number >= level.back_below:
        record.clear_since = None
        return
    if record.clear_since is None or record.clear_since.boot != now.boot:
        record.clear_since = now
    if waited_min(record.clear_since, now, 1.0) >= level.hold_min:
        record.alarm, record.cleared, record.clear_since = None, level, None


def _pause_in_words(pause: Pause) -> str:
    if pause.minutes == UNKNOWN_MIN:
        return "nobody knows how long nothing was written: the clock went backwards"
    if pause.restarted:
        return "the computer restarted"
    if pause.minutes > 2 * 60:
        return f"nothing was written for {pause.minutes / 60:.0f} hours"
    return f"nothing was written for {pause.minutes:.0f} minutes"
