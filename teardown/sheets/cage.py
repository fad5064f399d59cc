"""Hand-over to the cage builder: what is bare, what is left, what is live, what burns, where looms run."""

from __future__ import annotations

from collections import Counter, defaultdict

from teardown.car.door import Car
from teardown.car.mass import mass_now
from teardown.car.state import State
from teardown.car.steps import Standing, StepView, view_route
from teardown.car.tally import Line, all_lines
from teardown.figures.balance import WHEELS
from teardown.sheets.controlled import modules_block
from teardown.sheets.page import Block, Row, Sheet, Table, kg

BURNS = ("foam", "felt", "carpet", "cloth", "plastic", "rubber", "bitumen", "paper", "board", "tar", "petrol", "diesel")
TO_WRITE = (
    "cage builder, and the date",
    "rule book and its date",
    "driver: height, weight, helmet, seating position",
    "parts that travel with the car",
    "fuel: litres left, tank in or out, when last opened",
    "battery and control units: where",
    "coolant: in, out or looped",
    "where looms run, and how far from welds",
    "burnables left, and where each is marked",
    "bare metal: patches done and not done; sealer left",
    "steel, rust, cracks and old repairs found",
    "glass: which stays, is out, is covered",
    "dash beam: in or out, steel, aluminium or MAGNESIUM",
    "threads protected",
    "rolls, steers, brakes: how; loading and tow eye",
    "fire watch: who, and how long",
    "scrutineer questions still open",
)


def fill(car: Car) -> Sheet:
    standing = car.now()
    state = standing.state
    lines = all_lines(state)
    return Sheet(
        "cage",
        "Hand-over to the cage builder",
        [
            modules_block(state),
            *_magnesium(lines),
            _gates(standing),
            Block("Removed, by area", table=_by_area("removed", [line for line in lines if line.out])),
            Block("Still on the car", table=_left(lines)),
            _kept(standing),
            _put_off(standing),
            _weights(state),
            _noted(state),
            Block("To be written in", pairs=[("it runs on", state.facts.fuel or "not said")], to_write=TO_WRITE),
            Block(signatures=("handed over, with time", "taken over, with time")),
        ],
    )


def _magnesium(lines: list[Line]) -> list[Block]:
    found = [line.name for line in lines if "magnesium" in line.material.casefold() and not line.out]
    says = ("Still in the car, and may be MAGNESIUM. It burns, and water feeds it:", *found)
    return [Block("MAGNESIUM", lines=says, loud=True)] if found else []


def _gates(standing: Standing) -> Block:
    state = standing.state
    views = [standing.gates[gate] for gate in state.route.gates_in_use()]
    rows: list[Row] = [(view.gate.title, "stands" if view.stands else "SHUT", view.why) for view in views]
    return Block("How the gates stand at this moment", table=Table("gates", ("gate", "stands", "why"), rows))


def _by_area(name: str, lines: list[Line]) -> Table:
    areas: dict[str, list[Line]] = defaultdict(list)
    for line in lines:
        areas[line.area].append(line)
    rows: list[Row] = [
        (area, ", ".join(line.name for line in some), kg(sum(line.kg for line in some))) for area, some in areas.items()
    ]
    return Table(name, ("area", "parts", "kg"), rows)


def _left(lines: list[Line]) -> Table:
    rows: list[Row] = [
        (line.name, line.area, line.material, "BURNS" if _burns(line) else "") for line in lines if not line.out
    ]
    return Table("left", ("part", "area", "material", "burns"), rows)


def _burns(line: Line) -> bool:
    return any(word in line.material.casefold() for word in BURNS)


def _kept(standing: Standing) -> Block:
    rows: list[Row] = [
        (view.laid.step.title, view.state, view.why)
        for view in view_route(standing)
        if view.state in ("kept", "skipped")
    ]
    return Block("Kept or skipped, and why", table=Table("kept", ("step", "state", "why"), rows))


def _put_off(standing: Standing) -> Block:
    """What is still to be done, counted by what brings it back."""
    views = [view for view in view_route(standing) if view.state == "deferred"]
    rows: list[Row] = [(view.laid.step.title, _brought_back_by(view), view.why) for view in views]
    counts = Counter(waits for _, waits, _ in rows)
    says = [f"{len(rows)} put off in all", *(f"{count} until: {waits}" for waits, count in counts.items())]
    return Block("Put off", lines=(". ".join(says) + ".",), table=Table("put-off", ("step", "until", "why"), rows))


def _brought_back_by(view: StepView) -> str:
    return view.until.title if view.until else "somebody takes it up"


def _noted(state: State) -> Block:
    """What was noted on the steps of the hand-over."""
    rows: list[Row] = [(step, text) for step, text in state.notes if step.startswith("hand-over.")]
    return Block("Noted", table=Table("noted", ("step", "note"), rows)) if rows else Block()


def _weights(state: State) -> Block:
    weight = state.weighings.last
    pairs = [("reckoned now, kg", kg(mass_now(state).now_kg) or "not weighed")]
    if weight is not None:
        pairs.append((f"last weighed, kg ({weight.utc})", kg(weight.total_kg)))
        pairs += list(zip((f"{wheel}, kg" for wheel in WHEELS), map(kg, weight.corners_kg or ()), strict=False))
    return Block("Weights", pairs=pairs)
