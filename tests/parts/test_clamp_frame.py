"""The clamp frame: measured on the built body, and against the closed form of its volume."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
import shapely

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, contains, move_chain, polygon_chain
from afterpart.model.feature import Bar, Boss, Rib
from afterpart.model.piece import ChamferFirstLayer, Piece
from afterpart.parts.clamp_frame import CHAMFER, RIB_BACK, frame_shift, make_frame, mirrored, screw_heads
from afterpart.parts.seat import air_opening, filter_of, holder_of, lay_seat
from afterpart.solid.body import Body
from afterpart.solid.worker import Workshop
from tests.parts.filter_jobs import ELEMENT, POCKET, box, flat_area, genus, job, outline, seat, steep_area


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


@pytest.fixture(scope="module")
def frame() -> Piece:
    return make_frame(seat(), ELEMENT, job(screws__length=11.5))


@pytest.fixture(scope="module")
def body(frame: Piece, workshop: Workshop) -> Body:
    return workshop.build(frame)


def bosses(frame: Piece) -> list[Boss]:
    return [f for f in frame.features if isinstance(f, Boss)]


def test_the_body_is_one_valid_lump_with_the_windows_it_says(frame: Piece, body: Body) -> None:
    assert body.is_valid and body.solids == 1 and body.remarks == ()
    assert frame.through_holes == genus(body.mesh) == 3
    assert body.low[2] == pytest.approx(0.0, abs=1e-6) and body.high[2] == pytest.approx(frame.thickness) == pytest.approx(13.0)


def test_feet_stand_as_high_over_the_web_as_the_element_is_thick(frame: Piece, body: Body) -> None:
    """At the feet's height the only faces are four rings from the relief's diameter to the boss's."""
    holder, element = holder_of(job()), filter_of(job())
    foot = holder.thickness + element.thickness
    relief = 3.3
    assert flat_area(body.mesh, foot, 1) == pytest.approx(4 * math.pi / 4 * (7.5**2 - relief**2), rel=2e-3)


def test_the_rib_squeezes_the_rim_by_the_share(frame: Piece, body: Body) -> None:
    """Rib top over the web: q t = 5 mm; its face there is the element's outline drawn in by RIB_BACK, less the opening."""
    rib = next(f for f in frame.features if isinstance(f, Rib))
    assert rib.top - rib.bottom == pytest.approx(0.5 * 10.0) and rib.squeeze == 0.5
    opening = 63.0 * 50.0 - (4 - math.pi) * 9.0
    ring = (73.0 - 2 * RIB_BACK) * (60.0 - 2 * RIB_BACK) - opening
    assert flat_area(body.mesh, rib.top, 1) == pytest.approx(ring, rel=1e-4)


def test_pilot_holes_are_blind_and_as_deep_as_planned(frame: Piece, body: Body) -> None:
    """Screw 11.5 through a floor of 3: 9.5 mm deep with room for swarf; at that height lie the four floors, nothing else."""
    depth = bosses(frame)[0].pilot_depth
    assert depth == pytest.approx(9.5)
    assert flat_area(body.mesh, 13.0 - depth, 1) == pytest.approx(4 * math.pi * 1.2**2, rel=0.02)


def test_the_volume_is_the_sum_of_its_parts(frame: Piece, workshop: Workshop, body: Body) -> None:
    """Web less windows, rib, bosses less pilots and reliefs, each in closed form; the chamfer takes c^2 / 2 times its edges."""
    bare = workshop.build(replace(frame, steps=tuple(s for s in frame.steps if not isinstance(s, ChamferFirstLayer))))
    depth = 50.0
    free = (63.0 - 2 * 2.4) / 3
    inner, outer = free * depth - (4 - math.pi), free * depth - (4 - math.pi) * (0.5 + 9.0 / 2)
    windows = inner + 2 * outer
    web = (POCKET[0] - 0.2) * (POCKET[1] - 0.2) - (4 - math.pi) * 3.95**2
    opening = 63.0 * 50.0 - (4 - math.pi) * 9.0
    rib = (73.0 - 2 * RIB_BACK) * (60.0 - 2 * RIB_BACK) - opening
    plan = bosses(frame)[0]
    relief = 0.75
    bore = math.pi * (plan.pilot / 2) ** 2 * (plan.pilot_depth - relief) + math.pi * 1.65**2 * relief
    expected = (web - windows) * 3.0 + rib * 5.0 + 4 * (math.pi * 3.75**2 * 10.0 - bore)
    assert bare.volume == pytest.approx(expected, rel=1e-6)
    edges = 2 * (POCKET[0] + POCKET[1] - 0.4) - (8 - math.tau) * 3.95
    edges += 3 * 2 * (free + depth) - 8 * (1.0 + 0.5 + 1.5) + math.tau * (1.0 + 1.0 + 3.0)
    assert bare.volume - body.volume == pytest.approx(CHAMFER**2 / 2 * edges, rel=0.03)


def test_nothing_hangs_over(body: Body) -> None:
    """Facets of the chamfer's rounded corners lean up to 1.3 degrees more than the cone they stand for; nothing leans beyond."""
    assert steep_area(body.mesh, 46.5) == 0.0
    corners = body.mesh.vertices[body.mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    looks_down = normals[:, 2] < -1e-3 * np.linalg.norm(normals, axis=1)
    assert corners[looks_down][:, :, 2].max() <= CHAMFER + 1e-6


def test_turned_over_it_lies_in_the_seat(frame: Piece, body: Body) -> None:
    """In the assembly: feet at the ledge, rib at half the element, web where the element ends, bosses over the screws."""
    laid = seat()
    placed = body.mesh.vertices * (1, -1, -1) + np.array(frame_shift(job()))
    ledge = 3.0 - 6.0
    assert placed[:, 2].min() == pytest.approx(ledge, abs=1e-6)
    assert placed[:, 2].max() == pytest.approx(10.0)
    assert {mirrored(b.center) for b in bosses(frame)} == set(laid.bosses)
    assert [(x, y) for x, y, _ in screw_heads(laid, job())] == list(laid.bosses)
    assert all(z == -6.0 for *_, z in screw_heads(laid, job()))
    rib = next(f for f in frame.features if isinstance(f, Rib))
    assert frame_shift(job())[2] - rib.top == pytest.approx(ledge + 5.0)


def test_an_uneven_element_is_mirrored_with_everything_on_it() -> None:
    element = ((-36.0, -29.0), (36.0, -29.0), (36.0, 10.0), (20.0, 29.0), (-36.0, 29.0))
    laid = seat()
    frame = make_frame(laid, element, job())
    rib = next(f for f in frame.features if isinstance(f, Rib))
    drawn = air_opening(laid, element, 5.0)
    assert abs(chain_area(rib.inner)) == pytest.approx(chain_area(drawn))
    assert contains(polygon_chain(element), move_chain(rib.outer, (0.0, 0.0), mirror_y=True))
    assert not contains(polygon_chain(element), rib.outer)


@pytest.mark.parametrize("span", [12.0, 20.0, 25.0, 70.0])
def test_no_free_span_is_larger_than_asked(span: float) -> None:
    frame = make_frame(seat(), ELEMENT, job(holder__free_span=span))
    places = sorted([-31.5, *(b.start[0] - 1.2 for b in frame.features if isinstance(b, Bar)),
                     *(b.start[0] + 1.2 for b in frame.features if isinstance(b, Bar)), 31.5])
    assert max(b - a for a, b in zip(places[::2], places[1::2], strict=True)) <= span + 1e-9
    assert frame.through_holes == len(places) // 2


def test_a_thick_element_gets_taller_feet_and_a_higher_rib() -> None:
    frame = make_frame(seat(job(filter__thickness=15.0)), ELEMENT, job(filter__thickness=15.0, filter__squeeze=0.4))
    rib = next(f for f in frame.features if isinstance(f, Rib))
    assert frame.thickness == pytest.approx(18.0) and rib.top - rib.bottom == pytest.approx(6.0)


def test_what_cannot_work_names_its_key() -> None:
    with pytest.raises(JobError, match=r"screws\.length: 25 mm found"):
        make_frame(seat(), ELEMENT, job(screws__length=25.0))
    with pytest.raises(JobError, match=r"holder\.kind: 'pins' found"):
        make_frame(seat(job("pins")), ELEMENT, job("pins"))
    with pytest.raises(JobError, match=r"leaves the seat's pocket"):
        make_frame(seat(), box(100.0, 40.0), job())


def test_the_maker_is_told_about_screws_and_squeeze(frame: Piece) -> None:
    codes = {n.code for n in frame.notes}
    assert {"pilot_untried", "frame_squeeze", "frame_screws_outside"} <= codes
    assert frame.material == "PETG" and "clean side on the bed" in frame.orientation


@pytest.mark.parametrize(
    "inner",
    [
        ((-48.0, -20.0), (30.0, -33.0), (48.0, 5.0), (10.0, 33.0), (-40.0, 28.0)),
        ((-45.0, -30.0), (45.0, -25.0), (0.0, 33.0)),
        ((-48.0, -15.0), (-20.0, -33.0), (25.0, -33.0), (48.0, -10.0), (48.0, 20.0), (20.0, 33.0), (-30.0, 33.0)),
    ],
)
def test_corners_of_any_angle_build(inner: tuple[tuple[float, float], ...], workshop: Workshop) -> None:
    """In corners that are not square the pocket's wall runs tangent to the boss: the web must not end just there."""
    wanted = job(screws__length=12.0)
    laid = lay_seat(outline(inner=inner), wanted, None)
    middle = shapely.Polygon(laid.region).centroid
    element = tuple((x + middle.x, y + middle.y) for x, y in box(30.0, 26.0))
    frame = make_frame(laid, element, wanted)
    body = workshop.build(frame)
    assert body.is_valid and body.solids == 1 and body.remarks == () and genus(body.mesh) == frame.through_holes
    assert flat_area(body.mesh, 13.0, 1) == pytest.approx(len(laid.bosses) * math.pi / 4 * (7.5**2 - 3.3**2), rel=2e-3)


def test_a_web_that_dips_into_the_pocket_keeps_its_play() -> None:
    """Element 10 thick on a ledge 15 below the mating face: the web lies between the walls and needs play."""
    deep = {"cover__thickness": 20.0, "cover__floor": 5.0, "screws__length": 14.0}
    assert make_frame(seat(job(**deep)), ELEMENT, job(**deep)).through_holes == 3
    tight = {**deep, "holder__clearance": 0.2}
    with pytest.raises(JobError, match=r"holder\.clearance: 0\.2 mm found, at least 0\.3 mm"):
        make_frame(seat(job(**tight)), ELEMENT, job(**tight))
