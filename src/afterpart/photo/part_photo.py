"""The photograph of the part for release: cut to the part, made smaller, encoded anew, with the places that balloons mean.

Conventions: pixel centres at .5; the picture's own tags (place, time, camera) are not carried over: only pixels are.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Mapping

import cv2
import numpy as np

from afterpart.geometry.segments import loop_points
from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Outline, Point
from afterpart.model.release import PartPhoto
from afterpart.photo.load import Picture
from afterpart.photo.overlay import picture_px

LONGEST_PX = 1800
QUALITY = 88
_MARGIN = 0.06
"""Kept round the part, as a share of its longer side."""


def part_photo(picture: Picture, edges: EdgeMap, outline: Outline, places: Mapping[str, Point]) -> PartPhoto:
    """places: by name, in the drawing's frame.  ValueError: the camera is not known, so that nothing can be placed."""
    if edges.camera is None or not outline.design:
        raise ValueError("a photograph with balloons needs the camera it was measured with, and an outline")
    rims = np.concatenate([picture_px(edges, outline, loop_points(loop, 0.1)) for loop in outline.design])
    low, high = rims.min(0), rims.max(0)
    margin = _MARGIN * float((high - low).max())
    rows, columns = picture.colour.shape[:2]
    x0, y0 = np.maximum(low - margin, 0).astype(int)
    x1, y1 = np.minimum(high + margin, [columns, rows]).astype(int)
    crop = picture.colour[y0:y1, x0:x1]
    scale = min(1.0, LONGEST_PX / max(crop.shape[:2]))
    small = cv2.resize(crop, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    height, width = small.shape[:2]
    jpeg = cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, QUALITY])[1].tobytes()
    spots = picture_px(edges, outline, np.array(list(places.values())).reshape(-1, 2)) - (x0, y0)
    spots *= (width / (x1 - x0), height / (y1 - y0))
    return PartPhoto(jpeg, width, height, tuple((name, float(x), float(y)) for name, (x, y) in zip(places, spots, strict=True)))
