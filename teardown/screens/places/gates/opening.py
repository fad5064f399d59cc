"""The place in which a gate of each kind is opened."""

from __future__ import annotations

from teardown.packs.model import BackGate, FigureGate, PeopleGate, ReadingGate, StopGate, TicksGate, WaitGate
from teardown.screens.desk import Desk, Place
from teardown.screens.places.choose import ask_people
from teardown.screens.places.gates.back import BackPlace
from teardown.screens.places.gates.count import CountPlace
from teardown.screens.places.gates.ice import IcePad
from teardown.screens.places.gates.reading import ReadingPad
from teardown.screens.places.gates.signing import StopPlace
from teardown.screens.places.gates.ticks import TicksPlace
from teardown.screens.places.gates.wait import WaitPlace


def place_of(desk: Desk, gate_id: str) -> Place:
    """The place in which this gate is opened."""
    gate = desk.standing.state.route.gate(gate_id)
    if isinstance(gate, TicksGate):
        return TicksPlace(gate_id, may_be_ruled_out=bool(gate.has))
    if isinstance(gate, WaitGate):
        return WaitPlace(gate_id)
    if isinstance(gate, ReadingGate):
        return ReadingPad(gate_id)
    if isinstance(gate, FigureGate):
        return IcePad(gate_id)
    if isinstance(gate, PeopleGate):
        return ask_people(gate_id)
    if isinstance(gate, StopGate):
        return StopPlace(gate_id)
    if isinstance(gate, BackGate):
        return BackPlace(desk, gate_id)
    return CountPlace(desk, gate_id)
