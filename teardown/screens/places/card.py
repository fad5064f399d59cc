"""The walk card: one step, what is dangerous about it, what to do, what comes off. Open all day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import groupby
from operator import attrgetter

from textual.content import Content

from teardown.car.briefing import at_a_glance, good_to_know, hands_needed, hazards_of, notes_on, to_wear
from teardown.car.deadline import welder_words
from teardown.car.steps import StepView
from teardown.packs.model import Hazard
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, cut, signal_band, together, words, wrap
from teardown.screens.places import everywhere
from teardown.text import plain

MOST_STATE_LINES, WITH_ROOM = 1, 3
"""Of why a step is shut, besides what its title takes; its gate tells the rest."""

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
    reason = ""
    """Why the step is not ready, where all of it stands on the card: a refusal need not say it again."""
    commands = (
        Command(("space", "enter"), "space", "done", "tick the step off", "done"),
        everywhere.GATE,
        Command(("w",), "w", "weigh", "weigh what comes off", "weigh"),
        Command(("right", "n"), "right", "next", "look at the next step", "following", KeyKind.TURNS),
        Command(("left", "b", "backspace"), "left", "", "look at the step before", "before", KeyKind.TURNS),
        Command(("l",), "l", "list", "the list of steps: jump to any", "list_steps", KeyKind.TURNS),
        everywhere.POWER,
        everywhere.UNDO,
        Command(("s",), "s", "", "skip this step, with a reason", "skip"),
        Command(("d",), "d", "", "put this step off, with a reason", "put_off"),
        Command(("t",), "t", "", "note something", "note"),
        Command(("f",), "f", "", "a part nobody foresaw: its name and weight", "found"),
        Command(("i",), "i", "", "something light that is fitted: its name and weight", "fitted"),
        Command(("c",), "c", "", "the car on the scales", "car_weighed"),
        Command(("j",), "j", "", "the bags: where do these bolts go", "bags", KeyKind.OPENS),
        Command(("k",), "k", "", "the parts bench: every part, its mass, its fate, its money", "bench", KeyKind.TURNS),
        Command(
            ("m",),
            "m",
            "",
            "the tally: the money, costs, scrap, refunds, runs, gas, what happened",
            "tally",
            KeyKind.TURNS,
        ),
        Command(("v",), "v", "", "the tally: the balance, the car from above", "tally", KeyKind.TURNS),
        Command(("x",), "x", "", "the tally: the kilos, coming down, and by area", "tally", KeyKind.TURNS),
        Command(("z",), "z", "", "the tally: the closing: do the parts explain the scales?", "tally", KeyKind.TURNS),
        Command(("r",), "r", "", "write a sheet for other people", "papers", KeyKind.OPENS),
        everywhere.CAR,
        Command(("a",), "a", "", "first step that is ready", "first_ready", KeyKind.TURNS),
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
        state = desk.standing.state
        hazards = hazards_of(state, view)
        step, is_whole = _step_lines(desk, view, window)
        page = Page()
        page.paragraphs.append(_what_to_do(view))
        page.run_on(at_a_glance(state, view), apart=window.tall)
        for told in notes_on(state, view):
            page.labelled(*told)
        self._hazards_in_full(page, hazards, window)
        if window.roomy and view.ref in state.route.pack_begins:
            page.labelled("Why this pack:", view.laid.pack.why)
        self.reason = view.why if is_whole else ""
        if not is_whole:
            page.labelled(f"{STATE_WORDS[view.state]}:", view.why)
        self._good_to_know(page, desk, view)
        return Picture(head=(*self._warning(hazards, window), *step), body=page.done())

    def _warning(self, hazards: list[Hazard], window: Window) -> Iterator[Content]:
        if hazards:
            yield signal_band(hazards[0], window.columns)
            if not window.small:
                yield _what_hurts(hazards)

    def _hazards_in_full(self, page: Page, hazards: list[Hazard], window: Window) -> None:
        """The greatest stands in the head, where there is room for it. What all of them want worn is read first."""
        page.labelled(*to_wear(hazards))
        for hazard in hazards if window.small else hazards[1:]:
            page.labelled(f"{hazard.signal} {hazard.title}:", f"{hazard.happens} {hazard.avoid}")

    def _good_to_know(self, page: Page, desk: Desk, view: StepView) -> None:
        state = desk.standing.state
        for told in good_to_know(state, view):
            page.labelled(*told)
        page.labelled("Pack:", f"{view.laid.pack.title} ({view.ref})")
        page.labelled("At work:", desk.worker)
        if not state.rehearsal:
            page.labelled("Date:", welder_words(state.facts, date.fromisoformat(desk.car.clock.now().day)))


def _what_hurts(hazards: list[Hazard]) -> Content:
    """What the greatest hazard does and how to avoid it; of the others the names, each signal word once."""
    by_signal = groupby(hazards[1:], key=attrgetter("signal"))
    others = "; ".join(f"{signal} {', '.join(hazard.title for hazard in of_it)}" for signal, of_it in by_signal)
    also = f" And {plain(others)}." if others else ""
    return Content.assemble(plain(f"{hazards[0].happens} {hazards[0].avoid}"), (also, BOLD))


def _what_to_do(view: StepView) -> Content:
    label, people = hands_needed(view)
    first = f"{label} {people}.  " if people else ""
    return Content.assemble((first, BOLD), plain(view.laid.step.do))


def _step_lines(desk: Desk, view: StepView, window: Window) -> tuple[list[Content], bool]:
    """The step and how it stands in one paragraph, as every line of this card is one less of what to do; and whether
    all of why had room."""
    title = words(f"{desk.position + 1}/{len(desk.standing.state.route.steps)}  {view.laid.step.title}", BOLD)
    why = f": {plain(why)}" if (why := _why(desk, view)) else ""
    stands = Content.assemble(title, "  ", (together(STATE_WORDS[view.state]), LOUD), (why, BOLD))
    lines = wrap([stands], window.columns)
    most = len(wrap([title], window.columns)) + (WITH_ROOM if window.roomy else MOST_STATE_LINES)
    return cut(lines, most, window.columns), len(lines) <= most


def _why(desk: Desk, view: StepView) -> str:
    """Why it is not ready; where that is a question about the car, with the key that answers it."""
    route, laid = desk.standing.state.route, view.laid
    if view.state == "waiting" and laid.unanswered and laid.step.keep_rule:
        return f"[0] answers: {route.library.rules[laid.step.keep_rule].asks}"
    if view.state == "not-fitted":
        return f"{view.why} [0] answers it again"
    if view.shut_by and route.shape.unanswered(view.shut_by[0].gate.has):
        return f"[0] answers. {view.why}"
    return view.why
