"""Which lines go where: all that the screen shows, worked out from the desk and the room there is, without a screen."""

from __future__ import annotations

from typing import NamedTuple

from textual.content import Content

from teardown.car.steps import view_route
from teardown.screens.commands import key_lines
from teardown.screens.desk import Desk
from teardown.screens.lamps import lamp_line, mass_line
from teardown.screens.paint import BOLD, MOST_SAID_LINES, Picture, Window, words, wrap
from teardown.screens.places.steplist import step_lines

DIGIT_ROWS = 3
LEAST_BODY_ROWS = 3


class Layout(NamedTuple):
    """Lines by region, none wider than the window and no more than fit; large digits, or none."""

    regions: dict[str, list[Content]]
    digits: str


def lay_out(desk: Desk, window: Window) -> Layout:
    """The place in front, between what is always in sight: mass and lamps above, the message and the keys below."""
    picture = desk.place.paint(desk, window)
    head = wrap(picture.head, window.columns)
    said = wrap([words(desk.message, BOLD)], window.columns) if desk.message else []
    regions = {
        "top": [mass_line(desk.standing, window, not desk.car.can_write), lamp_line(desk.standing, window)],
        "prompt": wrap(picture.prompt, window.columns),
        "say": said[:MOST_SAID_LINES],
        "keys": _keys(desk, window),
    }
    left = window.rows - sum(map(len, regions.values())) - (DIGIT_ROWS if picture.digits else 0)
    keep = max(1, min(len(head), left - LEAST_BODY_ROWS))
    regions["head"] = head[:keep]
    regions["body"] = _visible(desk, picture, head[keep:], window.columns, max(1, left - len(regions["head"])))
    return Layout(regions, picture.digits)


def side_lines(desk: Desk, columns: int, rows: int) -> list[Content]:
    """The list of steps beside the card, the one in front near the middle."""
    lines = list(step_lines(view_route(desk.standing), desk.position, columns))
    if len(lines) <= rows:
        return lines
    return _marked(lines, _in_sight(desk.position, len(lines), rows), rows)


def _keys(desk: Desk, window: Window) -> list[Content]:
    lines = 1 if window.small else 2
    return [words(line) for line in key_lines(desk.place.commands, window.columns, lines)]


def _visible(desk: Desk, picture: Picture, over: list[Content], columns: int, rows: int) -> list[Content]:
    """The lines of the body in sight, with a mark where there is more. What the head had no room for comes first."""
    starts: list[int] = []
    lines = list(over)
    for paragraph in picture.body:
        starts.append(len(lines))
        lines.extend(wrap([paragraph], columns))
    if len(lines) <= rows:
        desk.scrolled = 0
        return lines
    begins = 0 if picture.focus is None else _in_sight(starts[picture.focus], len(lines), rows)
    first = max(0, min(begins + desk.scrolled, len(lines) - rows + 1))
    desk.scrolled = first - begins
    return _marked(lines, first, rows)


def _in_sight(line: int, lines: int, rows: int) -> int:
    """The first line to show so that `line` is near the middle."""
    return max(0, min(line - rows // 2, lines - rows + 1))


def _marked(lines: list[Content], first: int, rows: int) -> list[Content]:
    """`rows` lines from `first` on, the outermost given to marks where there is more."""
    more_above, room = first > 0, rows - (first > 0)
    more_below = first + room < len(lines)
    room -= more_below
    shown = lines[first : first + room]
    above = [words(f"^ {first} more above: [up]", BOLD)] if more_above else []
    below = [words(f"v {len(lines) - first - len(shown)} more below: [down]", BOLD)] if more_below else []
    return above + shown + below
