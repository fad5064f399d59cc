"""The application: one screen, the keys, and a terminal that is left as it was found."""

from __future__ import annotations

from importlib import import_module
from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType

from teardown.car.door import Car
from teardown.collector import wake_collector
from teardown.screens.desk import Desk
from teardown.screens.guard import Guard
from teardown.screens.hardening import harden_input, restore_terminal_on_signals
from teardown.screens.places.card import Card
from teardown.screens.work import Work

NOT_FOR_THE_FIRST_PICTURE = ("teardown.screens.dispatch", "teardown.car.rules")
"""Every other place, and every kind of entry: they take as long to import as all the rest of ours."""


class WalkApp(App[None]):
    """Walks one car. Colours are the terminal's own, so that light, dark and no colour all read."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+c", "quit", show=False, priority=True)]
    CSS = f"Screen {{ background: ansi_default; color: ansi_default; }} {Work.STYLES}"

    def __init__(self, car: Car, worker: str, guard: Guard | None = None) -> None:
        super().__init__(ansi_color=True)
        self.set_reactive(App.theme, "ansi-dark")
        self.desk = Desk(car, worker, Card())
        self.guard = guard or Guard(car.facts.keys.guard_ms / 1000)
        for told in car.told:
            self.desk.say(told)

    def get_default_screen(self) -> Work:
        """The one screen there is: an empty one under it would be laid out and styled for nothing."""
        return Work(self.desk, self.guard)

    def on_mount(self) -> None:
        if not self.is_headless:
            restore_terminal_on_signals(self)

    def on_work_first_picture(self) -> None:
        """Fetch what the first key will want, and look for garbage again."""
        if not self.is_headless:
            for module in NOT_FOR_THE_FIRST_PICTURE:
                import_module(module)
            wake_collector()


def run_screen(car: Car, worker: str) -> None:
    """Run the screen until the mechanic quits. Everything written is on the disk already.

    Raises SystemExit when the program broke: its error stands on the terminal.
    """
    harden_input()
    if car.can_write:
        car.open_session(worker)
    app = WalkApp(car, worker)
    app.run(mouse=False)
    if app.return_code:
        raise SystemExit(app.return_code)
