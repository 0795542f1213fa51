"""Frame and cover of the compressor example turned and turned over: what must not go together shares space.

The example has no wrong way: its pocket's cut corners stop every turn.  An invented seat that covers itself after half a turn has
one, for its element has but one corner cut: there the key stands.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from afterpart.geometry.chain import chain_polygon
from afterpart.model.feature import Latch, Seat, SeatKey
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.piece import Deboss, Piece
from afterpart.model.wishes import HolderWish
from afterpart.parts.clamp_frame import frame_shift
from afterpart.parts.seat_key import element_lies, half_disc
from afterpart.parts.seat_rib import INSET
from afterpart.parts.stage import make_pieces
from afterpart.solid.body import Mesh
from afterpart.solid.clash import clashes, overlap_volume, way_in
from afterpart.solid.hardware import hardware
from afterpart.solid.mesh import moved
from afterpart.solid.worker import Workshop
from tests.parts.examples import example
from tests.parts.filter_jobs import genus, job, outline, steep_area

SHIFTS = (-0.2, 0.0, 0.2)
"""The screws' play in their holes, (3.4 - 3.0) / 2 mm: a piece may be pushed about by it."""


def invented(thickness: float, one_way: bool, holder: str = "frame") -> tuple[Outline, Job]:
    """A seat that covers itself after half a turn (two opposite corners cut by 15 mm) for an element that does not."""
    wall = ((-48.0, -33.0), (33.0, -33.0), (48.0, -18.0), (48.0, 33.0), (-33.0, 33.0), (-48.0, 18.0))
    wanted = job(holder, cover__thickness=thickness, cover__one_way=one_way)
    return outline(inner=wall), replace(wanted, wishes=replace(wanted.wishes, make=("cover", "clamp_frame")))


def compressor(one_way: bool) -> tuple[Outline, Job]:
    """The example's cover and frame."""
    drawn, wanted = example("compressor_cover")
    w = wanted.wishes
    assert w.cover is not None and w.holder is not None
    wishes = replace(w, cover=replace(w.cover, one_way=one_way), holder=replace(w.holder, four_pilots=False),
                     make=("cover", "clamp_frame"))
    return drawn, replace(wanted, wishes=wishes)


def without_words(cover: Piece) -> Piece:
    """The cover before its texts are sunk: OUTSIDE and the rest are bridged, and no matter here."""
    return replace(cover, steps=tuple(step for step in cover.steps if not isinstance(step, Deboss)))


class Set:
    """Cover and frame of one job, and their meshes in the assembly frame."""

    def __init__(self, workshop: Workshop, drawn: Outline, job: Job) -> None:
        build = make_pieces(drawn, job)
        assert job.wishes.cover is not None
        self.cover, self.frame = build.pieces
        self.cover = without_words(self.cover)
        (self.seat,) = (f for f in self.cover.features if isinstance(f, Seat))
        self.bodies = workshop.build(self.cover), workshop.build(self.frame)
        self.place = moved(self.bodies[0].mesh, False, (0.0, 0.0, -job.wishes.cover.thickness))
        self.frame_mesh = self.bodies[1].mesh
        self.seated = moved(self.frame_mesh, True, frame_shift(job))
        self.cuts = build.cuts
        self.screws = tuple(mesh for item in build.assembly.items if item.kind == "screw" for mesh in hardware(item))
        self.ledge = self.seat.ledge - job.wishes.cover.thickness

    @property
    def keys(self) -> list[SeatKey]:
        return [f for f in self.cover.features if isinstance(f, SeatKey)]


def turned(mesh: Mesh, about: np.ndarray) -> Mesh:
    """By 180 degrees about an upright axis."""
    vertices = mesh.vertices.copy()
    vertices[:, :2] = 2 * about - vertices[:, :2]
    return Mesh(vertices, mesh.triangles)


def least(mesh: Mesh, other: Mesh) -> float:
    """Smallest common volume however the piece is pushed about within its play, mm3."""
    return min(overlap_volume(moved(mesh, False, (x, y, 0.0)), other) for x, y in itertools.product(SHIFTS, SHIFTS))


def above_first_layer(mesh: Mesh) -> Mesh:
    """Without the faces of the first layer's chamfer of 0.4 mm, whose facets lean by 45 degrees and a little more at corners."""
    return Mesh(mesh.vertices, mesh.triangles[mesh.vertices[mesh.triangles][:, :, 2].max(axis=1) > 0.41])


@pytest.fixture(scope="module")
def plain(built_pieces: Workshop) -> Set:
    return Set(built_pieces, *compressor(True))


@pytest.fixture(scope="module", params=[6.0, 14.4])
def keyed(built_pieces: Workshop, request: pytest.FixtureRequest) -> Set:
    """Web above the mating face, and web dipping 1.4 mm into the pocket."""
    return Set(built_pieces, *invented(request.param, True))


@pytest.fixture(scope="module", params=[6.0, 14.4])
def unkeyed(built_pieces: Workshop, request: pytest.FixtureRequest) -> Set:
    return Set(built_pieces, *invented(request.param, False))


def test_no_wrong_way_no_key(plain: Set) -> None:
    """The example's pieces do not depend on whether a key is wanted."""
    assert plain.keys == [] and make_pieces(*compressor(False)).pieces == make_pieces(*compressor(True)).pieces


def test_the_example_turned_runs_into_the_pocket(plain: Set) -> None:
    middle = np.array(chain_polygon(plain.seat.pocket).envelope.centroid.coords[0])
    for about in (middle, np.mean(plain.seat.bosses, axis=0)):
        assert least(turned(plain.seated, about), plain.place) > 1.0
    assert clashes({"cover": plain.place, "frame": plain.seated}) == ()


@pytest.mark.parametrize("about_x", [True, False])
def test_turned_over_no_screw_holds_the_frame(plain: Set, about_x: bool) -> None:
    """Feet to the machine: at every level from the ledge up the screws run into the closed web, or end below it."""
    height = plain.frame.thickness
    over = plain.frame_mesh if about_x else turned(plain.frame_mesh, np.zeros(2))
    tips = max(float(screw.vertices[:, 2].max()) for screw in plain.screws)
    for level in np.arange(plain.ledge, plain.ledge + height, 1.0):
        placed = moved(over, False, (0.0, 0.0, float(level)))
        met = max(overlap_volume(placed, screw) for screw in plain.screws)
        walls = overlap_volume(placed, plain.place)
        assert met > 1.0 or walls > 1.0 or level > tips - 1.0


def test_without_a_key_the_frame_goes_in_turned(unkeyed: Set) -> None:
    """The wrong way is there: feet over the screws within their play, no volume in common, and the rib beside the rim."""
    about = np.mean(unkeyed.seat.bosses, axis=0)
    feet = np.array(unkeyed.seat.bosses)
    apart = np.linalg.norm((2 * about - feet)[:, None, :] - feet[None, :, :], axis=2).min(axis=1)
    assert apart.max() < 0.2 and unkeyed.keys == []
    assert clashes({"cover": unkeyed.place, "frame": turned(unkeyed.seated, about)}) == ()
    opening = chain_polygon(unkeyed.seat.opening)
    assert opening.symmetric_difference(affinity.rotate(opening, 180.0, origin=tuple(about))).area > 50.0


def test_the_key_stops_the_turned_frame_only(keyed: Set) -> None:
    about = np.mean(keyed.seat.bosses, axis=0)
    assert least(turned(keyed.seated, about), keyed.place) > 1.0
    assert clashes({"cover": keyed.place, "frame": keyed.seated}) == ()
    assert way_in(keyed.seated, {"cover": keyed.place}, (0.0, 0.0, 1.0), 30.0, 10).is_clear


def test_keyed_pieces_are_whole_and_print_upwards(keyed: Set) -> None:
    """One lump each, as many ways through as planned, nothing that hangs over: the rib stands on the ledge."""
    for piece, body in zip((keyed.cover, keyed.frame), keyed.bodies, strict=True):
        assert body.is_valid and body.solids == 1 and piece.through_holes == genus(body.mesh)
        assert steep_area(above_first_layer(body.mesh)) == pytest.approx(0.0, abs=0.01)
    assert keyed.cover.thickness == pytest.approx(float(keyed.bodies[0].high[2]))


def test_the_rib_is_a_half_disc_from_the_ledge(built_pieces: Workshop) -> None:
    """With a web that dips the rib ends at the mating face: pi r^2 / 2 times its height more than without."""
    with_key, without = (built_pieces.build(without_words(make_pieces(*invented(14.4, wanted)).pieces[0]))
                         for wanted in (True, False))
    assert with_key.volume - without.volume == pytest.approx(np.pi / 2 * 3.0**2 * (14.4 - 3.0), rel=1e-3)


@pytest.mark.parametrize("thickness", [6.0, 14.4])
def test_a_key_beside_hooks_clears_them_and_stops_the_latched_frame(built_pieces: Workshop, thickness: float) -> None:
    """A frame turned by half finds all hooks in place, so without a key nothing stops it; the key stands whole beside the hooks
    and shares no space with the frame in its place.

    Volume by hand: half a cylinder of r = 3 up to the face, above it the same drawn in by i all round: R = r - i,
    R^2 acos(i / R) - i sqrt(R^2 - i^2)."""
    latched, loose = (Set(built_pieces, *invented(thickness, wanted, "latches")) for wanted in (True, False))
    (key,) = latched.keys
    hooks = [feature for feature in latched.cover.features if isinstance(feature, Latch)]
    assert len(hooks) == len(latched.seat.bosses) == 4
    assert min(math.dist(hook.root, key.at) for hook in hooks) > key.radius + hooks[0].width + hooks[0].bend
    face = min(thickness, key.top)
    inner = key.radius - INSET
    above = inner**2 * math.acos(INSET / inner) - INSET * math.sqrt(inner**2 - INSET**2)
    by_hand = math.pi / 2 * key.radius**2 * (face - key.bottom) + above * (key.top - face)
    assert latched.bodies[0].volume - loose.bodies[0].volume == pytest.approx(by_hand, rel=1e-6)
    for piece, body in zip((latched.cover, latched.frame), latched.bodies, strict=True):
        assert body.is_valid and body.solids == 1 and body.genus == piece.through_holes and body.remarks == ()
    about = np.mean(latched.seat.bosses, axis=0)
    assert clashes({"cover": latched.place, "frame": latched.seated}) == ()
    assert least(turned(latched.seated, about), latched.place) > 1.0
    assert loose.keys == [] and clashes({"cover": loose.place, "frame": turned(loose.seated, about)}) == ()


def test_the_key_lies_in_the_turned_element_and_beside_the_right_one(keyed: Set) -> None:
    """More than 1 mm3 of foam stands in the rib's place when the element is turned by half a turn."""
    (key,) = keyed.keys
    (row,) = (row for row in keyed.cuts if row.chosen)
    element = Polygon(row.corners)
    rib = half_disc(keyed.seat, key.at, key.radius)
    (way,) = element_lies(keyed.seat, element)
    assert rib.distance(element) > 0.4 and way.words == "turned by 180 degrees"
    assert rib.intersection(way.piece).area * (key.top - key.bottom) > 1.0


def test_not_wanted_no_word_of_it(unkeyed: Set) -> None:
    told = {note.code for piece in (unkeyed.cover, unkeyed.frame) for note in piece.notes}
    assert not told & {"seat_key", "seat_fits_wrongly", "fits_wrongly", "frame_key"}


def test_pins_hold_no_frame_but_the_element_meets_the_key() -> None:
    drawn, wanted = invented(6.0, True)
    wishes = replace(wanted.wishes, holder=HolderWish(kind="pins"), make=("cover",))
    (cover,) = make_pieces(drawn, replace(wanted, wishes=wishes)).pieces
    (key,) = (f for f in cover.features if isinstance(f, SeatKey))
    (note,) = (note for note in cover.notes if note.code == "seat_key")
    assert key.top == 6.0 and "the element turned" in note.text and "frame" not in note.text
