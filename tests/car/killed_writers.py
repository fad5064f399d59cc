"""Kills writers of a log with SIGKILL, one after another, and counts what they had confirmed. Run by test_log_crash.

Each writer is a process of its own: it opens the log, appends as fast as the disk lets it, and tells every entry down a
pipe once `append` has returned it. Only the log is imported, so that two hundred of them take seconds.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from collections import Counter
from pathlib import Path
from typing import NoReturn

from teardown.car.clock import SystemClock
from teardown.car.log import read_log
from teardown.car.logwriter import open_for_writing

LONGEST_LIFE_S = 0.012
KILLED_WHILE_OPENING = 0.2
OPENED = b"opened\n"


def write_until_killed(path: Path, pipe: int) -> NoReturn:
    with open_for_writing(path, SystemClock(), lambda entry: None) as log:
        os.write(pipe, OPENED)
        while True:
            entry = log.append("Ana", "note", {"pid": os.getpid(), "text": "x" * (os.getpid() % 4000)})
            os.write(pipe, f"{entry.n} {entry.digest}\n".encode())


def kill_one(path: Path, life_s: float, *, wait: bool) -> dict[int, str]:
    """Start a writer, let it live so long (once it has opened, if we wait for that), kill it; what it confirmed."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        try:
            os.close(reading)
            write_until_killed(path, writing)
        finally:
            os._exit(1)
    os.close(writing)
    if wait:
        os.read(reading, len(OPENED))
    time.sleep(life_s)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    with os.fdopen(reading, "rb") as told:
        lines = told.read().decode().splitlines()
    confirmed = {int(n): digest for n, digest in (line.split() for line in lines if line.count(" ") == 1)}
    return confirmed if os.WTERMSIG(status) == signal.SIGKILL else {0: f"the writer ended by itself: {status}"}


def kill(path: Path, times: int, seed: int) -> dict[str, int]:
    """Kill so many writers; what they had confirmed, and what of it the log still holds."""
    chance, counts = random.Random(seed), Counter[str]()
    confirmed: dict[int, str] = {}
    unconfirmed = 0
    for _ in range(times):
        before = len(confirmed) + unconfirmed
        wait = chance.random() > KILLED_WHILE_OPENING
        ours = kill_one(path, chance.uniform(0, LONGEST_LIFE_S), wait=wait)
        standing = {entry.n: entry.digest for entry in read_log(path) if entry.n > before}
        counts["lost"] += sum(standing.get(n) != digest for n, digest in ours.items())
        counts["writers that confirmed something"] += bool(ours)
        counts["writers whose last entry stands unconfirmed"] += len(standing) - len(ours) == 1
        counts["writers with more than one entry unconfirmed"] += len(standing) - len(ours) > 1
        confirmed |= ours
        unconfirmed += len(standing) - len(ours)
    standing = {entry.n: entry.digest for entry in read_log(path)}
    counts["confirmed"] = len(confirmed)
    counts["lost at the end"] = sum(standing.get(n) != digest for n, digest in confirmed.items())
    return dict(counts)


if __name__ == "__main__":
    print(json.dumps(kill(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))))
