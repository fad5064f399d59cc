"""Which lines go where: all that the screen shows, worked out from the desk and the room there is, without a screen."""

from typing import NamedTuple

from textual.content import Content

from teardown.car.steps import view_route
from teardown.screens.commands import find, key_lines, offered
from teardown.screens.desk import Desk, Place
from teardown.screens.lamps import top_lines
from teardown.screens.large import ROWS as DIGIT_ROWS
from teardown.screens.paint import BOLD, MOST_SAID_LINES, Picture, Window, cut, words, wrap
from teardown.screens.places.steplist import step_lines

LEAST_BODY_ROWS = 3
ROWS_FOR_TWO_MARKS = 8
"""With fewer there is one mark for both directions, and with one row none."""
LEAST_GAP = 2
"""Cells between what is to be read and a mark on the same line."""


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
        "top": cut(top_lines(desk.standing, window, not desk.car.can_write), window.rows // 2, window.columns),
        "prompt": wrap(picture.prompt, window.columns),
        "keys": _keys(desk, window),
    }
    left = window.rows - sum(map(len, regions.values()))
    digits = picture.digits if left >= DIGIT_ROWS + LEAST_BODY_ROWS else ""
    left -= DIGIT_ROWS if digits else 0
    body = _body(picture, window.columns)
    head_rows, said_rows = _shares(left, len(head), min(len(said), MOST_SAID_LINES), body)
    regions |= {"head": head[:head_rows], "say": cut(said, said_rows, window.columns)}
    regions["body"] = _visible(desk, body.below(head[head_rows:]), max(1, left - head_rows - said_rows), window.columns)
    return Layout(regions, digits)


class _Body(NamedTuple):
    """The lines of a body, and which of them must be in sight together: from one up to, not including, the other."""

    lines: list[Content]
    focus: tuple[int, int] | None

    def below(self, over: list[Content]) -> "_Body":
        """The same under what the head had no room for."""
        focus = None if self.focus is None else (self.focus[0] + len(over), self.focus[1] + len(over))
        return _Body([*over, *self.lines], focus)

    def rows_wanted(self, is_under_more: bool) -> int:
        """Rows it takes to show what must be in sight, with the marks for what is not."""
        if self.focus is None:
            return LEAST_BODY_ROWS
        first, end = self.focus
        return end - first + (first > 0 or is_under_more) + (end < len(self.lines))


def _body(picture: Picture, columns: int) -> _Body:
    lines: list[Content] = []
    focus = None
    for n, paragraph in enumerate(picture.body):
        begins = len(lines)
        lines.extend(wrap([paragraph], columns))
        if n == picture.focus:
            focus = (begins, len(lines))
    return _Body(lines, focus)


def _shares(left: int, head: int, said: int, body: _Body) -> tuple[int, int]:
    """The rows of the head and of the message. They give way to what must be in sight, down to a line each."""
    head_rows = max(1, min(head, left - said - body.rows_wanted(is_under_more=False)))
    if head_rows < head:
        head_rows = max(1, min(head, left - said - body.rows_wanted(is_under_more=True)))
    # What was said is read first, and goes with the next key; nothing of such a body has to be in sight meanwhile.
    wanted = 1 if body.focus is None else body.rows_wanted(is_under_more=head_rows < head)
    return head_rows, max(min(said, 1), min(said, left - head_rows - wanted))


def side_lines(desk: Desk, columns: int, rows: int) -> list[Content]:
    """The list of steps beside the card, the one in front near the middle."""
    lines = list(step_lines(view_route(desk.standing), desk.position, columns))
    if len(lines) <= rows:
        return lines
    return _marked(lines, _first_to_show(desk.position, desk.position + 1, len(lines), rows), rows)


def _keys(desk: Desk, window: Window) -> list[Content]:
    lines = 1 if window.small else 2
    commands = offered(desk.place.commands, desk.car.can_write)
    if _is_nothing_typed(desk.place):
        commands = [one._replace(label="back") if one.act == "rub_out" else one for one in commands]
    return [words(line) for line in key_lines(commands, window.columns, lines)]


def _is_nothing_typed(place: Place) -> bool:
    """Whether the key that rubs out goes back now: with nothing typed, unless the place has something to go back to."""
    typed = getattr(getattr(place, "field", None), "text", None)
    return typed == "" and not hasattr(place, "do_rub_out")


def _visible(desk: Desk, body: _Body, rows: int, columns: int) -> list[Content]:
    """The lines of the body in sight, with a mark where there is more. Read from its beginning, a text has the mark on
    its last line where that has room: a line of its own is taken from what is to be read."""
    lines, keys = body.lines, _keys_that_scroll(desk)
    desk.rows_shown, desk.in_sight = rows, True
    if len(lines) <= rows:
        desk.scrolled = desk.shown_from = 0
        return lines
    begins = 0 if body.focus is None else _first_to_show(*body.focus, len(lines), rows)
    beside = _with_mark(lines[rows - 1], len(lines) - rows, keys[1], columns) if body.focus is None else None
    first = max(0, min(begins + desk.scrolled, _last_first(len(lines), rows)))
    if desk.shown_from == 0:
        first = first and max(first, _first_that_shows_more(len(lines), rows, rows if beside else rows - 1))
    elif first == 1 and rows >= ROWS_FOR_TWO_MARKS:  # the mark would only take the place of the one line above
        first = 0
    desk.scrolled, desk.shown_from = first - begins, first
    if body.focus is not None:
        desk.in_sight = first <= body.focus[0] and body.focus[1] <= _end(first, len(lines), rows)
    elif first == 0 and beside:
        return [*lines[: rows - 1], beside]
    return _marked(lines, first, rows, keys)


def _first_that_shows_more(lines: int, rows: int, seen: int) -> int:
    """The first line to show next, after as many lines as are `seen` from the beginning: marks take lines."""
    return next(first for first in range(1, lines) if _end(first, lines, rows) > seen)


def _first_to_show(begins: int, ends: int, lines: int, rows: int) -> int:
    """The first line to show so that those from `begins` to `ends` are in sight, near the middle."""
    middle = begins - (rows - (ends - begins)) // 2
    firsts = range(min(begins, _last_first(lines, rows)) + 1)
    whole = [first for first in firsts if first != 1 and ends <= _end(first, lines, rows)]
    return min(whole, key=lambda first: abs(first - middle), default=begins)


def _last_first(lines: int, rows: int) -> int:
    """The first line in sight when the last one is."""
    return lines - max(1, rows - 1)


def _end(first: int, lines: int, rows: int) -> int:
    """The line after the last in sight, when `first` is the first and not all have room."""
    if rows < ROWS_FOR_TWO_MARKS:
        return min(lines, first + max(1, rows - 1))
    end = first + rows - (first > 0)
    return end if end >= lines else end - 1


def _with_mark(line: Content, below: int, key: str, columns: int) -> Content | None:
    """A line with the mark at its right end, without its key where that has no room; None where the mark has none."""
    text = line.rstrip()
    for mark in (f"v {below} below{key}", f"v {below} below"):
        room = columns - text.cell_length - len(mark)
        if room >= LEAST_GAP:
            return Content.assemble(text, " " * room, (mark, BOLD))
    return None


def _keys_that_scroll(desk: Desk) -> tuple[str, str]:
    """What the marks say of keys: nothing where those keys do nothing."""
    up, down = (find(desk.place.commands, key) is not None for key in ("up", "down"))
    return ": [up]" if up else "", ": [down]" if down else ""


def _marked(lines: list[Content], first: int, rows: int, keys: tuple[str, str] = ("", "")) -> list[Content]:
    """`rows` lines from `first` on, the outermost given to marks where there is more."""
    end = _end(first, len(lines), rows)
    above = [f"^ {first} more above{keys[0]}"] if first > 0 else []
    below = [f"v {len(lines) - end} more below{keys[1]}"] if end < len(lines) else []
    if rows < ROWS_FOR_TWO_MARKS:
        both = [f"v {len(lines) - end} below{keys[1]}  ^ {first} above{keys[0]}"]
        above, below = [], both if above and below else [*above, *below]
    shown = [*(words(mark, BOLD) for mark in above), *lines[first:end], *(words(mark, BOLD) for mark in below)]
    return shown[:rows]
