"""Clashes and ways in of plain blocks, whose common volumes follow from their corners; hardware meshes by their formulas."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import trimesh

from afterpart.errors import SolidError
from afterpart.model.assembly import Item
from afterpart.model.outline import Arc
from afterpart.solid.body import Mesh
from afterpart.solid.clash import Way, clashes, overlap_volume, way_in
from afterpart.solid.hardware import SIDES, cord_ring, foam_block, hardware
from afterpart.solid.mesh import genus, joined, lumps, mesh_volume, moved
from tests.solid.shapes import disc, rectangle, rounded

BOLT = Item("bolt", "M6", ((1.0, 2.0, -3.0), (50.0, 2.0, -3.0)), (0, 0, 1), 6.0, 20.0, 10.0, 6.0, (0, 0, -1), (), 1)
POLYGON = SIDES / 2 * math.sin(math.tau / SIDES)
"""Area of the inscribed polygon with unit radius: n/2 sin(2 pi/n)."""


def block(x0: float, y0: float, z0: float, x1: float, y1: float, z1: float) -> Mesh:
    return foam_block(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), z0, z1)


def tube() -> Mesh:
    """A square pipe, 10 inside, 14 outside, from 0 to 20: two blocks and two more between them."""
    made = trimesh.creation.extrude_polygon(
        trimesh.path.polygons.Polygon([(-7, -7), (7, -7), (7, 7), (-7, 7)], [[(-5, -5), (5, -5), (5, 5), (-5, 5)]]), 20.0)
    return Mesh(np.asarray(made.vertices), np.asarray(made.faces, np.int32))


@pytest.mark.parametrize(("shift", "volume"), [((0, 0, 0), 1000.0), ((4, 0, 0), 600.0), ((9, 9, 9), 1.0), ((10, 0, 0), 0.0),
                                               ((11, 0, 0), 0.0)])
def test_common_volume_of_two_cubes(shift: tuple[float, float, float], volume: float) -> None:
    cube = block(0, 0, 0, 10, 10, 10)
    assert overlap_volume(cube, moved(cube, False, shift)) == pytest.approx(volume, rel=1e-9, abs=1e-9)


def test_boxes_that_meet_are_no_clash_where_bodies_do_not() -> None:
    """A rod inside a pipe, and an L about a corner: their boxes overlap, they do not."""
    assert clashes({"pipe": tube(), "rod": block(-4, -4, -5, 4, 4, 25)}) == ()
    assert clashes({"pipe": tube(), "snug rod": block(-5, -5, -5, 5, 5, 25)}) == (), "faces in contact are no clash"


def test_every_clash_is_told_with_names_volume_and_place() -> None:
    named = {"a": block(0, 0, 0, 10, 10, 10), "b": block(8, 0, 0, 18, 10, 10), "c": block(0, 0, 9.5, 10, 10, 12),
             "d": block(50, 0, 0, 51, 1, 1)}
    found = clashes(named)
    assert [(clash.a, clash.b) for clash in found] == [("a", "b"), ("a", "c"), ("b", "c")]
    assert [clash.volume for clash in found] == pytest.approx([200.0, 50.0, 10.0], rel=1e-9)
    assert found[0].at == pytest.approx((9, 5, 5))


def test_a_mesh_that_is_not_closed_is_named() -> None:
    cube = block(0, 0, 0, 1, 1, 1)
    with pytest.raises(SolidError, match="lid is no closed body"):
        clashes({"lid": Mesh(cube.vertices, cube.triangles[1:]), "cube": cube})


def test_a_rod_leaves_a_pipe_along_it_but_not_across() -> None:
    rod, pipe = block(-4, -4, 0, 4, 4, 20), tube()
    assert way_in(rod, {"pipe": pipe}, (0, 0, 1), 30.0) == Way(True)
    assert way_in(rod, {"pipe": pipe}, (1, 0, 0), 30.0, steps=30) == Way(False, 2.0, "pipe")
    assert way_in(rod, {"pipe": pipe}, (-2, 0, 0), 30.0, steps=15) == Way(False, 2.0, "pipe")


def test_a_lid_further_out_blocks_the_way_and_is_named() -> None:
    rod = block(-4, -4, 0, 4, 4, 20)
    others = {"pipe": tube(), "lid": block(-7, -7, 25, 7, 7, 27)}
    assert way_in(rod, others, (0, 0, 1), 30.0, steps=30) == Way(False, 6.0, "lid")
    assert way_in(rod, others, (0, 0, -1), 30.0).is_clear


def test_what_overlaps_in_its_seat_only_is_free_to_leave() -> None:
    """A press fit: 0.1 oversize all round.  Drawn straight out, the common volume only shrinks; across, it grows."""
    rod = block(-5.1, -5.1, 0, 5.1, 5.1, 20)
    assert clashes({"pipe": tube(), "rod": rod})
    assert way_in(rod, {"pipe": tube()}, (0, 0, 1), 25.0).is_clear
    assert way_in(rod, {"pipe": tube()}, (1, 0, 0), 25.0).by == "pipe"


@pytest.mark.parametrize(("way", "distance", "steps"), [((0, 0, 0), 5.0, 5), ((0, 0, 1), 0.0, 5), ((0, 0, 1), 5.0, 0)])
def test_a_way_needs_direction_distance_and_steps(way: tuple[float, float, float], distance: float, steps: int) -> None:
    with pytest.raises(ValueError, match="give a direction"):
        way_in(block(0, 0, 0, 1, 1, 1), {}, way, distance, steps)


def test_a_bolt_is_two_cylinders_about_its_seat() -> None:
    first, second = hardware(BOLT)
    assert mesh_volume(first) == pytest.approx(POLYGON * (25 * 6 + 9 * 20), rel=1e-9) and genus(first) == 0
    assert len(lumps(first)) == 1
    assert first.vertices.min(axis=0) == pytest.approx((-4, -3, -9), abs=1e-9)
    assert first.vertices.max(axis=0) == pytest.approx((6, 7, 17), abs=1e-9)
    assert np.allclose(second.vertices - first.vertices, (49, 0, 0))


@pytest.mark.parametrize("axis", [(0, 0, -1), (1, 0, 0), (0.6, 0, 0.8)])
def test_hardware_follows_its_axis(axis: tuple[float, float, float]) -> None:
    (bolt, _), way = hardware(dataclasses.replace(BOLT, axis=axis)), np.array(axis)
    reach = (bolt.vertices - (1.0, 2.0, -3.0)) @ way
    assert (reach.min(), reach.max()) == pytest.approx((-6, 20)) and mesh_volume(bolt) > 0


@pytest.mark.parametrize(("kind", "low", "high"), [("washer", -1.6, 0.0), ("sleeve", 0.0, 1.6), ("insert", 0.0, 1.6)])
def test_rings_lie_on_their_side_of_the_seat(kind: str, low: float, high: float) -> None:
    (ring,) = hardware(Item(kind, "ring", ((0, 0, 0),), (0, 0, 1), 6.4, 1.6, 12.0, 0.0, (0, 0, -1), (), 1))
    assert mesh_volume(ring) == pytest.approx(POLYGON * (36 - 3.2**2) * 1.6, rel=1e-9) and genus(ring) == 1
    assert (ring.vertices[:, 2].min(), ring.vertices[:, 2].max()) == pytest.approx((low, high))


def test_a_bolt_washer_and_sleeve_stand_together_without_clash() -> None:
    seat = ((0.0, 0.0, 0.0),)
    parts = {"bolt": hardware(dataclasses.replace(BOLT, at=((0, 0, -1.6),)))[0],
             "washer": hardware(Item("washer", "w", seat, (0, 0, 1), 6.4, 1.6, 12.0, 0.0, (0, 0, -1), (), 1))[0],
             "sleeve": hardware(Item("sleeve", "s", seat, (0, 0, 1), 6.2, 6.0, 9.0, 0.0, (0, 0, -1), (), 1))[0]}
    assert clashes(parts) == ()
    assert [clash.volume > 50 for clash in clashes({**parts, "bolt": hardware(dataclasses.replace(BOLT, at=seat))[0]})] == [True]


@pytest.mark.parametrize("chain", [disc(0, 0, 20), rounded(-62, -36, 62, 36, 5.6), rounded(-62, -36, 62, 36, 5.6)[::-1]])
def test_a_cord_has_the_volume_of_its_section_times_its_length(chain: tuple) -> None:
    """Pappus: section times the way of its middle; the section is a 24-gon, bends are chords of 7.5 degrees."""
    if chain[0].id == "h":
        chain = tuple(dataclasses.replace(s, start=s.end, end=s.start) for s in chain)
        chain = tuple(dataclasses.replace(s, ccw=False) if isinstance(s, Arc) else s for s in chain)
    length = math.tau * 20 if len(chain) == 1 else 2 * (112.8 + 60.8) + math.tau * 5.6
    ring = cord_ring(chain, 3.55, 5.0)
    section = 24 / 2 * math.sin(math.tau / 24) * 1.775**2
    assert mesh_volume(ring) == pytest.approx(section * length, rel=2e-3) and genus(ring) == 1
    assert (ring.vertices[:, 2].min(), ring.vertices[:, 2].max()) == pytest.approx((5 - 1.775, 5 + 1.775))


def test_a_cord_is_mitred_at_sharp_corners_and_keeps_its_volume() -> None:
    ring = cord_ring(rectangle(0, 0, 40, 20), 2.0, 0.0)
    assert mesh_volume(ring) == pytest.approx(24 / 2 * math.sin(math.tau / 24) * 120, rel=1e-9) and genus(ring) == 1


@pytest.mark.parametrize("item", [
    dataclasses.replace(BOLT, head_diameter=5.0), dataclasses.replace(BOLT, length=0.0), dataclasses.replace(BOLT, kind="cord"),
    dataclasses.replace(BOLT, kind="washer", head_diameter=6.0)])
def test_items_without_a_shape_are_refused(item: Item) -> None:
    with pytest.raises(SolidError, match="M6"):
        hardware(item)


def test_cords_and_foam_that_cannot_be_are_refused() -> None:
    with pytest.raises(SolidError, match="radius 1 mm"):
        cord_ring(rounded(0, 0, 20, 20, 1.0), 3.55, 0.0)
    with pytest.raises(SolidError, match="height and area"):
        foam_block(((0, 0), (1, 0), (1, 1)), 2.0, 2.0)


def test_joined_meshes_keep_their_volumes() -> None:
    assert mesh_volume(joined((block(0, 0, 0, 1, 1, 1), block(5, 0, 0, 7, 1, 1)))) == pytest.approx(3)
