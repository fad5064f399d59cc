"""For the scrutineer: what each rule's question was answered, what is out, what was fitted, what it weighs."""

from __future__ import annotations

from teardown.car.door import Car
from teardown.car.state import State
from teardown.car.tally import all_lines, fitted_lines
from teardown.car.weighing import how_it_stood
from teardown.sheets.controlled import modules_block
from teardown.sheets.page import Block, Row, Sheet, Table, kg, when

TO_WRITE = (
    "class and rule book, with its date",
    "steering lock",
    "battery: place and box",
    "bulkheads sealed",
    "seat and harness: labels and life dates",
    "extinguisher: type, mass, date, bracket",
    "cut-off switch tested",
    "doors, door beams, nets, glass, polycarbonate thickness",
    "lights, brake lamps, wipers, horn, mirrors, tow eyes",
    "sharp edges",
    "fuel system",
    "loose items",
    "noise",
    "deviations still open, with dates",
)


def fill(car: Car) -> Sheet:
    state = car.now().state
    return Sheet(
        "scrutineer",
        "For the scrutineer",
        [
            Block("Rules", table=_rules(state)),
            modules_block(state),
            Block("Taken off", table=_taken_off(state)),
            Block("Fitted", table=_fitted(state)),
            Block("Weights", table=_weights(state)),
            Block("To be written in", to_write=TO_WRITE),
            Block(signatures=("entrant", "scrutineer")),
        ],
    )


def _rules(state: State) -> Table:
    rows: list[Row] = []
    for rule in state.route.library.rules.values():
        answer = state.facts.rules.get(rule.id)
        told = (
            ("NOT ANSWERED", "", "") if answer is None else (_kept(answer.keep), answer.rule, answer.date.isoformat())
        )
        rows.append((rule.asks, *told, ""))
    return Table("rules", ("question", "answer", "rule", "date", "seen"), rows)


def _kept(keep: bool) -> str:
    return "kept" if keep else "may go"


def _taken_off(state: State) -> Table:
    rows: list[Row] = [(line.area, line.name, kg(line.kg), line.how) for line in all_lines(state) if line.taken_off]
    return Table("taken-off", ("area", "part", "kg", "how weighed"), rows)


def _fitted(state: State) -> Table:
    rows: list[Row] = [(line.area, line.name, kg(line.kg), line.how) for line in fitted_lines(state)]
    return Table("fitted", ("area", "part", "kg", "how weighed"), rows)


def _weights(state: State) -> Table:
    rows: list[Row] = [(when(w.utc), kg(w.total_kg), kg(w.car_kg), how_it_stood(w)) for _, w in state.weighings.items]
    return Table("weights", ("UTC", "on the scales, kg", "without driver and contents, kg", "how it stood"), rows)
