"""How photographs see the drawing: the other face turned over, and pictures laid flat; closed forms, and a painted picture."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from afterpart.geometry.matching import Motion
from afterpart.model.edges import OtherFace, PhotoView, Rim
from afterpart.model.mate import Laying
from afterpart.photo.load import Picture
from afterpart.photo.otherface import lay_other_face
from afterpart.photo.photoviews import laid_flat, seen_px, turned_over
from afterpart.photo.projection import project_plane
from afterpart.pipeline.seen import own_places
from tests.photo.test_references import HEIGHT, WIDTH, camera

PLACES = np.random.default_rng(5).uniform(-60.0, 60.0, (40, 2))


def turn(angle_deg: float) -> np.ndarray:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


@pytest.mark.parametrize(("own_deg", "laid_deg", "growth"), [(0.0, 0.0, 1.0), (33.0, 0.0, 1.0), (0.0, -71.0, 1.002),
                                                             (140.0, 205.0, 0.997)])
def test_a_view_of_the_other_face_sees_the_places_that_its_own_drawing_sees(own_deg: float, laid_deg: float,
                                                                            growth: float) -> None:
    view = PhotoView("other.jpg", camera(tilt_deg=9.0, roll_deg=4.0), 9.0, own_deg, (12.0, -7.0))
    other = OtherFace((), 0.0, 0.0, 0.0, laid_deg, (3.5, 41.0), growth)
    on_the_map = growth * (PLACES * np.array([-1.0, 1.0])) @ turn(laid_deg).T + np.array(other.shift)
    assert np.allclose(seen_px(turned_over(view, other), on_the_map), seen_px(view, PLACES), atol=1e-8)


def test_how_the_other_face_was_laid_is_told_with_it() -> None:
    """A lopsided outline, seen from below, turned by 25 degrees and shifted: its own points go where its rims were laid."""
    outline = np.array([[-40.0, -20.0], [40.0, -20.0], [40.0, 5.0], [10.0, 30.0], [-40.0, 12.0]])
    place = np.linspace(0, 5, 400, endpoint=False)
    chain = np.stack([np.interp(place, np.arange(6), np.append(outline[:, k], outline[0, k])) for k in (0, 1)], axis=1)
    own = ((chain @ turn(25.0).T + np.array([6.0, -3.0])) * np.array([-1.0, 1.0]))[::-1]
    laid = lay_other_face([Rim("outer", 1, chain, np.full(400, 0.01))], [Rim("outer", 1, own, np.full(400, 0.01))], 9.0)
    assert laid is not None
    again = (own * np.array([-1.0, 1.0])) @ turn(laid.turn_deg).T + np.array(laid.shift)
    assert np.allclose(again[::-1], laid.rims[0].points, atol=1e-9)
    assert np.abs(again[::-1] - chain).max() < 0.01


def test_a_picture_laid_flat_shows_each_mark_at_its_place_and_grey_beyond_the_picture() -> None:
    seen_by = camera(tilt_deg=14.0, roll_deg=8.0)
    marks = np.array([[-60.0, -40.0], [55.0, -30.0], [20.0, 38.0]])
    colour = np.full((HEIGHT, WIDTH, 3), 235, np.uint8)
    for at in marks:
        square = at + np.array([[-2, -2], [2, -2], [2, 2], [-2, 2]])
        cv2.fillPoly(colour, [np.round((project_plane(seen_by, square, 9.0) - 0.5) * 16).astype(np.int32)], (20, 20, 20),
                     cv2.LINE_AA, 4)
    picture = Picture("a.png", "", colour[..., 0].astype(np.float32), colour, 52.0)
    view = PhotoView("a.png", seen_by, 9.0)
    box = (-400.0, -100.0, 400.0, 100.0)
    flat = cv2.imdecode(np.frombuffer(laid_flat(picture, lambda xy: seen_px(view, xy), box, 1600), np.uint8),
                        cv2.IMREAD_GRAYSCALE)
    assert flat.shape == (400, 1600)
    count, _, _, middles = cv2.connectedComponentsWithStats((flat < 90).astype(np.uint8))
    assert count == 1 + len(marks)
    found = (middles[1:] + 0.5) / 2.0 * np.array([1.0, -1.0]) + np.array([box[0], box[3]])
    assert max(np.hypot(*(found - at).T).min() for at in marks) < 0.1, "mm; a pixel is half a millimetre"
    assert abs(int(flat[200, 5]) - 128) < 6, "what the picture does not show is grey"


@pytest.mark.parametrize("mirrored", [False, True])
def test_places_of_the_mate_are_the_inverse_of_how_it_was_laid_on(mirrored: bool) -> None:
    motion = Motion(mirrored, math.radians(37.0), (4.0, -9.0), 0.002)
    laying = Laying(mirrored, 37.0, (4.0, -9.0), 0.002, 0.001)
    assert np.allclose(own_places(laying, motion.of(PLACES)), PLACES, atol=1e-9)
