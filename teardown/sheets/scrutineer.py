"""For the scrutineer: what each rule's question was answered, what is out, what was fitted, what it weighs."""

from __future__ import annotations

from teardown.car.door import Car
from teardown.car.state import State
from teardown.car.tally import Line, all_lines, fitted_lines
from teardown.car.weighing import how_it_stood
from teardown.sheets.controlled import modules_block
from teardown.sheets.page import Block, Row, Sheet, Table, kg, when
from teardown.sheets.pictures import Numbered, album, evidence, numbered

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
    photos = numbered(state)
    return Sheet(
        "scrutineer",
        "For the scrutineer",
        [
            Block("Rules", table=_rules(state, photos)),
            modules_block(state),
            Block("Fitted", table=_parts("fitted", fitted_lines(state), photos)),
            Block("Weights", table=_weights(state)),
            Block("To be written in", to_write=TO_WRITE, signatures=("entrant", "scrutineer")),
            Block(
                "Taken off", table=_parts("taken-off", [line for line in all_lines(state) if line.taken_off], photos)
            ),
            album(car, photos),
        ],
    )


def _rules(state: State, photos: list[Numbered]) -> Table:
    rows: list[Row] = []
    for rule in state.route.library.rules.values():
        answer = state.facts.rules.get(rule.id)
        told = (
            ("NOT ANSWERED", "", "") if answer is None else (_kept(answer.keep), answer.rule, answer.date.isoformat())
        )
        rows.append((rule.asks, *told, _seen_on(state, rule.id, photos), ""))
    return Table("rules", ("question", "answer", "rule", "date", "evidence", "seen"), rows)


def _seen_on(state: State, rule: str, photos: list[Numbered]) -> str:
    """The photos of the steps that the rule decides on, and of their parts."""
    decided = [laid for laid in state.route.steps if laid.step.keep_rule == rule]
    parts = [part.id for laid in decided for part in laid.step.parts]
    return evidence(photos, parts, [laid.ref for laid in decided])


def _kept(keep: bool) -> str:
    return "kept" if keep else "may go"


def _parts(name: str, lines: list[Line], photos: list[Numbered]) -> Table:
    rows: list[Row] = [
        (line.area, line.name, kg(line.kg), line.how, evidence(photos, [line.id], [line.step])) for line in lines
    ]
    return Table(name, ("area", "part", "kg", "how weighed", "evidence"), rows)


def _weights(state: State) -> Table:
    rows: list[Row] = [(when(w.utc), kg(w.total_kg), kg(w.car_kg), how_it_stood(w)) for _, w in state.weighings.items]
    return Table("weights", ("UTC", "on the scales, kg", "without driver and contents, kg", "how it stood"), rows)
