"""Whatever a pack file holds, the reader and the audit tell problems in plain words and never fall over."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import corpus
import pytest
import tomli
import tomli_w
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from teardown.packs.audit import audit, audit_addition
from teardown.packs.files import Source
from teardown.packs.model import Pack, Part, Shared, Step
from teardown.packs.problems import Problem
from teardown.packs.reader import read, sources_in
from teardown.text import plain

KEYS = [
    *Pack.model_fields,
    *Step.model_fields,
    *Part.model_fields,
    *Shared.model_fields,
    "kind",
    "ticks",
    "x",
    "\x1b[2J",
]
WORDS = st.sampled_from(
    ["airbag", "seats", "unplug", "seats.unplug", "ticks", "wait", "DANGER", "sell", "", "\x1b]0;x\x07", "‮"]
)
SCALARS = st.one_of(WORDS, st.integers(), st.floats(), st.booleans(), st.dates(), st.text(max_size=9))
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=6),
    max_leaves=14,
)
TABLES = st.lists(st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=6), max_size=3)
FILES = st.dictionaries(st.sampled_from(KEYS), VALUES | TABLES, max_size=7)
LINES = [
    line for path in sorted(corpus.GOOD.glob("*.toml")) for line in path.read_text(encoding="utf-8-sig").split("\n")
]

quick = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fuzz") / "pack.toml"


def check(file: Path, content: bytes) -> None:
    """Read `content` as a pack and as a shared file, alone and beside the base packs, and audit what comes of it."""
    file.write_bytes(content)
    base, _ = read(sources_in(corpus.BASE))
    for is_shared in (False, True):
        source = Source(file, file.name, is_shared)
        for sources in ([source], [*sources_in(corpus.BASE), source]):
            library, problems = read(sources)
            expect_plain_words((*problems, *audit(library)))
        own, _ = read([source])
        expect_plain_words(audit_addition(base, own))


def expect_plain_words(problems: tuple[Problem, ...]) -> None:
    for problem in problems:
        text = str(problem)
        assert plain(text) == text
        assert text.count("\n") == 1
        assert len(text) < 900
        assert not any(word in text for word in ("pydantic", "https:", "Input should", "tuple", "validat", "dict"))


@quick
@given(content=st.binary(max_size=300))
def test_random_bytes_are_problems_and_never_tracebacks(file: Path, content: bytes) -> None:
    check(file, content)


@quick
@given(table=FILES)
def test_random_tables_are_problems_and_never_tracebacks(file: Path, table: dict[str, object]) -> None:
    check(file, tomli_w.dumps(table).encode("utf-8", "surrogatepass"))


@quick
@given(data=st.data())
def test_good_packs_with_their_lines_muddled_are_never_tracebacks(file: Path, data: st.DataObject) -> None:
    good = data.draw(st.sampled_from(sorted(corpus.GOOD.glob("*.toml")) + sorted(corpus.BASE.rglob("*.toml"))))
    lines = good.read_text(encoding="utf-8-sig").split("\n")
    for _ in range(data.draw(st.integers(1, 4))):
        n = data.draw(st.integers(0, len(lines) - 1))
        lines[n] = data.draw(
            st.sampled_from(["", lines[n] * 2, lines[n][:-1], lines[n].replace("1", "-1"), *LINES[:40]])
        )
    check(file, "\n".join(lines).encode())


@quick
@given(data=st.data())
def test_good_packs_with_one_value_changed_are_never_tracebacks(file: Path, data: st.DataObject) -> None:
    good = data.draw(st.sampled_from(sorted(corpus.BASE.rglob("*.toml"))))
    table = tomli.loads(good.read_text(encoding="utf-8"))
    inside: Any = table
    while isinstance(inside, dict | list) and inside:
        key = data.draw(st.sampled_from(sorted(inside) if isinstance(inside, dict) else range(len(inside))))
        if not isinstance(inside[key], dict | list) or not inside[key] or data.draw(st.booleans()):
            inside[key] = data.draw(VALUES)
            break
        inside = inside[key]
    check(file, tomli_w.dumps(table).encode("utf-8", "surrogatepass"))


@quick
@given(data=st.data())
def test_good_packs_with_keys_misspelt_are_never_tracebacks(file: Path, data: st.DataObject) -> None:
    """A key that is taken for the one it is nearest to is where things are written, too."""
    good = data.draw(st.sampled_from(sorted(corpus.GOOD.glob("*.toml")) + sorted(corpus.BASE.rglob("*.toml"))))
    lines = good.read_text(encoding="utf-8-sig").split("\n")
    for n in data.draw(st.sets(st.integers(0, len(lines) - 1), max_size=6)):
        lines[n] = re.sub(r"([a-z_]{2,})(?= = |\]\])", _misspelt, lines[n], count=1)
    check(file, "\n".join(lines).encode())


def _misspelt(key: re.Match[str]) -> str:
    word = key[1]
    return f"{word[:-2]}{word[-1]}{word[-2]}"
