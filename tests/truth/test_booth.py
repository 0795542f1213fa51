"""The booth itself: its geometry must be right before it may judge anything."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from PIL import Image

from afterpart.photo import projection
from tests.truth.bodies import FACE, ROUND, WALL, Body, meet
from tests.truth.booth import Develop, Scene, _Rays, part_of, photograph, project, save_jpeg, stand_camera
from tests.truth.drawings import DRAWINGS, drawing
from tests.truth.field import DepthField, walk
from tests.truth.light import Light, light_map
from tests.truth.scenery import Sheet

EXACT = 1e-3


@pytest.mark.parametrize("plate", DRAWINGS, ids=lambda d: d.name)
def test_drawings_close_and_their_depth_is_zero_on_the_boundary(plate):
    for loop in plate.loops:
        for here, there in zip(loop, loop[1:] + loop[:1], strict=True):
            assert here[0] == "circle" or math.dist(here[2], there[1]) < 1e-9
    field = DepthField([list(loop) for loop in plate.loops])
    points = np.concatenate([walk(list(loop), 0.3) for loop in plate.loops])
    assert np.abs(field.depth(points[:, 0].copy(), points[:, 1].copy())[0]).max() < 1e-9


@pytest.mark.parametrize("plate", DRAWINGS[:6], ids=lambda d: d.name)
def test_depth_is_the_distance_to_the_nearest_boundary_point(plate):
    field = DepthField([list(loop) for loop in plate.loops])
    rng = np.random.default_rng(3)
    p = rng.uniform(field.low - 3, field.high + 3, (400, 2))
    dense = np.concatenate([walk(list(loop), 0.01) for loop in plate.loops])
    nearest = np.sqrt(((p[:, None, :] - dense[None, ::1, :]) ** 2).sum(2).min(1))
    depth = field.depth(p[:, 0].copy(), p[:, 1].copy())[0]
    assert np.abs(np.abs(depth) - nearest).max() < 0.006


def test_camera_agrees_with_the_measuring_code_both_ways():
    camera = stand_camera(f35=26.0, distance=300, tilt_deg=12, azimuth_deg=200, roll_deg=15, k1=-0.055, k2=0.02)
    rng = np.random.default_rng(1)
    world = np.c_[rng.uniform(-90, 90, 500), rng.uniform(-70, 70, 500), rng.uniform(0, 20, 500)]
    pixels = project(camera, world)
    assert np.abs(pixels - projection.project(camera, world)).max() < 1e-9
    sx, sy = _Rays(camera).slopes(pixels[:, 0].copy(), pixels[:, 1].copy())
    x, y, z = camera.position
    there = np.c_[x + (world[:, 2] - z) * sx, y + (world[:, 2] - z) * sy]
    assert np.abs(there - world[:, :2]).max() < 1e-5


def _rays_over(body: Body, lean: float, towards: float, count: int = 60000) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(5)
    low, high = body.depths.low - 3, body.depths.high + 3
    x, y = rng.uniform(low[0], high[0], count), rng.uniform(low[1], high[1], count)
    return x, y, np.full(count, lean * math.cos(towards)), np.full(count, lean * math.sin(towards))


@pytest.mark.parametrize("radius,draft,lean", [(0.0, 0.0, 0.05), (0.5, 0.0, 0.12), (0.4, 1.0, 0.08), (0.5, -0.5, 0.06),
                                               (0.8, 0.0, 0.4)])
@pytest.mark.parametrize("name", ["pump_cover", "angle_bracket", "sharp_plate"])
def test_rays_end_on_the_true_surface_and_pass_nothing_solid_before(name, radius, draft, lean):
    body = part_of(drawing(name), 8.0, radius, draft_deg=draft)
    x, y, sx, sy = _rays_over(body, lean, 0.7)
    hits = meet(body, x, y, sx, sy)
    tangent = math.tan(math.radians(draft))

    def inside(z: np.ndarray, k: np.ndarray) -> np.ndarray:
        """Depth of the ray's point at height z within the leaning, rounded body; negative in the open."""
        depth = body.depths.depth(x[k] + (z - 8.0) * sx[k], y[k] + (z - 8.0) * sy[k])[0] + (8.0 - z) * tangent
        up = np.clip(z - (8.0 - radius), 0, None)
        return depth - (radius - np.sqrt(np.maximum(radius ** 2 - up ** 2, 0)))

    rim = np.flatnonzero((hits.kind == WALL) | (hits.kind == ROUND))
    assert len(rim) > 300
    # a steep slope of the rounding turns a height error into a small sideways one: judge the sideways one
    gap = np.abs(inside(hits.z[rim], rim))
    assert np.quantile(gap, 0.999) < EXACT
    for share in (0.1, 0.4, 0.7, 0.95, 0.99):
        z = 8.0 - share * (8.0 - hits.z)
        assert (inside(z[rim], rim) < EXACT).mean() > 0.999
    missed = np.flatnonzero(hits.kind == 0)
    for z in np.linspace(0.02, 7.98, 9):
        assert (inside(np.full(len(missed), z), missed) < EXACT).mean() > 0.9995
    face = np.flatnonzero(hits.kind == FACE)
    assert inside(np.full(len(face), 8.0), face).min() > -EXACT


def test_edges_in_the_finished_picture_lie_where_the_camera_says():
    """Mid-grey crossings along the sheet's sides, to a hundredth of a pixel on average."""
    camera = stand_camera((1600, 1200), 77.0, 760.0, tilt_deg=6, azimuth_deg=70, roll_deg=4, k1=-0.03)
    sheet = Sheet(angle_deg=1.5)
    even = Light(lamp_share=0.3)
    scene = Scene(camera, (part_of(drawing("square_flange"), 0.5, 0.0),), sheet, desk="dark", light=even,
                  develop=Develop(blur_px=0.9, noise=0.0, sharpen=0.0, vignette=0.0, quality=100))
    linear = _to_linear(photograph(scene, 2).image.mean(2))
    corners = sheet.corners()
    errors = []
    for k in range(4):
        a, b = corners[k], corners[(k + 1) % 4]
        for t in np.linspace(0.1, 0.9, 60):
            p = a + t * (b - a)
            out = np.array([(b - a)[1], -(b - a)[0]]) / math.dist(a, b)
            at, to = project(camera, [[*p, 0], [*(p + out), 0]])
            n = (to - at) / math.dist(to, at)
            s = np.arange(-6, 6.01, 0.05)
            values = _bilinear(linear, at + s[:, None] * n)
            low, high = values[-20:].mean(), values[:20].mean()
            mid = (low + high) / 2
            j = int(np.flatnonzero((values[:-1] >= mid) & (values[1:] < mid))[0])
            errors.append(s[j] + 0.05 * (values[j] - mid) / (values[j] - values[j + 1]))
    errors = np.array(errors)
    assert abs(errors.mean()) < 0.01
    assert errors.std() < 0.03


def _to_linear(grey: np.ndarray) -> np.ndarray:
    x = grey / 255
    return np.where(x <= 0.04045, x / 12.92, ((x + 0.055) / 1.055) ** 2.4)


def _bilinear(image: np.ndarray, px: np.ndarray) -> np.ndarray:
    c, r = px[:, 0] - 0.5, px[:, 1] - 0.5
    j, i = np.floor(c).astype(int), np.floor(r).astype(int)
    fc, fr = c - j, r - i
    upper = (1 - fc) * image[i, j] + fc * image[i, j + 1]
    lower = (1 - fc) * image[i + 1, j] + fc * image[i + 1, j + 1]
    return (1 - fr) * upper + fr * lower


def test_shadow_is_dark_at_the_wall_on_the_far_side_of_the_lamp_and_gone_far_away():
    body = part_of(drawing("square_flange"), 10.0)
    shade = light_map(body, Light(azimuth_deg=0.0, elevation_deg=45.0, lamp_share=0.5))
    near_dark, near_lit, far = shade.at(np.array([-36.0, 36.0, -62.0]), np.array([0.0, 0.0, 0.0]))
    assert near_dark < 0.5 < near_lit
    assert far > 0.9


def test_small_hole_floor_is_darker_than_wide_one():
    shade = light_map(part_of(drawing("square_flange"), 10.0), Light())
    small, wide = shade.at(np.array([26.0, 0.0]), np.array([26.0, 0.0]))
    assert small < 0.6 * wide


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_saved_file_tells_focal_length_and_turns_upright(tmp_path, orientation):
    camera = stand_camera((640, 480), 77.0, 760.0)
    photo = photograph(Scene(camera, (part_of(drawing("square_flange")),), Sheet(), f35=77.0), 3)
    save_jpeg(photo, tmp_path / "a.jpg", orientation)
    with Image.open(tmp_path / "a.jpg") as stored:
        exif = stored.getexif()
        assert exif[0x0112] == orientation
        assert exif.get_ifd(0x8769)[0xA405] == 77
        turned = {1: stored, 3: stored.transpose(Image.Transpose.ROTATE_180), 6: stored.transpose(Image.Transpose.ROTATE_270),
                  8: stored.transpose(Image.Transpose.ROTATE_90)}[orientation]
        assert np.abs(np.asarray(turned).astype(float) - photo.image).mean() < 4


def test_same_seed_same_picture():
    scene = Scene(stand_camera((640, 480), 77.0, 760.0), (part_of(drawing("three_arm")),), Sheet())
    assert np.array_equal(photograph(scene, 9).image, photograph(scene, 9).image)
