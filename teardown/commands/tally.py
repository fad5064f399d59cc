"""Money, closing and balance as text and as data, for `teardown show`."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from teardown import units
from teardown.car.amounts import minor_digits, show_amount
from teardown.car.balance import balance_words, balances
from teardown.car.closing import FORGOTTEN, Closing, closing_of
from teardown.car.money import MoneyNow, cap_line, money_now, sums
from teardown.car.offers import Offer, offers
from teardown.car.scrap import NO_SCRAP
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, all_lines, sales_by_part
from teardown.car.tickets import check_tickets, scrap_by_group, unsorted
from teardown.car.weighing import how_it_stood
from teardown.car.worth import worth_it
from teardown.commands.figure.closing import answer_of
from teardown.commands.figure.closing_file import Facts as ClosingFacts
from teardown.figures.balance import WHEELS, Stance

MOMENTS = ("before", "now", "planned")


# -- closing


def closing_facts(closing: Closing) -> ClosingFacts:
    return ClosingFacts(closing.lines.opening, closing.lines.closing, closing.lines.items)


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
    stances = (known.before, known.now, known.planned)
    lines = [f"{'':<14}{''.join(f'{moment:>12}' for moment in MOMENTS)}"]
    for n, wheel in enumerate(WHEELS):
        lines.append(_row(wheel, [units.show_mass(stance.corners_kg[n]) for stance in stances]))
    lines.append(_row("total", [units.show_mass(stance.total_kg) for stance in stances]))
    for label, key in (("front", "front_percent"), ("left", "left_percent"), ("diagonal", "cross_percent")):
        lines.append(_row(label, [f"{getattr(stance, key):.1f} %" for stance in stances]))
    lines.append(_row("height", [_height(stance) for stance in stances]))
    return lines + balance_words(state, known)


def _row(label: str, values: list[str]) -> str:
    return f"{label:<14}{''.join(f'{value:>12}' for value in values)}"


def _height(stance: Stance) -> str:
    return "unknown" if stance.height_m is None else units.show_length(stance.height_m, "m", 3)


def balance_data(state: State) -> dict[str, Any]:
    known = balances(state)
    if isinstance(known, str):
        return {"why_not": known}
    stances = zip(MOMENTS, (known.before, known.now, known.planned), strict=True)
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
    now = money_now(state)
    lines = [*money_lines(now), "", "SCRAP, BY MATERIAL", *_scrap_lines(state), *_ticket_lines(state)]
    lines += ["", "FOR SALE", *_offer_lines(state), "", "WORTH IT", *_worth_lines(state)]
    return [*lines, CONTROLLED_LAW]


def money_lines(now: MoneyNow) -> list[str]:
    """The sums, one a line."""
    rows = [
        f"{row.label:<24}{show_amount(row.value, now.currency):>16}{f'  {row.beside}' if row.beside else ''}"
        for row in sums(now)
    ]
    warning = [f"NOT SURE: {now.warning}"] if now.warning else []
    return warning + rows + ([cap_line(now)] if now.cap is not None else [])


def _scrap_lines(state: State) -> list[str]:
    lines = []
    for group, some in scrap_by_group(state).items():
        mixed_up = unsorted(some)
        says = f"; taken as mixed, of no material known here: {', '.join(mixed_up)}" if mixed_up else ""
        hand_over = ": hand it over, with a paper" if group == NO_SCRAP else ""
        lines.append(f"{group:<21}{units.show_mass(sum(line.kg for line in some)):>10}{hand_over}{says}")
    return lines or ["nothing is off that is to be scrapped"]


def _ticket_lines(state: State) -> list[str]:
    return [f"ticket, {check.lane}: {check.masses}: {check.says}" for check in check_tickets(state)]


def _offer_lines(state: State) -> list[str]:
    """What is asked, one line a part or a lot."""
    return [_offer_line(state, offer) for offer in offers(state) if offer.listing is not None] or ["nothing is listed"]


def _offer_line(state: State, offer: Offer) -> str:
    floor = "no floor" if offer.floor is None else f"floor {show_amount(offer.floor, state.currency)}"
    lot = f"lot of {len(offer.lines)}: " if offer.is_lot else ""
    names = "; ".join(line.name for line in offer.lines)
    left = f". NOT IN IT ANY MORE: {'; '.join(offer.left)}: list what is left anew" if offer.left else ""
    return f"{_asked(state, offer)}, {floor}  {lot}{names}, {units.show_mass(offer.kg)}{left}"


def _asked(state: State, offer: Offer) -> str:
    return "" if offer.listing is None else f"asked {show_amount(offer.listing.ask, state.currency)}"


def market_words(state: State) -> dict[str, str]:
    """What is asked for each part or what it brought, by its id."""
    words: dict[str, str] = {}
    for offer in offers(state):
        if offer.listing is not None:
            lot = f" for a lot of {len(offer.lines)}" if offer.is_lot else ""
            words |= {line.id: f"{_asked(state, offer)}{lot}" for line in offer.lines}
    for part, (_, sale) in sales_by_part(state).items():
        lot = f" for a lot of {len(sale.parts)}" if len(sale.parts) > 1 else ""
        words[part] = f"sold: net {show_amount(sale.net, state.currency)}{lot}"
    return words


def _worth_lines(state: State) -> list[str]:
    currency, lines, sales = state.currency, [], sales_by_part(state)
    for line in all_lines(state):
        if line.counts in ("fluid", "contents", "added"):
            continue
        worth = worth_it(state, line, sales.get(line.id))
        before = f" before {worth.before}" if worth.before else ""
        net = "" if worth.net is None else f" net {show_amount(worth.net, currency)}{before}"
        hourly = "" if worth.per_hour is None else f", {show_amount(worth.per_hour, currency)} an hour"
        lines.append(f"{worth.says:<11}{line.id:<28}{net}{hourly}  {worth.why}")
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
        "warning": now.warning,
        **{name: text(getattr(now, name)) for name in (*names, "asked", "doubtful", "per_kg", "per_hour")},
        "spent_by_kind": {kind: text(value) for kind, value in now.spent_by_kind.items()},
        "share_percent": None if now.share_percent is None else round(now.share_percent, 2),
        "off_kg": round(now.off_kg, 4),
        "hours": round(now.hours, 2),
        "cap": None
        if now.cap is None
        else {
            "limit": text(now.cap.limit),
            "rule": now.cap.rule,
            "declared": text(now.cap.declared),
            "headroom": text(now.cap.headroom),
            "working": now.cap.working,
        },
        "offers": [
            {
                "parts": [line.id for line in offer.lines],
                "asked": text(offer.listing.ask),
                "floor": text(offer.floor),
                "kg": round(offer.kg, 4),
                "not_in_it_any_more": list(offer.left),
            }
            for offer in offers(state)
            if offer.listing is not None
        ],
        "scrap_kg": {group: round(sum(line.kg for line in lines), 4) for group, lines in scrap_by_group(state).items()},
        "tickets": [
            {"lane": check.lane, "ticket_kg": check.tickets_kg, "tally_kg": check.tally_kg, "agrees": check.agrees}
            for check in check_tickets(state)
        ],
    }
