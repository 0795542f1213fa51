"""The filter's seat: closed forms of its pocket, the element's free region, the air's way, and what is refused."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, Polygon

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, chain_polygon, contains, distance_to_chain, gap, polygon_chain
from afterpart.model.feature import Groove
from afterpart.model.wishes import AddedHole, Change, FilterWish
from afterpart.parts.screw_boss import rim_circle
from afterpart.parts.seat import BOSS_APART, air_opening, frame_height, frame_screw_faces, frame_screw_holes, lay_seat
from tests.parts.filter_jobs import CORNER, ELEMENT, POCKET, area, box, job, outline, seat


def test_the_pocket_is_the_channel_less_the_land_with_corners_for_the_bosses() -> None:
    """A rectangle 96 x 66 moved in by 2.5, its corners rounded with boss radius 3.75 and clearance 0.3."""
    laid = seat()
    assert chain_area(laid.pocket) == pytest.approx(POCKET[0] * POCKET[1] - (4 - math.pi) * CORNER**2, rel=1e-9)
    assert gap(laid.pocket, polygon_chain(box(96, 66))).distance == pytest.approx(2.5)
    assert laid.ledge == 3.0 and laid.depth == 3.0 and laid.boss_diameter == 7.5


def test_bosses_nest_in_the_corners_with_the_clearance_and_no_more() -> None:
    laid = seat()
    assert len(laid.bosses) == 4
    for at in laid.bosses:
        assert gap(laid.pocket, rim_circle(at, laid.boss_diameter)).distance == pytest.approx(0.3, abs=1e-6)
        assert (abs(at[0]), abs(at[1])) == pytest.approx((POCKET[0] / 2 - CORNER, POCKET[1] / 2 - CORNER))


def test_the_region_keeps_the_clearance_and_leaves_the_bosses_out() -> None:
    laid = seat()
    points = np.array(laid.region)
    region = Polygon(laid.region)
    assert region.is_valid
    assert distance_to_chain(points, laid.pocket).min() >= 0.3 - 1e-6
    reach = laid.boss_diameter / 2 + BOSS_APART
    for at in laid.bosses:
        assert np.hypot(*(points - at).T).min() >= reach - 1e-6
    # the other side: polygons of very fine chords
    discs = shapely.unary_union([Point(at).buffer(reach, quad_segs=512) for at in laid.bosses])
    expected = chain_polygon(laid.pocket, 1e-4).buffer(-0.3, quad_segs=512).difference(discs)
    assert region.area == pytest.approx(expected.area, rel=1e-3)
    assert region.difference(expected.buffer(0.02)).is_empty


def test_the_opening_is_the_element_less_its_rim_with_round_corners() -> None:
    laid = seat()
    opening = air_opening(laid, ELEMENT, 5.0)
    assert chain_area(opening) == pytest.approx(63.0 * 50.0 - (4 - math.pi) * 3.0**2)
    assert gap(opening, polygon_chain(ELEMENT)).distance == pytest.approx(5.0)
    assert contains(laid.pocket, opening) and contains(laid.pocket, laid.opening)


def test_the_ledge_is_whole_under_every_boss() -> None:
    laid = seat()
    opening = chain_polygon(air_opening(laid, ELEMENT, laid.rim))
    assert all(opening.distance(Point(at)) > laid.boss_diameter / 2 + laid.rim for at in laid.bosses)


def test_without_a_channel_the_outer_loop_is_moved_in_and_bolts_are_kept_out() -> None:
    laid = lay_seat(outline(channel=False), job(), None)
    assert contains(polygon_chain(box(115.0, 85.0)), laid.pocket)
    for at in box(108, 78):
        assert gap(laid.pocket, rim_circle(at, 6.6)).distance >= 2.5 - 1e-6
    assert chain_area(laid.pocket) > chain_area(seat().pocket)


def test_a_dropped_channel_is_not_followed_and_a_groove_comes_first() -> None:
    dropped = job(changes=(Change("channel", "drop", "glued instead"),))
    assert lay_seat(outline(), dropped, None).pocket == lay_seat(outline(channel=False), dropped, None).pocket
    inner = polygon_chain(box(80.0, 50.0))
    groove = Groove(inner, inner, inner, 3.6, 2.0, 0.3, 6.0, 0.0, 2.4, 0.0, (0.0, 0.0), 3.0, 3.0, "dust", "")
    laid = lay_seat(outline(), job(), groove)
    assert chain_area(laid.pocket) == pytest.approx(75.0 * 45.0 - (4 - math.pi) * CORNER**2)


def test_an_added_bolt_hole_inside_is_kept_out_of_the_pocket() -> None:
    hole = AddedHole("m1", (44.0, 0.0), 6.6, "bolt")
    laid = lay_seat(outline(), job(holes=(hole,)), None)
    assert gap(laid.pocket, rim_circle(hole.at, hole.diameter)).distance >= 2.5 - 1e-6
    assert chain_area(laid.pocket) < chain_area(seat().pocket)


def test_pins_need_no_bosses() -> None:
    laid = seat(job("pins"))
    assert laid.bosses == () and area(laid.region) > area(seat().region)
    assert frame_screw_holes(laid, job("pins")) == ()


def test_screw_holes_lead_through_the_floor_alone() -> None:
    laid, wanted = seat(), job()
    holes, faces = frame_screw_holes(laid, wanted), frame_screw_faces(laid, wanted)
    assert [h.center for h in holes] == list(laid.bosses) == [f.center for f in faces]
    assert all((h.diameter, h.bottom, h.top, h.purpose) == (3.4, 0.0, 3.0, "screw") for h in holes)
    assert all((f.outer, f.z, f.facing) == (5.6, 0.0, -1) for f in faces)
    assert frame_screw_holes(laid, job("latches")) == ()
    with pytest.raises(JobError, match=r"screws\.head_diameter: 4 mm found, at least 4\.4 mm"):
        frame_screw_faces(laid, job(screws__head_diameter=4.0))


def test_room_above_is_held_against_what_the_filter_needs() -> None:
    """F + t + f - T = 3 + 10 + 3 - 6 = 10 mm; pins have no web: 7 mm."""
    assert frame_height(job()) == pytest.approx(10.0) and frame_height(job("pins")) == pytest.approx(7.0)
    assert seat(job(room=10.0)).bosses
    with pytest.raises(JobError, match=r"room above: 9\.5 mm found, .* 10 mm .*filter\.thickness 10 .* thicker by 0\.50 mm"):
        seat(job(room=9.5))
    assert seat(job("pins", room=7.0)).pocket


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"filter__land": -1.0}, r"filter\.land: -1 found"),
        ({"filter__land": 32.0}, r"filter\.land: 32 mm found; the channel's inner wall .* leaves no pocket"),
        ({"filter__rim": 0.0}, r"filter\.rim: 0 found"),
        ({"filter__rim": 29.0}, r"filter\.rim: 29 mm found; .* no way for the air"),
        ({"filter__squeeze": 0.95}, r"filter\.squeeze: 0\.95 found"),
        ({"cover__floor": 6.0}, r"cover\.floor: 6 mm found, less than cover\.thickness"),
        ({"cover__floor": 0.0}, r"cover\.floor: 0 found"),
        ({"holder__thickness": 0.5}, r"holder\.thickness: 0\.5 found"),
        ({"holder__clearance": -0.1}, r"holder\.clearance: -0\.1 found"),
        ({"screws__boss": 58.0}, r"leaves no pocket|does not stand on the seat's ledge|stands .* from the next"),
        ({"holder__screws": 1}, r"holder\.screws: 1 found"),
        ({"holder__screws": 80}, r"holder\.screws: 80 found"),
        ({"filter": None}, r"filter: no such table"),
    ],
)
def test_what_cannot_work_names_its_key(given: dict[str, Any], message: str) -> None:
    with pytest.raises(JobError, match=message):
        seat(job(**given))


def test_all_complaints_come_at_once() -> None:
    with pytest.raises(JobError) as caught:
        seat(job(filter=FilterWish(land=-1.0, rim=-2.0, squeeze=2.0)))
    assert len(str(caught.value).splitlines()) == 3


def test_an_element_that_leaves_the_pocket_is_refused_with_the_place() -> None:
    with pytest.raises(JobError, match=r"leaves the seat's pocket near \("):
        air_opening(seat(), box(95.0, 40.0), 5.0)
    with pytest.raises(JobError, match=r"filter\.rim: 35 mm"):
        air_opening(seat(), ELEMENT, 35.0)
