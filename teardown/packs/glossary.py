"""British and American words. Packs are written once, in British; car.toml chooses what is shown."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from pydantic import BaseModel

from teardown.packs.model import Word
from teardown.packs.reader import Library

TEXTS = frozenset(
    [
        "title",
        "do",
        "hurts",
        "breaks",
        "keep",
        "tools",
        "what",
        "drive",
        "where",
        "name",
        "material",
        "buyers_ask",
        "note",
        "why",
        "happens",
        "avoid",
        "wear",
        "ticks",
        "reads",
        "asks",
        "look_for",
        "call",
        "paper",
    ]
)
"""The keys of a pack that hold words for people. Ids and sources stay as they are."""


def americanised(library: Library) -> Library:
    """The same library in American words."""
    say = translator(library.words)
    return replace(
        library,
        packs=tuple(_in_words(pack, say) for pack in library.packs),
        hazards={name: _in_words(hazard, say) for name, hazard in library.hazards.items()},
        gates={name: _in_words(gate, say) for name, gate in library.gates.items()},
        features={name: _in_words(feature, say) for name, feature in library.features.items()},
        modules={name: _in_words(module, say) for name, module in library.modules.items()},
        rules={name: _in_words(rule, say) for name, rule in library.rules.items()},
        milestones={name: _in_words(milestone, say) for name, milestone in library.milestones.items()},
    )


def translator(words: tuple[Word, ...]) -> Callable[[str], str]:
    """Puts the American word for each British one: whole words only, the longest first, with its capital, its plural
    and the "a" or "an" before it.

    >>> say = translator((Word(british="bonnet", american="hood"), Word(british="aerial", american="antenna mast")))
    >>> say("Bonnets up. Is it an estate with an aerial?")
    'Hoods up. Is it an estate with an antenna mast?'
    """
    pairs = {word.british.lower(): word.american for word in words}
    if not pairs:
        return lambda text: text
    longest_first = sorted(pairs, key=len, reverse=True)
    pattern = re.compile(rf"\b(?:(an?)(\s+))?({'|'.join(map(re.escape, longest_first))})(s?)\b", re.IGNORECASE)

    def american(found: re.Match[str]) -> str:
        article, space, british, plural = found.groups(default="")
        word = pairs[british.lower()]
        article = _article_for(word, article) if article else ""
        if plural:
            word += "es" if word.endswith(("s", "x", "ch", "sh")) else "s"
        return f"{article}{space}{_with_the_capital_of(british, word)}"

    return lambda text: pattern.sub(american, text)


def _article_for(word: str, article: str) -> str:
    """By its first letter: no word of these lists begins with a vowel that is not heard as one."""
    return _with_the_capital_of(article, "an" if word[0].lower() in "aeiou" else "a")


def _with_the_capital_of(original: str, word: str) -> str:
    return word[0].upper() + word[1:] if original[0].isupper() else word


def _in_words(model: Any, say: Callable[[str], str]) -> Any:
    """A copy of `model` with its words for people said by `say`; models inside it likewise."""
    changed = {name: _said(name, getattr(model, name), say) for name in type(model).model_fields}
    return model.model_copy(update=changed)


def _said(name: str, value: Any, say: Callable[[str], str]) -> Any:
    if isinstance(value, BaseModel):
        return _in_words(value, say)
    if isinstance(value, tuple):
        return tuple(_said(name, item, say) for item in value)
    return say(value) if name in TEXTS and isinstance(value, str) else value
