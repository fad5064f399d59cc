"""What the places of all gates share: how a gate is headed, and where one goes from it."""

from __future__ import annotations

from textual.content import Content

from teardown.car.briefing import hazard_of_gate, to_wear, why_a_gate
from teardown.car.gates import GateView
from teardown.car.steps import shut_gates
from teardown.packs.model import Hazard, StopGate, TicksGate
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Page, Window, signal_band, words
from teardown.screens.places import everywhere

GATE_KEYS = (
    Command(
        ("right",), "right", "next gate", "look at the gate after this one in the list", "gate_after", KeyKind.TURNS
    ),
    Command(("left",), "left", "", "look at the gate before this one in the list", "gate_before", KeyKind.TURNS),
    Command(
        ("n",),
        "n",
        "",
        "on to the gate to open before this one, or after it when it stands",
        "next_gate",
        KeyKind.TURNS,
    ),
    everywhere.TO_GATES,
)
GATE_PAD_KEYS = (
    everywhere.RUB_OUT,
    *GATE_KEYS,
    everywhere.POWER,
    everywhere.UNDO,
    everywhere.UP,
    everywhere.DOWN,
    everywhere.HELP,
)
"""Where a gate takes a number."""


def gate_to_open(desk: Desk) -> str | None:
    """The first gate to open of those that shut the step in front."""
    return next((view.gate.id for view in shut_gates(desk.standing, desk.step.laid)), None)


def go_on(desk: Desk, gate_id: str) -> None:
    """From a gate that stands to the next that shuts the step in front; or back to the step."""
    following = gate_to_open(desk)
    said = desk.message
    if following is not None and following != gate_id:
        desk.go_to_gate(following)
    else:
        desk.back()
    desk.say(said)


def hazard_of(desk: Desk, gate_id: str) -> Hazard | None:
    return hazard_of_gate(desk.standing.state, gate_id, desk.step.laid)


def gate_head(desk: Desk, view: GateView, window: Window) -> tuple[Content, ...]:
    """Signal word and hazard, the gate and how it stands, then what happens and what to wear."""
    hazard = hazard_of(desk, view.gate.id)
    head: list[Content] = [] if hazard is None else [signal_band(hazard, window.columns)]
    head.append(words(f"GATE {view.gate.title}: {'STANDS' if view.stands else 'SHUT'}", BOLD))
    head.append(words(f"{view.why}. [n] goes there" if view.first else view.why))
    if view.gate.has and isinstance(view.gate, StopGate | TicksGate):  # where no digits are typed
        is_ruled_out = desk.standing.state.route.shape.has_none_of(view.gate.has)
        if is_ruled_out or not view.stands:
            again = "again " if is_ruled_out else ""
            head.append(words(f"[0] answers {again}whether the car has it at all", BOLD))
    if hazard is not None and not window.small:
        head.append(words(hazard.happens))
        head += [words(" ".join(to_wear([hazard])), BOLD)] if hazard.wear else []
    return tuple(head)


def why_and_wear(page: Page, desk: Desk, view: GateView, window: Window) -> None:
    """What the head has no room for in a small window, then what the gate is for."""
    hazard = hazard_of(desk, view.gate.id)
    page.blank()
    if hazard is not None and window.small:
        page.add(hazard.happens)
        page.labelled(*to_wear([hazard]))
    for told in why_a_gate(view, hazard):
        page.labelled(*told)


def to_next_gate(desk: Desk, gate_id: str) -> None:
    """To the gate that keeps this one shut, or past it when it stands."""
    view = desk.standing.gates[gate_id]
    if view.first is not None:
        desk.go_to_gate(view.first)
    elif view.stands:
        go_on(desk, gate_id)
    else:
        desk.say(f"this gate is shut: {view.why}")
