"""Every step of the route with how it stands; jump to any."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from teardown.car.steps import StepView, view_route
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Picture, Window, clipped, words
from teardown.screens.places import everywhere
from teardown.screens.places.lines import ONE_DOWN, ONE_UP, Cursor, line_of_list, told_at_cursor

MARKS = {
    "done": "+",
    "ready": ">",
    "shut": "#",
    "waiting": ".",
    "skipped": "-",
    "deferred": "~",
    "kept": "=",
    "not-fitted": " ",
}
ListLine = Callable[[str, bool, int, str], Content]
LEGEND = "+ done > ready # shut . not yet ~ put off - skipped = keep, no mark: not on this car"
"""Cut to a line where four steps are in sight, and told whole by help."""


class StepList:
    """A cursor over the route."""

    name = "the list of steps"
    types = False
    commands = (
        Command(
            ("enter", "space"),
            "enter",
            "go there",
            f"show this step. Marks: {LEGEND}",
            "go_there",
            KeyKind.TURNS,
            "[enter] go",
        ),
        ONE_DOWN._replace(label=""),
        ONE_UP._replace(label=""),
        Command(("pagedown", "right"), "right", "next pack", "to the next pack", "next_pack", KeyKind.TURNS),
        Command(("pageup", "left"), "left", "", "to the pack before", "pack_before", KeyKind.TURNS),
        Command(("f",), "f", "find", "find a step by its title or its pack", "find", KeyKind.OPENS),
        *everywhere.IN_A_LIST,
    )

    def __init__(self, at: int) -> None:
        self.cursor = Cursor(lambda desk: len(desk.standing.state.route.steps), at)

    def paint(self, desk: Desk, window: Window) -> Picture:
        views = view_route(desk.standing)
        pack = desk.standing.state.route.steps[self.cursor.at].pack.title
        at = clipped(words(f"{self.cursor.at + 1}/{len(views)}  {pack}", BOLD), window.columns)
        head = (at, clipped(words(LEGEND), window.columns) if window.small else words(LEGEND))
        return Picture(
            head=head, body=step_lines(views, self.cursor.at, window.columns, told_at_cursor), focus=self.cursor.at
        )

    def do_go_there(self, desk: Desk) -> None:
        desk.position = self.cursor.at
        desk.back()

    def do_find(self, desk: Desk) -> None:
        from teardown.screens.places.write import TextPad  # the list stands beside the first picture, and types nothing

        desk.go(TextPad("Find a step: its title or its pack, or a piece of it", self._find))

    def _find(self, desk: Desk, text: str) -> None:
        from teardown.screens.fields import next_with

        steps = desk.standing.state.route.steps
        n = next_with(text, self.cursor.at, len(steps), lambda n: f"{steps[n].step.title} {steps[n].pack.title}")
        if n is None:
            desk.say(f"no step has {text} in its title")
        else:
            self.cursor.at = n

    def do_next_pack(self, desk: Desk) -> None:
        steps = desk.standing.state.route.steps
        here = steps[self.cursor.at].pack.id
        later = (n for n in range(self.cursor.at, len(steps)) if steps[n].pack.id != here)
        self.cursor.at = next(later, len(steps) - 1)

    def do_pack_before(self, desk: Desk) -> None:
        steps = desk.standing.state.route.steps
        begins = [n for n, step in enumerate(steps) if n == 0 or steps[n - 1].pack.id != step.pack.id]
        self.cursor.at = max((n for n in begins if n < self.cursor.at), default=0)


def step_lines(
    views: tuple[StepView, ...], cursor: int, columns: int, line: ListLine = line_of_list
) -> tuple[Content, ...]:
    """Beside the card a line each."""
    return tuple(_step_line(view, n == cursor, columns, line) for n, view in enumerate(views))


def _step_line(view: StepView, here: bool, columns: int, line: ListLine) -> Content:
    style = BOLD if view.state == "ready" else ""
    return line(f" {MARKS[view.state]} {view.laid.step.title}", here, columns, style)
