"""The tally: every part as one line, whether a pack foresaw it or not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Literal, NamedTuple

from teardown.car.bags import bag_numbers
from teardown.car.live_things import is_live_thing
from teardown.car.mass import part_mass
from teardown.car.scrap import NO_SCRAP, group_of
from teardown.car.state import REMOVED, State
from teardown.car.tally_values import How, Listing, Sale, Thing, Weight
from teardown.packs.model import Worth
from teardown.packs.route import RoutePart

PartStanding = Literal["not-fitted", "on", "off", "stored", "handed-over", "not-yet", "fitted"]
"""The last two are of what goes on; `not-fitted` is what this car does not have."""

CONTROLLED_LAW = (
    "Live modules: selling, storing, carrying and disposing of them is regulated (dangerous goods, UN 3268), and "
    "banned to private people in some places. Ask your authority and your carrier first."
)


class Line(NamedTuple):
    """One part as it stands. `how` says how its mass was found, `typed` what the scale showed."""

    id: str
    name: str
    kg: float
    how: How
    typed: str
    noted: str
    standing: PartStanding
    fate: str
    bag: int | None
    where: str
    worth: Worth | Literal["unknown"]
    buyers_ask: str
    note: str
    live: bool
    counts: str
    material: str
    listed: Listing | None
    step: str
    area: str
    pieces: int = 1

    @property
    def out(self) -> bool:
        return self.standing in ("off", "stored", "handed-over")

    @property
    def taken_off(self) -> bool:
        """Whether it came off the car as it was: what was put on and came off again did not."""
        return self.out and self.counts != "added"

    @property
    def on_the_car(self) -> bool:
        return self.standing in ("on", "fitted")

    @property
    def saves(self) -> bool:
        """Whether it is a kilo off the car for good: fluids and contents are not, nor is what is out only for now."""
        for_good = self.counts == "saving" or (self.counts == "temporary" and self.fate in REMOVED)
        return self.out and for_good


def line_ids(state: State) -> tuple[str, ...]:
    """The names of all lines: parts this car may carry in working order, then what was found, and what was fitted."""
    return (*state.route.fitted_parts, *(thing.id for thing in _things(state)))


def _things(state: State) -> Iterator[Thing]:
    for series in (state.found, state.fitted):
        yield from series


def line_of(state: State, name: str) -> Line:
    """One line. Raises KeyError when there is no such part."""
    part = state.route.parts.get(name)
    if part is not None:
        return _part_line(state, part)
    thing = state.thing(name)
    if thing is None:
        raise KeyError(name)
    return _thing_line(state, thing)


def name_of(state: State, part: str) -> str:
    """What people call a part; what nobody knows any more keeps its id."""
    known, thing = state.route.parts.get(part), state.thing(part)
    return known.part.name if known else thing.name if thing else part


def all_lines(state: State) -> list[Line]:
    return [line_of(state, name) for name in line_ids(state)]


def every_line(state: State) -> list[Line]:
    """The same with the parts this car does not have."""
    return [line_of(state, name) for name in (*state.route.parts, *(thing.id for thing in _things(state)))]


def fitted_lines(state: State) -> list[Line]:
    """All that was put on and is on: what the packs foresaw, in working order, then what nobody did."""
    foreseen = (state.route.parts[name] for name in state.route.fitted_parts)
    lines = [_part_line(state, part) for part in foreseen if part.part.counts == "added" and state.is_out(part.id)]
    return lines + [_thing_line(state, thing) for thing in state.fitted if not state.is_out(thing.id)]


def live_things(state: State) -> list[Line]:
    """What no pack foresaw and is taken to be live: no gate counts it."""
    return [_thing_line(state, thing) for thing in _things(state) if is_live_thing(state, thing)]


def masses_by_area(state: State) -> list[tuple[str, float]]:
    """What came off for good in each area, the most first."""
    areas: dict[str, float] = defaultdict(float)
    for line in all_lines(state):
        if line.saves:
            areas[line.area] += line.kg
    return sorted(areas.items(), key=lambda area: -area[1])


def part_standing(state: State, part: RoutePart) -> PartStanding:
    """Whether a part is on the car, off it, stored, gone to whom it had to go, or not on this car. What a step puts on
    is fitted or not yet."""
    if not part.fitted:
        return "not-fitted"
    if part.part.counts == "added":
        return "fitted" if state.is_out(part.id) else "not-yet"
    return _standing_out(state, part.id) if state.is_out(part.id) else "on"


def _standing_out(state: State, name: str) -> PartStanding:
    known = state.parts.get(name)
    if known is not None and known.handed.last_entry > state.out_since(name):
        return "handed-over"
    return "stored" if state.stored_at(name) else "off"


def is_live(state: State, part: RoutePart) -> bool:
    """Whether a part carries a module this car may carry that nobody looked for and did not find. In doubt it does.
    What is made of the charge itself stays live, whatever was said."""
    route = state.route
    may_carry = [module for module in part.part.modules if route.may_carry(module)]
    in_doubt = any(not state.is_not_there(module) for module in may_carry)
    return in_doubt or (bool(may_carry) and group_of(part.part.material) == NO_SCRAP)


def sales_by_part(state: State) -> dict[str, tuple[int, Sale]]:
    """The sale that stands for each part, with its entry; a part that came back is unsold."""
    returned = {refund.part: n for n, refund in state.refunds.items if refund.returned}
    return {part: (n, sale) for n, sale in state.sales.items for part in sale.parts if n > returned.get(part, 0)}


def scrapped_by_part(state: State) -> dict[str, int]:
    """The newest weigh ticket that each part went on, by its entry; what came back since is not scrapped."""
    went = {part: n for n, ticket in state.tickets.items for part in ticket.went}
    return {part: n for part, n in went.items() if not _came_back(state, part, n)}


def _came_back(state: State, part: str, since: int) -> bool:
    known, place = state.parts.get(part), state.route.parts.get(part)
    step = state.steps.get(place.step) if place is not None else None
    taken_back = step is not None and any(n > since and mark.status == "open" for n, mark in step.items)
    return taken_back or (known is not None and any(n > since and not out for n, out in known.out.items))


def _listing_of(state: State, part: str) -> Listing | None:
    """What is asked for a part. A fate other than `sell`, set after it was listed, takes it off the market."""
    known = state.parts.get(part)
    if known is None or (known.fate.last_entry > known.listed.last_entry and known.fate.last != "sell"):
        return None
    return known.listed.last


def _part_line(state: State, part: RoutePart) -> Line:
    mass, weight = part_mass(state, part), state.weight_of(part.id)
    return Line(
        id=part.id,
        name=part.part.name,
        kg=mass.kg,
        how=mass.how,
        typed=as_read(weight) if weight else "",
        noted=weight.noted if weight else "",
        standing=part_standing(state, part),
        fate=state.fate_of(part.id),
        bag=bag_numbers(state).get(part.step),
        where=state.stored_at(part.id) or "",
        worth=part.part.worth,
        buyers_ask=part.part.buyers_ask or "",
        note=part.part.note or "",
        live=is_live(state, part),
        counts=part.part.counts,
        material=part.part.material,
        listed=_listing_of(state, part.id),
        step=part.step,
        area=state.route.by_ref[part.step].pack.title,
    )


def as_read(weight: Weight) -> str:
    """What the scale showed, as it was typed."""
    return f"{weight.typed} less {weight.without}" if weight.without else weight.typed


def _thing_line(state: State, thing: Thing) -> Line:
    """Nobody knows what it is worth: no pack has priced it."""
    weight, put_on = state.weight_of(thing.id) or thing.weight, thing.counts == "added"
    return Line(
        id=thing.id,
        name=thing.name,
        kg=weight.kg,
        how=weight.how,
        typed=as_read(weight),
        noted=weight.noted,
        standing=_standing_out(state, thing.id) if state.is_out(thing.id) else "fitted" if put_on else "on",
        fate=state.fate_of(thing.id),
        bag=None,
        where=state.stored_at(thing.id) or "",
        worth="unknown",
        buyers_ask="",
        note="",
        live=is_live_thing(state, thing),
        counts=thing.counts,
        material="",
        listed=_listing_of(state, thing.id),
        step="",
        area="foreseen by no pack",
        pieces=thing.pieces,
    )
