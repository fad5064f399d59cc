"""What has been done at each gate, and what has made it lapse: the memory the gate rules judge by.

Everything here follows from entries alone. Time enters only as the instants of entries (and the instant of a look),
and is believed only in the careful direction: a pause is as long as the longest clock says, a wait only as long as
the boot clock proves.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from typing import NamedTuple

from teardown.car.clock import Instant, Pause, age_min, pause_between, pause_in_words, waited_min, within_the_minute
from teardown.car.ice import Batch, Ice, Laid
from teardown.packs.model import LEAST_BELIEVED, Event, Level, PeopleGate, ReadingGate, TicksGate, WaitGate
from teardown.packs.route import Route, RouteStep

BREAK_MIN = 30.0
"""A longer pause than this asks what has happened meanwhile (this project's policy)."""

NEW_SESSION_MIN = 8 * 60.0
"""A longer pause than this is a new working day (this project's policy)."""

WORKED_ON_MIN = 5.0
"""Who pauses no longer than this over midnight works on; a longer pause is the new day's (this project's policy)."""

ANOTHER_SOURCE = "car.toml no longer rules out a source of power that it ruled out then"

BLEED_MIN = 5.0
"""For how long after the battery came off its loose leads may still bleed down; volts read later, or after the leads
were proved dead, come from a source (this project's policy)."""

SYMPTOM_PPM = 15_000.0
"""Any symptom counts as more carbon dioxide than this (common practice). The limit: EH40/2005 (secondary copy)."""

EVENTS: dict[Event, str] = {
    "power": "power came back",
    "new-day": "a new working day",
    "break": "work paused for more than 30 minutes",
    "people-changed": "somebody came or went",
    "doors-shut": "a door, window or lid was shut",
    "fan-stopped": "the fan or the meter stopped, or the wind dropped",
    "ice-delivered": "more ice came",
    "car-moved": "the car was moved or bumped, or a jack was touched",
    "hurt": "somebody was hurt, or nearly was",
    "fuel-opened": "fuel was opened, added or smelt",
    "module-moved": "a live module was moved or the count does not agree",
    "air-bad": "bad air: someone is dizzy, sleepy, short of breath",
    "broken": "something broke",
    "load-changed": "more than 50 kg left one end of the car",
    "refrigerant-there": "refrigerant was filled in, or hissed as a pipe was opened",
    "refitted": "a part went back in, or something was fitted",
}


class Reading(NamedTuple):
    """What an instrument showed; in words, where it showed no number."""

    number: float
    at: Instant
    says: str = ""


class Signature(NamedTuple):
    by: str
    paper: str


@dataclass(slots=True)
class GateRecord:
    """What stands written for one gate since it last lapsed."""

    ticks: tuple[int, ...] = ()
    reading: Reading | None = None
    ice: Ice | None = None
    laid: tuple[Laid, ...] = ()
    people: int | None = None
    signed: Signature | None = None
    since: Instant | None = None
    proven_min: float = 0.0
    again: str | None = None
    """Why a wait that runs began again."""
    bleeding: Instant | None = None
    """When the leads came off that nobody has proved dead since."""
    held: bool = False
    """Whether such leads have shown volts: the wait counts from the reading that proves them dead."""
    was_held: bool = False
    """Whether a reading has proved such leads dead: taken back, it has not."""
    fewer_sources: bool = False
    """Whether it was confirmed while car.toml ruled out a source of power that it rules out no more."""
    manual_min: float | None = None
    alarm: Level | None = None
    cleared: Level | None = None
    clear_since: Instant | None = None
    lapse: str | None = None

    @property
    def begun(self) -> bool:
        return bool(self.ticks or self.reading or self.ice or self.people or self.signed or self.since)

    def forget(self, why: str) -> None:
        """Back to the first tick. What the manual says, bad air and ice that was laid are facts, and stay."""
        self.ticks = ()
        self.reading = self.ice = self.people = self.signed = self.since = None
        self.proven_min = 0.0
        self.again = None
        self.lapse = why


class KnownOfGates(NamedTuple):
    """What every entry asks of a route's gates, found out once."""

    counts: frozenset[str]
    """Those that count live modules."""
    asking_people: tuple[str, ...]
    """Those that stand by how many people are here."""
    pausing: tuple[tuple[str, float, str], ...]
    """Those that lapse when nothing is written for long: after how many minutes, and why in words."""
    used_up: Mapping[tuple[str, ...], tuple[str, ...]]
    """For the gates of each step, which of them, and of those they follow, one step uses up."""


def known_of_gates(route: Route) -> KnownOfGates:
    gates = route.library.gates.values()
    return KnownOfGates(
        counts=frozenset(gate.id for gate in route.counts),
        asking_people=tuple(gate.id for gate in gates if isinstance(gate, PeopleGate)),
        pausing=tuple(
            (gate.id, gate.pause_min, f"nothing was written for more than {gate.pause_min:g} minutes")
            for gate in route.pausing
            if gate.pause_min is not None
        ),
        used_up={
            of_step: tuple(gate for gate in route.gate_order(of_step) if route.gate(gate).each_step)
            for of_step in {step.gates for step in route.steps}
        },
    )


@dataclass(slots=True)
class GateBook:
    """The records of all gates of one route."""

    route: Route
    rate: float = 1.0
    records: dict[str, GateRecord] = field(default_factory=dict)
    last: Instant | None = None
    questions: str | None = None
    here: int | None = None
    workers: frozenset[str] = frozenset()
    """Whose names have stood in the log since people last changed, or a pause made everybody say anew who is here."""
    before_pause: frozenset[str] = frozenset()
    """Whose names stood there before that pause: what they signed may stand still."""
    writer: str = ""
    """Who wrote last: there when somebody else came or went."""
    known: KnownOfGates = field(init=False)
    day: str | None = None
    """The date on which this working day began. Work that goes on through midnight belongs to the day before."""
    left: frozenset[str] = frozenset()
    """Gates that have yet to see gone what a step left in the car."""
    seen_gone: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        if not self.records:
            self.records = {gate: GateRecord() for gate in self.route.library.gates}
        self.known = known_of_gates(self.route)

    def at(self, now: Instant, who: str | None = None) -> "GateBook":
        """The book as it must be read at `now`, by `who` writes next: this one is not changed."""
        seen = copy(self)
        seen.records = {gate: copy(record) for gate, record in self.records.items()}
        seen.pass_time(now)
        if who is not None:
            seen.written_by(who)
        return seen

    def __getitem__(self, gate: str) -> GateRecord:
        return self.records[gate]

    # -- time

    def pass_time(self, now: Instant) -> None:
        """Everything the time from the last entry to `now` does to gates."""
        last, self.last = self.last, now
        if last is None:
            self.day = now.day
            return
        if within_the_minute(last, now):
            return
        if last.boot != now.boot:
            self._prove_waits(last)
            self._prove_ice(last, now)
            self._restart_unproven_waits(now)
        pause = pause_between(last, now)
        self._lapse_paused(pause)
        if self._is_a_new_day(pause, now):
            self.day = now.day
            self.happen("new-day", EVENTS["new-day"])
            self.questions = f"a new day began, and {pause_in_words(pause)}"
        if pause.minutes > BREAK_MIN or pause.restarted:
            copied = pause.restarted and self.rate > 1.0
            self.questions = "this copy of a car was left half way" if copied else pause_in_words(pause)
            self.happen("break", self.questions)

    def _is_a_new_day(self, pause: Pause, now: Instant) -> bool:
        paused = pause.restarted or pause.minutes > WORKED_ON_MIN
        return pause.minutes > NEW_SESSION_MIN or (paused and now.day != self.day)

    def _prove_waits(self, last: Instant) -> None:
        """A boot has ended: what a wait had run by the last entry made in it is proven, and nothing more."""
        for gate in self.route.waits:
            record = self.records[gate.id]
            record.proven_min = self.waited_min(gate.id, last)

    def _prove_ice(self, last: Instant, now: Instant) -> None:
        """The same for ice: what goes off while nobody can say for how long counts as lying."""
        for record in self.records.values():
            record.laid = tuple(ice._replace(since=now, proven_min=self._ran_min(ice, last)) for ice in record.laid)

    def _ran_min(self, ice: Laid, now: Instant) -> float:
        return ice.proven_min + waited_min(ice.since, now, self.rate)

    def _restart_unproven_waits(self, now: Instant) -> None:
        for gate in self.route.waits:
            record = self.records[gate.id]
            begun_before = record.since is not None and record.since.boot != now.boot
            if begun_before and record.proven_min < wait_needed_min(gate, record):
                self._begin_wait(record, now, "the computer restarted")

    def _begin_wait(self, record: GateRecord, now: Instant, again: str | None = None) -> None:
        record.since, record.proven_min, record.again, record.lapse = now, 0.0, again, None

    def begin_waits_again(self, why: str, now: Instant, behind: Sequence[str] | None = None) -> None:
        """The last source came off at `now`: waits that run, or those of them that follow a gate of `behind`, begin
        again, and what followed them was made too soon."""
        for gate in self.route.waits:
            record = self.records[gate.id]
            if record.since is not None and (behind is None or not set(gate.follows).isdisjoint(behind)):
                self._begin_wait(record, now, why)
                for follower in self.route.followers[gate.id]:
                    self.lapse(follower, why)

    def waited_min(self, gate_id: str, now: Instant) -> float:
        """How much of a wait has run by `now`: what is proven, or what ran in this boot."""
        record = self.records[gate_id]
        return 0.0 if record.since is None else max(record.proven_min, waited_min(record.since, now, self.rate))

    def _lapse_paused(self, pause: Pause) -> None:
        for gate_id, longest_min, why in self.known.pausing:
            if pause.minutes > longest_min:
                self.lapse(gate_id, why)

    # -- what happens

    def written_by(self, who: str) -> None:
        """A name that has not stood here since people last changed: a new person is on the job. So is one who is the
        first to write after a pause and was not there before it, whatever is answered."""
        here, self.writer = self.workers, who
        if who not in here:
            if here or (self.before_pause and who not in self.before_pause):
                self.happen("people-changed", f"{who} works now")
            self.workers = here | {who}

    def happen(self, event: Event, why: str) -> None:
        if event == "people-changed":
            self.here = None
            self.workers, self.before_pause = frozenset(filter(None, [self.writer])), frozenset()
        if event in ("break", "new-day"):
            self.workers, self.before_pause = frozenset(), self.workers or self.before_pause
        self._lapse_all(event, why)
        if event == "air-bad":
            self._raise_alarms()
        if event == "module-moved":
            self._count_again(why)

    def _count_again(self, why: str) -> None:
        """Until the live modules have been counted again nobody works at the car."""
        for gate_id in self.route.counting:
            self.lapse(gate_id, why)
            self.records[gate_id].lapse = why
        self.left = self.left.union(self.route.counting)

    @property
    def miscounted(self) -> bool:
        """Whether the live modules have yet to be counted again."""
        return not self.left.isdisjoint(self.route.counting)

    def _lapse_all(self, event: Event, why: str) -> None:
        for gate_id in self.route.lapsing.get(event, ()):
            self.lapse(gate_id, why)

    def whole_behind(self, event: Event) -> Iterator[tuple[str, int]]:
        """The gates of statements that stand and that `event` would shut, with the entry that made each whole."""
        for gate_id in self.route.lapsing.get(event, ()):
            if self._is_whole(gate_id):
                yield gate_id, self.records[gate_id].ticks[-1]

    def lapse(self, gate_id: str, why: str) -> None:
        """The gate stands no more, and neither do those that follow it."""
        record = self.records[gate_id]
        if record.begun:
            record.forget(why)
        elif gate_id not in self.known.counts:  # a count has no record, but gates may follow it
            return
        for follower in self.route.followers[gate_id]:
            self.lapse(follower, why)

    def undo(self, gate_id: str, entry: int) -> None:
        """Something done at a gate is taken back: the gate lapses. Air that was bad counts as bad again, and what a
        step left in the car counts as there again."""
        self.lapse(gate_id, f"entry {entry} was undone")
        record = self.records[gate_id]
        record.laid = tuple(laid for ice in record.laid for laid in ice.without(entry))
        record.held = record.held or record.was_held
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
        for gate_id in self.known.used_up[step.gates]:
            self.lapse(gate_id, f"used by: {title}")
        if step.until:
            self._lay_for_good(step.gates)
        for gate_id in step.until:
            self.lapse(gate_id, f"since then: {title}")
            self.records[gate_id].lapse = f"since then: {title}"
        self.left = self.left.union(step.until)

    def _lay_for_good(self, gates: Iterable[str]) -> None:
        """The step that lays the ice is done: what its figure allowed lies there, whoever takes the figure back."""
        for record in (self.records[gate] for gate in gates):
            record.laid = tuple(ice._replace(stays=True, for_good_kg=ice.kg) for ice in record.laid)

    # -- what is done at a gate

    def tick(self, gate_id: str, tick: int, says: str, entry: int, now: Instant, sources: Iterable[str] = ()) -> None:
        """A tick counts in its order, only while the statement still says what was ticked, and where it stands for
        every source of power only while no source is there that `sources`, those counted with, has not."""
        gate, record = self.route.gate(gate_id), self.records[gate_id]
        if not isinstance(gate, TicksGate) or (tick, says) not in enumerate(gate.ticks, start=1):
            return
        if gate_id in self.route.isolating and not self.route.sources <= set(sources):
            self.lapse(gate_id, ANOTHER_SOURCE)
            record.lapse, record.fewer_sources = ANOTHER_SOURCE, True
            return
        if tick == 1 and (record.ticks or record.fewer_sources):
            self._made_anew(gate_id)
        if tick == len(record.ticks) + 1:
            record.ticks += (entry,)
            if len(record.ticks) == len(gate.ticks):
                record.lapse = None
                self.begin_followers(gate_id, now)

    def _made_anew(self, gate_id: str) -> None:
        """The first line was confirmed although the gate had begun: when that was written, car.toml said otherwise,
        and the gate was shut."""
        self.lapse(gate_id, "confirmed again from its first line")
        self.records[gate_id].fewer_sources = False
        if gate_id in self.route.isolating:
            self.happen("power", ANOTHER_SOURCE)

    def read(self, gate_id: str, number: float, now: Instant, says: str = "") -> None:
        gate, record = self.route.gate(gate_id), self.records[gate_id]
        if not isinstance(gate, ReadingGate):
            return
        if gate.quantity == "voltage_v":
            number = abs(number)  # the probes may be the wrong way round
        record.reading, record.lapse = Reading(number, now, says), None
        if gate.quantity == "voltage_v":
            self._judge_leads(gate, record.reading, now)
        if number < LEAST_BELIEVED[gate.quantity]:
            return
        level = level_reached(gate, number)
        if level is not None:
            self._raise_alarm(record, level)
        elif record.alarm is not None:
            _clear_alarm(record, number, now, self.rate)

    def _judge_leads(self, gate: ReadingGate, reading: Reading, now: Instant) -> None:
        """Volts on leads that are off. In the first minutes, before anyone has proved them dead, they may bleed down:
        the wait counts from the reading that shows them dead. Afterwards a source is on them: power came back."""
        record, off = self.records[gate.id], [name for name in gate.follows if self._is_off(name)]
        if not off:
            return
        if reading.number < gate.below:
            if record.held:
                self.begin_waits_again("the leads were live until then", now, off)
                record.held, record.was_held = False, True
            record.bleeding = None
        elif record.bleeding is not None and age_min(record.bleeding, now) <= BLEED_MIN:
            record.held = True
            self.begin_waits_again("the leads still show volts", now, off)
        else:
            self.happen("power", f"{gate.title}: the meter showed {reading.says or f'{reading.number:g} V'}")

    def _is_off(self, gate_id: str) -> bool:
        """Whether every line has been confirmed of a gate that stands for power being off."""
        return self._is_whole(gate_id) and "power" in self.route.gate(gate_id).lapses

    def _is_whole(self, gate_id: str) -> bool:
        """Whether every line of a gate of statements has been confirmed."""
        gate = self.route.gate(gate_id)
        return isinstance(gate, TicksGate) and len(self.records[gate_id].ticks) == len(gate.ticks)

    def _raise_alarms(self) -> None:
        """Somebody feels the air, or smells it: whatever the meters showed, it counts as a reading."""
        for gate in self.route.air_gates:
            reached = level_reached(gate, SYMPTOM_PPM)
            if reached is not None:
                self._raise_alarm(self.records[gate.id], reached)

    def _raise_alarm(self, record: GateRecord, level: Level) -> None:
        if record.alarm is None or level.at > record.alarm.at:
            record.alarm = level
        record.clear_since = None
        if record.alarm.hold_min > 0:
            self._lapse_all("air-bad", f"the air counts as {record.alarm.at:,g} or more")

    def plan_ice(self, gate_id: str, ice: Ice) -> None:
        self.records[gate_id].ice, self.records[gate_id].lapse = ice, None

    def lay_ice(self, gate_id: str, laid: Laid, again: bool) -> None:
        """What the figure allows counts as laid; counted `again`, it takes the place of what counted before."""
        record = self.records[gate_id]
        if again:
            laid = laid._replace(instead_of=record.laid, for_good_kg=self.laid_for_good_kg(gate_id, laid.since))
        record.laid = (laid,) if again else (*record.laid, laid)

    def batches(self, gate_id: str, now: Instant) -> tuple[Batch, ...]:
        """All ice that counts as laid, as far as it has gone off by `now`."""
        laid = self.records[gate_id].laid
        return tuple(Batch(ice.kg, ice.over_min, self._ran_min(ice, now)) for ice in laid)

    def lying_kg(self, gate_id: str, now: Instant) -> float:
        """The ice whose minutes are not over."""
        return sum((batch.kg for batch in self.batches(gate_id, now) if batch.lies), 0.0)

    def laid_for_good_kg(self, gate_id: str, now: Instant) -> float:
        """The ice that a finished step stood on and whose minutes are not over, however it was counted since."""
        laid = self.records[gate_id].laid
        return sum((ice.for_good_kg for ice in laid if self._ran_min(ice, now) < ice.over_min), 0.0)

    def carbon_dioxide_ppm(self, now: Instant) -> float | None:
        """The highest reading of the air that is fresh and can be believed."""
        readings = ((gate, self.records[gate.id].reading) for gate in self.route.air_gates)
        fresh = [
            reading.number
            for gate, reading in readings
            if reading is not None and age_min(reading.at, now) <= (gate.fresh_min or 0.0)
        ]
        return max((ppm for ppm in fresh if ppm >= LEAST_BELIEVED["carbon_dioxide_ppm"]), default=None)

    def sign(self, gate_id: str, signature: Signature, now: Instant) -> None:
        self.records[gate_id].signed, self.records[gate_id].lapse = signature, None
        self.begin_followers(gate_id, now)

    def manual_wait(self, gate_id: str, minutes: float, now: Instant) -> None:
        """What the manual asks for. Where that is more than has run, what stood behind the wait was made too soon."""
        record = self.records[gate_id]
        record.manual_min = minutes
        gate = self.route.gate(gate_id)
        if isinstance(gate, WaitGate) and self.waited_min(gate_id, now) < wait_needed_min(gate, record):
            for follower in self.route.followers[gate_id]:
                self.lapse(follower, f"{gate.title}: the manual asks for more than had run")
        self._restart_unproven_waits(now)

    def present(self, count: int) -> None:
        """How many are here. Another number than before means that somebody came or went."""
        if self.here is not None and self.here != count:
            self.happen("people-changed", EVENTS["people-changed"])
        self.here = count
        for gate_id in self.known.asking_people:
            self.records[gate_id].people = count

    def begin_followers(self, gate_id: str, now: Instant) -> None:
        """A gate has come to stand: waits behind it begin, and what was made before it counts no more."""
        counted = self.left & {gate_id} & set(self.route.counting)
        self.seen_gone |= self.left & {gate_id}
        self.left -= {gate_id}
        if counted and not self.miscounted:
            for count in self.route.counts:
                self.begin_followers(count.id, now)
        for follower in self.route.followers[gate_id]:
            gate, record = self.route.gate(follower), self.records[follower]
            if isinstance(gate, WaitGate):
                self._begin_wait(record, now)
            elif isinstance(gate, ReadingGate):
                record.reading, record.bleeding = None, now
                record.held = record.was_held = False
            elif not isinstance(gate, PeopleGate):
                self.lapse(follower, f"made before {self.route.gate(gate_id).title} stood")


def level_reached(gate: ReadingGate, number: float) -> Level | None:
    """The highest level a reading has reached, at which something is to be done at once."""
    return max((level for level in gate.levels if number >= level.at), key=lambda level: level.at, default=None)


def wait_needed_min(gate: WaitGate, record: GateRecord) -> float:
    """The manual's figure governs; unknown counts as the long wait; nothing goes under the floor."""
    return max(gate.floor_min, gate.unknown_min if record.manual_min is None else record.manual_min)


def _clear_alarm(record: GateRecord, number: float, now: Instant, rate: float) -> None:
    """Work goes on only after the reading has been low enough, for long enough."""
    level = record.alarm
    if level is None or number >= level.back_below:
        record.clear_since = None
        return
    if record.clear_since is None or record.clear_since.boot != now.boot:
        record.clear_since = now
    if waited_min(record.clear_since, now, rate) >= level.hold_min:
        record.alarm, record.cleared, record.clear_since = None, level, None
