"""The camera as it stood over the table.

World frame: x right, y up, z towards the camera, the table is z = 0; mm.
Pixel frame: (column, row) of the upright picture, origin top left, pixel centres at .5.
Camera frame: x right, y down, z forward.  A world point P lies at rotation @ (P - position) in it.
Lens: with (x, y) = (X/Z, Y/Z) * focal_px from the picture's centre and q = (x2 + y2) / (half diagonal)2, the image point
lies at (x, y) * (1 + k1 q + k2 q2).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Camera:
    width_px: int
    height_px: int
    focal_px: float
    k1: float
    k2: float
    rotation: tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]
    position: tuple[float, float, float]
    relative_focal_u: float = 0.0
    """Standard uncertainty of the focal length as a share of it."""
