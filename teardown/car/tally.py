"""The tally: every part as one line, whether a pack foresaw it or not."""

from __future__ import annotations

from collections import defaultdict
from typing import Literal, NamedTuple

from teardown.car.mass import NOT_CAR, part_mass
from teardown.car.state import State
from teardown.car.tally_state import Listing, Sale, Thing
from teardown.packs.model import Worth
from teardown.packs.route import RoutePart

PartStanding = Literal["not-fitted", "on", "off", "stored", "handed-over"]

CONTROLLED_LAW = (
    "Live modules: selling, storing, carrying and disposing of them is regulated (dangerous goods, UN 3268), and "
    "banned to private people in some places. Ask your authority and your carrier first."
)


class Line(NamedTuple):
    """One part as it stands. `how` says how its mass was found, `typed` what the scale showed."""

    id: str
    name: str
    kg: float
    how: str
    typed: str
    noted: str
    standing: PartStanding
    fate: str
    bag: int | None
    where: str
    worth: Worth
    buyers_ask: str
    live: bool
    counts: str
    material: str
    listed: Listing | None
    step: str
    area: str

    @property
    def out(self) -> bool:
        return self.standing in ("off", "stored", "handed-over")

    @property
    def saves(self) -> bool:
        """Whether it is a kilo off the car: fluids and contents are not, and what is added is not."""
        return self.out and self.counts not in NOT_CAR and self.counts != "added"


def line_ids(state: State) -> tuple[str, ...]:
    """The names of all lines: parts this car may carry in working order, then what was found."""
    return (*state.route.fitted_parts, *(thing.id for thing in state.found))


def line_of(state: State, name: str) -> Line:
    """One line. Raises KeyError when there is no such part."""
    part = state.route.parts.get(name)
    if part is not None:
        return _part_line(state, part)
    thing = state.thing(name)
    if thing is None:
        raise KeyError(name)
    return _thing_line(state, thing)


def all_lines(state: State) -> list[Line]:
    return [line_of(state, name) for name in line_ids(state)]


def masses_by_area(state: State) -> list[tuple[str, float]]:
    """What came off for good in each area, the most first."""
    areas: dict[str, float] = defaultdict(float)
    for line in all_lines(state):
        if line.saves:
            areas[line.area] += line.kg
    return sorted(areas.items(), key=lambda area: -area[1])


def part_standing(state: State, part: RoutePart) -> PartStanding:
    """Whether a part is on the car, off it, stored, gone to whom it had to go, or not on this car."""
    if not part.fitted:
        return "not-fitted"
    if not state.is_out(part.id):
        return "on"
    known = state.parts.get(part.id)
    if known is not None and known.handed.last_entry > state.out_since(part.id):
        return "handed-over"
    return "stored" if state.stored_at(part.id) else "off"


def sales_by_part(state: State) -> dict[str, tuple[int, Sale]]:
    """The sale that stands for each part, with its entry; a part that came back is unsold."""
    returned = {refund.part: n for n, refund in state.refunds.items if refund.returned}
    return {part: (n, sale) for n, sale in state.sales.items for part in sale.parts if n > returned.get(part, 0)}


def _part_line(state: State, part: RoutePart) -> Line:
    mass, known, weight = part_mass(state, part), state.parts.get(part.id), state.weight_of(part.id)
    return Line(
        id=part.id,
        name=part.part.name,
        kg=mass.kg,
        how=mass.how,
        typed=_as_read(weight.typed, weight.without) if weight else "",
        noted=weight.noted if weight else "",
        standing=part_standing(state, part),
        fate=state.fate_of(part.id),
        bag=state.route.bags.get(part.step),
        where=state.stored_at(part.id) or "",
        worth=part.part.worth,
        buyers_ask=part.part.buyers_ask or "",
        live=bool(part.part.modules),
        counts=part.part.counts,
        material=part.part.material,
        listed=known.listed.last if known else None,
        step=part.step,
        area=state.route.by_ref[part.step].pack.title,
    )


def _as_read(typed: str, without: str) -> str:
    return f"{typed} less {without}" if without else typed


def _thing_line(state: State, thing: Thing) -> Line:
    known = state.parts.get(thing.id)
    return Line(
        id=thing.id,
        name=thing.name,
        kg=thing.kg,
        how="difference" if thing.without else "direct",
        typed=_as_read(thing.typed, thing.without),
        noted=thing.noted,
        standing="off",
        fate=state.fate_of(thing.id),
        bag=None,
        where=(known.stored.last if known else None) or "",
        worth="none",
        buyers_ask="",
        live=False,
        counts="saving",
        material="",
        listed=known.listed.last if known else None,
        step="",
        area="foreseen by no pack",
    )
