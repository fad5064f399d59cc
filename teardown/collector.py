"""Python's garbage collector, at times when nothing that is made is garbage: it would only look at everything again."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Nothing is collected inside; afterwards it is as it was."""
    was_at_work = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_at_work:
            gc.enable()


def wake_collector() -> None:
    """Collect again, and never look at what has been made so far: it stays."""
    gc.freeze()
    gc.enable()
