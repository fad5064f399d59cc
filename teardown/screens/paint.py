"""Text for the screen: always as literal content, never as markup, and never anything that drives a terminal."""

import os
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple

from textual.content import Content

from teardown.packs.model import Hazard, SignalWord
from teardown.text import plain

# ISO 3864-4 safety colours as sRGB approximations; contrast with the text colour is 5.3 or more.
SIGNAL_STYLES: dict[SignalWord, str] = {
    "DANGER": "bold #ffffff on #9b2423",
    "WARNING": "bold #000000 on #d05d29",
    "CAUTION": "bold #000000 on #f9a800",
    "NOTICE": "bold #ffffff on #005387",
}

OF_SIXTEEN: dict[SignalWord, str] = {
    "DANGER": "bold ansi_bright_white on ansi_red",
    "WARNING": "ansi_black on ansi_yellow",
    "CAUTION": "ansi_black on ansi_bright_yellow",
    "NOTICE": "bold ansi_bright_white on ansi_blue",
}
"""Where a terminal has sixteen colours. The nearest to the safety colours would be bright red for CAUTION and grey for
NOTICE. Bold black is grey on some consoles, so the words on yellow are not bold."""

_BEFORE_A_UNIT = re.compile(r"(?<=\d) (?=(?:kg|g|lb|ppm|V|W|min|s|h|m|mm|m2|m3|m3/h|ft|L|mL|bar|C|%)(?![\w/]))")
_HELD = "\ufdd0"
"""Stands for a space that is no place to break: a character that no text here can have (`text.plain`)."""

BOLD = "bold"
LOUD = "bold reverse"

ALWAYS_ON_TOP = 2
"""The lines of mass and lamps."""
MOST_SAID_LINES = 3
"""More than this of a message is cut off."""


class Picture(NamedTuple):
    """What one place shows: a fixed head, large digits, a body that scrolls, and a prompt that is always in sight."""

    head: tuple[Content, ...] = ()
    digits: str = ""
    body: tuple[Content, ...] = ()
    prompt: tuple[Content, ...] = ()
    focus: int | None = None
    """The paragraph of the body that must be in sight."""


class Window(NamedTuple):
    """The room there is, in cells."""

    columns: int
    rows: int

    @property
    def small(self) -> bool:
        """Read from two metres: only what matters now."""
        return self.columns < 60 or self.rows < 18

    @property
    def roomy(self) -> bool:
        """From 80 x 24 up, with or without the list of steps beside: a paragraph more does no harm."""
        return self.columns >= 72 and self.rows >= 24

    @property
    def tall(self) -> bool:
        """Where a line more for each thing told leaves lines empty all the same."""
        return self.rows >= 36

    @property
    def wide(self) -> bool:
        return self.columns >= 110 and self.rows >= 24


def body_rows(window: Window, head: Iterable[Content], prompt: Iterable[Content], message: str) -> int:
    """Lines left for a body, between this head and prompt and what is on every screen."""
    said = wrap([words(message, BOLD)], window.columns)[:MOST_SAID_LINES] if message else []
    fixed = ALWAYS_ON_TOP + len(said) + (1 if window.small else 2)
    return max(1, window.rows - fixed - len(wrap(head, window.columns)) - len(wrap(prompt, window.columns)))


@dataclass
class Page:
    """Paragraphs of a body, gathered one by one."""

    paragraphs: list[Content] = field(default_factory=list)

    def add(self, text: str, style: str = "") -> None:
        if text:
            self.paragraphs.append(words(text, style))

    def labelled(self, label: str, text: str) -> None:
        """`label` in bold, then the text. Nothing when there is no text."""
        if text:
            self.paragraphs.append(Content.assemble((f"{plain(label)} ", BOLD), plain(text)))

    def run_on(self, labelled: Iterable[tuple[str, str]], apart: bool = False) -> None:
        """Labels and texts one after the other in one paragraph, or each in its own where there is room; a label that
        comes again is said once. Those without text are left out."""
        texts = [(label, plain(text)) for label, text in labelled if text]
        groups = [(label, "; ".join(text for _, text in told)) for label, told in groupby(texts, key=itemgetter(0))]
        pieces = [Content.assemble((f"{plain(label)} ", BOLD), f"{text}.") for label, text in groups]
        if pieces:
            self.paragraphs += pieces if apart else [Content("  ").join(pieces)]

    def blank(self) -> None:
        self.paragraphs.append(Content(""))

    def done(self) -> tuple[Content, ...]:
        return tuple(self.paragraphs)


def words(text: str, style: str = "") -> Content:
    """Literal text, made harmless."""
    return Content.styled(plain(text), style) if style else Content(plain(text))


def together(text: str) -> str:
    """Harmless text that `wrap` leaves on one line, for a word of two words."""
    return plain(text).replace(" ", _HELD)


def wrap(paragraphs: Iterable[Content], columns: int) -> list[Content]:
    """Paragraphs as lines no wider than `columns`; words that are longer are broken, a number stays with its unit."""
    lines: list[Content] = []
    for paragraph in paragraphs:
        lines.extend(_wrapped(paragraph, columns) if paragraph.plain else [paragraph])
    return lines


def cut(lines: list[Content], rows: int, columns: int) -> list[Content]:
    """No more lines than `rows`, with a mark where there were more."""
    if len(lines) <= rows:
        return lines
    last = Content.assemble(lines[rows - 1].rstrip().truncate(columns - 4).rstrip(), (" ...", BOLD))
    return [*lines[: rows - 1], last]


def _wrapped(paragraph: Content, columns: int) -> list[Content]:
    held = _BEFORE_A_UNIT.sub(_HELD, paragraph.plain)
    if _HELD not in held:
        return paragraph.wrap(columns)
    lines = Content(held, list(paragraph.spans)).wrap(columns)
    return [Content(line.plain.replace(_HELD, " "), list(line.spans)) for line in lines]


def side_by_side(lines: Iterable[Content], columns: int) -> tuple[Content, ...]:
    """As many on a line as it holds."""
    packed: list[Content] = []
    for line in lines:
        if packed and packed[-1].cell_length + 2 + line.cell_length <= columns:
            packed[-1] = Content("  ").join([packed[-1], line])
        else:
            packed.append(line)
    return tuple(packed)


def clipped(content: Content, columns: int) -> Content:
    """One line, with a mark where it was cut."""
    content = Content(" ").join(content.split("\n")) if "\n" in content.plain else content
    return content if content.cell_length <= columns else content.truncate(columns, ellipsis=True)


def signal_band(hazard: Hazard, columns: int) -> Content:
    """The signal word and the hazard, in its colours, over the whole width; reversed where there is no colour."""
    mark = "" if hazard.signal == "NOTICE" else "/!\\ "
    text = f" {mark}{hazard.signal}  {plain(hazard.title)}"
    style = LOUD if os.environ.get("NO_COLOR") else (OF_SIXTEEN if _has_sixteen() else SIGNAL_STYLES)[hazard.signal]
    return clipped(Content.styled(text.ljust(columns), style), columns)


def _has_sixteen() -> bool:
    """Whether the terminal is taken to have sixteen colours, as Rich 15 takes it to (read in `rich.console`)."""
    many = os.environ.get("TERM", "").rpartition("-")[2] in ("256color", "kitty")
    return not many and os.environ.get("COLORTERM", "") not in ("truecolor", "24bit")


def minutes_seconds(seconds: float) -> str:
    """Time left, rounded up so that it never reads 0:00 too early."""
    whole = int(-(-seconds // 1))
    return f"{whole // 60}:{whole % 60:02d}"
