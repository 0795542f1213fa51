"""Edge maps made straight from a drawing, without any photograph: what the outline stage gets when the photo stage is perfect.

Noise: per point (white) and along the rim (correlated), across the rim only; a common scale error; the part lies turned.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
from scipy import ndimage

from afterpart.model.edges import EdgeMap, Reference, Rim
from tests.truth.drawings import Drawing
from tests.truth.field import signed_area, walk


def ideal_edges(drawing: Drawing, rng: np.random.Generator, *, white: float = 0.0, alike: float = 0.0,
                grow: float = 0.0, scale: float = 1.0, scale_u: float = 1e-4, turn_deg: float = 73.0, drop: int = 0,
                spacing: float = 0.2) -> EdgeMap:
    """Rims of the true drawing with every wall pushed out of the material by `grow`.

    white, alike: standard deviations of the two noises, mm (alike over about 0.5 mm of rim); drop: openings left out at the end.
    """
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    turn = np.array([[c, -s], [s, c]])
    rims = []
    for k, loop in enumerate(drawing.loops[: len(drawing.loops) - drop]):
        p = walk(list(loop), spacing)
        if (signed_area(list(loop)) > 0) != (k == 0):
            p = p[::-1]
        tangent = np.roll(p, -1, 0) - np.roll(p, 1, 0)
        outward = np.c_[tangent[:, 1], -tangent[:, 0]] / np.hypot(*tangent.T)[:, None]
        soft = ndimage.gaussian_filter1d(rng.standard_normal(len(p)), 2.0, mode="wrap") * 2.66
        push = grow + white * rng.standard_normal(len(p)) + alike * soft
        moved = (p + push[:, None] * outward) * scale @ turn.T + (11.0, -4.0)
        rims.append(Rim("outer" if k == 0 else "opening", 1, moved, np.full(len(p), max(0.002, math.hypot(white, alike)))))
    return EdgeMap("mm", tuple(rims), Reference("rule", 10.0, scale_u), None, 8.0, 0.4)
