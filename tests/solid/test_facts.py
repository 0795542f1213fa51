"""What is measured on solids, against bodies whose walls, chamfers and overhangs follow from their drawing."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from afterpart.model.feature import Groove
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Deboss, Lettering, Prism, Step
from afterpart.model.wishes import PrinterWish
from afterpart.solid.bed_edge import bed_edge
from afterpart.solid.body import Mesh
from afterpart.solid.build_ways import AS_BUILT, FLIPPED, bed_area, ways_to_build
from afterpart.solid.facts import facts_of
from afterpart.solid.overhang import overhangs
from afterpart.solid.thickness import Wall, thinnest_wall
from afterpart.solid.worker import Workshop
from tests.solid.shapes import disc, piece_of, plate, rectangle, ring, rounded


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def mesh_of(workshop: Workshop, *steps: Step) -> Mesh:
    return workshop.build(piece_of(*steps)).mesh


def wall_of(workshop: Workshop, *steps: Step) -> Wall:
    found = thinnest_wall(mesh_of(workshop, *steps))
    assert found is not None
    return found


def box(x0: float, y0: float, x1: float, y1: float, bottom: float, top: float) -> Prism:
    return Prism(rectangle(x0, y0, x1, y1), (), bottom, top)


def test_a_chamfered_plate_is_as_thick_as_it_is_drawn(workshop: Workshop) -> None:
    """Neither its chamfers nor its letters, 0.4 deep with thin ridges between them, count as walls."""
    letters = Deboss((Lettering("IC-1 M6 max 2.4 Nm", (0.0, 0.0), 4.0, 0.0),), 6.0, 0.4)
    wall = wall_of(workshop, Add((plate(),)), ChamferFirstLayer(0.4), letters)
    assert wall.thickness == pytest.approx(5.6, abs=1e-4), "what is left below the letters"


def test_a_thin_floor_under_a_pocket(workshop: Workshop) -> None:
    wall = wall_of(workshop, Add((plate(),)), Cut((box(-20, -10, 20, 10, 1.3, 7.0),)))
    assert wall.thickness == pytest.approx(1.3, abs=1e-4)
    assert abs(wall.at[0]) <= 20 and wall.at[2] == pytest.approx(0.65, abs=1e-3)


def test_a_lip_and_a_wall_between_two_holes(workshop: Workshop) -> None:
    lip = Prism(rounded(-70, -40, 70, 40, 5.0), (rounded(-69.1, -39.1, 69.1, 39.1, 4.1),), 6.0, 7.0)
    thickness = wall_of(workshop, Add((plate(), lip))).thickness
    assert thickness == pytest.approx(0.9, abs=0.02), "two chords of 0.01 mm in the corners"
    holes = Cut((Prism(disc(-3.6, 0, 3.3), (), -1.0, 7.0), Prism(disc(3.6, 0, 3.3), (), -1.0, 7.0)))
    wall = wall_of(workshop, Add((plate(),)), holes)
    assert wall.thickness == pytest.approx(0.6, abs=0.021), "two chords of 0.01 mm"
    assert wall.at[0] == pytest.approx(0.0, abs=0.05) and abs(wall.at[1]) < 0.3


def test_a_wall_that_leans_is_measured_square_to_itself(workshop: Workshop) -> None:
    """A funnel 1.2 mm thick measured level, leaning by 30 degrees: 1.2 cos(30)."""
    run = 10 * math.tan(math.radians(30))
    inside = Cone((0, 0), -1.0, 11.0, 10.8 - run / 10, 10.8 + run * 1.1)
    funnel = Add((Cone((0, 0), 0.0, 10.0, 12.0, 12.0 + run),)), Cut((inside,))
    assert wall_of(workshop, *funnel).thickness == pytest.approx(1.2 * math.cos(math.radians(30)), abs=0.03)


def test_a_wedge_has_no_thin_wall_at_its_tip(workshop: Workshop) -> None:
    """A prism with corners of 30 and 60 degrees."""
    wedge = Prism(ring((0.0, 0.0), (40.0, 0.0), (0.0, 40.0 * math.tan(math.radians(30)))), (), 0.0, 5.0)
    assert wall_of(workshop, Add((wedge,))).thickness == pytest.approx(5.0, abs=1e-4)


def test_edges_on_the_bed_with_and_without_chamfer(workshop: Workshop) -> None:
    """Round a rectangle 148 x 96 with corners of 8 drawn in by 0.4, and a hole of 6.6 opened to 7.4."""
    outline = 2 * (132 + 80) + 2 * math.pi * (8 - 0.4)
    hole = Cut((Prism(disc(0, 0, 3.3), (), -1.0, 7.0),))
    letters = Deboss((Lettering("UP", (30.0, 0.0), 5.0, 0.0),), 0.0, 0.4, from_below=True)
    edge = bed_edge(mesh_of(workshop, Add((plate(),)), hole, ChamferFirstLayer(0.4), letters))
    assert edge.length == pytest.approx(outline + 2 * math.pi * 3.7, rel=2e-3)
    assert edge.chamfered == pytest.approx(edge.length, rel=1e-9) and edge.least_chamfer == pytest.approx(0.4, abs=1e-6)
    bare = bed_edge(mesh_of(workshop, Add((plate(),)), ChamferFirstLayer(0.4), hole))
    assert bare.length - bare.chamfered == pytest.approx(2 * math.pi * 3.3, rel=5e-3)


def test_the_best_way_to_lie_is_the_one_without_overhang(workshop: Workshop) -> None:
    """A tray lies on its floor; drawn upside down, flipping it is best."""
    def ways(bottom: float, top: float) -> tuple:
        mesh = mesh_of(workshop, Add((plate(),)), Cut((box(-40, -30, 40, 30, bottom, top),)))
        return mesh, ways_to_build(mesh, PrinterWish(), overhangs(mesh))

    mesh, found = ways(2.0, 7.0)
    assert found[0].way == AS_BUILT and found[0].unsupported == 0 and bed_area(mesh) == pytest.approx(found[0].bed_area)
    flipped = next(way for way in found if way.way == FLIPPED)
    assert flipped.hanging == pytest.approx(80 * 60, rel=1e-6) and flipped.height == pytest.approx(6)
    _, found = ways(-1.0, 4.0)
    assert found[0].way == FLIPPED and found[0].unsupported == 0


def test_facts_of_a_grooved_plate(workshop: Workshop) -> None:
    """Groove 3.6 x 2.0 with floor corners of 0.5, on the straight and in the bend of radius 3.8."""
    outer, inner = rounded(-62, -36, 62, 36, 5.6), rounded(-58.4, -32.4, 58.4, 32.4, 2.0)
    centre = rounded(-60.2, -34.2, 60.2, 34.2, 3.8)
    groove = Groove(centre, outer, inner, 3.6, 2.0, 0.5, 6.0, 2.65, 2.65, 2.0, (0, 0), 5, 5, "dust", "drawn")
    steps = (Add((plate(),)), Cut((Prism(outer, (inner,), 4.0, 7.0, bottom_round=0.5),)))
    piece = piece_of(*steps)
    facts = facts_of(type(piece)(**{**piece.__dict__, "features": (groove,)}), workshop.build(piece), PrinterWish(), workshop)
    assert len(facts.sections) == 2
    for section in facts.sections:
        assert section.depth == pytest.approx(2.0, abs=1e-3) and section.width == pytest.approx(3.6, abs=1e-3)
        assert section.bottom_radius == pytest.approx(0.5, abs=1e-2)
    assert facts.thinnest == pytest.approx(4.0, abs=1e-3) and facts.hanging == () and facts.best_way.startswith(AS_BUILT)
    assert facts.bed_area == pytest.approx(148 * 96 - (4 - math.pi) * 64, rel=1e-4)
