"""A sheet whose corners the maker has pointed out: its sides where they show, else straight from corner to corner.

A side *shows* when, within REACH of the line between its corners, enough places see a step of brightness of one kind that lie on
one shallow curve (a lens bows straight lines).  Then it is measured there as any other sheet's.  One that does not show (white
paper on a white table, a thing laid along it) is taken as its two corners, each good to CLICK_U_PX.
Limits: what shows best along the line is taken for the paper's edge; a rule laid along it, nearer than REACH, may be.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from afterpart.errors import PhotoError
from afterpart.geometry.quad import Point, in_order
from afterpart.photo.edgeprofile import find_steps
from afterpart.photo.sheet import SheetSides, corners_of_sides, refine_side, scatter_of

CLICK_U_PX = 2.0
"""Standard uncertainty of a corner put by hand in px: paper's corners are worn and bent, hands shake; judgement."""

REACH_SHARE, LEAST_REACH_PX = 0.004, 10.0
"""How far from the line between the corners a side is looked for: a share of the picture's diagonal, at least so many px."""

ENDS = 0.04
"""Share of a side left out at each end, where corners are bent."""

SIGMA_PX = 2.0
ALIKE_PX = 1.5
"""Steps this near to one curve belong to it."""

LEAST_SHARE, LEAST_EXTENT = 0.35, 0.6
"""Of the places looked at, how many must lie on the curve, and along how much of the side; by chance a twentieth does."""

LEAST_STEP = 0.8
"""Weakest step in grey levels of light per px that is looked at; noise of a phone's picture makes half of it."""

LEAST_POINTS = 30
SEEDS = 14
"""Places a third of a side from which curves are tried."""


def sides_from_corners(light: np.ndarray, corners: Sequence[Point]) -> SheetSides:
    """The sheet with these corners (column, row) in any order; light: (h, w) float32.

    Raises PhotoError for a corner outside the picture."""
    height, width = light.shape
    for x, y in corners:
        if not (0 <= x <= width and 0 <= y <= height):
            raise PhotoError(f"photo.sheet_corners_px: found a corner at ({x:g}, {y:g}), expected it in the picture, 0 to "
                             f"{width} across and 0 to {height} down. Point out all four corners, or use a rule instead.")
    placed = _from_the_left(np.array(in_order(corners), float))
    reach = max(REACH_SHARE * float(np.hypot(height, width)), LEAST_REACH_PX)
    shown = [_side_that_shows(light, placed[k], placed[(k + 1) % 4], reach) for k in range(4)]
    by_hand = tuple(k for k in range(4) if shown[k] is None)
    sides = [side if side is not None else placed[[k, (k + 1) % 4]] for k, side in enumerate(shown)]
    seen = [scatter_of(side) for side in shown if side is not None]
    return SheetSides(tuple(sides), max(float(np.median(seen)), 0.02) if seen else CLICK_U_PX,  # type: ignore[arg-type]
                      corners_of_sides(sides, light.shape), by_hand, CLICK_U_PX)


def _from_the_left(corners: np.ndarray) -> np.ndarray:
    """The corners rolled so that the first side is that whose way outwards comes first, counted from the left upwards: the order
    in which find_sheet tells its sides."""
    run = np.roll(corners, -1, 0) - corners
    outward = np.arctan2(-run[:, 0], run[:, 1])
    return np.roll(corners, -int(np.argmin(outward)), 0)


def _side_that_shows(light: np.ndarray, start: np.ndarray, end: np.ndarray, reach: float) -> np.ndarray | None:
    """Points (n, 2) along the side between two corners, or None when it does not show."""
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    normal = np.array([-along[1], along[0]])
    count = int(np.clip(length / 8, 60, 240))
    place = np.linspace(ENDS, 1 - ENDS, count)
    probes = start + place[:, None] * (end - start)
    best: tuple[int, np.ndarray, np.ndarray] | None = None
    for sign in (1, -1):
        offset, strength = find_steps(light, probes, np.broadcast_to(normal, probes.shape), reach, SIGMA_PX, sign)
        good = np.isfinite(offset) & (strength > LEAST_STEP)
        curve, alike = _common_curve(place[good], offset[good])
        if best is None or len(alike) > best[0]:
            best = (len(alike), curve, alike)
    assert best is not None
    number, curve, alike = best
    if number < LEAST_SHARE * count or np.ptp(alike) < LEAST_EXTENT * (1 - 2 * ENDS):
        return None
    at = np.linspace(alike.min(), alike.max(), max(count, LEAST_POINTS))
    rough = start + at[:, None] * (end - start) + np.polyval(curve, at)[:, None] * normal
    points = refine_side(light, rough)
    return points if len(points) >= LEAST_POINTS else None


def _common_curve(place: np.ndarray, offset: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The parabola that most steps lie on, and the places that do.  place: share of the side's length; offset: px."""
    nothing = np.zeros(3), np.empty(0)
    thirds = [np.flatnonzero((place >= low) & (place < high)) for low, high in ((0, 1 / 3), (1 / 3, 2 / 3), (2 / 3, 1))]
    if min(map(len, thirds)) == 0:
        return nothing
    seeds = np.array(np.meshgrid(*[third[:: max(1, len(third) // SEEDS)] for third in thirds])).reshape(3, -1).T
    terms = np.stack([place[seeds] ** 2, place[seeds], np.ones_like(seeds, float)], axis=-1)
    curves = np.linalg.solve(terms, offset[seeds][..., None])[..., 0]
    all_terms = np.stack([place**2, place, np.ones_like(place)])
    alike = np.abs(curves @ all_terms - offset) < ALIKE_PX
    chosen = alike[int(np.argmax(alike.sum(1)))]
    curve = np.polyfit(place[chosen], offset[chosen], 2)
    return curve, place[np.abs(np.polyval(curve, place) - offset) < ALIKE_PX]
