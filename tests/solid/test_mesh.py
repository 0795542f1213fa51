"""Meshes: volume, ways through, lumps and hollows against shapes whose numbers are known; bodies' meshes against their bodies."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator

import manifold3d
import numpy as np
import pytest
import trimesh

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Line
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Prism, TreatLoop
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import genus, joined, lumps, mesh_volume, moved, shells, triangle_normals, voids
from afterpart.solid.worker import Workshop
from tests.solid.shapes import disc, piece_of, plate, rectangle


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def of(body: trimesh.Trimesh) -> Mesh:
    return Mesh(np.asarray(body.vertices, float), np.asarray(body.faces, np.int32))


def inside_out(mesh: Mesh) -> Mesh:
    return Mesh(mesh.vertices, mesh.triangles[:, ::-1])


BALL = of(trimesh.creation.icosphere(subdivisions=3, radius=2.0))
RING = of(trimesh.creation.torus(5.0, 1.0, major_sections=60, minor_sections=24))
SLOT = (Line("a", (10, -2), (14, -2)), Arc("b", (14, -2), (14, 2), (14, 0), 2.0, True),
        Line("c", (14, 2), (10, 2)), Arc("d", (10, 2), (10, -2), (10, 0), 2.0, True))
CUBE = of(trimesh.creation.box((2.0, 3.0, 4.0)))


def test_volume_is_the_reference_librarys_wherever_the_mesh_lies() -> None:
    """trimesh's own volume is the other side."""
    for body in (trimesh.creation.icosphere(subdivisions=3, radius=2.0), trimesh.creation.torus(5.0, 1.0)):
        assert mesh_volume(of(body)) == pytest.approx(body.volume, rel=1e-12)
        far = moved(of(body), False, (1e4, -2e4, 3e4))
        assert mesh_volume(far) == pytest.approx(body.volume, rel=1e-9)


def test_ways_through_of_known_shapes() -> None:
    assert [genus(mesh) for mesh in (BALL, CUBE, RING)] == [0, 0, 1]
    assert genus(joined((RING, moved(RING, False, (20, 0, 0)), BALL))) == 2


def test_a_hollow_is_a_void_and_no_way_through() -> None:
    hollow = joined((BALL, inside_out(Mesh(BALL.vertices * 0.5, BALL.triangles)), moved(CUBE, False, (9, 0, 0))))
    assert (len(shells(hollow)), len(lumps(hollow)), len(voids(hollow)), genus(hollow)) == (3, 2, 1, 0)
    assert mesh_volume(hollow) == pytest.approx(mesh_volume(BALL) * (1 - 1 / 8) + 24, rel=1e-12)
    assert mesh_volume(lumps(hollow)[0]) >= mesh_volume(lumps(hollow)[1])


def test_lumps_that_touch_in_a_point_stay_two() -> None:
    """Two cubes share one corner vertex: two lumps, no way through."""
    second = moved(CUBE, False, (2, 3, 4))
    corner = int(np.argmin(np.abs(CUBE.vertices - (1, 1.5, 2)).sum(axis=1)))
    other = int(np.argmin(np.abs(second.vertices - (1, 1.5, 2)).sum(axis=1)))
    triangles = second.triangles + len(CUBE.vertices)
    triangles[triangles == other + len(CUBE.vertices)] = corner
    both = Mesh(np.vstack((CUBE.vertices, second.vertices)), np.vstack((CUBE.triangles, triangles)))
    assert len(lumps(both)) == 2 and genus(both) == 0 and mesh_volume(both) == pytest.approx(48)


def test_an_open_or_doubled_mesh_is_refused_with_its_place() -> None:
    with pytest.raises(SolidError, match=r"not closed: the edge at \(-?1\.000"):
        genus(Mesh(CUBE.vertices, CUBE.triangles[1:]))
    with pytest.raises(SolidError, match="not closed"):
        genus(Mesh(CUBE.vertices, np.vstack((CUBE.triangles, CUBE.triangles))))


def test_flipping_turns_about_x_and_keeps_the_outside_outside() -> None:
    turned = moved(CUBE, True, (1.0, 2.0, 3.0))
    assert np.allclose(turned.vertices, CUBE.vertices * (1, -1, -1) + (1, 2, 3))
    assert mesh_volume(turned) == pytest.approx(24) and genus(turned) == 0


def test_normals_look_outwards_and_areas_add_up() -> None:
    normals, areas = triangle_normals(CUBE)
    middles = CUBE.vertices[CUBE.triangles].mean(axis=1)
    assert ((normals * middles).sum(axis=1) > 0).all()
    assert areas.sum() == pytest.approx(2 * (6 + 8 + 12))


@pytest.mark.parametrize("holes", [0, 1, 12])
def test_a_bodys_ways_through_are_its_holes(workshop: Workshop, holes: int) -> None:
    """manifold3d's genus is the other side."""
    places = [(-60 + 10 * i, -30.0) for i in range(holes)]
    cuts = (Cut(tuple(Prism(disc(x, y, 2.5), (), -1.0, 7.0) for x, y in places)),) if holes else ()
    body = workshop.build(piece_of(Add((plate(),)), *cuts, ChamferFirstLayer(0.4)))
    assert body.genus == holes and body.voids == 0 and body.solids == 1
    other = manifold3d.Manifold(manifold3d.Mesh64(body.mesh.vertices, body.mesh.triangles.astype(np.uint64)))
    assert other.status() == manifold3d.Error.NoError and other.genus() == holes
    assert other.volume() == pytest.approx(body.mesh_volume, rel=1e-9)
    assert body.mesh_volume == pytest.approx(body.volume, rel=1e-3)


def test_a_bubble_in_a_body_is_counted_apart(workshop: Workshop) -> None:
    body = workshop.build(piece_of(Add((plate(),)), Cut((Cone((0, 0), 2.0, 4.0, 4.0, 2.0),))))
    assert (body.genus, body.voids, body.solids) == (0, 1, 1)


def test_two_bodies_that_touch_along_an_edge_are_refused(workshop: Workshop) -> None:
    """Neither mesh formats nor printers know what such a body means."""
    blocks = (Prism(rectangle(0, 0, 10, 10), (), 0.0, 5.0), Prism(rectangle(10, 10, 20, 20), (), 0.0, 5.0))
    with pytest.raises(SolidError, match="not closed|invalid"):
        workshop.build(piece_of(Add(blocks)))


def sides_from_axis(mesh: Mesh, x: float, y: float, radius: float, z: float) -> np.ndarray:
    """Distances of the sides of the hole's polygon at height z from its axis."""
    at = mesh.vertices[np.abs(mesh.vertices[:, 2] - z) < 1e-6][:, :2] - (x, y)
    ring = at[np.hypot(*at.T) < 1.2 * radius]
    ring = ring[np.argsort(np.arctan2(ring[:, 1], ring[:, 0]))]
    following = np.roll(ring, -1, axis=0)
    cross = np.abs(ring[:, 0] * following[:, 1] - ring[:, 1] * following[:, 0])
    return cross / np.linalg.norm(following - ring, axis=1)


def test_round_holes_drawn_round_their_circle(workshop: Workshop) -> None:
    """Every side of a hole's polygon touches its circle from outside, at the mouth's chamfer too; all else stays."""
    steps = (Add((plate(),)), Cut((Prism(disc(-50, -30, 3.3), (), -1.0, 7.0), Prism(disc(50, 30, 1.25), (), 2.0, 7.0))),
             ChamferFirstLayer(0.4))
    plain = workshop.build(piece_of(*steps))
    body = workshop.build(piece_of(*steps), circumscribed=True)
    rings = ((-50, -30, 3.3, 6.0), (-50, -30, 3.3, 0.4), (-50, -30, 3.7, 0.0), (50, 30, 1.25, 6.0), (50, 30, 1.25, 2.0))
    for x, y, r, z in rings:
        inscribed, outside = (sides_from_axis(b.mesh, x, y, r, z) for b in (plain, body))
        n = len(outside)
        assert n >= 18 and outside.min() == pytest.approx(r, abs=1e-6) and outside.max() == pytest.approx(r, abs=1e-6)
        assert inscribed.max() < r, "the kernel's own polygon lies inside"
        at = body.mesh.vertices[np.abs(body.mesh.vertices[:, 2] - z) < 1e-6][:, :2] - (x, y)
        corners = np.hypot(*at.T)[np.hypot(*at.T) < 1.2 * r]
        assert np.allclose(corners, r / math.cos(math.pi / n), atol=1e-6)
    assert body.step == plain.step and body.volume == plain.volume and body.genus == plain.genus == 1
    far = np.hypot(*(plain.mesh.vertices[:, :2] - (-50, -30)).T) > 4
    far &= np.hypot(*(plain.mesh.vertices[:, :2] - (50, 30)).T) > 2
    assert np.array_equal(plain.mesh.vertices[far], body.mesh.vertices[far])


def test_bosses_and_slots_are_no_round_holes(workshop: Workshop) -> None:
    """A boss, a rim and a half-round slot end keep their points on the curve."""
    steps = (Add((Prism(disc(0, 0, 20), (), 0.0, 3.0), Prism(disc(0, 0, 5), (), 3.0, 8.0))),
             Cut((Prism(SLOT, (), -1.0, 4.0),)))
    plain, body = workshop.build(piece_of(*steps)), workshop.build(piece_of(*steps), circumscribed=True)
    assert np.array_equal(plain.mesh.vertices, body.mesh.vertices)


def test_a_rounded_mouth_leaves_the_flare_where_it_is(workshop: Workshop) -> None:
    steps = (Add((plate(),)), Cut((Prism(disc(0, 0, 10), (), -1.0, 7.0),)), TreatLoop(disc(0, 0, 10), 0.0, "round", 3.0))
    body = workshop.build(piece_of(*steps), circumscribed=True)
    assert sides_from_axis(body.mesh, 0, 0, 10.0, 6.0).min() == pytest.approx(10.0, abs=1e-6) and body.genus == 1
