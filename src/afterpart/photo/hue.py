"""Where a part ends for its hue, though the table in shade is as bright as its face.

Words: *hue* is what is left of a colour without its brightness: blue less green, and red less green, in levels of the picture.
Limits: it serves where part and table differ in hue; grey parts on white paper are told by brightness alone (part.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

from afterpart.photo.table import Objects

LEAST_HUE, HUE_SHARE = 14.0, 0.4
"""A part is told from the table by its hue when the two differ by so many levels; what is off the part's by more than this share
of that is no face."""


def off_hue(objects: Objects, rough: np.ndarray, low: np.ndarray, scale: float, shape: tuple[int, ...]) -> np.ndarray:
    """1 where a view (h, w) that begins at pixel `low` has little of the part's hue, though it may be as bright: table in shade.

    rough: the part's contour (n, 2) px.  Hue is what is left of a colour without its brightness.  All 0 where part and table are
    alike, or the picture is grey."""
    bare = (objects.labels[::4, ::4] == 0) & (objects.zone[::4, ::4] > 0)
    table = _hue_of(objects.small[::4, ::4][bare])
    corner = np.maximum(np.floor(low * objects.scale).astype(int) - 2, 0)
    width, height = np.ceil(np.array(shape[::-1]) / scale * objects.scale).astype(int) + 6
    around = objects.small[corner[1]:corner[1] + height, corner[0]:corner[0] + width]
    within = np.zeros(around.shape[:2], np.uint8)
    cv2.drawContours(within, [np.round(rough * objects.scale - corner).astype(np.int32)], -1, 1, -1)
    own = _hue_of(around[cv2.erode(within, np.ones((7, 7), np.uint8)) > 0][::5])
    if not np.linalg.norm(own - table) > LEAST_HUE:
        return np.zeros(shape, np.uint8)
    blue, green, red = (one.astype(np.float32) for one in cv2.split(cv2.GaussianBlur(around, (0, 0), 1.0)))
    off = cv2.magnitude(blue - green - np.float32(own[0]), red - green - np.float32(own[1]))
    step = objects.scale / scale
    start = low * objects.scale - corner + 0.5 * step - 0.5
    view = cv2.warpAffine(off, np.array([[step, 0, start[0]], [0, step, start[1]]]), shape[::-1],
                          flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE)
    return (view > HUE_SHARE * float(np.linalg.norm(own - table))).astype(np.uint8)


def _hue_of(colours: np.ndarray) -> np.ndarray:
    """The usual blue and red less green (2,) of pixels (n, 3), levels; 0 without any."""
    own = colours.reshape(-1, 3).astype(np.int16)
    return np.median(own[:, [0, 2]] - own[:, [1]], axis=0) if len(own) else np.zeros(2)
