"""Labels for the numbered bags, to cut out."""

from __future__ import annotations

from teardown.car.bags import all_bags
from teardown.car.door import Car
from teardown.packs.model import Fasteners
from teardown.packs.route import RouteStep
from teardown.sheets.page import Block, Row, Sheet, Table


def fill(car: Car) -> Sheet:
    bags = [(bag.number, bag.step) for bag in all_bags(car.folded)]
    labels = [
        Block(
            title=f"BAG {number}",
            lines=(laid.step.title, *(fasteners_line(one) for one in _bagged(laid))),
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


def _bagged(laid: RouteStep) -> list[Fasteners]:
    return [one for one in laid.step.fasteners if one.fate == "bag"]


def fasteners_line(one: Fasteners) -> str:
    drive = f", {one.drive}" if one.drive else ""
    where = f", {one.where}" if one.where else ""
    return f"{_count(one)} {one.what}{drive}{where}"


def _count(one: Fasteners) -> str:
    low, high = one.count
    return f"{low}" if low == high else f"{low} to {high}"
