"""The walk, line by line: it says the step and reads a line. For screen readers and terminals that cannot paint.

The same door as the screen: `enter KIND key=value` takes every entry, and short words take the usual ones.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from io import TextIOWrapper
from threading import Timer
from typing import TextIO

from teardown import units
from teardown.car.asking import question_about_entry
from teardown.car.briefing import (
    Told,
    at_a_glance,
    good_to_know,
    hands_needed,
    hazard_of_gate,
    hazards_of,
    in_words,
    notes_on,
    to_open,
    to_wear,
    why_a_gate,
)
from teardown.car.deadline import welder_words
from teardown.car.door import Car
from teardown.car.fields import WrongEntry
from teardown.car.gates import GateView, alarms
from teardown.car.log import Entry, LogError
from teardown.car.mass import mass_now
from teardown.car.ruling import Refusal
from teardown.car.steps import StepView, next_open, view_step
from teardown.commands.verdict import judged_gate, what_an_answer_changed, why_it_is_shut
from teardown.packs.model import Gate, Hazard
from teardown.text import plain

HELP = """done                 tick this step off        next, before         another step
refitted             tick it off: what goes straight back is in its place
gates                how the gates stand       gate NAME            one gate, line by line
confirm NAME LINE    you have confirmed a line read NAME 1200ppm    a reading
weigh PART 19.4kg    what the scale showed     power, power WHY     power came back
skip WHY  defer WHY  with a reason             note WORDS           a note
defer until=NAME WHY put it off; it comes back by itself when that milestone is reached
people 2             how many are here         undo                 undo the last entry
went POWER DOORS PEOPLE   after a pause: yes, no or unknown for each
answer           questions about the car nobody has answered   answer NAME     what one is about
answer NAME no   or yes, or unknown: whether the car has it   enter rule-answered rule=NAME keep=yes says=4.2
enter KIND key=value      any entry            go PACK.STEP  say  help  quit"""


IN_PROSE = ("note", "skip", "defer", "power")
"""Words that are followed by a sentence."""


@dataclass
class LineWalk:
    """A walk that speaks and listens in lines."""

    car: Car
    worker: str
    out: TextIO
    position: int = 0
    leaving: bool = False
    asked_to_undo: int | None = None
    """The entry that the word just said would undo, said again."""
    bell: Timer | None = None
    """Rings when the wait that runs is over: who waits does not see the time."""
    verbs: dict[str, Callable[[list[str]], object]] = field(init=False)

    def __post_init__(self) -> None:
        self.verbs = {
            "done": lambda _: self._finish(),
            "refitted": lambda _: self._finish(refitted="yes"),
            "next": lambda _: self._turn(1),
            "before": lambda _: self._turn(-1),
            "say": lambda _: self.say_step(),
            "go": self._go,
            "gates": lambda _: self._say_gates(),
            "gate": self._say_gate,
            "confirm": self._confirm,
            "read": self._read,
            "weigh": lambda words: self._enter("part-weighed", _named(words, "part", "reading")),
            "power": self._power,
            "skip": lambda words: self._enter("step-skipped", self._step(why=" ".join(words))),
            "defer": self._defer,
            "note": lambda words: self._enter("note", self._step(text=" ".join(words))),
            "people": lambda words: self._enter("people-here", _named(words, "count")),
            "went": lambda words: self._enter("resumed", _named(words, "power", "doors", "people")),
            "undo": lambda _: self._undo(),
            "answer": self._answer,
            "enter": self._enter_any,
            "help": lambda _: self._say(HELP),
            "quit": lambda _: self._quit(),
        }

    # -- speaking

    def _say(self, text: str) -> None:
        print(plain(text), file=self.out, flush=True)

    def _view(self) -> StepView:
        standing = self.car.now()
        return view_step(standing, standing.state.route.steps[self.position])

    def say_deadline(self) -> None:
        """The date with the welder, once, as the work begins."""
        if words := welder_words(self.car.facts, date.fromisoformat(self.car.clock.now().day)):
            self._say(f"{words[:1].upper()}{words[1:]}.")

    def say_step(self) -> None:
        """The step in front: hazards first, greatest first."""
        view, state = self._view(), self.car.folded
        if state.rehearsal:
            self._say("REHEARSAL: not a car.")
        self._say_alarms()
        mass = mass_now(state)
        if mass.now_kg is not None:
            self._say(f"Car now {units.show_mass(mass.now_kg, state.facts.mass_unit)}.")
        hazards = hazards_of(state, view)
        for hazard in hazards:
            self._say(_hazard_line(hazard))
        self._say_told(to_wear(hazards))
        self._say(f"Step {self.position + 1} of {len(state.route.steps)}: {view.laid.step.title}. {view.ref}.")
        self._say(f"{view.state}. {view.why}" if view.why else f"{view.state}.")
        if view.shut_by:
            self._say(f"Shut by: {', '.join(shut.gate.id for shut in view.shut_by)}. Say: gate NAME")
        if view.ref in state.route.pack_begins:
            self._say(f"Here begins: {view.laid.pack.title}. {view.laid.pack.why}")
        self._say_told(hands_needed(view))
        self._say(view.laid.step.do)
        self._say_told(*at_a_glance(state, view), *notes_on(state, view), *good_to_know(state, view))
        if view.laid.step.parts:
            self._say(f"To weigh: {', '.join(part.id for part in view.laid.step.parts)}")
        if (questions := self.car.now().state.gates.questions) is not None:
            self._say(f"{questions}. What has happened? Say: went POWER DOORS PEOPLE, yes, no or unknown for each.")

    def _say_told(self, *told: Told) -> None:
        for label, text in told:
            if text:
                self._say(f"{label} {text}")

    def _say_alarms(self) -> None:
        """What bad air asks for comes before everything else."""
        for alarm in alarms(self.car.now().gates):
            self._say(f"{alarm.gate.title}: {alarm.do}")

    def _say_gates(self) -> None:
        standing = self.car.now()
        for gate in standing.state.route.gates_in_use():
            self._say(_gate_line(standing.gates[gate]))

    def _say_gate(self, words: list[str]) -> None:
        view = self.car.now().gates.get(words[0] if words else "")
        if view is None:
            self._say("No such gate. Say: gates")
            return
        hazard = hazard_of_gate(self.car.folded, view.gate.id, self._view().laid)
        if hazard is not None:
            self._say(_hazard_line(hazard))
            self._say_told(to_wear([hazard]))
        self._say(_gate_line(view))
        for tick in view.ticks:
            self._say(f"Line {tick.n}, {'confirmed' if tick.done else 'open'}: {tick.says}")
        if view.wait_left_s:
            self._say(f"{view.wait_left_s / 60:.1f} minutes left.")
        self._say_told(*to_open(view), *why_a_gate(view, hazard))

    def _say_next(self, gate: str) -> None:
        """What comes after a line that was confirmed: the next one of that gate, or how it stands."""
        view = self.car.now().gates[gate]
        following = next((tick for tick in view.ticks if not tick.done), None)
        self._say(_gate_line(view) if following is None else f"Line {following.n}: {following.says}")

    # -- doing

    def _step(self, **fields: str) -> dict[str, str]:
        """The fields of an entry on the step in front."""
        return {"step": self._view().ref, **fields}

    def obey(self, line: str) -> None:
        """One line: a verb and its words."""
        said, _, rest = line.strip().partition(" ")
        if not said:
            return
        verb = self.verbs.get(said.lower())
        if verb is None:
            self._say(f"No such word: {said}. Say: help")
            return
        asked = self.asked_to_undo
        try:
            verb(_words(rest, in_prose=said.lower() in IN_PROSE))
        except ValueError as error:
            self._say(f"Not understood: {error}. Say: help")
        if self.asked_to_undo == asked:
            self.asked_to_undo = None
        self._set_the_bell()

    def _enter(self, kind: str, fields: Mapping[str, str]) -> Entry | None:
        """Make an entry and say what came of it; None when nothing was written."""
        before = self.car.now()
        try:
            result = self.car.enter(kind, fields, self.worker)
        except (WrongEntry, LogError) as error:
            self._say(f"Not written: {error}")
            return None
        if isinstance(result, Refusal):
            self._say(f"Refused: {result.why}" + (f". Gate: {result.gate}" if result.gate else ""))
            return None
        self._say(f"Written: entry {result.n}, {in_words(self.car.folded, result)}.")
        if question := question_about_entry(self.car.folded, result):
            self._say(question)
        if kind == "gate-reading":
            self._say_alarms()
        after = self.car.now()
        for line in (*why_it_is_shut(judged_gate(after, result)), *what_an_answer_changed(before, after, result)):
            self._say(line)
        return result

    def _finish(self, **refitted: str) -> None:
        """Tick the step off; on to the next, unless what came off is to be weighed."""
        view = self._view()
        if self._enter("step-done", self._step(**refitted)) is None:
            return
        unweighed = [part.id for part in view.laid.step.parts if self.car.folded.weight_of(part.id) is None]
        if unweighed:
            self._say(f"To weigh now: {', '.join(unweighed)}. Then say: next")
        else:
            self.position = next_open(self.car.now(), self.position)
            self.say_step()

    def _confirm(self, words: list[str]) -> None:
        if self._enter("gate-tick", _named(words, "gate", "tick")) is not None:
            self._say_next(words[0])

    def _read(self, words: list[str]) -> None:
        if self._enter("gate-reading", _named(words, "gate", "value")) is not None:
            view = self.car.now().gates[words[0]]
            if view.stands:  # why it does not is told already
                self._say(_gate_line(view))

    def _defer(self, words: list[str]) -> None:
        """What is put off, with `until=` among the words: until that milestone."""
        until = [word.removeprefix("until=") for word in words if word.startswith("until=")]
        why = " ".join(word for word in words if not word.startswith("until="))
        self._enter("step-deferred", self._step(why=why, **({"until": until[-1]} if until else {})))

    def _answer(self, words: list[str]) -> None:
        """A question about the car is answered; with its name alone it is told; without, those that are open."""
        from teardown.car.answers import loss_of, questions_of

        state = self.car.folded
        if len(words) > 1:
            self._enter("car-answered", _named(words, "feature", "fitted"))
        elif not words:
            for one in questions_of(state):
                if one.is_open:
                    self._say(f"{'Rule ' if one.table == 'rules' else ''}{one.name}: {one.asks}")
        elif (feature := state.route.library.features.get(words[0])) is None:
            self._say("No such question. Say: answer")
        else:
            loss = loss_of(state.route, state.facts, feature.id).in_words()
            self._say(feature.asks)
            self._say_told(("Look for:", feature.look_for or ""), ("With no nobody asks for:", loss))

    def _enter_any(self, words: list[str]) -> None:
        if not words:
            self._say("Say: enter KIND key=value")
            return
        pairs = [word.partition("=") for word in words[1:]]
        self._enter(words[0], {key: value for key, _, value in pairs})

    def _power(self, words: list[str]) -> None:
        """At once; how, if it is known."""
        self._enter("power-restored", {"why": " ".join(words)} if words else {})

    def _undo(self) -> None:
        n = self.car.folded.last_undoable()
        if n is None:
            self._say("Nothing can be undone.")
            return
        what = self.car.said_of(n)
        if self.asked_to_undo != n and (why := self.car.why_not_at_once(n)):
            self.asked_to_undo = n
            self._say(f"Not undone: {why}. Say undo again to take back {what}.")
        elif self._enter("undo", {"entry": str(n)}) is not None:
            self._say(f"Undone: {what}.")

    def _turn(self, by: int) -> None:
        last = len(self.car.folded.route.steps) - 1
        self.position = min(max(self.position + by, 0), last)
        self.say_step()

    def _go(self, words: list[str]) -> None:
        refs = [step.ref for step in self.car.folded.route.steps]
        if not words or words[0] not in refs:
            self._say("No such step. Say: go PACK.STEP")
            return
        self.position = refs.index(words[0])
        self.say_step()

    def _quit(self) -> None:
        self.leaving = True

    # -- waiting

    def _set_the_bell(self) -> None:
        """For the first of the waits that run, as they stand now."""
        self.hush()
        standing = self.car.now()
        runs = (view for view in standing.gates.values() if standing.state.gates[view.gate.id].since is not None)
        left = [(view.wait_left_s, view.gate) for view in runs if view.wait_left_s]
        if left and not self.leaving:
            left_s, gate = min(left, key=lambda one: one[0])
            self.bell = Timer(left_s, self._ring, [gate])
            self.bell.daemon = True
            self.bell.start()

    def _ring(self, gate: Gate) -> None:
        self.out.write("\a")
        self._say(f"{gate.title}: its time has run. Say: gate {gate.id}")

    def hush(self) -> None:
        if self.bell is not None:
            self.bell.cancel()


def walk_in_lines(car: Car, worker: str, lines: Iterable[str], out: TextIO) -> None:
    """Say the first open step, then obey line by line until `quit` or the end of the input."""
    if car.can_write:
        car.open_session(worker)
    walk = LineWalk(car, worker, out)
    walk.say_deadline()
    walk.position = next_open(car.now(), -1)
    walk.say_step()
    if isinstance(lines, TextIOWrapper):  # a byte that is not UTF-8 is no reason to stop
        lines.reconfigure(errors="replace")
    try:
        for line in lines:
            walk.obey(line)
            if walk.leaving:
                return
    finally:
        walk.hush()


def _named(words: list[str], *keys: str) -> dict[str, str]:
    """Words by position; what is missing is told by the entry itself."""
    return dict(zip(keys, words, strict=False))


def _words(rest: str, in_prose: bool) -> list[str]:
    """Words in quotes are one; in prose a quotation mark that stands alone is an apostrophe. Raises ValueError else."""
    try:
        return shlex.split(rest)
    except ValueError:
        if not in_prose:
            raise
        return rest.split()


def _hazard_line(hazard: Hazard) -> str:
    return f"{hazard.signal}. {hazard.title}. {hazard.happens} {hazard.avoid}"


def _gate_line(view: GateView) -> str:
    return f"{'Stands' if view.stands else 'Shut'}: {view.gate.title} ({view.gate.id}). {view.tells}"
