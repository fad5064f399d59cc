"""What the car cost and what came back, with every entry that proves it."""

from __future__ import annotations

from collections.abc import Iterator

from teardown.car.amounts import minor_digits, show_amount
from teardown.car.dealings import Dealing, dealings
from teardown.car.door import Car
from teardown.car.money import NOTHING, MoneyNow, cap_line, money_now, sums
from teardown.car.offers import Offer, offers
from teardown.car.state import State
from teardown.car.tickets import check_tickets, without_ticket
from teardown.sheets.charts import bar_chart
from teardown.sheets.page import Block, Row, Sheet, Table, kg, when


def fill(car: Car) -> Sheet:
    state = car.now().state
    now = money_now(state)
    entries = dealings(state)
    blocks = [*_warned(now), _sums(now), _cap(now), _chart(now), _proof(now, entries), scrap_block(state)]
    return Sheet("money", "Money: what the car cost and what came back", [*blocks, _for_sale(state)])


def _warned(now: MoneyNow) -> Iterator[Block]:
    if now.warnings:
        yield Block("Not sure", lines=now.warnings, loud=True)


def _sums(now: MoneyNow) -> Block:
    pairs = [(one.label, f"{one.amount(now.currency)}{one.beside and f', {one.beside}'}") for one in sums(now)]
    return Block("The sums", pairs=pairs)


def _cap(now: MoneyNow) -> Block:
    return Block("Against the cap", lines=(cap_line(now),)) if now.cap is not None else Block()


def _chart(now: MoneyNow) -> Block:
    bars = {"": [float(now.put_in), float(now.recovered)]}
    return Block(chart=bar_chart("Money put in and money back", ("put in", "back"), bars, now.currency))


def _proof(now: MoneyNow, entries: list[Dealing]) -> Block:
    digits = minor_digits(now.currency)
    coins = now.currency
    head = ("entry", "UTC", "kind", "what", f"amount, {coins}", f"selling took, {coins}", f"in hand, {coins}")
    rows: list[Row] = [
        (
            str(one.entry) if one.entry else "car.toml",
            when(one.utc),
            one.kind,
            one.what,
            f"{one.amount:.{digits}f}",
            f"{one.less:.{digits}f}" if one.less else "",
            f"{one.in_hand:+.{digits}f}",
            one.paper,
            one.why,
            one.who,
        )
        for one in entries
    ]
    total = show_amount(sum((one.in_hand for one in entries), NOTHING), now.currency)
    return Block(
        "Money entries",
        lines=(f"In hand, all of it: {total}. What was undone is left out; a receipt or ticket proves its entry.",),
        table=Table("money", (*head, "receipt or ticket", "to, or why", "who wrote it"), rows),
    )


def scrap_block(state: State) -> Block:
    """What the yard weighed against the tally, and what no ticket speaks of yet."""
    checks = check_tickets(state)
    rows: list[Row] = [(check.lane, kg(check.tally_kg), kg(check.tickets_kg), check.says) for check in checks]
    rows += [
        (group, kg(sum(line.kg for line in lines)), "", "no ticket") for group, lines in without_ticket(state).items()
    ]
    head = ("material", "in the tally, kg", "on tickets, kg", "and so")
    return Block("Scrap, by material", table=Table("scrap", head, rows)) if rows else Block()


def _for_sale(state: State) -> Block:
    digits = minor_digits(state.currency)
    rows: list[Row] = [
        (
            "; ".join(line.name for line in offer.lines),
            kg(offer.kg),
            "" if offer.ask is None else f"{offer.ask:.{digits}f}",
            "" if offer.floor is None else f"{offer.floor:.{digits}f}",
            _left_words(state, offer),
        )
        for offer in offers(state)
    ]
    head = ("what", "kg", f"asked, {state.currency}", f"floor, {state.currency}", "noted")
    return Block("For sale: asked for, not counted", table=Table("for-sale", head, rows)) if rows else Block()


def _left_words(state: State, offer: Offer) -> str:
    if offer.listing is None:
        return "no price yet"
    if not offer.left:
        return ""
    whole = show_amount(offer.listing.ask, state.currency)
    return f"{whole} was asked for the whole lot; gone from it: {'; '.join(offer.left)}: list what is left anew"
