"""Airbags and their like, fluids and batteries: how many, where they are, who took them."""

from __future__ import annotations

from collections import Counter

from teardown.car.door import Car
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, Line, all_lines, live_things
from teardown.sheets.page import Block, Row, Sheet, Table, kg, when


def fill(car: Car) -> Sheet:
    state = car.now().state
    lines = controlled_lines(state)
    head = ("part", "name", "kg", "stands", "where", "taken by", "their paper", "when, UTC")
    rows: list[Row] = [_row(state, line) for line in lines]
    return Sheet(
        "controlled",
        "Controlled parts and waste",
        [
            Block(lines=(CONTROLLED_LAW,), loud=True),
            Block(
                "Count", pairs=[(standing, str(n)) for standing, n in Counter(line.standing for line in lines).items()]
            ),
            Block("Where each is", table=Table("controlled", head, rows)),
            modules_block(state),
            Block(
                to_write=("waste site", "list-of-waste codes, as the site says", "kept by"),
                signatures=("handed over", "taken"),
            ),
        ],
    )


def controlled_lines(state: State) -> list[Line]:
    """What carries a live module, what its pack or its owner calls controlled, and fluids. A pack calls a part
    controlled for its modules: where this car has none of them, it is a part like any other."""

    def controlled(line: Line) -> bool:
        part = state.route.parts.get(line.id)
        by_pack = part is not None and part.part.fate == "controlled" and not part.part.modules
        return line.live or by_pack or line.fate == "controlled" or line.counts == "fluid"

    return [line for line in all_lines(state) if controlled(line)]


def modules_block(state: State) -> Block:
    """Every live module this car may carry, by name; one nobody has accounted for is in the car. Then what no pack
    foresaw and is taken to be live."""
    rows: list[Row] = [
        (module.name, module.where, state.module_account(module.id) or "NOT ACCOUNTED FOR: taken to be in the car")
        for module in state.route.modules
    ]
    things = live_things(state)
    rows += [(line.name, line.area, f"{line.standing}{line.where and f': {line.where}'}") for line in things]
    unaccounted = state.modules_unaccounted(allows_fitted=False)
    return Block(
        "Live modules",
        lines=(
            f"{max(0, len(rows) - len(unaccounted))} of {len(rows)} are out of the car or looked for and not there.",
        ),
        table=Table("modules", ("module", "where", "account"), rows),
        loud=bool(unaccounted),
    )


def _row(state: State, line: Line) -> Row:
    known = state.parts.get(line.id)
    handed = known.handed.last if known else None
    gone = (handed.to, handed.paper, when(handed.utc)) if handed else ("", "", "")
    return (line.id, line.name, kg(line.kg), line.standing, line.where, *gone)
