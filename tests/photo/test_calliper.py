"""Jaw faces of painted callipers lie where they were painted, at any rotation, dark or light; other things are no calliper."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from afterpart.model.references import CalliperJaws, EdgeLine
from afterpart.photo.calliper import find_jaws
from tests.photo.rule_painting import OVER, develop, homography, plane_points, project
from tests.truth.booth import photograph
from tests.truth.booth import project as projected
from tests.truth.varied import varied_shoot

SIZE = (1600, 1200)
OPENING, JAW_LENGTH, JAW_WIDTH, BEAM_WIDTH = 70.0, 40.0, 12.0, 16.0


def encoded(light: np.ndarray) -> np.ndarray:
    """Share of light -> stored grey level 0..255 (curve of IEC 61966-2-1)."""
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.power(np.maximum(light, 1e-9), 1 / 2.4) - 0.055) * 255


def painted_calliper(
    h: np.ndarray, body: float, table: float, taper: float = 0.0, noise: float = 1.5, part: bool = True, closed: bool = False
) -> np.ndarray:
    """Faces at x = 0 and x = OPENING from y = 0 (beam) to y = JAW_LENGTH; brightness as shares of light."""
    x, y = plane_points(h, SIZE)
    on = (y > -BEAM_WIDTH) & (y < 0) & (x > -30) & (x < OPENING + 60)
    jaws = np.flatnonzero((y >= 0) & (y < JAW_LENGTH))
    along, down = x.ravel()[jaws], y.ravel()[jaws]
    side = JAW_WIDTH - taper * down
    on.ravel()[jaws] = ((along < 0) & (along > -side)) | ((along > OPENING) & (along < OPENING + side))
    if closed:
        on |= (y >= JAW_LENGTH - 4) & (y < JAW_LENGTH + 10) & (x > -JAW_WIDTH) & (x < OPENING + JAW_WIDTH)
    light = np.where(on, np.float32(body), np.float32(table))
    if part:
        near = np.flatnonzero((x > 8) & (x < 52) & (y > 53) & (y < 97))
        light.ravel()[near[np.hypot(x.ravel()[near] - 30, y.ravel()[near] - 75) < 22]] = 0.08
    picture = cv2.GaussianBlur(cv2.resize(light, SIZE, interpolation=cv2.INTER_AREA), (0, 0), 0.8)
    picture = encoded(picture) + np.random.default_rng(4).normal(0, noise, picture.shape)
    return np.clip(np.rint(picture), 0, 255).astype(np.float32)


def errors_mm(jaws: CalliperJaws, h: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distances of the left face's points from x = 0 and of the right face's from x = OPENING on the calliper's plane."""
    inverse = np.linalg.inv(h)
    return project(inverse, jaws.left.points)[:, 0], project(inverse, jaws.right.points)[:, 0] - OPENING


@pytest.mark.parametrize("angle_deg", range(0, 360, 40))
@pytest.mark.parametrize(("body", "table"), [(0.6, 0.25), (0.08, 0.5)])
def test_faces_of_a_painted_calliper(angle_deg: int, body: float, table: float) -> None:
    h = homography(SIZE, 8.0, angle_deg, 6, (35, 25))
    jaws = find_jaws(painted_calliper(h, body, table))
    assert jaws is not None
    for error, line in zip(errors_mm(jaws, h), (jaws.left, jaws.right), strict=True):
        assert np.abs(error).max() < 0.03  # a quarter of a pixel
        assert abs(error.mean()) < 0.006
        assert len(error) >= 10 and np.ptp(project(np.linalg.inv(h), line.points)[:, 1]) > 0.6 * JAW_LENGTH


@pytest.mark.parametrize("taper", [0.05, 0.12])
def test_tapered_jaws(taper: float) -> None:
    h = homography(SIZE, 8.0, 15, 4, (35, 25))
    jaws = find_jaws(painted_calliper(h, 0.6, 0.25, taper))
    assert jaws is not None
    assert max(np.abs(error).max() for error in errors_mm(jaws, h)) < 0.03


def test_regions_hold_jaws_and_beam() -> None:
    h = homography(SIZE, 8.0, 30, 4, (35, 25))
    jaws = find_jaws(painted_calliper(h, 0.6, 0.25))
    assert jaws is not None
    inside = np.array([[-6, 20], [-2, 38], [OPENING + 6, 20], [OPENING + 2, 38], [10, -8], [60, -12]], float)
    outside = np.array([[35, 20], [30, 60], [35, -40]], float)
    for where, expected in ((inside, True), (outside, False)):
        for point in project(h, where):
            hit = any(
                cv2.pointPolygonTest(q.astype(np.float32), (float(point[0]), float(point[1])), False) >= 0 for q in jaws.quads
            )
            assert hit is expected


def test_lines_are_parallel_or_square_to_the_faces() -> None:
    h = homography(SIZE, 8.0, 30, 8, (35, 25))
    jaws = find_jaws(painted_calliper(h, 0.6, 0.25))
    assert jaws is not None
    inverse = np.linalg.inv(h)
    assert {line.role for line in jaws.lines} == {"along", "across"}
    for line in jaws.lines:
        flat = project(inverse, line.points)
        constant = 0 if line.role == "along" else 1
        assert np.std(flat[:, constant]) < 0.05 < np.std(flat[:, 1 - constant])


def test_a_window_is_no_calliper() -> None:
    h = homography(SIZE, 8.0, 10, 4, (35, 25))
    assert find_jaws(painted_calliper(h, 0.6, 0.25, closed=True)) is None


def test_a_frame_beside_the_calliper_does_not_hide_it() -> None:
    """Its long sides with their shadows suggest more beams and faces than the calliper has, and longer ones."""
    scene = varied_shoot(89, 2.0)[0].scene
    assert scene.calliper is not None
    jaws = find_jaws(cv2.cvtColor(photograph(scene, 89).image, cv2.COLOR_RGB2GRAY).astype(np.float32))
    assert jaws is not None
    seen = projected(scene.camera, scene.calliper.face_points())
    for place, line in zip(seen, (jaws.left, jaws.right), strict=True):
        middle = line.points.mean(axis=0)
        normal = np.linalg.svd(line.points - middle, full_matrices=False)[2][1]
        assert abs(float((place - middle) @ normal)) < 0.9  # px: the faces are rounded by 0.15 mm, at 6 px a mm


def test_an_empty_table_is_no_calliper() -> None:
    assert find_jaws(develop(np.full((SIZE[1] * OVER, SIZE[0] * OVER), 140.0), 0.0, 3.0)) is None


def test_photographed_jaws(shared: Path) -> None:
    truth = json.loads((shared / "photos" / "dev_cover_b_jaws.json").read_text())["reference"]["jaws"]["px"]
    grey = cv2.imread(str(shared / "photos" / "dev_cover_b_jaws.jpg"), cv2.IMREAD_GRAYSCALE).astype(np.float32)
    jaws = find_jaws(grey)
    assert jaws is not None

    def off(line: EdgeLine, point: list[float]) -> float:
        centre = line.points.mean(axis=0)
        way = np.linalg.svd(line.points - centre, full_matrices=False)[2][0]
        return float((point[0] - centre[0]) * way[1] - (point[1] - centre[1]) * way[0])

    assert abs(off(jaws.left, truth[0])) < 0.25  # a face 12 grey levels from its table
    assert abs(off(jaws.right, truth[1])) < 0.12


@pytest.mark.parametrize(
    "name", ["dev_bracket_sheet_main", "dev_inlet_cover_sheet", "dev_tall_sheet", "several/dev_several_inlet_cover_3"]
)
def test_no_calliper_in_other_photographs(shared: Path, name: str) -> None:
    assert find_jaws(cv2.imread(str(shared / "photos" / f"{name}.jpg"), cv2.IMREAD_GRAYSCALE).astype(np.float32)) is None
