"""Scrap by material: every material that ships is in a group on purpose, and tickets are held against the groups.

Which material a yard takes as what is common practice.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.asking import question_about_entry
from teardown.car.clock import Instant
from teardown.car.log import Entry
from teardown.car.offers import offers
from teardown.car.scrap import _MATERIALS, _OTHER_WORDS, GROUPS, NO_SCRAP, _by_text, group_of, why_not_weighed
from teardown.car.tally import line_of
from teardown.car.tickets import check_tickets, scrap_by_group, waits_for_the_yard
from teardown.car.worth import worth_it
from teardown.commands.tally import money_text
from teardown.packs.glossary import americanised
from teardown.packs.model import Part
from teardown.packs.reader import Library, load
from teardown.packs.shipped import procedures
from teardown.sheets.writing import write_sheet
from tests.car.tally import mats_count_as, mats_off, tally_world
from tests.world import World


@pytest.fixture(scope="module")
def shipped() -> Library:
    return load(procedures())


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def parts_of(library: Library) -> list[Part]:
    return [part for pack in library.packs for step in pack.steps for part in step.parts]


def mats_scrapped(world: World, kg: str = "4kg") -> None:
    mats_off(world)
    world.done("part-weighed", part="mats", reading=kg)
    world.done("part-fate", part="mats", fate="scrap")


# -- the table


def test_every_material_that_ships_is_in_the_table_and_the_table_has_no_other(shipped: Library) -> None:
    """A new material in a pack fails here until somebody has said what a yard takes it as."""
    assert set(_by_text(_MATERIALS)) == {part.material.casefold() for part in parts_of(shipped)}


def test_no_material_and_no_word_stands_in_two_groups() -> None:
    for table in (_MATERIALS, _OTHER_WORDS):
        texts = [text.strip() for some in table.values() for text in some.split(";")]
        assert len(texts) == len(set(texts))
    both = _by_text(_OTHER_WORDS) | _by_text(_MATERIALS)
    assert {word: group for word, group in _by_text(_OTHER_WORDS).items() if both[word] != group} == {}


def test_every_group_has_something_in_it_and_american_words_change_none(shipped: Library) -> None:
    british = [group_of(part.material) for part in parts_of(shipped)]
    assert set(british) == {*GROUPS, NO_SCRAP}
    assert [group_of(part.material) for part in parts_of(americanised(shipped))] == british


@pytest.mark.parametrize(("word", "group"), [
    ("pyrotechnic", {"no scrap"}),
    ("refrigerant", {"no scrap"}),
    ("petrol", {"no scrap"}),
    ("lithium", {"no scrap"}),
    ("magnesium", {"mixed"}),
    ("bitumen", {"mixed"}),
    ("glass-fibre", {"plastic and textile"}),
    ("PVC", {"copper and cable", "plastic and textile"}),  # the skin of wire, and a trim by itself
])  # fmt: skip
def test_what_hurts_people_or_spoils_a_load_is_not_where_its_first_word_would_put_it(
    shipped: Library, word: str, group: set[str]
) -> None:
    assert {group_of(part.material) for part in parts_of(shipped) if word in part.material} == group


# -- the tally


def test_tickets_in_different_words_for_one_material_are_one_lane(world: World) -> None:
    mats_count_as(world, "saving", "steel, rubber")
    mats_scrapped(world)
    for words in ("steel", "Light  Iron", "ferrous"):
        world.done("scrap-ticket", reading="1.4kg", amount="0.40", material=words)
    (check,) = check_tickets(world.state)
    assert (check.lane, check.tickets_kg, check.tally_kg) == ("light iron", pytest.approx(4.2), 4)
    assert check.agrees
    assert "ticket, light iron: 4.2 kg, tally 4.0 kg: agrees within 5 %" in "\n".join(money_text(world.state))


@pytest.mark.parametrize(("material", "why"), [
    ("alumnium", "no scrap is called alumnium (did you mean aluminium?): light iron, aluminium, copper and cable"),
    ("kryptonite", "no scrap is called kryptonite: light iron"),
    ("petrol or diesel", "petrol or diesel is no scrap: enter handed-over"),
    ("Lithium battery", "Lithium battery is no scrap: enter handed-over"),
])  # fmt: skip
def test_a_material_no_yard_weighs_is_refused_with_the_nearest_one(world: World, material: str, why: str) -> None:
    refused = world.refused("scrap-ticket", reading="4kg", amount="1", material=material)
    assert refused.why.startswith(why)
    assert not refused.why.endswith(NO_SCRAP)  # it is no group that a ticket may name


def test_american_words_on_a_ticket_are_understood() -> None:
    assert (group_of("Aluminum"), why_not_weighed("aluminum")) == ("aluminium", None)


def test_what_nobody_named_a_material_for_is_mixed_and_that_is_said(world: World) -> None:
    mats_count_as(world, "saving", "unobtainium")
    mats_scrapped(world)
    world.done("part-found", name="Clips", reading="1kg", fate="scrap")
    assert [line.name for line in scrap_by_group(world.state)["mixed"]] == ["Floor mats", "Clips"]
    said = "\n".join(money_text(world.state))
    assert "5.0 kg; taken as mixed, of no material known here: Floor mats, Clips" in said


def test_a_live_module_is_in_no_lane_of_scrap_and_on_no_ticket(world: World) -> None:
    world.modules_out()
    mats_off(world)
    world.done("part-fate", part="driver-bag", fate="scrap")  # its pack says it is of steel
    assert list(scrap_by_group(world.state)) == [NO_SCRAP]
    assert "no scrap" in "\n".join(money_text(world.state))
    assert "hand it over, with a paper" in "\n".join(money_text(world.state))
    why = world.refused("scrap-ticket", reading="9kg", amount="2", parts="mats,driver-bag").why
    assert why == "Driver airbag module carries a live module: a press sets it off. Enter handed-over"
    world.done("scrap-ticket", reading="9kg", amount="2")
    world.done("scrap-ticket", reading="9kg", amount="2", material="steel")
    assert [(check.lane, check.tally_kg) for check in check_tickets(world.state)] == [
        ("all scrap", 0),
        ("light iron", 0),
    ]


def test_a_ticket_of_an_older_log_with_a_word_nobody_knows_is_mixed(world: World) -> None:
    mats_scrapped(world)
    fields = {"reading": "4kg", "mass_kg": 4.0, "amount": "1", "material": "kryptonite"}
    at = Instant("2026-05-09T08:00:00.000Z", "boot-1", 1.0, "2026-05-09")
    world.car.folded.apply(Entry(world.state.entries + 1, at, "Ana", "scrap-ticket", fields, ""))
    assert [(check.lane, check.tickets_kg, check.tally_kg) for check in check_tickets(world.state)] == [("mixed", 4, 0)]


def test_a_ticket_that_names_no_parts_is_for_what_waited_for_the_yard_when_it_was_written(world: World) -> None:
    mats_scrapped(world)
    world.done("listed", part="mats", ask="40")
    clips = world.done("part-found", name="Clips", reading="1kg", fate="scrap").n
    assert [line.id for line in waits_for_the_yard(world.state, "rubber")] == ["mats"]
    ticket = world.done("scrap-ticket", reading="4kg", amount="1.20", material="rubber")
    assert offers(world.state) == []
    assert worth_it(world.state, line_of(world.state, "mats"))[:2] == ("gone", f"on a scrap ticket (entry {ticket.n})")
    assert f"went to the scrap yard (entry {ticket.n})" in world.refused("sold", part="mats", amount="40").why
    assert [line.id for line in waits_for_the_yard(world.state)] == [f"found-{clips}"]
    world.done("scrap-ticket", reading="1kg", amount="0.10")
    assert [(check.lane, check.tally_kg) for check in check_tickets(world.state)] == [("rubber", 4), ("all scrap", 1)]
    assert waits_for_the_yard(world.state) == []
    world.done("undo", entry=ticket.n)
    assert [offer.name for offer in offers(world.state)] == ["Floor mats"]


@pytest.mark.parametrize(("parts", "why"), [
    ("mats,mats", "a part is named twice: it goes to the yard once"),
    ("mats", "Floor mats is on a scrap ticket already"),
    ("window-winder", "Window winder is not off yet: the yard cannot have weighed it"),
])  # fmt: skip
def test_a_ticket_is_refused_for_what_the_yard_cannot_have_weighed(world: World, parts: str, why: str) -> None:
    mats_scrapped(world)
    if parts == "mats":
        world.done("scrap-ticket", reading="4kg", amount="1", material="rubber")
    refused = world.refused("scrap-ticket", reading="4kg", amount="1", parts=parts)
    assert refused.why.startswith(why)
    assert refused.about == "parts"


@pytest.mark.parametrize(("reading", "asks"), [
    ("4.1kg", ""),
    ("5kg", "rubber: tickets 5.0 kg, tally 4.0 kg: DIFFERS by more than 5 %: look for lines never weighed or mixed in"),
])  # fmt: skip
def test_a_ticket_that_differs_from_the_tally_is_asked_about_as_it_is_written(
    world: World, reading: str, asks: str
) -> None:
    mats_scrapped(world)
    entry = world.done("scrap-ticket", reading=reading, amount="1", material="rubber")
    assert question_about_entry(world.state, entry) == asks


def test_a_later_load_waits_by_itself_on_the_sheet(world: World) -> None:
    mats_scrapped(world)
    world.done("scrap-ticket", reading="4.1kg", amount="1")
    world.done("part-found", name="Clips", reading="1kg", fate="scrap")
    table = next(path for path in write_sheet(world.car, "weights") if path.name.endswith("-scrap.csv"))
    rows = table.read_text(encoding="utf-8-sig").splitlines()[1:]
    assert rows == ['"all scrap","4.00","4.10","agrees within 5 %"', '"mixed","1.00","","no ticket"']


def test_the_sheet_has_each_material_with_its_ticket_or_without(world: World) -> None:
    mats_scrapped(world)
    world.done("part-found", name="Clips", reading="1kg", fate="scrap")
    world.done("scrap-ticket", reading="4.1kg", amount="1", material="rubber")
    table = next(path for path in write_sheet(world.car, "weights") if path.name.endswith("-scrap.csv"))
    rows = table.read_text(encoding="utf-8-sig").splitlines()[1:]
    assert rows == ['"rubber","4.00","4.10","agrees within 5 %"', '"mixed","1.00","","no ticket"']
