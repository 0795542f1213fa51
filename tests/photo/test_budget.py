"""The error budget of the camera against Monte Carlo (JCGM 101): what each cause is said to do to the face, and what it does.

Observations are invented: points of known place on the table, seen by a known camera, with noise of known size.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.geometry.cubic import cubic_slopes, cubic_terms
from afterpart.model.camera import Camera
from afterpart.model.job import Shot
from afterpart.photo.adjust import FocalPrior, Observations, adjust_camera, correlated_run, stepped
from afterpart.photo.budget import HEIGHT_U, relative_scale_u, shared_errors
from afterpart.photo.pose import Pose
from afterpart.photo.projection import project_plane, to_plane

CAMERA = stepped(
    Camera(4000, 3000, 8000.0, 0.004, 0.0, ((1.0, 0, 0), (0, -1.0, 0), (0, 0, -1.0)), (10.0, -5.0, 700.0)),
    np.array([0, 0, 0, 0.03, -0.02, 0.05, 0, 0, 0]),
)
FOCAL = FocalPrior(8000.0, 0.007)
NOISE_PX = 0.15
SIZE_U = 0.5
LEVEL = 9.0


def sheet_like(rng: np.random.Generator | None, size_error: float = 0.0) -> Observations:
    """Points along the sides of a 210 x 297 sheet whose size is an unknown; seen with noise unless rng is None."""
    side = np.linspace(-1, 1, 24)
    one = np.ones_like(side)
    unit = np.concatenate([np.c_[side, -one], np.c_[side, one], np.c_[-one, side], np.c_[one, side]])
    half = np.array([105.0, 148.5])
    px = project_plane(CAMERA, unit * half * (1 + size_error / 297.0), 0.0)
    if rng is not None:
        px = px + rng.normal(0, NOISE_PX, px.shape)

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return (xy / (1 + unknown[0] / 297.0) - unit * half).ravel()

    return Observations("sheet", 0.0, px, (0.0,), (SIZE_U,), residual, NOISE_PX / 11.4)


def lengths(camera: Camera, seen: np.ndarray) -> np.ndarray:
    """Two lengths on the face, along and across, from pixels (3, 2)."""
    xy = to_plane(camera, seen, LEVEL)
    return np.array([np.hypot(*(xy[1] - xy[0])), np.hypot(*(xy[2] - xy[0]))])


def predicted(causes: set[str] | None) -> np.ndarray:
    """Standard uncertainties of the two lengths from the shared errors of these causes (None: all)."""
    places = np.array([[-50.0, -40.0], [50.0, -40.0], [-50.0, 40.0]])
    rim = np.array([[-60.0, -45.0], [60.0, -45.0], [60.0, 45.0], [-60.0, 45.0]])
    pose = Pose(CAMERA, "mm", "sheet", 0.0, (sheet_like(np.random.default_rng(1)),), FOCAL, True)
    errors = shared_errors(pose, Shot("", sheet=(210.0, 297.0), face_height=LEVEL), LEVEL, rim)
    assert errors is not None
    terms = cubic_terms((places - np.array(errors.middle)) / errors.reach)
    kept = [k for k, cause in enumerate(errors.causes) if causes is None or any(c in cause for c in causes)]
    shift_x, shift_y = terms @ errors.along_x[kept].T, terms @ errors.along_y[kept].T
    along, across = shift_x[1] - shift_x[0], shift_y[2] - shift_y[0]
    return np.array([np.sqrt((along**2).sum()), np.sqrt((across**2).sum())])


@pytest.mark.parametrize(("causes", "noisy", "size_u"), [({"picture", "focal"}, True, 0.0), ({"size"}, False, SIZE_U)])
def test_each_cause_does_what_the_budget_says(causes: set[str], noisy: bool, size_u: float) -> None:
    """120 adjustments with that cause alone drawn at random: the spread of two lengths on the face, within 25 % (120 draws give
    a standard deviation to 6.5 %; the focal length's prior is drawn with the noise)."""
    rng = np.random.default_rng(7)
    seen = project_plane(CAMERA, np.array([[-50.0, -40.0], [50.0, -40.0], [-50.0, 40.0]]), LEVEL)
    found = []
    for _ in range(120):
        focal = replace(FOCAL, focal_px=FOCAL.focal_px * (1 + (rng.normal(0, FOCAL.relative_u) if noisy else 0.0)))
        observations = [sheet_like(rng if noisy else None, rng.normal(0, size_u) if size_u else 0.0)]
        found.append(lengths(adjust_camera(CAMERA, observations, focal).camera, seen))
    assert np.std(found, axis=0) == pytest.approx(predicted(causes), rel=0.25)


def test_face_height_grows_the_face_by_the_distance() -> None:
    """A face u higher than said is u / (z - h) of it nearer: common to every length."""
    want = HEIGHT_U / (CAMERA.position[2] - LEVEL) * np.array([100.0, 80.0])
    assert predicted({"face height"}) == pytest.approx(want, rel=1e-6)


def test_scale_is_the_root_sum_of_the_causes() -> None:
    pose = Pose(CAMERA, "mm", "sheet", 0.0, (sheet_like(None),), FOCAL, True)
    rim = np.array([[-60.0, -45.0], [60.0, -45.0], [60.0, 45.0], [-60.0, 45.0]])
    errors = shared_errors(pose, Shot("", sheet=(210.0, 297.0), face_height=LEVEL), LEVEL, rim)
    # at the table the sheet gives SIZE_U / 297; a face nearer to the camera shares it in proportion
    assert relative_scale_u(errors) == pytest.approx(np.hypot(SIZE_U / 297.0, HEIGHT_U / 691.0), rel=0.05)


def test_run_of_alike_values() -> None:
    """White noise counts one by one; a moving mean of k counts about k together."""
    rng = np.random.default_rng(3)
    white = rng.normal(0, 1, 4000)
    assert correlated_run(white) == pytest.approx(1.0, abs=0.15)
    alike = np.convolve(white, np.ones(8) / 8**0.5, mode="valid")
    assert correlated_run(alike) == pytest.approx(8.0, rel=0.25)


def test_slopes_of_the_cubic_terms() -> None:
    at, d = np.array([[0.3, -0.7], [-0.9, 0.2]]), 1e-6
    by_x, by_y = cubic_slopes(at)
    for slopes, step in ((by_x, [d, 0.0]), (by_y, [0.0, d])):
        numeric = (cubic_terms(at + step) - cubic_terms(at - step)) / (2 * d)
        assert slopes == pytest.approx(numeric, abs=1e-8)
