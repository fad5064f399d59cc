"""Labels for the numbered bags, to cut out."""

from __future__ import annotations

from teardown.car.bags import all_bags
from teardown.car.door import Car
from teardown.packs.model import Fasteners
from teardown.packs.route import RouteStep
from teardown.sheets.page import Block, Row, Sheet, Table


def fill(car: Car) -> Sheet:
    bags = [(bag.number, bag.step) for bag in all_bags(car.folded) if _comes_off(bag.step)]
    labels = [
        Block(
            title=f"BAG {number}",
            lines=(laid.step.title, *(one.in_words for one in _bagged(laid))),
            to_write=("in the bag", "missing"),
            label=True,
        )
        for number, laid in bags
    ]
    head = ("bag", "step", "title", "count", "what", "drive", "where")
    rows: list[Row] = [
        (str(number), laid.ref, laid.step.title, _count(one), one.what, one.drive or "", one.where or "")
        for number, laid in bags
        for one in _bagged(laid)
    ]
    return Sheet("bags", "Bag labels", [*labels, Block("All bags", table=Table("bags", head, rows), new_page=True)])


def _comes_off(laid: RouteStep) -> bool:
    """What this car does not have or what stays on it fills no bag."""
    return laid.not_fitted is None and laid.kept is None


def _bagged(laid: RouteStep) -> list[Fasteners]:
    return [one for one in laid.step.fasteners if one.fate == "bag"]


def _count(one: Fasteners) -> str:
    low, high = one.count
    return f"{low}" if low == high else f"{low} to {high}"
