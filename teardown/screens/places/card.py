"""The walk card: one step, what is dangerous about it, what to do, what comes off. Open all day."""

from __future__ import annotations

from textual.content import Content

from teardown import units
from teardown.car.mass import part_mass
from teardown.car.steps import StepView
from teardown.packs.model import Fasteners, Hazard, greatest_first
from teardown.packs.route import RoutePart
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import Weight
from teardown.screens.paint import BOLD, Page, Picture, Window, signal_band, words
from teardown.screens.places import everywhere
from teardown.screens.places.baglist import BagList
from teardown.screens.places.bench import Bench
from teardown.screens.places.choose import ask_refitted, ask_why
from teardown.screens.places.papers import ask_sheet
from teardown.screens.places.steplist import StepList
from teardown.screens.places.tally import look_at_balance, look_at_closing, look_at_kilos, look_at_money
from teardown.screens.places.weigh import CarPad, WeighPad, begin_fitted, begin_found
from teardown.screens.places.write import note_on

STATE_WORDS = {
    "done": "DONE",
    "ready": "READY",
    "shut": "SHUT",
    "waiting": "NOT YET",
    "skipped": "SKIPPED",
    "deferred": "PUT OFF",
    "kept": "KEEP",
    "not-fitted": "NOT FITTED",
}


class Card:
    """Walks the route step by step."""

    name = "the walk"
    types = False
    commands = (
        Command(("space", "enter"), "space", "done", "tick the step off", "done"),
        everywhere.GATE,
        Command(("w",), "w", "weigh", "weigh what comes off", "weigh"),
        Command(("right", "n"), "right", "next", "look at the next step", "following", Weight.TURNS),
        Command(("left", "b", "backspace"), "left", "", "look at the step before", "before", Weight.TURNS),
        Command(("l",), "l", "list", "the list of steps: jump to any", "list_steps", Weight.TURNS),
        everywhere.POWER,
        everywhere.UNDO,
        Command(("s",), "s", "", "skip this step, with a reason", "skip"),
        Command(("d",), "d", "", "put this step off, with a reason", "put_off"),
        Command(("t",), "t", "", "note something", "note"),
        Command(("f",), "f", "", "a part nobody foresaw: its name and weight", "found"),
        Command(("i",), "i", "", "something light that is fitted: its name and weight", "fitted"),
        Command(("c",), "c", "", "the car on the scales", "car_weighed"),
        Command(("j",), "j", "", "the bags: where do these bolts go", "bags", Weight.OPENS),
        Command(("k",), "k", "", "the parts bench: every part, its mass, its fate, its money", "bench", Weight.TURNS),
        Command(("v",), "v", "", "the balance: the car from above", "balance", Weight.TURNS),
        Command(("x",), "x", "", "the kilos: coming down, and by area", "kilos", Weight.TURNS),
        Command(("z",), "z", "", "the closing: do the parts explain the scales?", "closing", Weight.TURNS),
        Command(("m",), "m", "", "the money: put in, and back", "money", Weight.TURNS),
        Command(("r",), "r", "", "write a sheet for other people", "papers", Weight.OPENS),
        Command(("a",), "a", "", "first step that is ready", "first_ready", Weight.TURNS),
        everywhere.HAPPENED,
        everywhere.PEOPLE,
        everywhere.WORKER,
        everywhere.UP,
        everywhere.DOWN,
        everywhere.HELP,
        everywhere.QUIT,
    )

    # -- painting

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = desk.step
        hazards = greatest_first(desk.standing.state.route.library.hazards[name] for name in view.laid.step.hazards)
        page = Page()
        self._what_to_do(page, desk, view, window)
        if not window.small:
            self._hazards_in_full(page, hazards)
            self._good_to_know(page, view)
        return Picture(head=self._head(desk, view, hazards, window), body=page.done())

    def _head(self, desk: Desk, view: StepView, hazards: list[Hazard], window: Window) -> tuple[Content, ...]:
        total = len(desk.standing.state.route.steps)
        title = words(f"{desk.position + 1}/{total}  {view.laid.step.title}", BOLD)
        head = [signal_band(hazards[0], window.columns)] if hazards else []
        if hazards and not window.small:
            head.append(words(f"{hazards[0].happens} {hazards[0].avoid}"))
        head.append(title)
        head.append(self._state_line(view))
        return tuple(head)

    def _state_line(self, view: StepView) -> Content:
        mark = STATE_WORDS[view.state]
        return words(f"{mark}: {view.why}" if view.why else mark, BOLD)

    def _what_to_do(self, page: Page, desk: Desk, view: StepView, window: Window) -> None:
        step = view.laid.step
        page.add(step.do)
        if step.people > 1:
            page.labelled("People:", f"{step.people}")
        for part in step.parts:
            page.labelled("Off:", _part_line(desk, desk.standing.state.route.parts[part.id]))
        if window.small:
            return
        page.labelled("Tools:", ", ".join(step.tools))
        for fasteners in step.fasteners:
            page.labelled("Fasteners:", _fasteners_line(fasteners, desk.standing.state.route.bags.get(view.ref)))

    def _hazards_in_full(self, page: Page, hazards: list[Hazard]) -> None:
        for number, hazard in enumerate(hazards):
            if number > 0:
                page.labelled(f"{hazard.signal} {hazard.title}:", f"{hazard.happens} {hazard.avoid}")
        wear = dict.fromkeys(item for hazard in hazards for item in hazard.wear)
        page.labelled("Wear:", ", ".join(wear))

    def _good_to_know(self, page: Page, view: StepView) -> None:
        step = view.laid.step
        page.labelled("Hurts:", step.hurts or "")
        page.labelled("Breaks:", step.breaks or "")
        page.labelled("Keep:", step.keep or "")
        low, likely, high = step.minutes
        page.labelled("Time:", f"about {likely:g} min ({low:g} to {high:g})")
        page.labelled("Pack:", f"{view.laid.pack.title} ({view.ref})")

    # -- keys

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def do_done(self, desk: Desk) -> None:
        view = desk.step
        if view.laid.step.refits and view.state in ("ready", "skipped", "deferred"):
            desk.go(ask_refitted(view, finish))
        else:
            finish(desk, refitted=False)

    def do_weigh(self, desk: Desk) -> None:
        weigh_parts(desk)

    def do_found(self, desk: Desk) -> None:
        desk.go(begin_found())

    def do_fitted(self, desk: Desk) -> None:
        desk.go(begin_fitted())

    def do_car_weighed(self, desk: Desk) -> None:
        desk.go(CarPad())

    def do_bags(self, desk: Desk) -> None:
        desk.go(BagList())

    def do_following(self, desk: Desk) -> None:
        self._turn(desk, 1)

    def do_before(self, desk: Desk) -> None:
        self._turn(desk, -1)

    def _turn(self, desk: Desk, by: int) -> None:
        desk.hush()
        last = len(desk.standing.state.route.steps) - 1
        if not 0 <= desk.position + by <= last:
            desk.say("this is the last step" if by > 0 else "this is the first step")
        desk.position = min(max(desk.position + by, 0), last)

    def do_first_ready(self, desk: Desk) -> None:
        desk.hush()
        desk.position = desk.next_open(-1)

    def do_list_steps(self, desk: Desk) -> None:
        desk.go(StepList(desk.position))

    def do_bench(self, desk: Desk) -> None:
        desk.go(Bench())

    def do_balance(self, desk: Desk) -> None:
        desk.go(look_at_balance())

    def do_kilos(self, desk: Desk) -> None:
        desk.go(look_at_kilos())

    def do_closing(self, desk: Desk) -> None:
        desk.go(look_at_closing())

    def do_money(self, desk: Desk) -> None:
        desk.go(look_at_money())

    def do_papers(self, desk: Desk) -> None:
        desk.go(ask_sheet())

    def do_skip(self, desk: Desk) -> None:
        desk.go(ask_why("step-skipped", desk.step))

    def do_put_off(self, desk: Desk) -> None:
        desk.go(ask_why("step-deferred", desk.step))

    def do_note(self, desk: Desk) -> None:
        desk.go(note_on(desk.step))


def finish(desk: Desk, refitted: bool) -> None:
    """Write that the step in front is done; weigh what came off, or go on."""
    view = desk.step
    entry = desk.enter("step-done", step=view.ref, refitted=refitted)
    if entry is None:
        return
    said = f"written: {view.laid.step.title} is done (entry {entry.n})"
    if any(desk.standing.state.weight_of(part.id) is None for part in view.laid.step.parts):
        weigh_parts(desk)
    else:
        desk.position = desk.next_open(desk.position)
    desk.say(said)


def weigh_parts(desk: Desk) -> None:
    """The weigh pad for what this step takes off; without such parts, for something nobody foresaw."""
    state = desk.standing.state
    parts = [part.id for part in desk.step.laid.step.parts if state.route.parts[part.id].fitted]
    desk.go(WeighPad(parts) if parts else begin_found())


def _part_line(desk: Desk, part: RoutePart) -> str:
    state, mass = desk.standing.state, part_mass(desk.standing.state, part)
    unit = desk.car.facts.mass_unit
    if not part.fitted:
        return f"{part.part.name}: not on this car"
    if mass.how == "estimate":
        low, _, high = (units.show_mass(kg, unit) for kg in part.kg)
        weight = f"about {units.show_mass(mass.kg, unit)} ({low} to {high})"
    else:
        weight = f"weighed {units.show_mass(mass.kg, unit)}"
    where = state.stored_at(part.id)
    return f"{part.part.name}, {weight}" + (f", stored: {where}" if where else "")


def _fasteners_line(fasteners: Fasteners, bag: int | None) -> str:
    goes = {
        "bag": f"BAG {bag}",
        "refit": "in its place at once",
        "discard": "throw away",
        "stays": "left on its part or wire",
    }
    return f"{fasteners.in_words}: {goes[fasteners.fate]}"
