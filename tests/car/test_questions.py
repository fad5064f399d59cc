"""The questions about the car: how each is answered, which one a step, a module or a gate hangs on, what a no takes."""

from __future__ import annotations

import pytest

from teardown.car.answers import (
    Loss,
    loss_of,
    open_rules,
    question_of_gate,
    question_of_module,
    question_of_step,
    said_otherwise,
    settled_by,
    what_shows_it,
)
from teardown.car.log import Entry
from teardown.car.state import State
from teardown.car.steps import look_around, view_step
from teardown.packs.model import Module
from teardown.packs.reader import load
from teardown.packs.route import lay_route
from teardown.packs.shipped import procedures
from tests.world import HandClock, facts

NOW = HandClock().now()
LIBRARY = load(procedures())
ALL_STAYS = "\n".join(f'[rules.{rule}]\nkeep = true\nrule = "4"\ndate = 2026-01-31' for rule in LIBRARY.rules)


Told = tuple[str, dict[str, object]]
"""A kind of entry, and its fields."""


def car(text: str = "", *entries: Told) -> State:
    """A car of which only `text` is known, with the packs that ship, after these entries."""
    told = facts(f'name = "T"\n{text}')
    state = State(lay_route(LIBRARY, told.shape), told)
    for n, (kind, fields) in enumerate(entries, start=1):
        state.apply(Entry(n, NOW, "Ana", kind, fields, ""))
    return state


def loss(feature: str, text: str = "") -> Loss:
    state = car(text)
    return loss_of(state.route, state.facts, feature)


def refs(lost: Loss) -> set[str]:
    return {step.ref for step in lost.steps}


# -- how it is answered


@pytest.mark.parametrize(
    ("text", "feature", "by"),
    [
        ('fuel = "gas"\n', "gas-tank", "by fuel = gas"),
        ('fuel = "petrol"\n', "gas-tank", ""),
        ("[fitted]\nair-conditioning = false\n", "air-conditioning-charged", "by air-conditioning"),
        ("[fitted]\nair-conditioning = true\n", "air-conditioning-charged", ""),
        ("[fitted]\nair-conditioning = false\nair-conditioning-charged = false\n", "air-conditioning-charged", ""),
        ("[fitted]\nair-conditioning = false\n", "air-conditioning", ""),
    ],
)
def test_what_settles_a_question_is_named_unless_it_has_an_answer_of_its_own(text: str, feature: str, by: str) -> None:
    assert settled_by(car(text), LIBRARY.features[feature]) == by


def test_a_rule_waits_once_for_all_its_steps_and_not_for_steps_of_another_car() -> None:
    assert open_rules(car()).count("sunroof") == 1
    assert "sunroof" not in open_rules(car("[fitted]\nsunroof = false\nglass-roof = false\n"))
    assert open_rules(car(ALL_STAYS)) == ()


def test_a_rule_changed_by_hand_is_told_and_a_question_that_no_pack_asks_any_more_is_not() -> None:
    gone: Told = ("car-answered", {"feature": "tail-fins", "fitted": "no"})
    said: Told = ("rule-answered", {"rule": "windscreen", "keep": False, "says": "4.2"})
    asks = LIBRARY.rules["windscreen"].asks
    assert [*said_otherwise(car(ALL_STAYS, gone, said))] == [
        f"{asks} Here it was answered NO (Ana, 2026-05-09, entry 2). car.toml says YES, and that counts"
    ]


# -- the one that something hangs on


@pytest.mark.parametrize(
    ("text", "ref", "key"),
    [
        # what keeps it waiting, or on the car, comes before what the car has
        ("", "sunroof.glass-out", "rules.sunroof"),
        (ALL_STAYS, "glass.windscreen-out", "rules.windscreen"),
        # what ruled it out comes before the rule
        ("[fitted]\nsunroof = false\n", "sunroof.glass-out", "fitted.sunroof"),
        (f"[fitted]\nsunroof = false\n{ALL_STAYS}", "sunroof.glass-out", "fitted.sunroof"),
        # one of two is enough: the first that nobody has answered
        ("", "sunroof.template", "fitted.sunroof"),
        ("[fitted]\nsunroof = true\n", "sunroof.template", "fitted.glass-roof"),
        ("[fitted]\nsunroof = false\nglass-roof = false\n", "sunroof.template", "fitted.sunroof"),
        # what only a part of it needs
        ("", "make-safe.battery-out", "fitted.second-battery"),
        ("[fitted]\nsecond-battery = false\n", "make-safe.battery-out", None),
        ("", "early-airbags.knee-bags-out", "fitted.knee-airbags"),
        ("[fitted]\nknee-airbags = true\n", "early-airbags.knee-bags-out", None),
    ],
)
def test_the_question_that_a_step_hangs_on(text: str, ref: str, key: str | None) -> None:
    state = car(text)
    assert question_of_step(state, view_step(look_around(state, NOW), state.route.by_ref[ref])) == key


def test_a_step_of_a_pack_for_some_cars_hangs_on_what_the_pack_is_for() -> None:
    state = car(ALL_STAYS)
    view = view_step(look_around(state, NOW), state.route.by_ref["make-safe.engine-cold"])
    pack = view.laid.pack.model_copy(update={"has": ("roof-rails",)})
    assert question_of_step(state, view._replace(laid=view.laid._replace(pack=pack))) == "fitted.roof-rails"


def test_the_question_that_a_module_hangs_on_is_the_first_that_nobody_has_answered() -> None:
    module = Module(id="m", name="M", where="there", has=("rear-seats", "sunroof"))
    assert question_of_module(car(), module) == "fitted.rear-seats"
    assert question_of_module(car("[fitted]\nrear-seats = true\n"), module) == "fitted.sunroof"
    both = car("[fitted]\nrear-seats = true\nsunroof = true\n")
    assert question_of_module(both, module) == "fitted.rear-seats", "answered yes, it is answered again"
    assert question_of_module(car(), LIBRARY.modules["driver-airbag"]) is None, "every car has that one"


def test_the_question_that_a_gate_hangs_on_also_when_it_is_answered() -> None:
    gate = LIBRARY.gates["refrigerant"].model_copy(update={"has": ("air-conditioning", "sunroof")})
    assert question_of_gate(car(), gate) == "fitted.air-conditioning"
    assert question_of_gate(car("[fitted]\nair-conditioning = false\n"), gate) == "fitted.sunroof"
    assert question_of_gate(car("[fitted]\nair-conditioning = true\n"), gate) == "fitted.air-conditioning"
    assert question_of_gate(car(), LIBRARY.gates["airbag-wait"]) is None, "no answer rules that one out"


# -- what a no takes away


def test_a_module_counted_where_less_is_asked_of_it_is_a_loss_unless_the_car_has_none() -> None:
    cutter = "Battery terminal cutter as one inside the cabin"
    assert loss("battery-in-boot").others == (cutter,)
    assert loss("battery-in-boot", "[fitted]\nbattery-terminal-cutter = false\n").others == ()


def test_steps_of_hands_alone_are_no_safety_and_steps_that_meet_a_hazard_are() -> None:
    roof, glass = loss("roof-rails"), loss("quarter-glass")
    assert (refs(roof), roof.is_safety) == ({"outside.roof-rails"}, False)
    assert (glass.modules, glass.others, glass.is_safety) == ((), (), True)


def test_a_step_that_the_car_is_without_anyway_is_no_loss() -> None:
    assert "sunroof.roof-glass" in refs(loss("glass-roof"))
    assert "sunroof.template" not in refs(loss("glass-roof")), "an opening sunroof asks for it too"
    assert "sunroof.template" in refs(loss("glass-roof", "[fitted]\nsunroof = false\n"))
    assert "sunroof.glass-out" not in refs(loss("glass-roof", "[fitted]\nsunroof = false\n"))


KNEE = "knee-airbags"


@pytest.mark.parametrize(
    "told",
    [
        ("part-off", {"part": KNEE}),
        ("part-weighed", {"part": KNEE, "reading": "1kg", "mass_kg": 1.0, "how": "direct"}),
        ("part-stored", {"part": KNEE, "where": "steel cabinet"}),
        ("handed-over", {"part": KNEE, "to": "disposal firm"}),
        ("listed", {"part": KNEE, "ask": "80"}),
    ],
)
def test_whatever_was_written_of_a_part_shows_that_the_car_has_it(told: Told) -> None:
    part = car().route.parts[KNEE].part.name
    assert what_shows_it(car("", told), KNEE) == f"entry 1 tells of {part}"
    assert what_shows_it(car("", told), "passenger-airbag") == ""


def test_one_of_two_modules_that_is_not_accounted_for_is_not_answered_away() -> None:
    done: Told = ("step-done", {"step": "early-airbags.knee-bags-out"})
    looked: list[Told] = [
        ("not-there", {"module": f"knee-airbag-{side}", "why": "none"}) for side in ("driver", "passenger")
    ]
    assert what_shows_it(car("", done, looked[0]), KNEE).startswith("entry 1 tells of")
    assert what_shows_it(car("", done, *looked), KNEE) == ""
