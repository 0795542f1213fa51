"""The four sides of a sheet of paper under the part.

A *side* is a chain of sub-pixel points along one straight edge of the paper.  Corners need not be in the picture: each side is
fitted by itself, and whatever crosses it (a rule, the part, the picture's border) leaves a gap.  Only the region brighter
than its surroundings is looked for; a dark sheet on a light desk is not.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.photo.edgeprofile import find_steps

WORK_PX = 1000
"""Longest side of the reduced picture in which the sheet is looked for."""


@dataclass(frozen=True)
class SheetSides:
    """sides: four arrays (n_i, 2) of pixels in order round the sheet (empty where a side is out of the picture);
    u_px: scatter of those points; corners: (4, 2) px, corner i between side i - 1 and side i."""

    sides: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]
    u_px: float
    corners: np.ndarray


def find_sheet(grey: np.ndarray, colour: np.ndarray) -> SheetSides | None:
    """The sheet in an upright picture (grey (h, w) float32, colour (h, w, 3) uint8), or None when there is none."""
    scale = WORK_PX / max(grey.shape)
    small = cv2.resize(colour, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    contour = _bright_region(small)
    if contour is None:
        return None
    pieces = _straight_pieces(contour, small.shape)
    if pieces is None:
        return None
    refined = [_refine_side(grey, (side + 0.5) / scale) for side in pieces]
    if sum(len(s) >= 30 for s in refined) < 4:
        return None
    lines = [_line_through(s) for s in refined]
    corners = np.array([_meet(lines[i - 1], lines[i]) for i in range(4)])
    scatter = float(np.median([_scatter(s) for s in refined]))
    return SheetSides(tuple(refined), max(scatter, 0.02), corners)  # type: ignore[arg-type]


def _paperness(small: np.ndarray) -> np.ndarray:
    """Bright and colourless: brightness less saturation, uint8."""
    low, high = small.min(2).astype(np.int16), small.max(2).astype(np.int16)
    return np.clip(high - (high - low), 0, 255).astype(np.uint8)


def _bright_region(small: np.ndarray) -> np.ndarray | None:
    """Outer contour (n, 2) of the largest paper-like region, or None."""
    paper = cv2.GaussianBlur(_paperness(small), (0, 0), 1.5)
    level, mask = cv2.threshold(paper, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    # parts on the sheet may be joined to the desk by a shadow: close small gaps before taking the outer contour
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    found, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not found:
        return None
    contour = max(found, key=cv2.contourArea)
    area = cv2.contourArea(contour)
    total = mask.size
    if not 0.08 * total < area < 0.97 * total:
        return None
    inside = np.zeros_like(mask)
    cv2.drawContours(inside, [contour], -1, 255, -1)
    ring_out = cv2.dilate(inside, np.ones((25, 25), np.uint8)) & ~cv2.dilate(inside, np.ones((7, 7), np.uint8))
    ring_in = inside & ~cv2.erode(inside, np.ones((25, 25), np.uint8)) & mask
    if ring_out.sum() == 0 or ring_in.sum() == 0:
        return None
    if np.median(paper[ring_in > 0]) - np.median(paper[ring_out > 0]) < 25:
        return None
    return contour[:, 0, :].astype(float)


def _straight_pieces(contour: np.ndarray, shape: tuple[int, ...]) -> list[np.ndarray] | None:
    """The contour's points split among four sides in order, border points and corners dropped; None when there are not four."""
    h, w = shape[:2]
    inner = (contour[:, 0] > 3) & (contour[:, 0] < w - 4) & (contour[:, 1] > 3) & (contour[:, 1] < h - 4)
    n = len(contour)
    step = max(8, n // 120)
    tangent = np.roll(contour, -step, 0) - np.roll(contour, step, 0)
    length = np.hypot(*tangent.T)
    angle = np.arctan2(tangent[:, 1], tangent[:, 0])
    free = inner.copy()
    chosen: list[tuple[float, np.ndarray]] = []
    diagonal = float(np.hypot(h, w))
    # a side bows by the lens: points within a band round a chord and running its way belong together
    for _ in range(6):
        best: np.ndarray | None = None
        index = np.flatnonzero(free & (length > step))
        if len(index) < 30:
            break
        for seed in index[:: max(1, len(index) // 60)]:
            d = np.array([np.cos(angle[seed]), np.sin(angle[seed])])
            off = (contour - contour[seed]) @ np.array([-d[1], d[0]])
            turn = np.abs(np.angle(np.exp(1j * (angle - angle[seed]))))
            member = free & (np.abs(off) < 0.012 * diagonal) & (turn < 0.17)
            if best is None or member.sum() > best.sum():
                best = member
        if best is None or best.sum() < 0.08 * diagonal:
            break
        side = contour[best]
        member, fitted = _grow_side(contour, free, angle, side, diagonal)
        chosen.append((fitted, contour[member]))
        free &= ~member
        mid = side.mean(0)
        free &= ~((np.abs((contour - mid) @ _normal_of(side)) < 0.015 * diagonal) & ~member)
    if len(chosen) < 4:
        return None
    sides = sorted(sorted((c[1] for c in chosen), key=lambda s: -_extent(s))[:4],
                   key=lambda s: np.arctan2(*(s.mean(0) - contour.mean(0))[::-1]))
    return sides


def _extent(side: np.ndarray) -> float:
    return float(np.hypot(*np.ptp(side, axis=0)))


def _normal_of(side: np.ndarray) -> np.ndarray:
    _, _, vt = np.linalg.svd(side - side.mean(0), full_matrices=False)
    return np.array([-vt[0, 1], vt[0, 0]])


def _grow_side(contour: np.ndarray, free: np.ndarray, angle: np.ndarray, side: np.ndarray,
               diagonal: float) -> tuple[np.ndarray, float]:
    """Members of the side that a parabola through it explains to within 2 px."""
    member = free & False
    for _ in range(3):
        mid, normal = side.mean(0), _normal_of(side)
        along = np.array([normal[1], -normal[0]])
        s, t = (side - mid) @ along, (side - mid) @ normal
        curve = np.polyfit(s, t, 2)
        s_all, t_all = (contour - mid) @ along, (contour - mid) @ normal
        turn = np.abs(np.angle(np.exp(2j * (angle - np.arctan2(along[1], along[0]))))) / 2
        reach = (s_all > s.min() - 0.3 * diagonal) & (s_all < s.max() + 0.3 * diagonal)
        member = free & reach & (np.abs(t_all - np.polyval(curve, s_all)) < 2.0) & (turn < 0.2)
        if member.sum() < 20:
            return free & False, 0.0
        side = contour[member]
    return member, float(member.sum())


def _refine_side(grey: np.ndarray, side: np.ndarray) -> np.ndarray:
    """Sub-pixel points along one side, outliers removed.  side: (n, 2) rough pixels."""
    empty = np.empty((0, 2))
    if len(side) < 20:
        return empty
    points = side
    for reach, width in ((6.0, 2.0), (4.0, 1.2)):
        mid, normal = points.mean(0), _normal_of(points)
        along = np.array([normal[1], -normal[0]])
        s, t = (points - mid) @ along, (points - mid) @ normal
        curve = _robust_poly(s, t, 4)
        n = int(np.clip(np.ptp(s) / 6, 60, 500))
        probe_s = np.linspace(s.min(), s.max(), n + 2)[1:-1]
        probes = mid + probe_s[:, None] * along + np.polyval(curve, probe_s)[:, None] * normal
        offset, strength = find_steps(grey, probes, np.broadcast_to(normal, probes.shape), reach, width)
        good = np.isfinite(offset) & (strength > 0.3 * np.median(strength))
        found = probes[good] + offset[good, None] * normal
        if len(found) < 20:
            return empty
        s, t = (found - mid) @ along, (found - mid) @ normal
        residual = t - np.polyval(_robust_poly(s, t, 4), s)
        limit = max(3.5 * 1.4826 * float(np.median(np.abs(residual))), 0.15)
        points = found[np.abs(residual) < limit]
        if len(points) < 20:
            return empty
    return points


def _robust_poly(s: np.ndarray, t: np.ndarray, degree: int) -> np.ndarray:
    """Polynomial through (s, t) with outliers down-weighted."""
    weight = np.ones_like(s)
    scale = max(float(np.abs(s).max()), 1.0)
    curve = np.zeros(degree + 1)
    for _ in range(8):
        curve = np.polyfit(s / scale, t, degree, w=weight)
        r = np.abs(t - np.polyval(curve, s / scale))
        weight = 1 / (1 + (r / max(2 * 1.4826 * float(np.median(r)), 0.05)) ** 2)
    return curve / scale ** np.arange(degree, -1, -1)


def _scatter(side: np.ndarray) -> float:
    mid, normal = side.mean(0), _normal_of(side)
    s, t = (side - mid) @ np.array([normal[1], -normal[0]]), (side - mid) @ normal
    return 1.4826 * float(np.median(np.abs(t - np.polyval(_robust_poly(s, t, 4), s))))


def _line_through(side: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return side.mean(0), _normal_of(side)


def _meet(a: tuple[np.ndarray, np.ndarray], b: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
    m = np.array([a[1], b[1]])
    return np.linalg.solve(m, np.array([a[1] @ a[0], b[1] @ b[0]])) if abs(np.linalg.det(m)) > 1e-6 else np.array([np.nan, np.nan])
