"""Which words speak of which danger, in British and American English, and where a step says them.

Which words are watched is this project's policy. Every text that whoever does a step reads is heard.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from teardown.packs.lookalikes import as_it_reads
from teardown.packs.model import Fasteners, Part, Step


class Topic(NamedTuple):
    """A danger: the hazards that are about it, the words that speak of it, and phrases with such a word that do not.

    In packs that ship any of these hazards answers to it. In one's own only that of its name does, or one that brings
    all of its gates.
    """

    hazards: tuple[str, ...]
    words: re.Pattern[str]
    harmless: re.Pattern[str] | None = None

    def words_in(self, text: str) -> Iterator[str]:
        """The words of `text`, as it reads, that speak of the danger."""
        if self.words.search(text) is None:
            return
        heard = self.harmless.sub("...", text) if self.harmless else text
        yield from (word[0] for word in self.words.finditer(heard))


def whole_words(pattern: str) -> re.Pattern[str]:
    """`pattern` as whole words, in small or capital letters; `[ -]` stands for any blanks and hyphens."""
    pattern = pattern.replace("[ -]?", r"[\s-]{0,3}").replace("[ -]", r"[\s-]{1,3}")
    return re.compile(rf"(?<![^\W\d_])(?:{pattern})(?![^\W\d_])", re.IGNORECASE)


TOPICS: dict[str, Topic] = {
    "airbag": Topic(
        ("airbag", "airbag-charged", "stored-airbag", "uncounted-airbag"),
        whole_words(
            r"air[ -]?bag\w*|(?:curtain|side|seat|knee|driver(?:'s)?|passenger(?:'s)?|head|roof|thorax|door) bags?"
            r"|(?:steering[ -])?wheel bags?|inflatable curtains?|(?:supplement\w+|inflatable) restraints?"
            r"|pre[ -]?tension(?:ers?|ing|ed)?|(?:seat[ -]?belt|buckle|lap|reel) tensioners?"
            r"|inflators?|gas generators?|igniters?|initiators?|squibs?|detonators?|pyro(?:s|technic\w*)?"
            r"|explosive (?:bolt|cable|charge|clamp|cutter|lead|terminal)s?|live modules?|(?:bonnet|hood) lifters?"
            r"|yellow (?:cable|connector|harness|lead|loom|plug|socket|wire)(?:es|s)?"
            r"|restraint (?:computer|control|module|system)s?|SRS|(?-i:SIR)"
            r"|SIR (?:computer|connector|control|fuse|label|module|plug|sensor|system|unit|wiring)s?"
        ),
        whole_words(r"(?:tyre|tire) inflators?"),
    ),
    "dry-ice": Topic(
        ("dry-ice", "ice-outside", "ice-gas"),
        whole_words(
            r"(?:dry[ -]?)?ice|(?:frozen|solid) (?:carbon dioxide|C[O0]2)"
            r"|(?:carbon dioxide|C[O0]2)[ -](?:block|ice|nugget|pellet|slab|snow|stick)s?"
        ),
        whole_words(r"ice scrapers?"),
    ),
    "hot-work": Topic(
        ("hot-work",),
        whole_words(
            r"(?:re[ -]?|tack[ -]?)?weld(?:s|ed|ing)?|(?:grind|grinds|grinding)|(?:angle[ -])?grinders?|brazing"
            r"|plasma cut(?:s|ter|ters|ting)?|blow[ -]?(?:lamp|torche?)s?|(?:cutting|gas|propane) torch(?:es)?"
            r"|oxy[ -]?(?:acetylene|cutting|fuel|propane|torch)\w*|acetylene|(?-i:MIG|TIG)"
            r"|(?:arc|flame|gas)[ -](?:cut|cuts|cutters?|cutting)|naked flames?|red[ -]hot|sparks?"
            r"|(?:abrasive|cut[ -]?off|cutting|flap|grinding|slitting) (?:dis[ck]|saw|wheel)s?"
        ),
        whole_words(
            r"(?:spot|seam)[ -]weld(?:s|ed)?|weld(?:ed)?[ -](?:nut|stud|flange)s?|weld-through|spark[ -]?plugs?"
        ),
    ),
    "drilling": Topic(
        ("drilling", "hot-work"),
        whole_words(r"drill(?:s|ed|ing)?|hacksaws?|jigsaws?|nibblers?"),
    ),
    "glass": Topic(
        ("glass",),
        whole_words(
            r"glass|panes?|wind[ -]?(?:screen|shield)s?|rear (?:screen|windshield|window)s?"
            r"|quarter[ -](?:light|window)s?|(?:back|door|fixed|hatch|opening|side|tailgate|vent) windows?"
        ),
        whole_words(r"glass[ -](?:fibre|fiber|wool|mat|cloth|filled)s?|wind[ -]?(?:screen|shield) (?:wiper|washer)s?"),
    ),
    "fuel": Topic(
        ("fuel",),
        whole_words(
            r"(?:re[ -]?|de[ -]?)?fuel(?:s|l?ed|l?ing)?|petrol|gasoline|diesel|gas (?:can|cap|line|tank)s?|tanks?"
            r"|s[iy]phon(?:s|ed|ing)?|jerry[ -]?cans?|filler (?:cap|hose|line|neck|pipe)s?|LPG|autogas"
        ),
        whole_words(r"(?:air|catch|coolant|expansion|header|swirl|washer|water) tanks?"),
    ),
    "refrigerant": Topic(
        ("refrigerant",),
        whole_words(
            r"refrigerants?|R[ -]?(?:12|134a|152a|744|1234yf)|(?-i:HFC|HFO)|evaporators?|expansion valves?"
            r"|receiver[ -]dri?ers?|(?:air[ -]?con(?:ditioning|ditioner)?|A/?C)[ -](?:charge|circuit|compressor"
            r"|condenser|fitting|gas|hose|line|part|pipe|port|system|union|valve)(?:es|s)?"
        ),
    ),
    "high-voltage": Topic(
        ("high-voltage",),
        whole_words(
            r"high[ -]voltage|(?-i:HV)|orange (?:cable|conduit|connector|harness|lead|loom|plug|wire)(?:es|s)?"
            r"|(?:drive|hybrid|propulsion|traction) batter(?:y|ies)|battery packs?|inverters?"
            r"|service (?:disconnect|plug)s?|(?<![\d.,])(?:48|[6-9]\d|[1-9]\d{2,3})[ -]?(?:V|volts?)"
        ),
    ),
}
"""What a step may not speak of without meeting the hazard. Volts: 48 V systems, and what is above 60 V DC (ISO 6469-4
s. 5.2.2, secondary copy)."""


class Text(NamedTuple):
    """One text of a step, as it reads, and the key it stands in."""

    key: str
    says: str


def first_spoken(texts: Iterable[Text], topic: Topic) -> Text | None:
    """The first word that speaks of `topic`, and the key it stands in."""
    return next(_spoken(texts, topic), None)


def times_spoken(texts: Iterable[Text], topic: Topic) -> int:
    """How many words speak of `topic`."""
    return sum(1 for _ in _spoken(texts, topic))


def _spoken(texts: Iterable[Text], topic: Topic) -> Iterator[Text]:
    return (Text(text.key, word) for text in texts for word in topic.words_in(text.says))


def texts_of(step: Step) -> tuple[Text, ...]:
    """Everything that whoever does a step reads of it; the reasons under mentions are not shown."""
    texts = [*_texts("", step, ("title", "do", "hurts", "breaks", "keep", "elsewhere"))]
    texts += [Text(f"tools[{n}]", as_it_reads(tool)) for n, tool in enumerate(step.tools)]
    for n, fasteners in enumerate(step.fasteners):
        texts += _texts(f"fasteners[{n}].", fasteners, ("what", "drive", "where"))
    for n, part in enumerate(step.parts):
        texts += _texts(f"parts[{n}].", part, ("name", "material", "buyers_ask", "note"))
    return tuple(texts)


def _texts(path: str, thing: Step | Fasteners | Part, keys: tuple[str, ...]) -> Iterator[Text]:
    said = ((key, getattr(thing, key)) for key in keys)
    return (Text(f"{path}{key}", as_it_reads(text)) for key, text in said if text)
