"""Closed strips in the face where a low wall runs: pieced together where the shade of the wall is too thin to be seen as one.

A wall of a millimetre or two leaves a strip of shade a few pixels wide, broken where the light runs along it.  Scraps of it lie
in one line and close round an island of face; a scratch or speck does not.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

JOINS = (3, 7, 13, 21, 35, 55)
"""Scraps this far apart are joined, px of the view; the first that closes a strip holds."""

LEAST_SPECK = 6
"""Fewer pixels that are no face are noise."""

SOLID, THICK = 0.8, 14.0
"""What fills this share of its hull and is as thick somewhere (px of the view) is an opening, no scrap of a strip."""

LEAST_REACH = 0.16
"""A ring's shorter side is at least this share of the view's longer one: a smaller ring is a hole whose floor is as bright as the
face, of which only the wall shows."""

THIN = 24.0
"""Greatest mean width of a ring of scraps, px of the view."""

COVERED, NEAR = 0.75, 4.0
"""Share of the strip's length along which scraps lie within NEAR px."""

LEVEL_ISLAND = 0.85
"""Share of the island that is face as the rest is."""

LEAST_ISLAND = 0.25
"""Share of the area within a strip that its island has."""


@dataclass(frozen=True)
class Ring:
    """outer, island: contours (n, 1, 2) in px of the view; island None for a strip that is not closed."""

    outer: np.ndarray
    island: np.ndarray | None


def joined_rings(inside: np.ndarray, level: np.ndarray, edge: np.ndarray, taken: np.ndarray) -> tuple[list[Ring], np.ndarray]:
    """Rings pieced together of thin scraps, and the pixels (h, w) that belong to them.

    inside: (h, w) 1 within the outer contour; level: where the face shows; edge: along the contour; taken: what is an opening or
    a ring already."""
    scraps = _scraps(inside & (1 - level) & (1 - taken), edge)
    belongs = np.zeros_like(inside)
    found: list[Ring] = []
    if not _is_promising(scraps):
        return found, belongs
    for reach in JOINS:
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))
        joined = cv2.morphologyEx(scraps & (1 - belongs), cv2.MORPH_CLOSE, kernel)
        count, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
        for k in range(1, count):
            if min(stats[k, cv2.CC_STAT_WIDTH], stats[k, cv2.CC_STAT_HEIGHT]) < LEAST_REACH * max(inside.shape):
                continue
            strip = (labels == k).astype(np.uint8)
            ring = _ring_of(strip, scraps, level)
            if ring is not None:
                found.append(ring)
                belongs |= cv2.dilate(strip, np.ones((5, 5), np.uint8))
    return found, belongs


def _scraps(dark: np.ndarray, edge: np.ndarray) -> np.ndarray:
    """What is no face (h, w), without noise, without what is as solid as an opening, without what hangs on the outline."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(dark, connectivity=8)
    keep = np.zeros(count, np.uint8)
    keep[1:] = stats[1:, cv2.CC_STAT_AREA] >= LEAST_SPECK
    keep[np.unique(labels[(edge > 0) & (dark > 0)])] = 0
    deep = cv2.distanceTransform(dark, cv2.DIST_L2, 3) > 0.5 * THICK
    for k in np.unique(labels[deep]):
        contours, _ = cv2.findContours((labels == k).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        if stats[k, cv2.CC_STAT_AREA] > SOLID * cv2.contourArea(cv2.convexHull(contours[0])):
            keep[k] = 0
    keep[0] = 0
    return keep[labels]


def _is_promising(scraps: np.ndarray) -> bool:
    """Whether any scrap is long enough for a wall's: most faces have none."""
    count, _, stats, _ = cv2.connectedComponentsWithStats(scraps, connectivity=8)
    least = 0.25 * LEAST_REACH * max(scraps.shape)
    return bool(count > 1 and stats[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max() >= least)


def _ring_of(strip: np.ndarray, scraps: np.ndarray, level: np.ndarray) -> Ring | None:
    """The strip (h, w) as a ring, if it is thin, closes round an island of face, and scraps make up most of it."""
    contours, tree = cv2.findContours(strip, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outer = max(contours, key=cv2.contourArea)
    islands = [c for c, t in zip(contours, tree[0], strict=True) if t[3] >= 0]
    island = max(islands, key=cv2.contourArea, default=None)
    if island is None or cv2.contourArea(island) < LEAST_ISLAND * cv2.contourArea(outer):
        return None
    length = 0.5 * (cv2.arcLength(outer, True) + cv2.arcLength(island, True))
    if float(strip.sum()) > THIN * length:
        return None
    within = np.zeros_like(strip)
    cv2.drawContours(within, [island], -1, 1, -1)
    if float((level & within).sum()) < LEVEL_ISLAND * float(within.sum()):
        return None
    away = cv2.distanceTransform(1 - scraps, cv2.DIST_L2, 3)
    column, row = island[:, 0].T
    return Ring(outer, island) if float((away[row, column] < NEAR).mean()) >= COVERED else None
