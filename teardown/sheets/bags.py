"""Labels for the numbered bags, to cut out."""

from __future__ import annotations

from teardown.car.bags import all_bags
from teardown.car.door import Car
from teardown.packs.model import Fasteners
from teardown.packs.route import RouteStep
from teardown.sheets.page import Block, Row, Sheet, Table

TO_TICK = "one-use? thread lock? torque?"
"""What no pack knows of a fastener: the manual does."""


def fill(car: Car) -> Sheet:
    bags = [(bag.number, bag.step) for bag in all_bags(car.folded) if _comes_off(bag.step)]
    labels = [_label(car.facts.name, number, laid) for number, laid in bags]
    head = ("bag", "step", "title", "count", "what", "drive", "where")
    rows: list[Row] = [
        (str(number), laid.ref, laid.step.title, _count(one), one.what, one.drive or "", one.where or "")
        for number, laid in bags
        for one in laid.step.bagged
    ]
    return Sheet("bags", "Bag labels", [*labels, Block("All bags", table=Table("bags", head, rows), new_page=True)])


def _label(car_name: str, number: int, laid: RouteStep) -> Block:
    thrown = "; ".join(one.counted for one in laid.step.discarded)
    return Block(
        title=f"BAG {number}",
        lines=(
            f"{car_name}: {laid.step.title}",
            *(one.in_words for one in laid.step.bagged),
            *((f"used once, new ones needed: {thrown}",) if thrown else ()),
        ),
        to_write=("in the bag", "missing", TO_TICK),
        label=True,
    )


def _comes_off(laid: RouteStep) -> bool:
    """What this car does not have or what stays on it fills no bag."""
    return laid.not_fitted is None and laid.kept is None


def _count(one: Fasteners) -> str:
    low, high = one.count
    return f"{low}" if low == high else f"{low} to {high}"
