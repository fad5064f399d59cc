"""Walks over all packs that ship, for all sorts of cars and in any order: every step can be reached or says why not,
and none is ready while a gate of its hazards is shut.

The walks read hazards, needs and features from the packs themselves, not from the program's own idea of the route.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import cache
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car import entries
from teardown.car.clock import Instant
from teardown.car.facts import parse_facts
from teardown.car.gates import GateView
from teardown.car.log import Entry
from teardown.car.rules import rule
from teardown.car.ruling import Refusal
from teardown.car.state import State
from teardown.car.steps import Standing, StepView, look_around, milestones_ahead, view_step
from teardown.packs.reader import load
from teardown.packs.route import CarShape, KeepAnswer, RouteStep, lay_route, whole_reference
from teardown.packs.shipped import procedures
from tests.procedures.test_shipped_packs import END_OF_JOB, NOT_IN_THE_CAR, STRIP
from tests.walker import Walker
from tests.world.clock import HandClock

LIBRARY = load(procedures())
EVERYWHERE = {hazard.id for hazard in LIBRARY.hazards.values() if hazard.everywhere}
FACTS = parse_facts('name = "Test car"\n[room]\nplace = "outdoors"\nfan = "4000m3/h"\n')
MOMENT = HandClock().now()
ROUGH = {"dry-ice", "hot-work", "heat", "solvent", "drilling"}
HOLDING = {"ice-meter", "ice-gone", "airbag-store", "airbag-wait"}
"""The gates that may shut steps whose hazards do not bring them."""

NOT_ALONE = {"airbag", "dry-ice", "heavy-lift", "crush", "glass", "hot-work", "moving", "power-up"}
"""Not alone: live modules, ice, lifts for two, under the car, glass, hot work, moving it, starts (common practice)."""

FOR_NOW = sorted(part.id for part in LIBRARY.parts.values() if part.counts == "temporary")
SETTLED = {"done", "kept", "not-fitted"}


def answers(keep: bool) -> KeepAnswer:
    return KeepAnswer(keep, "4.2", "2026-01-31")


ANSWERED = st.fixed_dictionaries({rule: st.booleans().map(answers) for rule in LIBRARY.rules})
SOME_ANSWERED = st.dictionaries(st.sampled_from(sorted(LIBRARY.rules)), st.booleans().map(answers))


ORDERS = st.builds(Random, st.integers(0, 2**32))
"""Any order of work."""


def cars(rules: st.SearchStrategy[dict[str, KeepAnswer]]) -> st.SearchStrategy[CarShape]:
    """Cars of which the owner knows more or less."""
    return st.builds(
        CarShape,
        fitted=st.dictionaries(st.sampled_from(sorted(LIBRARY.features)), st.booleans()),
        driver_side=st.sampled_from(["left", "right"]),
        size_factor=st.sampled_from([0.65, 1.0, 1.4]),
        rules=rules,
    )


# -- gates that stand as the test says


def told(state: State, shut: Collection[str] = ()) -> Standing:
    """The state with every gate standing but those in `shut` and those that follow them."""
    gates: dict[str, GateView] = {}
    for gate_id in state.route.gate_order(tuple(LIBRARY.gates)):
        gate = LIBRARY.gates[gate_id]
        stands = gate_id not in shut and all(gates[before].stands for before in gate.follows)
        gates[gate_id] = GateView(gate, stands, "as the test says")
    return Standing(state, gates)


def gates_met(ref: str) -> set[str]:
    """Every gate that the hazards of a step, of its pack and of every step at the car bring, with all they follow."""
    return gates_of(hazards_met(ref))


def hazards_met(ref: str) -> set[str]:
    pack, step = LIBRARY.by_id[ref.partition(".")[0]], LIBRARY.step(ref)
    shared = set() if step.elsewhere else {*pack.hazards, *EVERYWHERE}
    return {*step.hazards, *(shared - step.mentions.keys())}


def gates_of(hazards: Collection[str]) -> set[str]:
    return {gate.id for hazard in hazards for gate in LIBRARY.gates_behind(LIBRARY.hazards[hazard].gates)}


def note(state: State, kind: str, **fields: Any) -> None:
    state.apply(Entry(state.entries + 1, MOMENT, "Ana", kind, fields, ""))


def wander(state: State, random: Random, choices: float = 0.0) -> None:
    """Do whatever can come, in any order, until nothing more can. Some steps are skipped or put off instead."""
    laid = list(state.route.steps)
    standing = told(state)
    moved = 1
    while moved:
        random.shuffle(laid)
        moved = sum(_take(state, standing, step, random, choices) for step in laid)


def _take(state: State, standing: Standing, laid: RouteStep, random: Random, choices: float) -> bool:
    if view_step(standing, laid).state != "ready":
        return False
    if random.random() < choices:
        note(state, random.choice(["step-skipped", "step-deferred"]), step=laid.ref, why="Ana does not want to")
    else:
        note(state, "step-done", step=laid.ref)
    return True


@settings(max_examples=40)
@given(car=cars(ANSWERED), random=ORDERS)
def test_every_step_of_every_car_comes_off_stays_by_rule_or_is_not_there(car: CarShape, random: Random) -> None:
    state = State(lay_route(LIBRARY, car), FACTS)
    wander(state, random)
    left = {view.ref: view.why for view in views(state) if view.state not in SETTLED}
    assert left == {}
    assert all(view.why for view in views(state) if view.state != "done")


@settings(max_examples=40)
@given(car=cars(SOME_ANSWERED), random=ORDERS)
def test_what_never_comes_waits_in_the_end_for_a_choice_or_an_answer(car: CarShape, random: Random) -> None:
    state = State(lay_route(LIBRARY, car), FACTS)
    wander(state, random, choices=0.1)
    for view in views(state):
        assert view.state == "done" or view.why, view.ref
        if view.state not in SETTLED:
            root = what_it_waits_for(state, view.ref)
            assert root == "Ana does not want to" or root.startswith("answer first: "), view.ref


@settings(max_examples=40)
@given(car=cars(ANSWERED), random=ORDERS)
def test_what_is_put_off_until_a_milestone_always_comes_back(car: CarShape, random: Random) -> None:
    """Whatever is put off, and until whichever milestone the rules accept: in the end nothing is left."""
    state = State(lay_route(LIBRARY, car), FACTS)
    waited = 0
    laid = list(state.route.steps)
    moved = 1
    while moved:
        random.shuffle(laid)
        moved = 0
        for step in laid:
            if view_step(told(state), step).state != "ready":
                continue
            moved += 1
            ahead = milestones_ahead(state, step) if random.random() < 0.2 else ()
            if ahead:
                waited += 1
                until = random.choice(ahead).id
                note(state, "step-deferred", step=step.ref, why="not before then", until=until)
            else:
                note(state, "step-done", step=step.ref)
    left = {view.ref: view.why for view in views(state) if view.state not in SETTLED}
    assert left == {}
    assert waited > 0


@settings(max_examples=40)
@given(
    car=cars(SOME_ANSWERED),
    random=ORDERS,
    shut=st.sets(st.sampled_from(sorted(LIBRARY.gates)), max_size=6),
)
def test_no_order_makes_a_step_ready_while_a_gate_of_its_hazards_is_shut(
    car: CarShape, random: Random, shut: set[str]
) -> None:
    state = State(lay_route(LIBRARY, car), FACTS)
    for laid in random.sample(state.route.steps, k=random.randint(0, len(state.route.steps))):
        note(state, random.choice(["step-done", "step-skipped", "step-deferred"]), step=laid.ref, why="any order")
    standing = told(state, shut)
    for view in views(state, standing):
        closed = {gate for gate in gates_met(view.ref) if not standing.gates[gate].stands}
        assert not (view.state == "ready" and closed), (view.ref, closed)
        if view.state == "shut":
            assert {gate.gate.id for gate in view.shut_by} == closed


WORDS = ("out", "in", "sell", "scrap", "controlled", "keep", "refit")


@settings(max_examples=30)
@given(car=cars(ANSWERED), said=st.lists(st.tuples(st.sampled_from(FOR_NOW), st.sampled_from(WORDS))))
def test_no_end_of_the_job_comes_while_a_part_is_neither_back_in_nor_posted_as_removed(
    car: CarShape, said: list[tuple[str, str]]
) -> None:
    state = State(lay_route(LIBRARY, car), FACTS)
    for ref in state.route.by_ref:
        note(state, "step-skipped" if ref in END_OF_JOB else "step-done", step=ref, why="not yet")
    fitted = {part for part in FOR_NOW if state.route.parts[part].fitted}
    out, removed = set(fitted), set[str]()
    for part, word in said:
        if word in ("out", "in"):
            note(state, "part-off" if word == "out" else "part-back", part=part)
            out = out | {part} & fitted if word == "out" else out - {part}
        else:
            note(state, "part-fate", part=part, fate=word)
            removed = removed - {part} if word in ("keep", "refit") else removed | {part}
    left = out - removed
    gates = {**told(state).gates, "all-back": look_around(state, MOMENT).gates["all-back"]}
    for ref in END_OF_JOB:
        ruling = rule(Standing(state, gates), entries.StepDone(step=ref))
        assert isinstance(ruling, Refusal) == bool(left), ref
        if isinstance(ruling, Refusal):
            assert ruling.gate == "all-back"
            assert any(LIBRARY.parts[part].name in ruling.why for part in left)


def test_power_that_came_back_shuts_the_strip_until_battery_and_wait_stand_again() -> None:
    """The tag-out is done and stays done; what it stood for does not."""
    bench = Bench(CarShape(fitted={"hybrid-or-48v": False}))
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    for laid in bench.folded.route.steps:
        if laid.ref == "boot.mats":
            break
        if walker.can_come(laid):
            walker.do_step(laid)
    mats = bench.folded.route.by_ref["boot.mats"]
    assert view_step(bench.now(), mats).state == "ready"
    walker.enter("power-restored", why="the boot lamp lit")
    assert bench.folded.mark("make-safe.tag-out") is not None
    refused = walker.refused(mats)
    assert (refused.gate, "power came back: the boot lamp lit" in refused.why) == ("battery", True)
    walker.open_gate("battery")
    assert walker.refused(mats).gate == "battery-dead"
    walker.open_gate("battery-dead")
    assert walker.refused(mats).why == "shut: Airbag wait: hands off the car until it is over"
    walker.open_gate("airbag-wait")
    assert view_step(bench.now(), mats).state == "ready"


# -- the isolation, taken back

ISOLATING = (
    *("powered-jobs.find-sources", "powered-jobs.latches", "make-safe.engine-cold", "make-safe.keys-away"),
    *("make-safe.feeds-off", "make-safe.boot-battery", "make-safe.main-battery", "make-safe.second-battery-leads"),
    *("make-safe.second-battery", "make-safe.prove-dead", "make-safe.tag-out", "make-safe.battery-out"),
)
"""Taken back, any of these may mean that a source is on again. What connects one again restarts the wait at 0, and so
does a missing tag (common practice)."""

AIRBAG_STEPS = [ref for ref, step in LIBRARY.steps.items() if "airbag" in step.hazards]


@cache
def isolated() -> tuple[Entry, ...]:
    """What is written until the whole wait has run, the battery is out and the airbag gates stand."""
    bench = Bench(CarShape(fitted={"hybrid-or-48v": False}))
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    for laid in bench.folded.route.steps:
        if walker.can_come(laid):
            walker.do_step(laid)
        if laid.ref == "seats.check-gates":
            break
    walker.enter("part-back", part="starter-battery")
    walker.open_gates(laid)
    walker.open_gates(bench.folded.route.by_ref["make-safe.battery-out"])
    walker.enter("part-off", part="starter-battery")
    walker.open_gates(laid)
    return tuple(bench.written)


def taken_back(bench: Bench, way: str) -> None:
    """One way of taking the isolation back."""
    if way == "battery back in":
        bench.enter("part-back", {"part": "starter-battery"}, "Ana")
    elif way == "undo: battery off":
        entry = next(e for e in reversed(bench.written) if e.kind == "part-off")
        bench.enter("undo", {"entry": entry.n}, "Ana")
    elif way.startswith("undo: "):
        done = (e for e in bench.written if e.kind == "step-done" and e.fields["step"] == way.removeprefix("undo: "))
        bench.enter("undo", {"entry": next(done).n}, "Ana")
    else:
        bench.enter("step-undone", {"step": way, "why": "it is on again"}, "Ana")


WAYS = ("battery back in", "undo: battery off", *ISOLATING, *(f"undo: {ref}" for ref in ISOLATING))


@pytest.mark.parametrize("way", WAYS)
@settings(max_examples=4, deadline=None)
@given(minutes=st.sampled_from([0, 1, 27]), ticked=st.booleans())
def test_whatever_undoes_the_isolation_keeps_hands_off_airbags_until_battery_and_wait_stand_again(
    way: str, minutes: int, ticked: bool
) -> None:
    bench = Bench(CarShape(fitted={"hybrid-or-48v": False}), isolated())
    assert bench.ready(AIRBAG_STEPS)
    taken_back(bench, way)
    gates = bench.now().gates
    assert not gates["battery"].stands
    assert gates["airbag-wait"].wait_left_s == 30 * 60
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    for gate in ("session", "battery-handling", "battery", "battery-dead") if ticked else ():
        walker.open_gate(gate)
    for _ in range(minutes):
        walker.minutes(1)
        walker.enter("note", text="here")
    for gate in ("battery-looked", "airbag-store", "airbag-handling"):
        walker.open_gate(gate)
    assert not bench.now().gates["airbag-wait"].stands
    assert bench.ready(AIRBAG_STEPS) == []
    walker.open_gates(bench.folded.route.by_ref["seats.check-gates"])
    assert bench.now().gates["airbag-wait"].why == "the whole wait of 30 min has run"


def test_no_other_step_taken_back_restarts_the_wait() -> None:
    """A seat or a carpet that goes back does not."""
    undone = {laid.ref for laid in lay_route(LIBRARY, CarShape()).steps if "power" in laid.undone_causes}
    elsewhere = {"plan.high-voltage", "hand-over.welding-electrics", "fitting.small-battery"}
    assert undone == {*ISOLATING, *elsewhere}


def test_what_was_gone_already_is_skipped_and_keeps_nothing_waiting() -> None:
    """A gate that only the pack brings watches over the following step as well; one of its own is not skipped round."""
    state = State(lay_route(LIBRARY, CarShape()), FACTS)
    for ref in ("plan.high-voltage", "make-safe.tag-out", "make-safe.recall-check", "make-safe.airbag-store"):
        note(state, "step-done", step=ref)
    note(state, "step-done", step="seats.check-gates")
    note(state, "step-skipped", step="seats.rear-cushion", why="it was gone already")
    assert view_step(told(state), state.route.by_ref["seats.rear-backrest"]).state == "ready"
    assert view_step(told(state, {"airbag-wait"}), state.route.by_ref["seats.rear-backrest"]).state == "shut"
    note(state, "step-skipped", step="seats.rear-backrest", why="it was gone already")
    assert view_step(told(state), state.route.by_ref["seats.rear-fittings"]).why == "needs: Rear backrest out (skipped)"


def test_no_skipping_and_nothing_that_is_missing_leads_into_the_car_before_it_is_tagged_out() -> None:
    """Every other step is skipped, and the car has nothing but what the step itself is about."""
    in_the_car = [ref for ref in LIBRARY.steps if ref.partition(".")[0] in STRIP and ref not in NOT_IN_THE_CAR]
    power_on = {"battery", "airbag-wait", "live-count", "live-listed"}
    early = []
    for ref in in_the_car:
        has = LIBRARY.by_id[ref.partition(".")[0]].has + LIBRARY.step(ref).has
        car = CarShape(
            fitted={name: name in has for name in LIBRARY.features}, rules={r: answers(False) for r in LIBRARY.rules}
        )
        state = State(lay_route(LIBRARY, car), FACTS)
        for other in LIBRARY.steps.keys() - {ref}:
            note(state, "step-skipped", step=other, why="all of them")
        if view_step(told(state, power_on), state.route.by_ref[ref]).state == "ready":
            early.append(ref)
    assert early == []


# -- real gates, opened as a mechanic opens them


class Bench:
    """A car without a folder: the rules judge and the state folds, but nothing is written."""

    def __init__(self, car: CarShape, written: tuple[Entry, ...] = ()) -> None:
        self.folded = State(lay_route(LIBRARY, car), FACTS)
        self.clock = HandClock()
        self.written = list(written)
        for entry in written:
            self.folded.apply(entry)
        if written:
            self.clock.advance(written[-1].at.seconds - self.clock.seconds)

    def ready(self, refs: Collection[str]) -> list[str]:
        """Those of the steps that could be done now."""
        now, steps = self.now(), self.folded.route.by_ref
        return [ref for ref in refs if view_step(now, steps[ref]).state == "ready"]

    def now(self) -> Standing:
        return look_around(self.folded, self.clock.now())

    def enter(self, kind: str, words: dict[str, Any], who: str) -> Entry | Refusal:
        ruling = rule(self.now(), entries.read_fields(kind, words))
        if isinstance(ruling, Refusal):
            return ruling
        at: Instant = self.clock.now()
        entry = Entry(self.folded.entries + 1, at, who, kind, ruling, "")
        self.folded.apply(entry)
        self.written.append(entry)
        return entry


@pytest.mark.parametrize(
    ("seed", "car"),
    [
        (1, CarShape(rules={rule: answers(False) for rule in LIBRARY.rules})),
        (
            2,
            CarShape(
                fitted=dict.fromkeys(LIBRARY.features, False),
                driver_side="right",
                rules={r: answers(True) for r in LIBRARY.rules},
            ),
        ),
    ],
    ids=["everything fitted, nothing stays", "nothing fitted, everything stays"],
)
def test_a_whole_car_is_walked_in_any_order_and_no_hazard_is_met_before_its_gates(seed: int, car: CarShape) -> None:
    random, bench = Random(seed), Bench(car)
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    left = list(bench.folded.route.steps)
    while left:
        now = bench.now()
        coming = [laid for laid in left if view_step(now, laid).state in ("ready", "shut")]
        assert coming, [(laid.ref, view_step(now, laid).why) for laid in left]
        laid = random.choice(coming)
        _is_refused_while_shut(walker, bench, laid)
        walker.open_gates(laid)
        _check_hazards(bench, laid)
        walker.do_step(laid)
        now = bench.now()
        left = [laid for laid in left if view_step(now, laid).state not in SETTLED]
    assert bench.folded.modules_unaccounted(allows_fitted=False) == ()


def _is_refused_while_shut(walker: Walker, bench: Bench, laid: RouteStep) -> None:
    gates = bench.now().gates
    if any(not gates[gate].stands for gate in gates_met(laid.ref)):
        assert walker.refused(laid).gate in gates_met(laid.ref) | HOLDING, laid.ref


def _check_hazards(bench: Bench, laid: RouteStep) -> None:
    """Its own gates stand; nobody is alone where the trade says not, and nobody works beside ice that lies."""
    now = bench.now()
    assert all(now.gates[gate].stands for gate in gates_met(laid.ref)), laid.ref
    if ROUGH & set(laid.step.hazards):
        assert now.state.modules_unaccounted(allows_fitted=False) == (), laid.ref
    if NOT_ALONE & set(laid.step.hazards) or laid.step.people > 1:
        assert now.state.gates.here == 2, laid.ref
    if laid.step.elsewhere is None and "dry-ice" not in laid.step.hazards:
        assert not now.state.gates.left, laid.ref


# -- helpers


def views(state: State, standing: Standing | None = None) -> Iterator[StepView]:
    seen = standing or told(state)
    return (view_step(seen, laid) for laid in state.route.steps)


def what_it_waits_for(state: State, ref: str) -> str:
    """What a step that never came waits for in the end: somebody's choice, or an answer nobody has given."""
    laid, mark = state.route.by_ref[ref], state.mark(ref)
    if mark is not None:
        return mark.why
    if laid.unanswered:
        return laid.unanswered
    before = next(_open_before(state, ref), None)
    assert before is not None, f"{ref} waits for nothing"
    return what_it_waits_for(state, before)


def _open_before(state: State, ref: str) -> Iterator[str]:
    """Steps that must be over before `ref` and are not, by the packs' own words."""
    pack, step = LIBRARY.by_id[ref.partition(".")[0]], LIBRARY.step(ref)
    if step.defer_until and _status(state, LIBRARY.milestones[step.defer_until].step) != "done":
        yield LIBRARY.milestones[step.defer_until].step
    for need in (whole_reference(pack, name) for name in step.needs):
        watched = any(LIBRARY.hazards[hazard].gates for hazard in LIBRARY.step(need).hazards)
        over = {"done", "not-fitted"} if watched else {"done", "not-fitted", "skipped"}
        if _status(state, need) not in over:
            yield need
    for earlier in (whole_reference(pack, name) for name in step.after):
        if _status(state, earlier) == "open":
            yield earlier


def _status(state: State, ref: str) -> str:
    laid, mark = state.route.by_ref[ref], state.mark(ref)
    if mark is not None:
        return mark.status
    if laid.not_fitted:
        return "not-fitted"
    return "kept" if laid.kept else "open"
