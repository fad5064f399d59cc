"""Scrap that is off the car, by what the yard pays for apart; and weigh tickets held against the tally."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import NamedTuple

from teardown import units
from teardown.car.scrap import GROUPS, MIXED, NO_SCRAP, Group, group_of
from teardown.car.state import State
from teardown.car.tally import Line, all_lines, line_ids, line_of, name_of, sales_by_part, scrapped_by_part
from teardown.car.tally_values import Ticket

TICKET_SHARE = 0.05
"""A weigh ticket and the tally may differ by this (common practice)."""


class TicketCheck(NamedTuple):
    """Weigh tickets of one lane against the tally."""

    lane: str
    tickets_kg: float
    tally_kg: float

    @property
    def agrees(self) -> bool:
        return abs(self.tickets_kg - self.tally_kg) <= TICKET_SHARE * self.tickets_kg

    @property
    def masses(self) -> str:
        return f"{units.show_mass(self.tickets_kg)}, tally {units.show_mass(self.tally_kg)}"

    @property
    def says(self) -> str:
        if self.agrees:
            return "agrees within 5 %"
        return "DIFFERS by more than 5 %: look for lines never weighed or mixed in"


def scrap_by_group(state: State) -> dict[Group, list[Line]]:
    """What is off the car to be scrapped and no buyer's, by what the yard pays for apart."""
    groups: dict[Group, list[Line]] = defaultdict(list)
    sold = sales_by_part(state)
    for line in all_lines(state):
        if line.out and line.fate == "scrap" and line.id not in sold:
            groups[_group(line)].append(line)
    return {group: groups[group] for group in (*GROUPS, NO_SCRAP) if group in groups}


def without_ticket(state: State) -> dict[Group, list[Line]]:
    """The same without what went on a ticket."""
    gone = scrapped_by_part(state)
    left = {group: [line for line in some if line.id not in gone] for group, some in scrap_by_group(state).items()}
    return {group: lines for group, lines in left.items() if lines}


def waits_for_the_yard(state: State, material: str | None = None) -> list[Line]:
    """What a ticket of that material is for when it names no parts; of no material, all that a yard takes."""
    wanted = _lane_of(material)
    groups = without_ticket(state)
    return [line for group in groups if group != NO_SCRAP and wanted in (group, None) for line in groups[group]]


def _lane_of(material: str | None) -> Group | None:
    return (group_of(material) or MIXED) if material else None


def _group(line: Line) -> Group:
    """What is of no known material goes as mixed; what is live goes to no yard, whatever it is made of."""
    return NO_SCRAP if line.live else group_of(line.material) or MIXED


def scrap_words(state: State) -> list[tuple[str, str]]:
    """Each material with its kilos, what of it no ticket speaks of yet, and what is mixed up in it."""
    groups, waiting = scrap_by_group(state), without_ticket(state)
    return [(group, _group_words(group, lines, waiting.get(group, []))) for group, lines in groups.items()]


def _group_words(group: Group, lines: list[Line], waiting: list[Line]) -> str:
    mixed_up = unsorted(lines)
    says = [units.show_mass(sum(line.kg for line in lines))]
    if group == NO_SCRAP:
        says[0] += ": hand it over, with a paper"
    elif len(waiting) < len(lines):
        says.append(f"{units.show_mass(sum(line.kg for line in waiting))} of it on no ticket yet")
    if mixed_up:
        says.append(f"taken as mixed, of no material known here: {', '.join(mixed_up)}")
    return "; ".join(says)


def unsorted(lines: Iterable[Line]) -> tuple[str, ...]:
    """The names of those that are mixed only because their material is in no group."""
    return tuple(line.name for line in lines if not line.live and group_of(line.material) is None)


def check_tickets(state: State) -> list[TicketCheck]:
    """Each lane of scrap: what the yard weighed, and what the tally has for it."""
    lanes: dict[str, list[Ticket]] = defaultdict(list)
    for ticket in state.tickets:
        lanes[_lane(state, ticket)].append(ticket)
    return [_check(state, lane, tickets) for lane, tickets in lanes.items()]


def check_newest_ticket(state: State) -> TicketCheck | None:
    """The lane of the ticket that was written last."""
    if (newest := state.tickets.last) is None:
        return None
    lane = _lane(state, newest)
    return _check(state, lane, [ticket for ticket in state.tickets if _lane(state, ticket) == lane])


def _check(state: State, lane: str, tickets: list[Ticket]) -> TicketCheck:
    went = {part for ticket in tickets for part in ticket.went}
    tally_kg = sum(line_of(state, part).kg for part in line_ids(state) if part in went)
    return TicketCheck(lane, sum(ticket.kg for ticket in tickets), tally_kg)


def _lane(state: State, ticket: Ticket) -> str:
    """Tickets of one material are held against the tally together: a load may go in several trips."""
    if ticket.named:
        return ", ".join(name_of(state, part) for part in ticket.went)
    return _lane_of(ticket.material) or "all scrap"
