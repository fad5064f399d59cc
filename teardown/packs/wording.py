"""Rules on words: a step that reads as hazardous is marked so, and warnings are written as warnings are."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from teardown.packs.dangers import TOPICS, Topic, first_spoken, texts_of, times_spoken, whole_words
from teardown.packs.lookalikes import as_it_reads
from teardown.packs.model import CountGate, Gate, Hazard, Level, Step
from teardown.packs.problems import Problem, shown
from teardown.packs.reader import Library

LONGEST_STEP_TITLE = 52
LONGEST_WARNING = {"title": 40, "happens": 120, "avoid": 200}
LONGEST_WEAR = 40
"""So that a warning reads at arm's length on 60 columns."""

# ANSI Z535.6: DANGER will, WARNING could result in death or serious injury; CAUTION could result in minor or moderate
# injury; NOTICE is about practices without injury.
_DEATH = r"kill(?:s|ed)?|deaths?|deadly|die[sd]?|fatal(?:ly)?|electrocut\w+"
_DEADLY = whole_words(_DEATH)
_GRAVE = whole_words(rf"{_DEATH}|crush(?:es|ed)?|maims?|blinds?|serious(?:ly)? (?:injur\w+|hurt)")
_INJURY = whole_words(
    rf"{_DEATH}|crush(?:es|ed)?|maims?|blinds?|injur\w+|hurts?|wounds?|burns?|scalds?|poison(?:s|ous)?"
)
_PERHAPS = whole_words(r"could|might|may")
_SIGNAL_WORDS = re.compile(r"\b(?:DANGER|WARNING|CAUTION|NOTICE)\b")


def hazardous_words_carry_their_hazard(library: Library) -> Iterator[Problem]:
    """A step that speaks of airbags, ice, sparks, drill, glass, fuel, refrigerant or high voltage meets its hazard."""
    for reference, step in library.steps.items():
        met, texts = set(library.hazards_of(reference)), texts_of(step)
        for name, topic in TOPICS.items():
            if name in step.mentions or met & set(topic.hazards):
                continue
            spoken = first_spoken(texts, topic)
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


def dangers_met_by_halves(base: Library, whole: Library, own: Library) -> Iterator[Problem]:
    """Every danger that a step of one's own speaks of, beyond what ships, while all it meets of it asks for less."""
    for reference, step in own.steps.items():
        met = [whole.hazards[name] for name in whole.hazards_of(reference) if name in whole.hazards]
        for name, topic in TOPICS.items():
            by_halves = [hazard.id for hazard in met if hazard.id in topic.hazards]
            if not by_halves or any(_answers(whole, hazard, name) for hazard in met):
                continue
            said = times_spoken(texts_of(base.step(reference)), topic) if reference in base.steps else 0
            if times_spoken(texts_of(step), topic) > said:
                wanted = f"the hazard `{name}` on this step: {', '.join(by_halves)} does not bring all of its gates"
                yield own.problem("step", reference, "hazards", shown(step.hazards), wanted)


def dangers_named_by_the_way(base: Library, whole: Library, own: Library) -> Iterator[Problem]:
    """Every danger that a pack, a hazard or a gate of one's own speaks of, beyond what ships, without its gates.

    Features, modules, rules and milestones name things and ask questions; nobody works by them.
    """
    for pack in own.packs:
        met = {name for step in whole.by_id[pack.id].steps for name in pack.hazards_of(step) if name in whole.hazards}
        for key, topic, word in _added(base.by_id.get(pack.id), pack, ("title", "why")):
            if not any(_answers(whole, whole.hazards[name], topic) for name in met):
                wanted = f"no such word here, or a step of this pack with the hazard `{topic}`"
                yield own.problem("pack", pack.id, key, word, wanted)
    for hazard in own.hazards.values():
        for key, topic, word in _added(base.hazards.get(hazard.id), hazard, ("title", "happens", "avoid", "wear")):
            if not _answers(whole, hazard, topic):
                wanted = f"no such word here, or every gate of the hazard `{topic}` among its gates"
                yield own.problem("hazard", hazard.id, key, word, wanted)
    for gate in own.gates.values():
        bringing = [h for h in whole.hazards.values() if gate.id in _gates_behind(whole, h.gates)]
        for key, topic, word in _added(base.gates.get(gate.id), gate, _READ_AT_A_GATE):
            if not all(_answers(whole, hazard, topic) for hazard in bringing):
                wanted = f"no such word here, or every gate of the hazard `{topic}` in what brings this gate"
                yield own.problem("gate", gate.id, key, word, wanted)


_READ_AT_A_GATE = ("title", "why", "ticks", "reads", "levels", "look_for", "call", "paper")


def _answers(library: Library, hazard: Hazard, topic: str) -> bool:
    """Whether whoever meets `hazard` stands behind all that the danger asks for: by its own hazard, or by one that
    brings every gate of it."""
    asked = library.hazards.get(topic)
    if hazard.id == topic or asked is None:
        return hazard.id == topic
    brought = library.gates_behind(hazard.gates)
    return all(_is_brought(gate, brought) for gate in library.gates_behind(asked.gates))


def _is_brought(gate: Gate, brought: Iterable[Gate]) -> bool:
    """Whether a gate is among those, or, for a count, one that lets no more modules stay."""
    return any(
        other.id == gate.id
        or (
            isinstance(gate, CountGate)
            and isinstance(other, CountGate)
            and other.allows_fitted <= gate.allows_fitted
            and other.allows_outside <= gate.allows_outside
        )
        for other in brought
    )


def _gates_behind(library: Library, gates: tuple[str, ...]) -> set[str]:
    return {gate.id for gate in library.gates_behind(gates)}


def _added(shipped: object | None, own: object, keys: tuple[str, ...]) -> Iterator[tuple[str, str, str]]:
    """Key, topic and word of each danger in the texts of `own` that those of `shipped` do not say already."""
    known = {text for _, text in _texts_under(shipped, keys)}
    for key, text in _texts_under(own, keys):
        said = max((old for old in known if text.startswith(old)), key=len, default="")
        for name, topic in TOPICS.items():
            word = next(topic.words_in(text[len(said) :]), None)
            if word is not None:
                yield key, name, f"the word {shown(word)}"


def _texts_under(thing: object | None, keys: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for key in keys:
        value = getattr(thing, key, None) or ()
        for n, text in enumerate((value,) if isinstance(value, str) else value):
            path = key if isinstance(value, str) else f"{key}[{n}]"
            yield path, as_it_reads(text.do if isinstance(text, Level) else text)


def _newly_excused(shipped: Step | None, step: Step) -> tuple[str, ...]:
    """The mentions of a step that excuse more than what ships; one that a shipped step has not is told as loosened."""
    if shipped is None:
        return tuple(step.mentions)
    kept = (name for name in step.mentions if name in shipped.mentions and name in TOPICS)
    return tuple(name for name in kept if _says_more(step, shipped, TOPICS[name]))


def _says_more(step: Step, shipped: Step, topic: Topic) -> bool:
    return times_spoken(texts_of(step), topic) > times_spoken(texts_of(shipped), topic)


def _why_uncalled(step: Step, name: str) -> str | None:
    """Why `name` has no business under mentions."""
    topic = TOPICS.get(name)
    if topic is None:
        return f"only hazards whose words are watched, or that the pack has: {', '.join(TOPICS)}"
    met = [hazard for hazard in topic.hazards if hazard in step.hazards]
    if met:
        return f"no excuse for a hazard that this step meets: it carries {met[0]}"
    if first_spoken(texts_of(step), topic) is None:
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
