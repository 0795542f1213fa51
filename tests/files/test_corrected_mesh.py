"""Files for printing, corrected for one printer and read back: what that printer makes of them has the sizes as drawn."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from afterpart.model.assembly import Build, PrintCorrection
from afterpart.model.feature import Hole
from afterpart.model.outline import Arc, Circle, Line, Segment
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Piece, PrintTime, Prism
from afterpart.model.release import TitleBlock
from afterpart.release.build_files import build_files
from afterpart.release.corrected_mesh import corrected_mesh, is_corrected
from afterpart.solid.worker import Workshop

PRINTER = PrintCorrection("PETG", 0.996, 0.2, 0.1, kept=(4.0,))
RADIUS = 8.0
EDGE: tuple[Segment, ...] = (
    Line("s1", (-40.0, -25.0), (40.0, -25.0)), Line("s2", (40.0, -25.0), (40.0, 25.0 - RADIUS)),
    Arc("s3", (40.0, 25.0 - RADIUS), (40.0 - RADIUS, 25.0), (40.0 - RADIUS, 25.0 - RADIUS), RADIUS, True),
    Line("s4", (40.0 - RADIUS, 25.0), (-40.0, 25.0)), Line("s5", (-40.0, 25.0), (-40.0, -25.0)))
HOLES = (Hole("c1", (-20.0, 0.0), 6.6, 0.0, 5.0, "bolt", "M6"), Hole("c2", (20.0, 0.0), 4.0, 0.0, 5.0, "other"))
POCKET = (Line("", (-5.0, -5.0), (5.0, -5.0)), Line("", (5.0, -5.0), (5.0, 5.0)), Line("", (5.0, 5.0), (-5.0, 5.0)),
          Line("", (-5.0, 5.0), (-5.0, -5.0)))
LID = Piece("cover", "lid", "lid", "A", (
    Add((Prism(EDGE, (), 0.0, 5.0),)), Cut(tuple(Prism((Circle("", h.center, h.diameter / 2),), (), -1.0, 6.0) for h in HOLES)),
    Cut((Prism(POCKET, (), 3.0, 6.0),)), ChamferFirstLayer(0.4)), 5.0, (), PrintTime(1.0, 1.0, "by hand"), features=HOLES,
    through_holes=2, material="PETG")


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


@pytest.fixture(scope="module")
def sent(workshop: Workshop) -> trimesh.Trimesh:
    """The corrected STL of the lid."""
    files = build_files(Build((LID,), correction=PRINTER), TitleBlock("lid"), workshop).files
    return trimesh.load(io.BytesIO(files["lid_mm.stl"]), file_type="stl")


def cut_at(mesh: trimesh.Trimesh, z: float) -> np.ndarray:
    """(n, 2) corners of the section at this height."""
    ends = trimesh.intersections.mesh_plane(mesh, (0.0, 0.0, 1.0), (0.0, 0.0, z))
    return ends.reshape(-1, 3)[:, :2]


def near_hole(mesh: trimesh.Trimesh, hole: Hole, z: float) -> np.ndarray:
    """Distances of the section's corners at z from the hole's axis as sent, those of the hole alone."""
    reach = np.hypot(*(cut_at(mesh, z) - np.array(hole.center) / PRINTER.scale).T)
    return reach[reach < 5.0]


def test_what_the_printer_makes_of_the_hole_is_what_is_drawn(sent: trimesh.Trimesh) -> None:
    """printed = scale x sent - undersize = 6.6; corners of the mesh lie on the circle."""
    reach = near_hole(sent, HOLES[0], 2.0)
    assert PRINTER.scale * 2 * reach.max() - PRINTER.undersize == pytest.approx(6.6, abs=2e-4)
    assert np.ptp(reach) < 0.02


def test_a_hole_that_was_tried_is_only_scaled(sent: trimesh.Trimesh) -> None:
    assert PRINTER.scale * 2 * near_hole(sent, HOLES[1], 2.0).max() == pytest.approx(4.0, abs=2e-4)


def test_outsides_come_out_as_drawn_and_heights_stay(sent: trimesh.Trimesh) -> None:
    wide, deep, high = np.ptp(sent.vertices, axis=0)
    assert PRINTER.scale * wide + PRINTER.oversize == pytest.approx(80.0, abs=2e-4)
    assert PRINTER.scale * deep + PRINTER.oversize == pytest.approx(50.0, abs=2e-4)
    assert high == pytest.approx(5.0, abs=1e-6)


def test_the_round_corner_moves_with_its_edges(sent: trimesh.Trimesh) -> None:
    """Printed radius 8: sent (8 - oversize / 2) / scale about the same centre; between corners the mesh runs along chords."""
    rim = cut_at(sent, 2.0)
    arm = rim - np.array([40.0 - RADIUS, 25.0 - RADIUS]) / PRINTER.scale
    corner = arm[(arm > 0.5).all(axis=1)]
    assert len(corner) > 5
    radius = (RADIUS - PRINTER.oversize / 2) / PRINTER.scale
    assert np.hypot(*corner.T).max() == pytest.approx(radius, abs=1e-4) and np.hypot(*corner.T).min() > radius - 0.01


def test_the_corrected_mesh_is_closed_and_of_the_expected_volume(sent: trimesh.Trimesh) -> None:
    """Rim moved in by e / 2 over its length (hole 1 out by h / 2), then scaled: within a thousandth, chamfers apart."""
    sent.merge_vertices()
    assert sent.is_watertight and sent.is_winding_consistent
    rim = 2 * (80 + 50) - 2 * RADIUS + math.pi * RADIUS / 2
    area = 80 * 50 - (1 - math.pi / 4) * RADIUS ** 2 - rim * PRINTER.oversize / 2
    area -= math.pi * (3.4 ** 2 + 2.0 ** 2)
    volume = (area * 5.0 - 100.0 * 2.0) / PRINTER.scale ** 2
    chamfers = 0.5 * 0.4 ** 2 * (rim + math.pi * 10.6)
    assert float(sent.volume) == pytest.approx(volume - chamfers, rel=1e-3)


def test_pockets_keep_their_place_and_are_only_scaled(sent: trimesh.Trimesh) -> None:
    inner = cut_at(sent, 4.0)
    inner = inner[(np.abs(inner) < 6.0).all(axis=1)]
    assert np.ptp(inner, axis=0) == pytest.approx([10.0 / PRINTER.scale] * 2, abs=1e-4)


def test_the_exact_solid_stays_as_drawn(workshop: Workshop) -> None:
    corrected = build_files(Build((LID,), correction=PRINTER), TitleBlock("lid"), workshop)
    plain = build_files(Build((LID,)), TitleBlock("lid"), workshop)
    assert corrected.files["lid.step"] == plain.files["lid.step"] and corrected.files["lid.3mf"] != plain.files["lid.3mf"]


def test_coupon_plate_and_other_filaments_stay_as_drawn() -> None:
    assert is_corrected(LID, PRINTER) and not is_corrected(LID, None)
    assert not any(is_corrected(replace(LID, kind=kind), PRINTER) for kind in ("hole_coupon", "check_plate"))
    assert not is_corrected(replace(LID, material="TPU"), PRINTER)


def test_a_true_printer_changes_nothing(workshop: Workshop) -> None:
    mesh = workshop.build(LID).mesh
    same = corrected_mesh(mesh, LID, PrintCorrection("PETG", 1.0, 0.0, 0.0))
    assert np.array_equal(same.vertices, mesh.vertices) and np.array_equal(same.triangles, mesh.triangles)
