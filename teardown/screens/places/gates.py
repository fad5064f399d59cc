"""The gates: the list of them, and one place for each kind of gate."""

from __future__ import annotations

from textual.content import Content

from teardown.car.gatebook import wait_needed_min
from teardown.car.gates import UNITS, GateView
from teardown.packs.model import (
    FigureGate,
    Hazard,
    PeopleGate,
    ReadingGate,
    StopGate,
    TicksGate,
    WaitGate,
)
from teardown.screens.commands import Command
from teardown.screens.desk import Desk, Place
from teardown.screens.fields import NumberField
from teardown.screens.guard import Weight
from teardown.screens.paint import (
    BOLD,
    LOUD,
    Page,
    Picture,
    Window,
    clipped,
    greatest_first,
    minutes_seconds,
    signal_band,
    words,
)
from teardown.screens.places import everywhere
from teardown.screens.places.choose import Choose, ask_people, ask_stored
from teardown.screens.places.write import TextPad

NEXT_GATE = Command(("n", "right"), "n", "next gate", "on to the gate that is shut next", "next_gate", Weight.TURNS)


def place_of(desk: Desk, gate_id: str) -> Place:
    """The place in which this gate is opened."""
    gate = desk.standing.state.route.gate(gate_id)
    if isinstance(gate, TicksGate):
        return TicksPlace(gate_id)
    if isinstance(gate, WaitGate):
        return WaitPlace(gate_id)
    if isinstance(gate, ReadingGate):
        return ReadingPad(gate_id)
    if isinstance(gate, FigureGate):
        return IcePad(gate_id)
    if isinstance(gate, PeopleGate):
        return ask_people()
    if isinstance(gate, StopGate):
        return StopPlace(gate_id)
    return CountPlace(gate_id)


def gate_to_open(desk: Desk, gates: tuple[str, ...]) -> str | None:
    """The first gate to open among `gates` and all they follow."""
    order = desk.standing.state.route.gate_order(gates)
    return next((gate for gate in order if not desk.standing.gates[gate].stands), None)


def go_on(desk: Desk, gate_id: str) -> None:
    """From a gate that stands to the next that shuts the step in front; or back to the step."""
    from teardown.screens.places.card import Card

    card = next((place for place in desk.places if isinstance(place, Card)), None)
    following = None if card is None else gate_to_open(desk, card.view(desk).laid.gates)
    said = desk.message
    desk.back()
    if following is not None and following != gate_id:
        desk.go(place_of(desk, following))
    desk.say(said)


def hazard_of(desk: Desk, gate_id: str) -> Hazard | None:
    """The greatest hazard that brings this gate, itself or through the gates that follow it."""
    route = desk.standing.state.route
    brings = [h for h in route.library.hazards.values() if gate_id in route.gate_order(h.gates)]
    directly = [h for h in brings if gate_id in h.gates]
    return next(iter(greatest_first(directly or brings)), None)


def gate_head(desk: Desk, view: GateView, window: Window) -> tuple[Content, ...]:
    """Signal word and hazard, then the gate and how it stands."""
    hazard = hazard_of(desk, view.gate.id)
    head: list[Content] = [] if hazard is None else [signal_band(hazard, window.columns)]
    if hazard is not None and not window.small:
        head.append(words(hazard.happens))
    head.append(words(f"GATE {view.gate.title}: {'STANDS' if view.stands else 'SHUT'}", BOLD))
    if not window.small or not view.stands:
        head.append(words(view.why))
    return tuple(head)


def _why_and_wear(page: Page, desk: Desk, view: GateView) -> None:
    hazard = hazard_of(desk, view.gate.id)
    page.blank()
    page.labelled("Why:", view.gate.why)
    if hazard is not None:
        page.labelled("Avoid:", hazard.avoid)
        page.labelled("Wear:", ", ".join(hazard.wear))
    page.labelled("Source:", view.gate.source)


class GateList:
    """Every gate the route meets."""

    name = "the gates"
    types = False
    commands = (
        Command(("enter", "space"), "enter", "open", "go to this gate", "go_there", Weight.TURNS),
        Command(("down",), "down", "down", "one down", "down", Weight.TURNS),
        Command(("up",), "up", "up", "one up", "up", Weight.TURNS),
        everywhere.BACK,
        everywhere.POWER,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self, desk: Desk, first: str | None = None) -> None:
        self.gates = desk.standing.state.route.gates_in_use()
        self.cursor = self.gates.index(first) if first in self.gates else 0

    def paint(self, desk: Desk, window: Window) -> Picture:
        lines = tuple(
            clipped(_gate_line(desk.standing.gates[gate], n == self.cursor, window.columns), window.columns)
            for n, gate in enumerate(self.gates)
        )
        return Picture(head=(words("GATES  + stands   # shut", BOLD),), body=lines, focus=self.cursor)

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_go_there(self, desk: Desk) -> None:
        desk.go(place_of(desk, self.gates[self.cursor]))

    def do_down(self, desk: Desk) -> None:
        self.cursor = min(self.cursor + 1, len(self.gates) - 1)

    def do_up(self, desk: Desk) -> None:
        self.cursor = max(self.cursor - 1, 0)


def _gate_line(view: GateView, here: bool, columns: int) -> Content:
    text = f"{'=>' if here else '  '} {'+' if view.stands else '#'} {view.gate.title}: {view.why}"
    return words(text.ljust(columns) if here else text, LOUD if here else "")


class TicksPlace:
    """Statements confirmed one by one: first the digit shown, then Enter. The digit changes from line to line."""

    types = True

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.armed = 0

    @property
    def name(self) -> str:
        return "a gate of statements"

    commands = (
        Command(("enter",), "digit, enter", "CONFIRM", "confirm this line: first the digit shown, then Enter", "confirm"),
        NEXT_GATE,
        *everywhere.IN_A_PLACE,
    )

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        following = next((tick for tick in view.ticks if not tick.done), None)
        page = Page()
        for tick in view.ticks:
            here = following is not None and tick.n == following.n
            if window.small and not here:
                continue
            page.add(f"[{'x' if tick.done else ' '}] {tick.n}. {tick.says}", BOLD if here else "")
        if not window.small:
            _why_and_wear(page, desk, view)
        focus = None if following is None or window.small else following.n - 1
        return Picture(gate_head(desk, view, window), "", page.done(), (self._prompt(desk, view),), focus)

    def _prompt(self, desk: Desk, view: GateView) -> Content:
        following = next((tick for tick in view.ticks if not tick.done), None)
        if following is None:
            return words("You have confirmed every line. [n] next", LOUD)
        if view.first is not None:
            return words("Open that gate first: [n]", LOUD)
        if self.armed == following.n:
            return words(f"Line {following.n} of {len(view.ticks)}: now ENTER. You have confirmed it.", LOUD)
        return words(f"Line {following.n} of {len(view.ticks)}: press {self._code(desk, following.n)}, then Enter", LOUD)

    def _code(self, desk: Desk, line: int) -> str:
        """A digit that differs from the one before it, so that a key that sticks cannot go on."""
        return str((desk.standing.state.entries + line * 4) % 9 + 1)

    def typed(self, desk: Desk, character: str) -> bool:
        """The digit arms the line; any other digit disarms it."""
        view = desk.standing.gates[self.gate_id]
        following = next((tick for tick in view.ticks if not tick.done), None)
        if not character.isdigit():
            return False
        desk.hush()
        if following is None or view.first is not None:
            desk.say("nothing to confirm here now")
        elif character == self._code(desk, following.n):
            self.armed = following.n
        else:
            self.armed = 0
            desk.say(f"that was {character}: press {self._code(desk, following.n)} for this line")
        return True

    def do_confirm(self, desk: Desk) -> None:
        view = desk.standing.gates[self.gate_id]
        following = next((tick for tick in view.ticks if not tick.done), None)
        if following is None:
            go_on(desk, self.gate_id)
            return
        if self.armed != following.n:
            desk.say(f"first press {self._code(desk, following.n)}, then Enter")
            return
        self.armed = 0
        entry = desk.enter("gate-tick", gate=self.gate_id, tick=following.n)
        if entry is None:
            return
        desk.say(f"written: you have confirmed line {following.n} (entry {entry.n})")
        if desk.standing.gates[self.gate_id].stands:
            go_on(desk, self.gate_id)

    def do_next_gate(self, desk: Desk) -> None:
        _to_next_gate(desk, self.gate_id)


def _to_next_gate(desk: Desk, gate_id: str) -> None:
    """To the gate that keeps this one shut, or past it when it stands."""
    view = desk.standing.gates[gate_id]
    if view.first is not None:
        desk.back()
        desk.go(place_of(desk, view.first))
    elif view.stands:
        go_on(desk, gate_id)
    else:
        desk.say(f"this gate is shut: {view.why}")


class WaitPlace:
    """Time that must really pass, counted down in large digits."""

    name = "a wait"
    types = False
    commands = (
        Command(("enter", "space"), "enter", "it is over", "write that the whole wait has run", "over"),
        Command(("m",), "m", "manual", "the wait the service manual asks for, and its page", "manual"),
        NEXT_GATE,
        *everywhere.IN_A_PLACE,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.left_s: float | None = None

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        left_s = view.wait_left_s or 0.0
        page = Page()
        page.add(self._asks(desk, view))
        if not window.small:
            _why_and_wear(page, desk, view)
        prompt = () if left_s > 0 else (words(" WAIT OVER: the whole wait has run. [enter] ".ljust(window.columns), LOUD),)
        return Picture(gate_head(desk, view, window), minutes_seconds(left_s), page.done(), prompt)

    def _asks(self, desk: Desk, view: GateView) -> str:
        assert isinstance(view.gate, WaitGate)
        record = desk.standing.state.gates[self.gate_id]
        needed = wait_needed_min(view.gate, record)
        if record.manual_min is None:
            return f"Waits {needed:g} min: the service manual's figure is not entered. Nobody in or at the car."
        return f"Waits {needed:g} min (manual: {record.manual_min:g}, never under {view.gate.floor_min:g}). Nobody in or at the car."

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_over(self, desk: Desk) -> None:
        if desk.enter("wait-over", gate=self.gate_id) is not None:
            desk.say("written: the whole wait has run")
            go_on(desk, self.gate_id)

    def do_manual(self, desk: Desk) -> None:
        def page_typed(desk: Desk, page: str) -> None:
            desk.go(TextPad("The wait it asks for, like 15min:", lambda desk, wait: write(desk, page, wait)))

        def write(desk: Desk, page: str, wait: str) -> None:
            if desk.enter("manual-wait", gate=self.gate_id, wait=wait, page=page) is not None:
                desk.say(f"written: the manual asks for {wait}")

        desk.go(TextPad("Service manual: which book and page says how long?", page_typed))

    def do_next_gate(self, desk: Desk) -> None:
        _to_next_gate(desk, self.gate_id)


class ReadingPad:
    """A number read from an instrument."""

    name = "a reading"
    types = True
    commands = (
        Command(("enter",), "enter", "WRITE", "write the reading", "write"),
        Command(("backspace",), "backspace", "rub out", "rub out; with nothing typed: back", "rub_out", Weight.TURNS),
        NEXT_GATE,
        everywhere.POWER,
        everywhere.UNDO,
        everywhere.UP,
        everywhere.DOWN,
        everywhere.HELP,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.field = NumberField()

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        gate = view.gate
        assert isinstance(gate, ReadingGate)
        unit = UNITS[gate.quantity]
        page = Page()
        page.add(view.do or "", LOUD)
        page.labelled("Read:", gate.reads)
        fresh = f", and not older than {gate.fresh_min:g} min" if gate.fresh_min else ""
        page.labelled("Stands:", f"below {gate.below:,g} {unit}{fresh}")
        for level in gate.levels:
            page.labelled(f"From {level.at:,g} {unit}:", level.do)
        if not window.small:
            _why_and_wear(page, desk, view)
        return Picture(gate_head(desk, view, window), f"{self.field.text or '0'} {unit}", page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_rub_out(self, desk: Desk) -> None:
        if not self.field.rub_out():
            desk.back()

    def do_write(self, desk: Desk) -> None:
        gate = desk.standing.gates[self.gate_id].gate
        assert isinstance(gate, ReadingGate)
        if not self.field.text:
            desk.say("type what the instrument shows, then Enter")
            return
        value = f"{self.field.text.rstrip('.')}{UNITS[gate.quantity]}"
        self.field.clear()
        entry = desk.enter("gate-reading", gate=self.gate_id, value=value)
        if entry is None:
            return
        view = desk.standing.gates[self.gate_id]
        desk.say(f"written: {value} (entry {entry.n}). {view.do or view.why}")
        if view.stands:
            go_on(desk, self.gate_id)

    def do_next_gate(self, desk: Desk) -> None:
        _to_next_gate(desk, self.gate_id)


class IcePad:
    """The kilos of ice about to be laid, and what they do to the air here."""

    name = "dry ice in this room"
    types = True
    commands = (
        Command(("enter",), "enter", "COUNT", "count with these kilos", "write"),
        Command(("m",), "m", "minutes", "these are the minutes in which it goes off", "minutes"),
        Command(("backspace",), "backspace", "rub out", "rub out; with nothing typed: back", "rub_out", Weight.TURNS),
        NEXT_GATE,
        everywhere.POWER,
        everywhere.UP,
        everywhere.DOWN,
        everywhere.HELP,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.field = NumberField()
        self.over = "60"

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        page = Page()
        for line in view.working:
            page.add(line)
        page.add(f"Counted over {self.over} min. A calculation is no meter; an oxygen meter is no carbon dioxide alarm.")
        if not window.small:
            _why_and_wear(page, desk, view)
        unit = desk.car.facts.mass_unit
        return Picture(gate_head(desk, view, window), f"{self.field.text or '0'} {unit}", page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_rub_out(self, desk: Desk) -> None:
        if not self.field.rub_out():
            desk.back()

    def do_minutes(self, desk: Desk) -> None:
        if self.field.text:
            self.over = self.field.text
            self.field.clear()
        else:
            desk.say("type the minutes first")

    def do_write(self, desk: Desk) -> None:
        if not self.field.text:
            desk.say("type the kilos you are about to lay, then Enter")
            return
        ice = f"{self.field.text.rstrip('.')}{desk.car.facts.mass_unit}"
        entry = desk.enter("gate-figure", gate=self.gate_id, ice=ice, over=f"{self.over.rstrip('.')}min")
        if entry is not None:
            self.field.clear()
            desk.say(f"written: {ice} (entry {entry.n})")

    def do_next_gate(self, desk: Desk) -> None:
        _to_next_gate(desk, self.gate_id)


class StopPlace:
    """Not for this program to open: who licensed did it, and their paper."""

    name = "work for someone licensed"
    types = False
    commands = (
        Command(("enter",), "enter", "SIGNED", "someone licensed did it: who, and their paper", "sign"),
        NEXT_GATE,
        *everywhere.IN_A_PLACE,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.standing.gates[self.gate_id]
        assert isinstance(view.gate, StopGate)
        page = Page()
        page.labelled("Look for:", view.gate.look_for)
        page.labelled("Call:", view.gate.call)
        page.labelled("Paper:", view.gate.paper)
        if not window.small:
            _why_and_wear(page, desk, view)
        return Picture(gate_head(desk, view, window), "", page.done())

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_sign(self, desk: Desk) -> None:
        def by_typed(desk: Desk, by: str) -> None:
            desk.go(TextPad("Their paper: what, number, date:", lambda desk, paper: write(desk, by, paper)))

        def write(desk: Desk, by: str, paper: str) -> None:
            if desk.enter("gate-signed", gate=self.gate_id, by=by, paper=paper) is not None:
                desk.say(f"written: signed for by {by}")

        desk.go(TextPad("Who licensed did it? Name and licence:", by_typed))

    def do_next_gate(self, desk: Desk) -> None:
        _to_next_gate(desk, self.gate_id)


class CountPlace:
    """Every live module the car may carry, and how each is accounted for."""

    name = "the count of live modules"
    types = False
    commands = (
        Command(("enter", "space"), "enter", "account", "say where this one is", "account"),
        Command(("down",), "down", "down", "one down", "down", Weight.TURNS),
        Command(("up",), "up", "up", "one up", "up", Weight.TURNS),
        NEXT_GATE,
        everywhere.BACK,
        everywhere.POWER,
        everywhere.UNDO,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self, gate_id: str) -> None:
        self.gate_id = gate_id
        self.cursor = 0

    def paint(self, desk: Desk, window: Window) -> Picture:
        state, view = desk.standing.state, desk.standing.gates[self.gate_id]
        modules = state.route.modules
        lines = []
        for n, module in enumerate(modules):
            account = state.module_account(module.id)
            here = "=>" if n == self.cursor else "  "
            text = f"{here} {'+' if account else '#'} {module.name}: {account or f'look: {module.where}'}"
            lines.append(clipped(words(text, LOUD if n == self.cursor else ""), window.columns))
        return Picture(gate_head(desk, view, window), "", tuple(lines), focus=self.cursor)

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_down(self, desk: Desk) -> None:
        self.cursor = min(self.cursor + 1, len(desk.standing.state.route.modules) - 1)

    def do_up(self, desk: Desk) -> None:
        self.cursor = max(self.cursor - 1, 0)

    def do_account(self, desk: Desk) -> None:
        state = desk.standing.state
        module = state.route.modules[self.cursor]
        out = [part for part in state.route.carriers.get(module.id, ()) if state.is_out(part)]
        stored, absent, fitted = "it is off and stored", "I looked: it is not there", "still fitted, plugged"

        def chosen(desk: Desk, answer: str) -> None:
            if answer == stored:
                desk.go(ask_stored(out[0], state.route.parts[out[0]].part.name))
            elif desk.enter("not-there" if answer == absent else "still-fitted", module=module.id, why=answer):
                desk.say(f"written: {module.name}: {answer}")

        answers = ((stored,) if out else ()) + (absent, fitted)
        desk.go(Choose(f"{module.name} ({module.where})", answers, chosen))

    def do_next_gate(self, desk: Desk) -> None:
        _to_next_gate(desk, self.gate_id)


