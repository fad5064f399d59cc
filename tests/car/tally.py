"""A car to weigh, sell and close: the small world's car with corners, scales and money."""

from __future__ import annotations

from pathlib import Path

from teardown.car.balance import Balances, balances
from tests.world import World

TALLY_FACTS = """
name = "Test car"
goal = "1000kg"
kerb = "1200kg"
who = ["Ana"]
wheelbase = "2.60m"
track_front = "1.50m"
height = "0.55m"
[fitted]
hybrid = false
[rules.door-cards]
keep = false
rule = "4.2"
date = 2026-01-31
[scales.pads]
name = "pads"
step = "0.5kg"
repeats = "1kg"
[scales.parts]
name = "bench scale"
step = "0.02kg"
[money]
currency = "EUR"
paid = 1200
cap = 500
cap_rule = "2.1"
cap_counts = ["purchase", "fitting"]
cap_sales = "net"
cap_sales_limit = 800
packing = 4
carriage_per_kg = 0.5
hour_floor = 10
"""


def tally_world(folder: Path, text: str = TALLY_FACTS) -> World:
    return World(folder, text)


def known_balances(world: World) -> Balances:
    found = balances(world.state)
    assert isinstance(found, Balances), found
    return found


def mats_count_as(world: World, counts: str, material: str = "rubber") -> None:
    """The same mats as another kind of part: a fluid, or one that a step puts on."""
    parts = world.car.folded.route.parts
    changed = parts["mats"].part.model_copy(update={"counts": counts, "material": material})
    parts["mats"] = parts["mats"]._replace(part=changed)  # type: ignore[index]


def mats_off(world: World) -> None:
    """The one part of the small world that comes off past no gate."""
    if world.state.mark("safe.look") is None:
        world.done("step-done", step="safe.look")
    world.done("step-done", step="safe.mats")
