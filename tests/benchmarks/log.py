"""How long a log of 100 000 entries takes to open, in what memory; and what an entry costs beyond its sync.

    python tests/benchmarks/log.py

The log is as varied as a real one: statements, readings, weights, notes, undos, over many days. It is opened in an
interpreter of its own, by the door, to write. Status 1 when a figure is over its limit.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE))

from teardown.car.clock import SystemClock  # noqa: E402
from teardown.car.door import Car, open_car  # noqa: E402
from teardown.car.log import FORMAT, START, line_of  # noqa: E402
from teardown.packs.shipped import procedures  # noqa: E402
from tests.world import FACTS, PROCEDURES  # noqa: E402
from tests.world.clock import HandClock  # noqa: E402

ENTRIES = 100_000
OPEN_S, OPEN_MB, COST_MS = 1.5, 250.0, 2.0
ROUNDS = 5

OPENING = """
import sys, time
from pathlib import Path
from teardown.car.clock import SystemClock
from teardown.car.door import open_car
began = time.perf_counter()
with open_car(Path(sys.argv[1]), SystemClock(), write=True, packs=Path(sys.argv[2])) as car:
    car.now()
    took = time.perf_counter() - began
    entries = car.folded.entries
peak = next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(entries, took, int(peak) / 1024)
"""


def main() -> int:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "car"
        folder.mkdir()
        (folder / "car.toml").write_text(FACTS)
        write_log(folder / "log.jsonl")
        over = [opens(folder, PROCEDURES), opens(folder, procedures()), an_entry_costs(folder)]
    return int(any(over))


def write_log(path: Path) -> None:
    """All entries at once, without a sync for each."""
    clock, digest = HandClock(), START
    with open(path, "wb") as file:
        for n, (kind, fields) in enumerate(entries(), start=1):
            clock.advance(2 * 60 if n % 50 else 14 * 3600)
            line, entry = line_of(n, clock.now(), "Ana" if n % 3 else "Bo", kind, fields, digest)
            file.write(line)
            digest = entry.digest


def entries() -> Iterator[tuple[str, dict[str, Any]]]:
    yield "opened", {"format": FORMAT, "program": "benchmark"}
    for n in range(2, ENTRIES + 1):
        yield entry_of(n)


def entry_of(n: int) -> tuple[str, dict[str, Any]]:
    kinds: tuple[tuple[str, dict[str, Any]], ...] = (
        ("resumed", {"power": "no", "doors": "no", "people": "no"}),
        ("people-here", {"count": 2}),
        ("gate-tick", {"gate": "battery", "tick": 1, "says": "Negative off, tied back."}),
        ("gate-tick", {"gate": "battery", "tick": 2, "says": "Positive off, capped."}),
        ("gate-tick", {"gate": "battery", "tick": 3, "says": "Tag hung."}),
        ("gate-reading", {"gate": "ice-meter", "value": "900ppm", "number": 900.0}),
        ("part-weighed", {"part": "driver-seat", "reading": "19.4kg", "how": "direct", "wet": False, "mass_kg": 19.4}),
        ("note", {"text": f"note {n}: terminal is green, cleaned with a brush", "step": "safe.isolate"}),
        ("undo", {"entry": n - 1}),
        ("power-restored", {"why": "a lamp was noticed"}),
    )
    return kinds[n % len(kinds)]


def opens(folder: Path, packs: Path) -> bool:
    name = "the packs that ship" if packs != PROCEDURES else "the small world's packs"
    runs = [one_opening(folder, packs) for _ in range(ROUNDS)]
    took_s = statistics.median(seconds for seconds, _ in runs)
    peak_mb = max(peak for _, peak in runs)
    print(
        f"{ENTRIES:,} entries, {name}: opened in {took_s:.2f} s (limit {OPEN_S:g}), {peak_mb:.0f} MB (limit {OPEN_MB:g})"
    )
    return took_s > OPEN_S or peak_mb > OPEN_MB


def one_opening(folder: Path, packs: Path) -> tuple[float, float]:
    command = [sys.executable, "-c", OPENING, str(folder), str(packs)]
    done = subprocess.run(command, cwd=HOUSE, capture_output=True, text=True, check=True)
    entries_read, took_s, peak_mb = done.stdout.split()
    assert int(entries_read) == ENTRIES
    return float(took_s), float(peak_mb)


def an_entry_costs(folder: Path) -> bool:
    """From the words to the folded state, without the time the disk takes to sync."""
    (folder / "log.jsonl").unlink()
    (folder / "log.jsonl").write_bytes(line_of(1, SystemClock().now(), "Ana", *next(entries()), START)[0])
    with open_car(folder, SystemClock(), write=True, packs=procedures()) as car:
        beyond_ms = [1000 * beyond_its_sync_s(car, n) for n in range(500)]
    worst_ms = statistics.quantiles(beyond_ms, n=100)[98]
    median_ms = statistics.median(beyond_ms)
    print(
        f"an entry beyond its sync: median {median_ms:.2f} ms, p99 {worst_ms:.2f} ms (limit {COST_MS:g} for the median)"
    )
    return median_ms > COST_MS


def beyond_its_sync_s(car: Car, n: int) -> float:
    synced: list[float] = []
    sync = os.fsync

    def timed(descriptor: int) -> None:
        began = time.perf_counter()
        sync(descriptor)
        synced.append(time.perf_counter() - began)

    os.fsync = timed
    try:
        began = time.perf_counter()
        car.enter("note", {"text": f"note {n}"}, "Ana")
        return time.perf_counter() - began - sum(synced)
    finally:
        os.fsync = sync


if __name__ == "__main__":
    sys.exit(main())
