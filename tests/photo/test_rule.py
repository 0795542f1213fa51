"""Painted rules are found and read to a small part of a pixel; things without rhythm are no rule; shared photographs."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import string
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from afterpart.model.references import RuleTicks
from afterpart.photo.rule import find_rules
from afterpart.photo.tickladder import read_ladder
from tests.photo.rule_painting import decimal_length, develop, homography, paint_rule, plane_points, project, sixteenth_length

SIZE = (1400, 1050)
PHOTOS = [
    "dev_bracket_sheet_main",
    "dev_cover_b_sheet",
    "dev_inlet_cover_sheet",
    "dev_tall_sheet",
    "dev_tri_sheet_light",
    "several/dev_box_inlet_cover",
    "several/dev_several_inlet_cover_1",
    "several/dev_several_inlet_cover_2",
    "several/dev_several_inlet_cover_3",
]


def stacked(rule: RuleTicks) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(index, points, u) of all points of a rule."""
    index = np.concatenate([np.full(len(tick.points), tick.index) for tick in rule.ticks])
    return index, np.concatenate([tick.points for tick in rule.ticks]), np.concatenate([tick.u_px for tick in rule.ticks])


def errors_px(rule: RuleTicks, h: np.ndarray) -> np.ndarray:
    """How far each point lies from the graduation it claims to be, along the rule, in px (whole offset and direction free)."""
    index, points, _ = stacked(rule)
    x = project(np.linalg.inv(h), points)[:, 0]
    sign = 1 if np.corrcoef(x, index)[0, 1] > 0 else -1
    start = np.rint(np.median(x - sign * index))
    return (x - sign * index - start) * rule.pitch_px


def only(grey: np.ndarray) -> RuleTicks:
    rules = find_rules(grey)
    assert len(rules) == 1
    return rules[0]


@pytest.mark.parametrize("pitch_px", [5, 6, 8, 11, 16, 24, 36, 60])
def test_sizes(pitch_px: int) -> None:
    count = min(151, 1150 // pitch_px)
    h = homography(SIZE, pitch_px, 13, 0, (count / 2, 6))
    rule = only(paint_rule(SIZE, h, count))
    error = errors_px(rule, h)
    assert len(rule.ticks) == count
    assert rule.pitch_px == pytest.approx(pitch_px, rel=1e-3)
    assert np.sqrt(np.mean(error**2)) < 0.05 and np.abs(error).max() < 0.2
    assert rule.ladder == "decimal" and rule.dark and rule.kind == "rule"


@pytest.mark.parametrize("angle_deg", range(0, 360, 30))
def test_rotations_with_perspective(angle_deg: int) -> None:
    h = homography(SIZE, 8.5, angle_deg + 4, 15, (50, 6))
    rule = only(paint_rule(SIZE, h, 101, seed=angle_deg))
    error = errors_px(rule, h)
    assert len(rule.ticks) == 101 and [tick.index for tick in rule.ticks] == list(range(101))
    assert np.sqrt(np.mean(error**2)) < 0.06
    assert min(len(tick.points) for tick in rule.ticks) >= 3
    corners = project(np.linalg.inv(h), rule.quad)
    assert rule.quad_is_body
    assert np.abs(np.sort(corners[:, 0]) - [-5, -5, 104, 104]).max() < 1.2  # painted from -5 to count + 4
    assert np.abs(np.sort(corners[:, 1]) - [0, 0, 18, 18]).max() < 0.5


@pytest.mark.parametrize("tilt_deg", [22, 30])
def test_strong_tilt(tilt_deg: int) -> None:
    h = homography(SIZE, 8.5, 35, tilt_deg, (50, 6))
    rule = only(paint_rule(SIZE, h, 101))
    assert len(rule.ticks) == 101 and np.abs(errors_px(rule, h)).max() < 0.2


@pytest.mark.parametrize(("noise", "blur_px", "ink"), [(6.0, 1.4, 50.0), (3.0, 0.7, 160.0), (1.0, 2.2, 50.0)])
def test_noise_blur_and_faint_ink(noise: float, blur_px: float, ink: float) -> None:
    h = homography(SIZE, 11, -20, 6, (50, 6))
    rule = only(paint_rule(SIZE, h, 101, noise=noise, blur_px=blur_px, ink=ink))
    error = errors_px(rule, h)
    _, _, u = stacked(rule)
    assert len(rule.ticks) == 101
    assert 0.5 < np.sqrt(np.mean(error**2)) / np.sqrt(np.mean(u**2)) < 1.5  # the stated uncertainty is honest
    assert np.sqrt(np.mean(error**2)) < 0.12


def test_light_ticks_on_a_dark_rule() -> None:
    h = homography(SIZE, 11, 100, 6, (40, 6))
    rule = only(paint_rule(SIZE, h, 81, ink=230, body=60))
    assert not rule.dark and len(rule.ticks) == 81 and np.abs(errors_px(rule, h)).max() < 0.15


def test_part_lying_on_the_rule_leaves_a_gap_in_the_count() -> None:
    h = homography(SIZE, 10, 8, 6, (50, 6))
    rule = only(paint_rule(SIZE, h, 101, hidden=(40, 49)))
    indices = [tick.index for tick in rule.ticks]
    assert 89 <= len(indices) <= 91 and indices[-1] == 100
    assert np.abs(errors_px(rule, h)).max() < 0.2


def test_rule_cut_by_the_border() -> None:
    h = homography(SIZE, 14, -40, 6, (50, 6))
    rule = only(paint_rule(SIZE, h, 151))
    ends = project(h, np.c_[np.arange(151), np.full(151, 2.3)])
    visible = ((ends > 4) & (ends < np.array(SIZE) - 4)).all(axis=1).sum()
    assert visible - 2 <= len(rule.ticks) <= visible + 2
    assert np.abs(errors_px(rule, h)).max() < 0.15


@pytest.mark.parametrize("pitch_px", [9, 14, 24])
def test_inch_rule_shows_a_binary_ladder(pitch_px: int) -> None:
    count = min(97, 1150 // pitch_px)
    h = homography(SIZE, pitch_px, 7, 8, (count / 2, 6))
    rule = only(paint_rule(SIZE, h, count, lengths=sixteenth_length))
    assert rule.ladder == "binary" and len(rule.ticks) == count
    assert np.abs(errors_px(rule, h)).max() < 0.25


def test_two_scales_on_one_rule() -> None:
    """Millimetres along one edge, sixteenths along the other: two rows of ticks, told apart by their ladders."""
    h = homography(SIZE, 10, 12, 5, (45, 10))
    x, y = plane_points(h, SIZE)
    fine = np.where((x > -5) & (x < 96) & (y > 0) & (y < 20), 200.0, 150.0)
    for scale, height, lengths in ((1.0, y - 0.3, decimal_length), (25.4 / 16, 19.7 - y, sixteenth_length)):
        index = np.rint(x / scale).astype(int)
        stroke = (np.abs(x - index * scale) < 0.1) & (index >= 0) & (index * scale < 91)
        fine[stroke & (height > 0) & (height < lengths(index) * (1.0 if scale == 1.0 else 1.2))] = 50.0
    rules = find_rules(develop(fine, 0.7, 2.0))
    assert sorted(rule.ladder for rule in rules) == ["binary", "decimal"]
    ratio = max(r.pitch_px for r in rules) / min(r.pitch_px for r in rules)
    assert ratio == pytest.approx(25.4 / 16, rel=0.015)  # the two edges stand at slightly different distances


def test_ruled_paper_is_a_grid() -> None:
    h = homography(SIZE, 20, 8, 8, (20, 14))
    x, y = plane_points(h, SIZE)
    lines = np.zeros(x.shape, bool)
    for q in (x, y):
        k = np.rint(q)
        lines |= np.abs(q - k) < np.where(k % 10 == 0, 0.08, np.where(k % 5 == 0, 0.06, 0.04))
    paper = (x > -0.5) & (x < 45.5) & (y > -0.5) & (y < 30.5)
    rules = find_rules(develop(np.where(paper, np.where(lines, 150.0, 235.0), 90.0), 0.7, 2.0))
    assert len(rules) == 2
    assert {rule.kind for rule in rules} == {"grid"} and {rule.ladder for rule in rules} == {"decimal"}


def wood(rng: np.random.Generator, angle_deg: float, fine: float, long: float, swing: float) -> np.ndarray:
    high, wide = 900, 1200
    z = cv2.GaussianBlur(rng.normal(0, 1, (2 * high, 2 * wide)).astype(np.float32), (0, 0), sigmaX=long, sigmaY=fine)
    turned = cv2.warpAffine(z, cv2.getRotationMatrix2D((wide, high), angle_deg, 1), (2 * wide, 2 * high))
    part = turned[high // 2 : high // 2 + high, wide // 2 : wide // 2 + wide]
    return 130 + swing * part / part.std()


def chequer(side: float, angle_deg: float) -> np.ndarray:
    row, col = np.mgrid[0:900, 0:1200]
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    u, v = col * c + row * s, row * c - col * s
    return cv2.GaussianBlur(np.where((u // side + v // side) % 2, 220, 40).astype(np.float32), (0, 0), 0.8)


def text(rng: np.random.Generator, size: float, angle_deg: float) -> np.ndarray:
    page = np.full((900, 1200), 225, np.uint8)
    for y in np.arange(20, 900, 38 * size):
        line = "".join(rng.choice(list(string.ascii_letters + "  ill11|" + string.digits), 120))
        cv2.putText(page, line, (10, int(y)), cv2.FONT_HERSHEY_SIMPLEX, size, 40, max(1, int(2 * size)), cv2.LINE_AA)
    return cv2.warpAffine(page, cv2.getRotationMatrix2D((600, 450), angle_deg, 1), (1200, 900), borderValue=225).astype(
        np.float32
    )


def bars(rng: np.random.Generator) -> np.ndarray:
    """Bars of uneven width and distance."""
    picture = np.full((900, 1200), 200, np.float32)
    x = 100
    while x < 1000:
        width, gap = (int(rng.integers(1, 4)) * 5 for _ in range(2))
        picture[300:500, x : x + width] = 30
        x += width + gap
    return picture


@pytest.mark.parametrize("seed", range(6))
def test_no_rule_in_wood_chequers_text_and_bars(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pictures = [
        wood(rng, rng.uniform(0, 180), rng.uniform(0.7, 8), rng.uniform(30, 120), rng.uniform(8, 40)),
        chequer(rng.uniform(6, 60), rng.uniform(0, 90)),
        text(rng, rng.uniform(0.4, 1.8), rng.uniform(0, 180)),
        bars(rng),
        128 + rng.normal(0, 20, (900, 1200)),
    ]
    for picture in pictures:
        noisy = np.clip(np.rint(picture + rng.normal(0, 2, picture.shape)), 0, 255).astype(np.float32)
        assert find_rules(noisy) == ()


def test_a_small_or_flat_picture_holds_no_rule() -> None:
    assert find_rules(np.full((20, 30), 100, np.float32)) == ()
    assert find_rules(np.full((600, 800), 100, np.float32)) == ()


@pytest.mark.parametrize(
    ("lengths", "expected"),
    [
        (decimal_length(np.arange(40) + 3), ("decimal", 10)),
        (sixteenth_length(np.arange(50) + 5), ("binary", 16)),
        (np.where(np.arange(60) % 5 == 1, 6.0, 4.0), ("decimal", 5)),
        (np.full(40, 4.0), ("unknown", 0)),
    ],
)
def test_ladder_from_lengths(lengths: np.ndarray, expected: tuple[str, int]) -> None:
    rng = np.random.default_rng(2)
    ladder, major = read_ladder(np.arange(len(lengths)), lengths + rng.normal(0, 0.08, len(lengths)))
    assert ladder == expected[0]
    assert major % expected[1] == 0 if expected[1] else major == 0


def on_plane(px: np.ndarray, camera: dict, rotation: np.ndarray, z: float) -> np.ndarray:
    """(n, 2) mm on the plane z of pixels, with the renderer's camera: tangents times (1 + k1 r2 + k2 r4) times focal length."""
    seen = (np.asarray(px, float) - [2016, 1512]) / camera["fpx"]
    plain = seen.copy()
    for _ in range(20):
        r2 = (plain**2).sum(axis=1)
        plain = seen / (1 + camera["lens"][0] * r2 + camera["lens"][1] * r2 * r2)[:, None]
    rays = np.c_[plain, np.ones(len(plain))] @ Rotation.from_rotvec(rotation).as_matrix()
    origin = np.array(camera["origin"])
    return (origin + ((z - origin[2]) / rays[:, 2])[:, None] * rays)[:, :2]


def true_rotation(truth: dict) -> np.ndarray:
    """The renderer tells the camera's place but not its direction: that follows from the sheet's true corners (A4, on z = 0)."""
    corners = np.array([[-148.5, -105], [148.5, -105], [148.5, 105], [-148.5, 105]])

    def misfit(x: np.ndarray) -> np.ndarray:
        c, s = np.cos(x[3]), np.sin(x[3])
        found = on_plane(truth["reference"]["sheet_px"], truth["camera"], x[:3], 0.0)
        return (corners @ np.array([[c, s], [-s, c]]) + x[4:] - found).ravel()

    looks_down = Rotation.from_matrix(np.diag([1.0, -1.0, -1.0]))
    starts = [
        np.r_[(Rotation.from_rotvec([0, 0, turn]) * looks_down).as_rotvec(), place, truth["camera"]["origin"][:2]]
        for turn in np.radians([0, 90, 180, 270])
        for place in (0.0, np.pi)
    ]
    best = min((least_squares(misfit, start, x_scale=[0.01] * 4 + [1, 1]) for start in starts), key=lambda result: result.cost)
    assert np.abs(best.fun).max() < 1e-4
    return best.x[:3]


@pytest.mark.parametrize("name", PHOTOS)
def test_photographed_rule_in_mm(shared: Path, name: str) -> None:
    """All 151 marks of the 150 mm rule, 0.8 mm thick, map to whole millimetres with the true camera."""
    truth = json.loads((shared / "photos" / f"{name}.json").read_text())
    rule = only(cv2.imread(str(shared / "photos" / f"{name}.jpg"), cv2.IMREAD_GRAYSCALE).astype(np.float32))
    rotation = true_rotation(truth)
    marks = on_plane(truth["reference"]["rule"]["px"], truth["camera"], rotation, 0.8)  # marks 0 and 140
    unit = (marks[1] - marks[0]) / np.hypot(*(marks[1] - marks[0]))
    index, points, _ = stacked(rule)
    along = (on_plane(points, truth["camera"], rotation, 0.8) - marks[0]) @ unit
    number = index if along[-1] > along[0] else 150 - index
    error = along - number
    assert len(rule.ticks) == 151 and rule.ladder == "decimal" and rule.quad_is_body
    assert np.sqrt(np.mean(error**2)) < 0.006 and np.abs(error).max() < 0.02


def test_photographed_rule_without_sheet(shared: Path) -> None:
    rule = only(cv2.imread(str(shared / "photos/dev_flange_dn25_rule.jpg"), cv2.IMREAD_GRAYSCALE).astype(np.float32))
    assert [tick.index for tick in rule.ticks] == list(range(151))
    assert rule.residual_px < 0.05


def test_photographed_millimetre_paper(shared: Path) -> None:
    """A real phone photograph: ruling pitch uniform to 0.05 mm after a cubic correction; heavy lines every 5."""
    rule = only(cv2.imread(str(shared / "real/mm_paper.jpg"), cv2.IMREAD_GRAYSCALE).astype(np.float32))
    index = np.array([tick.index for tick in rule.ticks])
    column = np.array([tick.points[:, 0].mean() for tick in rule.ticks])
    rest_mm = (column - np.polyval(np.polyfit(index - 18, column, 3), index - 18)) / rule.pitch_px
    assert rule.kind == "grid" and rule.ladder == "decimal" and len(index) >= 35
    assert np.std(rest_mm) < 0.02 and np.abs(rest_mm).max() < 0.05


@pytest.mark.parametrize(
    "name", ["photos/dev_cover_b_jaws", "real/coins_sheet_flat", "real/coins_sheet_tilt", "real/chequer_640"]
)
def test_no_rule_where_there_is_none(shared: Path, name: str) -> None:
    assert find_rules(cv2.imread(str(shared / f"{name}.jpg"), cv2.IMREAD_GRAYSCALE).astype(np.float32)) == ()
