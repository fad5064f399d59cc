"""Hand-over to the cage builder: what is live, what is left and burns, where looms run, what came off."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from teardown import units
from teardown.car.burning import MAGNESIUM, Burning, burning
from teardown.car.door import LOG, Car
from teardown.car.log import read_log
from teardown.car.mass import mass_now
from teardown.car.scrap import group_of
from teardown.car.state import State
from teardown.car.steps import Standing, StepView, view_route
from teardown.car.tally import Line, all_lines, fitted_lines
from teardown.figures.balance import WHEELS
from teardown.packs.model import StopGate
from teardown.sheets.controlled import modules_block
from teardown.sheets.page import Block, Row, Sheet, Table, kg, when
from teardown.sheets.pictures import album, numbered

WHO_TO_WRITE = (
    "cage builder, and the date",
    "rule book and its date",
    "body type",
    "driver: height, weight, helmet, seating position",
    "parts that travel with the car",
)
BURNS_TO_WRITE = (
    "burnables left, and where each is marked",
    "bare metal: patches done and not done; sealer left",
    "steel, rust, cracks and old repairs found",
    "glass: which stays, is out, is covered",
    "dash beam: in or out, steel, aluminium or MAGNESIUM",
)
LOOMS_TO_WRITE = ("where looms run, and how far from welds", "control units: where")
CAR_TO_WRITE = (
    "tank: in or out, cap on",
    "threads protected",
    "rolls, steers, brakes: how; loading and tow eye",
    "fire watch: who, and how long",
    "scrutineer questions still open",
)
FUEL_TO_WRITE = "fuel: type and litres left"
BATTERY_TO_WRITE = "battery: in or out, and where"
COOLANT_TO_WRITE = "coolant: in, out or looped"
REFRIGERANT_TO_WRITE = "refrigerant: recovered when, receipt"
"""Asked for where the log does not know."""


def fill(car: Car) -> Sheet:
    """In the order a welder needs it: the car, what is live, what burns, fuel, looms; what came off; gates last."""
    standing = car.now()
    state = standing.state
    lines = all_lines(state)
    return Sheet(
        "cage",
        "Hand-over to the cage builder",
        [
            _the_car(state),
            *_magnesium(state, lines),
            modules_block(state),
            _left(state, lines),
            _fluids(car, state, lines),
            _looms(lines),
            _out_for_now(state),
            Block("Removed, by area", table=_by_area("removed", _removed(state, lines))),
            _fitted(state),
            _weights(state),
            _kept(standing),
            _put_off(standing),
            _noted(state),
            Block("To be written in", to_write=CAR_TO_WRITE),
            Block(signatures=("handed over, with time", "taken over, with time")),
            album(car, numbered(state)),
            _gates(standing),
        ],
    )


def _the_car(state: State) -> Block:
    facts = state.facts
    wheelbase = "not said" if facts.wheelbase is None else units.show_length(facts.wheelbase, 3)
    return Block(
        "The car",
        pairs=[
            ("nickname", facts.name),
            ("size", facts.size),
            ("wheelbase", wheelbase),
            ("driver sits on the", facts.steering),
            ("it runs on", facts.fuel or "not said"),
            ("date with the welder", facts.welder_date.isoformat() if facts.welder_date else "not said"),
        ],
        to_write=WHO_TO_WRITE,
    )


def _fluids(car: Car, state: State, lines: list[Line]) -> Block:
    known = _known(car, state, lines)
    return Block(
        "Fuel, battery, fluids: as written down",
        pairs=[pair for pairs in known.values() for pair in pairs],
        to_write=[what for what, pairs in known.items() if not pairs],
    )


def _looms(lines: list[Line]) -> Block:
    """Where each is, as far as the log knows; along which welds they run nobody has entered."""
    looms = [line for line in lines if group_of(line.material) == "copper and cable"]
    return Block("Looms", pairs=[(line.name, _stands(line)) for line in looms], to_write=LOOMS_TO_WRITE)


def _known(car: Car, state: State, lines: list[Line]) -> dict[str, list[tuple[str, str]]]:
    """What the log says of each; a line to be written in stands for what it does not say."""
    batteries = [line for line in lines if "battery" in line.material or group_of(line.material) == "lead battery"]
    coolant = [line for line in lines if line.counts == "fluid" and "glycol" in line.material and line.out]
    return {
        FUEL_TO_WRITE: list(_fuel(car, state)),
        BATTERY_TO_WRITE: [(line.name, _stands(line)) for line in batteries if line.standing != "not-yet"],
        COOLANT_TO_WRITE: [(line.name, f"{kg(line.kg)} kg, {_gone(state, line)}") for line in coolant],
        REFRIGERANT_TO_WRITE: list(_papers(state)),
    }


def _fuel(car: Car, state: State) -> Iterator[tuple[str, str]]:
    noted = [weight for weight in state.weighings if weight.fuel is not None]
    if noted and (fuel := noted[-1].fuel) is not None:
        yield f"fuel, as weighed {when(noted[-1].utc)} UTC", f"{units.show_volume(fuel.m3, 'L')} {fuel.kind}"
        opened = [entry for entry in read_log(car.folder / LOG) if entry.fields.get("what") == "fuel-opened"]
        told = f"{when(opened[-1].at.utc)} UTC: {opened[-1].fields['why']}" if opened else "not written down"
        yield "fuel last opened, added or smelt", told


def _stands(line: Line) -> str:
    return f"{line.standing}, {line.where or 'nobody said where'}" if line.out else line.standing


def _gone(state: State, line: Line) -> str:
    known = state.parts.get(line.id)
    handed = known.handed.last if known is not None and line.standing == "handed-over" else None
    return f"taken by {handed.to}, {handed.paper or 'no paper'}" if handed else _stands(line)


def _papers(state: State) -> Iterator[tuple[str, str]]:
    """What somebody licensed has signed for: the refrigerant, and whatever else a pack stops at."""
    for gate_id in state.route.gates_in_use():
        gate, signed = state.route.gate(gate_id), state.gates[gate_id].signed
        if isinstance(gate, StopGate) and signed is not None:
            yield f"{gate.title}: paper", f"{signed.by}: {signed.paper}"


def _out_for_now(state: State) -> Block:
    rows: list[Row] = [
        (part.part.name, state.stored_at(part.id) or "nobody said where", state.fate_of(part.id))
        for part in state.still_out()
    ]
    return Block("Out for now, and to go back", table=Table("out-for-now", ("part", "where", "fate"), rows))


def _magnesium(state: State, lines: list[Line]) -> list[Block]:
    found = [line.name for line in lines if line.on_the_car and _burning(state, line) in MAGNESIUM]
    says = ("Still in the car, and may be MAGNESIUM. It burns, and water feeds it:", *found)
    return [Block("MAGNESIUM", lines=says, loud=True)] if found else []


def _burning(state: State, line: Line) -> Burning:
    return burning(line.material, no_magnesium=_is_no_magnesium(state, line))


def _is_no_magnesium(state: State, line: Line) -> bool:
    """Whether the owner said of this very part that it is none: its magnesium gate asks for a feature there is not."""
    laid, route = state.route.by_ref.get(line.step), state.route
    hazards = [route.library.hazards[name] for name in laid.step.hazards if "magnesium" in name] if laid else []
    return any(route.shape.has_none_of(route.gate(gate).has) for hazard in hazards for gate in hazard.gates)


def _gates(standing: Standing) -> Block:
    state = standing.state
    if state.gates.questions:
        says = f"SHUT, all of them: {state.gates.questions}. What has happened since is to be said first."
        return Block("Gates", lines=(says,))
    views = [standing.gates[gate] for gate in state.route.gates_in_use()]
    rows: list[Row] = [(view.gate.title, "stands" if view.stands else "SHUT", view.why) for view in views]
    return Block("How the gates stand at this moment", table=Table("gates", ("gate", "stands", "why"), rows))


def _removed(state: State, lines: list[Line]) -> list[Line]:
    """What is off and does not go back."""
    for_now = {part.id for part in state.still_out()}
    return [line for line in lines if line.taken_off and line.id not in for_now]


def _by_area(name: str, lines: list[Line]) -> Table:
    areas: dict[str, list[Line]] = defaultdict(list)
    for line in lines:
        areas[line.area].append(line)
    rows: list[Row] = [
        (area, ", ".join(line.name for line in some), kg(sum(line.kg for line in some))) for area, some in areas.items()
    ]
    return Table(name, ("area", "parts", "kg"), rows)


HOW_BAD = ("MAGNESIUM", "MAY BE MAGNESIUM", "BURNS", "")


def _left(state: State, lines: list[Line]) -> Block:
    """What is on the car, what burns first."""
    told = [(line, _burning(state, line)) for line in lines if line.standing == "on"]
    told.sort(key=lambda one: HOW_BAD.index(one[1]))
    rows: list[Row] = [(line.name, line.area, line.material or "not known", burns) for line, burns in told]
    return Block(
        "Still on the car: what burns first",
        lines=("What is not known not to burn burns. What no pack foresaw is not in this list: look for it.",),
        table=Table("left", ("part", "area", "material", "burns"), rows, loud=HOW_BAD[:2]),
        to_write=BURNS_TO_WRITE,
    )


def _fitted(state: State) -> Block:
    rows: list[Row] = [
        (line.name, kg(line.kg), line.material or "not known", _burning(state, line)) for line in fitted_lines(state)
    ]
    return Block("Fitted", table=Table("fitted", ("part", "kg", "material", "burns"), rows, loud=HOW_BAD[:2]))


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
        pairs.append((f"last weighed, kg ({when(weight.utc)} UTC)", kg(weight.total_kg)))
        pairs += list(zip((f"{wheel}, kg" for wheel in WHEELS), map(kg, weight.corners_kg or ()), strict=False))
    return Block("Weights", pairs=pairs)
