"""The tally: money, kilos, balance, closing, timed runs, gas, what happened, a page each. Costs, scrap and more go in
here."""

from __future__ import annotations

from collections.abc import Callable
from statistics import fmean

from teardown import units
from teardown.car.balance import MOMENTS, BalanceRow, Balances, balance_words, balances, rows
from teardown.car.closing import Closing, closing_of
from teardown.car.closing_words import FORGOTTEN, VERDICT_WORDS
from teardown.car.gas import gas_gates
from teardown.car.mass import mass_over_entries, mass_words
from teardown.car.money import cap_line, money_now, sums
from teardown.car.offers import for_sale_words
from teardown.car.state import State
from teardown.car.tally import masses_by_area
from teardown.car.tally_values import Runs
from teardown.car.tickets import check_tickets, scrap_words
from teardown.car.weighing import how_it_stood
from teardown.cells import bar, descent, gap_line
from teardown.figures.balance import WHEELS, Stance
from teardown.figures.closing import Weighing
from teardown.figures.errors import FigureError
from teardown.figures.runs import runs
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, Page, Picture, Window, words
from teardown.screens.places import everywhere
from teardown.screens.places.enter import ask
from teardown.screens.places.gates.gas import gas_picture
from teardown.screens.places.happened import NAME as HAPPENED
from teardown.screens.places.happened import Happenings

MOST_CANDIDATES = 6
TOLD = {
    "c": ("cost", "the money"),
    "s": ("scrap-ticket", "the money"),
    "y": ("refunded", "the money"),
    "t": ("run-timed", "timed runs"),
}
"""What each key enters, and the page on which it is seen afterwards."""
PAGE_KEYS = {"m": "the money", "v": "the balance", "x": "the kilos", "z": "the closing"}
"""The keys that open a page from the card turn to it from another page, too."""


class Tally:
    """Pages that are read; and what has no other place is entered from here."""

    name = "the tally"
    types = False
    commands = (
        Command(
            ("right", "n"),
            "right",
            "next page",
            "the next page of the tally",
            "next_page",
            KeyKind.TURNS,
            brief="[right] page",
        ),
        Command(("left",), "left", "", "the page before", "page_before", KeyKind.TURNS),
        Command(tuple(PAGE_KEYS), ", ".join(PAGE_KEYS), "", f"to {', '.join(PAGE_KEYS.values())}", "to", KeyKind.TURNS),
        Command(("c",), "c", "cost", "money put in: how much, for what", "tell"),
        Command(("s",), "s", "scrap", "a scrap ticket: what the yard weighed and paid", "tell"),
        Command(("y",), "y", "refund", "money given back to a buyer", "tell"),
        Command(("t",), "t", "timed runs", "timed runs of one kind", "tell"),
        everywhere.BACK,
        everywhere.UP,
        everywhere.DOWN,
        everywhere.POWER,
        everywhere.UNDO,
        everywhere.HELP,
        everywhere.QUIT,
    )

    def __init__(self, page: str) -> None:
        self.page = page
        self.happenings = Happenings()

    def paint(self, desk: Desk, window: Window) -> Picture:
        page = Page()
        if self.page == HAPPENED:
            self.happenings.tell(page, desk)
        else:
            PAGES[self.page](page, desk.standing.state, window)
        title = f"{self.page.upper()}  page {NAMES.index(self.page) + 1} of {len(NAMES)}"
        return Picture(head=(words(title, BOLD),), body=page.done())

    def do_next_page(self, desk: Desk) -> None:
        self._turn(desk, 1)

    def do_page_before(self, desk: Desk) -> None:
        self._turn(desk, -1)

    def _turn(self, desk: Desk, by: int) -> None:
        desk.hush()
        self.page = NAMES[(NAMES.index(self.page) + by) % len(NAMES)]

    def do_to(self, desk: Desk) -> None:
        desk.hush()
        self.page = PAGE_KEYS[desk.key]

    def do_tell(self, desk: Desk) -> None:
        kind, self.page = TOLD[desk.key]
        ask(desk, kind)


# -- balance


def _balance(page: Page, state: State, window: Window) -> None:
    known = balances(state)
    if isinstance(known, str):
        page.add(f"Not known: {known}.")
        return
    for line in car_from_above(known.now, known.before if not known.missing else None):
        page.add(line, BOLD)
    page.blank()
    for line in _three_moments(known):
        page.add(line)
    for says in balance_words(state, known):
        page.add(says)


def car_from_above(now: Stance, before: Stance | None) -> list[str]:
    """Four wheels with what each carries now, and what it carries less or more than before, where that compares.
    Narrow enough for 40."""
    wheels = [f"[{kg:6.1f}]" for kg in now.corners_kg]
    was = [None] * 4 if before is None else before.corners_kg
    moved = ["" if then is None else f"({kg - then:+.1f})" for kg, then in zip(now.corners_kg, was, strict=True)]
    front, left = now.front_percent, now.left_percent
    return [
        f"{'front':^26}{front:5.1f} %",
        f"{wheels[0]}__/----\\__{wheels[1]}",
        f"{moved[0]:^8}  |    |  {moved[1]:^8}",
        f"{'':8}  |    |  ",
        f"{wheels[2]}__|    |__{wheels[3]}",
        f"{moved[2]:^8}  \\----/  {moved[3]:^8}",
        f"{'rear':^26}{100 - front:5.1f} %",
        f"left {left:.1f} %   right {100 - left:.1f} %   kg",
    ]


def _three_moments(known: Balances) -> list[str]:
    """As a table narrow enough for 40. The wheels stand in the picture above it."""
    table = [(f"{row.label} {row.unit}", _figures(row)) for row in rows(known) if row.label not in WHEELS]
    return [f"{label:<11}{''.join(f'{text:>9}' for text in told)}" for label, told in (("", MOMENTS), *table)]


def _figures(row: BalanceRow) -> tuple[str, ...]:
    places = 3 if row.unit == "m" else 1
    return tuple("?" if value is None else f"{value:.{places}f}" for value in row.values)


# -- closing


def _closing(page: Page, state: State, window: Window) -> None:
    closing = closing_of(state)
    if not isinstance(closing, Closing):
        page.add(f"Do the parts explain the scales? No closing yet: {closing}.")
        _weighings(page, state)
        return
    found, lines = closing.result, closing.lines
    page.add(VERDICT_WORDS[found.verdict], BOLD)
    page.labelled("First weighed:", _known_to(lines.opening))
    estimated = f"{len(lines.items)} items, {closing.estimated} of them estimated"
    fitted = f" and fitted {units.show_mass(closing.fitted_kg)}" if closing.fitted_kg else ""
    page.labelled("The parts say:", f"off {units.show_mass(closing.off_kg)}{fitted}, {estimated}")
    fuel = ", with the fuel" if found.fuel_counted else ""
    page.labelled("So reckoned:", f"{units.show_mass(closing.reckoned_kg)}{fuel}")
    page.labelled("The scales say:", _known_to(lines.closing))
    page.labelled(
        "Gap:",
        f"{found.gap_kg + 0.0:+.1f} kg, uncertainty {units.show_mass(found.gap_u_kg)}; shows from "
        f"{units.show_mass(found.smallest_gap_shown_kg)} either way",
    )
    page.add(gap_line(found.gap_kg, found.smallest_gap_shown_kg, min(49, window.columns - 2)))
    for says in lines.corrected:
        page.labelled("Corrected:", says)
    for says in lines.doubts:
        page.labelled("NOT SURE:", says)
    if found.verdict != "closes":
        page.add("Alone, each would have to move:", BOLD)
        for one in found.candidates[:MOST_CANDIDATES]:
            page.add(f"  {one.name}: {one.move_kg:+.1f} kg")
        page.labelled("Most often forgotten:", "; ".join(FORGOTTEN))
    _weighings(page, state)


def _known_to(weighing: Weighing) -> str:
    return f"{units.show_mass(weighing.mass_kg)}, uncertainty {units.show_mass(weighing.u_kg)}"


def _weighings(page: Page, state: State) -> None:
    for n, weight in state.weighings.items:
        page.labelled(f"Entry {n}:", f"{units.show_mass(weight.total_kg)}, {how_it_stood(weight)}")


# -- money


def _money(page: Page, state: State, window: Window) -> None:
    now = money_now(state)
    for says in now.warnings:
        page.labelled("NOT SURE:", says)
    most = max(float(now.put_in), float(now.recovered))
    cells = min(40, window.columns - 12)
    page.add(f"put in  {bar(float(now.put_in), most, cells)}")
    page.add(f"back    {bar(float(now.recovered), most, cells)}")
    for one in sums(now):
        page.labelled(f"{one.label}:", f"{one.amount(now.currency)}  {one.beside}".rstrip())
    page.add(cap_line(now), BOLD)
    for check in check_tickets(state):
        verdict = "agrees" if check.agrees else "DIFFERS by more than 5 %"
        page.labelled(f"Scrap, {check.lane}:", f"ticket {check.masses}: {verdict}")
    for group, says in scrap_words(state):
        page.labelled(f"Scrap, {group}:", says)
    for says in for_sale_words(state):
        page.labelled("For sale:", says)


# -- kilos


def _kilos(page: Page, state: State, window: Window) -> None:
    points = mass_over_entries(state)
    if len(points) < 2:
        page.add("Nothing to show yet: weigh the car, or enter kerb in car.toml, and take something off.")
        return
    goal_kg, unit = state.facts.goal, state.facts.mass_unit
    page.labelled("From", units.show_mass(points[0][1], unit))
    for line in descent([kg for _, kg in points], goal_kg, min(60, window.columns), 5 if window.small else 8):
        page.add(line or " ")
    goal = "" if goal_kg is None else f", goal {units.show_mass(goal_kg, unit)} (the line across)"
    page.labelled("Now", f"{units.show_mass(points[-1][1], unit)}{goal}")
    for says in mass_words(state):
        page.add(says)
    areas = masses_by_area(state)
    for area, kg in areas:
        page.add(f"{units.show_mass(kg, unit):>9} {bar(kg, areas[0][1], 16):<16} {area}")


# -- runs


def _runs(page: Page, state: State, window: Window) -> None:
    """Every set of runs, and of each kind whether the last was quicker than the first."""
    kinds: dict[str, list[Runs]] = {}
    for timed in state.runs:
        kinds.setdefault(timed.what, []).append(timed)
    if not kinds:
        page.add("Nothing was timed yet. [t] enters timed runs, before the strip and after.")
    for what, sets in kinds.items():
        page.add(what, BOLD)
        slowest_s = max(fmean(timed.times_s) for timed in sets)
        for timed in sets:
            mean_s = fmean(timed.times_s)
            count = len(timed.times_s)
            says = f"{timed.utc[:10]} {mean_s:.2f} s, {count} run{'s' if count > 1 else ''}"
            page.add(f"{says}  {bar(mean_s, slowest_s, max(1, min(30, window.columns - 32)))}")
            page.labelled("  ", timed.conditions)
        if len(sets) > 1:
            page.add(_quicker(sets[0], sets[-1]))


def _quicker(first: Runs, last: Runs) -> str:
    try:
        found = runs(first.times_s, last.times_s)
    except FigureError as error:
        return f"First and last cannot be compared: {error}"
    interval = f"95 % interval {found.change_low_s + 0.0:+.2f} to {found.change_high_s + 0.0:+.2f} s"
    if not found.shown:
        return f"NO DIFFERENCE shown between the first and the last: {interval}"
    return f"{abs(found.change_s):.2f} s {'QUICKER' if found.change_s < 0 else 'SLOWER'} than the first: {interval}"


# -- gas


def _gas(page: Page, state: State, window: Window) -> None:
    read = list(gas_gates(state))
    if not read:
        page.add("No reading of the air yet: read the meter at its gate, [g] on the card.")
    for gate in read:
        gas_picture(page, state, gate, window)
        for level in gate.levels:
            page.labelled(f"From {level.at:,g} ppm:", level.do)


PAGES: dict[str, Callable[[Page, State, Window], None]] = {
    "the money": _money,
    "the kilos": _kilos,
    "the balance": _balance,
    "the closing": _closing,
    "timed runs": _runs,
    "gas in the room": _gas,
}
NAMES = (*[*PAGES][:4], HAPPENED, *[*PAGES][4:])
"""Of all pages, in their order: what is measured again and again is nearest to the first, either way round."""
