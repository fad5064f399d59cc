"""Money as it is typed and counted: decimal, to the smallest coin of one currency a car, by its ISO 4217 code."""

from __future__ import annotations

import re
from decimal import Decimal

from teardown.nearest import did_you_mean
from teardown.text import one_line

_TWO_DIGITS = """
AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP CRC CUP
CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR
KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN
PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD
TZS UAH USD UYU UZS VED VES WST XCD XCG YER ZAR ZMW ZWG
"""
MINOR_DIGITS = {
    **dict.fromkeys(_TWO_DIGITS.split(), 2),
    **dict.fromkeys(("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV"), 0),
    **dict.fromkeys(("XAF", "XOF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}
"""The currencies in use, and their digits after the point: ISO 4217 list one, from memory. Funds, metals and codes for
testing are no money in hand. Two that are just going out (ANG, BGN) are still there: a car's log may be in them."""

_AMOUNT = re.compile(r"(?P<whole>\d{1,9})(?:(?P<mark>[.,])(?P<coins>\d{1,3}))? ?(?P<currency>[A-Z]{3})?")


class AmountError(ValueError):
    """What was typed is no amount of money; the message says what is wanted."""


def amount(text: str) -> Decimal:
    """Read an amount: digits, a decimal point or comma, and the currency after it if one likes.

    >>> amount("120,50 EUR")
    Decimal('120.50')
    """
    if text == "0":  # what most fees are
        return Decimal(0)
    found = _AMOUNT.fullmatch(text.strip())
    if found is None:
        raise AmountError(f"{one_line(text)[:40]} is not an amount: write it like 120.50, not below 0")
    whole, mark, coins, _ = found.groups()
    if mark == "," and len(coins) == 3:
        raise AmountError(f"{one_line(text)[:40]} can be read two ways: write the thousands without a comma")
    return Decimal(f"{whole}.{coins}" if coins else whole)


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


def known_currency(code: str) -> str:
    """The code itself. Raises ValueError when no currency in use has it."""
    if code not in MINOR_DIGITS:
        raise ValueError(f"the ISO 4217 code of a currency in use, like EUR{did_you_mean(code, MINOR_DIGITS)}")
    return code


def minor_digits(currency: str) -> int:
    return MINOR_DIGITS[currency]


def show_amount(value: Decimal, currency: str) -> str:
    """Print an amount to the smallest coin.

    >>> show_amount(Decimal("-120.5"), "EUR")
    '-120.50 EUR'
    """
    return f"{value:.{minor_digits(currency)}f} {currency}"
