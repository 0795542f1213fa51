"""The SVG read by an XML parser, its arcs evaluated from their flags by the formulas of the SVG standard."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable

import numpy as np
import pytest
from shapely.geometry import Polygon

from afterpart.geometry.segments import loop_points
from afterpart.model.outline import Outline
from afterpart.release.svg import outline_svg
from tests.parts import drawings

SVG = "{http://www.w3.org/2000/svg}"


def arc_points(start: np.ndarray, radius: float, is_large: bool, is_sweep: bool, end: np.ndarray) -> np.ndarray:
    """Points along an elliptical-arc command with equal radii (SVG 1.1, appendix F.6.5, for a circle; from memory)."""
    half = (start - end) / 2
    lift = math.sqrt(max(0.0, radius**2 / float(half @ half) - 1.0)) * (-1 if is_large == is_sweep else 1)
    center = (start + end) / 2 + lift * np.array([half[1], -half[0]])
    first = math.atan2(*(start - center)[::-1])
    turn = (math.atan2(*(end - center)[::-1]) - first) % math.tau
    turn = turn if is_sweep else turn - math.tau
    angles = first + turn * np.linspace(0, 1, 7201)[:-1]
    return center + radius * np.column_stack([np.cos(angles), np.sin(angles)])


def path_points(d: str) -> np.ndarray:
    words = d.split()
    points: list[np.ndarray] = []
    here = np.zeros(2)
    while words:
        match words.pop(0):
            case "M":
                here = np.array([float(words.pop(0)), float(words.pop(0))])
            case "L":
                points.append(here[None])
                here = np.array([float(words.pop(0)), float(words.pop(0))])
            case "A":
                rx, ry, turn, large, sweep, x, y = (float(words.pop(0)) for _ in range(7))
                assert rx == ry and turn == 0
                end = np.array([x, y])
                points.append(arc_points(here, rx, bool(large), bool(sweep), end))
                here = end
            case "Z":
                assert not words
    return np.vstack(points)


def read_loops(data: bytes) -> list[np.ndarray]:
    """Points along each loop, back in the drawing's frame."""
    root = ElementTree.fromstring(data)
    left, top = float(root.get("data-left")), float(root.get("data-top"))
    loops = []
    for shape in root.find(f"{SVG}g"):
        if shape.tag == f"{SVG}circle":
            t = np.linspace(0, math.tau, 7201)[:-1]
            points = np.array([float(shape.get("cx")), float(shape.get("cy"))]) + float(shape.get("r")) * np.column_stack(
                [np.cos(t), np.sin(t)]
            )
        else:
            points = path_points(shape.get("d"))
        loops.append(np.column_stack([points[:, 0] + left, top - points[:, 1]]))
    return loops


@pytest.mark.parametrize("make", [drawings.gauge_lid, drawings.ring_flange, drawings.long_rail])
def test_loops_are_those_of_the_drawing(make: Callable[[], Outline]) -> None:
    outline = make()
    found = read_loops(outline_svg(outline))
    assert len(found) == len(outline.design)
    for points, loop in zip(found, outline.design, strict=True):
        read, meant = Polygon(points), Polygon(loop_points(loop, 1e-5))
        assert read.symmetric_difference(meant).area < 1e-4 * meant.length
        assert read.hausdorff_distance(meant) < 1e-3


def test_one_user_unit_is_one_mm() -> None:
    root = ElementTree.fromstring(outline_svg(drawings.gauge_lid()))
    width, height = root.get("width"), root.get("height")
    assert width == "124mm" and height == "84mm"
    assert root.get("viewBox").split() == ["0", "0", "124", "84"]


def test_unknown_size_claims_no_mm() -> None:
    data = outline_svg(dataclasses.replace(drawings.gauge_lid(), unit="px"))
    root = ElementTree.fromstring(data)
    assert root.get("width") is None and "SIZE UNKNOWN" in root.find(f"{SVG}desc").text


def test_a_loop_free_in_part_is_drawn_in_two_styles_without_a_break() -> None:
    """Three neighbouring segments, one of them the loop's first: one free run and one held, which together are the loop."""
    lid = drawings.gauge_lid()
    outer = lid.design[0]
    free = tuple(s.id for s in (outer.segments[-1], *outer.segments[:2]))
    root = ElementTree.fromstring(outline_svg(dataclasses.replace(lid, free=free)))
    group = root.find(f"{SVG}g")[0]
    assert group.get("class") == "outer" and [path.get("class") for path in group] in (["held", "free"], ["free", "held"])
    parts = {path.get("class"): path for path in group}
    assert tuple(parts["free"].get("data-segments").split()) == free
    assert "stroke-dasharray" in parts["free"].attrib and "stroke-dasharray" not in parts["held"].attrib
    chain = np.vstack([path_points(path.get("d")) for path in group])
    left, top = float(root.get("data-left")), float(root.get("data-top"))
    read = Polygon(np.column_stack([chain[:, 0] + left, top - chain[:, 1]]))
    assert read.symmetric_difference(Polygon(loop_points(outer, 1e-5))).area < 1e-4 * read.length


def test_a_free_hole_is_marked_beside_its_role() -> None:
    lid = drawings.gauge_lid()
    hole = next(loop for loop in lid.design if loop.role == "opening" and len(loop.segments) == 1)
    root = ElementTree.fromstring(outline_svg(dataclasses.replace(lid, free=(hole.segments[0].id,))))
    shapes = [shape for shape in root.find(f"{SVG}g") if "free" in shape.get("class").split()]
    assert [shape.get("data-segments") for shape in shapes] == [hole.segments[0].id]
    assert shapes[0].get("class") == "opening free" and "stroke-dasharray" in shapes[0].attrib


def test_same_outline_same_bytes() -> None:
    assert outline_svg(drawings.gauge_lid()) == outline_svg(drawings.gauge_lid())
