"""The nearest spelling of a misspelt word."""

from __future__ import annotations

from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word closest to `word`, when one is close.

    >>> nearest("airbagg", ["battery", "airbag"])
    'airbag'
    """
    from difflib import get_close_matches  # only for a word that is wrong

    found = get_close_matches(word[:80], list(known), n=1, cutoff=0.6)
    return found[0] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """` (did you mean ...?)`, or nothing."""
    found = nearest(word, known)
    return f" (did you mean {found}?)" if found else ""
