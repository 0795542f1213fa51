"""Pins round the element: on the ledge, evenly spaced, honest about what they do not hold."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_polygon, distance_to_chain, polygon_chain
from afterpart.model.outline import Point
from afterpart.model.piece import Add, Cone, Cut, Piece, PrintTime, Prism
from afterpart.parts.pins import FOOT_RADIUS, LEDGE_BESIDE, PITCH, STRETCH, TIP_RADIUS, lay_pins
from afterpart.parts.seat import air_opening
from afterpart.solid.worker import Workshop
from tests.parts.filter_jobs import area, box, job, seat, steep_area

JOB = job("pins")
ELEMENT = box(90.0, 60.0)
UNEVEN: tuple[Point, ...] = ((-44.0, -29.0), (44.0, -29.0), (44.0, 12.0), (25.0, 29.0), (-44.0, 29.0))


@pytest.mark.parametrize("element", [ELEMENT, UNEVEN, ELEMENT[::-1]])
def test_pins_stand_on_the_ledge_in_the_middle_of_the_rim(element: tuple[Point, ...]) -> None:
    laid = seat(JOB)
    pins = lay_pins(laid, element, JOB)
    at = np.array(pins.at)
    assert np.allclose(distance_to_chain(at, polygon_chain(element)), laid.rim / 2)
    opening, whole = chain_polygon(air_opening(laid, element, laid.rim)), shapely.Polygon(element)
    for p in shapely.points(at):
        assert whole.contains(p) and opening.distance(p) >= FOOT_RADIUS + LEDGE_BESIDE - 1e-3
    cones = [c for step in pins.steps for c in step.prisms]
    assert all(isinstance(c, Cone) and (c.bottom, c.bottom_radius, c.top_radius) == (3.0, FOOT_RADIUS, TIP_RADIUS) for c in cones)
    assert all(c.top == pytest.approx(3.0 + 10.0 - 1.0) for c in cones)


def test_no_two_neighbours_are_farther_apart_than_the_pitch() -> None:
    """Sides 85 and 55 long at the middle of the rim: 6 and 4 steps, so 20 pins, one in every corner."""
    at = lay_pins(seat(JOB), ELEMENT, JOB).at
    steps = [math.dist(a, b) for a, b in zip(at, (*at[1:], at[0]), strict=True)]
    assert len(at) == 2 * (6 + 4) and max(steps) <= PITCH
    assert sorted({round(s, 6) for s in steps}) == pytest.approx([55 / 4, 85 / 6])
    assert {(round(x, 6), round(y, 6)) for x, y in at} >= set(box(85.0, 55.0))


def test_the_element_is_cut_smaller_all_round() -> None:
    cut = lay_pins(seat(JOB), UNEVEN, JOB).cut_corners
    assert area(cut) == pytest.approx(area(UNEVEN) * (1 - STRETCH) ** 2)
    assert shapely.Polygon(UNEVEN).contains(shapely.Polygon(cut))


def test_the_notes_do_not_hide_what_can_come_loose() -> None:
    text = {n.code: n.text for n in lay_pins(seat(JOB), ELEMENT, JOB).notes}
    assert "pulls it off the ledge" in text["pins_hold_by_friction"]
    assert "clean side" in text["pins_can_break"] and "smaller" in text["pins_element_cut"]


def test_the_cover_with_its_pins_builds_in_one_piece_and_prints_without_support() -> None:
    laid = seat(JOB)
    pins = lay_pins(laid, ELEMENT, JOB)
    plate = Prism(polygon_chain(box(120.0, 90.0)), (), 0.0, 6.0)
    hollow = Cut((Prism(laid.pocket, (), 3.0, 7.0), Prism(air_opening(laid, ELEMENT, laid.rim), (), -1.0, 4.0)))
    cover = Piece("cover", "probe", "probe", "A", (Add((plate,)), hollow), 6.0, (), PrintTime(0.0, 0.0, ""))
    with Workshop() as workshop:
        bare = workshop.build(cover)
        body = workshop.build(Piece(**{**vars(cover), "steps": (*cover.steps, *pins.steps)}))
    frustum = math.pi * pins.height / 3 * (FOOT_RADIUS**2 + FOOT_RADIUS * TIP_RADIUS + TIP_RADIUS**2)
    assert body.is_valid and body.solids == 1
    assert body.volume - bare.volume == pytest.approx(len(pins.at) * frustum, rel=1e-6)
    assert body.high[2] == pytest.approx(12.0) and steep_area(body.mesh) == 0.0


def test_what_cannot_work_names_its_key() -> None:
    with pytest.raises(JobError, match=r"filter\.rim: 4 mm found, at least 4\.8 mm"):
        narrow = job("pins", filter__rim=4.0)
        lay_pins(seat(narrow), ELEMENT, narrow)
    with pytest.raises(JobError, match=r"filter\.thickness: 5 mm found, at least 5\.8 mm"):
        thin = job("pins", filter__thickness=5.0)
        lay_pins(seat(thin), ELEMENT, thin)
    with pytest.raises(JobError, match="leaves the seat's pocket"):
        lay_pins(seat(JOB), box(95.0, 60.0), JOB)
