"""What no pack foresaw and is, or may be, a live module: how that is known, and how it is accounted for."""

from functools import cache
from typing import TYPE_CHECKING

from teardown.car.tally_values import Thing

if TYPE_CHECKING:
    from teardown.car.state import State


def is_live_thing(state: "State", thing: Thing) -> bool:
    """Whether what no pack foresaw is to be taken for live: its name speaks of airbags and their like, or it was ever
    called controlled and is no fluid. A name may be wrong: somebody who looked says so with `not-there` and a reason,
    and that holds until it is called controlled again."""
    looked, known = state.not_there.get(thing.id), state.parts.get(thing.id)
    freed = looked.last_entry if looked is not None and looked.last else 0
    called = thing.entry if thing.fate == "controlled" else 0
    if known is not None:
        called = max([called, *(n for n, fate in known.fate.items if fate == "controlled")])
    controlled = called > freed and thing.counts != "fluid"
    return controlled or (not freed and speaks_of_live_modules(thing.name))


def thing_account(state: "State", name: str) -> str | None:
    """How a thing is accounted for, were it live: stored, or not live at all. None while it is on the car, where no
    pack says how it is plugged, or lies about."""
    thing = state.thing(name)
    if thing is None or not is_live_thing(state, thing):
        return "not live"
    place = state.stored_at(name)
    return None if place is None else f"stored: {place}"


@cache
def speaks_of_live_modules(name: str) -> bool:
    """Whether a name has a word in it by which the packs are audited for airbags and their like."""
    from teardown.packs.dangers import TOPICS  # the words are needed only once something was found
    from teardown.packs.lookalikes import as_it_reads

    return any(TOPICS["airbag"].words_in(as_it_reads(name)))
