"""Text from strangers, made harmless before it reaches a terminal."""

from __future__ import annotations

import re
from functools import cache


@cache
def _unsafe() -> re.Pattern[str]:
    """C0 and C1 controls (newline apart), DEL, soft hyphens, bidirectional overrides and marks, line and paragraph
    separators, zero-width characters, surrogates, tags, noncharacters: what can drive a terminal or hide a word."""
    noncharacters = "".join(chr(plane << 16 | last) for plane in range(17) for last in (0xFFFE, 0xFFFF))
    return re.compile(
        "[\x00-\x09\x0b-\x1f\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f"
        f"\ud800-\udfff\ufdd0-\ufdef\ufeff\ufff9-\ufffb\U000e0000-\U000e007f{noncharacters}]"
    )


def plain(text: str) -> str:
    """`text` without anything that drives a terminal. Newlines stay; tabs become spaces.

    >>> plain("A\\x1b]0;owned\\x07 part")
    'A]0;owned part'
    """
    if text.isprintable() or text.replace("\n", "").isprintable():  # none of the unsafe is printable
        return text
    return _unsafe().sub("", text.replace("\t", " "))


def counted(count: int, word: str) -> str:
    """How many of what.

    >>> counted(1, "step"), counted(2, "day"), counted(0, "entry")
    ('1 step', '2 days', '0 entries')
    """
    if count == 1:
        return f"1 {word}"
    ends_in_ies = word[-1:] == "y" and word[-2:-1] not in tuple("aeiou")
    return f"{count} {word[:-1]}ies" if ends_in_ies else f"{count} {word}s"


def one_line(text: str) -> str:
    """`plain`, with line breaks folded into spaces."""
    return text if text.isprintable() else " ".join(plain(text).split("\n"))
