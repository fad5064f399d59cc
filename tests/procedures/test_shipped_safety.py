"""The packs that ship, whatever is skipped or put off and in whatever order: nobody comes into harm's way past the gate
that stands before it. Every gate not under test stands; those under test are the program's own.
"""

from __future__ import annotations

from collections.abc import Iterable
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car import entries
from teardown.car.rules import rule
from teardown.car.ruling import Refusal
from teardown.car.state import State
from teardown.car.steps import Standing, look_around, view_step
from teardown.packs.model import PeopleGate, StopGate, TicksGate
from teardown.packs.route import CarShape, RouteStep, lay_route
from tests.procedures.test_shipped_walks import (
    ANSWERED,
    FACTS,
    LIBRARY,
    MOMENT,
    NOT_ALONE,
    ORDERS,
    Bench,
    answers,
    cars,
    hazards_met,
    note,
    told,
)
from tests.walker import Walker

NO_RULE_KEEPS = {name: answers(False) for name in LIBRARY.rules}
LIGHTLY = {"hybrid-or-48v": False}
HIGH_VOLTAGE = LIBRARY.gates["high-voltage"]
ICE_METER = LIBRARY.gates["ice-meter"]
AT_THE_CAR = [ref for ref, step in LIBRARY.steps.items() if step.elsewhere is None]
ON_PAPER = {
    *("plan.keep-list", "plan.builder-list", "plan.papers", "plan.lay-out-bay", "plan.tools-ready"),
    *("plan.people-and-fire", "plan.label-system", "plan.prove-part-scale"),
}
"""The planning that a car nobody has signed for allows: lists, tools, the bay."""


def with_real(state: State, *gates: str) -> Standing:
    """Every gate stands, but these stand as the program says."""
    real = look_around(state, MOMENT).gates
    return Standing(state, {**told(state).gates, **{gate: real[gate] for gate in gates}})


def put_off_or_do(state: State, standing: Standing, random: Random) -> None:
    """Steps are done where they can be, skipped or put off where they cannot, again and again, in any order."""
    for _ in range(3):
        for laid in random.sample(state.route.steps, k=len(state.route.steps)):
            if not isinstance(rule(standing, entries.StepDone(step=laid.ref, refitted=True)), Refusal):
                note(state, "step-done", step=laid.ref)
            elif state.mark(laid.ref) is None and random.random() < 0.5:
                note(state, random.choice(["step-skipped", "step-deferred"]), step=laid.ref, why="not now")


def done(state: State) -> set[str]:
    return {ref for ref in state.route.by_ref if state.is_done(ref)}


def tick(state: State, gate_id: str) -> None:
    """Every line of a gate is confirmed."""
    gate = LIBRARY.gates[gate_id]
    assert isinstance(gate, TicksGate)
    for n, says in enumerate(gate.ticks, start=1):
        note(state, "gate-tick", gate=gate_id, tick=n, says=says, sources=sorted(state.route.sources))


def some_marks(state: State, random: Random) -> None:
    """Whatever may have been said of steps before."""
    for laid in random.sample(state.route.steps, k=random.randint(0, len(state.route.steps))):
        note(state, random.choice(["step-done", "step-skipped", "step-deferred"]), step=laid.ref, why="any order")


def refusals(standing: Standing, refs: Iterable[str]) -> dict[str, Refusal | None]:
    """What the rules say to doing each step that is not done yet."""
    rulings = {
        ref: rule(standing, entries.StepDone(step=ref, refitted=True))
        for ref in refs
        if ref not in done(standing.state)
    }
    return {ref: ruling if isinstance(ruling, Refusal) else None for ref, ruling in rulings.items()}


# -- high voltage: the packs refuse from the first step


@settings(max_examples=25)
@given(car=cars(ANSWERED), known=st.sampled_from([True, None]), random=ORDERS)
def test_nothing_beyond_the_planning_is_done_on_a_car_nobody_licensed_has_signed_for(
    car: CarShape, known: bool | None, random: Random
) -> None:
    """A hybrid, or a car of which nobody knows, whatever is skipped or put off (trade: default, stop and refuse)."""
    fitted = {name: answer for name, answer in car.fitted.items() if name != "hybrid-or-48v"}
    state = State(
        lay_route(LIBRARY, car._replace(fitted=fitted | ({} if known is None else {"hybrid-or-48v": known}))), FACTS
    )
    put_off_or_do(state, told(state, {"high-voltage"}), random)
    assert done(state) <= ON_PAPER


@pytest.mark.parametrize("fitted", [{}, {"hybrid-or-48v": True}], ids=["unknown", "hybrid"])
def test_the_refusal_says_what_to_look_for_and_whom_to_call(fitted: dict[str, bool]) -> None:
    """By its own gates, with every other one opened as a mechanic would."""
    assert isinstance(HIGH_VOLTAGE, StopGate)
    bench = Bench(CarShape(fitted=fitted, rules=NO_RULE_KEEPS))
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    for laid in bench.folded.route.steps:
        state = view_step(bench.now(), laid).state
        if state == "shut" and laid.ref not in ON_PAPER:
            refused = walker.refused(laid)
            assert refused.gate == "high-voltage", laid.ref
            assert f"STOP. {HIGH_VOLTAGE.look_for} {HIGH_VOLTAGE.call}" in refused.why
        elif state in ("ready", "shut"):
            walker.do_step(laid)
        if bench.folded.mark(laid.ref) is None:
            walker.enter("step-skipped", step=laid.ref, why="not now")
    assert done(bench.folded) == ON_PAPER


def test_every_step_at_the_car_meets_high_voltage_and_every_other_comes_after_one_that_does() -> None:
    """A signature is for one day: what is done elsewhere does not ask for it again. No skipping meets these needs."""
    assert {ref for ref in AT_THE_CAR if "high-voltage" not in hazards_met(ref)} == {"deadening.leftover-ice"}
    route = lay_route(LIBRARY, CarShape())
    for ref in LIBRARY.steps.keys() - ON_PAPER:
        if "high-voltage" not in hazards_met(ref):
            needed = [need for need in route.by_ref[ref].needs if route.by_ref[need].watched]
            assert any("high-voltage" in hazards_met(need) for need in needed), ref


# -- bad air and ice


def iced(random: Random) -> State:
    """A car with anything done, and ice laid in it."""
    state = State(lay_route(LIBRARY, CarShape(rules=NO_RULE_KEEPS, fitted=LIGHTLY)), FACTS)
    some_marks(state, random)
    note(state, "step-done", step="deadening.lay-ice")
    return state


@settings(max_examples=30)
@given(random=ORDERS, ppm=st.sampled_from([5000, 9000, 15000, 29999, 30000, 80000]))
def test_no_step_is_done_and_no_part_comes_off_while_the_air_is_bad(random: Random, ppm: int) -> None:
    """Whatever has been done, and though every other gate stands."""
    state = iced(random)
    note(state, "gate-reading", gate="ice-meter", number=ppm)
    note(state, "gate-reading", gate="ice-meter", number=2000)
    standing = with_real(state, "ice-meter")
    level = max((level for level in ICE_METER.levels if level.at <= ppm), key=lambda level: level.at)  # type: ignore[union-attr]
    for ref, refused in refusals(standing, state.route.by_ref).items():
        assert refused is not None, ref
        if refused.why.startswith("shut:"):
            assert (refused.gate, level.do in refused.why) == ("ice-meter", True), ref
    for part in state.route.parts:
        assert isinstance(rule(standing, entries.PartOff(part=part)), Refusal), part


@settings(max_examples=30)
@given(random=ORDERS)
def test_beside_ice_in_the_car_only_what_is_about_the_ice_is_done(random: Random) -> None:
    state = iced(random)
    for ref, refused in refusals(with_real(state, "ice-gone"), AT_THE_CAR).items():
        if "dry-ice" not in hazards_met(ref):
            assert refused is not None, ref
            assert not refused.why.startswith("shut:") or refused.gate == "ice-gone", ref
    tick(state, "ice-gone")
    assert look_around(state, MOMENT).gates["ice-gone"].stands
    assert not state.gates.left


def test_ice_is_laid_carried_and_left_only_behind_every_ice_gate() -> None:
    """What lays ice leaves it in the car until it has been seen gone; nothing of it is done past its own gates."""
    assert LIBRARY.hazards["dry-ice"].until == "ice-gone"
    for step in ("open-everything", "lay-ice", "crack-and-lift", "tunnel-and-arches", "leftover-ice"):
        assert "dry-ice" in hazards_met(f"deadening.{step}"), step


# -- nobody alone


def alone(random: Random) -> Standing:
    """Anything done, one person here, and every gate standing that does not ask who is here."""
    state = State(lay_route(LIBRARY, CarShape(rules=NO_RULE_KEEPS)), FACTS)
    some_marks(state, random)
    note(state, "people-here", count=1)
    return with_real(state, *(gate.id for gate in LIBRARY.gates.values() if isinstance(gate, PeopleGate)))


@settings(max_examples=30)
@given(random=ORDERS)
def test_one_who_is_alone_does_nothing_that_is_never_done_alone(random: Random) -> None:
    """Not alone (trade): live modules, ice, lifts for two, under the car, glass, hot work, moving it, trial starts."""
    standing = alone(random)
    for ref, refused in refusals(standing, LIBRARY.steps).items():
        if NOT_ALONE & hazards_met(ref) or LIBRARY.step(ref).people > 1:
            assert refused is not None, ref


@pytest.mark.parametrize(
    "ref",
    [
        *("early-airbags.driver-bag-out", "headliner.curtains-out", "doors.front-glass", "wiring.first-start"),
        *("hand-over.rolls-and-stops", "hand-over.load", "power-up.first-start", "outside.arch-liners"),
        *(
            "hand-over.bare-patches",
            "baseline.acceleration-runs",
            "glass.windscreen-out",
            "closing.heights-and-alignment",
        ),
    ],
)
def test_who_is_alone_is_told_how_many_are_needed(ref: str) -> None:
    state = State(lay_route(LIBRARY, CarShape(rules=NO_RULE_KEEPS)), FACTS)
    for other in state.route.by_ref.keys() - {ref}:
        note(state, "step-done", step=other)
    tick(state, "session")
    note(state, "people-here", count=1)
    refused = refusals(with_real(state, "second-person"), [ref])[ref]
    assert refused is not None
    assert refused.why == "shut: Second person: 2 people are needed; you said 1"
    note(state, "people-here", count=2)
    tick(state, "session")
    assert refusals(with_real(state, "second-person"), [ref])[ref] is None


def test_who_is_here_is_asked_once_until_somebody_comes_or_goes() -> None:
    """The walk stays bearable: one answer opens every gate of two."""
    bench = Bench(CarShape(fitted=dict.fromkeys(LIBRARY.features, False), rules=NO_RULE_KEEPS))
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    asked: list[str] = []
    walker._count_people = lambda view: (asked.append(view.gate.id), walker.enter("people-here", count=2))  # type: ignore[assignment, method-assign]
    for laid in bench.folded.route.steps[:60]:
        if walker.can_come(laid):
            walker.do_step(laid)
    assert asked == ["second-person"]


# -- refrigerant, battery, live modules


def test_a_guess_that_the_air_conditioning_is_empty_is_no_receipt() -> None:
    """Only a car without any has nothing to recover (trade: no pipe opened without the recovery receipt)."""
    assert LIBRARY.gates["refrigerant"].has == ("air-conditioning",)
    guessed = Bench(CarShape(fitted=LIGHTLY | {"air-conditioning-charged": False}, rules=NO_RULE_KEEPS))
    walker = Walker(guessed, guessed.clock)  # type: ignore[arg-type]
    for ref in ("powered-jobs.refrigerant-out", "heater-box.refrigerant-proof", "heater-box.pipes-off"):
        laid = guessed.folded.route.by_ref[ref]
        assert laid.not_fitted is None
        assert [gate.gate.id for gate in _shut_by(guessed, laid)][:1] == ["refrigerant"], ref
    assert not guessed.folded.route.parts["refrigerant-charge"].fitted
    for laid in guessed.folded.route.steps:
        if laid.ref == "powered-jobs.refrigerant-out":
            assert "Drive the car to a certified air-conditioning shop." in walker.refused(laid).why
            break
        if walker.can_come(laid):
            walker.do_step(laid)
    none = Bench(CarShape(fitted=LIGHTLY | {"air-conditioning": False}))
    assert none.now().gates["refrigerant"].stands


def _shut_by(bench: Bench, laid: RouteStep) -> tuple:  # type: ignore[type-arg]
    state = bench.folded
    finished = State(state.route, FACTS)
    for ref in state.route.by_ref.keys() - {laid.ref}:
        note(finished, "step-done", step=ref)
    return view_step(with_real(finished, "refrigerant"), finished.route.by_ref[laid.ref]).shut_by


def test_the_battery_is_lifted_out_only_once_the_wait_has_run() -> None:
    """Nobody at the car until the wait is over; power that came back begins it again."""
    bench = Bench(CarShape(fitted=LIGHTLY))
    walker = Walker(bench, bench.clock)  # type: ignore[arg-type]
    battery_out = bench.folded.route.by_ref["make-safe.battery-out"]
    for laid in bench.folded.route.steps:
        if laid.ref == "make-safe.tag-out":
            break
        if walker.can_come(laid):
            walker.do_step(laid)
    assert walker.refused(battery_out).why == "needs: Tag out: the wait has run"
    walker.do_step(bench.folded.route.by_ref["make-safe.tag-out"])
    walker.enter("power-restored", why="a charger was put on")
    walker.refused(battery_out)
    assert "battery" in {view.gate.id for view in view_step(bench.now(), battery_out).shut_by}
    walker.open_gate("battery")
    walker.refused(battery_out)
    shut = {view.gate.id: view.why for view in view_step(bench.now(), battery_out).shut_by}
    assert shut["airbag-wait"] == "hands off the car until it is over"
    walker.do_step(battery_out)
    assert bench.now().gates["airbag-wait"].stands


@settings(max_examples=30)
@given(random=ORDERS)
def test_while_the_wait_runs_nobody_is_at_a_car_with_a_live_module(random: Random) -> None:
    """But for the battery itself: taking it off and proving it dead is what the wait counts from."""
    state = State(lay_route(LIBRARY, CarShape(rules=NO_RULE_KEEPS, fitted=LIGHTLY)), FACTS)
    some_marks(state, random)
    tick(state, "battery")
    for ref, refused in refusals(with_real(state, "airbag-wait"), AT_THE_CAR).items():
        if "battery" not in {gate for hazard in hazards_met(ref) for gate in LIBRARY.hazards[hazard].gates}:
            assert refused is not None, ref
            assert not refused.why.startswith("shut:") or refused.gate == "airbag-wait", ref


DRILLED = ("doors.speakers", "doors.regulators", "doors.rear-glass")


@pytest.mark.parametrize("ref", DRILLED)
def test_nobody_drills_in_a_door_that_may_hold_its_airbag(ref: str) -> None:
    state = State(lay_route(LIBRARY, CarShape(rules=NO_RULE_KEEPS)), FACTS)
    for other in state.route.by_ref.keys() - {ref}:
        note(state, "step-done", step=other)
    for module in state.route.modules:
        if not module.id.startswith("door-airbag"):
            note(state, "not-there", module=module.id, why="looked")
    refused = refusals(with_real(state, "live-count"), [ref])[ref]
    assert refused is not None
    assert refused.gate == "live-count"
    assert "not accounted for: Door airbag, driver's door, Door airbag, passenger's door" in refused.why
    note(state, "part-stored", part="door-airbags", where="store")
    assert refusals(with_real(state, "live-count"), [ref])[ref] is None


# -- modules that stay on the car


def with_modules(named: Iterable[str], **fitted: bool) -> State:
    """Every live module is looked for and not there, but these, which stay plugged and named."""
    state = State(lay_route(LIBRARY, CarShape(fitted=LIGHTLY | fitted)), FACTS)
    for module in state.route.modules:
        kind = "still-fitted" if module.id in named else "not-there"
        note(state, kind, module=module.id, why="looked")
    return state


LIFTERS = ("bonnet-lifter-driver", "bonnet-lifter-passenger")


def test_bonnet_lifters_that_stay_by_name_shut_the_sparks_but_not_ice_and_heat() -> None:
    """Their card says so; 1 m clear of them is a line of the gates for ice and for heat (common practice)."""
    gates = look_around(with_modules(LIFTERS), MOMENT).gates
    assert gates["live-count"].stands
    assert gates["live-none"].why == "not accounted for: Bonnet lifter, driver's side, Bonnet lifter, passenger's side"
    for hazard in ("dry-ice", "heat", "solvent", "drilling"):
        assert "live-none" not in gate_ids(hazard), hazard
    assert "live-none" in gate_ids("hot-work")
    for gate in ("ice-place", "heat-and-solvent"):
        assert any("outside the cabin" in says and "1 m" in says for says in LIBRARY.gates[gate].ticks)  # type: ignore[union-attr]
    card = LIBRARY.step("early-airbags.bonnet-lifters").do
    assert "name them at the count as still fitted" in card
    assert "The gate for sparks stays shut" in card


@pytest.mark.parametrize("module", sorted(module.id for module in LIBRARY.modules.values() if not module.outside))
def test_no_module_inside_stays_by_name_where_there_is_ice_heat_or_hammer(module: str) -> None:
    gates = look_around(with_modules([module]), MOMENT).gates
    assert not gates["live-count"].stands
    assert not gates["live-none"].stands


@pytest.mark.parametrize(("in_boot", "stands"), [(False, True), (True, False), (None, False)])
def test_a_battery_cutter_stays_by_name_only_where_the_battery_is_under_the_bonnet(
    in_boot: bool | None, stands: bool
) -> None:
    fitted = {} if in_boot is None else {"battery-in-boot": in_boot}
    gates = look_around(with_modules(["battery-cutter"], **fitted), MOMENT).gates
    assert gates["live-count"].stands == stands


def gate_ids(hazard: str) -> set[str]:
    return {gate.id for gate in LIBRARY.gates_behind(LIBRARY.hazards[hazard].gates)}
