"""Where the car stands, as text: the route, the gates, the parts. Never changes anything."""

from __future__ import annotations

import argparse
import json
from typing import Any

from teardown import units
from teardown.car.bags import all_bags, bag_line
from teardown.car.gates import GateView
from teardown.car.mass import mass_now, part_mass
from teardown.car.state import State
from teardown.car.steps import Standing, StepView, view_route
from teardown.car.tally import part_standing
from teardown.commands.opening import car_at
from teardown.commands.tally import (
    balance_data,
    balance_text,
    closing_data,
    closing_text,
    money_data,
    money_text,
)
from teardown.packs.route import RoutePart
from teardown.stop import DONE, LOG_DAMAGED
from teardown.text import one_line, plain

WHAT = ("all", "route", "gates", "parts", "bags", "money", "closing", "balance")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("what", nargs="?", default="all", choices=WHAT, metavar="WHAT", help=", ".join(WHAT))
    parser.add_argument("--json", action="store_true")


def run(args: argparse.Namespace) -> int:
    with car_at(args.folder, write=False) as car:
        standing = car.now()
        if args.json:
            print(json.dumps(as_data(standing) | _tally_data(standing.state), ensure_ascii=True))
        else:
            print(plain("\n".join(as_text(standing, args.what))))
        return LOG_DAMAGED if car.damage else DONE


def as_data(standing: Standing) -> dict[str, Any]:
    """Everything `--json` prints; masses in kg, waits in s."""
    state = standing.state
    mass = mass_now(state)
    used = state.route.gates_in_use()
    return {
        "car": state.facts.name,
        "rehearsal": state.rehearsal,
        "entries": state.entries,
        "questions": state.gates.questions,
        "mass": {
            "now_kg": _rounded(mass.now_kg),
            "goal_kg": _rounded(mass.goal_kg),
            "to_go_kg": _rounded(mass.to_go_kg),
            "off_kg": _rounded(mass.off_kg),
            "on_kg": _rounded(mass.on_kg),
            "estimated_kg": _rounded(mass.estimated_kg),
        },
        "route": [_step_data(view) for view in view_route(standing)],
        "gates": [_gate_data(standing.gates[gate]) for gate in used],
        "parts": [_part_data(state, part) for part in state.route.parts.values()],
    }


def as_text(standing: Standing, what: str) -> list[str]:
    """The same for people, one line each."""
    lines = _summary(standing)
    if what in ("all", "route"):
        lines += ["", "ROUTE", *(_step_line(view) for view in view_route(standing))]
    if what in ("all", "gates"):
        used = standing.state.route.gates_in_use()
        lines += ["", "GATES", *(_gate_line(standing.gates[gate]) for gate in used)]
    if what == "bags":
        lines += ["", "BAGS", *(bag_line(bag) for bag in all_bags(standing.state))]
    if what in ("all", "parts"):
        parts = standing.state.route.parts.values()
        lines += ["", "PARTS", *(_part_line(standing.state, part) for part in parts if part.fitted)]
    for name, text in TALLY.items():
        if what == name:
            lines += ["", name.upper(), *text(standing.state)]
    return lines


TALLY = {"money": money_text, "closing": closing_text, "balance": balance_text}


def _tally_data(state: State) -> dict[str, Any]:
    return {"money": money_data(state), "closing": closing_data(state), "balance": balance_data(state)}


def _summary(standing: Standing) -> list[str]:
    state, mass = standing.state, mass_now(standing.state)
    lines = ["REHEARSAL: not a car. Its waits run 60 times faster."] if state.rehearsal else []
    lines.append(f"{state.facts.name}: {state.entries} entries")
    if mass.now_kg is None:
        lines.append("not weighed yet: enter car-weighed, or kerb in car.toml")
    else:
        to_go = "" if mass.to_go_kg is None else f", {_kg(mass.to_go_kg)} to go to {_kg(mass.goal_kg)}"
        lines.append(f"now {_kg(mass.now_kg)}{to_go} ({_kg(mass.estimated_kg)} of what is off was never weighed)")
    if state.gates.questions:
        lines.append(f"{state.gates.questions}: say first what has happened (enter FOLDER resumed ...)")
    return lines


def _step_data(view: StepView) -> dict[str, Any]:
    return {
        "step": view.ref,
        "title": view.laid.step.title,
        "pack": view.laid.pack.id,
        "state": view.state,
        "why": view.why,
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
        "ticks": [{"n": tick.n, "says": tick.says, "done": tick.done} for tick in view.ticks],
        "wait_left_s": _rounded(view.wait_left_s),
        "working": list(view.working),
    }


def _part_data(state: State, part: RoutePart) -> dict[str, Any]:
    mass = part_mass(state, part)
    return {
        "part": part.id,
        "name": part.part.name,
        "state": part_standing(state, part),
        "mass_kg": _rounded(mass.kg),
        "weighed": mass.how,
        "fate": state.fate_of(part.id),
        "step": part.step,
    }


def _step_line(view: StepView) -> str:
    why = f"  {one_line(view.why)}" if view.why else ""
    return f"{view.state:<10} {view.ref:<36} {view.laid.step.title}{why}"


def _gate_line(view: GateView) -> str:
    return f"{'stands' if view.stands else 'SHUT':<10} {view.gate.id:<20} {view.gate.title}: {view.why}"


def _part_line(state: State, part: RoutePart) -> str:
    mass = part_mass(state, part)
    about = "about " if mass.how == "estimate" else ""
    standing, fate = part_standing(state, part), state.fate_of(part.id)
    return f"{standing:<12} {part.id:<28} {part.part.name}: {about}{_kg(mass.kg)}, {fate}"


def _kg(kg: float | None) -> str:
    return "unknown" if kg is None else units.show_mass(kg)


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
