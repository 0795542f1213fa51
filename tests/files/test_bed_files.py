"""The beds of a build read back by two other readers: names, material, unit, words, and where everything lies."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import lib3mf
import numpy as np
import pytest
import trimesh

from afterpart.model.assembly import Assembly, Build
from afterpart.model.piece import Piece, PrintTime
from afterpart.model.release import TitleBlock
from afterpart.model.wishes import PrinterWish
from afterpart.release.bed_files import BED_NAME, bed_files, beds_of
from afterpart.release.manifest import purpose_of
from afterpart.solid.body import Mesh
from afterpart.standards.printing import rule

TITLE = TitleBlock("lid", "B", "", "afterpart test")
PRINTER = PrinterWish(bed=(100.0, 80.0))
SIZES = {"cover": (90.0, 60.0, 6.0), "frame": (30.0, 70.0, 4.0), "seal": (50.0, 20.0, 2.0), "foam": (10.0, 10.0, 8.0),
         "coupon": (40.0, 20.0, 8.0), "block": (30.0, 20.0, 5.0), "block_pilot_2-40": (30.0, 20.0, 5.0)}
KINDS = {"cover": "cover", "frame": "clamp_frame", "seal": "gasket", "foam": "filter_element", "coupon": "hole_coupon",
         "block": "clamp_frame", "block_pilot_2-40": "clamp_frame"}
LYING = (3.0, -7.0, 1.5)
"""Where the drawing has each piece's lowest corner: not at the bed's corner."""


def wedge(size: tuple[float, float, float]) -> Mesh:
    """A box whose one upper edge is pulled down to half its height: no turn or mirror image looks the same."""
    box = trimesh.creation.box(extents=size)
    vertices = np.asarray(box.vertices) + np.array(size) / 2
    vertices[(vertices[:, 0] > size[0] / 2) & (vertices[:, 1] > size[1] / 2), 2] *= 0.5
    return Mesh(vertices + np.array(LYING), np.asarray(box.faces))


BUILD = Build(tuple(Piece(KINDS[stem], "lid", stem, "B", (), size[2], (), PrintTime(1.0, 1.0, "by hand"),
                          material="TPU" if stem == "seal" else "", orientation=f"{stem} face up")
                    for stem, size in SIZES.items()),
              Assembly((), ()))
MESHES = {stem: wedge(size) for stem, size in SIZES.items()}


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    return bed_files(BUILD, MESHES, PRINTER, TITLE)


def read(data: bytes) -> lib3mf.Model:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    assert reader.GetWarningCount() == 0
    return model


def test_one_file_a_bed_and_filament_without_what_is_printed_alone_or_cut(files: dict[str, bytes]) -> None:
    beds = beds_of(BUILD, MESHES, PRINTER)
    assert [bed.file for bed in beds] == ["print_bed_PETG_1.3mf", "print_bed_PETG_2.3mf", "print_bed_TPU_1.3mf"] == sorted(files)
    assert sorted(one.name for bed in beds for one in bed.laid) == ["cover", "frame", "seal"]
    assert all(BED_NAME.fullmatch(name) and "laid out" in purpose_of(f"pieces/{name}") for name in files)


def test_names_material_unit_and_words(files: dict[str, bytes]) -> None:
    for bed in beds_of(BUILD, MESHES, PRINTER):
        model = read(files[bed.file])
        assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
        told = model.GetMetaDataGroup().GetMetaDataByKey("", "Description").GetValue()
        bases = model.GetBaseMaterialGroups()
        assert bases.MoveNext()
        group = bases.GetCurrentBaseMaterialGroup()
        objects, names = model.GetMeshObjects(), []
        while objects.MoveNext():
            one = objects.GetCurrentMeshObject()
            names.append(one.GetName())
            resource, index, is_there = one.GetObjectLevelProperty()
            assert is_there and resource == group.GetResourceID() and group.GetName(index) == bed.filament
            assert one.IsManifoldAndOriented()
        assert sorted(names) == sorted(f"lid {part.name} B" for part in bed.laid)
        assert all(f"{part.name} face up" in told for part in bed.laid)


def placed(data: bytes) -> dict[str, np.ndarray]:
    """Vertices (n, 3) of every object, by name, where the reader's transform of its build item puts them."""
    model = read(data)  # kept: the reader frees what hangs on it
    items, found = model.GetBuildItems(), {}
    while items.MoveNext():
        item = items.GetCurrent()
        mesh = item.GetObjectResource()
        own = np.array([tuple(vertex.Coordinates) for vertex in mesh.GetVertices()])
        matrix = np.array([tuple(row) for row in item.GetObjectTransform().Fields])
        assert np.linalg.det(matrix[:3]) == pytest.approx(1.0), "turned, never mirrored"
        found[mesh.GetName()] = own @ matrix[:3] + matrix[3]
    return found


def test_pieces_stand_on_the_bed_inside_it_and_apart_as_drawn(files: dict[str, bytes]) -> None:
    for bed in beds_of(BUILD, MESHES, PRINTER):
        boxes = np.array([(points.min(axis=0), points.max(axis=0)) for points in placed(files[bed.file]).values()])
        assert len(boxes) == len(bed.laid) and boxes[:, 0, 2] == pytest.approx(0.0, abs=1e-5)
        low, high = boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
        assert (low + high)[:2] == pytest.approx(PRINTER.bed), "in the middle"
        assert (low[:2] >= 0).all() and (high[:2] <= PRINTER.bed).all()
        model = read(files[bed.file])
        told = model.GetOutbox()
        assert tuple(told.MinCoordinate) == pytest.approx(low, abs=1e-4) and tuple(told.MaxCoordinate) == pytest.approx(high)
        for i, a in enumerate(boxes):
            for b in boxes[:i]:
                assert max((b[0] - a[1])[:2].max(), (a[0] - b[1])[:2].max()) >= rule("bed_gap").low - 1e-4


def test_a_turned_piece_is_turned_a_quarter_counter_clockwise(files: dict[str, bytes]) -> None:
    """By hand: the wedge's low edge stands at +x +y; turned it stands at -x +y."""
    turned = [(bed, one) for bed in beds_of(BUILD, MESHES, PRINTER) for one in bed.laid if one.turned]
    assert turned
    for bed, one in turned:
        assert one.size == pytest.approx((SIZES[one.name][1], SIZES[one.name][0]))
        points = placed(files[bed.file])[f"lid {one.name} B"]
        low = points[np.isclose(points[:, 2], SIZES[one.name][2] / 2, atol=1e-4)]
        assert len(low) and low[:, 0] == pytest.approx(points[:, 0].min(), abs=1e-4)
        assert low[:, 1] == pytest.approx(points[:, 1].max(), abs=1e-4)


def test_same_input_same_bytes_and_a_piece_too_large_is_on_no_bed(files: dict[str, bytes]) -> None:
    assert bed_files(BUILD, MESHES, PRINTER, TITLE) == files
    small = replace(PRINTER, bed=(60.0, 60.0))
    assert {one.name for bed in beds_of(BUILD, MESHES, small) for one in bed.laid} == {"seal"}
