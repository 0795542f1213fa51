"""The table under the parts, and what lies on it.

The table (paper, desk, bench) is taken to be smooth in brightness and colour: a quadratic surface per colour channel, fitted
robustly. What differs from it is an *object with its shadow*; where the object ends within its shadow is for part.py to tell.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

WORK_PX = 1344
"""Longest side of the reduced picture in which objects are looked for."""

END_SHARE = 0.08
"""Width of the band at the end of a zone in which the table is sure to be seen, as a share of the zone's shorter side."""


@dataclass(frozen=True)
class Objects:
    """scale: reduced px per picture px; small: (h, w, 3) uint8; labels: (h, w) int32, 0 table, else object number;
    zone: (h, w) uint8, 1 where objects were looked for; taken: (h, w) uint8, 1 on recognised references;
    texture: scatter of the table in grey levels."""

    scale: float
    small: np.ndarray
    labels: np.ndarray
    zone: np.ndarray
    taken: np.ndarray
    texture: float


def reduced(colour: np.ndarray) -> tuple[np.ndarray, float]:
    """The picture at WORK_PX, and reduced px per picture px."""
    scale = min(1.0, WORK_PX / max(colour.shape[:2]))
    return cv2.resize(colour, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else colour, scale


def find_objects(small: np.ndarray, scale: float, zone_px: np.ndarray | None, taken_px: tuple[np.ndarray, ...] = ()) -> Objects:
    """Objects on the table of a reduced picture.  zone_px: (4, 2) corners of the sheet to look in, or None for the whole picture;
    taken_px: quadrilaterals of recognised references, which are never a part."""
    h, w = small.shape[:2]
    zone = np.ones((h, w), np.uint8)
    if zone_px is not None:
        zone[:] = 0
        cv2.fillConvexPoly(zone, np.round(zone_px * scale).astype(np.int32), 1)
        zone = cv2.erode(zone, np.ones((9, 9), np.uint8))
    taken = np.zeros((h, w), np.uint8)
    for quad in taken_px:
        cv2.fillConvexPoly(taken, cv2.convexHull(np.round(np.asarray(quad) * scale).astype(np.int32)), 1)
    if taken_px:
        taken = cv2.dilate(taken, np.ones((13, 13), np.uint8))
        zone[taken > 0] = 0
    soft = cv2.GaussianBlur(small, (0, 0), 1.0)
    coefficient, texture = _table_surface(soft, zone)
    columns, rows = np.arange(w, dtype=np.float32) / w, np.arange(h, dtype=np.float32) / h
    distance = np.zeros((h, w), np.float32)
    for channel, values in enumerate(cv2.split(soft)):
        off = cv2.subtract(values, quadratic_grid(columns, rows, coefficient[:, channel]), dtype=cv2.CV_32F)
        cv2.accumulateSquare(off, distance)
    mask = ((distance > max(5 * texture, 10.0) ** 2) & (zone > 0)).astype(np.uint8)
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    _, labels = cv2.connectedComponents(mask)
    return Objects(scale, small, labels, zone, taken, texture)


def quadratic(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Design matrix (n, 6) of a quadratic surface."""
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], -1)


def quadratic_grid(x: np.ndarray, y: np.ndarray, coefficients: np.ndarray) -> np.ndarray:
    """The surface over all x (w,) and y (h,): (h, w) float32, same terms as `quadratic`."""
    a, b, c, d, e, f = (float(v) for v in coefficients)
    x, y = np.asarray(x, np.float32)[None], np.asarray(y, np.float32)[:, None]
    return (a + b * x + d * x * x) + (c * y + f * y * y) + (e * y) * x


def _near_end(zone: np.ndarray) -> np.ndarray:
    """1 in the outermost END_SHARE of the zone (h, w) of 0 and 1, by its shorter side."""
    reach = int(END_SHARE * min(cv2.boundingRect(zone)[2:])) if zone.any() else 0
    framed = cv2.copyMakeBorder(zone, 1, 1, 1, 1, cv2.BORDER_CONSTANT)
    inner = cv2.erode(framed, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))
    return zone & (1 - inner[1:-1, 1:-1])


def _table_surface(soft: np.ndarray, zone: np.ndarray) -> tuple[np.ndarray, float]:
    """Coefficients (6, 3) of the table's brightness over (column / w, row / h), and its scatter."""
    h, w = soft.shape[:2]
    rows, cols = np.nonzero(zone[::8, ::8])
    near_end = _near_end(zone)[::8, ::8][rows, cols] > 0
    design = quadratic(cols * 8.0 / w, rows * 8.0 / h)
    data = soft[::8, ::8][rows, cols].astype(np.float64)
    grey = data.mean(1)
    # the commonest brightness along the end of what is looked at is the table's: parts may fill most of it, but not reach there
    count, edge = np.histogram(grey[near_end] if near_end.any() else grey, 64, (0, 256))
    mode = edge[np.convolve(count, [1, 1, 1], "same").argmax()] + 2
    weight = (np.abs(grey - mode) < 25).astype(float) + 1e-6
    coefficient, texture = np.zeros((6, 3)), 1.5
    for _ in range(10):
        weighted = design.T * weight**2
        coefficient = np.linalg.lstsq(weighted @ design, weighted @ data, rcond=None)[0]
        off = np.sqrt(((data - design @ coefficient) ** 2).sum(1))
        texture = max(1.5, 1.4826 * float(np.median(off[weight > 0.5]))) if (weight > 0.5).any() else 1.5
        weight = 1 / (1 + (off / (2.5 * texture)) ** 4)
    return coefficient, texture
