"""Two keys in turn for what opens something: a digit that changes, then Enter once the screen has answered the digit.

A glove that rests on a key, a hand that falls on the number pad, a scale or scanner that types digits and Enter: none
of them strikes the one digit asked for, waits for the picture that answers it, and then strikes Enter.
"""

from __future__ import annotations

DIGITS = "123456789"


class Arming:
    """What the next Enter confirms: nothing, most of the time."""

    def __init__(self) -> None:
        self.what = ""
        self._digit = ""

    def arm(self, digit: str, what: str) -> None:
        self._digit, self.what = digit, what

    def disarm(self) -> None:
        self._digit = self.what = ""

    def struck(self, key: str, in_a_burst: bool) -> None:
        """Whatever is struck after the digit disarms, counted or not; the digit still held, and Enter, do not."""
        if in_a_burst or key not in (self._digit, "enter"):
            self.disarm()

    def take(self) -> str:
        """What is confirmed now; it is armed no more."""
        what = self.what
        self.disarm()
        return what
