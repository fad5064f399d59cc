"""The parts bench: every part as a line; one key sets its fate. Only the lines in sight are made."""

from __future__ import annotations

from textual.content import Content

from teardown import units
from teardown.car.amounts import show_amount
from teardown.car.balance import Effect, effect_of
from teardown.car.money import WorthIt, worth_it
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, Line, line_ids, line_of, sales_by_part
from teardown.car.tally_state import FOUND, Sale
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import Weight
from teardown.screens.paint import BOLD, LOUD, Picture, Window, clipped, words, wrap
from teardown.screens.places import everywhere
from teardown.screens.places.choose import ask_stored
from teardown.screens.places.weigh import WeighPad
from teardown.screens.places.write import TextPad

HOW_MARKS = {"direct": " ", "difference": "d", "shared": "s", "estimate": "~"}
FATES = {"k": "keep", "r": "refit", "s": "sell", "x": "scrap", "c": "controlled"}
PAGE_LINES = 10
ROW_COLUMNS, LIES_COLUMNS = 30, 17
"""What a line takes beside the name; where a part lies or what it brings is told only where there is room."""


class Bench:
    """A cursor over all parts."""

    name = "the parts bench"
    types = False
    commands = (
        *(Command((key,), key, fate, f"its fate: {fate}", "fate") for key, fate in FATES.items()),
        Command(("down",), "down", "", "one down", "down", Weight.TURNS),
        Command(("up",), "up", "", "one up", "up", Weight.TURNS),
        Command(("pagedown", "right"), "right", "", "a page down", "page_down", Weight.TURNS),
        Command(("pageup", "left"), "left", "", "a page up", "page_up", Weight.TURNS),
        Command(("f",), "f", "find", "find a part by its name", "find"),
        Command(("w",), "w", "weigh", "weigh it", "weigh"),
        Command(("a",), "a", "ask", "what is asked for it, and the floor", "ask"),
        Command(("m",), "m", "sold", "it is sold: the money in hand", "sold"),
        Command(("i",), "i", "photo", "a photo of it: type or drag the file's path", "photo"),
        Command(("t",), "t", "stored", "where it lies now", "stored"),
        Command(("enter",), "enter", "", "what the law says of live modules", "law", Weight.TURNS),
        everywhere.BACK,
        everywhere.POWER,
        everywhere.UNDO,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self) -> None:
        self.cursor = 0

    # -- painting

    def paint(self, desk: Desk, window: Window) -> Picture:
        state = desk.standing.state
        names = line_ids(state)
        if not names:
            return Picture(head=(words("PARTS: none", BOLD),))
        self.cursor = max(0, min(self.cursor, len(names) - 1))
        head = (self._head(state, len(names), window),)
        sales = sales_by_part(state)
        line = line_of(state, names[self.cursor])
        told = self._told(state, line, worth_it(state, line, sales.get(line.id)), window)
        prompt = tuple(clipped(words(text, BOLD), window.columns) for text in told)
        room = self._room(desk, window, len(prompt))
        first = max(0, min(self.cursor - room // 2, len(names) - room))
        body = tuple(
            _row(state, line_of(state, names[n]), sales.get(names[n]), n == self.cursor, window.columns)
            for n in range(first, min(first + room, len(names)))
        )
        return Picture(head=head, body=body, prompt=prompt, focus=self.cursor - first)

    def _head(self, state: State, count: int, window: Window) -> Content:
        unaccounted = len(state.modules_unaccounted(allows_fitted=False))
        live = f"live modules: {len(state.route.modules) - unaccounted} stored or gone, {unaccounted} not"
        text = f"PART {self.cursor + 1} of {count}" + ("" if window.small else f"  {live}")
        return clipped(words(text, BOLD), window.columns)

    def _room(self, desk: Desk, window: Window, prompt_lines: int) -> int:
        """Lines left for parts: what else is on the screen is known."""
        said = len(wrap([words(desk.message, BOLD)], window.columns)[:3]) if desk.message else 0
        return max(1, window.rows - 2 - 1 - prompt_lines - said - (1 if window.small else 2))

    def _told(self, state: State, line: Line, worth: WorthIt, window: Window) -> list[str]:
        """What taking off the part under the cursor would do, and whether it is worth selling."""
        net = "" if worth.net is None else f" net {show_amount(worth.net, state.facts.money.currency)},"
        told = [f"{line.standing}; {worth.says}:{net} {worth.why}"]
        part = state.route.parts.get(line.id)
        if part is not None and not window.small:
            effect = effect_of(state, part)
            told.append(effect if isinstance(effect, str) else _effect_words(effect))
        return told

    # -- keys

    def typed(self, desk: Desk, character: str) -> bool:
        return False

    def _line(self, desk: Desk) -> Line | None:
        names = line_ids(desk.standing.state)
        return line_of(desk.standing.state, names[min(self.cursor, len(names) - 1)]) if names else None

    def do_down(self, desk: Desk) -> None:
        self.cursor += 1

    def do_up(self, desk: Desk) -> None:
        self.cursor -= 1

    def do_page_down(self, desk: Desk) -> None:
        self.cursor += PAGE_LINES

    def do_page_up(self, desk: Desk) -> None:
        self.cursor -= PAGE_LINES

    def do_fate(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is None:
            return
        fate = FATES[desk.key]
        if line.live and fate == "sell":
            question = f"LIVE MODULE. Which local rule allows selling {line.name}?"
            desk.go(TextPad(question, lambda desk, rule: _set_fate(desk, line, fate, rule)))
        else:
            _set_fate(desk, line, fate, None)

    def do_find(self, desk: Desk) -> None:
        desk.go(TextPad("Find a part: its name, or a piece of it", self._find))

    def _find(self, desk: Desk, text: str) -> None:
        state = desk.standing.state
        names = line_ids(state)
        for away in range(1, len(names) + 1):
            n = (self.cursor + away) % len(names)
            if text.casefold() in f"{names[n]} {line_of(state, names[n]).name}".casefold():
                self.cursor = n
                return
        desk.say(f"no part has {text} in its name")

    def do_weigh(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is None or line.id.startswith(f"{FOUND}-"):
            desk.say("it was weighed as it was found: undo that entry to weigh it again")
        else:
            desk.go(WeighPad([line.id]))

    def do_ask(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is not None:
            buyers = f". Buyers ask: {line.buyers_ask}" if line.buyers_ask else ""
            question = f"{line.name}: asked, and the floor, like 60 45{buyers}"
            desk.go(TextPad(question, lambda desk, text: _ask(desk, line, text)))

    def do_sold(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is not None:
            question = f"{line.name} is sold: money in hand, then fees, packing and carriage, like 55 6.60 4 9.50"
            desk.go(TextPad(question, lambda desk, text: _sold(desk, line, text)))

    def do_photo(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is not None:
            desk.go(TextPad(f"A photo of {line.name}: its path", lambda desk, path: _photo(desk, line, path)))

    def do_stored(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is None:
            return
        if line.live:
            desk.go(ask_stored(line.id, line.name))
        else:
            desk.go(TextPad(f"Where does {line.name} lie?", lambda desk, where: _stored(desk, line, where)))

    def do_law(self, desk: Desk) -> None:
        desk.say(CONTROLLED_LAW)


def _row(state: State, line: Line, sale: tuple[int, Sale] | None, here: bool, columns: int) -> Content:
    """One part on one line: cursor, name, mass and how it was found, bag, fate, where it is, money."""
    currency, unit = state.facts.money.currency, state.facts.mass_unit
    mass = f"{units.show_mass(line.kg, unit):>9}{HOW_MARKS[line.how]}"
    bag = f"B{line.bag}" if line.bag else ""
    money = f"sold {show_amount(sale[1].net, currency)}" if sale else ""
    if not money and line.listed is not None:
        money = f"asked {show_amount(line.listed.ask, currency)}"
    live = "!" if line.live else " "
    name_columns = columns - ROW_COLUMNS - (LIES_COLUMNS if columns >= 70 else 0)
    name = clipped(words(line.name), name_columns).plain
    lies = line.where or line.standing
    lies = (money or lies) if columns >= 70 else ""
    text = f"{'=>' if here else '  '}{live}{name:<{name_columns}}{mass} {bag:<4}{line.fate:<11}{lies}"
    style = LOUD if here else ""
    return clipped(words(text.ljust(columns) if here else text, style), columns)


def _effect_words(effect: Effect) -> str:
    height = "" if effect.height_m is None else f", height {1000 * effect.height_m:+.1f} mm"
    shares = f"front {effect.front_percent:+.2f} %, left {effect.left_percent:+.2f} %"
    return f"coming off: {effect.total_kg:+.1f} kg, {shares}, diagonal {effect.cross_percent:+.2f} %{height}"


def _set_fate(desk: Desk, line: Line, fate: str, rule: str | None) -> None:
    if desk.enter("part-fate", part=line.id, fate=fate, **({} if rule is None else {"rule": rule})) is not None:
        desk.say(f"written: {line.name}: {fate}")


def _ask(desk: Desk, line: Line, text: str) -> None:
    asked = dict(zip(("ask", "floor"), text.split(), strict=False))
    if desk.enter("listed", part=line.id, **asked) is not None:
        desk.say(f"written: {line.name}: {text} {desk.car.facts.money.currency}")


def _sold(desk: Desk, line: Line, text: str) -> None:
    money = dict(zip(("amount", "fees", "packing", "carriage"), text.split(), strict=False))
    if desk.enter("sold", part=line.id, **money) is not None:
        desk.say(f"written: {line.name} is sold")


def _photo(desk: Desk, line: Line, path: str) -> None:
    if desk.enter("photo", part=line.id, file=path) is not None:
        desk.say(f"written: a photo of {line.name}, copied into the car's folder")


def _stored(desk: Desk, line: Line, where: str) -> None:
    if desk.enter("part-stored", part=line.id, where=where) is not None:
        desk.say(f"written: {line.name}: {where}")
