"""The questions about the car: how each is answered now, what a no takes away, and the answer written into car.toml.

car.toml stays the one truth of what the car has; the log says who said so, and when. Two files cannot be written at
once: whichever keeps more shut is on the disk first. A no is in the log first, so that a car that died in between still
counts the thing as fitted, and the next opening tells of the answer. Any other answer is in car.toml first.
"""

from __future__ import annotations

import codecs
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from teardown.car.disk import reason, replacement
from teardown.car.facts import FACTS, Facts, facts_text_at, parse_facts
from teardown.car.facts_edit import CannotEdit, with_feature, with_rule
from teardown.car.log import CannotWrite
from teardown.car.state import State
from teardown.car.steps import StepView
from teardown.packs.model import Feature, Gate, Module
from teardown.packs.route import Route, RouteStep, lay_route
from teardown.text import counted

KINDS = ("car-answered", "rule-answered")
"""The entries whose answer is written into car.toml too."""
SAID = {True: "yes", False: "no", None: "unknown"}
FITTED = {said: fitted for fitted, said in SAID.items()}


# -- how it is answered


def answer_now(state: State, feature: str) -> str:
    """yes, no or unknown: what car.toml says of a feature, and what follows from that."""
    return SAID[state.route.shape.fitted.get(feature)]


def rule_now(state: State, rule: str) -> str:
    """yes, no or unknown: whether what a rule is about stays, as car.toml says."""
    answer = state.facts.rules.get(rule)
    return SAID[None if answer is None else answer.keep]


def settled_by(state: State, feature: Feature) -> str:
    """What answers a question that nobody answered for itself; empty where that is nothing."""
    if feature.fuel is not None and feature.fuel == state.facts.fuel:
        return f"by fuel = {feature.fuel}"
    if feature.only_if and feature.id not in state.facts.fitted and answer_now(state, feature.id) == "no":
        return f"by {feature.only_if}"
    return ""


def open_features(state: State) -> tuple[str, ...]:
    """The questions that neither an answer nor what follows from one has settled."""
    return tuple(name for name in state.route.library.features if answer_now(state, name) == "unknown")


def open_rules(state: State) -> tuple[str, ...]:
    """The rules that keep a step of this car waiting until they are answered."""
    waiting = (step.step.keep_rule for step in state.route.steps if step.unanswered and not step.not_fitted)
    return tuple(dict.fromkeys(rule for rule in waiting if rule is not None))


class Asked(NamedTuple):
    """One question by its key in car.toml, `fitted.sunroof` or `rules.lamps`; how it is answered, and whether it waits
    for an answer."""

    key: str
    asks: str
    answer: str
    is_open: bool

    @property
    def table(self) -> str:
        return self.key.partition(".")[0]

    @property
    def name(self) -> str:
        return self.key.partition(".")[2]


def questions_of(state: State) -> tuple[Asked, ...]:
    """Every question about the car: what it has, then what the rule book says must stay."""
    library = state.route.library
    open_has, open_keeps = {*open_features(state)}, {*open_rules(state)}  # a rule may bear the name of a feature
    has = (
        Asked(f"fitted.{name}", one.asks, answer_now(state, name), name in open_has)
        for name, one in library.features.items()
    )
    keeps = (
        Asked(f"rules.{name}", one.asks, rule_now(state, name), name in open_keeps)
        for name, one in library.rules.items()
    )
    return (*has, *keeps)


def question_of_step(state: State, view: StepView) -> str | None:
    """The question that a step hangs on, by its key: what keeps it waiting, or was answered so that it is not done;
    then what nobody has answered, of the step or of what shuts it."""
    laid = view.laid
    if not laid.not_fitted and laid.step.keep_rule and (laid.unanswered or laid.kept):
        return f"rules.{laid.step.keep_rule}"
    in_parts = (name for part in laid.step.parts for name in part.has)
    of_gates = (name for shut in view.shut_by for name in state.route.shape.unanswered(shut.gate.has))
    features = (*laid.pack.has, *laid.step.has, *laid.step.has_any, *in_parts, *of_gates)
    by_answer = {answer_now(state, name): f"fitted.{name}" for name in reversed(features)}
    return by_answer.get("no" if laid.not_fitted else "unknown")


def question_of_module(state: State, module: Module) -> str | None:
    """The question that rules a module out, by its key: the first that nobody has answered."""
    by_answer = {answer_now(state, name): f"fitted.{name}" for name in reversed(module.has)}
    return by_answer.get("unknown") or by_answer.get("yes")


def question_of_gate(state: State, gate: Gate) -> str | None:
    """The question that rules a gate out, by its key."""
    unanswered = state.route.shape.unanswered(gate.has) or gate.has
    return f"fitted.{unanswered[0]}" if unanswered else None


def who_said(state: State, key: str) -> str:
    """Who answered it last on the screen or with a command, and when; `key` as in car.toml, like `fitted.sunroof`."""
    answers = state.answers.get(key)
    last = answers.last if answers else None
    return "" if answers is None or last is None else f"{last.who}, {last.utc[:10]}, entry {answers.last_entry}"


def said_otherwise(state: State) -> Iterator[str]:
    """Where car.toml does not say what was last answered here: somebody has changed it by hand, or the program was
    killed between the two."""
    library = state.route.library
    for key, answers in state.answers.items():
        table, _, name = key.partition(".")
        asked = library.features.get(name) if table == "fitted" else library.rules.get(name)
        if asked is None or answers.last is None:
            continue
        there = SAID[state.facts.fitted.get(name)] if table == "fitted" else rule_now(state, name)
        if there != answers.last.says:
            said = f"answered {_in_words(answers.last.says)} ({who_said(state, key)})"
            yield f"{asked.asks} Here it was {said}. car.toml says {_in_words(there)}, and that counts"


def _in_words(said: str) -> str:
    return "NOT KNOWN" if said == "unknown" else said.upper()


# -- what a no takes away


class Loss(NamedTuple):
    """What nobody is asked for any more once the car does not have a feature."""

    modules: tuple[str, ...]
    """The live modules that are counted no more, by name."""
    others: tuple[str, ...]
    """Modules that are counted where less is asked of them, sources of power, gates."""
    steps: tuple[RouteStep, ...]

    @property
    def is_safety(self) -> bool:
        """Whether somebody gets hurt where the answer is wrong: then it takes two keys, as a safety tick does."""
        return bool(self.modules or self.others or any(step.step.hazards for step in self.steps))

    def in_words(self, briefly: bool = False) -> str:
        """In few words modules and steps are counted, not named."""
        live = [f"LIVE {name}" for name in self.modules]
        steps = [f"the step {step.step.title}" for step in self.steps]
        if briefly:
            live = [counted(len(live), "LIVE module")] if live else []
            steps = [counted(len(steps), "step")] if steps else []
        return ", ".join((*live, *self.others, *steps))


def loss_of(route: Route, facts: Facts, feature: str) -> Loss:
    """What the answer no takes away, held against yes."""
    there, gone = (_laid_with(route, facts, feature, fitted) for fitted in (True, False))
    library = route.library
    still_counted = {module.id for module in gone.modules}
    elsewhere = (there.outside ^ gone.outside) & still_counted
    others = (
        *(f"{library.modules[name].name} as one inside the cabin" for name in sorted(elsewhere)),
        *(["a source of power"] if there.sources - gone.sources else []),
        *(f"the gate {gate.title}" for gate in library.gates.values() if _is_gone(there, gone, gate.has)),
    )
    steps = zip(there.steps, gone.steps, strict=True)
    return Loss(
        modules=tuple(module.name for module in there.modules if module.id not in still_counted),
        others=others,
        steps=tuple(without for laid, without in steps if without.not_fitted and not laid.not_fitted),
    )


def _laid_with(route: Route, facts: Facts, feature: str, fitted: bool) -> Route:
    shape = facts.shape
    return lay_route(route.library, shape._replace(fitted={**shape.fitted, feature: fitted}))


def _is_gone(there: Route, gone: Route, has: tuple[str, ...]) -> bool:
    return gone.shape.has_none_of(has) and not there.shape.has_none_of(has)


def what_shows_it(state: State, feature: str) -> str:
    """What was written of a part that only a car with this feature carries: it was weighed, taken off, stored; or of a
    live module that somebody has seen fitted."""
    there, gone = (_laid_with(state.route, state.facts, feature, fitted) for fitted in (True, False))
    for module in there.modules:
        seen = state.listed_fitted.get(module.id)
        if seen is not None and not gone.may_carry(module.id) and not state.is_not_there(module.id):
            return f"entry {seen.last_entry} names {module.name} as still fitted (not-there takes that back)"
    for name, part in there.parts.items():
        known = state.parts.get(name)
        if not part.fitted or gone.parts[name].fitted:
            continue
        series = (known.out, known.weight, known.stored, known.handed, known.listed) if known is not None else ()
        lies_about = any(state.module_account(module) is None for module in part.part.modules)
        off = state.out_since(name) if lies_about else 0  # a live module off with its step is not answered away
        if told := max([off, *(one.last_entry for one in series)]):
            return f"entry {told} tells of {part.part.name}"
    return ""


# -- writing it


class Changed(NamedTuple):
    """A car.toml with an answer in it: what it says, its bytes as they are to be, and as they were."""

    path: Path
    facts: Facts
    content: bytes
    before: bytes

    @contextmanager
    def ready(self) -> Iterator[Callable[[], str]]:
        """On the disk beside it. What this gives puts it in its place, and says why it did not get there. Raises
        CannotWrite while nothing has changed."""
        with ExitStack() as beside:
            try:
                put_in_place = beside.enter_context(replacement(self.path, self.content))
            except OSError as error:
                raise nothing_written(error) from error

            def put() -> str:
                try:
                    if self.path.read_bytes() != self.before:
                        return "another program has changed it this very moment"
                    put_in_place()
                except OSError as error:
                    return reason(error)
                return ""

            yield put

    def is_there(self, if_unread: bool) -> bool:
        """Whether the file holds the answer now; `if_unread` where that cannot be read."""
        try:
            return self.path.read_bytes() == self.content
        except OSError:
            return if_unread


def nothing_written(error: OSError) -> CannotWrite:
    return CannotWrite(f"{FACTS} cannot be written: {reason(error)}. Nothing was changed")


def changed(folder: Path, there: Facts, kind: str, fields: Mapping[str, Any], day: str) -> Changed:
    """car.toml as it lies there, with the answer put in; `there` is what the answer was judged by. Raises FactsError,
    CannotEdit or CannotWrite."""
    path = folder / FACTS
    text = facts_text_at(path)
    try:
        before = path.read_bytes()
    except OSError as error:
        raise nothing_written(error) from error
    if before.decode("utf-8-sig", "replace") != text or parse_facts(text) != there:
        raise CannotEdit(f"{FACTS} is being changed this very moment: nothing was changed. Answer again")
    if kind == "car-answered":
        text = with_feature(text, fields["feature"], FITTED[fields["fitted"]])
    else:
        answer = {"keep": fields["keep"], "rule": fields["says"], "date": date.fromisoformat(day)}
        text = with_rule(text, fields["rule"], answer)
    mark = codecs.BOM_UTF8 if before.startswith(codecs.BOM_UTF8) else b""
    return Changed(path, parse_facts(text), mark + text.encode(), before)


def opens_something(kind: str, fields: Mapping[str, Any]) -> bool:
    """Whether an answer may let more be done than the one before it."""
    return not fields["keep"] if kind == "rule-answered" else bool(fields["fitted"] == "no")
