"""Vector pictures for sheets. Everything that could run or fetch is taken out of them."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from typing import Any

from teardown.text import one_line

LONGEST_LABEL = 28


def line_chart(title: str, series: Mapping[str, Sequence[tuple[float, float]]], across: str, up: str) -> str:
    """Lines through points: `series` by its name."""
    chart = _pygal().XY(**_looks(title), x_title=across, y_title=up, show_dots=False)
    for name, points in series.items():
        chart.add(one_line(name)[:LONGEST_LABEL], list(points))
    return _drawn(chart)


def bar_chart(title: str, labels: Sequence[str], series: Mapping[str, Sequence[float]], up: str) -> str:
    """Bars side by side, one group a label."""
    chart = _pygal().Bar(**_looks(title), y_title=up)
    return _barred(chart, labels, series)


def ranked_bars(title: str, values: Sequence[tuple[str, float]], across: str) -> str:
    """Bars lying one below the other, each with its name."""
    import pygal

    height = 120 + 26 * len(values)
    chart = pygal.HorizontalBar(**_looks(title) | {"height": height}, x_title=across)
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
        opacity=".85",
        colors=("#005387", "#d05d29", "#444444"),
        font_family="sans-serif",
        title_font_size=18,
        label_font_size=13,
        major_label_font_size=13,
        legend_font_size=13,
    )
    return {
        "title": one_line(title),
        "style": plain_style,
        "js": (),
        "width": 760,
        "height": 330,
        "disable_xml_declaration": True,
        "legend_at_bottom": True,
        "show_minor_x_labels": True,
        "truncate_label": LONGEST_LABEL,
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
