"""The way to the form. What it is made of is imported when it is first wanted: the first picture needs none of it."""

from __future__ import annotations

from collections.abc import Mapping

from teardown.screens.desk import Desk


def ask(desk: Desk, kind: str, about: str = "", before: Mapping[str, str] | None = None, **given: str) -> None:
    """Ask for what makes an entry of that kind, and write it. `given` is known; `before` stands and may be changed."""
    from teardown.screens.places.asks import ask_for

    desk.go(ask_for(desk, kind, about, before, **given))
