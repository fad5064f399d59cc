"""How long the packs that ship take to load, beyond importing the program. Run by hand:

python tests/benchmarks/pack_load.py

Each run is a fresh interpreter, so that nothing is warm but the disk. At most 60 ms are allowed.
"""

from __future__ import annotations

import statistics
import subprocess
import sys

ALLOWED_MS = 60.0
RUNS = 11
ONE_LOAD = """
import time
from teardown.packs.reader import load
from teardown.packs.shipped import procedures
begin = time.perf_counter()
load(procedures())
print((time.perf_counter() - begin) * 1000)
"""


def load_ms() -> float:
    """One load in an interpreter of its own."""
    command = [sys.executable, "-c", ONE_LOAD]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def main() -> int:
    """Print the middle and the worst of several loads; fail when the middle one takes too long."""
    times_ms = [load_ms() for _ in range(RUNS)]
    middle_ms = statistics.median(times_ms)
    print(f"load: median {middle_ms:.0f} ms, worst {max(times_ms):.0f} ms of {RUNS} (allowed {ALLOWED_MS:g} ms)")
    return 0 if middle_ms <= ALLOWED_MS else 1


if __name__ == "__main__":
    sys.exit(main())
