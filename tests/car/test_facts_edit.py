"""One answer changed in somebody's own car.toml: however it is written, nothing else in it changes."""

from __future__ import annotations

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.car import facts_edit
from teardown.car.facts import LARGEST_BYTES, Facts, parse_facts
from teardown.car.facts_edit import MOST_TRIED, CannotEdit, with_feature, with_rule
from teardown.car.facts_file import facts_text
from tests.world import library

TABLE = """# mine
name = "T"   # the car
[fitted]  # what it has
# knee-bag = true    # Is there a knee airbag?
  hybrid = false# seen
sunroof = true

[room]
place = "indoors"
"""


def line_of(text: str, was: str) -> str:
    """`text` with one line for another."""
    assert TABLE.count(was) == 1
    return TABLE.replace(was, text)


@pytest.mark.parametrize(
    ("feature", "fitted", "wanted"),
    [
        ("sunroof", False, line_of("sunroof = false", "sunroof = true")),
        ("sunroof", True, TABLE),
        ("sunroof", None, line_of("# sunroof = true", "sunroof = true")),
        ("hybrid", True, line_of("  hybrid = true# seen", "  hybrid = false# seen")),
        ("hybrid", None, line_of("# hybrid = false# seen", "  hybrid = false# seen")),
        ("knee-bag", False, line_of("knee-bag = false    # Is there a knee airbag?", TABLE.split("\n")[3])),
        ("knee-bag", None, TABLE),
        (
            "second-source",
            True,
            line_of("[fitted]  # what it has\nsecond-source = true", "[fitted]  # what it has"),
        ),
        ("second-source", None, TABLE),
    ],
)
def test_one_line_of_the_table_is_changed_or_added(feature: str, fitted: bool | None, wanted: str) -> None:
    assert with_feature(TABLE, feature, fitted) == wanted
    windows = with_feature(TABLE.replace("\n", "\r\n"), feature, fitted)
    assert windows == wanted.replace("\n", "\r\n"), "its line ends are kept"


@pytest.mark.parametrize(
    ("text", "fitted", "wanted"),
    [
        ('name = "T"', True, 'name = "T"\n[fitted]\na = true\n'),
        ('name = "T"\r\n[keys]\r\n', False, 'name = "T"\r\n[keys]\r\n[fitted]\r\na = false\r\n'),
        ('name = "T"\n[fitted]', True, 'name = "T"\n[fitted]\na = true\n'),
        ('name = "T"\nfitted = {}\n', True, 'name = "T"\nfitted = { a = true }\n'),
        ('name = "T"\nfitted = { b = true } # b\n', False, 'name = "T"\nfitted = { a = false, b = true } # b\n'),
        ('name = "T"\nfitted = { b = true, "a" = true }\n', False, 'name = "T"\nfitted = { b = true, "a" = false }\n'),
        ('name = "T"\nfitted = {b=true,a=true,c=false}\n', None, 'name = "T"\nfitted = {b=true,c=false}\n'),
        ('name = "T"\nfitted = { a = true, b = true }\n', None, 'name = "T"\nfitted = { b = true }\n'),
        ('name = "T"\nfitted = { b = true, a = true }\n', None, 'name = "T"\nfitted = { b = true }\n'),
        ('name = "T"\nfitted = { ba = true, a = true }\n', False, 'name = "T"\nfitted = { ba = true, a = false }\n'),
        ('name = "T"\nfitted = {a=true} # {a=true}\n', False, 'name = "T"\nfitted = {a=false} # {a=true}\n'),
        ('name = "T"\nfitted.b = true\n[keys]\n', True, 'name = "T"\nfitted.b = true\nfitted.a = true\n[keys]\n'),
        ('name = "T"\nfitted . "a" = true\n', False, 'name = "T"\nfitted . "a" = false\n'),
        ('name = "T"\nfitted.a = true\n', None, 'name = "T"\n# fitted.a = true\n'),
        ("name = 'T'\n[ 'fitted' ]\n'a'\t=\ttrue\n", False, "name = 'T'\n[ 'fitted' ]\n'a'\t=\tfalse\n"),
        (  # what stands in a text or in another table is not the answer
            'name = "T"\nprivate = ["""\na = true\\\n# a = true\\\n"""]\n[fitted]\na = true\n[keys]\n# a = true\n',
            False,
            'name = "T"\nprivate = ["""\na = true\\\n# a = true\\\n"""]\n[fitted]\na = false\n[keys]\n# a = true\n',
        ),
        (
            'name = "T"\nwho = [\n "[fitted]",\n "a = true",\n]\n[keys]\n',
            True,
            'name = "T"\nwho = [\n "[fitted]",\n "a = true",\n]\n[keys]\n[fitted]\na = true\n',
        ),
    ],
)
def test_it_is_found_however_the_owner_wrote_it(text: str, fitted: bool | None, wanted: str) -> None:
    assert with_feature(text, "a", fitted) == wanted


@pytest.mark.parametrize(
    ("text", "fitted"),
    [
        ('name = "T"\n[fitted]\n"\\u0061" = true\n', False),
        ('name = "T"\n"\\u0066itted" = { a = true }\n', False),
    ],
)
def test_what_cannot_be_changed_safely_is_refused_with_what_to_write_by_hand(text: str, fitted: bool) -> None:
    with pytest.raises(CannotEdit, match=r"nothing was changed. Write there by hand, in \[fitted\] a = false"):
        with_feature(text, "a", fitted)


def test_a_file_that_would_grow_larger_than_it_may_be_is_refused() -> None:
    """What was written would not be read again at the next opening."""
    text = 'name = "T"\n' + f"# {'x' * 1000}\n" * 261
    text += "#" * (LARGEST_BYTES - len(text) - 1) + "\n"
    parse_facts(text)
    with pytest.raises(CannotEdit):
        with_feature(text, "a", True)


@pytest.mark.parametrize("answer", [True, None])
@pytest.mark.parametrize("line", ["# a = true", "[fitted]"])
def test_a_file_with_thousands_of_places_for_an_answer_is_not_tried_in_each(
    monkeypatch: pytest.MonkeyPatch, answer: bool | None, line: str
) -> None:
    """Each takes a parse of the whole file: the program would stand still for minutes."""
    tried: list[str] = []

    def counted(text: str) -> Facts:
        tried.append(text)
        return parse_facts(text)

    monkeypatch.setattr(facts_edit, "parse_facts", counted)
    held = "private = [\n" + f"# {line}\n" * 500 + "]\n"
    text = 'name = "T"\n[fitted]\na = false\n[room]\n' + f"# {line}\n# a = true\n" * 500
    assert "[room]" in with_feature(text, "a", answer)
    none = f'name = "T"\n{held}[room]\n' + f"{'# a = true'}\n" * 500
    assert with_feature(none, "a", True).endswith("[fitted]\na = true\n")
    assert len(tried) <= 8 * MOST_TRIED


FEATURES = ("hybrid", "knee-bag", "sunroof", "second-source")


@given(
    answers=st.lists(
        st.tuples(st.sampled_from(FEATURES), st.sampled_from([True, False, None])),
        min_size=1,
        max_size=6,
    ),
    ends=st.sampled_from(["\n", "\r\n"]),
    said=st.dictionaries(st.sampled_from(["hybrid", "sunroof"]), st.booleans()),
)
def test_whatever_is_answered_in_turn_every_other_line_of_a_new_car_toml_stays(
    answers: list[tuple[str, bool | None]], ends: str, said: dict[str, bool]
) -> None:
    first = facts_text({"name": "T", "goal": "900kg", "fitted": said}, library()).replace("\n", ends)
    text, fitted = first, dict(said)
    for feature, yes in answers:
        text = with_feature(text, feature, yes)
        fitted.pop(feature, None)
        fitted |= {} if yes is None else {feature: yes}
        assert parse_facts(text) == parse_facts(first).model_copy(update={"fitted": fitted})
    answered = {feature for feature, _ in answers}
    others = re.compile(rf"(# )?({'|'.join(answered)}) = ")
    assert [line for line in first.split(ends) if not others.match(line)] == [
        line for line in text.split(ends) if not others.match(line)
    ]
    assert first.count(ends) == text.count(ends)


# -- rules

ANSWER = {"keep": True, "rule": 'the "blue book" 4.2', "date": date(2026, 5, 9)}
WRITTEN = 'keep = true\nrule = "the \\"blue book\\" 4.2"\ndate = 2026-05-09\n'


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ('name = "T"', f'name = "T"\n\n[rules.d]\n{WRITTEN}'),
        (
            'name = "T"\n[rules.d] # hm\nkeep = false # no\n# asked\nrule = "4.1"\ndate = 2026-01-31\n'
            '[rules.e]\nkeep = true\nrule = "1"\ndate = 2026-01-31\n',
            'name = "T"\n[rules.d] # hm\nkeep = true # no\n# asked\n'
            'rule = "the \\"blue book\\" 4.2"\ndate = 2026-05-09\n'
            '[rules.e]\nkeep = true\nrule = "1"\ndate = 2026-01-31\n',
        ),
    ],
)
def test_what_a_rule_says_is_a_section_of_its_own(text: str, wanted: str) -> None:
    assert with_rule(text, "d", ANSWER) == wanted


def test_a_rule_written_in_another_way_is_refused_with_what_to_write() -> None:
    with pytest.raises(CannotEdit, match=r"\[rules.d\] with the lines keep = true, rule = "):
        with_rule('name = "T"\nrules.d = { keep = false, rule = "1", date = 2026-01-31 }\n', "d", ANSWER)


def test_an_answer_that_would_not_be_read_again_is_refused() -> None:
    with pytest.raises(CannotEdit, match=r"nothing was changed"):
        with_rule('name = "T"\n', "d", ANSWER | {"rule": "4.2 " * 40})
