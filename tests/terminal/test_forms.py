"""The form in a real terminal: a cost, a bundle that is sold, and what is pasted into a question."""

from __future__ import annotations

from pathlib import Path

import pytest

from teardown.car.clock import SystemClock
from teardown.car.door import open_car
from tests.terminal.conftest import entries, kinds, walk
from tests.terminal.test_hostile_text import only_paints
from tests.world import PROCEDURES


@pytest.mark.parametrize(("columns", "rows"), [(60, 18), (40, 12)])
def test_a_cost_is_entered_and_seen_among_the_money(car: Path, columns: int, rows: int) -> None:
    with walk(car, columns, rows) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("m", "THE MONEY")
        terminal.press("c", "COST 1/4  How much, EUR:")
        terminal.type("84.5", "[enter] next")
        terminal.press("enter", "COST 2/4  For what:")
        terminal.type("skip hire", "skip hire_")
        terminal.press("enter", "COST 3/4  What kind:")
        terminal.press("3", "COST 4/4  Receipt:")
        terminal.press("up", "COST 3/4")
        terminal.press("down", "COST 4/4")
        terminal.press("enter", "written: COST: 84.5")
    assert entries(car)[-1].fields == {"amount": "84.5", "what": "skip hire", "of": "waste", "currency": "EUR"}


def test_a_bundle_is_sold_and_a_refusal_loses_nothing(car: Path) -> None:
    with open_car(car, SystemClock(), write=True, packs=PROCEDURES) as door:
        for name in ("clip", "bracket"):
            door.enter("part-found", {"name": name, "reading": "1kg"}, "Ana")
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("k", "=> Floor mats")
        terminal.press("m", "SOLD 1/6  Money in hand, EUR:")
        terminal.type("5.125", "SOLD 1/6")
        terminal.press("enter", "[1] clip")
        terminal.press("1", "[1] + clip")
        terminal.press("2", "[2] + bracket")
        terminal.press("enter", "SOLD 3/6  Fees, EUR:")
        terminal.press("enter", "NOT WRITTEN. 5.125 has 3 digits after the point")
        assert "SOLD 1/6  Money in hand, EUR:" in terminal.text
        assert "along with it: clip; bracket" in " ".join(terminal.text.split())
        terminal.press("backspace", "[enter] next")
        terminal.press("enter", "SOLD 2/6")
        terminal.press("down", "SOLD 3/6")
        terminal.press("enter", "written: SOLD Floor mats: 5.12")
        terminal.press("q", "")
        assert terminal.ends() == 0
    assert entries(car)[-1].fields["along"] == "found-2,found-3"


def test_what_is_pasted_into_a_question_drives_nothing(car: Path) -> None:
    with walk(car) as terminal:
        terminal.wait_for("[space] done")
        terminal.press("m", "THE MONEY")
        terminal.press("c", "COST 1/4")
        terminal.send("\x1b[200~8\x07q0\x9b;p4\u202e\x1b[201~".encode())  # of this only the digits are a number
        terminal.type("5", "[enter] next")
        terminal.press("enter", "For what:")
        terminal.send("\x1b[200~bolt\x07\n[@click=app.quit]q[/]\u202e\u2066 \x9b2J\x1b[201~".encode())
        terminal.wait_for("bolt [@click=app.quit]q[/] 2J_")
        terminal.press("enter", "COST 3/4")
        terminal.press("enter", "written: COST")
        only_paints(terminal)
    last = entries(car)[-1]
    assert last.fields == {"amount": "8045", "what": "bolt [@click=app.quit]q[/] 2J", "of": "other", "currency": "EUR"}
    assert kinds(car) == ["opened", "opened", "cost"]
