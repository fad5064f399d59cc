"""Who confirmed what, when; and every lapse, with its reason. Read from the log from its first line."""

from __future__ import annotations

from collections.abc import Iterator

from teardown.car.door import LOG, Car
from teardown.car.gas import gas_gates, gas_readings
from teardown.car.log import Entry, read_log
from teardown.car.state import State
from teardown.sheets.charts import line_chart
from teardown.sheets.page import Block, Row, Sheet, Table, when

KINDS = (
    "gate-tick",
    "gate-reading",
    "gate-figure",
    "gate-signed",
    "manual-wait",
    "wait-over",
    "people-here",
    "power-restored",
    "happened",
    "resumed",
    "still-fitted",
    "not-there",
    "undo",
)
NOT_SAID_TWICE = ("gate", "number", "ice_kg", "over_min", "wait_min")


def fill(car: Car) -> Sheet:
    standing = car.now()
    entries = list(read_log(car.folder / LOG))
    confirmed: list[Row] = [_row(entry) for entry in entries if entry.kind in KINDS]
    used = [standing.gates[gate] for gate in standing.state.route.gates_in_use()]
    now: list[Row] = [(view.gate.title, "stands" if view.stands else "SHUT", view.why) for view in used]
    lapses: list[Row] = list(_lapses(State(standing.state.route, standing.state.facts), entries))
    blocks = [
        Block("How they stand at this moment", table=Table("gates-now", ("gate", "stands", "why"), now)),
        Block(
            "Confirmed, read and said",
            table=Table("gates", ("entry", "UTC", "who", "kind", "gate", "what"), confirmed),
            lines=("What stands here is what somebody has confirmed, not that anything was safe.",),
        ),
        Block("Lapses", table=Table("lapses", ("entry", "UTC", "gate", "why"), lapses)),
    ]
    return Sheet("gates", "Gates: who confirmed what, and when", [*blocks, *_gas(standing.state)])


def _row(entry: Entry) -> Row:
    said = ", ".join(f"{key} {value}" for key, value in entry.fields.items() if key not in NOT_SAID_TWICE)
    return (str(entry.n), when(entry.at.utc), entry.who, entry.kind, str(entry.fields.get("gate", "")), said)


def _lapses(state: State, entries: list[Entry]) -> Iterator[Row]:
    """Each time a gate that had begun was forgotten, found by folding the log again."""
    for entry in entries:
        begun = {gate for gate, record in state.gates.records.items() if record.begun}
        state.apply(entry)
        for gate in state.route.gate_order(tuple(begun)):
            record = state.gates.records[gate]
            if gate in begun and not record.begun and record.lapse:
                yield (str(entry.n), when(entry.at.utc), state.route.gate(gate).title, record.lapse)


def _gas(state: State) -> Iterator[Block]:
    """Every reading of the air, over time."""
    series = {gate.title: gas_readings(state, gate.id) for gate in gas_gates(state)}
    if series:
        began = min(readings[0].at for readings in series.values())
        moved = {
            name: [((one.at - began).total_seconds() / 60, one.ppm) for one in readings]
            for name, readings in series.items()
        }
        yield Block(chart=line_chart("Gas in the room", moved, "minutes", "ppm"))
