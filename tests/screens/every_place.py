"""Every place of the screen, as a person comes to it."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Iterator

from teardown.car.steps import milestones_ahead
from teardown.screens import places
from teardown.screens.desk import Desk, Place
from teardown.screens.places import choose, questions, write
from teardown.screens.places.answers.feature import FeaturePlace
from teardown.screens.places.answers.list import CarQuestions
from teardown.screens.places.asks import ASKS, ask_for
from teardown.screens.places.baglist import BagList
from teardown.screens.places.bench import Bench
from teardown.screens.places.card import Card
from teardown.screens.places.form import Form
from teardown.screens.places.gates.list import GateList
from teardown.screens.places.gates.opening import place_of
from teardown.screens.places.help import Help
from teardown.screens.places.papers import ask_sheet
from teardown.screens.places.steplist import StepList
from teardown.screens.places.tally import NAMES, Tally
from teardown.screens.places.weigh.car import CarPad
from teardown.screens.places.weigh.parts import WeighPad
from teardown.screens.places.weigh.things import FITTED, FOUND, ThingPad


def every_place(desk: Desk) -> dict[str, Place]:
    """One of each class, the gates' by the kind of gate; and every question that is answered by a digit."""
    view = desk.step
    gates = ("battery", "airbag-wait", "ice-meter", "ice-room", "second-person", "high-voltage", "live-count")
    return {
        "card": Card(),
        "list of steps": StepList(0),
        "bags": BagList(),
        "parts bench": Bench(),
        **{page: Tally(page) for page in NAMES},
        "sheets": ask_sheet(),
        "list of gates": GateList(desk),
        "list of questions about the car": CarQuestions(desk),
        "a question": FeaturePlace(desk, "sunroof"),
        "a question about what is live": FeaturePlace(desk, "knee-bag"),
        **{f"gate {gate}": place_of(desk, gate) for gate in (*gates, "all-back")},
        "weigh pad": WeighPad(["driver-seat"]),
        **{f"form {kind}, {n}": form for kind in ASKS for n, form in enumerate(every_question(desk, kind))},
        "thing found": ThingPad(FOUND, "Clips"),
        "thing fitted": ThingPad(FITTED, "Race seat"),
        "car on the pads": CarPad(),
        "skip": choose.ask_why("step-skipped", view),
        "put off": choose.ask_why("step-deferred", view, milestones_ahead(desk.standing.state, view.laid)),
        "power": choose.ask_power(2),
        "happened": choose.ask_happened(),
        "worker": choose.ask_worker(desk),
        "refitted": choose.ask_refitted(view, lambda desk, refitted: None),
        "stored": choose.ask_stored("driver-bag", "Driver airbag module"),
        "text": write.TextPad("What?", lambda desk, text: None),
        "questions": questions.Questions(),
        "help": Help(Card()),
    }


def every_question(desk: Desk, kind: str) -> Iterator[Form]:
    """The form for that kind of entry, once at each of its questions."""
    for at in range(len(ASKS[kind].questions)):
        form = ask_for(desk, kind, "Floor mats")
        form.at = at
        yield form


def every_place_class() -> set[type]:
    """All classes under `places/` that paint."""
    found: set[type] = set()
    for module in pkgutil.walk_packages(places.__path__, f"{places.__name__}."):
        for _, member in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            if hasattr(member, "paint") and member.__module__ == module.name:
                found.add(member)
    return found
