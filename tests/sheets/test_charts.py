"""The pictures: nothing lies on the frame, no name of a shipped pack is cut, and letters can be read on a phone."""

from __future__ import annotations

import re
import sys
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

from teardown.car import door
from teardown.packs.model import Fasteners
from teardown.packs.reader import load
from teardown.sheets import bags
from teardown.sheets.charts import COLOURS, WIDTH, line_chart, ranked_bars
from tests.car.tally import TALLY_FACTS, tally_world

PHONE_PX, MARGINS_PX = 390, 20
SVG = "{http://www.w3.org/2000/svg}"


def goal_chart(goal_kg: float) -> ElementTree.Element:
    down = {"the car": [(0.0, 1390.0), (40.0, 1195.0)], "goal": [(0.0, goal_kg), (40.0, goal_kg)]}
    return ElementTree.fromstring(line_chart("Down", down, "entries", "kg", dashed=("goal",)))


def heights(chart: ElementTree.Element, series: int) -> list[float]:
    """How far down the picture a line runs, of its own plot."""
    groups = [group for group in chart.iter(f"{SVG}g") if f"serie-{series}" in group.get("class", "").split()]
    (path,) = [path for path in groups[0].iter(f"{SVG}path") if "line" in path.get("class", "")]
    return [float(y) for y in re.findall(r"[ML]?[\d.-]+[ ,]([\d.-]+)", path.get("d", ""))]


def test_the_goal_lies_clear_of_the_frame_and_is_dashed() -> None:
    chart = goal_chart(1120)
    plot = next(group for group in chart.iter(f"{SVG}g") if group.get("class") == "plot")
    frame_px = float(next(plot.iter(f"{SVG}rect")).get("height", "0"))
    (goal_px, *_) = heights(chart, 1)
    assert 0 < goal_px < frame_px - 5
    assert "stroke-dasharray" in ElementTree.tostring(chart, "unicode")


def test_a_line_that_is_level_is_drawn_all_the_same() -> None:
    assert "<path" in line_chart("Level", {"the car": [(0.0, 1200.0), (5.0, 1200.0)]}, "entries", "kg").replace(
        "ns0:", ""
    )


def test_the_areas_of_the_packs_that_ship_are_named_in_full() -> None:
    titles = [pack.title for pack in load(door.procedures()).packs]
    chart = ElementTree.fromstring(ranked_bars("Off", [(title, 1.0) for title in titles], "kg"))
    drawn = {"".join(text.itertext()) for text in chart.iter(f"{SVG}text")}
    assert [title for title in titles if title not in drawn] == []


def test_letters_are_ten_pixels_high_on_a_phone() -> None:
    chart = ranked_bars("Off", [("Seats", 60.0)], "kg")
    sizes_px = [
        float(size) for size in re.findall(r"\.(?:axis|legends)[^{}]*text[^{}]*\{[^}]*font-size: ?([\d.]+)px", chart)
    ]
    assert float(ElementTree.fromstring(chart).get("viewBox", "").split()[2]) == WIDTH
    drawn_px = (PHONE_PX - MARGINS_PX) / WIDTH
    assert sizes_px
    assert min(sizes_px) * drawn_px > 9.9


def test_a_step_that_is_kept_has_no_bag_label(tmp_path: Path) -> None:
    labels = [block.title for block in bags.fill(tally_world(tmp_path / "car").car).blocks if block.label]
    assert labels == ["BAG 1"]
    kept = TALLY_FACTS.replace("keep = false", "keep = true")
    world = tally_world(tmp_path / "kept", kept)
    laid = world.car.folded.route.by_ref["cabin.seat-out"]
    steps = tuple(
        one._replace(kept="KEEP: rule 4.2 (2026-01-31)") if one is laid else one for one in world.car.folded.route.steps
    )
    object.__setattr__(world.car.folded.route, "steps", steps)
    vars(world.car.folded.route).pop("by_ref", None)
    assert [block.title for block in bags.fill(world.car).blocks if block.label] == []


def luminance(colour: str) -> float:
    """Of `#rrggbb`, as WCAG 2.2 defines relative luminance (from memory)."""
    shares = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_three_bars_side_by_side_are_told_apart_in_grey_and_stand_out_from_paper() -> None:
    light = [luminance(colour) + 0.05 for colour in COLOURS[:3]]
    assert all(paler / darker >= 2 for darker, paler in pairwise(light))
    assert 1.05 / light[-1] >= 3  # WCAG 2.2, 1.4.11 Non-text Contrast: 3 to 1


def test_no_chart_leaves_a_finder_in_the_way_of_later_imports() -> None:
    ranked_bars("Off", [("Seats", 60.0)], "kg")
    assert [finder for finder in sys.meta_path if type(finder).__module__ == "pygal"] == []


def test_a_bag_label_names_the_car_and_what_is_used_once(tmp_path: Path) -> None:
    world = tally_world(tmp_path / "car")
    laid = world.car.folded.route.by_ref["cabin.seat-out"]
    fasteners = (*laid.step.fasteners, Fasteners(count=(2, 2), what="lock rings", fate="discard"))
    step = laid.step.model_copy(update={"fasteners": fasteners})
    steps = tuple(one._replace(step=step) if one is laid else one for one in world.car.folded.route.steps)
    object.__setattr__(world.car.folded.route, "steps", steps)
    vars(world.car.folded.route).pop("by_ref", None)
    (label,) = [block for block in bags.fill(world.car).blocks if block.label]
    assert label.lines[0] == "Test car: Driver seat out"
    assert label.lines[-1] == "used once, new ones needed: 2 lock rings"
    assert bags.TO_TICK in label.to_write
