"""A bare Textual and pydantic application, to measure the walk screen against: as many widgets, as many words, no car.

Each key turns to the next step and updates the same regions in place.
"""

from __future__ import annotations

from typing import ClassVar

from pydantic import BaseModel
from textual import events
from textual.app import App, ComposeResult
from textual.content import Content
from textual.widgets import Digits, Static

REGIONS = ("side", "top", "head", "body", "prompt", "say", "keys")
READY = "[key] next"


class Step(BaseModel):
    """What one picture shows, read as strictly as a pack is."""

    n: int
    title: str
    paragraphs: tuple[str, ...]

    def lines(self, region: str) -> list[str]:
        heads = {
            "top": ["1200.0 kg | 200.0 kg to go", "+BATTERY off  #AIRBAG 29:59  +AIR 800ppm  +PEOPLE 2"],
            "head": [f"step {self.n}.", self.title, "It will injure or kill. Wait, then handle alone."],
            "body": list(self.paragraphs),
            "keys": [READY, "[?] every key"],
        }
        return heads.get(region, [])


def step(n: int) -> Step:
    paragraphs = tuple(f"Paragraph {row} of step {n}, about as long as a line on the card." for row in range(9))
    return Step(n=n, title=f"The title of step {n}", paragraphs=paragraphs)


class Bare(App[None]):
    ENABLE_COMMAND_PALETTE = False
    CSS: ClassVar[str] = (
        "Static { height: auto; } #body { height: 1fr; } #side { display: none; } Digits { display: none; }"
    )

    def __init__(self) -> None:
        super().__init__(ansi_color=True)
        self.n = 0

    def compose(self) -> ComposeResult:
        for region in REGIONS:
            yield Static(id=region, markup=False)
        yield Digits()

    def on_mount(self) -> None:
        self.show()

    def on_key(self, event: events.Key) -> None:
        self.n += 1
        self.show()

    def show(self) -> None:
        shown = step(self.n)
        for region in REGIONS:
            self.query_one(f"#{region}", Static).update(Content("\n".join(shown.lines(region))))


if __name__ == "__main__":
    Bare().run(mouse=False)
