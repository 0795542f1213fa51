"""Advice before shooting: closed forms of a camera that looks straight down, and the figures of the parallax on paper.

Sources beside each check.  A focal length in 35 mm format is that for a picture 36 mm wide (CIPA DCG-001, from memory).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.errors import UsageError
from afterpart.model.camera import Camera
from afterpart.photo.advice import BESIDE, LENSES, PICTURE_PX, advise, expected_u, fitting_distance
from afterpart.photo.budget import HEIGHT_U, UNTOLD_HEIGHT_U
from afterpart.photo.projection import project_plane
from afterpart.units import SMALL_FORMAT_WIDTH

DOWN = ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))


def camera(lens_35mm: float, distance: float, face_height: float) -> Camera:
    """Straight above the middle of a face."""
    focal_px = lens_35mm * PICTURE_PX[0] / SMALL_FORMAT_WIDTH
    return Camera(*PICTURE_PX, focal_px, 0.0, 0.0, DOWN, (0.0, 0.0, distance + face_height))


@pytest.mark.parametrize(("width", "height"), [(148.0, 96.0), (96.0, 148.0), (40.0, 40.0), (600.0, 20.0)])
def test_part_and_rule_are_in_the_picture_and_fill_it(width: float, height: float) -> None:
    for lens in advise(width, height, 9.0).lenses:
        eye = camera(lens.lens_35mm, lens.distance, 9.0)
        longer, shorter = max(width, height), min(width, height) + BESIDE
        corner = project_plane(eye, np.array([[longer / 2, shorter / 2]]), 9.0)[0] - np.array(PICTURE_PX) / 2
        assert abs(corner[0]) < PICTURE_PX[0] / 2 and abs(corner[1]) < PICTURE_PX[1] / 2
        share = max(abs(corner[0]) * 2 / PICTURE_PX[0], abs(corner[1]) * 2 / PICTURE_PX[1])
        closest = next(near for focal, _, near in LENSES if focal == lens.lens_35mm)
        assert share == pytest.approx(0.8) or lens.distance == closest


@pytest.mark.parametrize("lens_35mm", [25.0, 77.0])
def test_a_height_error_moves_a_length_as_the_camera_says(lens_35mm: float) -> None:
    """The share of the height in the estimate against the projection itself, a face put as much too high."""
    distance, length, face = 760.0, 118.0, 9.0
    eye = camera(lens_35mm, distance, face)
    ends = np.array([[-length / 2, 0.0], [length / 2, 0.0]])
    for told, u in ((True, HEIGHT_U), (False, UNTOLD_HEIGHT_U)):
        seen = [np.ptp(project_plane(eye, ends, z)[:, 0]) for z in (face, face + u)]
        grown = length * (seen[1] / seen[0] - 1.0)
        shares = {share.cause: share.u for share in expected_u(length, distance, eye.focal_px, face, told=told)}
        assert shares["face height"] == pytest.approx(grown, rel=u / distance + 1e-6)


def test_nine_millimetres_seen_from_760_make_one_point_two_percent() -> None:
    """The figure of the guide on shooting: 9 mm of height at 760 mm, so a reference on the table must be carried up by 1.2 %."""
    shares = {share.cause: share.u for share in expected_u(1000.0, 760.0, 8624.0, 9.0, raised=False)}
    assert shares["focal length"] / 0.02 == pytest.approx(1000.0 * 0.0118, rel=0.01)
    raised = {share.cause: share.u for share in expected_u(1000.0, 760.0, 8624.0, 9.0)}
    assert raised["focal length"] == 0.0


def test_a_longer_lens_farther_away_is_better_and_raising_the_rule_never_worse() -> None:
    found = advise(148.0, 96.0, 9.0)
    by_lens = sorted(found.lenses, key=lambda lens: lens.lens_35mm)
    assert [lens.u for lens in by_lens] == sorted((lens.u for lens in by_lens), reverse=True)
    assert found.lenses[0] == by_lens[-1]
    for lens in found.lenses:
        assert lens.u <= lens.u_on_table <= lens.u_untold
        assert lens.u == pytest.approx(math.sqrt(sum(share.u**2 for share in lens.shares)))
    assert any("as high as the face" in word for word in found.words)


def test_a_thin_part_may_be_scanned_and_a_tall_one_not() -> None:
    assert advise(60.0, 40.0, 2.0).scan_u is not None and advise(60.0, 40.0, 9.0).scan_u is None


def test_the_distance_grows_with_part_and_lens() -> None:
    assert fitting_distance(200.0, 100.0, 8624.0) == pytest.approx(1.25 * 8624.0 * 200.0 / 4032.0)
    assert fitting_distance(100.0, 200.0, 8624.0) == fitting_distance(200.0, 100.0, 8624.0)


@pytest.mark.parametrize("sizes", [(0.0, 10.0, 0.0, None), (10.0, 1e6, 0.0, None), (10.0, 10.0, -1.0, None),
                                   (10.0, 10.0, 0.0, 1.0)])
def test_sizes_that_cannot_be_are_refused(sizes: tuple[float, float, float, float | None]) -> None:
    with pytest.raises(UsageError, match="expected"):
        advise(*sizes)
