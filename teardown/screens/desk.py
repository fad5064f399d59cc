"""What places share: the car, who works on it, the place in front, and the one line that answers every key."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from teardown.car.door import Car
from teardown.car.fields import WrongEntry
from teardown.car.log import Entry, LogError
from teardown.car.ruling import Refusal
from teardown.car.steps import Standing, StepView, next_open, view_step
from teardown.screens.arming import DIGITS, Arming
from teardown.screens.commands import Command
from teardown.screens.paint import Picture, Window

NOT_IN_SIGHT = "not all of it is in sight: [up] or [down], or make the window larger"


class Place(Protocol):
    """One thing the screen shows: the card of a step, a gate, a number pad. It paints itself and says what keys do."""

    @property
    def name(self) -> str:
        """What the place is called in help."""
        ...

    @property
    def commands(self) -> tuple[Command, ...]:
        """The keys of this place."""
        ...

    @property
    def types(self) -> bool:
        """Whether letters and digits are typed here rather than being commands."""
        ...

    def paint(self, desk: Desk, window: Window) -> Picture: ...


@runtime_checkable
class TypedInto(Protocol):
    """What every place that `types` has besides."""

    def typed(self, desk: Desk, character: str) -> bool:
        """Take a typed character; False when it is none of what is typed here."""
        ...


class Desk:
    """The work at hand. Places ask here for entries and for other places; the screen paints what results."""

    def __init__(self, car: Car, worker: str, first: Place) -> None:
        self.car = car
        self.worker = worker
        self.message = ""
        self.key = ""
        self.arming = Arming()
        self.offered_gate: str | None = None
        self.asked_to_undo: int | None = None
        """The entry that the key just struck would undo, struck again."""
        self.left: Place | None = None
        """A place that was typed into, left with the key just struck: power that came back leads past it again."""
        self.refused_field = ""
        """The word of an entry that the last refusal is about, when it is about one."""
        self.leaving = False
        self.scrolled = 0
        """How many lines further down the body of the place in front is read than where it would begin."""
        self.shown_from = 0
        """The first line of it in sight, as it was last laid out."""
        self.rows_shown = 1
        """How many lines of it were in sight."""
        self.in_sight = True
        """Whether all of what it is about was in sight then: what cannot be read cannot be confirmed."""
        self._standing: Standing | None = None
        self.places: list[Place] = [first]
        self._among_gates: Place | None = None
        self.position: int = self.next_open(-1)

    # -- looking

    @property
    def standing(self) -> Standing:
        """The car as it stands now; looked at once for each painting."""
        if self._standing is None:
            self._standing = self.car.now()
        return self._standing

    def look_again(self) -> None:
        self._standing = None

    @property
    def step(self) -> StepView:
        """The step in front."""
        return self.step_at(self.position)

    def step_at(self, position: int) -> StepView:
        standing = self.standing
        return view_step(standing, standing.state.route.steps[position])

    def next_open(self, position: int) -> int:
        return next_open(self.standing, position)

    @property
    def place(self) -> Place:
        return self.places[-1]

    # -- going

    def go(self, place: Place) -> None:
        self.hush()
        self.arming.disarm()
        self.places.append(place)

    def go_to_gate(self, gate: str) -> None:
        from teardown.screens.places.gates.opening import place_of  # a place, which itself needs the desk

        self.go_among_gates(place_of(self, gate))

    def go_among_gates(self, place: Place) -> None:
        """To a gate or to their list. These lie side by side: none is left behind to be come back through."""
        if self._among_gates in self.places:
            del self.places[self.places.index(self._among_gates) :]
        self._among_gates = place
        self.go(place)

    def back(self) -> None:
        """Leave the place in front. The first place is never left."""
        self.scrolled = 0
        self.arming.disarm()
        if len(self.places) > 1:
            self.places.pop()

    # -- saying

    def say(self, message: str) -> None:
        self.message = message

    def hush(self) -> None:
        """A new picture comes: what was said of the old one is over, and it is read from its beginning."""
        self.message, self.offered_gate, self.scrolled = "", None, 0

    # -- two keys in turn

    def digit_for(self, line: int, among: str = DIGITS) -> str:
        """A digit that differs from the one before, from entry to entry too, so that a key that sticks cannot go on."""
        return among[(self.standing.state.entries + line * 3) % len(among)]

    def arm(self, what: str) -> None:
        """The digit asked for was struck: Enter confirms `what`, once the picture that says so has been painted."""
        if self.in_sight:
            self.arming.arm(self.key, what)
        else:
            self.say(NOT_IN_SIGHT)

    def confirmed(self) -> str:
        """What Enter confirms now: nothing, where it was not armed or not all of it could be read."""
        what = self.arming.take()
        return what if self.in_sight else ""

    # -- writing

    def enter(self, kind: str, **words: object) -> Entry | None:
        """Make an entry. A refusal, or a disk or folder that will not take it, becomes the message."""
        self.hush()
        self.refused_field = ""
        try:
            result = self.car.enter(kind, words, self.worker)
        except (WrongEntry, LogError) as error:
            self.refused_field = error.about if isinstance(error, WrongEntry) else ""
            self.say(str(error))
            return None
        finally:
            self.look_again()
        if isinstance(result, Refusal):
            self.offered_gate, self.refused_field = result.gate, result.about
            is_here = result.gate == getattr(self.place, "gate_id", None)
            why = "The reason stands above" if result.why == getattr(self.place, "reason", None) else result.why
            self.say(f"NOT WRITTEN{': [g] goes to the gate' if result.gate and not is_here else ''}. {why}")
            return None
        return result

    def take_over(self, worker: str) -> Entry | None:
        """Somebody else works from now on, and an entry in that name says so."""
        self.hush()
        try:
            entry = self.car.open_session(worker)
        except LogError as error:
            self.say(str(error))
            return None
        finally:
            self.look_again()
        self.worker = worker
        return entry
