"""What a part's own regularity tells of the camera: round holes are round, straight edges straight, and most edges run square.

Used where the reference knows the tilt poorly (two points, a calliper, a short rule, nothing).  A part need not be regular:
every statement is weighed robustly, and edges only count as parallel or square when they nearly are.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.adjust import Observations
from afterpart.photo.projection import project_plane

NEARLY_DEG = 2.0
"""Edges within this of parallel or square, before the tilt is known, are taken to be meant so."""


@dataclass(frozen=True)
class Straight:
    """Points (n, 2) of one straight run of a rim."""

    points: np.ndarray
    angle_rad: float
    length: float


def straight_runs(points: np.ndarray, tolerance: float, least: float) -> list[Straight]:
    """Straight stretches of a closed chain (n, 2): longer than `least`, straight to `tolerance` (robust), ends trimmed."""
    n = len(points)
    spacing = float(np.median(np.hypot(*np.diff(points, axis=0).T)))
    window = max(6, int(least / spacing))
    if window > n // 3:
        return []
    runs: list[Straight] = []
    doubled = np.concatenate([points, points])
    at, used = 0, 0
    while at < n and used < n:
        stop = at + window
        if not _is_straight(doubled[at:stop], tolerance):
            at += max(2, window // 6)
            continue
        step = max(2, window // 4)
        while stop + step - at <= n and _is_straight(doubled[at:stop + step], tolerance):
            stop += step
        trim = max(2, window // 8)
        piece = doubled[at + trim:stop - trim]
        _, _, vt = np.linalg.svd(piece - piece.mean(0), full_matrices=False)
        runs.append(Straight(piece, float(np.arctan2(vt[0, 1], vt[0, 0]) % np.pi), float(np.hypot(*(piece[-1] - piece[0])))))
        used += stop - at
        at = stop
    return runs


def _is_straight(points: np.ndarray, tolerance: float) -> bool:
    centred = points - points.mean(0)
    xx, yy, xy = (centred[:, i] @ centred[:, k] for i, k in ((0, 0), (1, 1), (0, 1)))
    angle = 0.5 * np.arctan2(2 * xy, xx - yy)
    off = centred[:, 1] * np.cos(angle) - centred[:, 0] * np.sin(angle)
    size = np.sort(np.abs(off))
    if 1.4826 * _middle(size) >= tolerance or np.interp(0.95 * (len(size) - 1), np.arange(len(size)), size) >= 4 * tolerance:
        return False
    third = len(off) // 3
    # a shallow arc passes a scatter test: its thirds do not
    first, inner, last = (_middle(np.sort(part)) for part in (off[:third], off[third:-third], off[-third:]))
    return bool(abs(inner - 0.5 * (first + last)) < 1.2 * tolerance)


def _middle(ordered: np.ndarray) -> float:
    """Median of ordered values."""
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2


def part_regularities(camera: Camera, height: float, outers: Sequence[np.ndarray], rounds: Sequence[tuple[np.ndarray, float]],
                      px: float, nearly_deg: float = NEARLY_DEG) -> list[Observations]:
    """Observations from rims in mm of the face's plane.  outers: closed chains with straight runs; rounds: (points (n, 2),
    radius)."""
    out: list[Observations] = []
    u = 0.25 * px
    for points, radius in rounds:
        seen = project_plane(camera, points[:: max(1, len(points) // 48)], height)
        out.append(_circle(seen, points.mean(0), radius, height, u * 1.5))
    runs = [run for chain in outers for run in straight_runs(chain, 0.4 * px,
                                                             max(40 * px, 0.04 * float(np.ptp(chain, axis=0).max())))]
    if len(runs) >= 2:
        lead = max(runs, key=lambda r: r.length)
        group = [(r, square) for r in runs for square in (False, True)
                 if abs(np.angle(np.exp(2j * (r.angle_rad - lead.angle_rad - square * np.pi / 2)))) / 2 < np.radians(nearly_deg)]
        if len(group) >= 2:
            out.append(_squared(camera, height, group, lead.angle_rad, u))
    return out


def _circle(seen: np.ndarray, centre: np.ndarray, radius: float, height: float, u: float) -> Observations:
    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return np.hypot(xy[:, 0] - unknown[0], xy[:, 1] - unknown[1]) - unknown[2]
    return Observations("round", height, seen, (float(centre[0]), float(centre[1]), radius), (np.inf,) * 3, residual, u)


def _squared(camera: Camera, height: float, group: list[tuple[Straight, bool]], angle: float, u: float) -> Observations:
    """Straight runs along one direction or square to it: unknowns are the direction and one offset a run."""
    thin = [r.points[:: max(1, len(r.points) // 40)] for r, _ in group]
    seen = project_plane(camera, np.concatenate(thin), height)
    which = np.concatenate([np.full(len(p), i) for i, p in enumerate(thin)])
    square = np.array([s for _, s in group])

    def across(xy: np.ndarray, turn: float) -> np.ndarray:
        d = np.array([np.cos(turn), np.sin(turn)])
        return np.where(square[which], xy @ d, xy @ np.array([-d[1], d[0]]))

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return across(xy, unknown[0]) - unknown[1:][which]

    values = across(np.concatenate(thin), angle)
    offsets = [float(values[which == i].mean()) for i in range(len(thin))]
    return Observations("square", height, seen, (angle, *offsets), (np.inf,) * (len(thin) + 1), residual, u)
