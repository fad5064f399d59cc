"""From a key to what it does in the place in front."""

from __future__ import annotations

from teardown.screens.commands import find
from teardown.screens.desk import Desk, TypedInto
from teardown.screens.guard import Guard, KeyKind
from teardown.screens.places.card import Card
from teardown.screens.places.common import COMMON
from teardown.screens.places.walking import WALK

READING_ONLY = "this car is open to read only: nothing is written"
WITHOUT_WRITING = ("pick", "finish", "undo")
"""What makes no entry by itself: a sheet is chosen, a piece of a name was typed, and undo says so in its own words."""
SWALLOWED = "a key did not count: held, struck twice, too soon, or older than this picture"


def strike(desk: Desk, guard: Guard, key: str, character: str | None, typed_at: float, now: float) -> bool:
    """Let one key do what it does. True when it acted, so that a new picture must be waited for."""
    place = desk.place
    command = find(place.commands, key)
    typing = command is None and place.types and character is not None and character.isprintable()
    kind = command.kind if command else KeyKind.TURNS
    counts = guard.counts(key, typed_at, now, kind)
    desk.arming.struck(key, guard.in_a_burst)
    if not counts:
        _say_swallowed(desk)
        return False
    desk.key = key.lower() if len(key) == 1 else key  # the same with Caps Lock on
    desk.look_again()
    if command is None or command.act != "undo":
        desk.asked_to_undo = None
    if command is None or command.act != "power":
        desk.left = None
    if not (typing and SWALLOWED in desk.message):  # that a digit was lost must be seen until Enter
        desk.say("")
    if typing and character is not None and isinstance(place, TypedInto) and place.typed(desk, character):
        desk.scrolled = 0  # what is typed, and what follows from it, stands where the body begins
        return False
    if command is None:
        _refuse(desk, character if character and character.isprintable() else key)
        return False
    if not desk.car.can_write and command.kind is KeyKind.ACTS and command.act not in WITHOUT_WRITING:
        desk.say(READING_ONLY)  # nobody types a note that is never written
        return False
    act(desk, command.act)
    return kind is not KeyKind.TURNS or desk.place is not place


def _say_swallowed(desk: Desk) -> None:
    """Beside what the same key brought when it counted: that must still be read."""
    if SWALLOWED not in desk.message:
        desk.say(f"{desk.message}. {SWALLOWED}" if desk.message else SWALLOWED)


def _refuse(desk: Desk, key: str) -> None:
    shows = ". [?] shows every key" if find(desk.place.commands, "question_mark") else ""
    desk.say(f"[{key}] does nothing here{shows}")


def act(desk: Desk, name: str) -> None:
    """The place's own method, the walk's on its card, or what the key does everywhere."""
    own = getattr(desk.place, f"do_{name}", None)
    if own is not None:
        own(desk)
    elif isinstance(desk.place, Card) and name in WALK:
        WALK[name](desk)
    else:
        COMMON[name](desk)
