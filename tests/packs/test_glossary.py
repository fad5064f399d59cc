"""British packs, American words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import BaseModel

from teardown.packs.glossary import TEXTS, americanised, translator
from teardown.packs.model import Word
from teardown.packs.reader import KINDS, Library, load
from teardown.packs.shipped import procedures

WORDS = (
    Word(british="boot", american="trunk"),
    Word(british="spanner", american="wrench"),
    Word(british="boot lid", american="decklid"),
    Word(british="boots", american="boots"),
    Word(british="estate", american="wagon"),
    Word(british="number plate", american="index plate"),
)


@pytest.mark.parametrize(("british", "american"), [
    ("Open the boot.", "Open the trunk."),
    ("Boot lids off.", "Decklids off."),
    ("A spanner, taped", "A wrench, taped"),
    ("A bootlace stays a bootlace.", "A bootlace stays a bootlace."),
    ("Boots on, boot open.", "Boots on, trunk open."),
    ("Is it an estate? An estate is.", "Is it a wagon? A wagon is."),
    ("A number plate, or a\nnumber plate.", "An index plate, or an\nindex plate."),
    ("Panama estates.", "Panama wagons."),
])  # fmt: skip
def test_whole_words_are_said_the_american_way(british: str, american: str) -> None:
    assert translator(WORDS)(british) == american


def test_ids_gates_and_masses_are_the_same_in_either_language() -> None:
    british = load(procedures())
    american = americanised(british)
    assert list(american.steps) == list(british.steps)
    assert list(american.gates) == list(british.gates)
    for ref, step in british.steps.items():
        said = american.steps[ref]
        assert (said.needs, said.after, said.hazards, said.minutes) == (
            step.needs,
            step.after,
            step.hazards,
            step.minutes,
        )
        assert [part.kg for part in said.parts] == [part.kg for part in step.parts]


def test_the_words_of_the_packs_change() -> None:
    british = load(procedures())
    american = americanised(british)
    assert any(american.steps[ref].do != step.do for ref, step in british.steps.items())
    assert not any(" bonnet " in step.do for step in american.steps.values())


# -- every word of the packs that ships, as an American reads it


def texts(library: Library) -> Iterator[tuple[str, str]]:
    """Every text for people in the packs and in what they share, with where it stands."""
    for pack in library.packs:
        yield from _texts_of(pack, pack.id, "")
    for section in KINDS:
        for name, item in getattr(library, section).items():
            yield from _texts_of(item, f"{section}.{name}", "")


def _texts_of(value: Any, where: str, key: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            place = f"{where}.{value.id}" if key == "steps" else where  # type: ignore[attr-defined]
            yield from _texts_of(getattr(value, name), place, name)
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts_of(item, where, key)
    elif isinstance(value, str) and key in TEXTS:
        yield f"{where} {key}", value


NEVER_SAID = (
    # worn on the feet, or rubber round a lever or a door's wires
    r"trunks",
    r"(?:gloves|goggles|sleeves|trousers)[^.;]* trunk",
    # the thick run of the wires; luggage lies in a trunk
    r"(?:back to the|bind the|free the) trunks?",
    # the edge a person leans over is the door sill; the rocker panel is under it
    r"(?:above|over|clear|at|cover) the rocker",
    r"rocker panel (?:height|edge)",
    r"(?<!trunk )sill trims?",
    # two words where one was, behind a hyphen or one of their own
    r"\w+-(?:wiring|rocker|shift|license|scuff|cross-car|jack|splash)",
    r"(\w+) \1",
    r"shift boots? and wiring harness",
    # an article that does not fit its word; none of these packs has a silent h or a heard u behind one
    r"an (?!hour)[^aeiou\W]\w+",
    r"a (?!un|us|eu|one)[aeiou]\w+",
    # words an American garage does not use, or uses for something else
    r"boots? (?:lid|battery|mat|seal|floor)|bonnet|tailgate|windscreen|bulkhead|glovebox|gaiters?|looms?|earth|torch",
    r"spanners?|petrol|tyres?|aerials?|saloon|estate|scuttle|gearbox|number plate|tow eye|axle stands?|push pins?",
    r"\w*(?:colour|vapour|fibre|mould|centre|labell|levelling)\w*|grey|jewellery|aluminium",
    r"\w*(?:authoris|immobilis|pressuris|galvanis|organis|recognis)\w+",
)
"""Read through by hand, in every text that ships; what was found wrong stands here. Common practice."""


@pytest.fixture(scope="module")
def american() -> dict[str, list[str]]:
    said: dict[str, list[str]] = {}
    for where, text in texts(americanised(load(procedures()))):
        said.setdefault(where, []).append(text)
    return said


def test_every_tick_warning_and_step_is_among_the_texts_that_are_read(american: dict[str, list[str]]) -> None:
    library = load(procedures())
    read = set(american)
    assert {f"hazards.{name} wear" for name, hazard in library.hazards.items() if hazard.wear} <= read
    assert {f"hazards.{name} avoid" for name in library.hazards} <= read
    assert {f"gates.{name} ticks" for name, gate in library.gates.items() if gate.kind == "ticks"} <= read
    assert {f"{ref} do" for ref in library.steps} <= read
    assert {f"{ref} name" for ref, step in library.steps.items() if step.parts} <= read


@pytest.mark.parametrize("wrong", NEVER_SAID)
def test_nothing_is_said_that_an_american_garage_would_misread(wrong: str, american: dict[str, list[str]]) -> None:
    pattern = re.compile(rf"\b(?:{wrong})\b", re.IGNORECASE)
    found = [(where, hit.group()) for where, all_said in american.items() for text in all_said
             for hit in pattern.finditer(text)]  # fmt: skip
    assert found == []


def test_what_is_worn_is_called_the_same_on_both_sides(american: dict[str, list[str]]) -> None:
    """Gloves, goggles, boots: no word for what is worn differs, so any change would be a mistake."""
    british = load(procedures())
    for name, hazard in americanised(british).hazards.items():
        assert hazard.wear == british.hazards[name].wear, name
    assert any("boots" in item for hazard in british.hazards.values() for item in hazard.wear)


@pytest.mark.parametrize(("british", "american"), [
    ("Heads above the sill.", "Heads above the door sill."),
    ("A wheel or timber stack lies under the sill.", "A wheel or timber stack lies under the rocker panel."),
    ("Rot in the sills, an earth strap.", "Rot in the rocker panels, a ground strap."),
    ("Complete sub-looms, the wiring loom", "Complete sub-harnesses, the wiring harness"),
    ("Single wires back to the trunk; luggage in the boot.",
     "Single wires back to the main run; luggage in the trunk."),
    ("Pull gaiter and loom out. Free the gaiter ring.",
     "Pull rubber boot and wiring harness out. Free the shift boot ring."),
    ("Boots on, rubber boots kept, boot battery out.", "Boots on, rubber boots kept, trunk battery out."),
    ("Hand wing nut; never on glass or wing.", "Hand wing nut; never on glass or fender."),
])  # fmt: skip
def test_the_words_that_ship_tell_one_meaning_from_another(british: str, american: str) -> None:
    assert translator(load(procedures()).words)(british) == american
