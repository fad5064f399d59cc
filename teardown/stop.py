"""How a command ends: the exit statuses, and the sentence that goes with them."""

from __future__ import annotations

DONE, WRONG_USE, REFUSED, LOG_DAMAGED, CANNOT_WRITE = 0, 2, 3, 4, 5


class Stop(Exception):
    """Ends a command with a status and a sentence."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status = status
