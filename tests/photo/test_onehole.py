"""An opening looked for at a pixel: the demo's holes one by one, as if each had been missed; where there is none, no."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from afterpart.errors import PhotoError
from afterpart.geometry.fit import fit_circle
from afterpart.job.read import read_job
from afterpart.model.edges import EdgeMap, Rim
from afterpart.photo.load import Picture, load_picture
from afterpart.photo.onehole import find_opening
from afterpart.photo.projection import project_plane
from afterpart.photo.stage import recover_edges


@pytest.fixture(scope="module")
def picture(cover: Path) -> Picture:
    shot = read_job(cover).shots[0]
    return load_picture(cover / shot.file, shot)


@pytest.fixture(scope="module")
def edges(cover: Path, picture: Picture) -> EdgeMap:
    return recover_edges(picture, read_job(cover).shots[0])


def middle_px(edges: EdgeMap, rim: Rim) -> np.ndarray:
    assert edges.camera is not None
    return project_plane(edges.camera, rim.points.mean(0)[None], edges.face_height)[0]


def without(edges: EdgeMap, rim: Rim) -> EdgeMap:
    return replace(edges, rims=tuple(other for other in edges.rims if other is not rim))


def test_each_round_hole_missed_is_found_again_within_its_uncertainty(picture: Picture, edges: EdgeMap) -> None:
    """Pointed at ten pixels beside its middle.  A round rim's u: of its radius, times the root of its points."""
    holes = [rim for rim in edges.rims if rim.role == "opening" and np.ptp(rim.points, axis=0).max() < 10.0]
    assert len(holes) == 6
    for rim in holes:
        column, row = middle_px(edges, rim) + (6.0, -8.0)
        found = find_opening(picture, without(edges, rim), (float(column), float(row)))
        before, after = fit_circle(rim.points), fit_circle(found.points)
        u = float(rim.u[0]) / np.sqrt(len(rim.u))
        assert after.rms < 1e-9, "a round hole is a circle, not a chain"
        assert np.hypot(*np.subtract(after.center, before.center)) < u
        assert abs(after.radius - before.radius) < u
        assert (found.role, found.part, len(found.doubts)) == ("opening", rim.part, len(rim.doubts))


def test_a_window_missed_is_found_as_a_free_rim(picture: Picture, edges: EdgeMap) -> None:
    """A rounded rectangle of 76 by 42: every point of the new rim lies on the old one."""
    window = max((rim for rim in edges.rims if rim.role == "opening"), key=lambda rim: np.ptp(rim.points, axis=0).max())
    column, row = middle_px(edges, window)
    found = find_opening(picture, without(edges, window), (float(column), float(row)))
    away = np.hypot(*(found.points[:, None] - window.points[None]).transpose(2, 0, 1)).min(1)
    assert np.quantile(away, 0.9) < 0.25 and np.median(away) < 0.15


def test_where_there_is_no_hole_nothing_is_found(picture: Picture, edges: EdgeMap) -> None:
    with pytest.raises(PhotoError, match="beside the part"):
        find_opening(picture, edges, (500.0, 500.0))
    with pytest.raises(PhotoError, match="outside the picture"):
        find_opening(picture, edges, (-3.0, 500.0))
    # a plain place of the face, between the window and the upper edge
    with pytest.raises(PhotoError, match="hole at pixel .1700, 1100."):
        find_opening(picture, edges, (1700.0, 1100.0))
