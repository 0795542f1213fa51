"""Pockets and pads in the drawing: settled like openings, with their distance from the outline; a pad of unknown height is not.

True walls with noise, of an invented plate; no photograph.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.job import Correction
from afterpart.model.outline import Loop, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.outline.invented import circle, polygon, rims_of

PLATE = [polygon([(0, 0), (120, 0), (120, 80), (0, 80)], 10.0), circle(12, 12, 5.5), circle(108, 12, 5.5), circle(12, 68, 5.5),
         circle(108, 68, 5.5)]
POCKET = polygon([(25, 15), (75, 15), (75, 55), (25, 55)], 5.0)


def _drawn(loop: list, wall: str, depth: float | None, seed: int = 3, swollen: float = 1.0) -> Outline:
    """swollen: by how much the wall looks larger than it is, as a pad does that nobody told the height of."""
    edges = rims_of([*PLATE, loop], np.random.default_rng(seed), rms=0.012, scale_u=0.0, relative_u=0.002)
    last = edges.rims[-1]
    points = last.points[::-1] if wall == "pad" else last.points
    points = points.mean(axis=0) + swollen * (points - points.mean(axis=0))
    single = replace(last, role="channel", wall=wall, depth=depth, points=points)
    return recover_outline(replace(edges, rims=(*edges.rims[:-1], single)), OutlineSettings())


def _wall(loops: tuple[Loop, ...]) -> Loop:
    loop, = (loop for loop in loops if loop.role == "channel")
    return loop


def _sizes(outline: Outline) -> dict[str, list[float]]:
    """Design values of all that the wall takes part in, by kind."""
    ids = {segment.id for segment in _wall(outline.design).segments}
    found: dict[str, list[float]] = {}
    for d in outline.dimensions:
        if ids & set(d.of) and d.origin != "free":
            found.setdefault(d.kind, []).append(round(d.design, 6))
    return found


@pytest.mark.parametrize(("wall", "depth"), [("pocket", 1.5), ("pocket", None), ("pad", -2.0)])
def test_a_wall_is_settled_as_an_opening_is(wall: str, depth: float | None) -> None:
    outline = _drawn(POCKET, wall, depth)
    sizes = _sizes(outline)
    assert sorted(sizes["width"]) == [40.0, 50.0] and sizes["radius"] == [5.0] * 4
    assert sorted(sizes["length"]) == [30.0, 30.0, 40.0, 40.0]
    assert sorted(sizes.get("gap", [])) == ([15.0, 25.0] if wall == "pocket" else [])
    assert _wall(outline.design).wall == wall and _wall(outline.design).depth == depth
    assert not set(outline.free) & {segment.id for segment in _wall(outline.design).segments}


def test_a_round_pocket_is_one_circle_with_its_place() -> None:
    outline = _drawn(circle(50, 40, 36), "pocket", 2.0)
    assert len(_wall(outline.design).segments) == 1
    sizes = _sizes(outline)
    assert sizes["diameter"] == [36.0] and len(sizes["distance"]) == 4


def test_a_pad_of_unknown_height_stays_as_measured_and_moves_nothing() -> None:
    """Half a percent too large, as a pad 3.5 mm high looks from 700 mm: it is free, and the rest comes out as without it."""
    outline = _drawn(POCKET, "pad", None, swollen=1.005)
    assert _sizes(outline) == {}
    assert {segment.id for segment in _wall(outline.design).segments} <= set(outline.free)
    widths = [round(d.design, 6) for d in outline.dimensions if d.kind == "width" and d.origin == "inferred"]
    assert sorted(widths) == [80.0, 120.0]


def test_a_wall_is_dropped_alone() -> None:
    outline = _drawn(POCKET, "pocket", 1.5)
    first = _wall(outline.design).segments[0].id
    edges = rims_of([*PLATE, POCKET], np.random.default_rng(3), rms=0.012, scale_u=0.0, relative_u=0.002)
    single = replace(edges.rims[-1], role="channel", wall="pocket", depth=1.5)
    settings = replace(OutlineSettings(), corrections=(Correction("drop", (first,)),))
    again = recover_outline(replace(edges, rims=(*edges.rims[:-1], single)), settings)
    assert all(loop.role != "channel" for loop in again.design)
    assert len([loop for loop in again.design if loop.role == "opening"]) == 4
