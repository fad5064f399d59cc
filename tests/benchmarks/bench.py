"""Whether the parts bench stays quick with 5 000 parts, against 50 on the same 50 steps.

    python tests/benchmarks/bench.py [KEYS]

Both cars are walked in this process, turn by turn, so that a busy machine slows both. Two ratios are held to the limit:
of the medians of opening the bench, and of the 99th percentiles from key to painted screen. The keys are the cursor's
and the fates', so that writing and syncing an entry is in it. Status 1 when a ratio is over the limit.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import NamedTuple

from teardown.car.door import open_car
from tests.car.tally import TALLY_FACTS
from tests.screens.hand import Hand, walking
from tests.world import PROCEDURES, World

LIMIT = 3.0
FEW, MANY, STEPS = 50, 5000, 50
TURN = ("down", "s", "pagedown", "x", "up", "k", "pageup", "r", "down", "c")


class Times(NamedTuple):
    opening_s: list[float]
    keys_s: list[float]


def main(keys: int) -> int:
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        cars = {parts: stack.enter_context(walked(Path(folder) / str(parts), parts)) for parts in (FEW, MANY)}
        times = {parts: Times([], []) for parts in cars}
        for turn in range(keys // len(TURN)):
            for parts, hand in cars.items():
                one_turn(hand, times[parts], first=turn == 0)
    return report(times)


def one_turn(hand: Hand, times: Times, first: bool) -> None:
    began = time.perf_counter()
    hand.press("k")
    opening_s = time.perf_counter() - began
    keys_s = []
    for key in TURN:
        began = time.perf_counter()
        hand.press(key)
        keys_s.append(time.perf_counter() - began)
    hand.press("backspace")
    if not first:  # the first turn warms what every later one shares
        times.opening_s.append(opening_s)
        times.keys_s.extend(keys_s)


def report(times: dict[int, Times]) -> int:
    few, many = times[FEW], times[MANY]
    opening = [1000 * statistics.median(one.opening_s) for one in (few, many)]
    keys = [1000 * statistics.quantiles(one.keys_s, n=100)[98] for one in (few, many)]
    worst = 0.0
    for what, (few_ms, many_ms) in (("opening, median", opening), ("key to paint, p99", keys)):
        ratio = many_ms / few_ms
        worst = max(worst, ratio)
        print(
            f"{what}: {FEW} parts {few_ms:.1f} ms, {MANY} parts {many_ms:.1f} ms, ratio {ratio:.2f} (limit {LIMIT:g})"
        )
    return int(worst > LIMIT)


@contextmanager
def walked(folder: Path, parts: int) -> Iterator[Hand]:
    """A car with that many parts on a fixed number of steps, walked in a window of 80 x 24."""
    packs = folder / "packs"
    shutil.copytree(PROCEDURES, packs)
    (packs / "d-many.toml").write_text(many_parts(parts))
    world = World(folder / "car", TALLY_FACTS)
    world.car.close()
    world.car = open_car(world.folder, world.clock, write=True, packs=packs)
    with walking(world, 80, 24) as hand:
        yield hand
    world.car.close()


def many_parts(parts: int) -> str:
    """A pack of that many parts on `STEPS` steps."""
    lines = ['id = "many"', 'title = "Many"', 'why = "To measure."', 'follows = ["finish"]']
    for step in range(STEPS):
        lines += [
            "[[steps]]",
            f'id = "step-{step}"',
            f'title = "Step {step}"',
            'do = "Take it."',
            "minutes = [1, 2, 3]",
        ]
        for part in range(parts // STEPS):
            lines += [
                "[[steps.parts]]",
                f'id = "part-{step}-{part}"',
                f'name = "Part {step} {part}"',
                "kg = [0.1, 0.2, 0.3]",
                'material = "plastic"',
                'place = { x = 0.5, y = "0", z = 0.5 }',
                'fate = "sell"',
            ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 300))
