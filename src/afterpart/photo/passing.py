"""What is as bright as the face only in passing: between a dark wall and a light table brightness goes through the face's.

Words: a *thread* is such a place along an edge, a few pixels wide; a *band* a wide one, on the floor of an opening whose shade
fades slowly.  Face proper scatters about its level and slopes nowhere steadily through it.
Limits: where shade rests at the face's level, brightness alone tells nothing; hue.py may.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

THREAD_SCATTER, THREAD_STEEP, LEAST_THREAD = 1.8, 1.5, 20
"""By the face's own scatter and steepness, and px: beyond them a narrow piece is no face."""

PASSING_SOFT, PASSING_SLOPE, PASSING_ENDS, LEAST_PASSING = 2.0, 3.0, 1.5, 15
"""Blur in px of half the view under which the face is even: where it slopes by more than so many times its usual slope, and runs
from so many scatters below its level to as many above, over so many px, it is the table in fading shade."""


def without_threads(level: np.ndarray, off: np.ndarray, steep: np.ndarray) -> np.ndarray:
    """The face (h, w) without the lines between wall and table that are as bright as it only in passing.

    off: brightness less the face's, by its scatter; steep: by the usual steepness.  A narrow piece of true face scatters no more
    than the rest."""
    wide = cv2.morphologyEx(level, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9)))
    thin = level & (1 - cv2.dilate(wide, np.ones((3, 3), np.uint8)))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(thin, connectivity=8)
    at = np.flatnonzero(thin)
    own, off, steep = labels.ravel()[at], off.ravel()[at], steep.ravel()[at]
    inside = np.maximum(np.bincount(own, minlength=count), 1).astype(float)
    mean, square, slope = (np.bincount(own, v, count) / inside for v in (off, off * off, steep))
    passing = (np.sqrt(np.maximum(square - mean * mean, 0.0)) > THREAD_SCATTER) & (slope > THREAD_STEEP)
    passing &= stats[:, cv2.CC_STAT_AREA] >= LEAST_THREAD
    passing[0] = False
    return level & ~passing.astype(np.uint8)[labels] & 1


def passing_bands(level: np.ndarray, off: np.ndarray) -> np.ndarray:
    """1 where what is as bright as the face (h, w) is so only in passing, over a wide band: the table seen through an opening, on
    its way from shade to light.

    off: brightness less the face's, by its scatter.  Face slopes nowhere steadily from below its level to above it."""
    share = cv2.resize(level.astype(np.float32), None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    value = cv2.resize((off * level).astype(np.float32), share.shape[::-1], interpolation=cv2.INTER_AREA)
    even = cv2.GaussianBlur(value, (0, 0), PASSING_SOFT) / np.maximum(cv2.GaussianBlur(share, (0, 0), PASSING_SOFT), 0.05)
    slope = cv2.magnitude(cv2.Sobel(even, cv2.CV_32F, 1, 0), cv2.Sobel(even, cv2.CV_32F, 0, 1))
    inside = share > 0.5
    if not inside.any():
        return np.zeros_like(level)
    sloping = (inside & (slope > PASSING_SLOPE * float(np.median(slope[inside])))).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(sloping, connectivity=8)
    passing = np.zeros(count, np.uint8)
    for k in np.flatnonzero(stats[:, cv2.CC_STAT_AREA] >= LEAST_PASSING)[1:]:
        col, row, width, height = stats[k, :4]
        own = labels[row:row + height, col:col + width] == k
        low, high = np.quantile((value / np.maximum(share, 0.5))[row:row + height, col:col + width][own], (0.1, 0.9))
        passing[k] = low < -PASSING_ENDS and high > PASSING_ENDS
    return cv2.resize(passing[labels], level.shape[::-1], interpolation=cv2.INTER_NEAREST)
