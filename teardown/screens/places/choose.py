"""One question, a few answers, each a digit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from teardown.car.gatebook import EVENTS
from teardown.car.gates import alarms
from teardown.car.steps import StepView
from teardown.packs.model import Event, Milestone
from teardown.screens.arming import DIGITS
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.gates.parts import gate_to_open
from teardown.screens.places.sure import Sure
from teardown.screens.places.write import TextPad

OTHER = "something else: type it"
SOMETHING_ELSE = "something else"
MOST_ANSWERS = 10
"""A digit each."""
POWER_ASKED = "POWER CAME BACK: how?"


@dataclass(frozen=True, eq=False)
class Choose:
    """Asks; the digit struck answers, ten answers at most. `chosen` gets the answer in the place before this one."""

    question: str
    answers: tuple[str, ...]
    chosen: Callable[[Desk, str], None]

    types = False

    @property
    def name(self) -> str:
        return self.question

    @property
    def commands(self) -> tuple[Command, ...]:
        picks = (Command((_digit(n),), _digit(n), "", answer, "pick") for n, answer in enumerate(self.answers))
        return (
            *picks,
            everywhere.BACK,
            everywhere.POWER,
            everywhere.UP,
            everywhere.DOWN,
            everywhere.HELP,
            everywhere.QUIT,
        )

    def paint(self, desk: Desk, window: Window) -> Picture:
        page = Page()
        for n, answer in enumerate(self.answers):
            page.labelled(f"[{_digit(n)}]", answer)
        return Picture(head=(words(self.question, BOLD),), body=page.done())

    def do_pick(self, desk: Desk) -> None:
        desk.back()
        self.chosen(desk, self.answers[(int(desk.key) - 1) % 10])


def _digit(n: int) -> str:
    return str((n + 1) % 10)


REASONS = {
    "step-skipped": ("it was gone already", "it does not come off on this car", "it stays by our own choice", OTHER),
    "step-deferred": ("a tool or a part is missing", "a second person is missing", "it is seized: soak it", OTHER),
}
QUESTIONS = {"step-skipped": "Skip it: why?", "step-deferred": "Put it off: why?"}


MOST_MILESTONES = 6
"""With the other reasons a digit each: those that come first."""


def ask_why(kind: str, view: StepView, ahead: tuple[Milestone, ...] = ()) -> Choose:
    """Skip a step, or put it off: with a reason, or until one of the milestones `ahead` brings it back."""
    until = {f"until: {milestone.title}": milestone.id for milestone in ahead[:MOST_MILESTONES]}

    def write(desk: Desk, why: str) -> None:
        waits = {"why": "not before then", "until": until[why]} if why in until else {"why": why}
        entry = desk.enter(kind, step=view.ref, **waits)
        if entry is not None:
            desk.say(f"written: {view.laid.step.title}: {why} (entry {entry.n})")

    answers = (*REASONS[kind], *until)
    return Choose(f"{QUESTIONS[kind]} {view.laid.step.title}", answers, _or_typed(QUESTIONS[kind], write))


def ask_power(entry: int) -> Choose:
    """Power came back, which is written: from what?"""
    answers = (
        "a battery was connected",
        "charger, jump pack or memory saver",
        "a lamp, chime, motor or relay was noticed",
        "a source nobody had listed",
        OTHER,
    )

    def write(desk: Desk, why: str) -> None:
        if desk.enter("note", text=f"power came back (entry {entry}): {why}") is not None:
            desk.say(f"written: {why}")

    return Choose(POWER_ASKED, answers, _or_typed("Power came back: how?", write))


def ask_happened() -> Choose:
    """Something that may shut gates; bad air, which cannot wait, first."""
    events = [event for event in EVENTS if event not in ("power", "new-day", "break")]
    return _ask_event(tuple(sorted(events, key=lambda event: event != "air-bad")))


def _ask_event(events: tuple[Event, ...]) -> Choose:
    """One of the events; those that have no digit are asked for behind the last one."""
    here = events if len(events) <= MOST_ANSWERS else events[: MOST_ANSWERS - 1]
    said = {EVENTS[event]: event for event in here}

    def write(desk: Desk, says: str) -> None:
        if says == SOMETHING_ELSE:
            desk.go(_ask_event(events[len(here) :]))
        elif desk.enter("happened", what=said[says], why=says) is not None:
            at_once = " ".join(alarm.do or "" for alarm in alarms(desk.standing.gates))
            desk.say(f"written: {says}. {at_once or 'The gates it shuts are shut'}")

    return Choose("What has happened?", (*said, *((SOMETHING_ELSE,) if len(here) < len(events) else ())), write)


def ask_people(gate_id: str | None = None) -> Sure:
    """How many people are here, you among them: for a gate, or because somebody came or went."""
    counts = ("I am alone", "two people", "three people", "four people")

    def write(desk: Desk, answer: str) -> None:
        if desk.enter("people-here", count=counts.index(answer) + 1) is not None:
            if gate_id is not None and desk.standing.gates[gate_id].stands and (following := gate_to_open(desk)):
                desk.go_to_gate(following)
            desk.say(f"written: {answer}")

    return Sure("How many people are here, you among them?", counts, write, counts[:1], gate_id, DIGITS[len(counts) :])


def ask_worker(desk: Desk) -> Choose:
    """Who is working: whose name stands in the log from now on."""

    def take(desk: Desk, name: str) -> None:
        entry = desk.take_over(name)
        if entry is not None:
            desk.say(f"{name} is working now (entry {entry.n}). For a new person the gates ask again")

    names = (*desk.car.facts.who[:8], OTHER)
    return Choose(f"Who is working? {desk.worker} is, so far", names, _or_typed("Who is working?", take))


def ask_refitted(view: StepView, finish: Callable[[Desk, bool], None]) -> Choose:
    """Fasteners that go straight back are asked for before the step is done."""
    refits = "; ".join(fasteners.counted for fasteners in view.laid.step.refits)
    answers = ("yes, all of it is in its place", "no, not yet")

    def answer(desk: Desk, says: str) -> None:
        if says == answers[0]:
            finish(desk, True)
        else:
            desk.say("not ticked: put it in its place first")

    return Choose(f"In its place? {refits}", answers, answer)


def ask_stored(part: str, name: str, stored: Callable[[Desk], None] = lambda desk: None) -> Sure:
    """Where a part that carries a live module lies now; then `stored`."""

    def write(desk: Desk, where: str) -> None:
        if desk.enter("part-stored", part=part, where=where) is not None:
            stored(desk)
            desk.say(f"written: {name} stored: {where}")

    answers = ("airbag store", "seat store, bolster to a clear space", OTHER)
    chosen = _or_typed(f"Where is {name} stored?", write)
    return Sure(f"LIVE MODULE. Where is it stored? {name}", answers, chosen, at_once=(OTHER,))


def _or_typed(question: str, write: Callable[[Desk, str], None]) -> Callable[[Desk, str], None]:
    """The last answer asks for one's own words."""

    def chosen(desk: Desk, answer: str) -> None:
        if answer == OTHER:
            desk.go(TextPad(question, write))
        else:
            write(desk, answer)

    return chosen
