"""car.toml as it is first written: every key there is stands in it, and every comment can be opened."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from pydantic import BaseModel

from teardown.car.facts import Facts, FactsError, Keys, Money, Room, Scale, Scales, parse_facts
from teardown.car.facts_file import SECTIONS, TOP, facts_text
from tests.world import library

KNOWN: dict[str, type[BaseModel]] = {
    "room": Room,
    "scales.pads": Scale,
    "scales.parts": Scale,
    "scales.person": Scale,
    "money": Money,
    "keys": Keys,
}
WRITTEN_OTHERWISE = {"fitted", "rules", *(section.partition(".")[0] for section in SECTIONS)}
NEEDED = {section: ("name", "step") for section, table in KNOWN.items() if table is Scale}
TEXT = facts_text({"name": "Tin", "fitted": {"hybrid": False}}, library())


def test_every_key_that_car_toml_may_hold_stands_in_it() -> None:
    assert {key.name for key in TOP} == Facts.model_fields.keys() - WRITTEN_OTHERWISE
    assert {section: {key.name for key in keys} for section, keys in SECTIONS.items()} == {
        section: set(table.model_fields) for section, table in KNOWN.items()
    }


def test_every_scale_that_car_toml_may_hold_has_a_section() -> None:
    assert {f"scales.{name}" for name in Scales.model_fields} <= SECTIONS.keys()


def opened(section: str, *keys: str) -> str:
    """The text with the header of a section and some of its keys opened."""
    before, header, after = TEXT.partition(f"# [{section}]\n")
    inside, gap, rest = after.partition("\n\n")
    return before + header.removeprefix("# ") + with_open(inside, *keys) + gap + rest


def with_open(text: str, *keys: str) -> str:
    for key in keys:
        text, found = re.subn(rf"(?m)^# ({key} = )", r"\1", text, count=1)
        assert found == 1, key
    return text


def each_key() -> Iterator[tuple[str, str]]:
    yield from (("", key.name) for key in TOP if key.name != "name")
    yield from ((section, key.name) for section, keys in SECTIONS.items() for key in keys)


@pytest.mark.parametrize(("section", "key"), [*each_key()])
def test_every_comment_can_be_opened_and_is_read(section: str, key: str) -> None:
    if section:
        facts = parse_facts(opened(section, *dict.fromkeys((*NEEDED.get(section, ()), key))))
    else:
        facts = parse_facts(with_open(TEXT.partition("[fitted]")[0], key))
    table: BaseModel = facts
    for name in filter(None, section.split(".")):
        table = getattr(table, name)
    assert key in table.model_fields_set


def test_every_question_and_a_rule_can_be_opened_too() -> None:
    text = re.sub(r"(?m)^# ([a-z-]+ = true    # )", r"\1", TEXT)
    assert parse_facts(text).fitted == {"hybrid": False, "knee-bag": True, "sunroof": True, "second-source": True}
    for line in ("[rules.NAME]", "keep = true", 'rule = "4.2"', "date = 2026-01-31"):
        assert f"# {line}" in text
        text = text.replace(f"# {line}", line.replace("NAME", "door-cards"))
    assert parse_facts(text).rules["door-cards"].keep


@pytest.mark.parametrize(("section", "key"), [each for each in each_key() if each[0]])
def test_a_key_opened_without_its_header_is_refused_and_never_taken_for_another(section: str, key: str) -> None:
    before, header, after = TEXT.partition(f"# [{section}]\n")
    with pytest.raises(FactsError, match=r"fitted"):
        parse_facts(before + header + with_open(after, key))


def test_what_was_said_stands_open() -> None:
    said = {"name": "Tin", "goal": "900kg", "who": ["Ana", "Bo"], "money": {"currency": "GBP"}, "fitted": {}}
    facts = parse_facts(facts_text(said, library()))
    assert (facts.name, facts.goal, facts.who, facts.money.currency) == ("Tin", 900.0, ("Ana", "Bo"), "GBP")
