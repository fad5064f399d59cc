"""The walk card: one step, what is dangerous about it, what to do, what comes off. Open all day."""

from __future__ import annotations

from collections.abc import Iterator

from textual.content import Content

from teardown import units
from teardown.car.bags import bag_numbers
from teardown.car.mass import part_mass
from teardown.car.steps import StepView
from teardown.packs.model import Fasteners, Hazard, greatest_first
from teardown.packs.route import RoutePart
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import Weight
from teardown.screens.paint import BOLD, Page, Picture, Window, signal_band, words
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
        Command(("m",), "m", "", "the tally: the money, costs, scrap, refunds, timed runs, gas", "tally", Weight.TURNS),
        Command(("v",), "v", "", "the tally: the balance, the car from above", "tally", Weight.TURNS),
        Command(("x",), "x", "", "the tally: the kilos, coming down, and by area", "tally", Weight.TURNS),
        Command(("z",), "z", "", "the tally: the closing: do the parts explain the scales?", "tally", Weight.TURNS),
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
        if window.small:
            page.add(view.laid.step.do)
        page.run_on(self._at_a_glance(desk, view))
        if not window.small:
            page.add(view.laid.step.do)
        self._hazards_in_full(page, hazards, window)
        self._good_to_know(page, desk, view, window)
        return Picture(head=self._head(desk, view, hazards, window), body=page.done())

    def _head(self, desk: Desk, view: StepView, hazards: list[Hazard], window: Window) -> tuple[Content, ...]:
        total = len(desk.standing.state.route.steps)
        title = words(f"{desk.position + 1}/{total}  {view.laid.step.title}", BOLD)
        head = [signal_band(hazards[0], window.columns)] if hazards else []
        if hazards and not window.small:
            head.append(words(f"{hazards[0].happens} {hazards[0].avoid}"))
        if len(hazards) > 1 and not window.small:
            head.append(words("and " + ", ".join(f"{hazard.signal} {hazard.title}" for hazard in hazards[1:]), BOLD))
        head.append(title)
        head.append(self._state_line(view))
        return tuple(head)

    def _state_line(self, view: StepView) -> Content:
        mark = STATE_WORDS[view.state]
        return words(f"{mark}: {view.why}" if view.why else mark, BOLD)

    def _at_a_glance(self, desk: Desk, view: StepView) -> Iterator[tuple[str, str]]:
        """What must be in sight without scrolling, in few lines: people, parts, tools, fasteners and their bag."""
        step, state = view.laid.step, desk.standing.state
        if step.people > 1:
            yield "People:", f"{step.people}"
        for part in step.parts:
            placed = state.route.parts[part.id]
            yield "On:" if placed.part.counts == "added" else "Off:", _part_line(desk, placed)
        yield "Tools:", ", ".join(step.tools)
        bag = bag_numbers(state).get(view.ref)
        for fasteners in step.fasteners:
            yield "Fasteners:", _fasteners_line(fasteners, bag)

    def _hazards_in_full(self, page: Page, hazards: list[Hazard], window: Window) -> None:
        """The greatest stands in the head, where there is room for it."""
        for hazard in hazards if window.small else hazards[1:]:
            page.labelled(f"{hazard.signal} {hazard.title}:", f"{hazard.happens} {hazard.avoid}")
        wear = dict.fromkeys(item for hazard in hazards for item in hazard.wear)
        page.labelled("Wear:", ", ".join(wear))

    def _good_to_know(self, page: Page, desk: Desk, view: StepView, window: Window) -> None:
        step, route = view.laid.step, desk.standing.state.route
        if window.roomy and view.ref in route.pack_begins:
            page.labelled("Why this pack:", view.laid.pack.why)
        for part in (route.parts[part.id] for part in step.parts):
            page.labelled(f"{part.part.name}:", (part.part.note or "") if part.fitted else "")
        page.labelled("Hurts:", step.hurts or "")
        page.labelled("Breaks:", step.breaks or "")
        page.labelled("Keep:", step.keep or "")
        low, likely, high = step.minutes
        page.labelled("Time:", f"about {likely:g} min ({low:g} to {high:g})")
        page.labelled("Pack:", f"{view.laid.pack.title} ({view.ref})")

    def typed(self, desk: Desk, character: str) -> bool:
        return False


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
