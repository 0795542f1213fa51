"""Directions a part's drawing may have been laid out in, from its edges, its centres and its symmetry.

Conventions: angles in radians, modulo a right angle.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.outline.features import wide_arcs
from afterpart.outline.part import Part, move_points


def main_direction(part: Part) -> float:
    """The direction most edges agree on (radians, within 45 degrees of the photo's x axis)."""
    return main_directions(part)[0][0]


def main_directions(part: Part) -> list[tuple[float, float]]:
    """Directions the drawing may be laid out in, with their share of the votes, the strongest first.

    Each line votes for its direction modulo a right angle, by length over uncertainty.  Unless nearly all agree, pairs of centres
    are asked too, and the bisectors of the strongest edge directions (an outline may be symmetric without an edge along
    its axis).
    """
    lines = np.flatnonzero(~part.is_arc)
    voted = _clusters(
        [(float(part.state[row, 0]), (max(part.covariance[3 * row, 3 * row], 1e-12) + 1e-8) ** -0.5) for row in lines]
    )
    if voted and voted[0][1] > 0.75 and len(lines) > 2:
        return voted[:1]
    centers = [part.state[row, :2] for row in [*part.circles(), *wide_arcs(part)]]
    pairs = []
    for i, a in enumerate(centers):
        for b in centers[i + 1 :]:
            if np.hypot(*(b - a)) > 1.0:
                pairs.append((math.atan2(b[1] - a[1], b[0] - a[0]), float(np.hypot(*(b - a)))))
    if not voted:
        return _clusters(pairs)[:6] or [(0.0, 1.0)]
    strong = [item for item in voted if item[1] > 0.2][:4]
    bisectors = [
        (_into_quarter(a + 0.5 * float(_quarter_off(np.array(b - a)))), 0.2)
        for n, (a, _) in enumerate(strong)
        for b, _ in strong[n + 1 :]
    ]
    return strong + [(angle, 0.5 * share) for angle, share in _clusters(pairs)[:3]] + bisectors[:3]


def _clusters(votes: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Directions (modulo a right angle) that votes (angle, weight) gather about, with their shares, the largest first."""
    if not votes:
        return []
    angle, vote = np.array(votes).T
    found: list[tuple[float, float]] = []
    left = np.ones(len(angle), bool)
    near = np.abs(_quarter_off(angle[:, None] - angle[None, :])) < math.radians(0.7)
    while left.any() and len(found) < 8:
        total = np.where(left, (near * np.where(left, vote, 0.0)[None, :]).sum(axis=1), -1.0)
        best = int(np.argmax(total))
        mine = near[best] & left
        direction = angle[best] + float(np.average(_quarter_off(angle - angle[best])[mine], weights=vote[mine] ** 2))
        found.append((_into_quarter(direction), float(total[best] / vote.sum())))
        left &= ~mine
    return found


def _into_quarter(angle_rad: float) -> float:
    """The direction modulo a right angle, in (-45, 45] degrees."""
    return math.pi / 4 - (math.pi / 4 - angle_rad) % (math.pi / 2)


def _quarter_off(angle_rad: np.ndarray) -> np.ndarray:
    """Angle modulo a right angle, in [-45, 45) degrees."""
    return np.remainder(angle_rad + math.pi / 4, math.pi / 2) - math.pi / 4


UNSURE_RAD, UNSURE_PLACE = math.radians(1.0), 0.3
"""A line whose direction, or an arc whose centre (mm), is known no better is a bit of a rim that was disturbed: where it ends
says little of symmetry.  But where most corners are such, they are believed."""

CORNER_REACH, UNSURE_REACH = 1.0, 4.0
"""A corner's mirror image lies this near to another corner, mm; to one of a disturbed rim."""


def mirrors(turned: Part, angle_rad: float, tolerance: float = 0.15) -> int:
    """How many of the two axes mirror the part in this direction (0, 1 or 2): outline's corners and all circles, within
    tolerance.
    """
    count = 0
    points, clear = [], []
    for i, chain in enumerate(turned.chains):
        if chain.is_circle:
            row = turned.state[turned.begin[i]]
            points.append(np.array([[row[0], row[1], abs(row[2])]]))
            clear.append(np.ones(1, bool))
        else:
            corners = move_points(chain.corners, (0.0, 0.0), angle_rad)
            points.append(np.column_stack((corners, np.zeros(len(corners)))))
            clear.append(_clear_corners(turned, i))
    everything, is_clear = np.concatenate(points), np.concatenate(clear)
    is_round = everything[:, 2] > 0.0
    outer = np.concatenate([p for p, role in zip(points, turned.roles, strict=True) if role == "outer"] or points)
    # where corners of the outline are disturbed its middle is too: that of the round holes stands in for it
    spans = [outer, *([everything[is_round]] if is_round.any() and not is_clear.all() else [])]
    allowed = np.where(is_round, tolerance, np.where(is_clear, CORNER_REACH, UNSURE_REACH))
    alike = is_round[:, None] == is_round[None, :]
    for axis in (0, 1):
        for span in spans:
            image = everything.copy()
            image[:, axis] = span[:, axis].min() + span[:, axis].max() - image[:, axis]
            gap = np.abs(everything[:, None, :] - image[None, :, :]).max(axis=2)
            if (alike & (gap < allowed)).any(axis=1)[is_clear].all():
                count += 1
                break
    return count


def _clear_corners(part: Part, loop: int) -> np.ndarray:
    """Which corners (k,) of a loop lie between two carriers that are well known; all, where that would leave less than half."""
    rows = slice(part.begin[loop], part.begin[loop] + part.chains[loop].size)
    variance = np.diag(part.covariance).reshape(-1, 3)[rows]
    is_bit = np.where(part.chains[loop].is_arc, variance[:, 0] + variance[:, 1] > UNSURE_PLACE**2, variance[:, 0] > UNSURE_RAD**2)
    clear: np.ndarray = ~(is_bit | np.roll(is_bit, -1))
    return clear if 2 * clear.sum() >= len(clear) else np.ones(len(clear), bool)
