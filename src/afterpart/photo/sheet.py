"""The four sides of a sheet of paper under the part.

A *side* is a chain of sub-pixel points along one straight edge of the paper.  Corners need not be in the picture: each side is
fitted by itself, and whatever crosses it (a rule, the part, the picture's border) leaves a gap.  Sides may be out
of the picture altogether as long as two opposite ones are in it.  Only the region brighter than its surroundings is looked for;
a dark sheet on a light desk is not.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.geometry.robust import median
from afterpart.photo.edgeprofile import find_steps

WORK_PX = 1000
"""Longest side of the reduced picture in which the sheet is looked for."""


SIDE_SHARE = 0.25
"""Share of the longest straight edge facing one way that a farther one must have to be the sheet's side rather than a thing
across it."""


@dataclass(frozen=True)
class SheetSides:
    """sides: four arrays (n_i, 2) of pixels in order round the sheet, empty where a side is out of the picture;
    u_px: scatter of those points; corners: (4, 2) px, corner i between side i - 1 and side i; beside a side that is out of the
    picture they are put beyond the picture's border, on the lines of the others.  by_hand: sides that do not show and are two
    corners put by hand; hand_u_px: standard uncertainty of those."""

    sides: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]
    u_px: float
    corners: np.ndarray
    by_hand: tuple[int, ...] = ()
    hand_u_px: float = 0.0

    @property
    def seen(self) -> tuple[int, ...]:
        """Which sides are in the picture."""
        return tuple(i for i in range(4) if len(self.sides[i]))


def find_sheet(light: np.ndarray, small: np.ndarray, scale: float) -> SheetSides | None:
    """The sheet in an upright picture (light (h, w) float32; small (., ., 3) uint8, reduced by `scale`), or None when there is
    none.

    At least two opposite sides must be in the picture."""
    more = WORK_PX / max(small.shape[:2])
    if more < 1:
        small, scale = cv2.resize(small, None, fx=more, fy=more, interpolation=cv2.INTER_AREA), scale * more
    contour = _bright_region(small)
    if contour is None:
        return None
    refined: list[np.ndarray] = []
    for piece in _four_ways(_straight_pieces(contour, small.shape)):
        points = refine_side(light, (piece + 0.5) / scale) if len(piece) else piece
        refined.append(points if len(points) >= 30 else np.empty((0, 2)))
    seen = [i for i, side in enumerate(refined) if len(side)]
    if not ({0, 2} <= set(seen) or {1, 3} <= set(seen)):
        return None
    scatter = float(np.median([scatter_of(refined[i]) for i in seen]))
    return SheetSides(tuple(refined), max(scatter, 0.02), corners_of_sides(refined, light.shape))  # type: ignore[arg-type]


def corners_of_sides(sides: list[np.ndarray], shape: tuple[int, ...]) -> np.ndarray:
    """Corners (4, 2) where the sides' lines meet; a side that is not seen is put just beyond the picture, along its opposite."""
    lines = [_line_through(side) if len(side) else None for side in sides]
    frame = np.array([[0.0, 0.0], [shape[1], 0.0], [shape[1], shape[0]], [0.0, shape[0]]])
    for i, line in enumerate(lines):
        if line is None:
            ways = [lines[k] for k in ((i + 1) % 4, (i - 1) % 4)]
            # both neighbours run towards the missing side
            a, b = (np.array([w[1][1], -w[1][0]]) for w in ways if w is not None)
            towards = a + (b if a @ b > 0 else -b)
            towards /= np.hypot(*towards)
            others = np.concatenate([s for s in sides if len(s)])
            facing = lines[(i + 2) % 4]
            if facing is not None:
                sign = np.sign((others.mean(0) - facing[0]) @ towards)
            else:
                # two opposite sides alone: they come in order round the sheet
                sign = 1.0 if _cross(sides[(i + 1) % 4].mean(0) - sides[(i - 1) % 4].mean(0), towards) < 0 else -1.0
            reach = float((sign * frame @ towards).max()) + 0.02 * float(max(shape))
            lines[i] = (sign * towards * reach, towards)
    known = [line for line in lines if line is not None]
    return np.array([_meet(known[i - 1], known[i]) for i in range(4)])


def _cross(a: np.ndarray, b: np.ndarray) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _paperness(small: np.ndarray) -> np.ndarray:
    """Bright and colourless: brightness less saturation is the least of the three channels; uint8."""
    blue, green, red = cv2.split(small)
    return cv2.min(cv2.min(blue, green), red)


def _bright_region(small: np.ndarray) -> np.ndarray | None:
    """Outer contour (n, 2) of the largest paper-like region, or None.

    Two brightnesses split the picture into paper and the rest; where a large dark part makes the split fall between the part and
    all else, what is brighter is split once more."""
    paper = cv2.GaussianBlur(_paperness(small), (0, 0), 1.5)
    level, _ = cv2.threshold(paper, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    contour = _bright_contour(paper, level)
    if contour is None:
        brighter = paper[paper > level].reshape(-1, 1)
        if len(brighter) > 0:
            contour = _bright_contour(paper, cv2.threshold(brighter, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)[0])
    return contour


def _bright_contour(paper: np.ndarray, level: float) -> np.ndarray | None:
    """Outer contour (n, 2) of the largest region brighter than `level`, if it is as large as a sheet and stands out."""
    mask = cv2.threshold(paper, level, 255, cv2.THRESH_BINARY)[1]
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


def _straight_pieces(contour: np.ndarray, shape: tuple[int, ...]) -> list[tuple[np.ndarray, float]]:
    """Straight stretches of the contour, longest first, border points and corners dropped; each with the angle of the way it
    faces, from the region outwards."""
    h, w = shape[:2]
    inner = (contour[:, 0] > 3) & (contour[:, 0] < w - 4) & (contour[:, 1] > 3) & (contour[:, 1] < h - 4)
    n = len(contour)
    step = max(8, n // 120)
    tangent = np.roll(contour, -step, 0) - np.roll(contour, step, 0)
    length = np.hypot(*tangent.T)
    angle = np.arctan2(tangent[:, 1], tangent[:, 0])
    free = inner.copy()
    turned = 1.0 if cv2.contourArea(contour.astype(np.float32), oriented=True) > 0 else -1.0
    chosen: list[tuple[np.ndarray, float]] = []
    diagonal = float(np.hypot(h, w))
    # a side bows by the lens: points within a band round a chord and running its way belong together
    for _ in range(8):
        coarse, most, chosen_seed = free[::3], 0, 0
        index = np.flatnonzero(free & (length > step))
        if len(index) < 30:
            break
        for seed in index[:: max(1, len(index) // 60)]:
            along = coarse & _along(contour[::3], angle[::3], contour[seed], angle[seed], 0.012 * diagonal)
            if along.sum() > most:
                most, chosen_seed = int(along.sum()), int(seed)
        best = free & _along(contour, angle, contour[chosen_seed], angle[chosen_seed], 0.012 * diagonal)
        if best.sum() < 0.08 * diagonal:
            break
        side = contour[best]
        member = _grow_side(contour, free, angle, side, diagonal)
        if member.any():
            way = turned * (tangent[member] / length[member, None]).mean(0)
            chosen.append((contour[member], float(np.arctan2(-way[0], way[1]))))
        free &= ~member
        mid = side.mean(0)
        free &= ~((np.abs((contour - mid) @ _normal_of(side)) < 0.015 * diagonal) & ~member)
    return sorted(chosen, key=lambda c: -_extent(c[0]))


def _along(points: np.ndarray, angles: np.ndarray, seed: np.ndarray, angle: float, band: float) -> np.ndarray:
    """Which points (n, 2) with these tangent angles lie on the line through the seed and run its way."""
    off = (points[:, 1] - seed[1]) * np.cos(angle) - (points[:, 0] - seed[0]) * np.sin(angle)
    # 0.17 radians either way
    return (np.abs(off) < band) & (np.cos(angles - angle) > 0.9856)


def _four_ways(pieces: list[tuple[np.ndarray, float]]) -> list[np.ndarray]:
    """One piece for each of the four ways the sheet's edges face, clockwise as seen from the way nearest to the picture's left
    and up; empty where none is.  Of several facing one way the outermost counts: a part that lies across the edge makes inner
    ones."""
    ways: dict[int, list[np.ndarray]] = {}
    first = pieces[0][1] if pieces else 0.0
    for piece, facing in pieces:
        turn = float(np.angle(np.exp(1j * (facing - first)))) / (np.pi / 2)
        if abs(turn - round(turn)) < 0.35:
            ways.setdefault(round(turn) % 4, []).append(piece)
    out = []
    for way in range(4):
        angle = first + way * np.pi / 2
        outward = np.array([np.cos(angle), np.sin(angle)])
        group = [p for p in ways.get(way, []) if _extent(p) > SIDE_SHARE * _extent(ways[way][0])]
        out.append((angle, outward, max(group, key=lambda p: float(p.mean(0) @ outward)) if group else np.empty((0, 2))))
    for (_, outward, a), (_, _, b) in (out[::2], out[1::2]):
        # edges that face each other bound a gap in something bright, not a sheet
        if len(a) and len(b) and (a.mean(0) - b.mean(0)) @ outward < 0:
            return [np.empty((0, 2))] * 4
    out.sort(key=lambda w: float(np.angle(np.exp(1j * w[0]))))
    return [piece for _, _, piece in out]


def _extent(side: np.ndarray) -> float:
    return float(np.hypot(*np.ptp(side, axis=0)))


def _normal_of(side: np.ndarray) -> np.ndarray:
    _, _, vt = np.linalg.svd(side - side.mean(0), full_matrices=False)
    return np.array([-vt[0, 1], vt[0, 0]])


def _grow_side(contour: np.ndarray, free: np.ndarray, angle: np.ndarray, side: np.ndarray,
               diagonal: float) -> np.ndarray:
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
            return free & False
        side = contour[member]
    return member


def refine_side(grey: np.ndarray, side: np.ndarray) -> np.ndarray:
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
        limit = max(3.5 * 1.4826 * median(np.abs(residual)), 0.15)
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
        weight = 1 / (1 + (r / max(2 * 1.4826 * median(r), 0.05)) ** 2)
    return curve / scale ** np.arange(degree, -1, -1)


def scatter_of(side: np.ndarray) -> float:
    """How far points (n, 2) along a side lie from a smooth curve through them, px."""
    mid, normal = side.mean(0), _normal_of(side)
    s, t = (side - mid) @ np.array([normal[1], -normal[0]]), (side - mid) @ normal
    return 1.4826 * float(np.median(np.abs(t - np.polyval(_robust_poly(s, t, 4), s))))


def _line_through(side: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return side.mean(0), _normal_of(side)


def _meet(a: tuple[np.ndarray, np.ndarray], b: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
    m = np.array([a[1], b[1]])
    return np.linalg.solve(m, np.array([a[1] @ a[0], b[1] @ b[0]])) if abs(np.linalg.det(m)) > 1e-6 else np.array([np.nan,
                                                                                                                   np.nan])
