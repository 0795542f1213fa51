"""What belongs together: equal holes, holes on a pitch circle, concentric curves.  Found in the measured state, with its
errors.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.outline.part import Part
from afterpart.outline.quantities import Quantity, spread


@dataclass(frozen=True)
class PitchCircle:
    """rows: circles in order of angle; bore: the row of a circle at its centre or None; start_rad: angle of the first hole."""

    rows: tuple[int, ...]
    bore: int | None
    center: tuple[float, float]
    radius: float
    start_rad: float
    u: float


def deviation(part: Part, quantity: Quantity, floor: float = 0.004) -> tuple[float, float]:
    """Value of a quantity and its standard uncertainty (never below the floor)."""
    value, variance = spread(quantity, part.is_arc, part.state, part.covariance)
    return value, math.sqrt(variance + floor * floor)


def equal_groups(part: Part, rows: list[int], share: float = 0.6, range_: float = 2.0) -> list[list[int]]:
    """Rows of (nearly) the same radius, in groups: equal unless the difference speaks against it.

    Odds of equal against different: share * N(difference; 0, u) / ((1 - share) / range_).
    """
    order = sorted(rows, key=lambda r: abs(part.state[r, 2]))
    groups: list[list[int]] = []
    for row in order:
        if groups:
            gap, u = deviation(part, Quantity("same_radius", (row, groups[-1][-1])))
            first_gap, first_u = deviation(part, Quantity("same_radius", (row, groups[-1][0])))
            if _odds(gap, u, share, range_) > 1.0 and _odds(first_gap, first_u, share, range_) > 1.0:
                groups[-1].append(row)
                continue
        groups.append([row])
    return groups


def are_likely_equal(gap: float, u: float) -> bool:
    """Whether two radii that differ by so much, known to u, are rather one radius drawn twice than two (odds as above)."""
    return _odds(gap, u, 0.6, 2.0) > 1.0


def _odds(gap: float, u: float, share: float, range_: float) -> float:
    return share / (1.0 - share) * range_ * math.exp(-0.5 * (gap / u) ** 2) / (u * math.sqrt(2.0 * math.pi))


def pitch_circles(part: Part, groups: list[list[int]]) -> list[PitchCircle]:
    """Three or more equal holes at equal angles on one circle, the largest sets first; no hole in two of them."""
    circles = part.circles()
    found: list[PitchCircle] = []
    taken: set[int] = set()
    for group in sorted(groups, key=len, reverse=True):
        if len(group) < 3:
            continue
        centers = part.state[group, :2]
        tries: list[tuple[np.ndarray, int | None]] = [(part.state[r, :2], r) for r in circles if r not in group]
        tries.append((centers.mean(axis=0), None))
        options = []
        for center, bore in tries:
            reach = np.hypot(*(centers - center).T)
            for start in sorted(set(np.round(reach, 1))):
                inside = [group[i] for i in range(len(group)) if abs(reach[i] - start) < 0.3]
                circle = _equally_spaced(part, inside, center, bore) if len(inside) >= 3 else None
                if circle:
                    options.append(circle)
        for circle in sorted(options, key=lambda c: (-len(c.rows), c.bore is None, c.u)):
            if not taken & set(circle.rows):
                taken |= set(circle.rows)
                found.append(circle)
    return found


def _equally_spaced(part: Part, rows: list[int], center: np.ndarray, bore: int | None) -> PitchCircle | None:
    """The pitch circle of these holes if they stand at equal angles and equal distance within their errors."""
    count = len(rows)
    gap = part.state[rows, :2] - center
    angle = np.arctan2(gap[:, 1], gap[:, 0])
    order = np.argsort(angle)
    rows = [rows[i] for i in order]
    steps = np.diff(np.concatenate((angle[order], angle[order][:1] + 2.0 * math.pi)))
    radius = float(np.hypot(*gap.T).mean())
    if radius < 1e-6 or np.abs(steps - 2.0 * math.pi / count).max() * radius > 0.6:
        return None
    start = float(
        angle[order][0]
        + np.angle(np.mean(np.exp(1j * (angle[order] - angle[order][0] - np.arange(count) * 2.0 * math.pi / count))))
    )
    at = start + np.arange(count) * 2.0 * math.pi / count
    design = np.column_stack((np.cos(at), np.sin(at)))
    points = part.state[rows, :2]
    for _ in range(3):
        middle = points.mean(axis=0)
        local = points - middle
        radius = float((local * design).sum() / count)
        turn = float((local[:, 1] * design[:, 0] - local[:, 0] * design[:, 1]).sum() / (count * radius))
        start += turn
        at = start + np.arange(count) * 2.0 * math.pi / count
        design = np.column_stack((np.cos(at), np.sin(at)))
    u = math.sqrt(np.mean([part.covariance[3 * r, 3 * r] + part.covariance[3 * r + 1, 3 * r + 1] for r in rows]) / 2.0 + 0.006**2)
    local_u = min(u, 0.05)
    middle = points.mean(axis=0)
    off = points - middle - radius * design
    if np.abs(off).max() > 4.0 * local_u:
        return None
    if bore is not None and np.hypot(*(middle - part.state[bore, :2])) > 5.0 * local_u:
        return None
    return PitchCircle(tuple(rows), bore, (float(middle[0]), float(middle[1])), radius, start, u / math.sqrt(count))


def concentric_rows(part: Part, tolerance: float = 0.3) -> list[tuple[int, int]]:
    """(arc or circle, circle) pairs whose centres agree within their errors; each row once, with the nearest circle before it."""
    circles = part.circles()
    pairs = []
    for row in np.flatnonzero(part.is_arc):
        best: tuple[float, int] | None = None
        for circle in circles:
            if circle == row or (row in circles and circle > row):
                continue
            if math.hypot(*(part.state[row, :2] - part.state[circle, :2])) >= tolerance:
                continue
            dx, ux = deviation(part, Quantity("same_x", (int(row), circle)))
            dy, uy = deviation(part, Quantity("same_y", (int(row), circle)))
            z = math.hypot(dx / ux, dy / uy)
            if z < 3.0 and max(ux, uy) < 0.25 and (best is None or z < best[0]):
                best = z, circle
        if best:
            pairs.append((int(row), best[1]))
    return pairs
