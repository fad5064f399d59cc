"""The walk card: one step, what is dangerous about it, what to do, what comes off. Open all day."""

from __future__ import annotations

from teardown import units
from teardown.car.mass import part_mass
from teardown.car.steps import StepView, view_step
from teardown.packs.model import Fasteners, Hazard
from teardown.packs.route import RoutePart
from textual.content import Content

from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import Weight
from teardown.screens.paint import BOLD, Page, Picture, Window, greatest_first, signal_band, words
from teardown.screens.places import everywhere

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
        Command(("w",), "w", "weigh", "weigh what comes off", "weigh"),
        everywhere.GATE,
        Command(("right", "n"), "right", "next", "look at the next step", "following", Weight.TURNS),
        Command(("left", "b", "backspace"), "left", "", "look at the step before", "before", Weight.TURNS),
        Command(("l",), "l", "list", "the list of steps: jump to any", "list_steps", Weight.TURNS),
        everywhere.POWER,
        everywhere.UNDO,
        Command(("s",), "s", "", "skip this step, with a reason", "skip"),
        Command(("d",), "d", "", "put this step off, with a reason", "put_off"),
        Command(("t",), "t", "", "note something", "note"),
        Command(("f",), "f", "", "a part nobody foresaw: its name and weight", "found"),
        Command(("c",), "c", "", "the car on the scales", "car_weighed"),
        Command(("a",), "a", "", "first step that is ready", "first_ready", Weight.TURNS),
        everywhere.HAPPENED,
        everywhere.PEOPLE,
        everywhere.WORKER,
        everywhere.UP,
        everywhere.DOWN,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self, desk: Desk) -> None:
        self.position = first_open(desk)

    def view(self, desk: Desk) -> StepView:
        standing = desk.standing
        return view_step(standing, standing.state.route.steps[self.position])

    # -- painting

    def paint(self, desk: Desk, window: Window) -> Picture:
        view = self.view(desk)
        hazards = greatest_first(desk.standing.state.route.library.hazards[name] for name in view.laid.step.hazards)
        page = Page()
        self._what_to_do(page, desk, view, window)
        if not window.small:
            self._hazards_in_full(page, hazards)
            self._good_to_know(page, view)
        return Picture(head=self._head(desk, view, hazards, window), body=page.done())

    def _head(self, desk: Desk, view: StepView, hazards: list[Hazard], window: Window) -> tuple[Content, ...]:
        total = len(desk.standing.state.route.steps)
        title = words(f"{self.position + 1}/{total}  {view.laid.step.title}", BOLD)
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
        view = self.view(desk)
        if view.laid.step.refit_first and view.state in ("ready", "skipped", "deferred"):
            from teardown.screens.places.choose import ask_refitted

            desk.go(ask_refitted(self, view))
            return
        self.finish(desk, refitted=False)

    def finish(self, desk: Desk, refitted: bool) -> None:
        """Write that the step is done; stay to weigh what came off, else go on."""
        view = self.view(desk)
        words_ = {"refitted": True} if refitted else {}
        entry = desk.enter("step-done", step=view.ref, **words_)
        if entry is None:
            return
        desk.say(f"written: {view.laid.step.title} is done (entry {entry.n})")
        if any(not desk.standing.state.weight_of(part.id) for part in view.laid.step.parts):
            self.do_weigh(desk)
        else:
            self.position = next_open(desk, self.position)

    def do_weigh(self, desk: Desk) -> None:
        from teardown.screens.places.weigh import WeighPad, begin_found

        parts = self.view(desk).laid.step.parts
        said = desk.message
        desk.go(WeighPad(self, [part.id for part in parts]) if parts else begin_found())
        desk.say(said)

    def do_found(self, desk: Desk) -> None:
        from teardown.screens.places.weigh import begin_found

        desk.go(begin_found())

    def do_car_weighed(self, desk: Desk) -> None:
        from teardown.screens.places.weigh import CarPad

        desk.go(CarPad())

    def do_following(self, desk: Desk) -> None:
        self._turn(desk, 1)

    def do_before(self, desk: Desk) -> None:
        self._turn(desk, -1)

    def _turn(self, desk: Desk, by: int) -> None:
        desk.hush()
        last = len(desk.standing.state.route.steps) - 1
        if not 0 <= self.position + by <= last:
            desk.say("this is the last step" if by > 0 else "this is the first step")
        self.position = min(max(self.position + by, 0), last)

    def do_first_ready(self, desk: Desk) -> None:
        desk.hush()
        self.position = first_open(desk)

    def do_list_steps(self, desk: Desk) -> None:
        from teardown.screens.places.steplist import StepList

        desk.go(StepList(self))

    def do_skip(self, desk: Desk) -> None:
        from teardown.screens.places.choose import ask_why

        desk.go(ask_why("step-skipped", self.view(desk)))

    def do_put_off(self, desk: Desk) -> None:
        from teardown.screens.places.choose import ask_why

        desk.go(ask_why("step-deferred", self.view(desk)))

    def do_note(self, desk: Desk) -> None:
        from teardown.screens.places.write import note_on

        desk.go(note_on(self.view(desk)))


def first_open(desk: Desk) -> int:
    """The first step to work at: ready, or shut by a gate that can be opened."""
    return next_open(desk, -1) if desk.standing.state.route.steps else 0


def next_open(desk: Desk, position: int) -> int:
    """The next step after `position` that is ready or shut, else the first such step, else stay."""
    steps = desk.standing.state.route.steps
    for following in (*range(position + 1, len(steps)), *range(position + 1)):
        if view_step(desk.standing, steps[following]).state in ("ready", "shut"):
            return following
    return max(position, 0)


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
    low, high = fasteners.count
    count = f"{low}" if low == high else f"{low} to {high}"
    drive = f" {fasteners.drive}" if fasteners.drive else ""
    where = f", {fasteners.where}" if fasteners.where else ""
    goes = {"bag": f"BAG {bag}", "refit": "back in at once", "discard": "throw away"}[fasteners.fate]
    return f"{count} {fasteners.what}{drive}{where}: {goes}"
