"""What is being typed: a number on a pad made for gloves, or a line of text."""

from __future__ import annotations

from teardown.text import plain

LONGEST_NUMBER = 7
LONGEST_TEXT = 200


class NumberField:
    """Digits and one decimal point or comma; and the unit, once it was chosen."""

    def __init__(self) -> None:
        self.text = ""
        self.unit = ""

    def take(self, character: str) -> bool:
        """Take one character; False when it is no part of a number, or of one that long."""
        if len(self.text) >= LONGEST_NUMBER:
            return False
        if character in (".", ",") and "." not in self.text:
            self.text = (self.text or "0") + "."
            return True
        if not (character.isascii() and character.isdigit()):
            return False
        self.text += character
        return True

    def reading(self, unit: str) -> str:
        """The number with the unit chosen, or else `unit`, as it is entered."""
        return f"{self.text.rstrip('.')}{self.unit or unit}"

    def shown(self, unit: str) -> str:
        """The same, as the large digits show it while it is typed; a pad on which nothing is typed shows no number."""
        return f"{self.text or '-'} {self.unit or unit}"

    def rub_out(self) -> bool:
        """Rub out one character; False when nothing was typed."""
        typed = bool(self.text)
        self.text = self.text[:-1]
        return typed

    def clear(self) -> None:
        self.text = ""


class TextField:
    """One line of text."""

    def __init__(self) -> None:
        self.text = ""

    def take(self, character: str) -> bool:
        """Take one character; False when it is nothing to be read, or the line is full."""
        clean = plain(character).replace("\n", " ")
        if len(self.text) + len(clean) > LONGEST_TEXT:
            return False
        self.text += clean
        return bool(clean)

    def rub_out(self) -> bool:
        typed = bool(self.text)
        self.text = self.text[:-1]
        return typed
