"""What the form asks for each kind of entry: one table. What is needed, and what may be chosen, the entries say."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from typing import Literal, NamedTuple, get_args, get_origin

from pydantic.fields import FieldInfo

from teardown.car.asking import question_about_entry
from teardown.car.entries import KINDS
from teardown.car.scrap import GROUPS
from teardown.car.state import State
from teardown.car.tally import all_lines, line_ids, name_of, sales_by_part, scrapped_by_part
from teardown.screens.desk import Desk
from teardown.screens.fields import Answer, ChoiceField, Field, NumberField, NumbersField, TextField
from teardown.screens.places.choose import OTHER
from teardown.screens.places.form import Form, Question

LONGEST_AMOUNT = 10


class Asked(NamedTuple):
    """What a question is asked of: the car, what the entry says of this word, and what is given already."""

    state: State
    word: FieldInfo
    given: Mapping[str, str]


Make = Callable[[Asked], Field]


class Ask(NamedTuple):
    """One question: the entry's word, how it is asked, what answers it, and a hint beyond what the entry says."""

    key: str
    asks: str
    make: Make
    hint: str = ""


class Asks(NamedTuple):
    """What is asked for one kind of entry. What is needed comes first."""

    title: str
    questions: tuple[Ask, ...]


# -- what answers a question


def line(asked: Asked) -> Field:
    return TextField()


def money(asked: Asked) -> Field:
    return NumberField(beside=asked.state.currency, longest=LONGEST_AMOUNT)


def mass(asked: Asked) -> Field:
    return NumberField(asked.state.facts.mass_unit)


def minutes(asked: Asked) -> Field:
    return NumberField("min")


def times(asked: Asked) -> Field:
    return NumbersField("s")


def pick(asked: Asked) -> Field:
    """One of what the entry allows."""
    annotation = asked.word.annotation
    if annotation is bool:
        return ChoiceField([Answer("yes", "yes"), Answer("no", "no")])
    literals = (one for one in (annotation, *get_args(annotation)) if get_origin(one) is Literal)
    return ChoiceField([Answer(str(value), str(value)) for one in literals for value in get_args(one)])


def said_before(known: Callable[[State], Iterable[str]]) -> Make:
    """What was said before is a digit away, so that it is spelled the same; else it is typed."""

    def make(asked: Asked) -> Field:
        before = sorted({text for text in known(asked.state) if text})
        if not before:
            return TextField()
        return ChoiceField([*(Answer(text, text) for text in before), Answer(OTHER, OTHER)])

    return make


def part_of(known: Callable[[Asked], Iterable[str]], several: bool = False) -> Make:
    """A part, or several, by the names they have on the parts bench."""

    def make(asked: Asked) -> Field:
        parts = list(known(asked))
        names = [name_of(asked.state, part) for part in parts]
        times = Counter(names)
        says = (name if times[name] == 1 else f"{name} ({part})" for part, name in zip(parts, names, strict=True))
        return ChoiceField([Answer(*one) for one in zip(parts, says, strict=True)], several)

    return make


def _sold(asked: Asked) -> Iterable[str]:
    return sales_by_part(asked.state)


def _may_go_along(asked: Asked) -> list[str]:
    """Every other part that is unsold."""
    state, sold = asked.state, sales_by_part(asked.state)
    unsold = [part for part in line_ids(state) if part not in sold and part != asked.given.get("part")]
    return _likely_first(state, "sell", unsold)


def _to_scrap(asked: Asked) -> list[str]:
    """What is off and still here; first what is to be scrapped."""
    state, gone = asked.state, {*sales_by_part(asked.state), *scrapped_by_part(asked.state)}
    off = (line for line in all_lines(state) if line.out and not line.live and line.id not in gone)
    return _likely_first(state, "scrap", (line.id for line in off))


def _likely_first(state: State, fate: str, parts: Iterable[str]) -> list[str]:
    """First what has that fate, then what is off the car; else in working order."""
    return sorted(
        parts, key=lambda part: (state.fate_of(part) != fate, part in state.route.parts and not state.is_out(part))
    )


def _takers(state: State) -> Iterable[str]:
    return (known.handed.last.to for known in state.parts.values() if known.handed.last)


# -- the table

ASKS: Mapping[str, Asks] = {
    "cost": Asks(
        "COST",
        (
            Ask("amount", "How much", money),
            Ask("what", "For what", line),
            Ask("of", "What kind", pick),
            Ask("receipt", "Receipt", line, "its number, or where it lies"),
        ),
    ),
    "listed": Asks(
        "LISTED",
        (
            Ask("ask", "Asked", money),
            Ask("floor", "The floor", money, "the least you would take"),
            Ask("along", "Offered along with it", part_of(_may_go_along, several=True), "a lot, for one price"),
            Ask("grade", "Grade", pick),
            Ask("fits", "Fits", line, "which cars, which years"),
            Ask("number", "Part number", line),
            Ask("colour", "Colour", line),
            Ask("faults", "Faults", line),
            Ask("tested", "Tested", line, "how, and when"),
            Ask("included", "Included", line),
            Ask("size", "Size", line, "like 60x40x30cm"),
            Ask("where", "Where", line, "where it is offered"),
            Ask("collection", "Collection only", pick),
        ),
    ),
    "sold": Asks(
        "SOLD",
        (
            Ask("amount", "Money in hand", money),
            Ask("along", "Sold along with it", part_of(_may_go_along, several=True)),
            Ask("fees", "Fees", money),
            Ask("packing", "Packing", money),
            Ask("carriage", "Carriage", money),
            Ask("to", "To whom", line),
        ),
    ),
    "refunded": Asks(
        "REFUND",
        (
            Ask("part", "Which part", part_of(_sold)),
            Ask("amount", "Money given back", money),
            Ask("why", "Why", line),
            Ask("returned", "Is the part back", pick, "yes: it is unsold again"),
        ),
    ),
    "scrap-ticket": Asks(
        "SCRAP TICKET",
        (
            Ask("reading", "The yard weighed", mass),
            Ask("amount", "The yard paid", money),
            Ask("material", "Material", said_before(lambda _: GROUPS)),
            Ask("parts", "Which parts", part_of(_to_scrap, several=True), "none: all of that material that waits"),
            Ask("ticket", "Ticket number", line),
        ),
    ),
    "handed-over": Asks(
        "HANDED OVER",
        (
            Ask("to", "To whom", said_before(_takers), "who took it"),
            Ask("paper", "Their paper", line, "what, number, date"),
        ),
    ),
    "run-timed": Asks(
        "TIMED RUNS",
        (
            Ask(
                "what",
                "What was timed",
                said_before(lambda state: (one.what for one in state.runs)),
                "0 to 80 km/h",
            ),
            Ask("times", "Each time", times, "after each time [enter]; after the last, [enter] alone"),
            Ask("conditions", "Conditions", line, "fuel, driver, tyres, wind"),
        ),
    ),
    "part-stored": Asks("STORED", (Ask("where", "Where it lies", line),)),
    "part-fate": Asks("LIVE MODULE", (Ask("rule", "Which local rule allows selling it", line),)),
    "photo": Asks(
        "PHOTO",
        (
            Ask("file", "Its path", line, "type it, or drag the file here"),
            Ask("says", "What it shows", line),
        ),
    ),
    "gate-signed": Asks(
        "SIGNED",
        (
            Ask("by", "Who licensed did it", line, "name and licence"),
            Ask("paper", "Their paper", line, "what, number, date"),
        ),
    ),
    "rule-answered": Asks(
        "RULE",
        (
            Ask("keep", "Does it stay", pick),
            Ask("says", "Where the rule book says so", line, "4.2, or who says so"),
        ),
    ),
    "manual-wait": Asks(
        "SERVICE MANUAL",
        (
            Ask("page", "Which book and page says how long", line),
            Ask("wait", "The wait it asks for", minutes),
        ),
    ),
}


HOW_IT_STANDS = (
    Ask("fuel", "Fuel in the tank", line, "like 40L"),
    Ask("driver", "Driver or ballast", mass),
    Ask("contents", "Contents", mass),
    Ask("tyres", "Tyres", line, "like 2.2 bar all round, cold"),
    Ask("conditions", "What else", line, "doors, brake, wind, floor"),
    Ask("way", "Weighed on", pick),
    Ask("step", "The step of these scales", mass, "else as car.toml has it"),
)
"""Asked before the car is weighed."""


def ask_for(desk: Desk, kind: str, about: str = "", before: Mapping[str, str] | None = None, **given: str) -> Form:
    """The form for one entry. `given` is known already; `before` stands from before and may be changed."""
    title = ASKS[kind].title
    asked = [ask for ask in ASKS[kind].questions if ask.key not in given]
    questions = _questions(desk, kind, asked, before or {}, **given)

    def write(desk: Desk, answers: Mapping[str, str]) -> bool:
        entry = desk.enter(kind, **given, **answers)
        if entry is None:
            return False
        told = ", ".join(question.field.shown for question in questions if question.field.answer)
        desk.back()
        question = question_about_entry(desk.standing.state, entry)
        desk.say(f"written: {f'{title} {about}'.strip()}: {told} (entry {entry.n}){question and f'. {question}'}")
        return True

    return Form(title, about, questions, write)


def ask_how_it_stands(desk: Desk, stood: dict[str, str]) -> Form:
    """How the car stands on the scales: kept in `stood`, to be written with what they show."""

    def keep(desk: Desk, answers: Mapping[str, str]) -> bool:
        stood.clear()
        stood.update(answers)
        desk.back()
        return True

    return Form("HOW IT STANDS", "", _questions(desk, "car-weighed", HOW_IT_STANDS, stood), keep, "KEEP")


def _questions(
    desk: Desk, kind: str, asks: Iterable[Ask], before: Mapping[str, str], **given: str
) -> tuple[Question, ...]:
    """Questions about words of an entry of that kind."""
    state, known = desk.standing.state, KINDS[kind].model_fields
    return tuple(_question(ask, Asked(state, known[ask.key], given), before.get(ask.key)) for ask in asks)


def _question(ask: Ask, asked: Asked, before: str | None) -> Question:
    field = ask.make(asked)
    if before is not None:
        field.begin(before)
    return Question(ask.key, ask.asks, field, asked.word.is_required(), ask.hint or asked.word.description or "")
