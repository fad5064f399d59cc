"""The parts bench: every part as a line; one key sets its fate. Only the lines in sight are made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.content import Content

from teardown import units
from teardown.car.amounts import minor_digits
from teardown.car.balance import Effect, effect_of
from teardown.car.money import Brought, brought
from teardown.car.state import State
from teardown.car.tally import CONTROLLED_LAW, Line, line_ids, line_of, live_things, name_of, sales_by_part
from teardown.car.worth import WorthIt, worth_it
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import next_with
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Picture, Window, body_rows, clipped, words
from teardown.screens.places import everywhere
from teardown.screens.places.choose import ask_stored
from teardown.screens.places.enter import ask
from teardown.screens.places.lines import ONE_DOWN, ONE_UP, Cursor, line_of_list
from teardown.screens.places.weigh.parts import WeighPad
from teardown.screens.places.write import TextPad

HOW_MARKS = {"direct": " ", "difference": "d", "shared": "s", "estimate": "~"}
FATES = {"k": "keep", "r": "refit", "s": "sell", "x": "scrap", "c": "controlled"}
TOLD = {"m": "sold", "i": "photo", "y": "refunded", "o": "handed-over"}
PAGE_LINES = 10
ROW_COLUMNS, LIES_COLUMNS, ROOMY_COLUMNS = 30, 17, 70
"""What a line takes beside the name; where a part lies or what it brings is told only where there is room."""


class Bench:
    """A cursor over all parts."""

    name = "the parts bench"
    types = False
    commands = (
        *(Command((key,), key, fate, f"its fate: {fate}", "fate") for key, fate in FATES.items()),
        ONE_DOWN._replace(label=""),
        ONE_UP._replace(label=""),
        Command(("pagedown", "right"), "right", "", "a page down", "page_down", KeyKind.TURNS),
        Command(("pageup", "left"), "left", "", "a page up", "page_up", KeyKind.TURNS),
        Command(("f",), "f", "find", "find a part by its name", "find", KeyKind.OPENS),
        Command(("w",), "w", "weigh", "weigh it", "weigh"),
        Command(("a",), "a", "ask", "what is asked for it, the floor, and what buyers ask about", "ask"),
        Command(("m",), "m", "sold", "it is sold, alone or along with others: the money in hand", "tell"),
        Command(("i",), "i", "photo", "a photo of it: type or drag the file's path", "tell"),
        Command(("t",), "t", "stored", "where it lies now", "stored"),
        Command(("d",), "d", "off, on", "what no pack foresaw came off again, or went back on the car", "moved"),
        Command(("n",), "n", "", "it is not live after all: who looked, and at what", "not_live"),
        Command(("y",), "y", "refund", "money given back for it; it may have come back too", "tell"),
        Command(("o",), "o", "handed over", "it has gone to someone who must take it: who, and their paper", "tell"),
        Command(("enter",), "enter", "", "what the law says of live modules", "law", KeyKind.TURNS),
        *everywhere.IN_A_LIST,
    )

    def __init__(self) -> None:
        self.cursor = Cursor(lambda desk: len(line_ids(desk.standing.state)))

    # -- painting

    def paint(self, desk: Desk, window: Window) -> Picture:
        state = desk.standing.state
        names = line_ids(state)
        if not names:
            return Picture(head=(words("PARTS: none", BOLD),))
        self.cursor.move(desk, 0)  # what is undone may have taken lines away
        head = (self._head(state, names, window),)
        sales = sales_by_part(state)
        line = line_of(state, names[self.cursor.at])
        worth = worth_it(state, line, brought(state, sales, line.id))
        prompt = (_worth(state, line, worth, window), *_effect(state, line, window))
        room = body_rows(window, head, prompt, desk.message)
        first = max(0, min(self.cursor.at - room // 2, len(names) - room))
        body = tuple(
            _row(state, line_of(state, names[n]), brought(state, sales, names[n]), n == self.cursor.at, window.columns)
            for n in range(first, min(first + room, len(names)))
        )
        return Picture(head=head, body=body, prompt=prompt, focus=self.cursor.at - first)

    def _head(self, state: State, names: Sequence[str], window: Window) -> Content:
        """In a small window the whole name of the part under the cursor: its line has no room for it."""
        if window.small:
            text = f"{self.cursor.at + 1}/{len(names)}  {name_of(state, names[self.cursor.at])}"
            return clipped(words(text, BOLD), window.columns)
        unaccounted = len(state.modules_unaccounted(allows_fitted=False))
        gone = max(0, len(state.route.modules) + len(live_things(state)) - unaccounted)
        live = f"live modules: {gone} stored or gone, {unaccounted} not"
        return clipped(words(f"PART {self.cursor.at + 1} of {len(names)}  {live}", BOLD), window.columns)

    # -- keys

    def _line(self, desk: Desk) -> Line | None:
        names = line_ids(desk.standing.state)
        return line_of(desk.standing.state, names[min(self.cursor.at, len(names) - 1)]) if names else None

    def do_page_down(self, desk: Desk) -> None:
        self.cursor.move(desk, PAGE_LINES)

    def do_page_up(self, desk: Desk) -> None:
        self.cursor.move(desk, -PAGE_LINES)

    def do_fate(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is None:
            return
        fate = FATES[desk.key]
        if line.live and fate == "sell":
            ask(desk, "part-fate", line.name, part=line.id, fate=fate)
        elif desk.enter("part-fate", part=line.id, fate=fate) is not None:
            desk.say(f"written: {line.name}: {fate}")

    def do_find(self, desk: Desk) -> None:
        desk.go(TextPad("Find a part: its name, or a piece of it", self._find))

    def _find(self, desk: Desk, text: str) -> None:
        state = desk.standing.state
        names = line_ids(state)
        n = next_with(text, self.cursor.at, len(names), lambda n: f"{names[n]} {line_of(state, names[n]).name}")
        if n is None:
            desk.say(f"no part has {text} in its name")
        else:
            self.cursor.at = n

    def do_weigh(self, desk: Desk) -> None:
        if (line := self._line(desk)) is not None:
            desk.go(WeighPad([line.id]))

    def do_moved(self, desk: Desk) -> None:
        """Off again, or back on. What a pack foresaw comes off by its step, past the gates of that step."""
        line = self._line(desk)
        if line is None:
            return
        if line.id in desk.standing.state.route.parts:
            desk.say(f"{line.name} comes off by its step, and goes back at the job that puts it back: [backspace], [l]")
            return
        kind, moved = ("part-off", "off the car") if line.on_the_car else ("part-back", "on the car again")
        if desk.enter(kind, part=line.id) is not None:
            desk.say(f"written: {line.name}: {moved}")

    def do_not_live(self, desk: Desk) -> None:
        """A name may be wrong. A module that a pack knows is looked for, or not found, at its count."""
        line = self._line(desk)
        if line is None or not line.live:
            desk.say("it is not taken to be live")
        elif line.id in desk.standing.state.route.parts:
            desk.say(f"{line.name}: its module is named as not there at the count of live modules: [backspace], [g]")
        else:
            thing = line.id
            desk.go(
                TextPad(
                    f"{line.name} is NOT live. Who looked, and at what?", lambda desk, why: _freed(desk, thing, why)
                )
            )

    def do_ask(self, desk: Desk) -> None:
        if (line := self._line(desk)) is not None:
            ask(desk, "listed", line.name, _as_listed(line), part=line.id)
            desk.say(f"buyers ask: {line.buyers_ask}" if line.buyers_ask else "")

    def do_tell(self, desk: Desk) -> None:
        self._ask_for(desk, TOLD[desk.key])

    def _ask_for(self, desk: Desk, kind: str) -> None:
        """The form for an entry about the part under the cursor."""
        if (line := self._line(desk)) is not None:
            ask(desk, kind, line.name, part=line.id)

    def do_stored(self, desk: Desk) -> None:
        line = self._line(desk)
        if line is not None and line.live:
            desk.go(ask_stored(line.id, line.name))
        else:
            self._ask_for(desk, "part-stored")

    def do_law(self, desk: Desk) -> None:
        desk.say(CONTROLLED_LAW)


def _freed(desk: Desk, thing: str, why: str) -> None:
    if desk.enter("not-there", module=thing, why=why) is not None:
        desk.say(f"written: {name_of(desk.standing.state, thing)} is not live: {why}")


def _row(state: State, line: Line, sold: Brought | None, here: bool, columns: int) -> Content:
    """One part on one line: cursor, name, mass and how it was found, bag, fate, where it is, money. In a narrow window
    money stands for the fate that follows from it."""
    unit = state.facts.mass_unit
    mass = f"{units.show_mass(line.kg, unit):>9}{HOW_MARKS[line.how]}"
    bag = f"B{line.bag}" if line.bag else ""
    narrow = columns < ROOMY_COLUMNS
    money = _money(state, line, sold, narrow)
    live = "!" if line.live else " "
    name_columns = columns - ROW_COLUMNS - (0 if narrow else LIES_COLUMNS)
    called = line.name if line.pieces == 1 else f"{line.pieces} x {line.name}"
    name = clipped(words(called), name_columns).plain
    lies = money or line.fate if narrow else f"{line.fate:<11}{money or line.where or line.standing}"
    return line_of_list(f"{live}{name:<{name_columns}}{mass} {bag:<4}{lies}", here, columns)


def _money(state: State, line: Line, sold: Brought | None, narrow: bool) -> str:
    """What it brought or what is asked. There is one currency: a narrow window leaves it out."""
    if sold is not None and sold.beside:
        return "sold, lot"
    if sold is not None:
        word, amount = "sold", sold.net
    elif line.listed is not None:
        word, amount = "lot" if len(line.listed.parts) > 1 else "ask" if narrow else "asked", line.listed.ask
    else:
        return ""
    told = f"{word} {amount:.{minor_digits(state.currency)}f}"
    return told if narrow else f"{told} {state.currency}"


def _worth(state: State, line: Line, worth: WorthIt, window: Window) -> Content:
    """Whether the part under the cursor is worth selling: the short of it first, for a small window cuts the rest."""
    if worth.net is None:
        told = words(f"{worth.says}: {worth.why}; {line.standing}", BOLD)
    else:
        told = words(f"{worth.short(state.currency)}; {line.standing}; {worth.why}", BOLD)
    return clipped(told, window.columns) if window.small else told


def _effect(state: State, line: Line, window: Window) -> Iterator[Content]:
    """What taking it off would do, whole: in a narrow window it goes over two lines."""
    part = state.route.parts.get(line.id)
    if part is not None and not window.small:
        effect = effect_of(state, part)
        yield words(effect if isinstance(effect, str) else _effect_words(effect), BOLD)


def _effect_words(effect: Effect) -> str:
    height = "" if effect.height_m is None else f", height {1000 * effect.height_m:+.1f} mm"
    shares = f"front {effect.front_percent:+.2f} %, left {effect.left_percent:+.2f} %"
    moves = "going on" if effect.total_kg > 0 else "coming off"
    return f"{moves}: {effect.total_kg:+.1f} kg, {shares}, diagonal {effect.cross_percent:+.2f} %{height}"


def _as_listed(line: Line) -> dict[str, str]:
    """What is offered now, as it would be entered: a new price keeps the facts, and what goes along."""
    listing = line.listed
    if listing is None:
        return {}
    floor = {} if listing.floor is None else {"floor": str(listing.floor)}
    along = ",".join(part for part in listing.parts if part != line.id)
    collection = "yes" if listing.collection else "no"
    return {"ask": str(listing.ask), **floor, **({"along": along} if along else {}), **listing.facts} | {
        "collection": collection
    }
