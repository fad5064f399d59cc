"""How much dry ice an area of sound-deadening pad takes, and how long the ice must lie."""

from __future__ import annotations

from math import log
from typing import NamedTuple

from teardown.figures.errors import FigureError, between

ICE_C = -78.5
SUBLIMATION_KJ_PER_KG = 571.0
STEEL_KG_PER_M3 = 7800.0
STEEL_J_PER_KG_K = 450.0
PAD_KG_PER_M3 = 1100.0
PAD_J_PER_KG_K = 1000.0
# bitumen sheet; it decides only whether the pad may be taken as one lump, and the longest soak
PAD_W_PER_M_K = 0.23
LUMP_BIOT_LIMIT = 0.1


class ChillResult(NamedTuple):
    """Heat to take out, ice for it, and how long the ice must lie; `lumped` says the soak formula holds."""

    pad_kg: float
    heat_kj: float
    air_heat_kj: float
    ice_kg: float
    soak_min: float
    soak_longest_min: float
    biot: float
    lumped: bool


def chill(
    area_m2: float,
    pad_m: float,
    steel_m: float,
    from_c: float,
    to_c: float,
    contact_w_per_m2_k: float = 60.0,
    air_w_per_m2_k: float = 10.0,
    pad_kg_per_m3: float = PAD_KG_PER_M3,
) -> ChillResult:
    """Heat in a pad and the panel under it, the dry ice that takes it out, and the soak.

    Heat = area x (pad + steel: density x thickness x specific heat) x (from - to). The soak is that of one lump cooled
    through its contact with the ice: time = heat capacity / contact x ln((from - ice) / (to - ice)). Over that time
    the room warms the ice through its cover, and the panel from below, at the whole difference from room to ice:
    a stated assumption, on the high side. The cold left in the gas is not counted.

    Parameters
    ----------
    area_m2 : area the ice lies on [m2], 0 to 50
    pad_m : thickness of the pad [m], 0 to 0.02
    steel_m : thickness of the panel [m], 0.0001 to 0.01
    from_c : temperature of pad, panel and room [C], to 60
    to_c : temperature wanted [C], above -78.5 and below `from_c`
    contact_w_per_m2_k : heat transfer from pad to ice [W/m2K], 1 to 2000; broken ice touches badly (assumption)
    air_w_per_m2_k : heat transfer from the room, cover and underside together [W/m2K], 0 to 100 (assumption)
    pad_kg_per_m3 : density of the pad [kg/m3], 500 to 3000; a filled sheet is about 2000 (maker's sheet)

    Returns the pad's mass, the heat in pad and panel and from the room [kJ], the ice for both [kg], the soak [min] and
    the longest it can be: the whole heat drawn through the whole pad, which conducts 0.23 W/mK (from memory).

    Limits of validity: one lump holds while contact x pad / conductivity (the Biot number) is at most 0.1. Above it
    `lumped` is False: the face under the ice is colder than the steel, and the real soak lies between the two times.

    Refuses values outside the limits, and a temperature that ice cannot reach.

    Source: steel 7800 kg/m3, 450 J/kgK, bitumen sheet 1100, 1000, ISO 10456:2007 table 3 (secondary copy); ice at
    -78.5 C, FAA AC 91-76A item 3a (read); 571 kJ/kg, handbook (secondary copy); lump and Biot number, Incropera,
    Fundamentals of Heat and Mass Transfer, ch. 5.1-5.2 (from memory, not seen).

    >>> one_pad = chill(area_m2=1.5, pad_m=0.0025, steel_m=0.0008, from_c=20, to_c=-40)
    >>> round(one_pad.heat_kj, 1), round(one_pad.ice_kg, 2), round(one_pad.soak_min, 2)
    (500.2, 1.1, 1.45)
    """
    between("the area", area_m2, 0, 50, "m2")
    between("the pad", pad_m * 1000, 0, 20, "mm")
    between("the steel", steel_m * 1000, 0.1, 10, "mm")
    between("the contact", contact_w_per_m2_k, 1, 2000, "W/m2K")
    between("the warmth from the room", air_w_per_m2_k, 0, 100, "W/m2K")
    between("the pad's density", pad_kg_per_m3, 500, 3000, "kg/m3")
    _check_temperatures(from_c, to_c)
    capacity_j_per_m2_k = pad_kg_per_m3 * pad_m * PAD_J_PER_KG_K + STEEL_KG_PER_M3 * steel_m * STEEL_J_PER_KG_K
    heat_kj = area_m2 * capacity_j_per_m2_k * (from_c - to_c) / 1000
    time_constants = log((from_c - ICE_C) / (to_c - ICE_C))
    soak_s = capacity_j_per_m2_k / contact_w_per_m2_k * time_constants
    through_pad_s = capacity_j_per_m2_k * (1 / contact_w_per_m2_k + pad_m / PAD_W_PER_M_K) * time_constants
    air_heat_kj = area_m2 * air_w_per_m2_k * (from_c - ICE_C) * soak_s / 1000
    biot = contact_w_per_m2_k * pad_m / PAD_W_PER_M_K
    return ChillResult(
        pad_kg=area_m2 * pad_m * pad_kg_per_m3,
        heat_kj=heat_kj,
        air_heat_kj=air_heat_kj,
        ice_kg=(heat_kj + air_heat_kj) / SUBLIMATION_KJ_PER_KG,
        soak_min=soak_s / 60,
        soak_longest_min=through_pad_s / 60,
        biot=biot,
        lumped=biot <= LUMP_BIOT_LIMIT,
    )


def _check_temperatures(from_c: float, to_c: float) -> None:
    between("the start", from_c, ICE_C, 60, "C")
    if not to_c > ICE_C:
        raise FigureError(f"Dry ice is at {ICE_C:g} C, so nothing under it gets down to {to_c:g} C.")
    if to_c >= from_c:
        raise FigureError(f"It starts at {from_c:g} C, so {to_c:g} C is no cooling: ask for less than it starts at.")
