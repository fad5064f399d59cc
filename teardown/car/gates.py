"""The rules of the gates: which stand, and why the others do not. Nothing else in the program knows a safety rule."""

from collections.abc import Mapping
from functools import singledispatch
from typing import Literal, NamedTuple, Protocol

from teardown.car.clock import Instant, age_min
from teardown.car.facts import Room
from teardown.car.gatebook import GateBook, GateRecord, wait_needed_min
from teardown.packs.model import (
    LEAST_BELIEVED,
    BackGate,
    CountGate,
    FigureGate,
    Gate,
    PeopleGate,
    ReadingGate,
    StopGate,
    TicksGate,
    WaitGate,
)
from teardown.packs.route import RoutePart

UNITS = {"carbon_dioxide_ppm": "ppm", "voltage_v": "V"}


class Tick(NamedTuple):
    """One statement of a gate, and whether you have confirmed it."""

    n: int
    says: str
    done: bool


class GateView(NamedTuple):
    """One gate as it stands now. `do` is what to do at once; `working` is how a figure came about. A wait with no time
    left is over only when it stands."""

    gate: Gate
    stands: bool
    why: str
    ticks: tuple[Tick, ...] = ()
    wait_left_s: float | None = None
    do: str | None = None
    working: tuple[str, ...] = ()
    first: str | None = None
    """The gate to open before this one."""
    holds: Literal["nothing", "the car", "all"] = "nothing"
    """The steps it shuts though their hazards do not bring it: those at the car that are not about it, or all."""

    @property
    def shuts(self) -> str:
        """Why a step is shut by it; an alarm says first what to do."""
        why = f"{self.do} ({self.why})" if self.holds == "all" else self.why
        return f"{self.gate.title}: {why}"

    @property
    def tells(self) -> str:
        """What to do at once, and why; said once where the one has the other in it."""
        return self.why if self.do is None or self.do in self.why else f"{self.do} ({self.why})"


class Surroundings(Protocol):
    """What the rules ask of the car besides the gates' own records."""

    @property
    def room(self) -> Room: ...

    def modules_unaccounted(self, allows_fitted: bool, allows_outside: bool = False) -> tuple[str, ...]:
        """Names of the live modules that are neither off and stored nor otherwise accounted for."""
        ...

    def modules_loose(self) -> tuple[str, ...]:
        """Names of the live modules that are off and lie nobody has said where."""
        ...

    def still_out(self) -> tuple[RoutePart, ...]:
        """Parts out for now that are neither back in nor posted as removed."""
        ...


class _Case(NamedTuple):
    """One gate to judge: its record, the time, and the car around it."""

    record: GateRecord
    waited_min: float
    now: Instant
    car: Surroundings
    left: bool
    """Whether a step has left something in the car that this gate has to see gone."""
    count_again: str
    """The gate at which the live modules have yet to be counted again, by its title."""

    @property
    def lapsed(self) -> str:
        """Why it stands no more, as the beginning of a reason; nothing when it never stood."""
        return f"stands no more: {self.record.lapse}. " if self.record.lapse else ""


def look(book: GateBook, now: Instant, car: Surroundings, gates: tuple[str, ...]) -> dict[str, GateView]:
    """The gates asked for and all they follow, as they stand at `now`. `book` has been read at `now`."""
    views: dict[str, GateView] = {}
    count_again = next((book.route.gate(name).title for name in book.route.counting if name in book.left), "")
    for gate_id in book.route.gate_order(gates):
        gate = book.route.gate(gate_id)
        case = _Case(book[gate_id], book.waited_min(gate_id, now), now, car, gate_id in book.left, count_again)
        views[gate_id] = _look_at_one(book, gate, case, views)
    return views


def alarms(views: Mapping[str, GateView]) -> tuple[GateView, ...]:
    """The gates whose bad reading holds: what they say to do is for everybody, wherever they are at work."""
    return tuple(view for view in views.values() if view.holds == "all")


def _look_at_one(book: GateBook, gate: Gate, case: _Case, views: Mapping[str, GateView]) -> GateView:
    if book.route.shape.has_none_of(gate.has):
        return GateView(gate, True, f"not on this car: {book.route.library.features[gate.has[0]].asks} No.")
    view = _with_way_round(_judge(gate, case), book.route.shape.unanswered(gate.has))
    if view.holds == "all":  # what to do now comes before what to do first
        return view
    first = next((name for name in gate.follows if not views[name].stands), None)
    if first is not None:
        deepest = views[first].first or first
        return _shut(view, f"first: {book.route.gate(deepest).title}", deepest)
    if book.questions is not None:
        return _shut(view, f"first say what has happened: {book.questions}", None)
    return view


def _with_way_round(view: GateView, unanswered: tuple[str, ...]) -> GateView:
    """A gate for something the car may not have at all says how the owner tells so."""
    if view.stands or not unanswered:
        return view
    none = ", ".join(f"enter car-answered feature={name} fitted=no" for name in unanswered)
    way = f"If you have confirmed that the car has none: {none}"
    return view._replace(why=f"{view.why.rstrip('.')}. {way}")


def _shut(view: GateView, why: str, first: str | None) -> GateView:
    """Shut by something else. The time a wait has left is told all the same: it runs on."""
    return view._replace(stands=False, why=why, first=first)


@singledispatch
def _judge(gate: Gate, case: _Case) -> GateView:
    raise TypeError(f"no rule for a gate of kind {gate.kind}")


@_judge.register
def _(gate: TicksGate, case: _Case) -> GateView:
    done = len(case.record.ticks)
    ticks = tuple(Tick(n, says, n <= done) for n, says in enumerate(gate.ticks, start=1))
    if done == len(gate.ticks):
        loose = case.car.modules_loose() if gate.counts_modules else ()
        why = f"off, and not stored: {_named(loose)}. Say where it lies: part-stored"
        return GateView(gate, not loose, why if loose else "you have confirmed every line", ticks)
    why = f"{done} of {len(gate.ticks)} lines confirmed"
    if done == 0 and case.lapsed:
        why = f"{case.lapsed}Confirm it again from the first line"
    return GateView(gate, False, why, ticks, holds="the car" if case.left else "nothing")


@_judge.register
def _(gate: WaitGate, case: _Case) -> GateView:
    record, needed_min = case.record, wait_needed_min(gate, case.record)
    if record.since is None:
        why = f"begins again from nothing: {record.lapse}" if record.lapse else "has not begun"
        return GateView(gate, False, why, wait_left_s=needed_min * 60)
    left_s = max(0.0, (needed_min - case.waited_min) * 60)
    if left_s > 0:
        why = f"{record.again}: the wait began again" if record.again else "hands off the car until it is over"
        live = case.car.modules_unaccounted(allows_fitted=False)
        return GateView(gate, False, why, wait_left_s=left_s, holds="the car" if live else "nothing")
    return GateView(gate, True, f"the whole wait of {needed_min:g} min has run", wait_left_s=0.0)


@_judge.register
def _(gate: ReadingGate, case: _Case) -> GateView:
    record, unit = case.record, UNITS[gate.quantity]
    if record.alarm is not None:
        back = f"work goes on below {record.alarm.back_below:,g} {unit}"
        held = f", held for {record.alarm.hold_min:g} min" if record.alarm.hold_min else ""
        why = f"the air counts as {record.alarm.at:,g} {unit} or more: {back}{held}"
        return GateView(gate, False, why, do=record.alarm.do, holds="all")
    if record.reading is None:
        why = f"{case.lapsed}Read it again" if case.lapsed else f"no reading yet: {gate.reads}"
        return GateView(gate, False, why)
    number = record.reading.number
    shown = record.reading.says or f"{number:,g} {unit}"
    if gate.fresh_min is not None and age_min(record.reading.at, case.now) > gate.fresh_min:
        return GateView(gate, False, f"the last reading is older than {gate.fresh_min:g} min: read it again")
    if number < LEAST_BELIEVED[gate.quantity]:
        least = LEAST_BELIEVED[gate.quantity]
        why = f"you read {number:,g} {unit}; no air reads under {least:,g}: the meter does not work"
        return GateView(gate, False, why)
    if number >= gate.below:
        return GateView(gate, False, f"you read {shown}; it must be below {gate.below:,g} {unit}")
    return GateView(gate, True, f"you read {number:,g} {unit} (limit {gate.below:,g})")


@_judge.register
def _(gate: FigureGate, case: _Case) -> GateView:
    ice = case.record.ice
    if ice is None:
        return GateView(gate, False, f"{case.lapsed}Enter the kilos of ice about to be laid")
    from teardown.car.room import judge_room  # only a car with ice in it needs the figure

    verdict = judge_room(case.car.room, *ice)
    return GateView(gate, verdict.stands, verdict.why, working=verdict.working)


@_judge.register
def _(gate: PeopleGate, case: _Case) -> GateView:
    here = case.record.people
    if here is None:
        return GateView(gate, False, f"{case.lapsed}Say how many people are here: {gate.people} are needed")
    if here < gate.people:
        return GateView(gate, False, f"{gate.people} people are needed; you said {here}")
    return GateView(gate, True, f"you have confirmed {here} people are here")


@_judge.register
def _(gate: StopGate, case: _Case) -> GateView:
    signed = case.record.signed
    if signed is None:
        return GateView(gate, False, f"{case.lapsed}STOP. {gate.look_for} {gate.call}", do=gate.call)
    return GateView(gate, True, f"signed for by {signed.by}: {signed.paper}")


@_judge.register
def _(gate: CountGate, case: _Case) -> GateView:
    if case.count_again:
        return GateView(gate, False, f"the count has yet to agree again: confirm {case.count_again}")
    open_modules = case.car.modules_unaccounted(gate.allows_fitted, gate.allows_outside)
    if not open_modules:
        return GateView(gate, True, "every live module is accounted for")
    return GateView(gate, False, f"not accounted for: {_named(open_modules)}")


@_judge.register
def _(gate: BackGate, case: _Case) -> GateView:
    out = tuple(part.part.name for part in case.car.still_out())
    if not out:
        return GateView(gate, True, "nothing is out for now")
    ways = "Say that each is back in (part-back), or gone for good (part-fate: sell, scrap or controlled)"
    return GateView(gate, False, f"still out: {_named(out)}. {ways}")


def _named(names: tuple[str, ...]) -> str:
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
