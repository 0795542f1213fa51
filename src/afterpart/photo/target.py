"""Finds the printed target's markers and their corners to a small part of a pixel.

Words: *marker*, *module*, *ring*: see standards/printed_target.py, which also says where each corner lies on the sheet.
A marker is recognised on a reduced picture where that is enough; its four border lines are then fitted at full resolution to
steps between the white quiet zone and the black border, in linear light, and its corners are where neighbouring lines meet.
Pixel frame: (column, row), pixel centres at .5 (the marker library counts pixel centres as whole numbers).
Limits: markers at least about 20 px wide; a marker cut by the picture's border or half hidden is left out.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

from afterpart.model.references import TargetMarkers
from afterpart.photo.edgeprofile import linear_light, sample
from afterpart.standards.printed_target import CODE_MODULES, DICTIONARY, marker_ids

SEARCH_SIDE = 1600  # longer side of the picture in which markers are first looked for, px
PROBES = 24  # per border line
MIN_KEPT = 12
MAX_BEND_PX = 0.6  # robust scatter of a border line's points: more is not a border
FEWEST = 3  # markers that make a target


def find_target(grey: np.ndarray) -> TargetMarkers | None:
    """Markers of the printed target in a grey picture (h, w) float32 0..255; None with fewer than three of them."""
    ids, rough = _detect(grey, SEARCH_SIDE)
    if 0 < len(ids) < len(marker_ids()) // 2 and max(grey.shape) > SEARCH_SIDE:
        more = _detect(grey, max(grey.shape))  # some are there: small ones may need the whole picture
        ids, rough = more if len(more[0]) > len(ids) else (ids, rough)
    if len(ids) < FEWEST:
        return None
    found = {}
    for number, corners in zip(ids, rough, strict=True):
        refined = _refine(grey, corners)
        if refined is not None:
            found[int(number)] = refined
    if len(found) < FEWEST:
        return None
    order = sorted(found)
    corners = np.array([found[k][0] for k in order])
    hull = cv2.boxPoints(cv2.minAreaRect(corners.reshape(-1, 2).astype(np.float32)))
    return TargetMarkers(np.array(order), corners, np.array([found[k][1] for k in order]), hull.astype(float))


def _detect(grey: np.ndarray, longest: int) -> tuple[np.ndarray, np.ndarray]:
    """(ids (n,), corners (n, 4, 2) full-resolution px) as the marker library sees them on a picture of that longer side."""
    factor = max(1, round(max(grey.shape) / longest))
    part = grey[: grey.shape[0] // factor * factor, : grey.shape[1] // factor * factor]
    small = cv2.resize(part, None, fx=1 / factor, fy=1 / factor, interpolation=cv2.INTER_AREA) if factor > 1 else part
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_NONE
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY)), settings)
    corners, ids, _ = detector.detectMarkers(np.clip(np.rint(small), 0, 255).astype(np.uint8))
    if ids is None or len(ids) == 0:
        return np.zeros(0, int), np.zeros((0, 4, 2))
    known = np.isin(ids.ravel(), marker_ids())
    numbers, first = np.unique(ids.ravel()[known], return_index=True)
    places = (np.array(corners).reshape(-1, 4, 2)[known][first].astype(float) + 0.5) * factor
    return numbers, places


def _refine(grey: np.ndarray, corners: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """((4, 2) corners, (4,) u_px) from straight lines through the steps along the four borders; None where a border fails."""
    low = np.floor(corners.min(axis=0) - 12).astype(int)
    high = np.ceil(corners.max(axis=0) + 12).astype(int)
    if low.min() < 0 or high[0] > grey.shape[1] or high[1] > grey.shape[0]:
        return None
    light = linear_light(grey[low[1] : high[1], low[0] : high[0]])
    module = float(np.hypot(*(corners - np.roll(corners, -1, axis=0)).T).mean()) / (CODE_MODULES + 2)
    for _ in range(2):  # the second look starts from the first one's borders
        lines = [_border(light, corners[k] - low, corners[(k + 1) % 4] - low, 0.8 * module) for k in range(4)]
        if any(line is None for line in lines):
            return None
        met = [_meet(lines[k - 1], lines[k]) for k in range(4)]
        corners = np.array([point for point, _ in met]) + low
    return corners, np.array([u for _, u in met])


def _border(
    light: np.ndarray, start: np.ndarray, end: np.ndarray, reach: float
) -> tuple[np.ndarray, np.ndarray, float, float] | None:
    """(point, unit direction, u of the place across, length) of one border; corners come clockwise, so outside is to the left."""
    way = end - start
    length = float(np.hypot(*way))
    way = way / length
    normal = np.array([way[1], -way[0]])
    along = np.linspace(0.1, 0.9, PROBES) * length
    width = max(1, int(0.8 * length / PROBES))
    reach = max(3.0, min(reach, 12.0))
    t = np.arange(-reach, reach + 0.125, 0.25)
    rows = (np.arange(width) - 0.5 * (width - 1))[None, :, None, None] * way
    values = sample(light, (start + along[:, None, None, None] * way) + rows + t[None, None, :, None] * normal).mean(axis=1)
    smooth = cv2.GaussianBlur(values, (0, 0), sigmaX=0.9 / 0.25, sigmaY=1e-3, borderType=cv2.BORDER_REPLICATE)
    slope = np.gradient(smooth, 0.25, axis=1)
    inner = slope[:, 2:-2]
    k = inner.argmax(axis=1) + 2
    n = np.arange(PROBES)
    a, b, c = slope[n, k - 1], slope[n, k], slope[n, np.minimum(k + 1, len(t) - 1)]
    place = t[k] + 0.25 * np.clip(0.5 * (a - c) / np.minimum(a - 2 * b + c, -1e-9), -1, 1)
    keep = (b > 0.4 * np.median(b)) & (k > 2) & (k < len(t) - 3)
    line, scatter = np.zeros(2), 0.0
    for _ in range(4):
        if keep.sum() < MIN_KEPT:
            return None
        line = np.polyfit(along[keep], place[keep], 1)
        rest = np.abs(place - np.polyval(line, along))
        scatter = 1.4826 * float(np.median(rest[keep]))
        keep = keep & (rest < max(3.5 * scatter, 0.05))
    if scatter > MAX_BEND_PX:
        return None
    first, last = (start + s * way + np.polyval(line, s) * normal for s in (0.0, length))
    direction = (last - first) / np.hypot(*(last - first))
    # at a corner a line through points spread over 0.8 of the border is about twice as uncertain as in its middle
    return first, direction, 2.2 * max(scatter, 0.02) / float(np.sqrt(keep.sum())), length


def _meet(
    one: tuple[np.ndarray, np.ndarray, float, float], other: tuple[np.ndarray, np.ndarray, float, float]
) -> tuple[np.ndarray, float]:
    """Where two border lines cross, and the standard uncertainty of each coordinate there."""
    (p, a, u, _), (q, b, v, _) = one, other
    s = np.linalg.solve(np.stack([a, -b], axis=1), q - p)[0]
    sine = abs(float(a[0] * b[1] - a[1] * b[0]))
    return p + s * a, float(np.hypot(u, v)) / np.sqrt(2.0) / max(sine, 0.2)
