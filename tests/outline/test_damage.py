"""Rims with places left out, made whole: from neighbours, from the mirror side, and what is said where neither works."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.edges import DamagedPlace, EdgeMap
from afterpart.model.outline import Arc, Circle, Line, Outline
from afterpart.outline.damage import mend_rims
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.outline.invented import circle, polygon, rims_of

CORNERS = [(-50.0, -30.0), (50.0, -30.0), (50.0, 30.0), (-50.0, 30.0)]
HOLES = [circle(x, y, 6.6) for x, y in ((-40.0, -20.0), (40.0, -20.0), (-40.0, 20.0), (40.0, 20.0))]


def edges_without(radius: float, places: list[DamagedPlace], holes: list = HOLES) -> EdgeMap:
    """The rims of a plate with rounded (0: sharp) corners, their points in the places left out."""
    edges = rims_of([polygon(CORNERS, radius), *holes], np.random.default_rng(5), angle_rad=0.0, shift=(0.0, 0.0))
    rims = []
    for rim in edges.rims:
        keep = np.ones(len(rim.points), bool)
        for p in places:
            keep &= np.hypot(*(rim.points - p.center).T) >= p.radius
        if keep.sum() > 20:
            rims.append(replace(rim, points=rim.points[keep], u=rim.u[keep]))
    return replace(edges, rims=tuple(rims), damage=tuple(places))


def kinds(outline: Outline) -> list[str]:
    names = {Line: "line", Arc: "arc", Circle: "circle"}
    outer = next(loop for loop in outline.design if loop.role == "outer")
    return sorted(names[type(s)] for s in outer.segments)


@pytest.mark.parametrize(("radius", "arcs"), [(0.0, 0), (2.0, 4), (6.0, 4)])
def test_a_lost_corner_is_like_the_other_corners(radius: float, arcs: int) -> None:
    outline = recover_outline(edges_without(radius, [DamagedPlace((48.0, 28.0), 9.0)]), OutlineSettings())
    assert kinds(outline) == ["arc"] * arcs + ["line"] * 4
    outer = outline.design[0].segments
    assert all(arc.radius == pytest.approx(radius, abs=1e-6) for arc in outer if isinstance(arc, Arc))
    points = np.array([s.start for s in outer])
    assert np.ptp(points, axis=0) == pytest.approx((100.0, 60.0), abs=1e-6)


def test_a_lost_stretch_of_an_edge_leaves_one_edge() -> None:
    outline = recover_outline(edges_without(6.0, [DamagedPlace((10.0, 30.0), 12.0)]), OutlineSettings())
    assert kinds(outline) == ["arc"] * 4 + ["line"] * 4


def test_filled_points_do_not_make_an_edge_surer() -> None:
    """A fillet nobody saw is known far worse than one that was seen; an edge half lost is not known better than the whole one."""
    def u_of(outline: Outline, kind: str) -> list[float]:
        return [d.u for d in outline.dimensions if d.kind == kind]
    whole = recover_outline(edges_without(6.0, []), OutlineSettings())
    lost = recover_outline(edges_without(6.0, [DamagedPlace((47.0, 27.0), 11.0)]), OutlineSettings())
    assert max(u_of(lost, "radius")) > 2.0 * max(u_of(whole, "radius"))
    assert max(u_of(lost, "width")) > 0.98 * max(u_of(whole, "width"))


def test_a_lost_hole_comes_back_from_the_mirror_side() -> None:
    edges = edges_without(6.0, [DamagedPlace((44.0, 24.0), 12.0, "mirror")])
    assert sum(rim.role == "opening" for rim in edges.rims) == 3
    outline = recover_outline(edges, OutlineSettings())
    circles = [s for loop in outline.design for s in loop.segments if isinstance(s, Circle)]
    places = sorted((round(c.center[0], 6), round(c.center[1], 6)) for c in circles)
    assert places == [(-40.0, -20.0), (-40.0, 20.0), (40.0, -20.0), (40.0, 20.0)]
    assert kinds(outline) == ["arc"] * 4 + ["line"] * 4
    said, = [note for note in outline.notes if note.code == "damage_mirrored"]
    assert "1 opening(s)" in said.text and " mm of rim" in said.text


def test_a_part_without_a_mirror_is_drawn_from_its_neighbours_and_says_so() -> None:
    holes = [circle(-35.0, -12.0, 6.6), circle(-10.0, 17.0, 9.0), circle(22.0, -18.0, 12.0)]
    place = DamagedPlace((30.0, 30.0), 7.0, "mirror")
    edges, notes = mend_rims(edges_without(6.0, [place], holes), 1.0, OutlineSettings())
    assert [note.code for note in notes] == ["damage_not_mirrored"]
    outer = edges.rims[0].points
    filled = np.hypot(*(outer - place.center).T) < place.radius
    assert filled.sum() > 20 and np.abs(outer[filled, 1] - 30.0).max() < 0.15
    assert np.isinf(edges.rims[0].u[filled]).all()


def test_without_damage_nothing_is_touched() -> None:
    edges = edges_without(6.0, [])
    assert mend_rims(edges, 1.0, OutlineSettings()) == (edges, [])
