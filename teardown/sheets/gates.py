"""Who confirmed what, when; and every lapse, with its reason. Read from the log from its first line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta

from teardown.car.door import LOG, Car
from teardown.car.gas import GasReading, gas_gates, gas_readings
from teardown.car.log import Entry, read_log
from teardown.car.state import State
from teardown.sheets.charts import dot_chart
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
    state = standing.state
    undone = _undone(entries)
    confirmed: list[Row] = [_row(state, entry, undone) for entry in entries if entry.kind in KINDS]
    used = [standing.gates[gate] for gate in state.route.gates_in_use()]
    now: list[Row] = [(view.gate.title, "stands" if view.stands else "SHUT", view.why) for view in used]
    lapses: list[Row] = list(_lapses(State(state.route, state.facts), entries))
    blocks = [
        Block("How they stand at this moment", table=Table("gates-now", ("gate", "stands", "why"), now)),
        Block(
            "Confirmed, read and said",
            table=Table("gates", ("entry", "UTC", "who", "kind", "gate", "what"), confirmed),
            lines=("What stands here is what somebody has confirmed, not that anything was safe.",),
        ),
        Block("Lapses", table=Table("lapses", ("entry", "UTC", "gate", "why", "who wrote what shut it"), lapses)),
    ]
    return Sheet("gates", "Gates: who confirmed what, and when", [*blocks, *_gas(state)])


def _undone(entries: list[Entry]) -> dict[int, int]:
    """The entries that were undone, and by which."""
    return {int(entry.fields["entry"]): entry.n for entry in entries if entry.kind == "undo"}


def _row(state: State, entry: Entry, undone: dict[int, int]) -> Row:
    said = ", ".join(f"{key} {value}" for key, value in entry.fields.items() if key not in NOT_SAID_TWICE)
    mark = f"UNDONE by entry {undone[entry.n]}: " if entry.n in undone else ""
    return (str(entry.n), when(entry.at.utc), entry.who, entry.kind, _title(state, entry), f"{mark}{said}")


def _title(state: State, entry: Entry) -> str:
    """What people call the gate; one that today's packs do not have keeps its name."""
    gate = str(entry.fields.get("gate", ""))
    return state.route.gate(gate).title if gate in state.gates.records else gate


def _lapses(state: State, entries: list[Entry]) -> Iterator[Row]:
    """Each time a gate that had begun was forgotten, found by folding the log again."""
    for entry in entries:
        begun = {gate for gate, record in state.gates.records.items() if record.begun}
        state.apply(entry)
        for gate in state.route.gate_order(tuple(begun)):
            record = state.gates.records[gate]
            if gate in begun and not record.begun and record.lapse:
                who = f"{entry.who} ({entry.kind})"
                yield (str(entry.n), when(entry.at.utc), state.route.gate(gate).title, record.lapse, who)


APART = timedelta(hours=12)
"""Readings further apart are on charts of their own: hours of nothing would press each into a stroke."""


def _gas(state: State) -> Iterator[Block]:
    """Every reading of the air, over time, with the levels that shut the strip."""
    for gate in gas_gates(state):
        for readings in _by_day(gas_readings(state, gate.id)):
            began = readings[0].at
            shown: dict[str, list[tuple[float, float]]] = {}
            for one in readings:
                name = "undone" if one.undone else "read"
                shown.setdefault(name, []).append(((one.at - began).total_seconds() / 60, one.ppm))
            across = f"minutes from {began:%Y-%m-%d %H:%M} UTC"
            levels = {f"{level.at:,g} ppm": level.at for level in gate.levels}
            yield Block(
                f"{gate.title}, {began:%Y-%m-%d}",
                lines=[
                    *(f"Dashed, from {level.at:,g} ppm: {level.do}" for level in gate.levels),
                    *(["What was undone stands here too: the meter may have been right."] if "undone" in shown else []),
                ],
                chart=dot_chart("Gas in the room", shown, levels, across, "ppm"),
            )


def _by_day(readings: Sequence[GasReading]) -> list[list[GasReading]]:
    days: list[list[GasReading]] = []
    for one in readings:
        if days and one.at - days[-1][-1].at <= APART:
            days[-1].append(one)
        else:
            days.append([one])
    return days
