"""Which words speak of which danger, in British and American English. Which words to watch is policy."""

from __future__ import annotations

from dataclasses import replace
from string import ascii_letters
from typing import get_type_hints

import corpus
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from teardown.packs.audit import audit_addition
from teardown.packs.dangers import TOPICS, first_spoken, texts_of
from teardown.packs.joining import joined
from teardown.packs.lookalikes import AS_PLAIN
from teardown.packs.model import Fasteners, Line, Pack, Part, Place, Prose, Sentence, Step
from teardown.packs.reader import Library, Spot, read, sources_in

BASE, _ = read(sources_in(corpus.BASE))


def listed(text: str) -> list[str]:
    return [words.strip() for words in text.replace("\n", ",").split(",") if words.strip()]


SPEAKS = {
    "airbag": listed("""
        the airbag, both air bags, AIR-BAG, a pretensioner, pre-tensioners, the inflator, an igniter, squib
        pyrotechnics, curtain bag, the yellow plug, yellow connectors, SRS label, Srs unit, the SIR module, sir system
        gas generator, initiators, detonator, pyros, explosive clamp, live modules, bonnet lifter, hood lifters
        yellow lead, the wheel bag, head bags, seat-belt tensioner, lap tensioners, inflatable curtain
        supplemental restraint, restraint system, side-airbag, the airbags' plugs, air - bag, airbagged"""),
    "dry-ice": listed("""
        dry ice, dry-ice pellets, crushed ice, Ice, solid carbon dioxide, frozen carbon dioxide, CO2 pellets, C02 snow
        carbon dioxide slabs, solid CO2, dryice"""),
    "hot-work": listed("""
        weld it, welding, tack-weld, re-welded, grind the stud, grinding, angle grinder, plasma cutter, blowlamp
        blow-torches, gas torch, brazing, oxy-acetylene, oxyfuel, acetylene, cutting disc, cut-off wheels, abrasive saw
        grinding disks, gas-cut, flame cutting, sparks, a spark, MIG, red hot, naked flame, hand-grinder"""),
    "glass": listed("""
        glass, the panes, windscreen, windshield, wind-screen, rear screen, rear windshield, quarter light
        quarter windows, glass roof, side window, tailgate windows, rear window"""),
    "fuel": listed("""
        fuel, refuel, re-fuelled, defueling, petrol, gasoline, diesel, gas tank, gas can, fuel-tank strap
        siphon the tank, syphoning, the tank, jerrycan, filler neck, LPG"""),
    "refrigerant": listed("""
        refrigerant, refrigerants, R134a, R-1234yf, HFO, air-conditioning pipes, air con hose, A/C lines, AC compressor
        evaporator, expansion valve, receiver-drier, R744"""),
    "high-voltage": listed("""
        high voltage, high-voltage, HV label, orange cables, traction battery, 48 V, 48-volt, hybrid battery, 400 V
        148 V, 63 volts, inverter, service plug, orange lead, battery pack"""),
}

SILENT = listed("""
    a device, the price, notice, office, ice scraper, iced, glass fibre, glass-fiber mat, glass wool, safety glasses
    fibreglass, windscreen washers, windshield wiper, tyre inflator, tire inflators, spot welds, weld nut, welded studs
    weld-through primer, ground strap, grindstone, torch, gasket, gas strut, fuelless, hvac, orange peel
    bag the screws, seat belt, yellow tape, panel, screen, spark plug, expansion tank, washer tanks, sir, 0.63 V, 12 V
    24-volt, sirloin, drive belt tensioner, gas, carbon dioxide meter, cut-off switch, alternating current, restrain""")


ASKED_AFTER = st.sampled_from([(topic, words) for topic, all_words in SPEAKS.items() for words in all_words])


def step_saying(words: str) -> Step:
    return Step(id="one", title="One", do=f"See {words}.", minutes=(1, 2, 3))


def topics_of(words: str) -> set[str]:
    return {name for name, topic in TOPICS.items() if first_spoken(texts_of(step_saying(words)), topic)}


@pytest.mark.parametrize(
    ("topic", "words"), [(topic, words) for topic, all_words in SPEAKS.items() for words in all_words]
)
def test_these_words_speak_of_a_danger(topic: str, words: str) -> None:
    assert topics_of(words) == {topic}


@pytest.mark.parametrize("words", SILENT)
def test_these_words_speak_of_none(words: str) -> None:
    assert topics_of(words) == set()


def test_a_harmless_phrase_hides_no_word_beside_it() -> None:
    assert topics_of("glass fibre, then the glass") == {"glass"}


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("title", "The glass"),
        ("do", "The glass."),
        ("hurts", "The glass."),
        ("breaks", "The glass."),
        ("keep", "The glass."),
        ("tools", ("glass cups",)),
    ],
)
def test_every_text_of_a_step_is_heard(key: str, value: object) -> None:
    step = step_saying("it").model_copy(update={key: value})
    found = first_spoken(texts_of(step), TOPICS["glass"])
    assert found is not None
    assert found.key.startswith(key)


TEXTS = (Line, Sentence, Prose)
NOT_SHOWN = {"mentions"}
"""Why a step need not meet a hazard: its author says it to the check, and nobody to whoever does the step."""


def text_keys(model: type[BaseModel]) -> set[str]:
    """The keys of a model that hold text, by the types of the model itself: a new one cannot be forgotten here."""
    hints = get_type_hints(model, include_extras=True)
    return {key for key, hint in hints.items() if any(repr(text) in repr(hint) for text in TEXTS)} - NOT_SHOWN


def test_no_text_of_a_step_its_fasteners_or_its_parts_is_left_unread() -> None:
    assert {"title", "do", "keep", "tools"} <= text_keys(Step)
    fasteners = Fasteners(count=(1, 1), what="what", drive="drive", where="where", fate="bag")
    part = Part(
        id="part", name="name", kg=(1, 2, 3), material="material", place=Place(x=0, y="0", z=0), fate="scrap",
        buyers_ask="buyers_ask", note="note",
    )  # fmt: skip
    step = step_saying("it").model_copy(
        update={key: ("a",) if key == "tools" else "a" for key in text_keys(Step)}
        | {"fasteners": (fasteners,), "parts": (part,)}
    )
    read = {text.key for text in texts_of(step)}
    assert {key for key in read if key.startswith("fasteners[0].")} == {
        f"fasteners[0].{key}" for key in text_keys(Fasteners)
    }
    assert {key for key in read if key.startswith("parts[0].")} == {f"parts[0].{key}" for key in text_keys(Part)}
    assert {key.partition("[")[0] for key in read if "." not in key} == text_keys(Step)


# -- letters that only look like ours

LOOK_ALIKES = {
    plain: [chr(strange) for strange, as_read in AS_PLAIN.items() if as_read == plain] for plain in f"{ascii_letters}-"
}


@settings(max_examples=300)
@given(st.data())
def test_a_word_of_danger_is_heard_in_whatever_letters_it_is_spelt(data: st.DataObject) -> None:
    topic, words = data.draw(ASKED_AFTER)
    spelt = "".join(
        data.draw(st.sampled_from([letter, *LOOK_ALIKES.get(letter, []), *_wide(letter), *_accented(letter)]))
        for letter in words
    )
    assert topic in topics_of(spelt)


def _wide(letter: str) -> list[str]:
    """The full-width form of a printed character, and the wide blank."""
    return [chr(ord(letter) + 0xFEE0)] if "!" <= letter <= "~" else ["\u3000", "\xa0", "\u2009"]


def _accented(letter: str) -> list[str]:
    return [letter + "\u0301"] if letter.isalpha() else []


# -- packs of one's own wave nothing away

KEYS = st.sampled_from(["title", "do", "hurts", "breaks", "keep", "tools"])


def own(pack: Pack) -> Library:
    """A library of one pack of one's own."""
    spots = {("pack", pack.id): Spot("own.toml", "")} | {
        ("step", f"{pack.id}.{step.id}"): Spot("own.toml", f'step "{step.id}"') for step in pack.steps
    }
    return Library(packs=(pack,), spots=spots)  # type: ignore[arg-type]


@settings(max_examples=300, deadline=None)
@given(
    said=st.lists(st.tuples(ASKED_AFTER, KEYS), min_size=1, max_size=3),
    hazards=st.sets(st.sampled_from(sorted(BASE.hazards))),
    mentions=st.sets(st.sampled_from(sorted(SPEAKS))),
)
def test_no_step_of_ones_own_speaks_of_a_hazard_with_gates_without_carrying_it(
    said: list[tuple[tuple[str, str], str]], hazards: set[str], mentions: set[str]
) -> None:
    texts: dict[str, str] = {}
    for (_, words), key in said:
        texts[key] = f"{texts.get(key, 'See')} {words}."
    step = step_saying("it").model_copy(
        update={
            **{key: (text,) if key == "tools" else text for key, text in texts.items()},
            "hazards": tuple(hazards),
            "mentions": dict.fromkeys(sorted(mentions), "Only looked at."),
            "people": 2,
        }
    )
    problems = audit_addition(BASE, own(Pack(id="extra", title="Extra", why="A test.", steps=(step,))))
    for topic in {topic for (topic, _), _ in said}:
        assert BASE.hazards[topic].gates
        if topic not in hazards and not (BASE.hazards[topic].everywhere and topic not in mentions):
            assert any(f"`{topic}`" in problem.wanted for problem in problems), topic


@given(words=st.sampled_from([*SPEAKS["fuel"], *SILENT]))
def test_what_ships_is_said_again_with_its_mention_but_no_more_of_the_danger(words: str) -> None:
    prepare = BASE.by_id["prepare"]
    (step,) = prepare.steps
    more = step.model_copy(update={"do": f"{step.do} See {words}."})
    problems = audit_addition(BASE, own(prepare.model_copy(update={"steps": (more,)})))
    refused = [problem for problem in problems if problem.path.endswith("mentions.fuel")]
    assert bool(refused) == (words in SPEAKS["fuel"])


@pytest.mark.parametrize("name", ["fuel", "heavy-lift", "high-voltage"])
def test_a_step_of_ones_own_meets_every_hazard_with_gates_of_the_pack_it_joins(name: str) -> None:
    seats = BASE.by_id["seats"].model_copy(update={"hazards": (name,)})
    base = replace(BASE, packs=tuple(seats if pack.id == "seats" else pack for pack in BASE.packs))
    added = step_saying("it").model_copy(update={"people": 2})
    for mentions, refused in (({}, False), ({name: "Not here."}, True)):
        step = added.model_copy(update={"mentions": mentions})
        pack = seats.model_copy(update={"steps": (step,)})
        told = [problem for problem in audit_addition(base, own(pack)) if problem.path.endswith(f"mentions.{name}")]
        assert bool(told) == refused
        assert (name in joined(base, own(pack)).hazards_of("seats.one")) != refused
