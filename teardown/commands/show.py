"""Where the car stands, as text: the route, the gates, the parts. Never changes anything."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from itertools import chain
from typing import Any

from teardown import units
from teardown.car.answers import Asked, questions_of, who_said
from teardown.car.bags import Bag, all_bags, bag_line
from teardown.car.condition import NOT_CAR
from teardown.car.deadline import welder_words
from teardown.car.gates import GateView, alarms
from teardown.car.mass import mass_now, mass_words
from teardown.car.state import State
from teardown.car.steps import Standing, StepView, view_route
from teardown.car.tally import Line, every_line
from teardown.commands.opening import car_at
from teardown.commands.tally import (
    balance_data,
    balance_text,
    closing_data,
    closing_text,
    market_words,
    money_data,
    money_text,
)
from teardown.stop import DONE, LOG_DAMAGED
from teardown.text import counted, one_line, plain

WHAT = ("all", "route", "gates", "parts", "bags", "answers", "money", "closing", "balance")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("what", nargs="?", default="all", choices=WHAT, metavar="WHAT", help=", ".join(WHAT))
    parser.add_argument("--json", action="store_true", help="print the same as JSON; of one WHAT only that")


def run(args: argparse.Namespace) -> int:
    with car_at(args.folder, write=False) as car:
        standing = car.now()
        if args.json:
            print(json.dumps({"damage": car.damage, **as_data(standing, args.what)}, ensure_ascii=True))
        else:
            today = date.fromisoformat(car.clock.now().day)
            print(plain("\n".join(as_text(standing, args.what, today))))
        return LOG_DAMAGED if car.damage else DONE


def as_data(standing: Standing, what: str = "all") -> dict[str, Any]:
    """Everything `--json` prints, or one thing of it below the car's name; masses in kg, waits in s."""
    state = standing.state
    head = {"car": state.facts.name, "rehearsal": state.rehearsal, "entries": state.entries}
    if what != "all":
        return {**head, what: _DATA[what](standing)}
    welder = state.facts.welder_date
    return {
        **head,
        "questions": state.gates.questions,
        "welder_date": welder.isoformat() if welder else None,
        "mass": _mass_data(state),
        **{name: data(standing) for name, data in _DATA.items()},
    }


def as_text(standing: Standing, what: str, today: date) -> list[str]:
    """The same for people, one line each."""
    lines = _summary(standing, today)
    if what in ("all", "route"):
        lines += ["", "ROUTE", *(_step_line(view) for view in view_route(standing))]
    if what in ("all", "gates"):
        lines += ["", "GATES", *chain.from_iterable(_gate_lines(view, what == "gates") for view in _gates(standing))]
    if what == "bags":
        lines += ["", "BAGS", *(bag_line(bag) for bag in all_bags(standing.state))]
    if what in ("all", "parts"):
        parts, market = every_line(standing.state), market_words(standing.state)
        told = [_part_lines(line, market, what == "parts") for line in parts if line.standing != "not-fitted"]
        lines += ["", "PARTS", *chain.from_iterable(told)]
    if what == "answers":
        lines += ["", "ANSWERS", *(_answer_line(asked, standing.state) for asked in questions_of(standing.state))]
    for name, text in _TALLY.items():
        if what == name:
            lines += ["", name.upper(), *text(standing.state)]
    return lines


def _summary(standing: Standing, today: date) -> list[str]:
    state, mass = standing.state, mass_now(standing.state)
    lines = ["REHEARSAL: not a car. Its waits run 60 times faster."] if state.rehearsal else []
    lines.append(f"{state.facts.name}: {counted(state.entries, 'entry')}")
    if mass.now_kg is None:
        lines.append("not weighed yet: enter car-weighed, or kerb in car.toml")
    else:
        to_go = "" if mass.to_go_kg is None else f", {_kg(mass.to_go_kg)} to go to {_kg(mass.goal_kg)}"
        lines.append(f"now {_kg(mass.now_kg)}{to_go} ({_kg(mass.never_weighed_kg)} of what is off was never weighed)")
    lines += mass_words(state)
    lines += [words] if (words := welder_words(state.facts, today)) else []
    lines += [f"{view.gate.title}: {view.do}" for view in alarms(standing.gates)]
    if state.gates.questions:
        lines.append(f"{state.gates.questions}: say first what has happened (enter FOLDER resumed ...)")
    return lines


def _gates(standing: Standing) -> Iterator[GateView]:
    return (standing.gates[gate] for gate in standing.state.route.gates_in_use())


def _mass_data(state: State) -> dict[str, Any]:
    mass = mass_now(state)
    return {
        "now_kg": _rounded(mass.now_kg),
        "goal_kg": _rounded(mass.goal_kg),
        "to_go_kg": _rounded(mass.to_go_kg),
        "off_kg": _rounded(mass.off_kg),
        "on_kg": _rounded(mass.on_kg),
        "estimated_kg": _rounded(mass.estimated_kg),
        "never_weighed_kg": _rounded(mass.never_weighed_kg),
        "corrected": list(mass.corrected),
        "missing": list(mass.missing),
    }


def _step_data(view: StepView) -> dict[str, Any]:
    return {
        "step": view.ref,
        "title": view.laid.step.title,
        "pack": view.laid.pack.id,
        "state": view.state,
        "why": view.why,
        "until": view.until.id if view.until else None,
        "hazards": list(view.laid.hazards),
        "shut_by": [gate.gate.id for gate in view.shut_by],
    }


def _gate_data(view: GateView) -> dict[str, Any]:
    return {
        "gate": view.gate.id,
        "title": view.gate.title,
        "kind": view.gate.kind,
        "stands": view.stands,
        "why": view.why,
        "do": view.do,
        "ticks": [{"n": tick.n, "says": tick.says, "done": tick.done} for tick in view.ticks],
        "wait_left_s": _rounded(view.wait_left_s),
        "working": list(view.working),
    }


def _part_data(line: Line) -> dict[str, Any]:
    return {
        "part": line.id,
        "name": line.name,
        "state": line.standing,
        "mass_kg": _rounded(line.kg),
        "weighed": line.how,
        "read": line.typed or None,
        "noted": line.noted or None,
        "pieces": line.pieces,
        "fate": line.fate,
        "counts": line.counts,
        "live": line.live,
        "step": line.step or None,
        "note": line.note or None,
        "buyers_ask": line.buyers_ask or None,
    }


def _bag_data(bag: Bag) -> dict[str, Any]:
    return {
        "bag": bag.number,
        "step": bag.step.ref,
        "holds": list(bag.holds),
        "parts": list(bag.parts),
        "filled": bag.filled,
    }


def _answer_data(asked: Asked, state: State) -> dict[str, Any]:
    said = who_said(state, asked.key)
    return {
        "question": asked.key,
        "asks": asked.asks,
        "answer": asked.answer,
        "open": asked.is_open,
        "by": said or None,
    }


def _answer_line(asked: Asked, state: State) -> str:
    """OPEN is what waits: a rule that no step of this car hangs on may stay unknown."""
    said = who_said(state, asked.key)
    more = f"{' OPEN' if asked.is_open else ''}{f' ({said})' if said else ''}"
    return f"{asked.answer:<10} {asked.key:<36} {asked.asks}{more}"


def _step_line(view: StepView) -> str:
    why = f"  {one_line(view.why)}" if view.why else ""
    return f"{view.state:<10} {view.ref:<36} {view.laid.step.title}{why}"


def _gate_lines(view: GateView, detail: bool) -> list[str]:
    """One line; asked for the gates alone, how a figure came about, too."""
    line = f"{'stands' if view.stands else 'SHUT':<10} {view.gate.id:<20} {view.gate.title}: {view.tells}"
    return [line, *(f"{'':<10} {text}" for text in view.working if detail)]


def _part_lines(line: Line, market: Mapping[str, str], detail: bool) -> list[str]:
    """One line; asked for the parts alone, how it was weighed, what is good to know and what its buyers ask, too."""
    no_saving = f"{line.counts}: no kilo off the car" if line.counts in NOT_CAR else ""
    known = (_weighed(line), no_saving, line.note, f"buyers ask: {line.buyers_ask}" if line.buyers_ask else "")
    return [_part_line(line, market), *(f"{'':<12} {text}" for text in known if text and detail)]


def _weighed(line: Line) -> str:
    """What the scale showed, how that became a mass, and what was noted; empty while nobody has weighed it."""
    pieces = [] if line.pieces == 1 else [f"{line.pieces} pieces"]
    read = f"read {line.typed}, {line.how}" if line.typed else ""
    return ", ".join([word for word in (read, line.noted, *pieces) if word])


def _part_line(line: Line, market: Mapping[str, str]) -> str:
    about = "about " if line.how == "estimate" else ""
    words = f", {market[line.id]}" if line.id in market else ""
    return f"{line.standing:<12} {line.id:<28} {line.name}: {about}{_kg(line.kg)}, {line.fate}{words}"


def _kg(kg: float | None) -> str:
    return "unknown" if kg is None else units.show_mass(kg)


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


_DATA: dict[str, Callable[[Standing], Any]] = {
    "route": lambda standing: [_step_data(view) for view in view_route(standing)],
    "gates": lambda standing: [_gate_data(view) for view in _gates(standing)],
    "parts": lambda standing: [_part_data(line) for line in every_line(standing.state)],
    "bags": lambda standing: [_bag_data(bag) for bag in all_bags(standing.state)],
    "answers": lambda standing: [_answer_data(asked, standing.state) for asked in questions_of(standing.state)],
    "money": lambda standing: money_data(standing.state),
    "closing": lambda standing: closing_data(standing.state),
    "balance": lambda standing: balance_data(standing.state),
}
_TALLY = {"money": money_text, "closing": closing_text, "balance": balance_text}
