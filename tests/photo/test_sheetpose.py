"""The camera over a sheet that is partly out of the picture: seen through a lens that bows its edges, the pose is found again.

The sides are calculated, not photographed: points of a sheet of known size as a known camera projects them, what lies beyond the
picture left out, with a scatter drawn with a fixed seed.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.photo.adjust import FocalPrior, camera_above, pose_from_plane
from afterpart.photo.leading import HELD_TILT_DEG
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.sheet import SheetSides, corners_of_sides
from afterpart.photo.sheetpose import fit_sheet
from tests.truth.booth import Camera, stand_camera
from tests.truth.sightings import flat, sheet_sides

SHEET, PICTURE = (297.0, 210.0), (3264, 2448)


def _seen(camera: Camera) -> SheetSides:
    """The sheet's sides as far as they are in the picture."""
    whole = sheet_sides(camera, SHEET, flat, np.random.default_rng(5))
    inside = [side[((side > 3) & (side < np.array(PICTURE) - 3)).all(1)] for side in whole.sides]
    sides = [side if len(side) >= 30 else np.empty((0, 2)) for side in inside]
    a, b, c, d = sides
    return replace(whole, sides=(a, b, c, d), corners=corners_of_sides(sides, PICTURE[::-1]))


@pytest.mark.parametrize("lens", [(-0.032, 0.023), (-0.066, 0.02), (0.02, 0.0)])
@pytest.mark.parametrize(("aim", "roll_deg"), [((-44.0, 0.0), -3.0), ((-44.0, 0.0), 3.0), ((44.0, 0.0), 0.0)])
def test_three_sides_through_a_wide_lens_lie_straight_on_the_table(aim: tuple[float, float], roll_deg: float,
                                                                   lens: tuple[float, float]) -> None:
    """A short side is out of the picture, and the long ones run out of it, where the lens bows them most."""
    camera = stand_camera(PICTURE, 26.0, 246.0, aim, 3.0, 150.0, roll_deg, *lens)
    sides = _seen(camera)
    assert len(sides.seen) == 3
    told = FocalPrior(camera.focal_px * 0.98, 0.02)
    fit = fit_sheet(PICTURE[::-1], sides, SHEET, [told], HELD_TILT_DEG)
    assert (fit.camera.k1, fit.camera.k2) == pytest.approx(lens, abs=0.003)
    for side in (sides.sides[i] for i in sides.seen):
        xy = to_plane(fit.camera, side, 0.0)
        off = np.linalg.svd(xy - xy.mean(0), full_matrices=False)[2][1] @ (xy - xy.mean(0)).T
        assert float(np.abs(off).max()) < 0.1
    # one long side's width is a gauge; along the other the sheet is only as long as it was said to be
    xy = np.concatenate([to_plane(fit.camera, sides.sides[i], 0.0) for i in (0, 2)])
    assert float(np.ptp(xy[:, 1])) == pytest.approx(210.0, abs=0.15)


@pytest.mark.parametrize("angle_deg", [0.0, 17.0, 90.0, 181.0])
def test_from_straight_above_a_rectangle_tells_the_camera_by_itself(angle_deg: float) -> None:
    camera = stand_camera(PICTURE, 52.0, 700.0, (40.0, -25.0), 0.0, 0.0, angle_deg, 0.0, 0.0)
    places = np.array([(-148.5, -105.0), (148.5, -105.0), (148.5, 105.0), (-148.5, 105.0)])
    seen = project_plane(camera, places, 0.0)
    found = camera_above(PICTURE[::-1], camera.focal_px, seen, places)
    assert found.position == pytest.approx(camera.position)
    assert np.array(found.rotation) == pytest.approx(np.array(camera.rotation))


def test_a_rectangle_without_perspective_has_a_pose() -> None:
    """Corners of a sheet as they were once put beyond a picture's border: a true rectangle, and no finite rotation."""
    places = np.array([(148.5, -105.0), (-148.5, -105.0), (-148.5, 105.0), (148.5, 105.0)])
    seen = np.array([(3367.723983704662, 2240.1402906316816), (609.2233611259959, 2174.1925995612446),
                     (655.8530416808503, 223.7376138995614), (3414.3536642595163, 289.68530496999836)])
    posed = pose_from_plane(PICTURE[::-1], 2310.186666666667, seen, places)
    assert project_plane(posed, places, 0.0) == pytest.approx(seen, abs=0.1)
