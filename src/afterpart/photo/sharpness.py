"""How wide the picture draws an edge, read from the picture alone.

*Edge width* is the distance in which brightness runs from 10 to 90 % of a step, in picture pixels.  A wall seen from the side
or a shadow makes some places of a part's rim look soft, so the sharper places speak for the picture.  No model of rim or blur
is used: this is what tells a picture that cannot be measured from one whose rims may be fitted.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

from afterpart.photo.edgeprofile import sample

REACHES_PX = (10.0, 20.0, 40.0, 80.0, 160.0)
"""Half lengths of probes, tried in turn until the edge ends within one."""

SHARPER_SHARE = 0.25
"""Which quantile of the widths along a rim stands for the picture."""

GAUSS_10_90 = 2.563
"""10 to 90 % width of a step smoothed by a Gaussian, in its standard deviations."""

LEAST_CONTRAST = 6.0
PROBES = 160


def edge_width_px(grey: np.ndarray, contour: np.ndarray) -> float:
    """Edge width in px at the sharper places of a closed rough contour (n, 2) of a picture (h, w); nan when no probe sees a
    step."""
    chain = contour[:: max(1, len(contour) // PROBES)]
    step = max(2, len(contour) // 200)
    tangent = (np.roll(contour, -step, 0) - np.roll(contour, step, 0))[:: max(1, len(contour) // PROBES)]
    normal = np.stack([tangent[:, 1], -tangent[:, 0]], 1) / (np.hypot(*tangent.T)[:, None] + 1e-9)
    width = float("nan")
    for reach in REACHES_PX:
        found = _widths(grey, chain, normal, reach)
        if len(found) >= 8:
            width = float(np.quantile(found, SHARPER_SHARE))
            # a step that fills its probe goes on beyond it
            if width < 0.5 * reach:
                break
    return width


def _widths(grey: np.ndarray, chain: np.ndarray, normal: np.ndarray, reach: float) -> np.ndarray:
    """Widths of the probes that see a clear step."""
    t = np.arange(-reach, reach + 0.25, 0.5)
    profile = sample(grey, chain[:, None] + t[None, :, None] * normal[:, None]).astype(np.float32)
    soft = max(0.08 * reach, 0.5)
    profile = cv2.GaussianBlur(profile, (0, 0), sigmaX=soft / 0.5, sigmaY=1e-3, borderType=cv2.BORDER_REPLICATE)
    end = max(2, len(t) // 10)
    before, after = np.median(profile[:, :end], 1), np.median(profile[:, -end:], 1)
    clear = np.abs(after - before) > LEAST_CONTRAST
    rise = (profile[clear] - before[clear, None]) / (after - before)[clear, None]
    # from the place half way up outwards: what lies beyond the plateau on either side does not count
    rows, n = np.arange(len(rise)), len(t)
    crossing = (rise[:, :-1] < 0.5) & (rise[:, 1:] >= 0.5)
    nearest = np.where(crossing, np.abs(t[None, :-1]), np.inf).argmin(1)
    column = np.arange(n)[None]
    low = np.where((rise < 0.1) & (column <= nearest[:, None]), column, -1).max(1)
    high = np.where((rise > 0.9) & (column > nearest[:, None]), column, n).min(1)
    whole = crossing.any(1) & (low >= 0) & (high < n)
    low, high, rise, rows = low[whole], high[whole], rise[whole], np.arange(int(whole.sum()))
    start = low + (0.1 - rise[rows, low]) / np.maximum(rise[rows, low + 1] - rise[rows, low], 1e-6)
    stop = high - (rise[rows, high] - 0.9) / np.maximum(rise[rows, high] - rise[rows, high - 1], 1e-6)
    width = (stop - start) * float(t[1] - t[0])
    # widths of smoothing and edge add in squares
    return np.sqrt(np.maximum(width**2 - (GAUSS_10_90 * soft) ** 2, 0.25))
