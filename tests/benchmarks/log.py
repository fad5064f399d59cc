"""How long a log of 100 000 entries takes to open, in what memory; and what an entry costs beyond its sync.

    python tests/benchmarks/log.py

Three logs are opened, each in an interpreter of its own, by the door, to write, with the collector at rest as in every
command: the sample car's again and again, every kind of the sample as often as every other, and notes alone. On a
machine that does other work too, the time the processor spent is what the time taken would be without it. Status 1 when
a figure is over its limit.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Any

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE))

from teardown.car.clock import Instant, SystemClock  # noqa: E402
from teardown.car.door import Car, begin_log, open_car  # noqa: E402
from teardown.car.log import FORMAT, START, Entry, line_of, read_log  # noqa: E402
from tests.world.clock import HandClock  # noqa: E402

SAMPLE = HOUSE / "sample_car"
ENTRIES = 100_000
OPEN_S, OPEN_MB, COST_MS = 1.5, 250.0, 2.0
ROUNDS = 5

OPENING = """
import sys, time
from pathlib import Path
from teardown.car.clock import SystemClock
from teardown.car.door import open_car
from teardown.collector import collector_at_rest
began, busy = time.perf_counter(), time.process_time()
with collector_at_rest(), open_car(Path(sys.argv[1]), SystemClock(), write=True) as car:
    car.now()
    took, busy = time.perf_counter() - began, time.process_time() - busy
    entries = car.folded.entries
peak = next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(entries, took, busy, int(peak) / 1024)
"""


Said = tuple[Instant, str, str, dict[str, Any]]
"""What goes into one line: when, who, of what kind, and its fields."""


def main() -> int:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "car"
        folder.mkdir()
        shutil.copy(SAMPLE / "car.toml", folder)
        over = [opens(folder, name, said) for name, said in LOGS.items()]
        over.append(an_entry_costs(folder))
    return int(any(over))


def write_log(path: Path, said: Iterator[Said]) -> None:
    """Without a sync for each entry."""
    digest = START
    with open(path, "wb") as file:
        for n in range(1, ENTRIES + 1):
            at, who, kind, fields = next(said)
            line, entry = line_of(n, at, who, kind, fields, digest)
            file.write(line)
            digest = entry.digest


def the_sample_again_and_again() -> Iterator[Said]:
    """As if the same work were done each month."""
    month = list(read_log(SAMPLE / "log.jsonl"))
    clock = HandClock()
    for again in count():
        for place, entry in enumerate(month):
            pass_time(clock, month[place - 1] if place else None, entry)
            fields = fields_of(entry, again * len(month), first=not again and not place)
            yield clock.now(), entry.who, entry.kind, fields


def each_kind_alike() -> Iterator[Said]:
    """Every 20 seconds the next kind of the sample; the dear ones, few in the sample, are then many."""
    kinds: dict[str, list[Entry]] = {}
    for entry in read_log(SAMPLE / "log.jsonl"):
        kinds.setdefault(entry.kind, []).append(entry)
    clock = HandClock()
    for turn in count():
        for kind, entries in kinds.items():
            entry = entries[turn % len(entries)]
            yield clock.now(), entry.who, kind, fields_of(entry, 0, first=turn == 0 and kind == "opened")
            clock.advance(20)


def notes() -> Iterator[Said]:
    clock = HandClock()
    yield clock.now(), "Ines", "opened", {"format": FORMAT, "program": "benchmark"}
    for n in count():
        clock.advance(20)
        yield clock.now(), "Ines", "note", {"text": f"note {n}"}


LOGS: dict[str, Callable[[], Iterator[Said]]] = {
    "the sample again and again": the_sample_again_and_again,
    "each kind of the sample alike": each_kind_alike,
    "notes": notes,
}


def pass_time(clock: HandClock, before: Entry | None, entry: Entry) -> None:
    """As long as in the sample; a month between one time and the next."""
    if before is None:
        clock.reboot(30 * 24 * 3600)
        return
    passed = datetime.fromisoformat(entry.at.utc) - datetime.fromisoformat(before.at.utc)
    if entry.at.boot == before.at.boot:
        clock.advance(passed.total_seconds())
    else:
        clock.reboot(passed.total_seconds())


def fields_of(entry: Entry, shift: int, first: bool) -> dict[str, Any]:
    """What an undo takes back moves along; the log is that of a car, not a rehearsal."""
    if entry.kind == "undo":
        return {"entry": entry.fields["entry"] + shift}
    return {"format": FORMAT, "program": "benchmark"} if first else entry.fields


def opens(folder: Path, name: str, said: Callable[[], Iterator[Said]]) -> bool:
    write_log(folder / "log.jsonl", said())
    took_s, busy_s, peak_mb = zip(*(one_opening(folder) for _ in range(ROUNDS)), strict=True)
    median_s, most_mb = statistics.median(took_s), max(peak_mb)
    print(
        f"{ENTRIES:,} entries, {name}: open in {median_s:.2f} s (limit {OPEN_S:g}), "
        f"the processor busy for {statistics.median(busy_s):.2f} s, {most_mb:.0f} MB (limit {OPEN_MB:g})"
    )
    return median_s > OPEN_S or most_mb > OPEN_MB


def one_opening(folder: Path) -> tuple[float, float, float]:
    command = [sys.executable, "-c", OPENING, str(folder)]
    done = subprocess.run(command, cwd=HOUSE, capture_output=True, text=True, check=True)
    entries_read, took_s, busy_s, peak_mb = done.stdout.split()
    assert int(entries_read) == ENTRIES
    return float(took_s), float(busy_s), float(peak_mb)


def an_entry_costs(folder: Path) -> bool:
    """From the words to the folded state, without the time the disk takes to sync."""
    (folder / "log.jsonl").unlink()
    begin_log(folder, SystemClock(), "Ines")
    with open_car(folder, SystemClock(), write=True) as car:
        beyond_ms = [1000 * beyond_its_sync_s(car, n) for n in range(500)]
    median_ms, worst_ms = statistics.median(beyond_ms), statistics.quantiles(beyond_ms, n=100)[98]
    print(f"an entry beyond its sync: median {median_ms:.2f} ms, p99 {worst_ms:.2f} ms (limit {COST_MS:g})")
    return worst_ms > COST_MS


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
