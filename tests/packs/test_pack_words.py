"""Which words speak of which danger, in British and American English. Which words to watch is policy."""

from __future__ import annotations

from dataclasses import replace

import corpus
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.packs.audit import audit_addition
from teardown.packs.joining import joined
from teardown.packs.model import Pack, Step
from teardown.packs.reader import Library, Spot, read, sources_in
from teardown.packs.wording import TOPICS, first_spoken

BASE, _ = read(sources_in(corpus.BASE))


def listed(text: str) -> list[str]:
    return [words.strip() for words in text.replace("\n", ",").split(",") if words.strip()]


SPEAKS = {
    "airbag": listed("""
        the airbag, both air bags, AIR-BAG, a pretensioner, pre-tensioners, the inflator, an igniter, squib
        pyrotechnics, curtain bag, the yellow plug, yellow connectors, SRS label"""),
    "dry-ice": listed("dry ice, dry-ice pellets, crushed ice, Ice, solid carbon dioxide"),
    "hot-work": listed("""
        weld it, welding, tack-weld, re-welded, grind the stud, grinding, angle grinder, plasma cutter, blowlamp
        blow-torches, gas torch, brazing"""),
    "glass": listed("""
        glass, the panes, windscreen, windshield, wind-screen, rear screen, rear windshield, quarter light
        quarter windows, glass roof"""),
    "fuel": listed("""
        fuel, refuel, re-fuelled, defueling, petrol, gasoline, diesel, gas tank, gas can, fuel-tank strap"""),
    "refrigerant": listed("refrigerant, refrigerants, R134a, R-1234yf, HFO"),
    "high-voltage": listed("""
        high voltage, high-voltage, HV label, orange cables, traction battery, 48 V, 48-volt"""),
}

SILENT = listed("""
    a device, the price, notice, office, ice scraper, iced, glass fibre, glass-fiber mat, glass wool, safety glasses
    fibreglass, windscreen washers, windshield wiper, tyre inflator, tire inflators, spot welds, weld nut, welded studs
    weld-through primer, ground strap, grindstone, torch, gasket, gas strut, fuelless, hvac, 148 V, orange peel
    bag the screws, seat belt, yellow tape, panel, screen""")


def step_saying(words: str) -> Step:
    return Step(id="one", title="One", do=f"See {words}.", minutes=(1, 2, 3))


def topics_of(words: str) -> set[str]:
    return {name for name, topic in TOPICS.items() if first_spoken(step_saying(words), topic)}


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
        ("tools", ("glass cups",)),
    ],
)
def test_every_text_of_a_step_is_heard(key: str, value: object) -> None:
    step = step_saying("it").model_copy(update={key: value})
    found = first_spoken(step, TOPICS["glass"])
    assert found is not None
    assert found[0].startswith(key)


# -- packs of one's own wave nothing away

ASKED_AFTER = st.sampled_from([(topic, words) for topic, all_words in SPEAKS.items() for words in all_words])
KEYS = st.sampled_from(["title", "do", "hurts", "breaks", "tools"])


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
