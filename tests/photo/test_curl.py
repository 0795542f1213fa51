"""Sheets that do not lie flat: invented sides, lifted by some millimetres at corners and in waves, seen by a known camera.

Truth: distances between places of the table, which the camera recovered must reproduce.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.photo.adjust import FocalPrior
from afterpart.photo.projection import project, project_plane, to_plane
from afterpart.photo.sheet import SheetSides
from afterpart.photo.sheetpose import SheetFit, fit_lifted, fit_sheet

SIZE = (210.0, 297.0)
FOCAL_PX = 1450.0


def _camera(tilt_deg: float) -> Camera:
    tilt = np.radians(tilt_deg)
    rotation = np.array([[1, 0, 0], [0, -np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), -np.cos(tilt)]])
    position = -330.0 * rotation[2]
    return Camera(1080, 1920, FOCAL_PX, 0.03, -0.01, tuple(map(tuple, rotation.tolist())), tuple(position.tolist()))


def _sides(camera: Camera, lift: float, seed: int) -> SheetSides:
    """Sides of a sheet whose corners rise by about `lift` mm and whose edges wave by a third of it."""
    rng = np.random.default_rng(seed)
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array(SIZE) / 2
    raised = np.abs(rng.normal(0, lift, 4))
    s, sides = np.linspace(0.04, 0.96, 130), []
    for a, b in ((0, 1), (3, 0), (2, 3), (1, 2)):
        length = np.hypot(*(corners[b] - corners[a]))
        near, far = rng.uniform(80, 200, 2)
        z = raised[a] * np.clip(1 - s * length / near, 0, 1) ** 2 + raised[b] * np.clip(1 - (1 - s) * length / far, 0, 1) ** 2
        z += abs(rng.normal(0, lift / 3)) * np.sin(np.pi * s * rng.integers(1, 4) + rng.uniform(0, 6)) ** 2
        edge = np.c_[corners[a] + s[:, None] * (corners[b] - corners[a]), z]
        sides.append(project(camera, edge) + rng.normal(0, 0.15, (130, 2)))
    seen = project_plane(camera, corners, 0.0)
    # sides run bottom, left, top, right: corner i lies between side i - 1 and side i
    return SheetSides((sides[0], sides[1], sides[2], sides[3]), 0.15, seen[[1, 0, 3, 2]])


def _worst_distance(found: SheetFit, true: Camera) -> float:
    """Largest relative error of the distances between four places of the table."""
    places = np.array([[-60.0, -60], [60, -60], [60, 60], [-60, 60]])
    got = to_plane(found.camera, project_plane(true, places, 2.2), 2.2)
    pairs = [(i, j) for i in range(4) for j in range(i)]
    return max(abs(np.hypot(*(got[i] - got[j])) / np.hypot(*(places[i] - places[j])) - 1) for i, j in pairs)


def _both(tilt_deg: float, lift: float, seed: int) -> tuple[SheetFit, SheetFit, Camera]:
    camera = _camera(tilt_deg)
    sides = _sides(camera, lift, seed)
    focals = [FocalPrior(FOCAL_PX * 1.05, 0.1)]
    flat = fit_sheet((1920, 1080), sides, SIZE, focals)
    return flat, fit_lifted(flat, sides, focals), camera


def test_lifts_halve_the_errors_of_a_tilted_picture():
    worst = []
    for seed in range(4):
        flat, lifted, camera = _both(28.0, 5.0, seed)
        assert lifted.lifts.shape[0] == 4 and lifted.lifts.min() >= 0
        worst.append((_worst_distance(flat, camera), _worst_distance(lifted, camera)))
    flat_error, lifted_error = np.median(worst, axis=0)
    assert lifted_error < 0.65 * flat_error


@pytest.mark.parametrize("tilt_deg,lift", [(28.0, 0.0), (2.0, 5.0)])
def test_flat_sheets_and_pictures_from_above_are_left_as_they_were(tilt_deg, lift):
    flat, lifted, _ = _both(tilt_deg, lift, 1)
    assert lifted is flat
