"""The files of a small invented build read back by other readers, and what is refused before anything is handed on."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import math
import re
import zipfile
from collections.abc import Iterator
from dataclasses import replace

import cv2
import ezdxf
import lib3mf
import numpy as np
import pytest
import trimesh

from afterpart.errors import JobError, SolidError
from afterpart.model.assembly import Assembly, Build, Item, Place
from afterpart.model.edges import Note
from afterpart.model.outline import Circle, Line, Point, Segment
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Piece, PrintTime, Prism
from afterpart.model.release import TitleBlock
from afterpart.model.wishes import PrinterWish
from afterpart.release.build_files import BuildFiles, build_files
from afterpart.solid.worker import Workshop

TITLE = TitleBlock("lid", "B", "", "afterpart test")
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def box(x0: float, y0: float, x1: float, y1: float) -> tuple[Segment, ...]:
    corners: list[Point] = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return tuple(Line(f"s{i}", corners[i], corners[(i + 1) % 4]) for i in range(4))


def disc(x: float, y: float, radius: float) -> tuple[Segment, ...]:
    return (Circle("c1", (x, y), radius),)


def piece(kind: str, stem: str, height: float, *steps: Add | Cut | ChamferFirstLayer, holes: int | None = None) -> Piece:
    return Piece(kind, "lid", stem, "B", steps, height, (), PrintTime(12.0, 12.0, "by hand"), through_holes=holes,
                 material="PETG", orientation="as drawn")


LID = piece("cover", "lid", 6.0, Add((Prism(box(0, 0, 80, 50), (), 0, 6),)),
            Cut((Prism(disc(10, 25, 3.3), (), -1, 7), Prism(disc(70, 25, 3.3), (), -1, 7), Prism(box(25, 10, 55, 40), (), 3, 7))),
            ChamferFirstLayer(0.4), holes=2)
BLOCK = piece("clamp_frame", "block", 5.0, Add((Prism(box(25.3, -39.7, 54.7, -10.3), (), 0, 5),)), holes=0)
"""Lies upside down in the lid's pocket: turned about the x axis, its y comes back positive."""
FOAM = replace(piece("filter_element", "foam", 8.0, Add((Prism(box(30, 15, 50, 35), (), 0, 8),)), holes=0), material="foam",
               print_time=PrintTime(0.0, 0.0, "cut, not printed"), orientation="not printed: cut from a sheet of foam")
BOLT = Item("bolt", "ISO 4762 M6 x 20", ((10.0, 25.0, -6.0), (70.0, 25.0, -6.0)), UP, 6.0, 20.0, 10.0, 6.0, DOWN, ("lid",), 3)
BUILD = Build((LID, BLOCK, FOAM), Assembly(
    (Place("lid", False, (0.0, 0.0, -6.0), UP, 1), Place("block", True, (0.0, 0.0, 2.0), UP, 2)), (BOLT,)),
    notes=(Note("invented", "Nothing of this is real."),))
LID_VOLUME = 80 * 50 * 6 - 2 * math.pi * 3.3**2 * 6 - 30 * 30 * 3
"""By hand, without the first layer's chamfer."""


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


@pytest.fixture(scope="module")
def made(workshop: Workshop) -> BuildFiles:
    return build_files(BUILD, TITLE, workshop)


def changed(which: Piece, **change: object) -> Build:
    new = replace(which, **change)  # type: ignore[arg-type]
    return replace(BUILD, pieces=tuple(new if p is which else p for p in BUILD.pieces))


def test_every_piece_has_its_files_and_the_assembly_has_three(made: BuildFiles) -> None:
    assert set(made.files) == {
        "lid.step", "lid.3mf", "lid_mm.stl", "lid.glb", "lid.png", "block.step", "block.3mf", "block_mm.stl", "block.glb",
        "block.png", "foam.step", "foam.dxf", "foam.3mf", "foam_mm.stl", "foam.glb", "foam.png",
        "assembly.glb", "assembly.png", "exploded.png", "print_bed_PETG_1.3mf"}


def test_the_solid_is_the_one_that_was_drawn(made: BuildFiles, workshop: Workshop) -> None:
    back = workshop.read_step(made.files["lid.step"])
    bevel = 0.4**2 / 2 * (2 * (80 + 50) + 2 * 2 * math.pi * 3.3)
    assert back.solids == 1 and back.is_valid and back.label == "lid"
    assert back.volume == pytest.approx(LID_VOLUME - bevel, rel=2e-4)
    assert b"MM" in made.files["lid.step"] or b"MILLI" in made.files["lid.step"]


@pytest.mark.parametrize("stem", ["lid", "block"])
def test_meshes_are_closed_and_hold_the_bodys_volume(made: BuildFiles, stem: str) -> None:
    body = made.bodies[["lid", "block"].index(stem)]
    stl = trimesh.load_mesh(io.BytesIO(made.files[f"{stem}_mm.stl"]), file_type="stl")
    assert stl.is_watertight and stl.volume == pytest.approx(body.volume, rel=1e-3)
    glb = trimesh.load_scene(io.BytesIO(made.files[f"{stem}.glb"]), file_type="glb").to_geometry()
    glb.merge_vertices(merge_norm=True)
    assert glb.is_watertight and glb.volume * 1e9 == pytest.approx(body.volume, rel=1e-3)


def test_3mf_says_millimetres_and_the_name_and_begins_at_the_bed(made: BuildFiles) -> None:
    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromBuffer(made.files["block.3mf"])
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    assert objects.MoveNext() and objects.GetCurrentMeshObject().GetName() == "lid block B"
    low = model.GetOutbox()
    assert tuple(low.MinCoordinate) == pytest.approx((0, 0, 0), abs=1e-5)


def test_the_assembly_holds_every_part_in_its_place(made: BuildFiles) -> None:
    scene = trimesh.load_scene(io.BytesIO(made.files["assembly.glb"]), file_type="glb")
    assert set(scene.geometry) == {"lid", "lid block", "ISO 4762 M6 x 20, 2 pieces"}
    (x0, y0, z0), (x1, y1, z1) = scene.geometry["lid block"].bounds * 1000
    assert (x0, x1) == pytest.approx((25.3, 54.7)) and (y0, y1) == pytest.approx((-3.0, 2.0)), "y up, from the pocket's floor"
    assert (z0, z1) == pytest.approx((-39.7, -10.3)), "turned over into the pocket"
    tip = scene.geometry["ISO 4762 M6 x 20, 2 pieces"].bounds * 1000
    assert tip[:, 1] == pytest.approx((-12.0, 14.0)), "head outside, tip in the machine"


def test_foam_is_cut_from_a_drawing(made: BuildFiles) -> None:
    drawing = ezdxf.read(io.StringIO(made.files["foam.dxf"].decode()))
    lines = drawing.modelspace().query("LINE")
    assert drawing.header["$INSUNITS"] == 4 and len(lines) == 4
    assert sorted(round((line.dxf.end - line.dxf.start).magnitude, 9) for line in lines) == [20, 20, 20, 20]


def test_foam_has_its_shape_in_every_format_and_lies_on_no_bed(made: BuildFiles) -> None:
    """STL read back by trimesh: a block of 20 x 20 x 8 mm, in 3MF the same triangles; the bed holds the other two only."""
    mesh = trimesh.load(io.BytesIO(made.files["foam_mm.stl"]), file_type="stl")
    assert mesh.is_watertight and mesh.volume == pytest.approx(20 * 20 * 8)
    with zipfile.ZipFile(io.BytesIO(made.files["foam.3mf"])) as archive:
        model = archive.read("3D/3dmodel.model").decode()
    assert FOAM.orientation in model and model.count("<triangle ") == len(mesh.faces) == 12
    with zipfile.ZipFile(io.BytesIO(made.files["print_bed_PETG_1.3mf"])) as archive:
        assert archive.read("3D/3dmodel.model").decode().count("<object ") == 2


@pytest.mark.parametrize("name", ["lid.png", "foam.png", "assembly.png", "exploded.png"])
def test_pictures_show_something(made: BuildFiles, name: str) -> None:
    picture = cv2.imdecode(np.frombuffer(made.files[name], np.uint8), cv2.IMREAD_COLOR)
    assert 0.05 < (picture.min(axis=2) < 250).mean() < 0.9


def test_the_same_build_gives_the_same_bytes(made: BuildFiles, workshop: Workshop) -> None:
    assert build_files(BUILD, TITLE, workshop).files == made.files


def test_a_lid_of_two_lumps_is_refused_by_name(workshop: Workshop) -> None:
    apart = changed(LID, steps=(*LID.steps, Cut((Prism(box(39, -1, 41, 51), (), -1, 9),))), through_holes=None)
    with pytest.raises(SolidError, match=r"lid \(lid\): found 2 lumps"):
        build_files(apart, TITLE, workshop)


def test_a_hole_that_was_not_designed_is_refused(workshop: Workshop) -> None:
    with pytest.raises(SolidError, match=r"found 2 ways through the body, expected 3 as designed"):
        build_files(changed(LID, through_holes=3), TITLE, workshop)


def test_pieces_that_run_into_each_other_are_named_with_the_volume(workshop: Workshop) -> None:
    """The block sunk 0.5 mm into the pocket's floor shares 29.4 x 29.4 x 0.5 mm3 with the lid (by hand)."""
    sunk = replace(BUILD.assembly, places=(BUILD.assembly.places[0], replace(BUILD.assembly.places[1], shift=(0.0, 0.0, 1.5))))
    with pytest.raises(SolidError, match="lid block") as caught:
        build_files(replace(BUILD, assembly=sunk), TITLE, workshop)
    assert f"{29.4 * 29.4 * 0.5:.2f} mm3" in str(caught.value)


def test_a_blocked_way_is_a_note(workshop: Workshop) -> None:
    """The block pushed in from below would have to pass the lid's floor."""
    below = replace(BUILD.assembly, places=(BUILD.assembly.places[0], replace(BUILD.assembly.places[1], comes_from=DOWN)))
    notes = build_files(replace(BUILD, assembly=below), TITLE, workshop).notes
    assert [note.code for note in notes] == ["blocked_way"]
    assert "lid block" in notes[0].text and "lid" in notes[0].text


def test_a_face_that_hangs_over_is_a_note_that_says_where(workshop: Workshop) -> None:
    mushroom = piece("cover", "lid", 12.0, Add((Prism(disc(0, 0, 4), (), 0, 8), Prism(disc(0, 0, 20), (), 8, 12))), holes=0)
    told = build_files(Build((mushroom,)), TITLE, workshop).notes
    assert [note.code for note in told] == ["overhang"]
    found = re.search(r"lid: ([\d.]+) mm2 at \(([-\d.]+), ([-\d.]+)\), 8\.0 mm up", told[0].text)
    assert found and float(found[1]) == pytest.approx(math.pi * (20**2 - 4**2), rel=1e-3)
    assert 4 <= math.hypot(float(found[2]), float(found[3])) <= 20, "the place lies on the face"
    coned = replace(mushroom, steps=(Add((Prism(disc(0, 0, 4), (), 0, 8), Cone((0, 0), 8, 24, 4, 20))),))
    assert build_files(Build((coned,)), TITLE, workshop).notes == (), "45 degrees print"


def test_round_holes_of_meshes_may_lie_outside_their_circle(workshop: Workshop) -> None:
    made = build_files(Build((LID,)), TITLE, workshop, PrinterWish(circumscribed=True))
    corners = made.bodies[0].mesh.vertices
    near = np.hypot(corners[:, 0] - 10, corners[:, 1] - 25)
    rim = near[(near < 3.6) & (corners[:, 2] > 1)]
    assert len(rim) and rim.min() > 3.3


@pytest.mark.parametrize(("build", "words"), [
    (replace(BUILD, pieces=(LID, replace(BLOCK, file_stem="lid"), FOAM)), "file_stem"),
    (replace(BUILD, pieces=(LID, replace(BLOCK, file_stem="../block"), FOAM)), "file_stem"),
    (replace(BUILD, pieces=(LID, FOAM)), "block"),
])
def test_names_that_do_not_agree_are_refused(build: Build, words: str, workshop: Workshop) -> None:
    with pytest.raises(JobError, match=words):
        build_files(build, TITLE, workshop)
