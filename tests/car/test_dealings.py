"""What proves the money: every entry that stands, with its paper, its reason and its writer; and they add up."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from teardown.car.dealings import dealings
from teardown.car.money import NOT_ENTERED, cap_line, money_now, sums
from teardown.car.offers import for_sale_words
from teardown.car.tally import line_of
from teardown.car.tickets import scrap_by_group, scrap_words, waits_for_the_yard
from teardown.car.worth import worth_it
from teardown.commands.tally import market_words, money_data, money_text
from tests.car.tally import TALLY_FACTS, mats_off, tally_world
from tests.world import World

UNPRICED = TALLY_FACTS.replace("paid = 1200\n", "")


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def traded(world: World) -> None:
    """An entry of money of each kind, and one that was undone."""
    mats_off(world)
    world.done("cost", amount="41.60", what="ice", of="removing", receipt="R 12")
    world.done("sold", part="mats", along="driver-seat", amount="60", fees="6", packing="2", to="Kim")
    world.done("refunded", part="mats", amount="10", why="torn", returned=True)
    world.done("undo", entry=world.done("cost", amount="7", what="slip").n)
    world.done("scrap-ticket", reading="4.1kg", amount="1.20", parts="mats", ticket="Y 7")


def test_what_is_in_hand_adds_up_to_the_net_cost(world: World) -> None:
    traded(world)
    told = dealings(world.state)
    net_cost = money_now(world.state).net_cost
    assert net_cost == Decimal("1198.40")  # 1200 + 41.60 - (60 - 8 - 10 + 1.20), by hand
    assert sum(one.in_hand for one in told) == -net_cost


def test_receipts_tickets_buyers_and_reasons_are_told(world: World) -> None:
    traded(world)
    said = "\n".join(money_text(world.state))
    for words in (
        "cost: removing: ice; R 12; Ana",
        "sold: Floor mats, Driver seat; 60.00 EUR less 8.00 EUR for selling; to Kim; Ana",
        "it came back: Floor mats; torn; Ana",
        "scrap ticket: Floor mats, 4.1kg; Y 7; Ana",
    ):
        assert words in said
    assert "slip" not in said  # it was undone
    entries = money_data(world.state)["entries"]
    assert [one["paper"] for one in entries] == [None, "R 12", None, None, "Y 7"]


def test_a_price_nobody_entered_is_not_nothing(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", UNPRICED)
    world.done("sold", part="mats", amount="20")
    now = money_now(world.state)
    told = {one.label: one.amount("EUR") for one in sums(now)}
    assert (told["paid for the car"], told["the car has cost, net"]) == (NOT_ENTERED, NOT_ENTERED)
    assert (now.share_percent, now.cap and now.cap.declared) == (None, None)
    assert cap_line(now) == (
        "cap 500.00 EUR (2.1): the price of the car is not entered: paid in car.toml, or cost of=purchase"
    )


def test_a_cap_that_does_not_count_the_price_needs_none(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", UNPRICED.replace('["purchase", "fitting"]', '["fitting"]'))
    world.done("cost", amount="100", what="seat", of="fitting")
    cap = money_now(world.state).cap
    assert cap is not None
    assert cap.declared == 100


def test_a_price_entered_twice_is_warned_of(world: World) -> None:
    world.done("cost", amount="1200", what="the car", of="purchase")
    (warning,) = money_now(world.state).warnings
    assert warning.startswith("paid in car.toml is 1200.00 EUR, and costs of the kind purchase are 1200.00 EUR")
    assert f"NOT SURE: {warning}" in money_text(world.state)


def test_a_cap_that_takes_no_sales_says_so_and_no_limit(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", TALLY_FACTS.replace('cap_sales = "net"', 'cap_sales = "not"'))
    cap = money_now(world.state).cap
    assert cap is not None
    assert cap.working == "purchase + fitting = 1200.00 EUR, sales do not count back"


# -- lots


def test_a_sold_lot_is_told_once_with_its_first_part_and_less_what_was_given_back(world: World) -> None:
    sale = world.done("sold", part="mats", along="driver-seat,pads", amount="60", fees="6")
    world.done("refunded", part="pads", amount="4", why="scratched")
    words = market_words(world.state)
    assert words["mats"] == "sold: net 50.00 EUR for a lot of 3"
    assert words["pads"] == words["driver-seat"] == f"sold: went with Floor mats (entry {sale.n})"
    world.done("refunded", part="mats", amount="20", why="torn", returned=True)
    words = market_words(world.state)
    assert "mats" not in words
    assert words["driver-seat"] == "sold: net 30.00 EUR for a lot of 3"  # the first that is still sold


def test_what_is_left_of_a_lot_has_no_price_in_any_sum(world: World) -> None:
    world.done("listed", part="mats", along="driver-seat", ask="90", floor="70")
    world.done("sold", part="mats", amount="20")
    now = money_now(world.state)
    assert (now.asked, now.doubtful, now.unpriced) == (0, 0, 1)
    (said,) = for_sale_words(world.state)
    assert said.startswith("NO PRICE: 90.00 EUR was asked for the whole lot, no floor")
    assert market_words(world.state)["driver-seat"] == "what is left of a lot: list it anew"


def test_what_is_to_be_sold_and_nobody_priced_is_without_a_floor(world: World) -> None:
    world.done("part-fate", part="mats", fate="sell")
    assert money_now(world.state).unpriced == 1
    assert for_sale_words(world.state) == ["not priced yet, 1: Floor mats"]


# -- hours


def test_hours_are_those_of_one_person_and_a_step_of_two_takes_twice_as_many(world: World) -> None:
    world.done("listed", part="driver-seat", ask="90", collection=True)
    laid = world.state.route.by_ref["cabin.seat-out"]
    worth = worth_it(world.state, line_of(world.state, "driver-seat"))
    assert worth.hours == pytest.approx((laid.step.minutes[1] * laid.step.people + 10) / 60)
    two = laid._replace(step=laid.step.model_copy(update={"people": laid.step.people + 1}))
    steps = tuple(two if one is laid else one for one in world.state.route.steps)
    object.__setattr__(world.car.folded.route, "steps", steps)
    vars(world.car.folded.route).pop("by_ref", None)
    more = worth_it(world.state, line_of(world.state, "driver-seat"))
    assert more.hours == pytest.approx((laid.step.minutes[1] * (laid.step.people + 1) + 10) / 60)
    assert "hours of one person" in "\n".join(one.beside for one in sums(money_now(traded_hours(world).state)))


def traded_hours(world: World) -> World:
    mats_off(world)
    return world


def test_a_bundle_says_the_hour_and_the_floor_it_does_not_reach(world: World) -> None:
    world.done("listed", part="mats", ask="12", collection=True)
    worth = worth_it(world.state, line_of(world.state, "mats"))
    # 12 less 12 % and 5 % is 9.96, in 2 + 10 minutes: 49.80 an hour; the floor of this car is 10
    assert (worth.says, worth.short("EUR")) == ("sell", "sell: net 9.96 EUR, 49.80 an hour, 0.2 h")
    world.done("listed", part="mats", ask="13")
    worth = worth_it(world.state, line_of(world.state, "mats"))
    assert worth.says == "bundle"
    assert worth.why.startswith("an hour brings 9.70, your floor is 10.00 EUR; asked 13.00 EUR less")


# -- scrap


def test_a_sold_part_with_the_fate_of_scrap_is_counted_nowhere_as_scrap(world: World) -> None:
    mats_off(world)
    world.done("sold", part="mats", amount="20")
    world.done("part-fate", part="mats", fate="scrap")
    assert (scrap_by_group(world.state), scrap_words(world.state), waits_for_the_yard(world.state)) == ({}, [], [])
    assert money_data(world.state)["scrap_kg"] == {}


def test_scrap_says_what_of_it_is_on_no_ticket_yet(world: World) -> None:
    mats_off(world)
    world.done("part-weighed", part="mats", reading="4kg")
    world.done("part-fate", part="mats", fate="scrap")
    assert scrap_words(world.state) == [("rubber", "4.0 kg")]
    world.done("scrap-ticket", reading="4kg", amount="1", material="rubber")
    assert scrap_words(world.state) == [("rubber", "4.0 kg; 0.0 kg of it on no ticket yet")]
