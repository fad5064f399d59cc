"""Rules on words: a step that reads as hazardous is marked so, and warnings are written as warnings are."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from teardown.packs.model import Hazard, Step
from teardown.packs.problems import Problem, shown
from teardown.packs.reader import Library


class Topic(NamedTuple):
    """A danger: the hazards that answer to it, the words that speak of it, and phrases with such a word that do not."""

    hazards: tuple[str, ...]
    words: re.Pattern[str]
    harmless: re.Pattern[str] | None = None


def _words(pattern: str) -> re.Pattern[str]:
    """`pattern` as whole words, in small or capital letters."""
    return re.compile(rf"(?<![\w-])(?:{pattern})(?!\w)", re.IGNORECASE)


TOPICS: dict[str, Topic] = {
    "airbag": Topic(
        ("airbag", "airbag-charged", "stored-airbag", "uncounted-airbag"),
        _words(
            r"air[ -]?bags?|(?:curtain|side|seat|knee|driver|passenger) bags?|pre-?tensioners?|inflators?|igniters?"
            r"|squibs?|pyrotechnics?|yellow (?:plug|connector)s?|(?-i:SRS)"
        ),
        _words(r"(?:tyre|tire) inflators?"),
    ),
    "dry-ice": Topic(
        ("dry-ice", "ice-outside", "ice-gas"),
        _words(r"(?:dry[ -])?ice|solid carbon dioxide"),
        _words(r"ice scrapers?"),
    ),
    "hot-work": Topic(
        ("hot-work",),
        _words(
            r"(?:re-?|tack[ -]?)?weld(?:s|ed|ing)?|(?:grind|grinds|grinding)|(?:angle[ -])?grinders?|brazing"
            r"|plasma cut(?:s|ter|ters|ting)?|blow-?(?:lamp|torche?)s?|(?:cutting|gas|propane) torch(?:es)?"
        ),
        _words(r"(?:spot|seam)[ -]weld(?:s|ed)?|weld(?:ed)?[ -](?:nut|stud|flange)s?|weld-through"),
    ),
    "drilling": Topic(
        ("drilling", "hot-work"),
        _words(r"drill(?:s|ed|ing)?|hacksaws?|jigsaws?|nibblers?"),
    ),
    "glass": Topic(
        ("glass",),
        _words(r"glass|panes?|wind-?(?:screen|shield)s?|rear (?:screen|windshield)s?|quarter[ -](?:light|window)s?"),
        _words(r"glass[ -](?:fibre|fiber|wool|mat|cloth|filled)s?|wind-?(?:screen|shield) (?:wiper|washer)s?"),
    ),
    "fuel": Topic(
        ("fuel",),
        _words(r"(?:re-?|de-?)?fuel(?:s|l?ed|l?ing)?|petrol|gasoline|diesel|gas (?:tank|can|cap|line)s?"),
    ),
    "refrigerant": Topic(("refrigerant",), _words(r"refrigerants?|R-?(?:12|134a|1234yf)|(?-i:HFO)")),
    "high-voltage": Topic(
        ("high-voltage",),
        _words(
            r"high[ -]voltage|(?-i:HV)|orange (?:cable|loom|harness|wire|plug)s?|traction batter(?:y|ies)"
            r"|48[ -]?(?:V|volts?)"
        ),
    ),
}
"""What a step may not speak of without meeting the hazard, in British and American words."""

LONGEST_STEP_TITLE = 52
LONGEST_WARNING = {"title": 40, "happens": 120, "avoid": 200}
LONGEST_WEAR = 40
"""So that a warning reads at arm's length on 60 columns."""

# ANSI Z535.6: DANGER will, WARNING could result in death or serious injury; CAUTION could result in minor or moderate
# injury; NOTICE is about practices without injury.
_DEATH = r"kill(?:s|ed)?|deaths?|deadly|die[sd]?|fatal(?:ly)?|electrocut\w+"
_DEADLY = _words(_DEATH)
_GRAVE = _words(rf"{_DEATH}|crush(?:es|ed)?|maims?|blinds?|serious(?:ly)? (?:injur\w+|hurt)")
_INJURY = _words(rf"{_DEATH}|crush(?:es|ed)?|maims?|blinds?|injur\w+|hurts?|wounds?|burns?|scalds?|poison(?:s|ous)?")
_PERHAPS = _words(r"could|might|may")
_SIGNAL_WORDS = re.compile(r"\b(?:DANGER|WARNING|CAUTION|NOTICE)\b")


def hazardous_words_carry_their_hazard(library: Library) -> Iterator[Problem]:
    """A step that speaks of airbags, ice, sparks, drill, glass, fuel, refrigerant or high voltage meets that hazard."""
    for reference, step in library.steps.items():
        met = set(library.hazards_of(reference))
        for name, topic in TOPICS.items():
            if name in step.mentions or met & set(topic.hazards):
                continue
            spoken = first_spoken(step, topic)
            if spoken is not None:
                key, word = spoken
                wanted = f"the hazard `{name}` on this step; a pack that ships may say in mentions.{name} why not"
                yield library.problem("step", reference, key, f"the word {shown(word)}", wanted)


def mentions_are_called_for(library: Library) -> Iterator[Problem]:
    """Only a hazard that the words speak of, or that all steps meet and this one does not, stands under mentions."""
    for reference, step in library.steps.items():
        pack = library.by_id[reference.partition(".")[0]]
        for name in step.mentions:
            shared = (*pack.hazards, *library.everywhere)
            wanted = None if name in shared and name not in step.hazards else _why_uncalled(step, name)
            if wanted is not None:
                yield library.problem("step", reference, f"mentions.{name}", f"`{name}`", wanted)


def step_titles_are_short(library: Library) -> Iterator[Problem]:
    """A step's title fits on one line of the card."""
    for reference, step in library.steps.items():
        if len(step.title) > LONGEST_STEP_TITLE:
            found = f"{len(step.title)} characters"
            yield library.problem("step", reference, "title", found, f"at most {LONGEST_STEP_TITLE}")


def warnings_are_short(library: Library) -> Iterator[Problem]:
    """A warning says what, what happens and how to avoid it in few words, for a small screen at arm's length."""
    for hazard in library.hazards.values():
        for key, longest, text in _lengths(hazard):
            if len(text) > longest:
                found = f"{len(text)} characters"
                yield library.problem("hazard", hazard.id, key, found, f"at most {longest}, to be read on 60 columns")


def warnings_are_sentences(library: Library) -> Iterator[Problem]:
    """The title is a heading, what happens and how to avoid it are sentences, and none repeats a signal word."""
    for hazard in library.hazards.values():
        if hazard.title.endswith("."):
            yield library.problem("hazard", hazard.id, "title", shown(hazard.title), "a heading without a full stop")
        for key in ("happens", "avoid"):
            text = getattr(hazard, key)
            if text[-1] not in ".!":
                yield library.problem("hazard", hazard.id, key, shown(text), "whole sentences, each with its full stop")
        for key in ("title", "happens", "avoid"):
            word = _SIGNAL_WORDS.search(getattr(hazard, key))
            if word:
                wanted = "words other than the signal words, which stand under signal"
                yield library.problem("hazard", hazard.id, key, shown(word[0]), wanted)


def signal_words_fit_what_happens(library: Library) -> Iterator[Problem]:
    """DANGER is death or serious injury that will come, CAUTION is neither, NOTICE is no injury at all."""
    for hazard in library.hazards.values():
        misfit = _misfit(hazard)
        if misfit is not None:
            found, wanted = misfit
            yield library.problem("hazard", hazard.id, "happens", found, wanted)


def hazards_waved_away(base: Library, own: Library) -> Iterator[Problem]:
    """Every hazard with gates that a pack of one's own would lift, by a mention or by saying it is done elsewhere."""
    hazards = {**base.hazards, **own.hazards}
    for reference, step in own.steps.items():
        if step.elsewhere and reference not in base.steps:
            wanted = "nothing: a pack of your own lifts no hazard of its pack or of every step"
            yield own.problem("step", reference, "elsewhere", shown(step.elsewhere), wanted)
        for name in _newly_excused(base.steps.get(reference), step):
            answering = TOPICS[name].hazards if name in TOPICS else (name,)
            if any(hazards[hazard].gates for hazard in answering if hazard in hazards):
                wanted = f"the hazard `{name}` on this step: a pack of your own lifts none that brings gates"
                yield own.problem("step", reference, f"mentions.{name}", f"`{name}`", wanted)


def _newly_excused(shipped: Step | None, step: Step) -> tuple[str, ...]:
    """The mentions of a step that excuse more than what ships; one that a shipped step has not is told as loosened."""
    if shipped is None:
        return tuple(step.mentions)
    kept = (name for name in step.mentions if name in shipped.mentions and name in TOPICS)
    return tuple(name for name in kept if _times_spoken(step, TOPICS[name]) > _times_spoken(shipped, TOPICS[name]))


def first_spoken(step: Step, topic: Topic) -> tuple[str, str] | None:
    """The first word of a step that speaks of `topic`, and the key it stands in."""
    return next(_spoken(step, topic), None)


def _times_spoken(step: Step, topic: Topic) -> int:
    return sum(1 for _ in _spoken(step, topic))


def _spoken(step: Step, topic: Topic) -> Iterator[tuple[str, str]]:
    for key, text in _texts(step):
        if topic.words.search(text) is None:
            continue
        for word in topic.words.finditer(topic.harmless.sub("...", text) if topic.harmless else text):
            yield key, word[0]


def _texts(step: Step) -> Iterator[tuple[str, str]]:
    yield "title", step.title
    yield "do", step.do
    yield "hurts", step.hurts or ""
    yield "breaks", step.breaks or ""
    yield from ((f"tools[{n}]", tool) for n, tool in enumerate(step.tools))
    for n, fasteners in enumerate(step.fasteners):
        for key in ("what", "drive", "where"):
            yield f"fasteners[{n}].{key}", getattr(fasteners, key) or ""
    yield from ((f"parts[{n}].name", part.name) for n, part in enumerate(step.parts))


def _why_uncalled(step: Step, name: str) -> str | None:
    """Why `name` has no business under mentions."""
    topic = TOPICS.get(name)
    if topic is None:
        return f"only hazards whose words are watched, or that the pack has: {', '.join(TOPICS)}"
    met = [hazard for hazard in topic.hazards if hazard in step.hazards]
    if met:
        return f"no excuse for a hazard that this step meets: it carries {met[0]}"
    if first_spoken(step, topic) is None:
        return "no excuse for a hazard that this step does not speak of"
    return None


def _lengths(hazard: Hazard) -> Iterator[tuple[str, int, str]]:
    for key, longest in LONGEST_WARNING.items():
        yield key, longest, getattr(hazard, key)
    yield from ((f"wear[{n}]", LONGEST_WEAR, item) for n, item in enumerate(hazard.wear))


def _misfit(hazard: Hazard) -> tuple[str, str] | None:
    grave, perhaps, deadly, injury = (words.search(hazard.happens) for words in (_GRAVE, _PERHAPS, _DEADLY, _INJURY))
    if hazard.signal == "DANGER" and not grave:
        return shown(hazard.happens), "death or serious injury, in words: it says DANGER"
    if hazard.signal == "DANGER" and perhaps:
        return shown(perhaps[0]), "what will happen: DANGER leaves no perhaps (WARNING does)"
    if hazard.signal == "CAUTION" and deadly:
        return shown(deadly[0]), "minor or moderate injury: CAUTION is not for what kills (DANGER and WARNING are)"
    if hazard.signal == "NOTICE" and injury:
        return shown(injury[0]), "no injury: NOTICE is for damage (CAUTION, WARNING and DANGER are for people)"
    return None
