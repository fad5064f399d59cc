"""How quickly the walk screen starts and answers, and what it takes, against a bare Textual and pydantic application.

    python tests/benchmarks/screen.py [ROUNDS]

Both run in a pseudo-terminal of 60 x 18, turn by turn, so that a busy machine slows both. Measured from outside, up to
the moment the paint came out of the program. Status 1 when a figure is over its limit.
"""

from __future__ import annotations

import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count, cycle, islice
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE))

from tests.terminal.pty import KEYS, Terminal  # noqa: E402

COLUMNS, ROWS = 60, 18
BARE = [sys.executable, "-m", "tests.benchmarks.bare"]
PROGRAM = [sys.executable, "-m", "teardown"]
START_RATIO, KEY_RATIO = 1.3, 2.0
PEAK_MB, GROWTH_MB = 60.0, 3.0
KEYS_A_ROUND, STEPS_TURNED = 40, 3000
SETTLE_S = 0.05
"""Between keys, so that one paint is over before the next is asked for."""


def main(rounds: int) -> int:
    with tempfile.TemporaryDirectory() as scratch:
        car = Path(scratch) / "car"
        new = [*PROGRAM, "new", str(car), "--kerb", "1300kg", "--goal", "1100kg", "--no-questions"]
        subprocess.run(new, cwd=HOUSE, check=True, stdout=subprocess.DEVNULL)
        over = [
            compare_starts(car, rounds),
            compare_keys(car, rounds),
            memory(car),
            memory_of_the_sample(Path(scratch)),
        ]
    return int(any(over))


@contextmanager
def running(command: list[str], ready: str) -> Iterator[Terminal]:
    with Terminal(command, COLUMNS, ROWS, cwd=str(HOUSE)) as terminal:
        terminal.wait_for(ready)
        yield terminal


def walk(car: Path) -> list[str]:
    return [*PROGRAM, "walk", str(car)]


# -- start


def compare_starts(car: Path, rounds: int) -> bool:
    start_s(BARE, "[key] next"), start_s(walk(car), "[space] done")  # once to warm the disk's cache
    pairs = [(start_s(BARE, "[key] next"), start_s(walk(car), "[space] done")) for _ in range(rounds)]
    bare_s, ours_s = (statistics.median(times) for times in zip(*pairs, strict=True))
    return told(
        "start to first usable paint",
        f"bare {bare_s * 1000:.0f} ms, walk {ours_s * 1000:.0f} ms",
        ours_s / bare_s,
        START_RATIO,
    )


def start_s(command: list[str], ready: str) -> float:
    with Terminal(command, COLUMNS, ROWS, cwd=str(HOUSE)) as terminal:
        return terminal.wait_for(ready) - terminal.began_s


# -- keys


def compare_keys(car: Path, rounds: int) -> bool:
    bare_s: list[float] = []
    ours_s: list[float] = []
    with running(BARE, "[key] next") as bare, running(walk(car), "[space] done") as ours:
        bare_turned, ours_turned = bare_turns(bare), walk_turns(ours)
        for _ in range(rounds):
            bare_s += islice(bare_turned, KEYS_A_ROUND)
            ours_s += islice(ours_turned, KEYS_A_ROUND)
    over = False
    for name, share in (("p50", 49), ("p99", 98)):
        bare_ms, ours_ms = (1000 * statistics.quantiles(times, n=100)[share] for times in (bare_s, ours_s))
        figures = f"bare {bare_ms:.1f} ms, walk {ours_ms:.1f} ms"
        over |= told(f"key to paint, {name} of {len(ours_s)}", figures, ours_ms / bare_ms, KEY_RATIO)
    return over


def bare_turns(terminal: Terminal) -> Iterator[float]:
    for n in count(1):
        yield key_s(terminal, "right", re.compile(rf"step {n}\."))


def walk_turns(terminal: Terminal, settle_s: float = SETTLE_S) -> Iterator[float]:
    """Forth to the last step, then back to the first, with two keys in turn: one alone would look like a held key."""
    here, steps = position(terminal)
    way = [*range(here + 1, steps + 1), *range(steps - 1, 0, -1), *range(2, here + 1)]
    for n, following in enumerate(cycle(way)):
        keys = ("right", "n") if following > here else ("left", "b")
        yield key_s(terminal, keys[n % 2], re.compile(rf"^{following}/{steps}  ", re.MULTILINE), settle_s)
        here = following


def position(terminal: Terminal) -> tuple[int, int]:
    found = re.search(r"^(\d+)/(\d+)  ", terminal.text, re.MULTILINE)
    assert found, terminal.text
    return int(found[1]), int(found[2])


def key_s(terminal: Terminal, key: str, shows: re.Pattern[str], settle_s: float = SETTLE_S) -> float:
    while terminal.take(settle_s):
        pass
    struck_s = time.perf_counter()
    terminal.send(KEYS.get(key, key.encode()))
    return terminal.wait_until(shows.search, shows.pattern) - struck_s


# -- memory


def memory(car: Path) -> bool:
    with running(walk(car), "[space] done") as terminal:
        peak_mb = terminal.memory_kb() / 1024
        over = told("peak memory at the walk card", "a new car", peak_mb, PEAK_MB, "MB")
        turned = walk_turns(terminal, settle_s=0.02)
        next(islice(turned, 100, None))
        before_mb = terminal.memory_kb("VmRSS") / 1024
        next(islice(turned, STEPS_TURNED, None))
        growth_mb = terminal.memory_kb("VmRSS") / 1024 - before_mb
    return over | told(
        f"growth over {STEPS_TURNED} steps turned", f"from {before_mb:.1f} MB", growth_mb, GROWTH_MB, "MB"
    )


def memory_of_the_sample(scratch: str) -> bool:
    """A car half way through, with a few hundred entries."""
    command = [*PROGRAM, "try", "--folder", f"{scratch}/sample"]
    with running(command, "What has happened since?") as terminal:
        for question in ("DOORS", "PEOPLE", "[space] done"):
            terminal.press("3", question)
        return told("peak memory at the walk card", "the sample car", terminal.memory_kb() / 1024, PEAK_MB, "MB")


def told(what: str, figures: str, value: float, limit: float, unit: str = "") -> bool:
    """Print one figure beside its limit; whether it is over."""
    is_ratio = not unit
    print(
        f"{what}: {figures}, {'ratio ' if is_ratio else ''}{value:.2f} {unit}".rstrip() + f" (limit {limit:g})",
        flush=True,
    )
    return value > limit


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 9))
