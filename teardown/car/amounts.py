"""Money as it is typed and counted: decimal, to the smallest coin of one currency a car."""

from __future__ import annotations

import re
from decimal import Decimal

from teardown.text import one_line

MINOR_DIGITS = {
    **dict.fromkeys(("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV"), 0),
    **dict.fromkeys(("XAF", "XOF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}
"""Digits after the point where they are not two: ISO 4217 table A.1, from memory."""

_AMOUNT = re.compile(r"(?P<whole>\d{1,9})(?:(?P<mark>[.,])(?P<coins>\d{1,3}))? ?(?P<currency>[A-Z]{3})?")


class AmountError(ValueError):
    """What was typed is no amount of money; the message says what is wanted."""


def amount(text: str) -> Decimal:
    """Read an amount: digits, a decimal point or comma, and the currency after it if one likes.

    >>> amount("120,50 EUR")
    Decimal('120.50')
    """
    found = _AMOUNT.fullmatch(text.strip())
    if found is None:
        raise AmountError(f"{one_line(text)[:40]} is not an amount: write it like 120.50, not below 0")
    if found["mark"] == "," and len(found["coins"]) == 3:
        raise AmountError(f"{one_line(text)[:40]} can be read two ways: write the thousands without a comma")
    return Decimal(f"{found['whole']}.{found['coins']}" if found["coins"] else found["whole"])


def why_not_in(text: str, currency: str) -> str | None:
    """Why an amount is none of the car's currency, or None when it is."""
    found = _AMOUNT.fullmatch(text.strip())
    typed = found["currency"] if found else None
    if typed is not None and typed != currency:
        return f"{text} is not in {currency}, the one currency of this car: change it first, and note the rate"
    digits = minor_digits(currency)
    coins = found["coins"] if found and found["coins"] else ""
    if len(coins) > digits:
        return f"{text} has {len(coins)} digits after the point, and {currency} has {digits}"
    return None


def minor_digits(currency: str) -> int:
    return MINOR_DIGITS.get(currency, 2)


def show_amount(value: Decimal, currency: str) -> str:
    """Print an amount to the smallest coin.

    >>> show_amount(Decimal("-120.5"), "EUR")
    '-120.50 EUR'
    """
    return f"{value:.{minor_digits(currency)}f} {currency}"
