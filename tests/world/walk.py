"""Walk a car of the small world, as `teardown walk` and `teardown try` walk one of the packs that ship.

python -m tests.world.walk FOLDER [--rehearsal] [--plain] [--read] [--who NAME]
"""

from __future__ import annotations

import sys

from teardown.car import door
from teardown.cli import main
from tests.world import PROCEDURES


def walk(words: list[str]) -> int:
    """The real commands, with the small world's packs in place of those that ship."""
    door.procedures = lambda: PROCEDURES
    if "--rehearsal" in words:
        words.remove("--rehearsal")
        return main(["try", "--folder", *words])
    return main(["walk", *words])


if __name__ == "__main__":
    sys.exit(walk(sys.argv[1:]))
