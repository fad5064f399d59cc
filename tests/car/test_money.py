"""Money: no cent appears or vanishes, order does not matter, and the cap follows the rule's own arithmetic."""

from __future__ import annotations

import re
import tempfile
from decimal import Decimal
from itertools import chain
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from teardown.car.amounts import MINOR_DIGITS, AmountError, amount, minor_digits, show_amount, why_not_in
from teardown.car.clock import Instant
from teardown.car.facts import FactsError
from teardown.car.log import Entry
from teardown.car.money import money_now, sale_of
from teardown.car.offers import offers
from teardown.car.state import BadEntry, State
from teardown.car.tally import line_of, sales_by_part
from teardown.car.tickets import check_tickets
from teardown.car.worth import worth_it
from teardown.commands.tally import money_text
from tests.car.tally import TALLY_FACTS, mats_count_as, mats_off, tally_world
from tests.world import World, facts, route

coins = st.decimals(min_value=0, max_value=99_999, places=2, allow_nan=False).map(str)
sales = st.lists(st.tuples(coins, coins, coins, coins), max_size=8)
costs = st.lists(st.tuples(coins, st.sampled_from(("removing", "waste", "fitting", "purchase", "other"))), max_size=8)
ROUTE, FACTS = route(TALLY_FACTS), facts(TALLY_FACTS)


@pytest.fixture
def world(tmp_path: Path) -> World:
    return tally_world(tmp_path / "car")


def folded(drafts: list[tuple[str, dict[str, Any]]]) -> State:
    """A state from entries without a disk."""
    state = State(ROUTE, FACTS)
    for n, (kind, fields) in enumerate(drafts, start=1):
        at = Instant("2026-05-09T08:00:00.000Z", "boot-1", float(n), "2026-05-09")
        state.apply(Entry(n, at, "Ana", kind, dict(fields), ""))
    return state


Drafts = list[tuple[str, dict[str, str]]]


def drafts_of(
    sold: list[tuple[str, str, str, str]], spent: list[tuple[str, str]], back: list[str], scrap: list[str]
) -> list[Drafts]:
    """Entries in groups that may stand in any order; a refund comes after its sale."""
    keys = ("amount", "fees", "packing", "carriage")
    drafts: list[Drafts] = [
        [("sold", {"part": f"part-{n}", **dict(zip(keys, one, strict=True))})] for n, one in enumerate(sold)
    ]
    for n, one in enumerate(back[: len(sold)]):
        drafts[n].append(("refunded", {"part": f"part-{n}", "amount": one, "why": "broken"}))
    drafts += [[("cost", {"amount": one, "what": "x", "of": of})] for one, of in spent]
    return drafts + [[("scrap-ticket", {"reading": "1kg", "mass_kg": 1.0, "amount": one})] for one in scrap]


@given(sales, costs, st.lists(coins, max_size=4), st.lists(coins, max_size=4), st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_every_cent_is_counted_once_and_in_any_order(
    sold: list[tuple[str, str, str, str]],
    spent: list[tuple[str, str]],
    back: list[str],
    scrap: list[str],
    random: Random,
) -> None:
    drafts = drafts_of(sold, spent, back, scrap)
    back = back[: len(sold)]
    now = money_now(folded(list(chain.from_iterable(drafts))))
    # counted in whole cents, by hand: integers neither round nor depend on order
    cents = {key: [int(Decimal(one) * 100) for one in some] for key, some in (("back", back), ("scrap", scrap))}
    in_hand = sum(int(Decimal(a) * 100) - sum(int(Decimal(x) * 100) for x in rest) for a, *rest in sold)
    assert now.recovered * 100 == in_hand - sum(cents["back"]) + sum(cents["scrap"])
    assert (now.paid + now.spent) * 100 == 120_000 + sum(int(Decimal(one) * 100) for one, _ in spent)
    assert now.net_cost == now.paid + now.spent - now.recovered
    random.shuffle(drafts)
    assert money_now(folded(list(chain.from_iterable(drafts))))[:11] == now[:11]


@given(st.lists(coins, min_size=1, max_size=8), st.integers(min_value=0, max_value=7))
@settings(max_examples=40)
def test_an_undone_amount_is_as_if_it_had_never_been_entered(amounts: list[str], which: int) -> None:
    which %= len(amounts)
    drafts = [("cost", {"amount": one, "what": "x"}) for one in amounts]
    undone = folded([*drafts, ("undo", {"entry": which + 1})])  # type: ignore[dict-item]
    assert money_now(undone).spent == money_now(folded(drafts[:which] + drafts[which + 1 :])).spent


@pytest.mark.parametrize(("typed", "value"), [("120", "120"), ("120,50", "120.50"), ("0.05 EUR", "0.05")])
def test_amounts_are_read_with_point_or_comma(typed: str, value: str) -> None:
    assert amount(typed) == Decimal(value)


@pytest.mark.parametrize(("typed", "why"), [
    ("-5", "not below 0"),
    ("1,234", "can be read two ways"),
    ("12.3456", "is not an amount"),
    ("1e3", "is not an amount"),
    ("NaN", "is not an amount"),
])  # fmt: skip
def test_what_is_no_amount_is_refused(typed: str, why: str) -> None:
    with pytest.raises(AmountError, match=why):
        amount(typed)


@pytest.mark.parametrize(("typed", "currency", "why"), [
    ("5 USD", "EUR", "not in EUR, the one currency of this car"),
    ("5.005", "EUR", "3 digits after the point, and EUR has 2"),
    ("5.5", "JPY", "JPY has 0"),
])  # fmt: skip
def test_a_car_has_one_currency_and_its_smallest_coin(typed: str, currency: str, why: str) -> None:
    assert why in (why_not_in(typed, currency) or "")


def test_smallest_coins_are_those_of_iso_4217() -> None:
    # ISO 4217 table A.1, minor units, from memory: dinar of Kuwait 3, yen 0, euro 2
    shown = [show_amount(Decimal("1.5"), name) for name in ("KWD", "EUR")]
    assert (*shown, show_amount(Decimal(2), "JPY")) == ("1.500 KWD", "1.50 EUR", "2 JPY")


def test_the_door_refuses_another_currency(world: World) -> None:
    assert "not in EUR" in world.refused("cost", amount="12 USD", what="ice").why


def test_a_part_is_sold_once_until_it_came_back(world: World) -> None:
    world.done("sold", part="mats", amount="20", fees="2.40", to="Kim")
    assert "is sold already" in world.refused("sold", part="mats", amount="25").why
    world.done("refunded", part="mats", amount="20", why="torn", returned=True)
    assert sale_of(world.state, "mats") is None
    world.done("sold", part="mats", amount="15")
    assert money_now(world.state).recovered == Decimal("12.60")  # 20 - 2.40 - 20 + 15


def test_nothing_is_given_back_for_what_was_not_sold(world: World) -> None:
    assert "is not sold" in world.refused("refunded", part="mats", amount="5", why="late").why


def test_a_bundle_is_one_sum_and_sells_all_of_it(world: World) -> None:
    world.done("part-found", name="clips", reading="1kg", fate="sell")
    clips = f"found-{world.state.entries}"
    world.done("sold", part="mats", along=clips, amount="30", packing="4")
    assert money_now(world.state).recovered == 26
    assert sale_of(world.state, clips) == sale_of(world.state, "mats")
    assert "is sold already" in world.refused("listed", part=clips, ask="5").why


@pytest.mark.parametrize("kind", ["sold", "listed"])
def test_a_live_module_is_neither_offered_nor_sold_without_the_rule_that_allows_it(world: World, kind: str) -> None:
    words = {"amount": "50"} if kind == "sold" else {"ask": "50"}
    assert "carries a live module" in world.refused(kind, part="driver-bag", **words).why
    assert "selling is banned in some places" in world.refused("part-fate", part="driver-bag", fate="sell").why
    world.done("part-fate", part="driver-bag", fate="sell", rule="permit 12")
    world.done(kind, part="driver-bag", **words)


def test_a_live_module_does_not_slip_through_in_a_bundle(world: World) -> None:
    why = world.refused("sold", part="mats", along="driver-bag", amount="50").why
    assert "Driver airbag module carries a live module" in why


def test_unsold_stock_counts_for_nothing_and_is_shown_at_its_floor(world: World) -> None:
    world.done("listed", part="mats", ask="40", floor="15")
    now = money_now(world.state)
    assert (now.asked, now.doubtful, now.recovered) == (40, 15, 0)
    world.done("sold", part="mats", amount="38")
    now = money_now(world.state)
    assert (now.asked, now.doubtful, now.recovered) == (0, 0, 38)


def test_the_cap_is_reckoned_as_the_rule_says_and_not_otherwise(world: World) -> None:
    world.done("cost", amount="100", what="race seat", of="fitting")
    world.done("cost", amount="400", what="cage", of="safety")  # does not count: cap_counts has no safety
    world.done("sold", part="mats", amount="900", fees="50")
    cap = money_now(world.state).cap
    assert cap is not None
    assert (cap.declared, cap.headroom) == (500, 0)  # 1200 + 100 - min(850, 800)
    assert cap.working == ("purchase + fitting = 1300.00 EUR, less sales (net, at most 800.00 EUR) 800.00 EUR")


def test_a_cap_without_the_rules_arithmetic_is_not_guessed(tmp_path: Path) -> None:
    text = TALLY_FACTS.replace('cap_counts = ["purchase", "fitting"]\n', "")
    cap = money_now(tally_world(tmp_path / "car", text).state).cap
    assert cap is not None
    assert cap.declared is None
    assert "enter the rule's own arithmetic" in cap.working


def test_money_a_kilo_takes_off_what_removing_cost(world: World) -> None:
    mats_off(world)
    world.done("part-weighed", part="mats", reading="4kg")
    world.done("cost", amount="6", what="ice", of="removing")
    world.done("sold", part="mats", amount="20")
    now = money_now(world.state)
    assert now.per_kg == Decimal("3.5")  # (20 - 6) / 4
    assert now.person_hours == pytest.approx(4 / 60)  # the packs' likely 2 + 2 minutes
    assert now.share_percent == pytest.approx(100 * 20 / 1200)


@pytest.mark.parametrize(("ticket", "agrees"), [("4.1kg", True), ("5kg", False)])
def test_a_weigh_ticket_is_held_against_the_tally(world: World, ticket: str, agrees: bool) -> None:
    mats_off(world)
    world.done("part-weighed", part="mats", reading="4kg")
    world.done("part-fate", part="mats", fate="scrap")
    world.done("scrap-ticket", reading=ticket, amount="1.20", material="Rubber")
    (check,) = check_tickets(world.state)
    assert (check.lane, check.tally_kg, check.agrees) == ("rubber", 4, agrees)  # within 5 %, common practice


def test_worth_it_takes_fees_packing_carriage_and_hours_off_the_floor(world: World) -> None:
    world.done("part-weighed", part="mats", reading="4kg")
    world.done("listed", part="mats", ask="60", floor="50", size="60x40x30cm")
    worth = worth_it(world.state, line_of(world.state, "mats"))
    # 60 x 40 x 30 cm / 5000 = 14.4, billed 15 kg at 0.50; 50 less 12 % and 5 %, packing 4
    assert worth.net == Decimal("50") * Decimal("0.83") - 4 - Decimal("7.50")
    assert worth.hours == pytest.approx((2 + 40) / 60)
    assert worth.says == "sell"


def test_what_pays_less_than_an_hour_is_worth_goes_into_a_bundle(world: World) -> None:
    world.done("listed", part="mats", ask="12")
    assert worth_it(world.state, line_of(world.state, "mats")).says == "bundle"


def test_a_live_module_is_counted_in_the_store_before_anybody_takes_it(world: World) -> None:
    assert "is not off yet" in world.refused("handed-over", part="driver-bag", to="dealer").why
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    assert "say first where it was stored" in world.refused("handed-over", part="driver-bag", to="dealer").why
    world.done("part-stored", part="driver-bag", where="store")
    world.done("handed-over", part="driver-bag", to="dealer", paper="R 7")
    assert line_of(world.state, "driver-bag").standing == "handed-over"
    assert world.state.module_account("driver-bag") == "handed over to dealer, R 7, 2026-05-09"
    world.done("part-stored", part="driver-bag", where="back in the store")
    assert world.state.module_account("driver-bag") == "stored: back in the store"


def test_what_was_handed_over_and_is_back_is_no_longer_gone(world: World) -> None:
    mats_off(world)
    world.done("handed-over", part="mats", to="neighbour")
    assert line_of(world.state, "mats").standing == "handed-over"
    world.done("part-back", part="mats")
    assert line_of(world.state, "mats").standing == "on"
    world.done("part-off", part="mats")
    assert line_of(world.state, "mats").standing == "off"


def test_a_live_module_is_never_called_worth_selling(world: World) -> None:
    worth = worth_it(world.state, line_of(world.state, "driver-bag"))
    assert (worth.says, worth.net) == ("controlled", None)


# -- lots


def clips(world: World) -> str:
    """Something small that goes with what is sold; its id."""
    return f"found-{world.done('part-found', name='Clips', reading='1kg', fate='sell').n}"


def offered(world: World) -> list[tuple[str, ...]]:
    """What each buyer gets who is asked a price."""
    return [tuple(line.id for line in one.lines) for one in offers(world.state) if one.listing is not None]


@pytest.fixture
def lot(world: World) -> tuple[World, str]:
    """Mats of 4 kg and clips of 1 kg, offered together for 50, for 30 at the least."""
    found = clips(world)
    world.done("part-weighed", part="mats", reading="4kg")
    world.done("listed", part="mats", along=found, ask="50", floor="30")
    return world, found


def test_a_lot_is_asked_for_once_and_weighs_what_its_parts_weigh(lot: tuple[World, str]) -> None:
    world, found = lot
    (offer,) = offers(world.state)
    assert (offer.name, offer.kg, offered(world)) == ("Floor mats and 1 more", 5, [("mats", found)])
    now = money_now(world.state)
    assert (now.asked, now.doubtful, now.unpriced, now.recovered) == (50, 30, 0, 0)


def test_the_worth_of_a_lot_is_reckoned_once_with_one_packing_and_one_carriage(lot: tuple[World, str]) -> None:
    world, found = lot
    world.done("listed", part="mats", along=found, ask="60", floor="50", size="30x30x20cm")
    worth = worth_it(world.state, line_of(world.state, "mats"))
    # 30 x 30 x 20 cm / 5000 = 3.6, but it weighs 5 kg, billed at 0.50; 50 less 12 % and 5 %, packing 4
    assert worth.net == Decimal("50") * Decimal("0.83") - 4 - Decimal("2.50")
    assert worth.hours == pytest.approx((2 + 40) / 60)
    assert worth.why.startswith("lot of 2: floor 50.00 EUR")
    other = worth_it(world.state, line_of(world.state, found))
    assert (other.says, other.why, other.net) == ("lot", "goes with Floor mats, for one price", None)


def test_what_is_sold_out_of_a_lot_leaves_it_with_its_mass_and_its_floor(lot: tuple[World, str]) -> None:
    world, found = lot
    world.done("sold", part=found, amount="5")
    (offer,) = offers(world.state)
    assert (offered(world), offer.kg, offer.left) == ([("mats",)], 4, ("Clips (sold)",))
    now = money_now(world.state)
    assert (now.doubtful, now.unpriced) == (0, 1)  # the floor was that of the whole lot
    worth = worth_it(world.state, line_of(world.state, "mats"))
    assert (worth.says, worth.net) == ("price it", None)
    assert worth.why == "the price was asked with Clips (sold): list what is left anew"


def test_a_lot_that_is_sold_is_no_longer_asked_for(lot: tuple[World, str]) -> None:
    world, found = lot
    world.done("sold", part="mats", along=found, amount="45")
    assert (offers(world.state), money_now(world.state).asked) == ([], 0)
    world.done("refunded", part=found, amount="5", why="broken", returned=True)
    (offer,) = offers(world.state)
    assert (offer.name, offer.left) == ("Clips", ("Floor mats (sold)",))


def test_a_part_is_in_the_lot_that_named_it_last(lot: tuple[World, str]) -> None:
    world, found = lot
    alone = world.done("listed", part=found, ask="8")
    assert sorted(offered(world)) == [(found,), ("mats",)]
    assert money_now(world.state).asked == 8  # not the 50 that were asked for both
    world.done("undo", entry=alone.n)
    assert offered(world) == [("mats", found)]


def test_a_lot_that_is_undone_leaves_what_was_listed_before(world: World) -> None:
    found = clips(world)
    world.done("listed", part="mats", ask="40", floor="20")
    both = world.done("listed", part=found, along="mats", ask="45")
    assert offered(world) == [(found, "mats")]
    world.done("undo", entry=both.n)
    assert offered(world) == [("mats",)]
    assert money_now(world.state).doubtful == 20


@pytest.mark.parametrize("fate", ["keep", "refit", "scrap", "controlled"])
def test_a_fate_set_after_the_listing_takes_a_part_off_the_market(lot: tuple[World, str], fate: str) -> None:
    world, found = lot
    world.done("part-fate", part="mats", fate=fate)
    (offer,) = offers(world.state)
    assert (offer.name, offer.left) == ("Clips", ("Floor mats",))
    world.done("listed", part="mats", along=found, ask="50")  # the newest word counts
    assert offered(world) == [("mats", found)]


def test_what_was_handed_over_is_offered_to_nobody(world: World) -> None:
    mats_off(world)
    world.done("listed", part="mats", ask="40")
    world.done("handed-over", part="mats", to="neighbour")
    assert offers(world.state) == []
    assert worth_it(world.state, line_of(world.state, "mats")).says == "gone"


@pytest.mark.parametrize(("kind", "money"), [("sold", {"amount": "50"}), ("listed", {"ask": "50"})])
@pytest.mark.parametrize(("along", "why"), [
    ("mats", "a part is named twice"),
    ("driver-bag", "Driver airbag module carries a live module"),
    ("driver-sea", "did you mean driver-seat?"),
    ("driver-seat", "Driver seat is sold already"),
])  # fmt: skip
def test_what_is_refused_to_a_part_is_refused_to_it_in_a_lot(
    world: World, kind: str, money: dict[str, str], along: str, why: str
) -> None:
    world.done("sold", part="driver-seat", amount="9")
    assert why in world.refused(kind, part="mats", along=along, **money).why


def test_a_live_module_whose_rule_is_undone_is_in_no_lot_any_more(world: World) -> None:
    rule = world.done("part-fate", part="driver-bag", fate="sell", rule="permit 12")
    world.done("listed", part="mats", along="driver-bag", ask="90")
    assert offered(world) == [("mats", "driver-bag")]
    world.done("undo", entry=rule.n)
    (offer,) = offers(world.state)
    assert (offered(world), offer.left) == ([("mats",)], ("Driver airbag module",))


PARTS = ("mats", "driver-seat", "pads", "knee-bag")
some_parts = st.lists(st.sampled_from(PARTS), min_size=1, max_size=3, unique=True)
dealings = st.lists(st.tuples(st.sampled_from(("listed", "sold", "part-fate", "undo")), some_parts, coins), max_size=10)


@given(dealings)
@settings(max_examples=100)
def test_a_part_is_offered_at_most_once_and_never_when_it_is_sold_or_live(
    drafts: list[tuple[str, list[str], str]],
) -> None:
    entries: list[tuple[str, dict[str, str]]] = []
    for n, (kind, parts, money) in enumerate(drafts):
        lot = {"part": parts[0]} | ({"along": ",".join(parts[1:])} if parts[1:] else {})
        fields = {
            "listed": lot | {"ask": money, "floor": money},
            "sold": lot | {"amount": money},
            "part-fate": {"part": parts[0], "fate": "scrap"},
            "undo": {"entry": max(1, n // 2)},
        }[kind]
        entries.append((kind, fields))  # type: ignore[arg-type]
    state = folded(entries)
    made = offers(state)
    named = [line.id for offer in made for line in offer.lines]
    assert len(named) == len(set(named))
    assert not set(named) & set(sales_by_part(state))
    assert "knee-bag" not in named  # it is live, and no rule was entered
    now = money_now(state)
    assert now.asked == sum(offer.listing.ask for offer in made if offer.listing and not offer.left)
    assert now.doubtful <= now.asked  # a floor that was no more than what was asked never counts for more


# -- what is gone, what stays


def test_what_stands_on_a_scrap_ticket_is_no_longer_asked_for_nor_sold(lot: tuple[World, str]) -> None:
    world, found = lot
    mats_off(world)
    ticket = world.done("scrap-ticket", reading="4kg", amount="1.20", parts="mats")
    (offer,) = offers(world.state)
    assert (offered(world), offer.left) == ([(found,)], ("Floor mats (scrapped)",))
    assert worth_it(world.state, line_of(world.state, "mats"))[:2] == ("gone", f"on a scrap ticket (entry {ticket.n})")
    for kind, words in (("sold", {"amount": "40"}), ("listed", {"ask": "40"})):
        assert f"went to the scrap yard (entry {ticket.n})" in world.refused(kind, part="mats", **words).why
    world.done("sold", part=found, amount="5")
    now = money_now(world.state)
    assert (now.asked, now.doubtful) == (0, 0)
    world.done("undo", entry=ticket.n)
    world.done("sold", part="mats", amount="40")


def test_what_came_back_from_the_yard_may_be_sold(world: World) -> None:
    mats_off(world)
    world.done("scrap-ticket", reading="3kg", amount="1", parts="mats")
    world.done("part-back", part="mats")
    world.done("sold", part="mats", amount="40")


def test_what_is_sold_goes_on_no_scrap_ticket(world: World) -> None:
    mats_off(world)
    world.done("sold", part="mats", amount="20")
    assert "is sold already" in world.refused("scrap-ticket", reading="3kg", amount="1", parts="mats").why


@pytest.mark.parametrize(("fate", "says"), [(None, "refit"), ("refit", "refit"), ("sell", "price it")])
def test_what_is_out_only_for_now_is_not_offered_until_its_fate_says_so(
    world: World, fate: str | None, says: str
) -> None:
    mats_count_as(world, "temporary")
    parts = world.car.folded.route.parts
    parts["mats"] = parts["mats"]._replace(part=parts["mats"].part.model_copy(update={"worth": "high"}))  # type: ignore[index]
    if fate is not None:
        world.done("part-fate", part="mats", fate=fate)
    assert worth_it(world.state, line_of(world.state, "mats")).says == says


def test_a_part_sold_ahead_is_said_to_be_still_on_the_car(world: World) -> None:
    entry = world.done("sold", part="mats", amount="20")
    (told,) = [line for line in money_text(world.state) if line.startswith("sold ") and "mats" in line]
    assert told == f"sold       mats                         net 20.00 EUR  entry {entry.n}, still on the car"
    mats_off(world)
    assert not any("still on the car" in line for line in money_text(world.state))


# -- refunds


def test_no_more_is_given_back_than_was_paid(world: World) -> None:
    found = clips(world)
    sale = world.done("sold", part="mats", along=found, amount="900")
    why = world.refused("refunded", part="mats", amount="5000", why="torn").why
    assert why == f"5000 is more than was paid: 900.00 EUR (entry {sale.n})"
    world.done("refunded", part="mats", amount="600", why="torn")
    why = world.refused("refunded", part=found, amount="300.01", why="bent").why
    assert why.endswith("and 600.00 EUR is given back already")
    world.done("refunded", part=found, amount="300", why="bent", returned=True)
    assert money_now(world.state).recovered == 0


def test_what_was_given_back_of_one_sale_does_not_count_against_the_next(world: World) -> None:
    world.done("sold", part="mats", amount="20")
    world.done("refunded", part="mats", amount="20", why="torn", returned=True)
    world.done("sold", part="mats", amount="15")
    world.done("refunded", part="mats", amount="15", why="torn again")


@given(coins, st.lists(coins, max_size=6))
@settings(max_examples=15)
def test_whatever_is_refunded_stays_within_what_was_paid(paid: str, back: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = tally_world(Path(folder) / "car")
        world.done("sold", part="mats", amount=paid)
        for one in back:
            world.enter("refunded", part="mats", amount=one, why="torn")
        assert 0 <= money_now(world.state).refunds <= Decimal(paid)


# -- what is not known of sending


@pytest.mark.parametrize(("words", "before", "net"), [
    ({}, "carriage", "37.50"),  # 50 less 12 % and 5 % is 41.50, less 4 of packing
    ({"size": "60x40x30cm"}, "", "30.00"),  # and 15 kg at 0.50
    ({"collection": True}, "", "41.50"),
])  # fmt: skip
def test_a_net_without_its_carriage_says_so(world: World, words: dict[str, object], before: str, net: str) -> None:
    world.done("listed", part="mats", ask="80", floor="50", **words)
    worth = worth_it(world.state, line_of(world.state, "mats"))
    assert (worth.before, worth.net) == (before, Decimal(net))
    assert ("carriage not known: the net is before it" in worth.why) == bool(before)


def test_neither_packing_nor_carriage_known_is_told_of_both(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car", TALLY_FACTS.replace("packing = 4\ncarriage_per_kg = 0.5\n", ""))
    world.done("listed", part="mats", ask="80", floor="50", size="60x40x30cm")
    assert worth_it(world.state, line_of(world.state, "mats")).before == "packing and carriage"
    assert "net 41.50 EUR before packing and carriage" in "\n".join(money_text(world.state))


# -- one currency a log


def in_currency(world: World, code: str) -> None:
    """The owner writes another currency into car.toml."""
    (world.folder / "car.toml").write_text(TALLY_FACTS.replace('"EUR"', f'"{code}"'))
    world.reopen()


def test_the_log_keeps_its_currency_when_car_toml_is_changed(world: World) -> None:
    entry = world.done("sold", part="mats", amount="20")
    assert entry.fields["currency"] == "EUR"
    in_currency(world, "USD")
    now = money_now(world.state)
    # what car.toml says of money is in dollars now: 1200 of them are not taken for euros
    assert (now.currency, now.recovered, now.paid, now.cap) == ("EUR", 20, None, None)
    assert "car.toml says USD, and the money in this log is in EUR" in now.warnings[0]
    assert "car.toml says USD" in money_text(world.state)[0]
    for kind, words in (
        ("cost", {"what": "ice", "amount": "5"}),
        ("refunded", {"part": "mats", "amount": "5", "why": "late"}),
    ):
        assert "car.toml says USD" in world.refused(kind, **words).why
    in_currency(world, "EUR")
    assert (money_now(world.state).warnings, money_now(world.state).paid) == ((), 1200)
    world.done("cost", what="ice", amount="5")


def test_a_log_whose_money_was_all_undone_may_be_in_another_currency(world: World) -> None:
    entry = world.done("cost", what="ice", amount="5")
    world.done("undo", entry=entry.n)
    in_currency(world, "JPY")
    world.done("cost", what="ice", amount="500")
    assert money_now(world.state).currency == "JPY"


def test_a_log_in_two_currencies_is_none(world: World) -> None:
    drafts = [("cost", {"amount": "5", "what": "x", "currency": name}) for name in ("EUR", "USD")]
    with pytest.raises(BadEntry, match="it is in USD, and the money before it is in EUR"):
        folded(drafts)
    with pytest.raises(BadEntry, match="ISO 4217"):
        folded([("cost", {"amount": "5", "what": "x", "currency": "XYZ"})])


@pytest.mark.parametrize(("code", "why"), [("XYZ", "ISO 4217"), ("EURO", "did you mean EUR?"), ("eur", "ISO 4217")])
def test_a_currency_nobody_uses_is_refused_in_car_toml(code: str, why: str) -> None:
    with pytest.raises(FactsError, match=re.escape(why)):
        facts(TALLY_FACTS.replace('"EUR"', f'"{code}"'))


def test_the_currencies_are_those_of_the_standard_with_their_digits() -> None:
    # ISO 4217 list one, from memory: franc CFA 0, dinar of Tunisia 3; funds, metals and test codes are no money in hand
    assert (minor_digits("XAF"), minor_digits("TND"), minor_digits("CHF")) == (0, 3, 2)
    assert not {"XYZ", "XAU", "XTS", "XXX", "CHE", "DEM"} & set(MINOR_DIGITS)
    assert all(re.fullmatch("[A-Z]{3}", code) for code in MINOR_DIGITS)
    assert len(MINOR_DIGITS) > 150


@pytest.mark.parametrize(("kind", "price"), [("listed", "ask"), ("sold", "amount")])
def test_a_fluid_goes_to_who_may_take_it_and_is_sold_only_once_its_fate_says_so(
    world: World, kind: str, price: str
) -> None:
    """Recovered refrigerant stays with the shop that recovered it."""
    mats_count_as(world, "fluid", "refrigerant gas")
    assert world.refused(kind, part="mats", **{price: "25.00"}).why == (
        "Floor mats is a fluid, and goes to who may take it: enter handed-over. Where the law lets you sell it, set "
        "its fate to sell first"
    )
    found = world.done("part-found", name="Gearbox oil", reading="2.00kg", counts="fluid")
    assert world.refused(kind, part=f"found-{found.n}", **{price: "5.00"}).why.startswith("Gearbox oil is a fluid")
    world.done("part-fate", part="mats", fate="sell")
    world.done(kind, part="mats", **{price: "25.00"})
