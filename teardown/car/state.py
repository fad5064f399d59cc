"""Where the car stands: a pure fold of the log's entries. The same entries always give the same state."""

from collections.abc import Callable, Iterable, Iterator
from copy import copy
from dataclasses import dataclass, field
from typing import Any, TypeVar

from teardown.car.changes import KINDS, MODULE_BACK, Answered, Mark
from teardown.car.clock import Instant
from teardown.car.facts import Facts, Room
from teardown.car.gatebook import GateBook, Reading
from teardown.car.live_things import is_live_thing, thing_account
from teardown.car.load import gone_since
from teardown.car.log import Entry
from teardown.car.lots import share_of
from teardown.car.modules import STILL_FITTED, ModuleCount, is_accounted_for
from teardown.car.series import Series
from teardown.car.strangers import ByName
from teardown.car.tally_state import Change
from teardown.car.tally_values import (
    FITTED,
    FOUND,
    CarWeight,
    Cost,
    Handed,
    Listing,
    Picture,
    Refund,
    Runs,
    Sale,
    Signed,
    Thing,
    Ticket,
    Weight,
    names_a_thing,
)
from teardown.packs.model import Part
from teardown.packs.route import Route, RoutePart

REMOVED = ("sell", "scrap", "controlled")
"""The fates that post a part as removed: it does not go back on this car."""

MOST_DIGITS = 15
"""Of the number of an entry. Python refuses to read a number of thousands of them."""

Value = TypeVar("Value")


class BadEntry(Exception):
    """An entry whose fields do not make sense for its kind, though its digest is right."""


@dataclass(slots=True)
class PartState:
    """What is known of one part."""

    out: Series[bool] = field(default_factory=Series)
    weight: Series[Weight] = field(default_factory=Series)
    fate: Series[str] = field(default_factory=Series)
    stored: Series[str] = field(default_factory=Series)
    listed: Series[Listing] = field(default_factory=Series)
    handed: Series[Handed] = field(default_factory=Series)


class State:
    """One car, after some entries. `apply` takes the next one."""

    def __init__(self, route: Route, facts: Facts) -> None:
        self.route = route
        self.facts = facts
        self.entries = 0
        self.rehearsal = False
        self.gates = GateBook(route)
        self.readings: dict[str, Series[Reading]] = ByName(Series)
        """Every number read at each gate. One that was undone stays: what a meter showed cannot be taken back."""
        self.steps: dict[str, Series[Mark]] = ByName(Series)
        self.parts: dict[str, PartState] = ByName(PartState)
        self.bags: dict[str, int] = {}
        """The numbers that were written on bags, by step: a bag once filled is not renumbered."""
        self.found: Series[Thing] = Series()
        self.fitted: Series[Thing] = Series()
        self.weighings: Series[CarWeight] = Series()
        self.costs: Series[Cost] = Series()
        self.sales: Series[Sale] = Series()
        self.refunds: Series[Refund] = Series()
        self.tickets: Series[Ticket] = Series()
        self.currencies: Series[str] = Series()
        """What each entry of money was written in: one currency a log."""
        self.signed: Series[Signed] = Series()
        self.runs: Series[Runs] = Series()
        self.photos: Series[Picture] = Series()
        self.notes: Series[tuple[str, str]] = Series()
        self.listed_fitted: dict[str, Series[str]] = ByName(Series)
        self.not_there: dict[str, Series[str]] = ByName(Series)
        self.answers: dict[str, Series[Answered]] = ByName(Series)
        """What was answered here to each question about the car, by its key in car.toml: `fitted.sunroof`. What stands
        there counts; this says who said so."""
        self.isolating: dict[int, str] = {}
        """Entries that finished a step, or took something off, whose taking back has consequences; and the step, if it
        is one of the packs'."""
        self.undone: set[int] = set()
        self.who = ""
        self.writer = ""
        """Who writes the entry that is being folded; `who` wrote the last that stands."""
        self.mass_entry = 0
        self._once: dict[str, tuple[int, Any]] = {}
        self.touched: dict[int, tuple[Series[Any], ...] | str] = {}
        """For each entry that can be undone, the series it gave a value to, or the gate it opened part of."""
        self._modules = ModuleCount(route)
        self._ruled_out = tuple(part for part in route.parts.values() if part.part.modules and not part.fitted)

    # -- folding

    def apply(self, entry: Entry) -> None:
        """Take the next entry. Raises BadEntry when its fields do not make an entry of its kind."""
        n, at, who, name, fields, _ = entry
        kind = KINDS.get(name)
        if kind is None:
            raise BadEntry(f"entry {n}: this version does not know entries of kind {name!r}")
        try:
            self.gates.pass_time(at)
            self.gates.written_by(who)
            self.writer = who
            modules = kind.tells_of(self._modules, n, fields) if kind.tells_of else ()
            if modules:
                self._watch_modules(modules, kind.change, entry)
            else:
                kind.change(self, n, at, fields)
        except (KeyError, TypeError, ValueError, ArithmeticError, IndexError, AttributeError) as error:
            raise BadEntry(f"entry {n}: its fields do not make a {name}: {error!r}") from None
        self.entries, self.who = n, who
        if kind.may_change_a_mass:
            self.mass_entry = n
            self._watch_load()

    def at(self, now: Instant, who: str | None = None) -> "State":
        """This state as it must be read at `now`, by `who` writes next; not to be folded further."""
        seen = copy(self)
        seen.gates = self.gates.at(now, who)
        return seen

    def _watch_modules(self, modules: tuple[str, ...], change: Change, entry: Entry) -> None:
        """When a live module is in the car again, gates that counted on its absence lapse. When the count comes out,
        what was made behind it before it did counts no more."""
        change(self, entry.n, entry.at, entry.fields)
        before = self._modules.unaccounted
        if not self._modules.take(entry.n, {module: self._account(module) for module in modules}):
            return
        after = self._modules.unaccounted
        if any(not self._is_a_thing_off(name) for name in after.in_the_car - before.in_the_car):
            self.gates.happen("module-moved", MODULE_BACK)
        for gate in self.route.counts:
            was, now = before.by(gate), after.by(gate)
            if now - was:
                self.gates.lapse(gate.id, MODULE_BACK)
            elif was and not now:
                self.gates.begin_followers(gate.id, entry.at)

    def _account(self, name: str) -> str | None:
        """How a live module is accounted for, or a thing that may be one."""
        return thing_account(self, name) if names_a_thing(name) else self.module_account(name)

    def _is_a_thing_off(self, name: str) -> bool:
        """What was found lies beside the car: it has to be stored, and is none that came back."""
        return names_a_thing(name) and self.is_out(name)

    def _watch_load(self) -> None:
        """A car on its stands is looked at again when much has left one end since it was confirmed there."""
        for gate, entry in self.gates.whole_behind("load-changed"):
            if too_much := gone_since(self, entry).too_much:
                self.gates.lapse(gate, too_much)

    def set(self, series: Series[Value], n: int, value: Value) -> None:
        """One value of entry `n`, to be taken out again when that entry is undone."""
        series.add(n, value)
        self.touched[n] = (series,)

    def set_all(self, n: int, values: Iterable[tuple[Series[Any], Any]]) -> None:
        """The same for an entry that gives several values."""
        values = tuple(values)
        for series, value in values:
            series.add(n, value)
        self.touched[n] = tuple(series for series, _ in values)

    def once(self, name: str, work: Callable[["State"], Value]) -> Value:
        """What `work` makes of the masses: done once, until an entry that may change one."""
        known = self._once.get(name)
        if known is None or known[0] != self.mass_entry:
            known = self._once[name] = (self.mass_entry, work(self))
        made: Value = known[1]
        return made

    # -- what the gates and the screen ask

    @property
    def room(self) -> Room:
        return self.facts.room

    @property
    def currency(self) -> str:
        """The currency of all money in the log: as its entries say, or car.toml while none does."""
        return self.currencies.last or self.facts.money.currency

    @property
    def last(self) -> Instant | None:
        return self.gates.last

    def mark(self, ref: str) -> Mark | None:
        """What was last said of a step, when that still counts: what was put off until a milestone is open again
        once that is reached."""
        series = self.steps.get(ref)
        mark = series.last if series else None
        return None if mark is None or mark.status == "open" or self.reached(mark.until) else mark

    def is_done(self, ref: str) -> bool:
        """Whether a step is done."""
        series = self.steps.get(ref)
        return series is not None and series.last is not None and series.last.status == "done"

    def reached(self, milestone: str) -> bool:
        """Whether the step of a milestone is done. One that today's packs do not have is not."""
        known = self.route.library.milestones.get(milestone)
        return known is not None and self.is_done(known.step)

    def is_out(self, part: str) -> bool:
        """A part is out when its step is done or it was taken off by itself, and it has not gone back since."""
        return self.out_since(part) > 0

    def out_since(self, part: str, upto: int | None = None) -> int:
        """The entry that took the part out, or 0 while it is in; as it stood after entry `upto`, when that is given."""
        place = self.route.parts.get(part)
        if place is None:
            return self._thing_out_since(part, upto)
        return self._out_by_the_log(place, upto) if place.fitted else 0

    def _out_by_the_log(self, place: RoutePart, upto: int | None = None) -> int:
        """The same by the entries alone, whatever car.toml says that the car has."""
        known, step = self.parts.get(place.id), self.steps.get(place.step)
        own_entry, own_out = known.out.at(upto) if known is not None else (0, None)
        step_entry, mark = step.at(upto) if step is not None else (0, None)
        done_entry = step_entry if mark is not None and mark.status == "done" else 0
        if own_out is not None and own_entry > done_entry:
            return own_entry if own_out else 0
        return done_entry

    def _thing_out_since(self, name: str, upto: int | None) -> int:
        """The same of what no pack foresaw: what was found is out from its entry on, what was fitted is in."""
        known, thing = self.parts.get(name), self.thing(name)
        entry, out = known.out.at(upto) if known is not None else (0, None)
        if out is not None:
            return entry if out else 0
        found = thing is not None and thing.counts != "added" and (upto is None or thing.entry <= upto)
        return thing.entry if thing is not None and found else 0

    def weight_of(self, part: str) -> Weight | None:
        """What a part weighed, or a thing no pack foresaw; None while only a pack knows."""
        known = self.parts.get(part)
        weight = known.weight.last if known else None
        if weight is None:
            thing = self.thing(part)
            return thing.weight if thing else None
        return share_of(self, part, weight) if weight.shared else weight

    def fate_of(self, part: str) -> str:
        known = self.parts.get(part)
        own = known.fate.last if known else None
        thing = None if own else self.thing(part)
        return own or (thing.fate if thing else None) or "undecided"

    def thing(self, name: str) -> Thing | None:
        """What no pack foresaw, by its name, which ends in its entry: `found-17`, `fitted-20`."""
        kind, _, entry = name.rpartition("-")
        series = {FOUND: self.found, FITTED: self.fitted}.get(kind)
        if series is None or not entry.isdecimal() or len(entry) > MOST_DIGITS:
            return None
        found = series.of(int(entry))
        return found if found is not None and found.id == name else None

    def stored_at(self, part: str) -> str | None:
        """Where a part that is out lies; what was said before it came out (again) does not count."""
        known, out_since = self.parts.get(part), self.out_since(part)
        if known is None or not out_since or known.stored.last_entry < out_since:
            return None
        return known.stored.last

    def module_account(self, module: str) -> str | None:
        """How a live module is accounted for: stored or handed over, still fitted, not there; the newest word counts.
        Or None. That it is fitted counts while its part is in, and until the part has moved: one that went back may
        hang by half a plug."""
        said: list[tuple[int, str | None]] = []
        carriers = [part for part in self.route.carriers.get(module, ()) if self.route.parts[part].fitted]
        places = [place for part in carriers if (place := self.stored_at(part)) is not None]
        if carriers and len(places) == len(carriers):
            said.append((max(self.parts[part].stored.last_entry for part in carriers), self._kept(carriers, places)))
        if (looked := self.not_there.get(module)) and looked.last:
            said.append((looked.last_entry, f"not there: {looked.last}"))
        if (listed := self.listed_fitted.get(module)) and listed.last:
            moved = any(self.is_out(part) or self._moved(part) > listed.last_entry for part in carriers)
            said.append((listed.last_entry, None if moved else f"{STILL_FITTED}: {listed.last}"))
        return max(said, key=lambda word: word[0])[1] if said else None

    def _moved(self, part: str) -> int:
        """The newest entry by which a part of a pack came off or went back; 0 where there is none."""
        known, steps = self.parts.get(part), self.steps.get(self.route.parts[part].step)
        marks = reversed(steps.items if steps else [])
        by_step = next((n for n, mark in marks if mark.status in ("done", "open")), 0)
        return max(known.out.last_entry if known else 0, by_step)

    def _kept(self, carriers: list[str], places: list[str]) -> str:
        """What became of a module that was stored. It counts from when it was stored: that it went to somebody since
        is told, and opens no gate."""
        handed = [self.parts[part].handed for part in carriers]
        stored = (self.parts[part].stored.last_entry for part in carriers)
        if all(one.last_entry > entry for one, entry in zip(handed, stored, strict=True)):
            newest = max(handed, key=lambda one: one.last_entry).last
            if newest is not None:
                return f"handed over to {newest.to}, {newest.paper or 'no paper'}, {newest.utc[:10]}"
        return f"stored: {places[0]}"

    def is_not_there(self, module: str) -> bool:
        """Whether somebody looked for a module and did not find it, and nobody has named it as fitted since. That the
        part around it was stored is no word about the module."""
        looked, fitted = self.not_there.get(module), self.listed_fitted.get(module)
        return looked is not None and bool(looked.last) and looked.last_entry > (fitted.last_entry if fitted else 0)

    def may_be_live(self, part: Part) -> bool:
        """Whether a live module may be in a part: one that this car may carry, and that nobody has found missing."""
        return any(self.route.may_carry(module) and not self.is_not_there(module) for module in part.modules)

    def modules_unaccounted(self, allows_fitted: bool, allows_outside: bool = False) -> tuple[str, ...]:
        accounts = ((module, self.module_account(module.id)) for module in self.route.modules)
        counted = (
            module.name
            for module, account in accounts
            if not is_accounted_for(account, allows_fitted or (allows_outside and module.id in self.route.outside))
        )
        return (*counted, *self._off_though_ruled_out(), *(thing.name for thing in self._live_things()))

    def modules_loose(self) -> tuple[str, ...]:
        """Names of the live modules that are off and of which nobody has said where they lie, or that they are not."""
        off = (module for module in self.route.modules if any(map(self.is_out, self.route.carriers.get(module.id, ()))))
        things = (thing.name for thing in self._live_things() if self.is_out(thing.id))
        loose = (module.name for module in off if self.module_account(module.id) is None)
        return (*loose, *self._off_though_ruled_out(), *things)

    def _off_though_ruled_out(self) -> Iterator[str]:
        """Parts with live modules that came off and were not stored, before car.toml said that this car has none: they
        lie about, whatever it says, until somebody has looked. A step that this car has may have been done without."""
        for part in self._ruled_out:
            known, out = self.parts.get(part.id), self._out_by_the_log(part)
            by_itself = known is not None and known.out.last is True
            if not out or not (by_itself or self.route.by_ref[part.step].not_fitted):
                continue
            stored = known is not None and known.stored.last_entry > out
            if not stored and not all(map(self.is_not_there, part.part.modules)):
                yield f"{part.part.name} (car.toml rules it out: put that right first)"

    def _live_things(self) -> Iterator[Thing]:
        """What no pack foresaw and is taken to be live, while it is on the car or lies about, in order."""
        open_things = filter(names_a_thing, self._modules.unaccounted.unknown)
        for name in sorted(open_things, key=lambda name: int(name.rpartition("-")[2])):
            if (thing := self.thing(name)) is not None:
                yield thing

    def still_out(self) -> tuple[RoutePart, ...]:
        """Parts out for now that are neither back in nor posted as removed."""
        out = (part for part in self.route.out_for_now if self.is_out(part.id))
        return tuple(part for part in out if self.fate_of(part.id) not in REMOVED)

    def why_not_undone(self, n: int) -> str | None:
        """The reason entry `n` cannot be undone, or None when it can."""
        if not 1 <= n <= self.entries:
            return f"there is no entry {n}: the last one is {self.entries}"
        if n in self.undone:
            return f"entry {n} is undone already"
        if any(answers.of(n) for answers in self.answers.values()):
            return f"entry {n} answered a question about the car, and car.toml says the same: answer it again instead"
        if n not in self.touched:
            return f"entry {n} stands: what may have happened cannot un-happen. Write a new entry instead"
        if (live := self._live_by(n)) is not None:
            not_live = f"If it is not: not-there module={live.id} and why=, then undo"
            return f"entry {n} stands: {live.name} is taken to be live, and is not forgotten. {not_live}"
        return None

    def _live_by(self, n: int) -> Thing | None:
        """What is taken to be live and would be forgotten, or be a part like others, without entry `n`."""
        thing = self.found.of(n) or self.fitted.of(n)
        for name in filter(names_a_thing, self._modules.of_entry.get(n, ())):
            if (known := self.parts.get(name)) is not None and known.fate.of(n) == "controlled":
                thing = self.thing(name)
        return thing if thing is not None and is_live_thing(self, thing) else None

    def last_undoable(self) -> int | None:
        """The newest entry that can still be undone."""
        left = (n for n in reversed(self.touched) if n not in self.undone)
        return next((n for n in left if self._live_by(n) is None), None)
