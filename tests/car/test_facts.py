"""car.toml: every mistake told at once, in words, and never a traceback."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car.facts import FactsError, parse_facts, read_facts
from tests.world import FACTS


def test_quantities_carry_their_unit() -> None:
    read = parse_facts('name = "x"\ngoal = "2425lb"\nwheelbase = "102in"\n[room]\nsize = "6x6x2.4m"\n')
    assert read.goal == pytest.approx(1099.96, abs=0.01)
    assert read.wheelbase == pytest.approx(2.5908)
    assert read.room.volume_m3 == pytest.approx(86.4)


@pytest.mark.parametrize(("text", "says"), [
    ("goal = 1000", "a quantity with its unit"),
    ('goal = "-5kg"', "goal"),
    ('nam = "x"', "name"),
    ('name = "a\\u001b[2J"', "without control characters"),
    ("name = [", "TOML"),
    ('name = "x"\n[keys]\nguard_ms = 5', "guard_ms"),
    ('name = "x"\n[fitted]\nsunroof = "perhaps"', "fitted"),
])  # fmt: skip
def test_a_wrong_fact_says_what_is_wanted(text: str, says: str) -> None:
    with pytest.raises(FactsError) as error:
        parse_facts(text)
    assert says in str(error.value)


def test_what_is_no_toml_is_told_with_its_line_as_in_a_pack() -> None:
    with pytest.raises(FactsError) as error:
        parse_facts('name = "x"\ngoal = 1100kg\n')
    assert str(error.value).startswith("car.toml: line 2\n  found `goal = 1100kg`; wanted TOML (")


def test_a_mark_at_the_beginning_that_some_editors_write_is_no_mistake(tmp_path: Path) -> None:
    (tmp_path / "car.toml").write_bytes(b'\xef\xbb\xbfname = "x"\n')
    assert read_facts(tmp_path / "car.toml").name == "x"


@given(st.text(max_size=200))
def test_any_text_is_facts_or_a_list_of_problems(text: str) -> None:
    try:
        parse_facts(text)
    except FactsError as error:
        assert error.problems


@given(st.sampled_from(FACTS.strip().splitlines()), st.text(max_size=20))
def test_any_line_may_be_spoiled(line: str, by: str) -> None:
    try:
        parse_facts(FACTS.replace(line, line[: len(line) // 2] + by))
    except FactsError as error:
        assert all(problem.file == "car.toml" for problem in error.problems)


def test_a_link_or_a_huge_file_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "real.toml").write_text('name = "x"')
    (tmp_path / "car.toml").symlink_to(tmp_path / "real.toml")
    with pytest.raises(FactsError):
        read_facts(tmp_path / "car.toml")
    (tmp_path / "big.toml").write_text("#" * 300_000)
    with pytest.raises(FactsError, match="at most 256 KiB"):
        read_facts(tmp_path / "big.toml")


def test_a_file_that_not_even_can_be_looked_for_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "lstat", refuse)
    with pytest.raises(FactsError, match=r"car.toml\n  found no way to read it \(Permission denied\)"):
        read_facts(tmp_path / "car.toml")
