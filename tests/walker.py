"""A mechanic who knows every gate: opens what shuts a step, does it, weighs what comes off. Used to walk whole routes
through the door, as a person would, and to make the sample car."""

from __future__ import annotations

from collections.abc import Callable

from teardown.car.door import Car
from teardown.car.gates import GateView
from teardown.car.log import Entry
from teardown.car.ruling import Refusal
from teardown.car.steps import shut_gates, view_step
from teardown.packs.model import (
    BackGate,
    CountGate,
    FigureGate,
    PeopleGate,
    ReadingGate,
    StopGate,
    TicksGate,
    WaitGate,
)
from teardown.packs.route import RouteStep
from tests.world.clock import HandClock

STORE = "airbag store, locked"


class Walker:
    """Walks one car by its door, with a clock turned by hand."""

    def __init__(self, car: Car, clock: HandClock, who: str = "Ana", readings: dict[str, str] | None = None) -> None:
        self.car = car
        self.clock = clock
        self.who = who
        self.people = 2
        self.readings = readings or {"voltage_v": "0.1V", "carbon_dioxide_ppm": "700ppm"}

    def take_over(self, who: str) -> None:
        """Another name stands in the log from now on, and an entry says so."""
        if who != self.who:
            self.who = who
            self.car.open_session(who)

    def enter(self, kind: str, **words: object) -> Entry:
        result = self.car.enter(kind, words, self.who)
        assert isinstance(result, Entry), f"{kind} {words}: {result}"
        return result

    def minutes(self, minutes: float) -> None:
        """Work goes on; a pause that is too long is answered for."""
        self.clock.advance(minutes * 60)
        self.answer_questions()

    def answer_questions(self) -> None:
        if self.car.now().state.gates.questions is not None:
            self.enter("resumed", power="no", doors="no", people="no")

    # -- gates

    def open_gates(self, laid: RouteStep) -> None:
        """Every gate that shuts a step, in order. One that lapses while another is opened is opened again."""
        for _ in range(4):
            shut = shut_gates(self.car.now(), laid)
            if not shut:
                return
            for view in shut:
                self.open_gate(view.gate.id)
        raise AssertionError(f"{laid.ref} stays shut: {[view.shuts for view in shut_gates(self.car.now(), laid)]}")

    def open_gates_before(self, gate_id: str) -> None:
        """Every gate that a gate follows, in order."""
        for before in self.car.folded.route.gate_order((gate_id,))[:-1]:
            self.open_gate(before)

    def open_gate(self, gate_id: str) -> None:
        view = self.car.now().gates[gate_id]
        if view.stands or view.first is not None:
            return
        opener: Callable[[GateView], None] = {
            TicksGate: self._tick,
            WaitGate: self._wait,
            ReadingGate: self._read,
            FigureGate: self._count_ice,
            PeopleGate: self._count_people,
            StopGate: self._sign,
            CountGate: self._account,
            BackGate: self._put_back,
        }[type(view.gate)]
        opener(view)

    def _tick(self, view: GateView) -> None:
        for tick in view.ticks:
            if not tick.done:
                self.clock.advance(4)
                self.enter("gate-tick", gate=view.gate.id, tick=tick.n)

    def _wait(self, view: GateView) -> None:
        self.minutes((view.wait_left_s or 0) / 60)
        self.enter("wait-over", gate=view.gate.id)

    def _read(self, view: GateView) -> None:
        assert isinstance(view.gate, ReadingGate)
        self.clock.advance(20)
        self.enter("gate-reading", gate=view.gate.id, value=self.readings[view.gate.quantity])

    def _count_ice(self, view: GateView) -> None:
        """One batch of 3 kg: made again after a lapse, it is the same ice."""
        again = bool(self.car.now().state.gates[view.gate.id].laid)
        self.enter("gate-figure", gate=view.gate.id, ice="3kg", over="45min", same=again)

    def _count_people(self, view: GateView) -> None:
        self.enter("people-here", count=self.people)

    def _sign(self, view: GateView) -> None:
        self.enter("gate-signed", gate=view.gate.id, by="licensed shop, reg. 4411", paper="record 17 of that day")

    def _account(self, view: GateView) -> None:
        """What is off is stored; what never was there is said so."""
        state = self.car.now().state
        for module in state.route.modules:
            if state.module_account(module.id) is not None:
                continue
            out = [part for part in state.route.carriers.get(module.id, ()) if state.is_out(part)]
            if out:
                self.enter("part-stored", part=out[0], where=STORE)
            else:
                self.enter("not-there", module=module.id, why="looked behind the trim: nothing there")

    def _put_back(self, view: GateView) -> None:
        """What is to be refitted goes back; what is not is posted as removed."""
        for part in self.car.now().state.still_out():
            if part.part.fate == "refit":
                self.enter("part-back", part=part.id)
            else:
                self.enter("part-fate", part=part.id, fate=part.part.fate)

    # -- steps

    def can_come(self, laid: RouteStep) -> bool:
        """Whether a step is ready, or shut by nothing but gates."""
        return view_step(self.car.now(), laid).state in ("ready", "shut")

    def do_step(self, laid: RouteStep) -> None:
        self.open_gates(laid)
        low, likely, _ = laid.step.minutes
        self.minutes(min(likely, 25) or low)
        self.open_gates(laid)
        self.enter("step-done", step=laid.ref, refitted=bool(laid.step.refits))
        for part in laid.step.parts:
            if part.modules and self.car.folded.route.parts[part.id].fitted:
                self.enter("part-stored", part=part.id, where=STORE)

    def refused(self, laid: RouteStep) -> Refusal:
        result = self.car.enter("step-done", {"step": laid.ref}, self.who)
        assert isinstance(result, Refusal)
        return result
