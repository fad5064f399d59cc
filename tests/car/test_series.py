"""Series: what is found by halves is what looking at every value finds."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from teardown.car.series import Series

ENTRIES = st.lists(st.integers(1, 30), max_size=20).map(sorted)
"""In their order; an entry may give one series several values."""


@given(entries=ENTRIES, dropped=st.lists(st.integers(0, 31), max_size=12), asked=st.integers(0, 31))
def test_a_series_tells_what_a_plain_list_of_values_tells(entries: list[int], dropped: list[int], asked: int) -> None:
    series: Series[str] = Series()
    plain = [(entry, f"{place} of {entry}") for place, entry in enumerate(entries)]
    for entry, value in plain:
        series.add(entry, value)
    for entry in dropped:
        series.drop(entry)
    plain = [(entry, value) for entry, value in plain if entry not in dropped]
    assert series.items == plain
    assert list(series) == [value for _, value in plain]
    assert (series.last_entry, series.last) == series.at(None) == (plain[-1] if plain else (0, None))
    assert series.at(asked) == next((item for item in reversed(plain) if item[0] <= asked), (0, None))
    assert series.of(asked) == next((value for entry, value in reversed(plain) if entry == asked), None)
