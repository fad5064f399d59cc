"""Money, closing and balance as text and as data, for `teardown show`."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from teardown import units
from teardown.car.amounts import minor_digits, show_amount
from teardown.car.balance import MOMENTS, balance_words, balances, rows
from teardown.car.closing import closing_of
from teardown.car.closing_words import FORGOTTEN
from teardown.car.dealings import Dealing, dealings
from teardown.car.money import MoneyNow, brought, cap_line, money_now, sums
from teardown.car.offers import Offer, for_sale_words, offers
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, all_lines, sales_by_part
from teardown.car.tickets import check_tickets, scrap_by_group, scrap_words
from teardown.car.weighing import how_it_stood
from teardown.car.worth import worth_it
from teardown.commands.figure.closing import answer_of, closing_facts
from teardown.figures.balance import Stance

# -- closing


def closing_text(state: State) -> list[str]:
    closing = closing_of(state)
    weighings = [f"weighing {n}: {units.show_mass(w.total_kg)}, {how_it_stood(w)}" for n, w in state.weighings.items]
    if isinstance(closing, str):
        return [*weighings, f"no closing yet: {closing}"]
    lines = [*weighings, *(f"corrected: {says}" for says in closing.lines.corrected)]
    lines += [f"NOT SURE: {says}" for says in closing.lines.doubts]
    lines += ["", *answer_of(closing_facts(closing), forgotten=False).as_text().splitlines()]
    if closing.result.verdict != "closes":
        lines += ["", "Most often forgotten, the usual first:", *(f"  {what}" for what in FORGOTTEN)]
    return lines


def closing_data(state: State) -> dict[str, Any]:
    closing = closing_of(state)
    if isinstance(closing, str):
        return {"why_not": closing}
    found = closing.result
    return {
        "verdict": found.verdict,
        "gap_kg": round(found.gap_kg, 4),
        "gap_u_kg": round(found.gap_u_kg, 4),
        "smallest_gap_shown_kg": round(found.smallest_gap_shown_kg, 4),
        "items": len(closing.lines.items),
        "corrected": list(closing.lines.corrected),
        "doubts": list(closing.lines.doubts),
        "candidates": [{"name": one.name, "move_kg": round(one.move_kg, 4)} for one in found.candidates[:8]],
    }


# -- balance


def balance_text(state: State) -> list[str]:
    known = balances(state)
    if isinstance(known, str):
        return [f"no balance: {known}"]
    lines = [_row("", MOMENTS), *(_row(row.label, [_told(one, row.unit) for one in row.values]) for row in rows(known))]
    return lines + balance_words(state, known)


def _row(label: str, values: Sequence[str]) -> str:
    return f"{label:<14}{''.join(f'{value:>12}' for value in values)}"


def _told(value: float | None, unit: str) -> str:
    if value is None:
        return "unknown"
    if unit == "kg":
        return units.show_mass(value)
    return units.show_length(value, 3) if unit == "m" else f"{value:.1f} %"


def balance_data(state: State) -> dict[str, Any]:
    known = balances(state)
    if isinstance(known, str):
        return {"why_not": known}
    stances = zip(MOMENTS, known.stances, strict=True)
    return {name: _stance_data(stance) for name, stance in stances} | {
        "compares": not known.missing,
        "missing": list(known.missing),
        "corrected": list(known.corrected),
        "fluids_kg": round(known.fluids_kg, 4),
        "unplaced_kg": round(known.unplaced_kg, 4),
    }


def _stance_data(stance: Stance) -> dict[str, Any]:
    return {
        "total_kg": round(stance.total_kg, 4),
        "corners_kg": [round(kg, 4) for kg in stance.corners_kg],
        "front_percent": round(stance.front_percent, 3),
        "left_percent": round(stance.left_percent, 3),
        "cross_percent": round(stance.cross_percent, 3),
        "height_m": None if stance.height_m is None else round(stance.height_m, 4),
    }


# -- money


def money_text(state: State) -> list[str]:
    lines = [*money_lines(money_now(state)), "", "MONEY ENTRIES", *_dealing_lines(state)]
    lines += ["", "SCRAP, BY MATERIAL", *_scrap_lines(state), *_ticket_lines(state)]
    lines += ["", "FOR SALE", *(for_sale_words(state) or ["nothing is for sale"])]
    return [*lines, "", "WORTH IT", *_worth_lines(state), CONTROLLED_LAW]


def money_lines(now: MoneyNow) -> list[str]:
    """The sums, one a line."""
    rows = [
        f"{row.label:<24}{row.amount(now.currency):>16}{f'  {row.beside}' if row.beside else ''}" for row in sums(now)
    ]
    return [f"NOT SURE: {says}" for says in now.warnings] + rows + ([cap_line(now)] if now.cap is not None else [])


def _dealing_lines(state: State) -> list[str]:
    """Every entry of money that stands, with its receipt and who it went to, or why."""
    return [_dealing_line(state.currency, one) for one in dealings(state)] or ["no money was entered"]


def _dealing_line(currency: str, one: Dealing) -> str:
    amount = f"{one.in_hand:+.{minor_digits(currency)}f} {currency}"
    less = f"{show_amount(one.amount, currency)} less {show_amount(one.less, currency)} for selling" if one.less else ""
    told = "; ".join(text for text in (one.what, less, one.why, one.paper, one.who) if text)
    return f"{one.entry or 'car.toml':<9}{one.utc[:10]:<11}{amount:>16}  {one.kind}: {told}"


def _scrap_lines(state: State) -> list[str]:
    lines = [f"{group:<21}{says:>10}" for group, says in scrap_words(state)]
    return lines or ["nothing is off that is to be scrapped"]


def _ticket_lines(state: State) -> list[str]:
    return [f"ticket, {check.lane}: {check.masses}: {check.says}" for check in check_tickets(state)]


def market_words(state: State) -> dict[str, str]:
    """What is asked for each part or what it brought, by its id."""
    words: dict[str, str] = {}
    for offer in offers(state):
        if offer.listing is not None:
            words |= {line.id: _asked(state, offer) for line in offer.lines}
    sales = sales_by_part(state)
    for part in sales:
        if (sold := brought(state, sales, part)) is not None:
            words[part] = sold.words(state.currency)
    return words


def _asked(state: State, offer: Offer) -> str:
    if offer.ask is None:
        return "what is left of a lot: list it anew"
    lot = f" for a lot of {len(offer.lines)}" if offer.is_lot else ""
    return f"asked {show_amount(offer.ask, state.currency)}{lot}"


def _worth_lines(state: State) -> list[str]:
    currency, lines, sales = state.currency, [], sales_by_part(state)
    for line in all_lines(state):
        if line.counts in ("fluid", "contents", "added"):
            continue
        worth = worth_it(state, line, brought(state, sales, line.id))
        lines.append(f"{worth.says:<11}{line.id:<28}{worth.money(currency)}  {worth.why}")
    return lines


def money_data(state: State) -> dict[str, Any]:
    """Amounts as text, so that no program rounds them."""
    now = money_now(state)
    digits = minor_digits(now.currency)

    def text(value: Decimal | None) -> str | None:
        return None if value is None else f"{value:.{digits}f}"

    names = ("paid", "spent", "gross", "fees", "packing", "carriage", "refunds", "scrap", "recovered", "net_cost")
    return {
        "currency": now.currency,
        "warnings": list(now.warnings),
        **{name: text(getattr(now, name)) for name in (*names, "asked", "doubtful", "per_kg", "per_person_hour")},
        "spent_by_kind": {kind: text(value) for kind, value in now.spent_by_kind.items()},
        "share_percent": None if now.share_percent is None else round(now.share_percent, 2),
        "off_kg": round(now.off_kg, 4),
        "person_hours": round(now.person_hours, 2),
        "cap": None
        if now.cap is None
        else {
            "limit": text(now.cap.limit),
            "rule": now.cap.rule,
            "declared": text(now.cap.declared),
            "headroom": text(now.cap.headroom),
            "working": now.cap.working,
        },
        "entries": [
            {
                "entry": one.entry or None,
                "utc": one.utc or None,
                "kind": one.kind,
                "what": one.what,
                "amount": text(one.amount),
                "in_hand": text(one.in_hand),
                "paper": one.paper or None,
                "why": one.why or None,
                "who": one.who or None,
            }
            for one in dealings(state)
        ],
        "offers": [
            {
                "parts": [line.id for line in offer.lines],
                "asked": text(offer.ask),
                "floor": text(offer.floor),
                "kg": round(offer.kg, 4),
                "not_in_it_any_more": list(offer.left),
            }
            for offer in offers(state)
        ],
        "scrap_kg": {group: round(sum(line.kg for line in lines), 4) for group, lines in scrap_by_group(state).items()},
        "tickets": [
            {"lane": check.lane, "ticket_kg": check.tickets_kg, "tally_kg": check.tally_kg, "agrees": check.agrees}
            for check in check_tickets(state)
        ],
    }
