"""The one door through which entries go: the screen, the commands and the line mode all enter here.

An entry is read from words, judged by the rules against the state at this very moment, written and synced, and only
then folded into the state.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from teardown import __version__
from teardown.car.briefing import in_words
from teardown.car.clock import Clock, Instant
from teardown.car.facts import FACTS, Facts, read_facts
from teardown.car.log import FORMAT, CannotWrite, Damaged, Entry, Locked, LogError, ReadOnly, read_log
from teardown.car.logwriter import LogWriter, open_for_writing
from teardown.car.own_packs import own_packs, told_of_own_packs
from teardown.car.ruling import Refusal
from teardown.car.state import BadEntry, State
from teardown.car.steps import Standing, look_around
from teardown.car.tally_values import names_a_thing
from teardown.collector import collector_at_rest
from teardown.packs.files import Source
from teardown.packs.library import library_for
from teardown.packs.problems import WrongFile
from teardown.packs.route import Route, lay_route
from teardown.packs.shipped import procedures
from teardown.text import one_line

if TYPE_CHECKING:
    from teardown.car.answers import Changed
    from teardown.car.fields import Fields

LOG = "log.jsonl"
EMPTIED = (
    f"{LOG} holds no entry, and the log of a car begins with one: it was emptied, or setting the car up was cut off. "
    "Put back a copy of the folder from before; where there is none, set a car up in a new folder"
)
LONGEST_NAME = 80
RECENT = 500
"""Entries of this session that are kept at hand: what an undo may pass over."""


class NotACar(Exception):
    """The folder is not one of a car; the message says what to do instead."""


class OtherPacks(LogError):
    """The packs were changed since the car was opened."""


class NotForThis(Exception):
    """A rehearsal where a car is wanted, or the other way round."""


class Car:
    """One car's folder, open to read or to write."""

    def __init__(
        self,
        folder: Path,
        facts: Facts,
        state: State,
        clock: Clock,
        writer: LogWriter | None,
        told: Iterable[str] = (),
        packs: Path | None = None,
        seen_facts: object = None,
    ) -> None:
        self.folder = folder
        self._told = tuple(told)
        self.damage: str | None = None
        """What ended the reading of the log; what stood before it can be looked at, and nothing written."""
        self.only_read_because: str | None = None
        """Why it was opened to read although someone meant to write."""
        self.facts = facts
        self.clock = clock
        self._state = state
        self._writer = writer
        self._recent: deque[Entry] = deque(maxlen=RECENT)
        self._began_after = state.entries
        """The last entry there was when it was opened: what came before is of another day, or of another hand."""
        self._packs = packs
        self._seen: object = None
        self._seen_facts = seen_facts
        if writer is None:
            self._read_again()

    @property
    def can_write(self) -> bool:
        return self._writer is not None

    @property
    def told(self) -> tuple[str, ...]:
        """What opening the log found that a person should know."""
        reasons = [reason for reason in (self.only_read_because, self.damage) if reason]
        torn = self._writer.told if self._writer else ()
        return (*self._told, *reasons, *torn, *self._not_in_the_packs(), *self._said_otherwise())

    def _said_otherwise(self) -> Iterator[str]:
        if self._state.answers:  # most logs hold none, and the first picture need not wait for what tells of them
            from teardown.car.answers import said_otherwise

            yield from said_otherwise(self._state)

    def _not_in_the_packs(self) -> Iterator[str]:
        """What the log or car.toml speaks of that today's packs do not have: it must not vanish without a word."""
        state, library = self._state, self._state.route.library
        parts = [part for part in state.parts if part not in state.route.parts and not names_a_thing(part)]
        for what, names in (
            ("the log speaks of parts", parts),
            ("the log speaks of steps", [ref for ref in state.steps if ref not in state.route.by_ref]),
            ("car.toml [fitted] answers", [name for name in self.facts.fitted if name not in library.features]),
            ("car.toml [rules] answers", [name for name in self.facts.rules if name not in library.rules]),
        ):
            if names:
                yield f"{what} that the packs do not have, and that count for nothing: {', '.join(sorted(names)[:8])}"

    @property
    def folded(self) -> State:
        """The state as of the last entry."""
        return self._state

    def said_of(self, n: int) -> str:
        """An entry by its number, with what it said in a few words."""
        entry = next((entry for entry in self._recent if entry.n == n), None)
        if entry is None and n <= self._state.entries:  # what stands: what comes after damage may say anything
            entry = self._read_entry(n)
        return f"entry {n}" if entry is None else f"entry {n}, {in_words(self._state, entry)}"

    def _read_entry(self, n: int) -> Entry | None:
        """An entry of an earlier opening; None where the log cannot be read so far."""
        try:
            return next((entry for entry in read_log(self.folder / LOG) if entry.n == n), None)
        except LogError:
            return None

    def why_not_at_once(self, n: int) -> str:
        """Why an undo of entry `n` is asked about before it is written; empty when it is what was written last."""
        if n <= self._began_after:
            return "that was written before this opening"
        later = (entry for entry in self._recent if entry.n > n and entry.kind not in ("undo", "opened"))
        stays = next((entry for entry in later if entry.n not in self._state.undone), None)
        return "" if stays is None else f"{in_words(self._state, stays)} (entry {stays.n}) cannot be taken back"

    def now(self) -> Standing:
        """Where the car stands at this moment: time may have lapsed what stood at the last entry, and another program
        may have written since."""
        if self._writer is None and (self._seen, self._seen_facts) != self._marks():
            try:
                self._read_again()
            except (LogError, WrongFile) as error:
                self.damage = str(error)
        unknown = f"nothing is known after entry {self._state.entries}: {self.damage}" if self.damage else None
        return look_around(self._state, self.clock.now(), unknown)

    def _marks(self) -> tuple[object, object]:
        return _mark_of(self.folder / LOG), _mark_of(self.folder / FACTS)

    def _read_again(self) -> None:
        """What another program has written since, car.toml too: it may have found that the car has more than was known.
        Raises LogError or WrongFile."""
        facts, route, marks = self.facts, self._state.route, self._marks()
        if marks[1] != self._seen_facts:
            facts = read_facts(self.folder / FACTS)
            route = self._route_again(facts)
        state, self.damage = _as_far_as_it_stands(self.folder, route, facts)
        self._stand_on(state)
        self._seen, self._seen_facts = marks

    def _reopened(self, facts: Facts) -> State:
        """The car as a fresh opening with these facts finds it. Raises WrongFile or LogError."""
        state, damage = _as_far_as_it_stands(self.folder, self._route_again(facts), facts)
        if damage is not None:
            raise Damaged(damage)
        return state

    def _route_again(self, facts: Facts) -> Route:
        route = _route_for(facts, self._packs, own_packs(self.folder, facts.packs))
        if route.library != self._state.route.library:
            raise OtherPacks("the packs are not those of the opening any more: quit, and open the car again")
        return route

    def _stand_on(self, state: State) -> None:
        self._state, self.facts = state, state.facts

    def enter(self, kind: str, words: Mapping[str, Any], who: str) -> Entry | Refusal:
        """Make one entry. Raises WrongEntry when the words do not make one, LogError when it cannot be kept."""
        from teardown.car import entries, rules  # forty kinds: what only looks need not wait for them

        fields = entries.read_fields(kind, words, self.facts.parts_unit)
        at, who = self.clock.now(), _name(who)
        if isinstance(fields, entries.CarAnswered | entries.RuleAnswered):
            return self._answer(kind, fields, who, at)
        ruling = rules.rule(look_around(self._state, at, who=who), fields)
        if isinstance(ruling, Refusal):
            return ruling
        if kind == "photo" and self.can_write:
            taken = self._take_photo(ruling["file"])
            if isinstance(taken, Refusal):
                return taken
            ruling = ruling | {"file": taken}
        return self._write(kind, ruling, who, at)

    def _take_photo(self, file: str) -> str | Refusal:
        """The picture is in the folder before the entry that names it."""
        from teardown.car.photos import NotAPhoto, take_in

        try:
            return take_in(self.folder, file)
        except NotAPhoto as error:
            return Refusal(str(error))
        except OSError as error:
            raise CannotWrite(f"the photo cannot be copied into {self.folder}: {error.strerror}") from error

    def _answer(self, kind: str, fields: Fields, who: str, at: Instant) -> Entry | Refusal:
        """An answer about the car goes into car.toml as that lies there now, and into the log; then the car stands as
        after a fresh opening. `answers` says which of the two is written first, and why."""
        from teardown.car.answers import opens_something

        if self._writer is None:
            raise _only_to_read(self.folder)
        self._writer.check_that_the_file_is_ours()  # the log is read again
        judged = self._judge_answer(kind, fields, who, at)
        if isinstance(judged, Refusal):
            return judged
        ruling, change, state = judged
        opens = opens_something(kind, ruling)
        with change.ready() as put_in_place:
            if opens:
                entry = self._write(kind, ruling, who, at)
                state.apply(entry)
                unsure = self._stand_on_what_is_put(put_in_place, change, state, opens)
            else:
                unsure = self._stand_on_what_is_put(put_in_place, change, state, opens)
                try:
                    entry = self._write(kind, ruling, who, at)
                except LogError as error:
                    raise CannotWrite(f"{error}. {FACTS} has the answer all the same, and it counts") from error
        if unsure:
            told = f"{FACTS} has the answer, and it counts, but a power cut may take it away again"
            raise CannotWrite(f"{told}: {unsure}. Answer again")
        return entry

    def _judge_answer(
        self, kind: str, fields: Fields, who: str, at: Instant
    ) -> tuple[dict[str, Any], Changed, State] | Refusal:
        """What goes into the log, what into car.toml, and the car as it stands with that. Raises LogError."""
        from teardown.car import answers, facts_edit, rules

        try:
            there = read_facts(self.folder / FACTS)
            before = self._state if there == self.facts else self._reopened(there)
            ruling = rules.rule(look_around(before, at, who=who), fields)
            if isinstance(ruling, Refusal):
                return ruling
            change = answers.changed(self.folder, there, kind, ruling, at.day)
            return ruling, change, self._reopened(change.facts)
        except (WrongFile, facts_edit.CannotEdit) as error:
            return Refusal(one_line(str(error)))
        except OSError as error:
            raise answers.nothing_written(error) from error

    def _stand_on_what_is_put(self, put_in_place: Callable[[], str], change: Changed, state: State, opens: bool) -> str:
        """Stand on the answer once it is in car.toml; where nobody can tell whether it is, on what keeps more shut.
        Says why it may not outlive a power cut. Raises CannotWrite where it is not there."""
        why_not = put_in_place()
        if why_not and not change.is_there(if_unread=not opens):
            otherwise = f"Entry {self._state.entries} stands, and opens nothing" if opens else "Nothing was written"
            raise CannotWrite(f"{FACTS} was not changed: {why_not}. {otherwise}. Answer again")
        self._stand_on(state)
        return why_not

    def open_session(self, who: str) -> Entry:
        """Note that somebody began to work at the screen, or took over."""
        return self._write("opened", {"format": FORMAT, "program": __version__}, who)

    def close(self) -> None:
        if self._writer is not None:
            self._writer.close()

    def __enter__(self) -> Car:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _write(self, kind: str, fields: dict[str, Any], who: str, at: Instant | None = None) -> Entry:
        """Write an entry of the very moment it was judged at."""
        if self._writer is None:
            raise _only_to_read(self.folder)
        entry = self._writer.append(_name(who), kind, fields, at)
        self._state.apply(entry)
        self._recent.append(entry)
        return entry


def _name(who: str) -> str:
    """A name as it stands in the log."""
    return one_line(who).strip()[:LONGEST_NAME] or "unknown"


def open_car(folder: Path, clock: Clock, *, write: bool, rehearsal: bool = False, packs: Path | None = None) -> Car:
    """Open a car's folder.

    Raises NotACar, NotForThis, FactsError, PackError, LogError or BadEntry, each with its reason.

    A rehearsal opens to write only where a rehearsal was asked for, and a real car only where it was not. `packs` is
    the folder of the packs to begin with: those that ship, if nothing else is said.
    """
    for name in (FACTS, LOG):
        if not (folder / name).is_file():
            raise NotACar(_what_is_missing(folder, name))
    seen, facts = _mark_of(folder / FACTS), read_facts(folder / FACTS)
    own = own_packs(folder, facts.packs)
    state = State(_route_for(facts, packs, own), facts)
    told = told_of_own_packs(folder, facts.packs, own)
    if not write:
        return Car(folder, facts, state, clock, None, told, packs, seen)
    with collector_at_rest():
        writer = open_for_writing(folder / LOG, clock, state.apply)
    try:
        if state.entries == 0:
            raise Damaged(EMPTIED)
        _agree_on_rehearsal(folder, state, rehearsal)
    except (Damaged, NotForThis):
        writer.close()
        raise
    if _mark_of(folder / FACTS) != seen:  # answered in another program, before it gave up the lock
        writer.close()
        return open_car(folder, clock, write=write, rehearsal=rehearsal, packs=packs)
    return Car(folder, facts, state, clock, writer, told, packs, seen)


def _route_for(facts: Facts, packs: Path | None, own: tuple[Source, ...]) -> Route:
    return lay_route(library_for(packs or procedures(), own, facts.words), facts.shape)


def _only_to_read(folder: Path) -> ReadOnly:
    return ReadOnly(f"{folder} is open to read only: nothing is written")


def _what_is_missing(folder: Path, name: str) -> str:
    other = LOG if name == FACTS else FACTS
    if (folder / other).is_file():
        return f"{folder} holds {other} but no {name}: put that back from a copy, or set a car up in a new folder"
    return f"{folder} holds no {name}: set a car up with `teardown new {folder}`"


def open_to_work(folder: Path, clock: Clock, *, rehearsal: bool = False, packs: Path | None = None) -> Car:
    """Open a car to write; where another program writes, or nothing can be written, open it to read and say why."""
    try:
        return open_car(folder, clock, write=True, rehearsal=rehearsal, packs=packs)
    except (Locked, ReadOnly, Damaged) as error:
        car = open_car(folder, clock, write=False, packs=packs)
        car.only_read_because = f"{error}. Opened to read only"
        return car


def begin_log(folder: Path, clock: Clock, who: str, *, rehearsal: bool = False) -> None:
    """The first entry of a new car's log. Only here can a log be made a rehearsal."""
    mark = {"rehearsal": True} if rehearsal else {}
    with open_for_writing(folder / LOG, clock, lambda _: None) as writer:
        writer.append(who, "opened", {"format": FORMAT, "program": __version__, **mark})


def _as_far_as_it_stands(folder: Path, route: Route, facts: Facts) -> tuple[State, str | None]:
    """What stands of the log, folded; and what ended it, when it is damaged."""
    state = State(route, facts)
    if not (folder / LOG).is_file():
        return state, f"{LOG} is gone"
    try:
        with collector_at_rest():
            for entry in read_log(folder / LOG):
                state.apply(entry)
    except (Damaged, BadEntry) as error:
        return state, str(error)
    return state, None if state.entries else EMPTIED


def _mark_of(log: Path) -> tuple[int, int, int] | None:
    """What changes when anybody writes to the log, or puts another in its place."""
    try:
        found = log.stat()
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns


def _agree_on_rehearsal(folder: Path, state: State, rehearsal: bool) -> None:
    if state.rehearsal and not rehearsal:
        raise NotForThis(
            f"{folder} is a REHEARSAL, not a car: its waits run fast. Use `teardown try --folder {folder}`"
        )
    if rehearsal and not state.rehearsal:
        raise NotForThis(f"{folder} is a real car: it cannot be opened as a rehearsal")
