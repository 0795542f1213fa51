"""Pictures of rules painted by calculation, with every tick known: for the tests of the finders.

A rule lies in its own plane (mm or graduations); a homography takes the plane to picture pixels.  The picture is sampled on a
grid four times as fine and averaged, so that strokes have the grey values a sensor would give; blur and noise are added after.
Pixel frame: (column, row), pixel centres at .5.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

OVER = 4


def homography(
    size: tuple[int, int],
    pitch_px: float,
    angle_deg: float,
    tilt_deg: float,
    centre: tuple[float, float],
    shift_px: tuple[float, float] = (0.0, 0.0),
) -> np.ndarray:
    """Plane (graduations) -> picture (w, h): `centre` of the plane stands in the middle, seen from 1.6 picture widths."""
    wide, high = size
    focal = 1.6 * wide
    a, t = np.radians(angle_deg), np.radians(tilt_deg)
    spin = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, np.cos(t), -np.sin(t)], [0, np.sin(t), np.cos(t)]])
    skew = np.array([[np.cos(0.7 * t), 0, np.sin(0.7 * t)], [0, 1, 0], [-np.sin(0.7 * t), 0, np.cos(0.7 * t)]])
    turn = skew @ lean @ spin
    out = np.array([[focal, 0, 0.5 * wide + shift_px[0]], [0, focal, 0.5 * high + shift_px[1]], [0, 0, 1.0]])
    move = np.array([[1, 0, -centre[0]], [0, 1, -centre[1]], [0, 0, 1.0]])
    plane = np.c_[turn[:, 0], turn[:, 1], [0, 0, focal / pitch_px]]
    return out @ plane @ move


def project(h: np.ndarray, xy: np.ndarray) -> np.ndarray:
    """(n, 2) picture px of plane points."""
    q = np.c_[xy, np.ones(len(xy))] @ h.T
    return q[:, :2] / q[:, 2:]


def plane_points(h: np.ndarray, size: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """(x, y) on the plane of every fine sample of a (w, h) picture: two (h*OVER, w*OVER) arrays."""
    wide, high = size
    col = ((np.arange(wide * OVER) + 0.5) / OVER).astype(np.float32)[None, :]
    row = ((np.arange(high * OVER) + 0.5) / OVER).astype(np.float32)[:, None]
    inverse = np.linalg.inv(h)
    w = (inverse[2, 0] * col + inverse[2, 1] * row + inverse[2, 2]).astype(np.float32)
    return ((inverse[0, 0] * col + inverse[0, 1] * row + inverse[0, 2]) / w).astype(np.float32), (
        (inverse[1, 0] * col + inverse[1, 1] * row + inverse[1, 2]) / w
    ).astype(np.float32)


def develop(fine: np.ndarray, blur_px: float, noise: float, seed: int = 1) -> np.ndarray:
    """A fine picture averaged to pixels, blurred, with noise, whole grey levels, float32."""
    high, wide = fine.shape
    picture = cv2.resize(fine.astype(np.float32), (wide // OVER, high // OVER), interpolation=cv2.INTER_AREA)
    if blur_px > 0:
        picture = cv2.GaussianBlur(picture, (0, 0), blur_px)
    picture = picture + np.random.default_rng(seed).normal(0.0, noise, picture.shape)
    return np.clip(np.rint(picture), 0, 255).astype(np.float32)


def decimal_length(index: np.ndarray) -> np.ndarray:
    """Stroke lengths of a millimetre rule, in graduations: 4, every fifth 5.5, every tenth 7.5."""
    return np.where(index % 10 == 0, 7.5, np.where(index % 5 == 0, 5.5, 4.0))


def sixteenth_length(index: np.ndarray) -> np.ndarray:
    """Stroke lengths of an inch rule in sixteenths, in graduations of 1/16 inch."""
    return np.where(
        index % 16 == 0, 6.0, np.where(index % 8 == 0, 4.6, np.where(index % 4 == 0, 3.6, np.where(index % 2 == 0, 2.8, 2.0)))
    )


def paint_rule(
    size: tuple[int, int],
    h: np.ndarray,
    count: int,
    *,
    lengths=decimal_length,
    stroke: float = 0.18,
    ink: float = 50.0,
    body: float = 200.0,
    table: float = 150.0,
    depth: float = 18.0,
    blur_px: float = 0.7,
    noise: float = 2.0,
    seed: int = 1,
    hidden: tuple[int, int] | None = None,
) -> np.ndarray:
    """A rule of `count` graduations 0 .. count - 1, strokes `stroke` graduations wide growing from y = 0.3 to larger y."""
    x, y = plane_points(h, size)
    on_body = (x > -5) & (x < count + 4) & (y > 0) & (y < depth)
    fine = np.where(on_body, np.float32(body), np.float32(table))
    near = np.flatnonzero(on_body & (y > 0.3) & (y < 0.3 + lengths(np.arange(count)).max()))
    at, down = x.ravel()[near], y.ravel()[near]
    index = np.rint(at).astype(int)
    on_stroke = (np.abs(at - index) < 0.5 * stroke) & (index >= 0) & (index < count) & (down < 0.3 + lengths(index))
    fine.ravel()[near[on_stroke]] = ink
    if hidden is not None:
        fine[(x > hidden[0] - 0.5) & (x < hidden[1] + 0.5) & (y > -6) & (y < depth + 6)] = 90.0
    return develop(fine, blur_px, noise, seed)
