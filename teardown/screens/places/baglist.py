"""Where do these bolts go? Type a number, a part or a place; the bags that fit are listed."""

from __future__ import annotations

from teardown.car.bags import bag_line, find_bags
from teardown.screens.commands import Command
from teardown.screens.desk import Desk
from teardown.screens.fields import TextField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import BOLD, LOUD, Page, Picture, Window, words
from teardown.screens.places import everywhere


class BagList:
    """A search that answers as it is typed."""

    name = "the bags"
    types = True
    commands = (
        Command(
            ("enter",),
            "enter",
            "go there",
            "show the step of the first bag listed",
            "go_there",
            KeyKind.TURNS,
            "[enter] go",
        ),
        everywhere.RUB_OUT,
        everywhere.LEAVE_TEXT,
        everywhere.UP,
        everywhere.DOWN,
    )

    def __init__(self) -> None:
        self.field = TextField()

    def paint(self, desk: Desk, window: Window) -> Picture:
        page = Page()
        for bag in find_bags(desk.standing.state, self.field.text):
            page.add(bag_line(bag))
        head = (words("BAGS: a number, a part, a place", BOLD), words(f"{self.field.text}_", LOUD))
        return Picture(head=head, body=page.done() or (words("no bag fits these words"),))

    def typed(self, desk: Desk, character: str) -> bool:
        return self.field.take(character)

    def do_go_there(self, desk: Desk) -> None:
        found = find_bags(desk.standing.state, self.field.text)
        if not found:
            desk.say("no bag fits these words")
            return
        desk.position = desk.standing.state.route.steps.index(found[0].step)
        desk.back()
