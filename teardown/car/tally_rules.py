"""What may be written in the tally. A live module is not sold like a seat; money is in one currency; a thing is sold
once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from teardown import units
from teardown.car import tally_entries as entries
from teardown.car.amounts import amount, show_amount, why_not_in
from teardown.car.fields import Fields, listed_parts, recorded
from teardown.car.live_things import is_live_thing, speaks_of_live_modules
from teardown.car.money import other_currency, refunded_of, sale_of
from teardown.car.ruling import Refusal, Ruling, known_part, known_step
from teardown.car.scrap import why_not_weighed
from teardown.car.state import State
from teardown.car.steps import Standing
from teardown.car.tally import is_live, line_of, name_of, scrapped_by_part
from teardown.car.tally_values import Thing
from teardown.car.tickets import waits_for_the_yard
from teardown.packs.route import RoutePart

# -- weighing

HEAVIEST_PART_KG = 500.0
"""Nothing that comes off a road car or goes on it weighs more, an engine with its gearbox included (this project's
policy)."""
COARSEST_STEP_KG = 50.0
"""Weighbridges show steps of 10 to 50 kg (common practice)."""


def _positive(fields: entries.PartWeighed | entries.PartsWeighed | entries.PartFound | entries.PartFitted) -> Ruling:
    less = f" less {fields.without}" if fields.without else ""
    if fields.mass_kg is not None and fields.mass_kg > HEAVIEST_PART_KG:
        limit = f"no part of a car weighs that (limit {HEAVIEST_PART_KG:g} kg)"
        return Refusal(f"{fields.reading}{less} is {fields.mass_kg:g} kg: {limit}", about="reading")
    if fields.mass_kg is not None and fields.mass_kg > 0:
        return recorded(fields)
    return Refusal(f"{fields.reading}{less} is not a part's mass: the first reading is with the part", about="reading")


def _part_of_this_car(state: State, name: str) -> RoutePart | Refusal:
    """The pack's part of that name, when this car has it: what is not there was not on the scale."""
    part = known_part(state, name)
    if isinstance(part, Refusal) or part.fitted:
        return part
    laid = state.route.by_ref[part.step]
    asked = (*part.part.has, *laid.step.has, *laid.step.has_any, *laid.pack.has)
    said = " and ".join(f"{name} = false" for name in asked if state.route.shape.lacks((name,)))
    return Refusal(
        f"{part.part.name} is not on this car: car.toml [fitted] says {said or 'so'}. If it is there after all, "
        "answer that again first: car-answered",
        about="part",
    )


def _part_weighed(standing: Standing, fields: entries.PartWeighed) -> Ruling:
    thing = standing.state.thing(fields.part)
    part = thing or _part_of_this_car(standing.state, fields.part)
    if isinstance(part, Refusal):
        return part
    if isinstance(part, Thing):
        if fields.how == "estimate":
            return Refusal(f"no pack knows what {part.name} weighs: weigh it")
    elif fields.how == "estimate":
        return _estimated(part, fields)
    how = fields.how or ("direct" if fields.without is None else "difference")
    if fields.reading is None:
        return Refusal("reading= is missing: what the scale showed; how=estimate takes the pack's likely mass instead")
    if how == "difference" and fields.without is None:
        return Refusal("a difference is two readings: reading= with the part, and without= without it")
    if how == "direct" and fields.without is not None:
        return Refusal("how=direct is one reading, and without= is a second: how=difference, or leave how= out")
    return _positive(fields.model_copy(update={"how": how}))


def _estimated(part: RoutePart, fields: entries.PartWeighed) -> Ruling:
    """What the pack says, marked as such: a number from elsewhere would look like it, and nobody could tell which."""
    if fields.reading is not None or fields.without is not None:
        typed, likely = fields.reading or fields.without, units.show_mass(part.kg[1])
        return Refusal(
            f"how=estimate is the pack's likely mass for this car, {likely}, and takes no reading: "
            f"leave {typed} out, or leave how= out if a scale showed it"
        )
    if part.kg[1] <= 0:
        return Refusal(f"the pack knows no likely mass of {part.part.name}: weigh it")
    return recorded(fields) | {"mass_kg": part.kg[1]}


def _parts_weighed(standing: Standing, fields: entries.PartsWeighed) -> Ruling:
    names = listed_parts(fields.parts)
    if len(names) < 2 or len(set(names)) < len(names):
        return Refusal("several parts on one reading: name two or more, each once, like parts=left-visor,right-visor")
    likely_kg = []
    for name in names:
        part = _part_of_this_car(standing.state, name)
        if isinstance(part, Refusal):
            return part._replace(about="parts")
        likely_kg.append(part.kg[1])
    ruling = _positive(fields)
    if isinstance(ruling, Refusal):
        return ruling
    return ruling | {"shares_kg": _shared_out(fields.mass_kg, likely_kg)}


def _shared_out(mass_kg: float, likely_kg: list[float]) -> list[float]:
    """By the packs' masses; evenly where the packs say nothing."""
    whole_kg = sum(likely_kg)
    if whole_kg <= 0:
        return [mass_kg / len(likely_kg)] * len(likely_kg)
    return [mass_kg * one_kg / whole_kg for one_kg in likely_kg]


def _placed(standing: Standing, fields: entries.PartFound | entries.PartFitted) -> Ruling:
    given = [key for key in ("x", "y", "z") if getattr(fields, key) is not None]
    if given and len(given) < 3:
        return Refusal(f"a place is x, y and z together; only {' and '.join(given)} was given")
    if isinstance(fields, entries.PartFound) and (part := _known_by_its_name(standing.state, fields.name)) is not None:
        return Refusal(
            f"{part.part.name} is in the packs, with what it asks for before it comes off: part-off part={part.id}. "
            "If this is another one, give it another name",
            about="name",
        )
    if isinstance(fields, entries.PartFound) and fields.fate == "sell" and speaks_of_live_modules(fields.name):
        return Refusal(
            f"{fields.name} is taken to be live by its name: leave fate= out, and set it to sell with part-fate and "
            "the rule that allows it",
            about="fate",
        )
    return _positive(fields)


def _known_by_its_name(state: State, name: str) -> RoutePart | None:
    """The pack's part of that name, however it is written, while it is still on the car: what no pack foresaw comes off
    past no gate."""
    reads = _as_letters(name)
    same = (part for part in state.route.parts.values() if reads in (_as_letters(part.part.name), _as_letters(part.id)))
    there = (part for part in same if part.fitted and part.part.counts != "added" and not state.is_out(part.id))
    return next(there, None)


def _as_letters(name: str) -> str:
    from teardown.packs.lookalikes import as_it_reads  # needed only once something was found

    return "".join(filter(str.isalnum, as_it_reads(name).casefold()))


def _car_weighed(standing: Standing, fields: entries.CarWeighed) -> Ruling:
    ways = (fields.total is not None, fields.corners is not None, any(fields.pads))
    if sum(ways) != 1:
        return Refusal("say what the scales showed: total=1350kg, or corners=334,331,266,262kg")
    if any(fields.pads) and not all(fields.pads):
        return Refusal("all four pads: front_left, front_right, rear_left and rear_right, in any order")
    if fields.step_kg is not None and fields.step_kg > COARSEST_STEP_KG:
        return Refusal(f"a step of {fields.step_kg:g} kg is no scale for a car (limit {COARSEST_STEP_KG:g} kg)")
    aboard_kg = (fields.aboard_kg or 0.0) + (fields.contents_kg or 0.0)
    if fields.total_kg <= aboard_kg:
        return Refusal(f"{fields.total_kg:.1f} kg on the scales, and {aboard_kg:.1f} kg of it is no car: check both")
    return recorded(fields) | {"fuel_kind": fields.fuel_kind or standing.state.facts.fuel or "petrol"}


# -- what becomes of parts


def _tallied(state: State, name: str) -> Refusal | None:
    """Whether a part of a pack, or a thing that was found or fitted, bears that name."""
    if state.thing(name) is not None:
        return None
    part = known_part(state, name)
    return part if isinstance(part, Refusal) else None


def _is_live(state: State, name: str) -> bool:
    part, thing = state.route.parts.get(name), state.thing(name)
    return is_live(state, part) if part is not None else thing is not None and is_live_thing(state, thing)


def _part_fate(standing: Standing, fields: entries.PartFateSet) -> Ruling:
    if refused := _tallied(standing.state, fields.part):
        return refused
    if _is_live(standing.state, fields.part) and fields.fate == "sell" and fields.rule is None:
        return Refusal(
            f"{name_of(standing.state, fields.part)} carries a live module: selling is banned in some places and most "
            "carriers refuse it. Enter the local rule that allows it: rule=",
            about="rule",
        )
    return recorded(fields)


def _may_be_sold(state: State, names: Iterable[str]) -> Refusal | None:
    for n, name in enumerate(names):
        if refused := _tallied(state, name):
            return refused
        if _is_live(state, name) and not _to_be_sold_by_a_rule(state, name):
            return Refusal(
                f"{name_of(state, name)} carries a live module: set its fate to sell first, "
                "with the rule that allows it",
                about=_named_in(n),
            )
        if _is_fluid(state, name) and not _to_be_sold_by_a_rule(state, name):
            return Refusal(
                f"{name_of(state, name)} is a fluid, and goes to who may take it: enter handed-over. Where the law "
                "lets you sell it, set its fate to sell first",
                about=_named_in(n),
            )
    return None


def _is_fluid(state: State, name: str) -> bool:
    part, thing = state.route.parts.get(name), state.thing(name)
    return (part is not None and part.part.counts == "fluid") or (thing is not None and thing.counts == "fluid")


def _to_be_sold_by_a_rule(state: State, name: str) -> bool:
    """Whether `part-fate` said so, which asks for the rule; what was said as it was found asked for none."""
    known = state.parts.get(name)
    return known is not None and known.fate.last == "sell"


def _named_in(n: int) -> str:
    """The field that names the part of a bundle: the first by itself, what goes along after it."""
    return "along" if n else "part"


def _listed(standing: Standing, fields: entries.Listed) -> Ruling:
    return _lot(standing.state, fields, ask=fields.ask, floor=fields.floor)


def _sold(standing: Standing, fields: entries.Sold) -> Ruling:
    return _lot(
        standing.state,
        fields,
        amount=fields.amount,
        fees=fields.fees,
        packing=fields.packing,
        carriage=fields.carriage,
    )


def _lot(state: State, fields: entries.Lot, **amounts: str | None) -> Ruling:
    """What is refused to a part alone is refused to it in a lot."""
    if len(set(fields.parts)) < len(fields.parts):
        return Refusal("a part is named twice: part= is one, along= what goes with it", about="along")
    return (
        _may_be_sold(state, fields.parts)
        or _in_one_currency(state, **amounts)
        or _still_to_be_had(state, fields.parts)
        or _recorded_money(state, fields)
    )


def _still_to_be_had(state: State, names: Iterable[str]) -> Refusal | None:
    scrapped = scrapped_by_part(state)
    for n, name in enumerate(names):
        if name in scrapped:
            why = f"{name_of(state, name)} went to the scrap yard (entry {scrapped[name]}): undo that first"
            return Refusal(why, about=_named_in(n))
        if refused := _unsold(state, name):
            return refused._replace(about=_named_in(n))
    return None


def _unsold(state: State, name: str) -> Refusal | None:
    sale = sale_of(state, name)
    if sale is None:
        return None
    return Refusal(
        f"{name_of(state, name)} is sold already (entry {sale[0]}): undo that, or enter refunded returned=yes"
    )


def _refunded(standing: Standing, fields: entries.Refunded) -> Ruling:
    state = standing.state
    if refused := _tallied(state, fields.part) or _in_one_currency(state, amount=fields.amount):
        return refused
    sold = sale_of(state, fields.part)
    if sold is None:
        return Refusal(f"{name_of(state, fields.part)} is not sold: there is nothing to give back", about="part")
    n, sale = sold
    back, paid = refunded_of(state, n, sale), show_amount(sale.amount, state.currency)
    if back + amount(fields.amount) > sale.amount:
        given = f", and {show_amount(back, state.currency)} is given back already" if back else ""
        return Refusal(f"{fields.amount} is more than was paid: {paid} (entry {n}){given}", about="amount")
    return _recorded_money(state, fields)


def _handed_over(standing: Standing, fields: entries.HandedOver) -> Ruling:
    state = standing.state
    if refused := _tallied(state, fields.part):
        return refused
    called = name_of(state, fields.part)
    if not state.is_out(fields.part):
        return Refusal(f"{called} is not off yet: nobody can have taken it")
    if _is_live(state, fields.part) and state.stored_at(fields.part) is None:
        return Refusal(f"{called} carries a live module: say first where it was stored (part-stored), to count it")
    return recorded(fields)


# -- what no pack foresaw: it comes off and goes back by itself, past no gate


def thing_off(state: State, thing: Thing) -> Refusal | None:
    """Why a thing cannot have come off (again)."""
    return Refusal(f"{thing.name} is off already") if state.is_out(thing.id) else None


def thing_back(state: State, thing: Thing) -> Refusal | None:
    """Why a thing cannot have gone back. What is live would hang in the car where no pack says how it is plugged."""
    if not state.is_out(thing.id):
        return Refusal(f"{thing.name} is not out")
    if is_live_thing(state, thing):
        return Refusal(
            f"{thing.name} is taken to be live, and no pack knows how it is plugged: keep it in its store, or write it "
            f"into a pack of your own with its module. If it is not live: not-there module={thing.id} and why="
        )
    return None


def thing_stored(state: State, thing: Thing) -> Refusal | None:
    """Why a thing cannot have been stored."""
    return None if state.is_out(thing.id) else Refusal(f"{thing.name} is not off: it cannot be stored")


def thing_not_live(state: State, thing: Thing) -> Refusal | None:
    """Why it need not be said that a thing is not live after all."""
    return None if is_live_thing(state, thing) else Refusal(f"{thing.name} is not taken to be live: nothing to say")


# -- money


def _in_one_currency(state: State, **amounts: str | None) -> Refusal | None:
    if other := other_currency(state):
        return Refusal(other)
    for field, text in amounts.items():
        if text and (why := why_not_in(text, state.currency)):
            return Refusal(why, about=field)
    return None


def _recorded_money(state: State, fields: Fields) -> dict[str, Any]:
    """With its currency: what car.toml says later does not make euros dollars."""
    return recorded(fields) | {"currency": state.currency}


def _cost(standing: Standing, fields: entries.Cost) -> Ruling:
    return _in_one_currency(standing.state, amount=fields.amount) or _recorded_money(standing.state, fields)


def _scrap_ticket(standing: Standing, fields: entries.ScrapTicket) -> Ruling:
    state = standing.state
    if fields.material is not None and (why := why_not_weighed(fields.material)):
        return Refusal(why, about="material")
    refused = _goes_to_the_yard(state, listed_parts(fields.parts)) or _in_one_currency(state, amount=fields.amount)
    return refused or _recorded_money(state, fields) | {"went": _went(state, fields)}


def _goes_to_the_yard(state: State, names: Sequence[str]) -> Refusal | None:
    """Why one of the parts a ticket names cannot have been on the yard's scale."""
    if len(set(names)) < len(names):
        return Refusal("a part is named twice: it goes to the yard once", about="parts")
    scrapped = scrapped_by_part(state)
    for name in names:
        refused = _tallied(state, name) or _no_scrap(state, name, scrapped.get(name)) or _unsold(state, name)
        if refused is not None:
            return refused._replace(about="parts")
    return None


def _no_scrap(state: State, name: str, ticket: int | None) -> Refusal | None:
    called = name_of(state, name)
    if _is_live(state, name):
        return Refusal(f"{called} carries a live module: a press sets it off. Enter handed-over")
    if ticket is not None:
        return Refusal(f"{called} is on a scrap ticket already (entry {ticket}): undo that first")
    if not line_of(state, name).out:
        return Refusal(f"{called} is not off yet: the yard cannot have weighed it")
    return None


def _went(state: State, fields: entries.ScrapTicket) -> list[str]:
    """What the ticket is for: the parts it names, else what waited for the yard when it was written."""
    named = listed_parts(fields.parts)
    return list(named or (line.id for line in waits_for_the_yard(state, fields.material)))


def _photo(standing: Standing, fields: entries.Photo) -> Ruling:
    state = standing.state
    if fields.part is not None and (refused := _tallied(state, fields.part)):
        return refused
    step = None if fields.step is None else known_step(state, fields.step)
    return step if isinstance(step, Refusal) else recorded(fields)


TALLY_RULES: dict[type[Fields], Callable[[Standing, Any], Ruling]] = {
    entries.PartWeighed: _part_weighed,
    entries.PartsWeighed: _parts_weighed,
    entries.PartFound: _placed,
    entries.PartFitted: _placed,
    entries.PartFateSet: _part_fate,
    entries.CarWeighed: _car_weighed,
    entries.Listed: _listed,
    entries.Sold: _sold,
    entries.Refunded: _refunded,
    entries.HandedOver: _handed_over,
    entries.Cost: _cost,
    entries.ScrapTicket: _scrap_ticket,
    entries.Photo: _photo,
}
