"""The revised lifting equation against the published manual: NIOSH 94-110, rev. 9/2021."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teardown.figures.errors import FigureError
from teardown.figures.lift import Grip, lift

INCH_M = 0.0254
LB_KG = 0.45359237

# NIOSH 94-110 rev. 9/2021 table 5 (secondary copy): lifts a minute, then up to 1 h, 2 h, 8 h, each V < 75, V >= 75 cm
PUBLISHED_FREQUENCY = """
.2 1 1 .95 .95 .85 .85
.5 .97 .97 .92 .92 .81 .81
1 .94 .94 .88 .88 .75 .75
2 .91 .91 .84 .84 .65 .65
3 .88 .88 .79 .79 .55 .55
4 .84 .84 .72 .72 .45 .45
5 .80 .80 .60 .60 .35 .35
6 .75 .75 .50 .50 .27 .27
7 .70 .70 .42 .42 .22 .22
8 .60 .60 .35 .35 .18 .18
9 .52 .52 .30 .30 0 .15
10 .45 .45 .26 .26 0 .13
11 .41 .41 0 .23 0 0
12 .37 .37 0 .21 0 0
13 0 .34 0 0 0 0
14 0 .31 0 0 0 0
15 0 .28 0 0 0 0
"""


@pytest.mark.parametrize(
    ("load_lb", "start", "end", "twist_deg", "grip", "limits_lb", "indices"),
    [
        # the manual's examples 1 to 3 (from memory, products computed); its print rounds each multiplier to two places
        (44, (23, 15), (23, 64), 0, "fair", (16.3, 14.5), (2.7, 3.0)),
        (35, (20, 27), (10, 10), 0, "poor", (20.9, 36.3), (1.7, 1.0)),
        (40, (18, 15), (18, 36), 45, "fair", (18.9, None), (2.1, None)),
    ],
)
def test_the_published_examples_come_out_as_printed(
    load_lb: float,
    start: tuple[float, float],
    end: tuple[float, float],
    twist_deg: float,
    grip: Grip,
    limits_lb: tuple[float, float | None],
    indices: tuple[float, float | None],
) -> None:
    found = lift(
        load_lb * LB_KG,
        start[0] * INCH_M,
        start[1] * INCH_M,
        twist_deg=twist_deg,
        grip=grip,
        reach_end_m=end[0] * INCH_M,
        height_end_m=end[1] * INCH_M,
        inch_form=True,
    )
    for value_kg, printed_lb in zip((found.limit_start_kg, found.limit_end_kg), limits_lb, strict=True):
        assert printed_lb is None or value_kg / LB_KG == pytest.approx(printed_lb, abs=0.4)
    for value, printed in zip((found.index_start, found.index_end), indices, strict=True):
        assert printed is None or value == pytest.approx(printed, abs=0.15)


def test_every_cell_of_the_published_frequency_table_is_the_one_used() -> None:
    for line in PUBLISHED_FREQUENCY.strip().splitlines():
        rate, *cells = map(float, line.split())
        for (hours, height_m), published in zip([(h, v) for h in (1, 2, 8) for v in (0.74, 0.75)], cells, strict=True):
            found = lift(10, 0.25, height_m, per_minute=rate, hours=hours)
            assert found.multipliers_start.frequency == published, line


def test_the_table_is_interpolated_between_rows_and_forbids_before_a_row_that_forbids() -> None:
    assert lift(10, 0.3, 0.6, per_minute=1.5).multipliers_start.frequency == pytest.approx((0.94 + 0.91) / 2)
    assert lift(10, 0.3, 0.6, per_minute=0.35).multipliers_start.frequency == pytest.approx((1.00 + 0.97) / 2)
    assert lift(10, 0.3, 0.6, per_minute=12.5).multipliers_start.frequency == 0
    # below 0.2 a minute counts as 0.2; above 15 forbids
    assert lift(10, 0.3, 0.6, per_minute=0).multipliers_start.frequency == 1
    assert lift(10, 0.3, 0.8, per_minute=15.01).multipliers_start.frequency == 0


@pytest.mark.parametrize(
    ("hours", "frequency"), [(0.5, 1.0), (1, 1.0), (1.01, 0.95), (2, 0.95), (2.01, 0.85), (8, 0.85)]
)
def test_a_longer_spell_counts_in_the_next_column(hours: float, frequency: float) -> None:
    assert lift(10, 0.3, 0.6, hours=hours).multipliers_start.frequency == frequency


def test_the_metric_multipliers_are_those_of_the_manual() -> None:
    # 25/H, 1 - .003|V - 75|, .82 + 4.5/D, 1 - .0032 A, good grip; 23 kg
    found = lift(10, 0.50, 0.30, twist_deg=30, grip="good", height_end_m=0.80)
    expected = {"reach": 25 / 50, "height": 1 - 0.003 * 45, "travel": 0.82 + 4.5 / 50, "twist": 1 - 0.0032 * 30}
    for name, value in expected.items():
        assert getattr(found.multipliers_start, name) == pytest.approx(value), name
    assert found.limit_start_kg == pytest.approx(23 * math.prod(expected.values()))


def test_the_best_lift_is_the_load_constant() -> None:
    assert lift(23, 0.25, 0.75, grip="good").limit_start_kg == pytest.approx(23)
    assert lift(23, 0.25, 30 * INCH_M, grip="good", inch_form=True).limit_start_kg == pytest.approx(51 * LB_KG)
    # nothing is gained by reaching or travelling less than the manual's least
    assert lift(23, 0.05, 0.75, grip="good", height_end_m=0.80).limit_start_kg == pytest.approx(23)


@pytest.mark.parametrize(("grip", "low", "high"), [("good", 1.0, 1.0), ("fair", 0.95, 1.0), ("poor", 0.90, 0.90)])
def test_the_grip_counts_as_published(grip: Grip, low: float, high: float) -> None:
    assert lift(10, 0.3, 0.74, grip=grip).multipliers_start.grip == low
    assert lift(10, 0.3, 0.75, grip=grip).multipliers_start.grip == high


@pytest.mark.parametrize(
    ("beyond", "penalty"),
    [
        ({"reach_m": 0.631}, "reach"),
        ({"height_m": 1.751}, "height"),
        ({"height_m": 0.0, "height_end_m": 1.7501}, "travel"),
        ({"twist_deg": 135.1}, "twist"),
        ({"per_minute": 16}, "frequency"),
    ],
)
def test_beyond_its_limits_the_equation_allows_no_load(beyond: dict[str, float], penalty: str) -> None:
    found = lift(**({"mass_kg": 10, "reach_m": 0.3, "height_m": 0.6} | beyond))
    assert found.limit_start_kg == 0
    assert found.index_start == math.inf
    assert getattr(found.multipliers_start, penalty) == 0


def test_the_largest_penalty_is_named_at_the_worse_end() -> None:
    assert lift(10, 0.60, 0.75).largest_penalty == "reach"
    assert lift(10, 0.25, 0.75, reach_end_m=0.25, twist_end_deg=90).largest_penalty == "twist"
    assert lift(10, 0.25, 0.75, per_minute=9, hours=8).largest_penalty == "frequency"


def test_the_two_printed_forms_differ_by_at_most_three_per_cent() -> None:
    for reach_m, height_m, end_m in ((0.3, 0.4, 0.9), (0.5, 0.1, 1.5), (0.6, 1.0, 0.2)):
        metric, inch = (
            lift(10, reach_m, height_m, height_end_m=end_m, inch_form=form).limit_start_kg for form in (False, True)
        )
        assert inch == pytest.approx(metric, rel=0.03)


@given(
    st.floats(min_value=0.0, max_value=0.63),
    st.floats(min_value=0.0, max_value=0.63),
    st.floats(min_value=0, max_value=1.75),
    st.floats(min_value=0, max_value=15),
    st.floats(min_value=0, max_value=15),
)
def test_reaching_further_or_lifting_oftener_never_allows_more(
    one_m: float, other_m: float, height_m: float, one_rate: float, other_rate: float
) -> None:
    near, far = (lift(10, reach, height_m).limit_start_kg for reach in sorted((one_m, other_m)))
    assert far <= near
    seldom, often = (lift(10, 0.3, height_m, per_minute=rate).limit_start_kg for rate in sorted((one_rate, other_rate)))
    assert often <= seldom


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"mass_kg": -1}, "The load is -1 kg, and the figure holds for 0 to 500 kg."),
        ({"mass_kg": math.nan}, "The load is nan kg"),
        ({"reach_m": -0.1}, "The reach is -10 cm, and the figure holds for 0 to 300 cm."),
        ({"height_m": 9}, "The height is 900 cm"),
        ({"height_end_m": math.nan}, "The height is nan cm"),
        ({"twist_deg": 200}, "The twist is 200 deg, and the figure holds for 0 to 180 deg."),
        ({"per_minute": -1}, "The lifting rate is -1 lifts a minute"),
        ({"hours": 0}, "The lifting goes on for 0 h, and it must be more than none and at most 8 h."),
        ({"hours": 9}, "The lifting time is 9 h, and the figure holds for 0 to 8 h."),
        ({"grip": "slippery"}, "The grip is slippery, and it can be good, fair or poor."),
    ],
)
def test_impossible_input_is_refused_with_its_limit(wrong: dict[str, float], reason: str) -> None:
    with pytest.raises(FigureError) as refusal:
        lift(**({"mass_kg": 10, "reach_m": 0.3, "height_m": 0.6} | wrong))
    assert reason in str(refusal.value)
