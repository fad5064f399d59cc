"""British packs, American words."""

from __future__ import annotations

import pytest

from teardown.packs.glossary import americanised, translator
from teardown.packs.model import Word
from teardown.packs.reader import load
from teardown.packs.shipped import procedures

WORDS = (
    Word(british="boot", american="trunk"),
    Word(british="spanner", american="wrench"),
    Word(british="boot lid", american="decklid"),
)


@pytest.mark.parametrize(("british", "american"), [
    ("Open the boot.", "Open the trunk."),
    ("Boot lids off.", "Decklids off."),
    ("A spanner, taped", "A wrench, taped"),
    ("A bootlace stays a bootlace.", "A bootlace stays a bootlace."),
])  # fmt: skip
def test_whole_words_are_said_the_american_way(british: str, american: str) -> None:
    assert translator(WORDS)(british) == american


def test_ids_gates_and_masses_are_the_same_in_either_language() -> None:
    british = load(procedures())
    american = americanised(british)
    assert list(american.steps) == list(british.steps)
    assert list(american.gates) == list(british.gates)
    for ref, step in british.steps.items():
        said = american.steps[ref]
        assert (said.needs, said.after, said.hazards, said.minutes) == (
            step.needs,
            step.after,
            step.hazards,
            step.minutes,
        )
        assert [part.kg for part in said.parts] == [part.kg for part in step.parts]


def test_the_words_of_the_packs_change() -> None:
    british = load(procedures())
    american = americanised(british)
    assert any(american.steps[ref].do != step.do for ref, step in british.steps.items())
    assert not any(" bonnet " in step.do for step in american.steps.values())
