"""Words typed for an entry that do not make one are answered with what is wanted, in words of the house."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from teardown.car import entries
from teardown.car.fields import WrongEntry

# The validator's own language, which means nothing in a workshop.
FOREIGN = ("Input should", "Value should", "String should", "Value error", "valid", "pydantic", "^[", "True")


def wanted(kind: str, **words: str) -> str:
    with pytest.raises(WrongEntry) as refused:
        entries.read_fields(kind, words)
    return str(refused.value)


@pytest.mark.parametrize(
    ("kind", "words", "answer"),
    [
        ("power-restored", {"why": "x"}, "power-restored: why=: at least 2 characters"),
        (
            "power-restored",
            {"wy": "clips"},
            "wy= is not known here (did you mean why?)",
        ),
        ("people-here", {"count": "50"}, "people-here: count=: a number of at most 20"),
        ("people-here", {"count": "two"}, "people-here: count=: a whole number"),
        ("step-done", {"step": "Seats"}, "step-done: step=: a step by its whole name, like seats.driver-out"),
        ("note", {"text": "a" * 2001}, "note: text=: at most 2000 characters; it has 2001"),
        (
            "part-fate",
            {"part": "mats", "fate": "sel"},
            "part-fate: fate=: one of keep, refit, sell, scrap or controlled (did you mean sell?)",
        ),
        ("part-weighed", {"part": "mats", "reading": "1kg", "wet": "maybe"}, "part-weighed: wet=: yes or no"),
        ("part-weighed", {"part": "mats", "reading": "19"}, "19 has no unit: write 19kg or 19lb"),
        (
            "parts-weighed",
            {"parts": "a:b", "reading": "1kg"},
            "parts-weighed: parts=: parts by their ids, with commas between: left-visor,right-visor",
        ),
    ],
)
def test_what_is_wrong_is_answered_with_what_is_wanted(kind: str, words: dict[str, str], answer: str) -> None:
    assert answer in wanted(kind, **words)


TYPED = st.text(max_size=60) | st.sampled_from(["", "-1", "yes", "1kg", "0", "9" * 40, "seats", "1e999"])


@given(st.data())
def test_no_answer_is_in_the_validators_own_language(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from([kind for kind in entries.KINDS if kind not in entries.WRITTEN_BY_THE_PROGRAM]))
    keys = st.sampled_from([*entries.KINDS[kind].model_fields, "zz"])
    words: dict[str, Any] = data.draw(st.dictionaries(keys, TYPED))
    try:
        entries.KINDS[kind].model_validate(words)
    except ValidationError:
        answer = wanted(kind, **words)
        assert answer.startswith(f"{kind}: ")
        assert not [word for word in FOREIGN if word in answer], answer
