"""Vector pictures for sheets. Everything that could run or fetch is taken out of them."""

from __future__ import annotations

import sys
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from teardown.text import one_line

LONGEST_LABEL = 48
WIDTH = 520
"""A phone shows a sheet 390 px wide: letters of 14 in a picture of 520 are 10 px there."""
COLOURS = ("#002b45", "#8f4416", "#6d97b3", "#444444", "#7a5c00")
"""The first three are told apart where a printer makes grey of them, each at least twice as light as the one before."""
ROOM = 0.08
"""Left free above and below the lines, so that none lies on the frame."""


def line_chart(
    title: str,
    series: Mapping[str, Sequence[tuple[float, float]]],
    across: str,
    up: str,
    dashed: Collection[str] = (),
) -> str:
    """Lines through points: `series` by its name; those of `dashed` are limits and goals, not what was measured."""
    heights = [y for points in series.values() for _, y in points]
    room = ROOM * (max(heights) - min(heights)) or 1.0
    between = (min(heights) - room, max(heights) + room)
    chart = _pygal().XY(**_looks(title), x_title=across, y_title=up, show_dots=False, range=between)
    for name, points in series.items():
        stroke = {"dasharray": "9, 5"} if name in dashed else {}
        chart.add(one_line(name)[:LONGEST_LABEL], list(points), stroke_style=stroke)
    return _drawn(chart)


def dot_chart(
    title: str,
    series: Mapping[str, Sequence[tuple[float, float]]],
    levels: Mapping[str, float],
    across: str,
    up: str,
) -> str:
    """What was read, each reading a dot, even when it is the only one; under dashed lines at the `levels`."""
    read = [point for points in series.values() for point in points]
    first, last = min(x for x, _ in read), max(x for x, _ in read)
    last = last if last > first else first + 1.0
    top = (1 + ROOM) * max((*(y for _, y in read), *levels.values()))
    chart = _pygal().XY(**_looks(title), x_title=across, y_title=up, dots_size=5, range=(0, top), xrange=(first, last))
    for name, points in series.items():
        chart.add(one_line(name)[:LONGEST_LABEL], list(points))
    for name, level in levels.items():
        ends = [(first, level), (last, level)]
        chart.add(one_line(name)[:LONGEST_LABEL], ends, show_dots=False, stroke_style={"dasharray": "9, 5"})
    return _drawn(chart)


def bar_chart(title: str, labels: Sequence[str], series: Mapping[str, Sequence[float]], up: str) -> str:
    """Bars side by side, one group a label."""
    chart = _pygal().Bar(**_looks(title), y_title=up)
    return _barred(chart, labels, series)


def ranked_bars(title: str, values: Sequence[tuple[str, float]], across: str) -> str:
    """Bars lying one below the other, each with its name."""
    height = 120 + 26 * len(values)
    chart = _pygal().HorizontalBar(**_looks(title) | {"height": height}, x_title=across)
    return _barred(chart, [name for name, _ in reversed(values)], {"": [value for _, value in reversed(values)]})


def _barred(chart: Any, labels: Sequence[str], series: Mapping[str, Sequence[float]]) -> str:
    chart.x_labels = [one_line(label)[:LONGEST_LABEL] for label in labels]
    chart.show_legend = len(series) > 1
    for name, values in series.items():
        chart.add(one_line(name)[:LONGEST_LABEL], [round(value, 2) for value in values])
    return _drawn(chart)


def _pygal() -> Any:
    """The charting library, without the finder it leaves in the way of every later import: only its maps need that."""
    import pygal

    sys.meta_path[:] = [finder for finder in sys.meta_path if type(finder).__module__ != "pygal"]
    return pygal


def _looks(title: str) -> dict[str, Any]:
    from pygal.style import Style

    plain_style = Style(
        background="transparent",
        plot_background="transparent",
        foreground="#111",
        foreground_strong="#111",
        foreground_subtle="#555",
        stroke_width="2.5",
        guide_stroke_color="#ccc",
        major_guide_stroke_color="#ccc",
        guide_stroke_dasharray="1, 0",
        major_guide_stroke_dasharray="1, 0",
        opacity=".85",
        colors=COLOURS,
        font_family="sans-serif",
        title_font_size=18,
        label_font_size=14,
        major_label_font_size=14,
        legend_font_size=14,
    )
    return {
        "title": one_line(title),
        "style": plain_style,
        "js": (),
        "width": WIDTH,
        "height": 330,
        "disable_xml_declaration": True,
        "legend_at_bottom": True,
        "show_minor_x_labels": True,
        "truncate_label": LONGEST_LABEL,
        "max_scale": 8,
    }


def _drawn(chart: Any) -> str:
    chart.add_xml_filter(_without_scripts)
    return str(chart.render(is_unicode=True))


def _without_scripts(root: Any) -> Any:
    for parent in root.iter():
        for child in list(parent):
            if str(child.tag).endswith("script"):
                parent.remove(child)
    return root
