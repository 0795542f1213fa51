"""A sheet whose corners were pointed out: measured on its real edges where they show, else as honest as the pointing was.

Pictures are painted through a known camera (test_references.py); what is asked of the found camera is the camera painted with.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.errors import PhotoError
from afterpart.model.camera import Camera
from afterpart.model.job import Shot
from afterpart.photo.load import Picture
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.reference import look_for_references
from afterpart.photo.sheet import find_sheet
from afterpart.photo.sheetcorners import CLICK_U_PX, sides_from_corners
from afterpart.photo.table import reduced
from tests.photo.test_references import A4, FINE, FOCAL_35MM, HEIGHT, WIDTH, camera, codes, pictured, solved

HALF = np.array([[-148.5, -105.0], [148.5, -105.0], [148.5, 105.0], [-148.5, 105.0]])


def corners_in(seen_by: Camera, off_px: float = 0.0, seed: int = 0) -> tuple[tuple[float, float], ...]:
    """Where the A4 sheet's corners lie in the picture, each moved by up to off_px as a hand would put them."""
    px = project_plane(seen_by, HALF, 0.0) + np.random.default_rng(seed).uniform(-off_px, off_px, (4, 2))
    return tuple((float(x), float(y)) for x, y in px)


def faint(seen_by: Camera, missing: tuple[int, ...] = (), step: float = 12.0) -> Picture:
    """White paper on a nearly white table; sides in `missing` (0 bottom, 1 right, 2 top, 3 left) run into the table evenly."""
    light = np.full((HEIGHT, WIDTH), 190.0 - step)
    box = np.array([-148.5, -105.0, 148.5, 105.0])
    for side in missing:
        box[{0: 1, 1: 2, 2: 3, 3: 0}[side]] *= 3.0
    px = project_plane(seen_by, np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]]), 0.0)
    cv2.fillPoly(light, [np.round((px - 0.5) * FINE).astype(np.int32)], 190.0, cv2.LINE_8, 4)
    light = cv2.GaussianBlur(light, (0, 0), 0.9) + np.random.default_rng(3).normal(0, 1.0, light.shape)
    grey = np.clip(255 * (np.clip(light, 0, 255) / 255) ** (1 / 2.2), 0, 255).astype(np.uint8)
    return Picture("photo.png", "", grey.astype(np.float32), cv2.merge([grey] * 3), FOCAL_35MM)


def scale_error(found: Camera, true: Camera) -> float:
    """The largest relative error of the four sides of the sheet, laid out by the found camera."""
    xy = to_plane(found, project_plane(true, HALF, 0.0), 0.0)
    lengths = np.hypot(*(np.roll(xy, -1, 0) - xy).T)
    return float(np.abs(lengths / np.array([297.0, 210.0, 297.0, 210.0]) - 1).max())


@pytest.mark.parametrize("tilt_deg,roll_deg", [(0.0, 0.0), (6.0, 20.0), (25.0, -70.0)])
def test_corners_put_by_a_hand_give_the_camera_that_the_sheets_own_edges_give(tilt_deg: float, roll_deg: float) -> None:
    """Corners up to 8 px off: the sides are found again where they are, on a sheet that is found by itself too."""
    true = camera(distance=640.0, tilt_deg=tilt_deg, roll_deg=roll_deg)
    picture = pictured(true)
    small, scale = reduced(picture.colour)
    by_itself = find_sheet(picture.light, small, scale)
    assert by_itself is not None
    pointed = sides_from_corners(picture.light, corners_in(true, 8.0))
    assert pointed.by_hand == () and min(map(len, pointed.sides)) >= 60
    nearest = np.hypot(*(pointed.corners[:, None] - by_itself.corners[None]).transpose(2, 0, 1)).min(1)
    assert nearest.max() < 0.25, "the same corners, to a fraction of a pixel"
    alone, told = (solved(picture, sheet=A4, **more) for more in ({}, {"sheet_corners_px": corners_in(true, 8.0)}))
    assert scale_error(told.camera, true) < max(2 * scale_error(alone.camera, true), 2e-4)


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (2, 1, 0, 3), (1, 3, 0, 2)])
def test_the_corners_may_be_given_in_any_order(order: tuple[int, ...]) -> None:
    true = camera(tilt_deg=8.0, roll_deg=12.0, distance=640.0)
    given = corners_in(true, 3.0)
    found = sides_from_corners(pictured(true).light, tuple(given[k] for k in order))
    expected = sides_from_corners(pictured(true).light, given)
    assert np.array_equal(found.corners, expected.corners)


def test_a_sheet_too_faint_to_be_found_is_measured_where_its_corners_were_put() -> None:
    true = camera(distance=640.0, tilt_deg=6.0, roll_deg=5.0)
    picture = faint(true)
    assert find_sheet(picture.light, *reduced(picture.colour)) is None
    assert "sheet_missing" in codes(solved(picture, sheet=A4))
    pose = solved(picture, sheet=A4, sheet_corners_px=corners_in(true, 6.0))
    assert pose.kind == "sheet" and pose.strong and "sheet_sides_by_hand" not in codes(pose)
    assert scale_error(pose.camera, true) < 1e-3, "half of what the paper's own size is known to"


@pytest.mark.parametrize("missing", [(2,), (0, 1), (0, 1, 2, 3)])
def test_sides_that_do_not_show_are_taken_from_the_corners_and_said_to_be(missing: tuple[int, ...]) -> None:
    """Two standard uncertainties of the pointing bound the error; which sides are meant is told by their places."""
    true = camera(distance=640.0, tilt_deg=6.0, roll_deg=5.0)
    picture = faint(true, missing)
    sides = sides_from_corners(picture.light, corners_in(true, 2.0))
    assert len(sides.by_hand) == len(missing) and all(len(sides.sides[k]) == 2 for k in sides.by_hand)
    middles = [to_plane(true, sides.sides[k].mean(0)[None], 0.0)[0] for k in sides.by_hand]
    hidden = {0: (0.0, -105.0), 1: (148.5, 0.0), 2: (0.0, 105.0), 3: (-148.5, 0.0)}
    for side in missing:
        assert min(float(np.hypot(*(at - np.array(hidden[side])))) for at in middles) < 5.0
    pose = solved(picture, sheet=A4, sheet_corners_px=corners_in(true, 2.0))
    assert "sheet_sides_by_hand" in codes(pose)
    pointed = 2 * CLICK_U_PX * 2**0.5 / (210.0 * true.focal_px / 640.0)
    assert scale_error(pose.camera, true) < pointed


def test_what_the_pointing_may_be_off_by_is_counted() -> None:
    """With every side put by hand the sheet's observations are weaker by the ratio of the two uncertainties."""
    true = camera(distance=640.0, tilt_deg=6.0)
    seen, put = (solved(picture, sheet=A4, sheet_corners_px=corners_in(true, 1.0)) for picture in (
        faint(true), faint(true, (0, 1, 2, 3))))
    of_seen, of_put = (next(one for one in pose.observations if one.name == "sheet") for pose in (seen, put))
    assert np.max(of_seen.u) < 0.1 and np.min(of_put.u) == pytest.approx(CLICK_U_PX / (true.focal_px / 640.0), rel=0.02)


def test_a_corner_outside_the_picture_is_named() -> None:
    corners = (*corners_in(camera(distance=640.0))[:3], (WIDTH + 5.0, 10.0))
    with pytest.raises(PhotoError, match=r"sheet_corners_px: found a corner at \(2605, 10\)"):
        sides_from_corners(pictured(camera(distance=640.0)).light, corners)


def test_an_untold_size_is_told_from_the_corners_proportion() -> None:
    true = camera(distance=640.0)
    picture = faint(true)
    pose = solved(picture, sheet_corners_px=corners_in(true, 1.0))
    assert "sheet_assumed" in codes(pose) and scale_error(pose.camera, true) < 1e-3
    small, scale = reduced(picture.colour)
    assert look_for_references(picture.grey, picture.light, small, scale, Shot("photo.png", sheet_corners_px=corners_in(true))
                               ).sheet_size == A4
