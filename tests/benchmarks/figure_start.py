"""How long `teardown figure` takes to start, against a bare interpreter that imports rich.

    python tests/benchmarks/figure_start.py [ROUNDS]

The two are started in turn, so that a busy machine slows both; the ratio is that of the medians. Status 1 when the
ratio is over the limit. A figure that needs no scipy is measured: `air`, from its flags to its printed page.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

LIMIT = 2.5
BARE = [sys.executable, "-c", "import rich"]
FIGURE = [
    sys.executable,
    *("-m", "teardown", "figure", "air"),
    *("--ice", "13.6kg", "--room", "6x6x2.4m", "--air-changes", "2", "--over", "60min"),
]


def main(rounds: int) -> int:
    """Print both medians and their ratio."""
    pairs = [(seconds(BARE), seconds(FIGURE)) for _ in range(rounds)]
    bare_ms, figure_ms = (1000 * statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = figure_ms / bare_ms
    print(f"import rich {bare_ms:.1f} ms, teardown figure air {figure_ms:.1f} ms, ratio {ratio:.2f} (limit {LIMIT})")
    return int(ratio > LIMIT)


def seconds(command: list[str]) -> float:
    """The time from start to exit of one command."""
    began = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 21))
