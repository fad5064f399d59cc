"""Where the weight is: as the car came, now, and with all that is planned off and on; and what one part does."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from teardown import units
from teardown.car.condition import NOT_CAR, aboard_in_kg, condition_words, corrections
from teardown.car.mass import part_mass
from teardown.car.moves import move_kg, moves, place_of
from teardown.car.state import State
from teardown.car.tally_values import CarWeight
from teardown.car.weighing import why_not_compared
from teardown.figures.balance import WHEELS, Part, Stance, balance
from teardown.figures.errors import FigureError
from teardown.packs.route import RoutePart

UNKNOWN = (
    "the balance needs the four corners and the wheelbase and front track: enter car-weighed corners=..., and "
    "wheelbase and track_front in car.toml"
)


class Balances(NamedTuple):
    """The car at three moments, all in one condition. `unplaced_kg` moved without anybody saying where on the car;
    `fluids_kg` is fluid or contents that went, told as still aboard. `corrected` says what each weighing was corrected
    for; with anything `missing`, before and now are not to be compared."""

    before: Stance
    now: Stance
    planned: Stance
    unplaced_kg: float
    fluids_kg: float = 0.0
    corrected: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def stances(self) -> tuple[Stance, Stance, Stance]:
        """In the order of MOMENTS."""
        return self.before, self.now, self.planned


MOMENTS = ("before", "now", "planned")


class BalanceRow(NamedTuple):
    """One thing told of the three moments, in kg, % or m; None where it is not known."""

    label: str
    unit: Literal["kg", "%", "m"]
    values: tuple[float | None, ...]


def rows(known: Balances) -> list[BalanceRow]:
    """All that is told of the three moments, in the order it is told; each place prints it in its own way."""
    stances = known.stances
    corners = [BalanceRow(wheel, "kg", tuple(s.corners_kg[n] for s in stances)) for n, wheel in enumerate(WHEELS)]
    return [
        *corners,
        BalanceRow("total", "kg", tuple(stance.total_kg for stance in stances)),
        BalanceRow("front", "%", tuple(stance.front_percent for stance in stances)),
        BalanceRow("left", "%", tuple(stance.left_percent for stance in stances)),
        BalanceRow("diagonal", "%", tuple(stance.cross_percent for stance in stances)),
        BalanceRow("height", "m", tuple(stance.height_m for stance in stances)),
    ]


def balance_words(state: State, known: Balances) -> list[str]:
    """What must be said beside the three moments: whether they compare, and what they were corrected for."""
    told = [f"NOT A COMPARISON of before and now: {says}" for says in known.missing]
    told += [f"Corrected: {says}" for says in known.corrected]
    told.append(f"{condition_words(state)[:1].upper()}{condition_words(state)[1:]}.")
    if known.fluids_kg:
        told.append(
            f"{units.show_mass(known.fluids_kg)} that went is fluid or contents: told as still aboard, no saving"
        )
    if known.unplaced_kg:
        told.append(f"{units.show_mass(known.unplaced_kg)} moved without a place on the car: not in this")
    return told


class Effect(NamedTuple):
    """What taking off one part does, or putting on one that goes on."""

    total_kg: float
    front_percent: float
    left_percent: float
    cross_percent: float
    height_m: float | None


def balances(state: State) -> Balances | str:
    """The balance before, now and planned, or why it is not known."""
    so_far = _so_far(state)
    if isinstance(so_far, str):
        return so_far
    take, add = (
        [placed(state, part) for part in parts] for parts in (_still_to_come_off(state), _still_to_go_on(state))
    )
    planned = _stance(state, so_far.now, take, add)
    return planned if isinstance(planned, str) else so_far._replace(planned=planned)


def _so_far(state: State) -> Balances | str:
    """Before and now; what is planned stands as now."""
    weighed = [(n, weight) for n, weight in state.weighings.items if weight.corners_kg]
    if not weighed or state.facts.wheelbase is None or state.facts.track_front is None:
        return UNKNOWN
    return state.once("balance", lambda seen: _before_and_now(seen, weighed))


def effect_of(state: State, part: RoutePart) -> Effect | str:
    """What the car's balance becomes when one part comes off that is on it now, or goes on that is not."""
    known = _so_far(state)
    if isinstance(known, str):
        return known
    if part.part.counts in NOT_CAR:
        return f"{part.part.name} is fluid or contents: the balance is told as if it were aboard"
    goes_on, here = part.part.counts == "added", [placed(state, part)]
    if state.is_out(part.id):
        stands = "is fitted: the balance now is with it" if goes_on else "is off: the balance now is without it"
        return f"{part.part.name} {stands}"
    after = _stance(state, known.now, *(((), here) if goes_on else (here, ())))
    if isinstance(after, str):
        return after
    now = known.now
    return Effect(
        after.total_kg - now.total_kg,
        after.front_percent - now.front_percent,
        after.left_percent - now.left_percent,
        after.cross_percent - now.cross_percent,
        None if after.height_m is None or now.height_m is None else after.height_m - now.height_m,
    )


def placed(state: State, part: RoutePart) -> Part:
    """A part's mass at its place, in metres."""
    return _at(state, part_mass(state, part).kg, part.x, part.y, part.part.place.z)


def _before_and_now(state: State, weighed: list[tuple[int, CarWeight]]) -> Balances | str:
    (first_n, first), (last_n, last) = weighed[0], weighed[-1]
    before = _weighed_stance(state, first_n, first, state.facts.height)
    start = _weighed_stance(state, last_n, last, _height_at(state, weighed))
    if isinstance(before, str):
        return before
    if isinstance(start, str):
        return start
    take, add, unplaced_kg = _moved_since(state, last_n)
    now = _stance(state, start, take, add)
    if isinstance(now, str):
        return now
    return Balances(
        before,
        now,
        now,
        unplaced_kg,
        fluids_kg=aboard_in_kg(state),
        corrected=_corrected(state, weighed),
        missing=_missing(weighed),
    )


def _corrected(state: State, weighed: list[tuple[int, CarWeight]]) -> tuple[str, ...]:
    """What each of the two weighings was corrected for, and where that was taken to be."""
    told = []
    for n, weight in dict((weighed[0], weighed[-1])).items():
        for one in corrections(state, n, weight):
            where = "" if one.place else ", taken off all four wheels in their shares: nobody said where it lay"
            told.append(f"weighing {n}: {one.says}{where}")
    last_n = state.weighings.last_entry
    if last_n != weighed[-1][0]:
        told.append(
            f"weighing {last_n} was a total only: now is reckoned from the corners of weighing {weighed[-1][0]}"
        )
    return tuple(told)


def _missing(weighed: list[tuple[int, CarWeight]]) -> tuple[str, ...]:
    """The corrections nobody can make between the first corners and the last."""
    (first_n, first), (last_n, last) = weighed[0], weighed[-1]
    if first_n == last_n:
        return ()
    contents = [
        f"contents {units.show_mass(weight.contents_kg)} at weighing {n}: nobody said where they lay in the car"
        for n, weight in (weighed[0], weighed[-1])
        if weight.contents_kg
    ]
    return (*why_not_compared(first, last), *contents)


def _height_at(state: State, weighed: list[tuple[int, CarWeight]]) -> float | None:
    """The height at the last weighing: what came off since the first has been reckoned off it."""
    (first_n, first), (last_n, _) = weighed[0], weighed[-1]
    if state.facts.height is None or first_n == last_n:
        return state.facts.height
    start = _weighed_stance(state, first_n, first, state.facts.height)
    if isinstance(start, str):
        return None
    take, add, _ = _moved_since(state, first_n, last_n)
    reckoned = _stance(state, start, take, add)
    return None if isinstance(reckoned, str) else reckoned.height_m


def _moved_since(state: State, since: int, upto: int | None = None) -> tuple[list[Part], list[Part], float]:
    """Parts off and on since an entry, and the kilograms whose place nobody knows. Fluids and contents that went are
    told as still aboard."""
    take: list[Part] = []
    add: list[Part] = []
    unplaced_kg = 0.0
    for move in moves(state, since, upto):
        if move.counts in NOT_CAR:
            continue
        place, kg = place_of(state, move), move_kg(state, move)
        if place is None:
            unplaced_kg += kg
        else:
            (add if move.goes_on else take).append(_at(state, kg, *place))
    return take, add, unplaced_kg


def _at(state: State, kg: float, x: float, y: float, z: float) -> Part:
    return Part(kg, x * (state.facts.wheelbase or 0.0), y * _track_m(state, x), z)


def _still_to_come_off(state: State) -> Iterable[RoutePart]:
    """What the route takes off for good, and nobody has kept, skipped or put back."""
    for part in _still_to_do(state, "saving"):
        if state.fate_of(part.id) not in ("keep", "refit"):
            yield part


def _still_to_go_on(state: State) -> Iterable[RoutePart]:
    """What the route puts on, and nobody has skipped or taken off again."""
    return _still_to_do(state, "added")


def _still_to_do(state: State, counts: str) -> Iterable[RoutePart]:
    """Parts of that kind whose step is neither done nor skipped, nor stays away by a rule."""
    for part in state.route.parts.values():
        laid, mark = state.route.by_ref[part.step], state.mark(part.step)
        over = laid.kept or (mark is not None and mark.status in ("skipped", "done"))
        if part.fitted and part.part.counts == counts and not over and not state.is_out(part.id):
            yield part


def _track_m(state: State, x: float) -> float:
    front_m = state.facts.track_front or 0.0
    rear_m = state.facts.track_rear or front_m
    return front_m + (rear_m - front_m) * min(max(x, 0.0), 1.0)


def _weighed_stance(state: State, n: int, weight: CarWeight, height_m: float | None) -> Stance | str:
    """A weighing in the condition all are told in; `height_m` is the car's in that condition."""
    take: list[Part] = []
    add: list[Part] = []
    unplaced_kg = 0.0
    for one in corrections(state, n, weight):
        if one.place is None:
            unplaced_kg += one.kg
        else:
            (add if one.kg > 0 else take).append(_at(state, abs(one.kg), *one.place))
    share = (weight.total_kg + unplaced_kg) / weight.total_kg
    stance = _loaded(state, tuple(kg * share for kg in weight.corners_kg or ()), None, take, add)
    return stance if isinstance(stance, str) else stance._replace(height_m=height_m)


def _stance(state: State, start: Stance, take: Iterable[Part], add: Iterable[Part] = ()) -> Stance | str:
    return _loaded(state, start.corners_kg, start.height_m, take, add)


def _loaded(
    state: State, corners_kg: Sequence[float], height_m: float | None, take: Iterable[Part], add: Iterable[Part]
) -> Stance | str:
    facts = state.facts
    try:
        return balance(
            corners_kg, facts.wheelbase or 0.0, facts.track_front or 0.0, facts.track_rear, height_m, take, add
        ).after
    except FigureError as error:
        return str(error)
