"""Every kind of bad pack is told, in these words; good packs are left alone."""

from __future__ import annotations

import corpus
import pytest

from teardown.packs.audit import RULES, Rule
from teardown.packs.floors import KINDS_BROUGHT
from teardown.packs.loosening import loosened
from teardown.packs.reader import read, sources_in

BAD = sorted(path.stem for path in corpus.BAD.glob("*.txt"))
GOOD = sorted({path.name.split(".")[0] for path in corpus.GOOD.glob("*.toml")})


@pytest.mark.parametrize("name", BAD)
def test_a_bad_pack_is_told_in_exactly_these_words(name: str) -> None:
    told = "\n".join(str(problem) for problem in corpus.problems_of(corpus.BAD, name))
    assert told + "\n" == (corpus.BAD / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", GOOD)
def test_a_good_pack_is_left_alone(name: str) -> None:
    assert [str(problem) for problem in corpus.problems_of(corpus.GOOD, name)] == []


def test_every_bad_file_has_its_text_and_every_text_its_file() -> None:
    assert {path.name.split(".")[0] for path in corpus.BAD.glob("*.toml")} == set(BAD)


def test_the_base_packs_meet_every_rule() -> None:
    library, problems = read(sources_in(corpus.BASE))
    assert problems == ()
    assert [str(problem) for rule in RULES for problem in rule(library)] == []


def test_every_rule_says_what_it_demands() -> None:
    for rule in RULES:
        assert (rule.__doc__ or "").strip().split("\n")[0].endswith("."), rule


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_every_rule_is_broken_by_some_bad_pack(rule: Rule) -> None:
    assert any(tuple(rule(corpus.library_of(corpus.BAD, name))) for name in BAD)


def test_the_base_packs_hold_every_hazard_that_has_a_floor() -> None:
    library, _ = read(sources_in(corpus.BASE))
    assert KINDS_BROUGHT.keys() <= library.hazards.keys()


def test_the_base_packs_laid_over_themselves_loosen_nothing() -> None:
    library, _ = read(sources_in(corpus.BASE))
    assert tuple(loosened(library, library)) == ()
