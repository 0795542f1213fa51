"""Sub-pixel places where brightness changes most, along short probes across an expected edge.

Sampling is linear on a smoothed float picture: exact on a ramp, where cubic and Lanczos remapping err by up to 0.05 px.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np


def sample(grey: np.ndarray, px: np.ndarray) -> np.ndarray:
    """Brightness at pixels (..., 2), linear; outside the picture the nearest border value.  Returns float32 (...)."""
    flat = np.ascontiguousarray(px, np.float32).reshape(-1, 2) - np.float32(0.5)
    # remap takes at most 32767 rows or columns a side: lay the list out as a block
    n = len(flat)
    columns = 1024
    rows = -(-n // columns)
    block = np.zeros((rows * columns, 2), np.float32)
    block[:n] = flat
    out = cv2.remap(grey, block.reshape(rows, columns, 2), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return out.reshape(-1)[:n].reshape(px.shape[:-1])


def linear_light(grey: np.ndarray) -> np.ndarray:
    """Stored brightness 0..255 -> share of light 0..255 by the curve of IEC 61966-2-1 (sRGB); float32.

    A pixel half covered by a bright thing holds half its light, not half its stored value: edges found in stored values sit up
    to a third of a pixel inside the dark side."""
    steps = np.arange(256) / 255.0
    curve = np.where(steps <= 0.04045, steps / 12.92, ((steps + 0.055) / 1.055) ** 2.4) * 255
    # the conversion rounds and clips by itself, without a picture in between
    stored = grey if grey.dtype == np.uint8 else cv2.convertScaleAbs(grey)
    return cv2.LUT(stored, curve.astype(np.float32))


def find_steps(grey: np.ndarray, points: np.ndarray, normals: np.ndarray, reach_px: float, sigma_px: float = 1.2,
               sign: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """Strongest step along each probe.

    points, normals: (n, 2); the probe runs from -reach_px to +reach_px along the normal.  sign: +1 only steps that brighten along
    the normal, -1 only those that darken, 0 either.  Returns (offset_px (n,), strength (n,) in grey levels per px); offset is nan
    where the strongest gradient lies at the end of the probe.
    """
    step = 0.5
    t = np.arange(-reach_px - 3 * sigma_px, reach_px + 3 * sigma_px + step / 2, step)
    values = sample(grey, points[:, None, :] + t[None, :, None] * normals[:, None, :]).astype(np.float64)
    half = int(np.ceil(4 * sigma_px / step))
    k = np.arange(-half, half + 1) * step
    kernel = -k * np.exp(-k * k / (2 * sigma_px**2))
    kernel /= (kernel * -k).sum() * -1 or 1
    # borders do not matter: the ends are cut off below
    gradient = cv2.filter2D(values, cv2.CV_64F, -kernel[None]) if len(values) else values
    gradient = gradient[:, half:-half]
    t = t[half:-half]
    height = np.abs(gradient) if sign == 0 else sign * gradient
    inner = height[:, 1:-1]
    best = inner.argmax(1) + 1
    rows = np.arange(len(points))
    a, b, c = height[rows, best - 1], height[rows, best], height[rows, best + 1]
    curve = a - 2 * b + c
    shift = np.where(curve < 0, 0.5 * (a - c) / np.where(curve < 0, curve, -1), 0.0)
    offset = t[best] + np.clip(shift, -1, 1) * step
    ends = (b < a) | (b < c) | (b <= 0)
    return np.where(ends, np.nan, offset), b
