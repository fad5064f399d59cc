"""Pictures in text cells."""

from __future__ import annotations

from teardown.cells import bar, descent, gap_line


def test_a_bar_shows_whatever_is_above_nothing_and_never_runs_over() -> None:
    assert (bar(0, 10, 8), bar(0.001, 10, 8), bar(10, 10, 8), bar(99, 10, 8)) == ("", "#", "########", "########")


def test_a_descent_ends_with_the_newest_value_and_marks_the_goal() -> None:
    lines = descent([100, 90, 60], goal=50, columns=3, rows=6)
    assert lines == ["#", "##", "##", "##", "###", "==="]
    assert descent([100, 100], goal=50, columns=4, rows=3) == ["####", "####", "===="]


def test_a_gap_lies_between_its_limits_or_outside() -> None:
    assert gap_line(0, 5, 11) == "[....X....]"
    inside, outside = gap_line(1, 5, 41), gap_line(9, 5, 41)
    assert inside.index("[") < inside.index("X") < inside.index("]")
    assert outside.index("]") < outside.index("X")
