"""Upright cuts: the exact outline of simple bodies, and a groove's section read off the STEP file on straights and in corners."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Line, Point, Segment
from afterpart.model.piece import Add, Cone, Cut, Prism, TreatLoop
from afterpart.solid.body import Section
from afterpart.solid.worker import Workshop
from tests.solid.shapes import disc, piece_of, plate, rounded

GROOVE = Prism(rounded(-62, -36, 62, 36, 5.6), (rounded(-58.4, -32.4, 58.4, 32.4, 2.0),), 4.0, 7.0, bottom_round=0.6)


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def ends(chain: tuple[Segment, ...]) -> list[tuple[Point, Point]]:
    return [(s.start, s.end) for s in chain if isinstance(s, Line | Arc)]


def area_left_of(section: Section) -> float:
    """Green's theorem on the exact segments: material on the left counts positive."""
    total = 0.0
    for s in section.segments:
        (x0, y0), (x1, y1) = s.start, s.end
        total += (x0 * y1 - x1 * y0) / 2
        if isinstance(s, Arc):
            first, last = (math.atan2(p[1] - s.center[1], p[0] - s.center[0]) for p in (s.start, s.end))
            sweep = (last - first) % math.tau if s.ccw else (last - first) % math.tau - math.tau
            total += s.radius**2 / 2 * (sweep - math.sin(sweep))
    return total


@pytest.mark.parametrize(("point", "direction_deg"), [
    ((0.0, -34.2), 90.0), ((60.2, 5.0), 0.0), ((56.4 + 3.8 / math.sqrt(2), -30.4 - 3.8 / math.sqrt(2)), -45.0)])
def test_the_groove_is_read_off_on_straights_and_in_a_corner(workshop: Workshop, point: Point, direction_deg: float) -> None:
    """Width 3.6, depth 2 under the face at 6, floor corners of 0.6, whatever the direction of the cut across it."""
    step = workshop.build(piece_of(Add((plate(),)), Cut((GROOVE,)))).step
    section = workshop.profile(step, point, direction_deg)
    near = [s for s in section.segments if all(abs(p[0]) < 1.8 + 1e-6 for p in (s.start, s.end))]
    walls = sorted(s.start[0] for s in near if isinstance(s, Line) and abs(s.start[0] - s.end[0]) < 1e-6)
    floor = [s.start[1] for s in near if isinstance(s, Line) and abs(s.start[1] - s.end[1]) < 1e-6]
    arcs = [s for s in near if isinstance(s, Arc)]
    assert walls == pytest.approx([-1.8, 1.8], abs=1e-6) and floor == pytest.approx([4.0], abs=1e-6)
    assert [a.radius for a in arcs] == pytest.approx([0.6, 0.6], abs=1e-6)
    assert all(not a.ccw for a in arcs), "hollow corners turn clockwise with the material on the left"


@pytest.mark.parametrize("direction_deg", [0.0, 33.0, 90.0, 200.0])
def test_loops_close_and_keep_the_material_on_their_left(workshop: Workshop, direction_deg: float) -> None:
    section = workshop.profile(piece_of(Add((plate(),)), Cut((GROOVE,))), (1.0, 2.0), direction_deg)
    for loop in section.loops:
        for (_, end), (start, _) in zip(ends(loop), ends(loop)[1:] + ends(loop)[:1], strict=True):
            assert math.dist(end, start) < 1e-6
    assert area_left_of(section) == pytest.approx(section.area, rel=1e-6)


def test_a_cut_through_a_window_gives_a_loop_on_each_side(workshop: Workshop) -> None:
    frame = Prism(plate().outer, (rounded(-38, -21, 38, 21, 6),), 0.0, 6.0)
    section = workshop.profile(piece_of(Add((frame,))), (0.0, 0.0), 90.0)
    assert len(section.loops) == 2 and section.area == pytest.approx(2 * (48 - 21) * 6, rel=1e-9)
    sides = sorted((min(s.start[0] for s in loop), max(s.start[0] for s in loop)) for loop in section.loops)
    assert sides[0] == pytest.approx((-48, -21), abs=1e-9) and sides[1] == pytest.approx((21, 48), abs=1e-9)


def test_a_closed_hollow_is_an_inner_loop_with_the_material_on_its_left(workshop: Workshop) -> None:
    """A bubble in a block, made of two cones."""
    bubble = (Cone((0, 0), 2.0, 3.0, 4.0, 2.0), Cone((0, 0), 3.0, 4.0, 2.0, 4.0))
    section = workshop.profile(piece_of(Add((plate(),)), Cut(bubble)), (0.0, 0.0), 0.0)
    assert len(section.loops) == 2 and section.area == pytest.approx(148 * 6 - 2 * (4 + 8) / 2 * 1, rel=1e-9)
    assert area_left_of(section) == pytest.approx(section.area, rel=1e-9)


def test_a_rounded_entry_is_an_arc_of_its_radius(workshop: Workshop) -> None:
    steps = (Add((plate(),)), Cut((Prism(disc(0, 0, 10), (), -1.0, 7.0),)), TreatLoop(disc(0, 0, 10), 0.0, "round", 3.0))
    arcs = [s for s in workshop.profile(piece_of(*steps), (0.0, 0.0), 17.0).segments if isinstance(s, Arc)]
    assert sorted(a.center[0] for a in arcs) == pytest.approx([-13.0, 13.0], abs=1e-6)
    assert all(a.radius == pytest.approx(3.0, abs=1e-6) and a.center[1] == pytest.approx(3.0, abs=1e-6) and a.ccw for a in arcs)


def test_an_oblique_cut_through_a_round_keeps_to_the_curve(workshop: Workshop) -> None:
    """Beside its axis a hole's rounded mouth is cut in a curve of higher degree: its points lie on the torus within 1e-4."""
    steps = (Add((plate(),)), Cut((Prism(disc(0, 0, 10), (), -1.0, 7.0),)), TreatLoop(disc(0, 0, 10), 0.0, "round", 3.0))
    section = workshop.profile(piece_of(*steps), (0.0, 6.0), 0.0)
    curve = [s for s in section.segments if s.id == "curve"]
    assert len(curve) > 20
    for s in curve:
        for x, z in (s.start, ((s.start[0] + s.end[0]) / 2, (s.start[1] + s.end[1]) / 2)):
            assert abs(math.hypot(math.hypot(x, 6.0) - 13.0, z - 3.0) - 3.0) < 1e-4


def test_a_cut_beside_the_body_is_empty_and_a_bad_file_refused(workshop: Workshop) -> None:
    section = workshop.profile(piece_of(Add((plate(),))), (0.0, 60.0), 0.0)
    assert section.loops == () and section.area == 0.0
    with pytest.raises(SolidError, match="cannot be read"):
        workshop.profile(b"no file", (0.0, 0.0), 0.0)
