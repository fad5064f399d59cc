"""What the scrap yard pays for apart: groups of material, and what a part of the packs is to the yard.

A mixed load is paid as its worst part; a yard takes steel with what is bolted or foamed to it as light iron, and wire
with its insulation as cable. Groups, and what falls into which: common practice. The yard's own words win.
"""

from __future__ import annotations

from typing import Literal, get_args

from teardown.nearest import did_you_mean

Group = Literal[
    "light iron",
    "aluminium",
    "copper and cable",
    "lead battery",
    "electronics",
    "glass",
    "rubber",
    "plastic and textile",
    "mixed",
    "no scrap",
]
NO_SCRAP: Group = "no scrap"
"""What no yard takes: live modules, lithium, gas and fluids. They are handed over, with a paper."""
MIXED: Group = "mixed"
GROUPS: tuple[Group, ...] = tuple(group for group in get_args(Group) if group != NO_SCRAP)
"""Those that a weigh ticket can name."""

_OTHER_WORDS: dict[Group, str] = {
    "light iron": "steel; iron; ferrous; ferrous metal; sheet iron; light steel",
    "copper and cable": "copper; cable; wire; loom; looms; copper cable",
    "lead battery": "battery; batteries; lead; lead batteries; lead-acid battery",
    "electronics": "electronic scrap; circuit boards",
    "rubber": "tyres",
    "plastic and textile": "plastic; plastics; textile; textiles; foam; carpet",
    "mixed": "mixed metal; mixed waste",
    "no scrap": "lithium; lithium battery; lithium batteries; airbag; airbags; inflators; refrigerant; petrol; diesel",
}
"""What people and yards call them besides. An alloy may be of magnesium: it is none of these."""

_MATERIALS: dict[Group, str] = {
    "light iron": """steel; steel, aluminium; steel, aluminium, nylon; steel, ferrite; steel, foam;
        steel, foam, motors; steel, polyamide; steel, polystyrene or polypropylene foam; steel, rubber;
        steel, webbing""",
    "aluminium": "aluminium, gauges; aluminium, suede; aluminium, webbing",
    "copper and cable": "copper, ABS; copper, PVC",
    "lead battery": "lead, acid, polypropylene",
    "electronics": """ABS, electronics; aluminium, electronics; electronics; electronics, steel; plastic, copper;
        polypropylene, electronics""",
    "glass": "laminated glass; tempered glass; tempered or laminated glass",
    "rubber": "EPDM rubber; EPDM rubber, steel core",
    "plastic and textile": """ABS; EVA heavy layer, felt; PE or EVA foam, butyl; PVC; carpet or rubber;
        cotton or polyester felt, polyurethane foam; felt, polypropylene; fibreboard, carpet; fibreboard, felt; foam;
        foam, felt, EVA heavy layer; foam, polypropylene; glass fibre and foam board, fabric; glass-fibre or PET felt;
        leather, ABS; polyamide, foam; polyester pile, EVA or polyethylene backing; polyethylene;
        polyethylene foam, polypropylene; polypropylene; polypropylene or ABS; polypropylene or ABS, cloth;
        polypropylene or felt; polypropylene, ABS; polypropylene, ABS, foam; polypropylene, cloth;
        polypropylene, cloth, ABS; polypropylene, felt; polypropylene, foam; webbing, steel""",
    "mixed": """aluminium or steel; aluminium, steel; aluminium, steel, polypropylene; bitumen sheet; bitumen, butyl;
        composite or steel; felt, bitumen; felt, foil; fibreboard, steel tube; foam, steel; foam, steel wire, cloth;
        foam, steel, ABS; glass, ABS; glass, steel; magnesium or steel, leather; nylon, copper foil; nylon, steel;
        paint; polypropylene, aluminium, copper, steel; polypropylene, steel; steel, copper;
        steel, or magnesium and aluminium; tempered glass, steel frame; zinc, steel""",
    "no scrap": """absorbed-acid or lithium battery, steel; copper, plastic, pyrotechnic; glycol, water;
        petrol or diesel; refrigerant gas (HFC or HFO); steel, agent; steel, fabric, pyrotechnic or gas;
        steel, pyrotechnic; steel, pyrotechnic, fabric; steel, webbing, pyrotechnic""",
}
"""Every material of the packs that ship. What may be magnesium is mixed until somebody knows: it burns, and goes
alone."""

_AMERICAN = (("aluminum", "aluminium"), ("fiber", "fibre"), ("gasoline", "petrol"), ("tires", "tyres"))


def _by_text(table: dict[Group, str]) -> dict[str, Group]:
    return {" ".join(text.split()).casefold(): group for group, texts in table.items() for text in texts.split(";")}


_NAMES: dict[str, Group] = {group: group for group in GROUPS} | _by_text(_OTHER_WORDS)
_GROUP_OF = _by_text(_MATERIALS) | _NAMES


def group_of(material: str) -> Group | None:
    """The group of a pack's material or of a word on a weigh ticket; None when nobody has said.

    >>> group_of("Steel, foam, motors"), group_of("aluminum"), group_of("kryptonite")
    ('light iron', 'aluminium', None)
    """
    return _GROUP_OF.get(_british(material))


def why_not_weighed(material: str) -> str | None:
    """Why no yard weighs that by itself, or None when one would."""
    group = group_of(material)
    if group == NO_SCRAP:
        return f"{material} is no scrap: enter handed-over, with the paper of who took it"
    if group is not None:
        return None
    names = [name for name, group in _NAMES.items() if group != NO_SCRAP]
    return f"no scrap is called {material}{did_you_mean(_british(material), names)}: {', '.join(GROUPS)}"


def _british(material: str) -> str:
    text = " ".join(material.split()).casefold()
    for american, british in _AMERICAN:
        text = text.replace(american, british)
    return text
