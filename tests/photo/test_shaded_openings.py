"""An opening whose floor runs from light to dark shade, and is as bright as the face somewhere between, is one opening.

Painted scenes: pixel frame, levels blue, green, red.  A face on a grey bench; noise 2 levels, drawn with a fixed seed.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.photo.hue import off_hue
from afterpart.photo.part import PartRegion, find_parts
from afterpart.photo.roundrim import robust_circle
from afterpart.photo.table import Objects, find_objects

BENCH, BLUE, GREY = (150.0, 154.0, 156.0), (112.0, 78.0, 68.0), (76.0, 78.0, 79.0)
"""The two faces are alike without their hue: 79 and 78 of the bench's 154, a share of 0.51."""

PART, SLOT = (200, 160, 620, 480), (300, 290, 520, 380)
"""Left, top, right, bottom, px: an upright box, its corners not rounded."""

HOLE = (410.0, 320.0, 21.0)
"""Middle and radius of a round hole, px."""

FADING, RESTING = (0.49, 0.53), (0.505, 0.515)
"""Share of the light at the two ends of the middle third of the slot's floor; from there it falls to 0.1 and rises to 1."""


def _scene(face: tuple[float, float, float], middle: tuple[float, float]) -> tuple[np.ndarray, Objects]:
    """Grey picture and objects.  The slot's floor grows lighter from its upper to its lower side."""
    picture = np.empty((640, 800, 3), np.float32)
    picture[:] = BENCH
    cv2.rectangle(picture, PART[:2], PART[2:], face, -1)
    left, top, right, bottom = SLOT
    shade = np.interp(np.linspace(0, 1, bottom - top), (0.0, 0.33, 0.67, 1.0), (0.1, *middle, 1.0))
    picture[top:bottom, left:right] = np.float32(BENCH) * shade[:, None, None]
    picture = cv2.GaussianBlur(picture, (0, 0), 1.2) + np.random.default_rng(7).normal(0, 2.0, picture.shape)
    colour = np.clip(np.rint(picture), 0, 255).astype(np.uint8)
    return cv2.cvtColor(colour, cv2.COLOR_BGR2GRAY).astype(np.float32), find_objects(colour, 1.0, None)


def _hole_of_floor_like_the_face(wall: float) -> tuple[np.ndarray, Objects]:
    """Grey picture and objects.  Of a hole only its far wall shows, a crescent as wide as `wall` in px at its widest, at most."""
    picture = np.full((640, 800), 154.0, np.float32)
    cv2.rectangle(picture, PART[:2], PART[2:], 77.0, -1)
    rows, columns = np.mgrid[0:640, 0:800] + 0.5
    hole = np.hypot(columns - HOLE[0], rows - HOLE[1]) < HOLE[2]
    picture[hole & (np.hypot(columns - HOLE[0] + 0.6 * wall, rows - HOLE[1] + 0.8 * wall) >= HOLE[2])] = 22.0
    picture = cv2.GaussianBlur(picture, (0, 0), 1.2) + np.random.default_rng(8).normal(0, 2.0, picture.shape)
    grey = np.clip(np.rint(picture), 0, 255).astype(np.uint8)
    return grey.astype(np.float32), find_objects(cv2.merge([grey] * 3), 1.0, None)


def _only(regions: tuple[PartRegion, ...]) -> PartRegion:
    region, = regions
    return region


@pytest.mark.parametrize(("face", "middle"), [(BLUE, RESTING), (BLUE, FADING), (GREY, FADING)])
def test_a_slot_in_shade_is_one_opening(face: tuple[float, float, float], middle: tuple[float, float]) -> None:
    """What tells its floor from the face where both are as bright: the hue, or that it keeps growing lighter."""
    region = _only(find_parts(*_scene(face, middle), 500.0))
    opening, = region.openings
    left, top, right, bottom = SLOT
    # rough contours: exact rims are looked for 9 px to either side of them
    assert cv2.contourArea(opening.astype(np.float32)) == pytest.approx((right - left) * (bottom - top), rel=0.08)
    assert opening.min(0) == pytest.approx([left, top], abs=6) and opening.max(0) == pytest.approx([right, bottom], abs=6)
    assert region.rings == ()


def test_the_rest_of_a_coloured_face_stays_face() -> None:
    _, objects = _scene(BLUE, RESTING)
    rough = np.array([[x, y] for x, y in ((200, 160), (620, 160), (620, 480), (200, 480))], float)
    off = off_hue(objects, rough, np.array([150, 120]), 1.0, (400, 500))
    bare = np.zeros(off.shape, bool)
    bare[160 - 120 + 3:480 - 120 - 3, 200 - 150 + 3:620 - 150 - 3] = True
    slot = np.zeros(off.shape, bool)
    slot[SLOT[1] - 120:SLOT[3] - 120, SLOT[0] - 150:SLOT[2] - 150] = True
    assert not off[bare & ~cv2.dilate(slot.astype(np.uint8), np.ones((7, 7), np.uint8)).astype(bool)].any()
    assert off[slot].mean() > 0.97 and off[:30].all()


def test_a_grey_part_has_no_hue_to_go_by() -> None:
    """The same shape in the bench's own hue: nothing is left out for its hue, whatever is said of its brightness."""
    _, objects = _scene(GREY, RESTING)
    rough = np.array([[x, y] for x, y in ((200, 160), (620, 160), (620, 480), (200, 480))], float)
    assert not off_hue(objects, rough, np.array([150, 120]), 1.0, (400, 500)).any()


@pytest.mark.parametrize("wall", [3.0, 5.0, 12.0])
def test_a_hole_of_which_only_a_narrow_wall_shows_is_completed(wall: float) -> None:
    region = _only(find_parts(*_hole_of_floor_like_the_face(wall), 500.0))
    opening, = region.openings
    centre, radius, _ = robust_circle(opening)
    assert centre == pytest.approx(HOLE[:2], abs=2.5) and radius == pytest.approx(HOLE[2], abs=3.5)
