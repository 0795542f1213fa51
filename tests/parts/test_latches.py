"""Latches: the strain of a hook against a beam integrated step by step, its catch on the built bodies, what is refused."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator

import manifold3d
import numpy as np
import pytest

from afterpart.errors import JobError
from afterpart.geometry.chain import gap, polygon_chain
from afterpart.model.feature import Latch
from afterpart.model.piece import Add, Cut, Piece, PrintTime, Prism
from afterpart.parts.clamp_frame import WEB_OVER, frame_shift
from afterpart.parts.latches import (
    LEAST_BEND,
    MOST_BEND,
    PLAY,
    THICKNESS,
    allowed_strain,
    hook_bend,
    hook_strain,
    lay_latches,
    make_latched_frame,
)
from afterpart.parts.seat import air_opening
from afterpart.solid.body import Body, Mesh
from afterpart.solid.overhang import overhangs
from afterpart.solid.worker import Workshop
from afterpart.standards.materials import MATERIALS, material
from tests.parts.filter_jobs import ELEMENT, box, flat_area, genus, job, seat, steep_area

JOB = job("latches")


@pytest.fixture(scope="module")
def bodies() -> Iterator[tuple[Body, Body, Piece]]:
    """The cover with its hooks, the latched frame, and the frame's piece."""
    laid = seat(JOB)
    hooks, frame = lay_latches(laid, JOB), make_latched_frame(laid, ELEMENT, JOB)
    plate = Prism(polygon_chain(box(120.0, 90.0)), (), 0.0, 6.0)
    hollow = Cut((Prism(laid.pocket, (), 3.0, 7.0), Prism(air_opening(laid, ELEMENT, laid.rim), (), -1.0, 4.0)))
    cover = Piece("cover", "probe", "probe", "A", (Add((plate,)), hollow, *hooks.steps), 6.0, (), PrintTime(0.0, 0.0, ""))
    with Workshop() as workshop:
        yield workshop.build(cover), workshop.build(frame), frame


def manifold(mesh: Mesh, move: tuple[float, float, float] = (0.0, 0.0, 0.0), flipped: bool = False) -> manifold3d.Manifold:
    points = mesh.vertices * ((1, -1, -1) if flipped else (1, 1, 1)) + np.array(move)
    return manifold3d.Manifold(manifold3d.Mesh(points.astype(np.float32), mesh.triangles.astype(np.uint32)))


@pytest.mark.parametrize(("thickness", "bend", "length"), [(1.6, 0.5, 13.0), (2.0, 1.0, 20.0), (1.2, 0.35, 8.0)])
def test_strain_against_a_beam_integrated_twice(thickness: float, bend: float, length: float) -> None:
    """Curvature of an end-loaded cantilever falls evenly to its tip; integrated twice it gives the bend, at the root the strain.

    Other side: trapezoids over 20 000 steps.  The closed form stands in guides to snap hooks as y = 0.67 e L^2 / h (from memory).
    """
    x = np.linspace(0.0, length, 20_001)
    strain = hook_strain(thickness, bend, length)
    curvature = 2 * strain / thickness * (1 - x / length)
    slope = np.concatenate([[0.0], np.cumsum((curvature[1:] + curvature[:-1]) / 2 * np.diff(x))])
    assert float(np.sum((slope[1:] + slope[:-1]) / 2 * np.diff(x))) == pytest.approx(bend, rel=1e-6)


@pytest.mark.parametrize("name", [m.name for m in MATERIALS if m.yield_stress is not None])
def test_no_hook_bends_further_than_its_material_allows(name: str) -> None:
    allowed = allowed_strain(material(name))
    for length in (8.0, 13.0, 18.0, 30.0):
        wanted = job("latches", material=name)
        try:
            bend = hook_bend(length, wanted)
        except JobError:
            assert hook_strain(THICKNESS, LEAST_BEND, length) > allowed
            continue
        assert LEAST_BEND <= bend <= MOST_BEND and hook_strain(THICKNESS, bend, length) <= allowed * (1 + 1e-9)


def test_a_longer_hook_never_bends_less() -> None:
    bends = [hook_bend(length, JOB) for length in np.linspace(13.0, 40.0, 28)]
    assert bends == sorted(bends)


def test_each_foot_has_a_hook_within_the_place_of_a_boss() -> None:
    laid = seat(JOB)
    hooks = lay_latches(laid, JOB)
    stems = hooks.steps[0].prisms[::2]
    assert len(stems) == len(laid.bosses) == len(hooks.features)
    for stem, at in zip(stems, laid.bosses, strict=True):
        assert isinstance(stem, Prism)
        corners = np.array([s.start for s in stem.outer])
        assert np.hypot(*(corners - at).T).max() <= laid.boss_diameter / 2 + 1e-9
        assert gap(laid.pocket, stem.outer).distance >= 0.3 - 1e-6
        assert min(math.dist(c, (0.0, 0.0)) for c in corners) > math.dist(at, (0.0, 0.0)) - laid.boss_diameter / 2


def test_bodies_are_whole_and_print_without_support(bodies: tuple[Body, Body, Piece]) -> None:
    cover, frame, piece = bodies
    assert cover.is_valid and cover.solids == 1 and frame.is_valid and frame.solids == 1 and frame.remarks == ()
    assert genus(cover.mesh) == 1 and genus(frame.mesh) == piece.through_holes == 3
    assert steep_area(cover.mesh, 45.0) == pytest.approx(0.0, abs=1e-9)
    assert overhangs(cover.mesh, 45.0) == () and overhangs(frame.mesh, 45.0) == ()


def test_the_feet_still_stand_on_the_ledge(bodies: tuple[Body, Body, Piece]) -> None:
    """Each foot is a disc of 7.5 mm less the segment beyond the hook: u from -0.69 mm to the rim."""
    cut = -math.sqrt(3.75**2 - 2.5**2) + THICKNESS + PLAY + WEB_OVER
    segment = 3.75**2 * math.acos(-cut / 3.75) + cut * math.sqrt(3.75**2 - cut**2)
    foot = math.pi * 3.75**2 - segment
    assert flat_area(bodies[1].mesh, 13.0, 1) == pytest.approx(4 * foot, rel=2e-3)


def test_closed_it_touches_nothing_and_cannot_be_lifted_out(bodies: tuple[Body, Body, Piece]) -> None:
    """In its place the frame meets no hook; lifted by half a millimetre all four noses are in its way."""
    cover, frame, _ = bodies
    x, y, z = frame_shift(JOB)
    fixed = manifold(cover.mesh, (0.0, 0.0, -6.0))
    assert (fixed ^ manifold(frame.mesh, (x, y, z), flipped=True)).volume() < 0.02
    lifted = fixed ^ manifold(frame.mesh, (x, y, z + 0.5), flipped=True)
    assert lifted.volume() > 0.1 and len(lifted.decompose()) == 4


def test_the_strain_and_the_dangers_are_told() -> None:
    hooks = lay_latches(seat(JOB), JOB)
    text = {n.code: n.text for n in hooks.notes}
    assert {"latch_strain", "latch_plain_printer", "latch_can_break"} <= set(text)
    assert "from memory" in text["latch_strain"] and "clean side" in text["latch_can_break"]
    for hook in hooks.features:
        assert isinstance(hook, Latch)
        assert hook.strain == pytest.approx(1.5 * hook.thickness * hook.bend / hook.length**2)
        assert hook.strain <= allowed_strain(material("PETG")) * (1 + 1e-9)


def test_a_small_clean_side_is_warned_of() -> None:
    wide = job("latches", filter__rim=12.0)
    assert "latch_small_clean_side" in {n.code for n in lay_latches(seat(job("latches", filter__rim=18.0)), wide).notes}
    assert "latch_small_clean_side" not in {n.code for n in lay_latches(seat(JOB), JOB).notes}


def test_what_cannot_work_names_its_key() -> None:
    thin = job("latches", filter__thickness=6.0)
    with pytest.raises(JobError, match=r"filter\.thickness, holder\.thickness: 9 mm of hook found"):
        lay_latches(seat(thin), thin)
    soft = job("latches", material="TPU", screws__pilot=2.4, screws__boss=7.5)
    with pytest.raises(JobError, match=r"printer\.material: 'TPU'"):
        lay_latches(seat(soft), soft)
    low = job("latches", room=10.5)
    with pytest.raises(JobError, match=r"room above: 10\.5 mm found, but the latches' noses reach 11\."):
        lay_latches(seat(low), low)
    with pytest.raises(JobError, match=r"screws\.boss: 5\.4 mm found, at least 5\."):
        slim = job("latches", screws__boss=5.4)
        lay_latches(seat(slim), slim)
    with pytest.raises(JobError, match=r"holder\.kind"):
        lay_latches(seat(job("pins")), job("pins"))
