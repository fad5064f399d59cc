"""Every line of the tally, the closing, the balance before and after."""

from __future__ import annotations

from collections.abc import Iterator

from teardown.car.balance import MOMENTS, BalanceRow, balance_words, balances, rows
from teardown.car.closing import Closing, closing_of
from teardown.car.closing_words import FORGOTTEN, VERDICT_WORDS
from teardown.car.door import Car
from teardown.car.facts import Scale
from teardown.car.mass import mass_now, mass_over_entries, mass_words
from teardown.car.state import State
from teardown.car.tally import all_lines, fitted_lines, masses_by_area
from teardown.car.weighing import how_it_stood
from teardown.figures.balance import WHEELS
from teardown.sheets.charts import bar_chart, line_chart, ranked_bars
from teardown.sheets.money import scrap_block
from teardown.sheets.page import Block, Row, Sheet, Table, kg, when

MOST_CANDIDATES = 8


def fill(car: Car) -> Sheet:
    state = car.now().state
    blocks = [_summary(state), *_pictures(state), _weighings(state), _parts(state), _fitted(state)]
    blocks += [*_closing(state), *_balance(state), _runs(state), scrap_block(state)]
    return Sheet("weights", "Weights", blocks)


def _summary(state: State) -> Block:
    mass, known = mass_now(state), state.facts.scales
    scales = (known.pads, known.parts, known.person)
    return Block(
        lines=mass_words(state),
        pairs=(
            ("now, kg", kg(mass.now_kg) or "not weighed"),
            ("goal, kg", kg(mass.goal_kg) or "none set"),
            ("to go, kg", kg(mass.to_go_kg)),
            ("off since the last weighing, kg", kg(mass.off_kg)),
            ("of it never weighed (the packs' masses), kg", kg(mass.estimated_kg)),
            ("fitted since, kg", kg(mass.on_kg)),
            ("scales", "; ".join(_scale(scale) for scale in scales if scale) or "not described in car.toml"),
        ),
    )


def _scale(scale: Scale) -> str:
    repeats = "" if scale.repeats is None else f", repeats within {1000 * scale.repeats:g} g"
    return f"{scale.name}: step {1000 * scale.step:g} g{repeats}"


def _pictures(state: State) -> Iterator[Block]:
    points, goal_kg = mass_over_entries(state), state.facts.goal
    if len(points) > 1:
        series = {"the car": [(float(n), mass_kg) for n, mass_kg in points]}
        if goal_kg is not None:
            series["goal"] = [(float(points[0][0]), goal_kg), (float(points[-1][0]), goal_kg)]
        yield Block(chart=line_chart("Weight coming down", series, "entries", "kg", dashed=("goal",)))
    areas = masses_by_area(state)
    if areas:
        yield Block(chart=ranked_bars("Off, by area", areas, "kg"))


def _weighings(state: State) -> Block:
    head = ("entry", "UTC", "kg", *(f"{wheel}, kg" for wheel in WHEELS), "how it stood")
    rows: list[Row] = [
        (str(n), when(w.utc), kg(w.total_kg), *(kg(c) for c in w.corners_kg or (None,) * 4), how_it_stood(w))
        for n, w in state.weighings.items
    ]
    return Block("The car on the scales", table=Table("weighings", head, rows))


def _parts(state: State) -> Block:
    head = ("part", "name", "kg", "how", "as read", "noted", "stands", "fate", "bag", "where", "counts")
    rows: list[Row] = [
        (
            line.id,
            line.name,
            kg(line.kg),
            line.how,
            line.typed,
            line.noted,
            line.standing,
            line.fate,
            str(line.bag or ""),
            line.where,
            line.counts,
        )
        for line in all_lines(state)
    ]
    return Block(
        "Parts", table=Table("parts", head, rows), lines=("An estimate is the pack's mass: nobody weighed it.",)
    )


def _fitted(state: State) -> Block:
    rows: list[Row] = [(line.id, line.name, kg(line.kg), line.how, line.typed) for line in fitted_lines(state)]
    return Block("Fitted", table=Table("fitted", ("part", "name", "kg", "how", "as read"), rows)) if rows else Block()


def _runs(state: State) -> Block:
    """Timed runs, in the order they were made; whether it got quicker is a figure of its own."""
    rows: list[Row] = [
        (when(run.utc), run.what, ", ".join(f"{time_s:g}" for time_s in run.times_s), run.conditions)
        for run in state.runs
    ]
    return (
        Block("Timed runs", table=Table("runs", ("UTC", "what", "times, s", "conditions"), rows)) if rows else Block()
    )


def _closing(state: State) -> Iterator[Block]:
    closing = closing_of(state)
    if not isinstance(closing, Closing):
        yield Block("Closing", lines=(f"No closing yet: {closing}.",))
        return
    found = closing.result
    yield Block(
        "Closing: do the parts explain the scales?",
        lines=(VERDICT_WORDS[found.verdict], *closing.lines.corrected, *closing.lines.doubts),
        pairs=(
            ("gap, kg (weighed less reckoned)", f"{found.gap_kg:+.2f}"),
            ("its standard uncertainty, kg", kg(found.gap_u_kg)),
            ("smallest gap that shows, kg", kg(found.smallest_gap_shown_kg)),
        ),
        loud=found.verdict != "closes",
    )
    if found.verdict == "closes":
        return
    rows: list[Row] = [
        (one.name, f"{one.move_kg:+.2f}", f"{one.move_in_u:.1f}") for one in found.candidates[:MOST_CANDIDATES]
    ]
    yield Block(
        "Which line could explain it, were it the only wrong one",
        table=Table("closing", ("line", "would have to move, kg", "in its own uncertainties"), rows),
        lines=("Most often forgotten: " + "; ".join(FORGOTTEN) + ".",),
    )


def _balance(state: State) -> Iterator[Block]:
    known = balances(state)
    if isinstance(known, str):
        yield Block("Balance", lines=(f"Not known: {known}.",))
        return
    made: list[Row] = [(f"{row.label}, {row.unit}", *_figures(row)) for row in rows(known)]
    table = Table("balance", ("", *MOMENTS), made)
    yield Block("Balance", table=table, lines=balance_words(state, known), loud=bool(known.missing))
    if not known.missing:
        bars = {moment: stance.corners_kg for moment, stance in zip(MOMENTS, known.stances, strict=True)}
        yield Block(chart=bar_chart("Corners before and after", WHEELS, bars, "kg"))


def _figures(row: BalanceRow) -> Iterator[str]:
    places = 3 if row.unit == "m" else 2
    return ("" if value is None else f"{value:.{places}f}" for value in row.values)
