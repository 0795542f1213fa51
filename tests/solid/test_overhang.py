"""Overhangs against shapes whose overhanging area and span follow from their drawing."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
import trimesh

from afterpart.model.outline import Arc, Line
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Deboss, Lettering, Prism, Step, TreatLoop
from afterpart.solid.body import Mesh
from afterpart.solid.overhang import Overhang, overhangs
from afterpart.solid.worker import Workshop
from tests.solid.shapes import disc, piece_of, plate, rectangle


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def of(workshop: Workshop, *steps: Step, angle_deg: float = 45.0) -> tuple[Overhang, ...]:
    return overhangs(workshop.build(piece_of(*steps)).mesh, angle_deg)


def bar(x0: float, y0: float, x1: float, y1: float, bottom: float, top: float) -> Prism:
    return Prism(rectangle(x0, y0, x1, y1), (), bottom, top)


def test_a_plate_with_chamfers_overhangs_nowhere(workshop: Workshop) -> None:
    holes = Cut((Prism(disc(-50, -30, 3.3), (), -1.0, 7.0), Prism(disc(0, 0, 20), (), -1.0, 7.0)))
    assert of(workshop, Add((plate(),)), holes, ChamferFirstLayer(0.4)) == ()


def test_a_t_bar_has_two_unsupported_wings(workshop: Workshop) -> None:
    """Stem 10 wide, flange 30: wings of 10 x 40 each, 8 above the bed."""
    found = of(workshop, Add((bar(-5, 0, 5, 40, 0, 8), bar(-15, 0, 15, 40, 8, 12))))
    assert [o.kind for o in found] == ["unsupported"] * 2
    for wing in found:
        assert wing.area == pytest.approx(400, rel=1e-9) and wing.height == pytest.approx(8) and wing.span == 0
        assert wing.lean_deg == pytest.approx(90) and 5 < abs(wing.at[0]) < 15


@pytest.mark.parametrize("gap", [6.0, 25.0])
def test_a_beam_on_two_posts_is_a_bridge_of_the_gap(workshop: Workshop, gap: float) -> None:
    h = gap / 2
    posts = (bar(-h - 5, 0, -h, 8, 0, 10), bar(h, 0, h + 5, 8, 0, 10))
    (bridge,) = of(workshop, Add((*posts, bar(-h - 5, 0, h + 5, 8, 10, 13))))
    assert bridge.kind == "bridge" and bridge.span == pytest.approx(gap, abs=1e-6)
    assert bridge.area == pytest.approx(8 * gap, rel=1e-9) and bridge.height == pytest.approx(10)


def test_a_beam_on_one_post_is_not_a_bridge(workshop: Workshop) -> None:
    (arm,) = of(workshop, Add((bar(-8, 0, -3, 8, 0, 10), bar(-8, 0, 12, 8, 10, 13))))
    assert arm.kind == "unsupported" and arm.area == pytest.approx(15 * 8, rel=1e-9)


def test_a_blind_recess_in_the_bed_face_is_a_bridge_of_its_lesser_width(workshop: Workshop) -> None:
    """30 x 12 and 2 deep; turned by an angle that is none of those tried, its least span stays 12."""
    turn = math.radians(23.7)
    c, s = math.cos(turn), math.sin(turn)
    corners = [(x * c - y * s, x * s + y * c) for x, y in ((-15, -6), (15, -6), (15, 6), (-15, 6))]
    recess = tuple(Line("", corners[i], corners[(i + 1) % 4]) for i in range(4))
    (roof,) = of(workshop, Add((plate(),)), Cut((Prism(recess, (), -1.0, 2.0),)))
    assert roof.kind == "bridge" and roof.span == pytest.approx(12, abs=1e-4) and roof.area == pytest.approx(360, rel=1e-9)
    assert roof.height == pytest.approx(2) and math.hypot(*roof.at[:2]) < 16


def test_a_round_recess_spans_its_diameter(workshop: Workshop) -> None:
    (roof,) = of(workshop, Add((plate(),)), Cut((Prism(disc(10, 5, 4), (), -1.0, 2.0),)))
    assert roof.kind == "bridge" and 7.9 < roof.span <= 8.0


def test_a_counterbore_from_the_bed_leaves_an_unsupported_ring_and_a_cone_mends_it(workshop: Workshop) -> None:
    """Ring between radius 5.5 and 3.3; with a 45 degree cone from one to the other nothing overhangs."""
    hole = Prism(disc(0, 0, 3.3), (), -1.0, 7.0)
    (ring,) = of(workshop, Add((plate(),)), Cut((hole, Prism(disc(0, 0, 5.5), (), -1.0, 2.0))))
    assert ring.kind == "unsupported" and ring.area == pytest.approx(math.pi * (5.5**2 - 3.3**2), rel=0.02)
    mended = Cut((hole, Cone((0, 0), -1.0, 2.0, 5.5, 5.5), Cone((0, 0), 2.0, 4.2, 5.5, 3.3)))
    assert of(workshop, Add((plate(),)), mended, ChamferFirstLayer(0.4)) == ()


@pytest.mark.parametrize(("lean_deg", "count"), [(44.0, 0), (46.0, 1), (60.0, 1)])
def test_a_cone_that_widens_upwards(workshop: Workshop, lean_deg: float, count: int) -> None:
    """Lateral area of a frustum: pi (r + R) slant."""
    wide = 5 + 6 * math.tan(math.radians(lean_deg))
    found = of(workshop, Add((Cone((0, 0), 0.0, 6.0, 5.0, wide),)))
    assert len(found) == count
    for cone in found:
        area = math.pi * (5 + wide) * math.hypot(6, wide - 5)
        assert cone.kind == "unsupported" and cone.area == pytest.approx(area, rel=0.01)
        assert cone.lean_deg == pytest.approx(lean_deg, abs=0.4) and cone.height == 0
    assert of(workshop, Add((Cone((0, 0), 0.0, 6.0, 5.0, wide),)), angle_deg=lean_deg + 1) == ()


def test_a_level_round_hole_has_a_roof_between_its_shoulders(workshop: Workshop) -> None:
    """A tunnel of radius 4 along y: it leans more than 45 degrees over a quarter turn, sqrt(2) r wide; the facets' slack takes a
    little off."""
    r, z = 4.0, 6.0
    steps = 96
    around = [(-12.0, 0.0), (12.0, 0.0), (12.0, 14.0), (-12.0, 14.0)]
    hole = [(r * math.cos(2 * math.pi * i / steps), z + r * math.sin(2 * math.pi * i / steps)) for i in range(steps)]
    upright = trimesh.creation.extrude_polygon(trimesh.path.polygons.Polygon(around, [hole]), 20.0)
    vertices = upright.vertices[:, [0, 2, 1]] * (1, -1, 1)
    (roof,) = overhangs(Mesh(np.asarray(vertices), np.asarray(upright.faces, np.int32)))
    assert roof.kind == "bridge" and math.sqrt(2) * r * 0.93 < roof.span < math.sqrt(2) * r * 1.04
    assert roof.area == pytest.approx(math.pi / 2 * r * 20, rel=0.08)


def test_what_hangs_down_inside_a_recess_begins_in_the_air(workshop: Workshop) -> None:
    """A stud on the roof of a recess, short of the bed: its foot has a free rim, and so has the roof round it."""
    hung = (Cut((Prism(disc(0, 0, 12), (disc(0, 0, 2, "c2"),), -1.0, 4.0), Prism(disc(0, 0, 2), (), -1.0, 2.0))),)
    found = of(workshop, Add((plate(),)), *hung)
    foot = min(found, key=lambda o: o.area)
    assert len(found) == 2 and foot.kind == "unsupported" and foot.height == pytest.approx(2)
    assert foot.area == pytest.approx(math.pi * 4, rel=0.02)


def test_a_rounded_entry_on_the_bed_overhangs_and_a_bevelled_one_does_not(workshop: Workshop) -> None:
    """The round's lower eighth turn of torus: integral of 2 pi (13 - 3 sin t) 3 dt over 45 degrees, less facets in doubt."""
    steps = (Add((plate(),)), Cut((Prism(disc(0, 0, 10), (), -1.0, 7.0),)))
    (flare,) = of(workshop, *steps, TreatLoop(disc(0, 0, 10), 0.0, "round", 3.0))
    area = math.tau * 3 * (13 * math.pi / 4 - 3 * (1 - math.cos(math.pi / 4)))
    assert flare.kind == "unsupported" and flare.area == pytest.approx(area, rel=0.1)
    assert of(workshop, *steps, TreatLoop(disc(0, 0, 10), 0.0, "bevel", 3.0)) == ()


def test_letters_sunk_into_the_bed_face_are_short_bridges(workshop: Workshop) -> None:
    found = of(workshop, Add((plate(),)), Deboss((Lettering("IL", (0.0, 0.0), 6.0, 0.0),), 0.0, 0.6, True))
    assert [o.kind for o in found] == ["bridge", "bridge"] and all(o.span < 3.0 for o in found)


def test_slivers_are_left_out(workshop: Workshop) -> None:
    tiny = Prism((Arc("a", (0.03, 0), (-0.03, 0), (0, 0), 0.03, True), Line("b", (-0.03, 0), (0.03, 0))), (), -1.0, 1.0)
    assert of(workshop, Add((plate(),)), Cut((tiny,))) == ()
