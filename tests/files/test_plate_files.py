"""The check plate's files read back: STEP by the kernel, STL and 3MF by mesh libraries, paper and picture by their readers."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ElementTree
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import lib3mf
import manifold3d
import numpy as np
import pytest
import trimesh

from afterpart.model.job import PlateChoice
from afterpart.model.piece import Piece
from afterpart.model.release import TitleBlock
from afterpart.parts.plate import MARK_DEPTH, make_plate
from afterpart.release.plate_files import plate_files
from afterpart.solid.body import Body
from afterpart.solid.worker import MESH_CHORD, Workshop
from tests.files.pdf_reading import lengths_near, read_pages
from tests.parts import drawings

TITLE = TitleBlock("gauge lid", "B", "2026-01-02", "afterpart test")
LID_AREA = 120 * 80 - (4 - math.pi) * 8**2 - math.pi * 12**2 / 2 - 4 * math.pi * 3.3**2 - (28 * 12 + math.pi * 6**2)
"""Rectangle less its four fillets' corners, the half-round bite, four holes and the slot (by hand)."""
LID_EDGES = 2 * (120 + 80) - 8 * 8 + 2 * math.pi * 8 - 24 + math.pi * 12 + 4 * math.pi * 6.6 + 2 * 28 + math.pi * 12
"""Length of all rims of the lid (by hand)."""


@dataclass(frozen=True)
class Made:
    pieces: tuple[Piece, ...]
    bodies: tuple[Body, ...]
    files: dict[str, bytes]


class Remembering(Workshop):
    """Builds each piece once, however many tests ask for it."""

    def __init__(self) -> None:
        super().__init__()
        self._bodies: dict[Piece, Body] = {}

    def build(self, piece: Piece, chord: float = MESH_CHORD) -> Body:
        if piece not in self._bodies:
            self._bodies[piece] = super().build(piece, chord)
        return self._bodies[piece]


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Remembering() as running:
        yield running


@pytest.fixture(scope="module")
def full_lid(workshop: Workshop) -> Made:
    """The lid without windows: every hole of the mesh is an opening of the part."""
    return made(workshop, make_plate(drawings.gauge_lid(), PlateChoice(frame=False), "gauge lid", "B"))


@pytest.fixture(scope="module")
def rail(workshop: Workshop) -> Made:
    """A part longer than the bed: two keyed pieces, framed."""
    pieces = make_plate(drawings.long_rail(), PlateChoice(), "rail", "A")
    return Made(pieces, tuple(workshop.build(p) for p in pieces), plate_files(pieces, drawings.long_rail(), TITLE, workshop))


def made(workshop: Workshop, pieces: tuple[Piece, ...]) -> Made:
    return Made(pieces, tuple(workshop.build(p) for p in pieces), plate_files(pieces, drawings.gauge_lid(), TITLE, workshop))


def genus(mesh: trimesh.Trimesh) -> int:
    solid = manifold3d.Manifold(manifold3d.Mesh(np.asarray(mesh.vertices, np.float32), np.asarray(mesh.faces, np.uint32)))
    assert solid.status() == manifold3d.Error.NoError
    return solid.genus()


def read_stl(data: bytes) -> trimesh.Trimesh:
    return trimesh.load_mesh(io.BytesIO(data), file_type="stl")


def read_3mf(data: bytes) -> trimesh.Trimesh:
    """Read by the format's reference library (it comes with the kernel), strictly: one object, unit mm, no warning.  The mesh
    is answered in its place on the bed."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    assert reader.GetWarningCount() == 0 and model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    assert objects.MoveNext()
    found = objects.GetCurrentMeshObject()
    assert not objects.MoveNext() and found.IsManifoldAndOriented()
    items = model.GetBuildItems()
    assert items.MoveNext()
    shift = tuple(items.GetCurrent().GetObjectTransform().Fields[3])
    vertices = np.array([tuple(v.Coordinates) for v in found.GetVertices()]) + shift
    return trimesh.Trimesh(vertices, [tuple(t.Indices) for t in found.GetTriangleIndices()], process=False)


def test_names_tell_piece_and_unit(full_lid: Made, rail: Made) -> None:
    assert set(full_lid.files) == {
        "check_plate.step",
        "check_plate.3mf",
        "check_plate_mm.stl",
        "check_plate.pdf",
        "check_plate.png",
    }
    stems = {f"check_plate_{i}_of_2{end}" for i in (1, 2) for end in (".step", ".3mf", "_mm.stl")}
    assert set(rail.files) == stems | {"check_plate.pdf", "check_plate.png"}


def test_body_is_one_valid_solid_of_the_right_size(full_lid: Made) -> None:
    (body,) = full_lid.bodies
    assert body.is_valid and body.solids == 1 and not body.remarks
    assert np.allclose(body.low, (-60, -40, 0), atol=1e-5) and np.allclose(body.high, (60, 40, 1.5), atol=1e-5)


def test_section_between_chamfer_and_marks_is_the_drawing(full_lid: Made, workshop: Workshop) -> None:
    step = full_lid.files["check_plate.step"]
    assert abs(workshop.section_area(step, 0.75) - LID_AREA) < 1e-6 * LID_AREA


def test_chamfer_runs_round_every_first_layer_edge(full_lid: Made, workshop: Workshop) -> None:
    """At z the rim stands back by w = 0.4 - z: the area is smaller by w times the rims' length, to second order w squared.

    The second-order term of a chamfer on loops with smooth joints is at most pi w^2 a loop; two sharp corners of the bite add
    less than w^2 each.
    """
    back = 0.2
    area = workshop.section_area(full_lid.files["check_plate.step"], 0.4 - back)
    assert abs(area - (LID_AREA - back * LID_EDGES)) < (6 * math.pi + 2) * back**2


def test_marks_are_sunk_to_their_depth_only(full_lid: Made, workshop: Workshop) -> None:
    step = full_lid.files["check_plate.step"]
    below, above = (workshop.section_area(step, 1.5 - MARK_DEPTH + d) for d in (-0.01, 0.01))
    assert abs(below - LID_AREA) < 1e-6 * LID_AREA
    # A hundred and more ticks of at least 0.5 x 2.2 mm, and the letters.
    assert above < LID_AREA - 100 * 0.5 * 2.2


def test_step_reads_back_with_the_same_volume(full_lid: Made, rail: Made, workshop: Workshop) -> None:
    for whole in (full_lid, rail):
        for piece, body in zip(whole.pieces, whole.bodies, strict=True):
            data = whole.files[f"{piece.file_stem}.step"]
            facts = workshop.read_step(data)
            assert facts.is_valid and facts.solids == 1 and facts.label == piece.file_stem
            assert abs(facts.volume - body.volume) < 1e-6 * body.volume
            assert b"SI_UNIT(.MILLI.,.METRE.)" in data.replace(b" ", b"")


def test_stl_is_watertight_with_a_hole_for_each_opening(full_lid: Made) -> None:
    (body,) = full_lid.bodies
    mesh = read_stl(full_lid.files["check_plate_mm.stl"])
    assert mesh.is_watertight and mesh.is_winding_consistent
    # A mesh within the chord of the body differs by at most the chord times the area of its curved walls.
    assert abs(mesh.volume - body.volume) < MESH_CHORD * LID_EDGES * 1.5
    assert genus(mesh) == 5


def test_3mf_says_millimetre_and_carries_the_name(full_lid: Made) -> None:
    (body,) = full_lid.bodies
    data = full_lid.files["check_plate.3mf"]
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        root = ElementTree.fromstring(archive.read("3D/3dmodel.model"))
    core = root.tag.removesuffix("model")
    assert root.get("unit") == "millimeter"
    assert root.find(f"{core}resources/{core}object").get("name") == "gauge lid B"
    mesh = read_3mf(data)
    assert mesh.is_watertight and abs(mesh.volume - body.volume) < MESH_CHORD * LID_EDGES * 1.5
    assert genus(mesh) == 5
    assert np.allclose(mesh.bounds, ((0, 0, 0), (120, 80, 1.5)), atol=1e-4)


def test_divided_plate_is_watertight_and_fits_the_bed(rail: Made) -> None:
    for piece in rail.pieces:
        mesh = read_stl(rail.files[f"{piece.file_stem}_mm.stl"])
        assert mesh.is_watertight and mesh.body_count == 1
        assert max(mesh.extents[:2]) <= 210.0 and abs(mesh.extents[2] - 1.5) < 1e-4


def test_paper_carries_bar_outline_and_the_plates_numbers(rail: Made) -> None:
    pages = read_pages(rail.files["check_plate.pdf"])
    assert len(pages) == 3
    for page in pages[:2]:
        assert len(lengths_near(page, 100.0, 0.05, axis=0)) == 1 and len(lengths_near(page, 100.0, 0.05, axis=1)) == 1
        assert "check plate" in page.text
    size = pages[0].paths[:, 2:] - pages[0].paths[:, :2] - 0.2
    assert (np.abs(size - (300.0, 60.0)).max(axis=1) < 0.02).any()
    numbers = {w for p in pages[:2] for w in p.text.split()}
    assert {str(label.number) for piece in rail.pieces for label in piece.labels} <= numbers
    assert "Print time" in pages[2].text and "2/2" in pages[2].text


def test_picture_decodes_and_shows_the_part(full_lid: Made) -> None:
    picture = cv2.imdecode(np.frombuffer(full_lid.files["check_plate.png"], np.uint8), cv2.IMREAD_COLOR)
    assert picture.shape[1] == 1400
    share = (picture.min(axis=2) < 250).mean()
    assert 0.4 < share < 0.95


def test_same_pieces_same_bytes(full_lid: Made) -> None:
    """Built anew in another process."""
    assert plate_files(full_lid.pieces, drawings.gauge_lid(), TITLE) == full_lid.files
