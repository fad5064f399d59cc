"""A refusal that is about one word of an entry names it, so that a form can put the cursor there."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.entries import WrongEntry
from tests.car.tally import mats_off, tally_world
from tests.world import World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


@pytest.mark.parametrize(
    ("kind", "words", "about"),
    [
        ("cost", {"amount": "5 USD", "what": "bolts"}, "amount"),
        ("listed", {"part": "mats", "ask": "5", "floor": "1.999"}, "floor"),
        ("sold", {"part": "mats", "amount": "5", "carriage": "1 USD"}, "carriage"),
        ("sold", {"part": "mats", "amount": "5", "along": "mats"}, "along"),
        ("sold", {"part": "driver-bag", "amount": "5"}, "part"),
        ("sold", {"part": "mats", "amount": "5", "along": "driver-bag"}, "along"),
        ("refunded", {"part": "mats", "amount": "5", "why": "torn"}, "part"),
        ("scrap-ticket", {"reading": "5kg", "amount": "1.999"}, "amount"),
        ("part-fate", {"part": "driver-bag", "fate": "sell"}, "rule"),
        ("part-found", {"name": "clip", "reading": "1kg", "without": "2kg"}, "reading"),
    ],
)
def test_a_rule_names_the_word_it_refuses(world: World, kind: str, words: dict[str, str], about: str) -> None:
    assert world.refused(kind, **words).about == about


def test_of_a_bundle_the_field_is_named_in_which_the_part_stands_that_is_sold_already(world: World) -> None:
    mats_off(world)
    world.done("sold", part="mats", amount="5")
    assert world.refused("sold", part="mats", amount="5").about == "part"
    assert world.refused("sold", part="driver-seat", amount="5", along="mats").about == "along"


def test_words_that_make_no_entry_name_the_first_that_is_wrong(world: World) -> None:
    with pytest.raises(WrongEntry, match=r"cost: amount=: a lot .*; what= is missing") as wrong:
        world.enter("cost", amount="a lot")
    assert wrong.value.about == "amount"
    with pytest.raises(WrongEntry) as missing:
        world.enter("run-timed", times="6s")
    assert missing.value.about == "what"


def test_a_refusal_for_another_reason_names_no_word(world: World) -> None:
    assert world.refused("step-done", step="safe.isolate").about == ""
