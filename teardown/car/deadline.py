"""The date with the welder, and how far off it is."""

from __future__ import annotations

from datetime import date

from teardown.car.facts import Facts
from teardown.text import counted


def welder_words(facts: Facts, today: date) -> str:
    """The date in car.toml and the days to it; empty where there is none.

    >>> welder_words(Facts(name="x", welder_date=date(2026, 6, 20)), date(2026, 6, 8))
    'welder on 2026-06-20: 12 days from today'
    """
    if facts.welder_date is None:
        return ""
    days = (facts.welder_date - today).days
    if days == 0:
        return f"welder on {facts.welder_date}: today"
    return f"welder on {facts.welder_date}: {counted(abs(days), 'day')} {'from today' if days > 0 else 'ago'}"
