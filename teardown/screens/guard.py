"""The glove guard: which keys count.

A gloved hand leans on keys, strikes twice, and hits a key before the eye has read what it answers; a scale or scanner
types a whole line at once. A key that writes something must therefore fall silent before it counts again, and stand
apart from other keys; a key older than the picture it answers never counts.
"""

from dataclasses import dataclass, field
from enum import Enum
from math import inf

STALE_S = 0.5
"""A key that waited longer than this in the input answers a picture long gone."""

HELD_S = 0.7
"""A key held down has begun to repeat by now, on every keyboard."""

TYPED_REPEAT_S = 0.045
"""Keys that type or only turn pages repeat freely, but not as fast as a key held down."""


BURST_S = 0.05
"""No hand strikes one key so soon after another: a scale or scanner that types does, or a glove that falls on many."""


class KeyKind(Enum):
    """What a key does: `ACTS` writes something, or asks for it; `TAKES` writes what was typed, which a scale may have
    typed too; `OPENS` only opens a place; `TURNS` types a character or turns a page."""

    ACTS = "acts"
    OPENS = "opens"
    TAKES = "takes"
    TURNS = "turns"


@dataclass
class Guard:
    """Times are seconds on the clock that stamps key events."""

    guard_s: float = 0.35
    shown_at: float = inf
    """When the picture in sight was painted; none has been, as long as it lies in the future."""
    in_a_burst: bool = False
    """Whether the last strike came too soon after another key for a hand to have struck both."""
    _last_key: str = ""
    _last_at: float = -inf
    _lost: bool = False
    """Whether a strike of this burst did not count: what was typed is then not what was sent."""
    _heard: dict[str, float] = field(default_factory=dict)

    def place_shown(self, now: float) -> None:
        """A new picture has been painted: what was struck before, or in the same moment, does not answer it."""
        self.shown_at = now

    def place_hidden(self) -> None:
        """What is in sight is no picture to answer: no key counts until one has been painted."""
        self.shown_at = inf

    def counts(self, key: str, typed_at: float, now: float, kind: KeyKind) -> bool:
        """Whether this strike counts. Every strike restarts the silence its key must keep."""
        silent_s = typed_at - self._heard.get(key, -inf)
        again = key == self._last_key
        at_once = typed_at - self._last_at < BURST_S
        self.in_a_burst = at_once and not again
        self._lost = self._lost and at_once
        self._heard[key], self._last_key, self._last_at = typed_at, key, typed_at
        counts = self._answers(typed_at, now) and self._stands_apart(typed_at, kind, silent_s, again)
        self._lost = self._lost or not counts
        return counts

    def _answers(self, typed_at: float, now: float) -> bool:
        """Whether it was struck with the picture in sight, and not long ago."""
        return now - typed_at <= STALE_S and typed_at >= self.shown_at

    def _stands_apart(self, typed_at: float, kind: KeyKind, silent_s: float, again: bool) -> bool:
        if kind is KeyKind.TURNS:
            return silent_s >= TYPED_REPEAT_S
        if self._lost or (self.in_a_burst and kind is not KeyKind.TAKES):
            return False
        return silent_s >= self._silence_s(again) and typed_at - self.shown_at >= self.guard_s

    def _silence_s(self, again: bool) -> float:
        """Struck again with no other key between, it may be held down. A key struck in between ends that repeating."""
        return max(2 * self.guard_s, HELD_S) if again else self.guard_s
