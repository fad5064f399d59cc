"""The fold asks of an entry only what its kind can reach. Here it is held against one that asks for all each time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.changes import KINDS, MODULE_BACK
from teardown.car.clock import Instant, pause_between, pause_in_words
from teardown.car.facts import Facts
from teardown.car.gatebook import BREAK_MIN, EVENTS, GateBook
from teardown.car.live_things import is_live_thing
from teardown.car.log import Entry
from teardown.car.modules import STILL_FITTED, Unaccounted
from teardown.car.state import State
from teardown.packs.model import CountGate, TicksGate
from teardown.packs.route import Route, RouteStep
from tests.world import FACTS, HandClock, World, facts, route

WORLDS = [
    (route(text), facts(text))
    for text in (FACTS, FACTS.replace("hybrid = false", ""), FACTS.replace("hybrid = false", "knee-bag = false"))
]
STEPS = ("safe.isolate", "safe.mats", "cabin.bag-out", "cabin.knee-out", "cabin.seat-out", "gone.gone")
PARTS = ("driver-bag", "knee-bag", "driver-seat", "gone")
MODULES = ("driver-bag", "knee-bag", "gone")
GATES = WORLDS[0][0].library.gates

Said = tuple[str, dict[str, Any]]


class PlainBook(GateBook):
    """The same gates; every clock is looked at, and every gate in its place."""

    def pass_time(self, now: Instant) -> None:
        last, self.last = self.last, now
        if last is None:
            self.day = now.day
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
            self.happen("break", pause_in_words(pause))
            self.questions = pause_in_words(pause)

    def lapse(self, gate_id: str, why: str) -> None:
        record = self.records[gate_id]
        if not record.begun and not isinstance(self.route.gate(gate_id), CountGate):
            return
        if record.begun:
            record.forget(why)
        for gate in self.route.library.gates.values():
            if gate_id in gate.follows:
                self.lapse(gate.id, why)

    def finish_step(self, step: RouteStep, title: str) -> None:
        for gate_id in self.route.gate_order(step.gates):
            if self.route.gate(gate_id).each_step:
                self.lapse(gate_id, f"used by: {title}")
        for gate_id in step.until:
            self.lapse(gate_id, f"since then: {title}")
            self.records[gate_id].lapse = f"since then: {title}"
        self.left = self.left.union(step.until)


class PlainState(State):
    """The same changes; every live module is counted before and after every entry, whatever its kind."""

    def __init__(self, laid: Route, told: Facts) -> None:
        super().__init__(laid, told)
        self.gates = PlainBook(laid)

    def apply(self, entry: Entry) -> None:
        self.gates.pass_time(entry.at)
        self.gates.written_by(entry.who)
        before = self.counted()
        KINDS[entry.kind].change(self, entry.n, entry.at, entry.fields)
        after = self.counted()
        if {name for name in after.in_the_car - before.in_the_car if name in MODULES or not self.is_out(name)}:
            self.gates.happen("module-moved", MODULE_BACK)
        for gate in self.route.counts:
            was, now = before.by(gate), after.by(gate)
            if now - was:
                self.gates.lapse(gate.id, MODULE_BACK)
            elif was and not now:
                self.gates.begin_followers(gate.id, entry.at)
        self.entries = entry.n

    def counted(self) -> Unaccounted:
        accounts = {module.id: self.module_account(module.id) for module in self.route.modules}
        things = [thing for series in (self.found, self.fitted) for thing in series if is_live_thing(self, thing)]
        lie_about = {thing.id for thing in things if self.stored_at(thing.id) is None}
        unknown = frozenset(module for module, account in accounts.items() if account is None) | lie_about
        named = frozenset(module for module, account in accounts.items() if (account or "").startswith(STILL_FITTED))
        inside = unknown | (named - self.route.outside)
        return Unaccounted(in_the_car=unknown | named, inside=inside, unknown=unknown)


class TrickedClock(HandClock):
    """A clock of which each single reading can be argued with, while the others say that no time has passed."""

    TRICKS = ("restart", "seconds lost", "wall held", "set back", "set on", "over the date line")
    day: str | None = None

    def now(self) -> Instant:
        now = super().now()
        return now if self.day is None else now._replace(day=self.day)

    def play(self, trick: str, pause_s: float) -> None:
        if trick == "restart":
            self.boots += 1
        elif trick == "seconds lost":
            self.seconds -= pause_s + 30
        elif trick == "wall held":
            self.set_wall(-pause_s)
        elif trick == "over the date line":
            self.day = "2026-05-30" if self.day is None else None
        elif trick:
            self.set_wall(-3600 if trick == "set back" else 3600)


def ticks(gate_id: str) -> list[Said]:
    gate = GATES[gate_id]
    says = gate.ticks if isinstance(gate, TicksGate) else ()
    return [("gate-tick", {"gate": gate_id, "tick": n, "says": said}) for n, said in enumerate(says, start=1)]


UNDO = st.integers(1, 12).map(lambda back: [("undo", {"back": back})])


def one_of(kind: str, **fields: Any) -> st.SearchStrategy[list[Said]]:
    drawn = {name: st.sampled_from(values) if isinstance(values, tuple) else values for name, values in fields.items()}
    return st.fixed_dictionaries(drawn).map(lambda made: [(kind, made)])


WHY = st.just("why")
THINGS = ("found-7", "fitted-8", "fitted-9")
"""Behind the entries that take the modules out come those of what no pack foresaw."""
ANSWERS = ("no", "yes")
AT_GATES = st.one_of(
    st.sampled_from([gate.id for gate in GATES.values() if isinstance(gate, TicksGate)]).map(ticks),
    st.sampled_from([said for gate in GATES for said in ticks(gate)]).map(lambda said: [said]),
    one_of("gate-reading", gate=("battery-dead", "ice-meter"), number=(0.1, 400, 6000, 20000)),
    one_of("gate-figure", gate=("ice-room",), ice_kg=(2,), over_min=(60,)),
    one_of("gate-signed", gate=("high-voltage",), by=WHY, paper=WHY),
    one_of("manual-wait", gate=("airbag-wait",), wait_min=(12, 60)),
    one_of("people-here", count=(1, 2)),
    one_of("resumed", power=ANSWERS, doors=ANSWERS, people=ANSWERS),
    one_of("happened", what=("power", "doors-shut", "module-moved"), why=WHY),
    one_of("step-done", step=("safe.isolate", "cabin.seat-out")),
    one_of("part-off", part=("driver-seat",)),
    UNDO,
)
OF_MODULES = st.one_of(
    *(one_of("step-done", step=STEPS), one_of("part-stored", part=PARTS, where=("store", "locker"))) * 2,
    one_of("step-undone", step=STEPS, why=WHY),
    one_of("step-skipped", step=STEPS, why=WHY),
    one_of("step-deferred", step=STEPS, why=WHY),
    one_of("part-off", part=PARTS),
    one_of("part-back", part=PARTS),
    one_of("part-fate", part=PARTS, fate=("sell",)),
    one_of("handed-over", part=PARTS, to=("yard",)),
    one_of("still-fitted", module=MODULES, why=WHY),
    one_of("not-there", module=MODULES, why=WHY),
    one_of("part-off", part=THINGS),
    one_of("part-back", part=THINGS),
    one_of("part-stored", part=THINGS, where=("store",)),
    one_of("part-fate", part=THINGS, fate=("controlled", "keep")),
    one_of("not-there", module=THINGS, why=WHY),
    st.just(ticks("ice-place")),
    UNDO,
)
PAUSES_S = st.sampled_from((0, 4, 59, 61, 400, 700, 1900, 9 * 3600))
TRICKS = st.sampled_from(("", "", "", "", *TrickedClock.TRICKS))
TIMES = st.tuples(PAUSES_S, TRICKS)
NO_TIME = st.just((0, ""))
READY = [said for gate in GATES for said in ticks(gate)]
OUT = [
    *(("step-done", {"step": step}) for step in ("cabin.bag-out", "cabin.knee-out")),
    *(("part-stored", {"part": part, "where": "store"}) for part in ("driver-bag", "knee-bag")),
    *ticks("ice-place"),
]
FORESEEN_BY_NO_PACK = [
    ("part-found", {"name": "Knee airbag", "reading": "1kg", "mass_kg": 1.0}),
    ("part-fitted", {"name": "Airbag", "reading": "1kg", "mass_kg": 1.0}),
    ("part-fitted", {"name": "Box", "reading": "1kg", "mass_kg": 1.0}),
]


def entries(history: list[tuple[tuple[float, str], list[Said]]]) -> Iterator[Entry]:
    clock, n = TrickedClock(), 0
    for (pause_s, trick), said in history:
        clock.advance(pause_s)
        clock.play(trick, pause_s)
        for kind, fields in said:
            n += 1
            made = {"entry": max(n - fields["back"], 1)} if kind == "undo" else fields
            yield Entry(n, clock.now(), "Ana", kind, made, "")
            clock.advance(2)


def both_agree(world: int, history: list[Any]) -> None:
    quick, plain = State(*WORLDS[world]), PlainState(*WORLDS[world])
    for entry in entries(history):
        quick.apply(entry)
        plain.apply(entry)
        assert quick.gates.records == plain.gates.records, entry
        assert (quick.gates.questions, quick.gates.here) == (plain.gates.questions, plain.gates.here), entry
        assert quick._modules.unaccounted == plain.counted(), entry


WORLD = st.sampled_from(range(len(WORLDS)))


@settings(max_examples=300)
@given(world=WORLD, history=st.lists(st.tuples(NO_TIME, OF_MODULES), min_size=5, max_size=25))
def test_counting_only_the_modules_an_entry_tells_of_is_counting_them_all(world: int, history: list[Any]) -> None:
    both_agree(world, [((0, ""), OUT), ((0, ""), FORESEEN_BY_NO_PACK), *history])


@settings(max_examples=300)
@given(world=WORLD, history=st.lists(st.tuples(TIMES, AT_GATES), min_size=5, max_size=25))
def test_a_gate_lapses_in_the_quick_fold_when_it_lapses_in_the_plain_one(world: int, history: list[Any]) -> None:
    both_agree(world, [((0, ""), READY), *history])


@pytest.mark.parametrize("kind", ["step-skipped", "step-deferred"])
def test_putting_off_a_step_that_took_a_module_out_counts_as_the_module_being_back(
    tmp_path_factory: pytest.TempPathFactory, kind: str
) -> None:
    """No rule allows it to be written; a stranger's log may say it."""
    world = World(tmp_path_factory.mktemp("car") / "car")
    world.modules_out()
    world.tick_all("ice-place")
    state = world.car.folded
    state.apply(Entry(state.entries + 1, world.clock.now(), "Ana", kind, {"step": "cabin.bag-out", "why": "later"}, ""))
    assert state.modules_unaccounted(allows_fitted=False) == ("Driver airbag",)
    assert state.gates["ice-place"].lapse == MODULE_BACK
