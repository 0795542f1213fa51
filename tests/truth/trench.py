"""Light in a channel of the face: an endless trench with upright walls under an even sky and a lamp with a soft edge.

The floor sees the sky between the two top edges (view factors of an endless strip); a wall sees half of it, less what the other
wall hides.  The lamp is hidden where the edge on its side stands in its way, with a penumbra as wide as the lamp.  Limits: no
light from wall to wall beyond the scene's glow; corners are lit as straight runs are.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from tests.truth.bodies import CHANNEL_WALL, Body, Hits
from tests.truth.light import Light


def channel_light(body: Body, hits: Hits, at: np.ndarray, lamp: Light) -> np.ndarray:
    """(n,) light that the hits `at` (on floor or walls of a channel) send back, 1 for an open flat face of albedo 1."""
    lx, ly = body.turn_in(*(np.array([v]) for v in lamp.towards[:2]))
    lz = lamp.towards[2]
    below = np.maximum(body.height - hits.z[at], 1e-6)
    near, wide = hits.aside[at], hits.wide[at]
    far = wide - near
    toward = (lx * hits.inward_x[at] + ly * hits.inward_y[at]) / lz
    on_wall = hits.kind[at] == CHANNEL_WALL
    sky = np.where(on_wall, 0.5 * (1 - below / np.hypot(below, wide)),
                   0.5 * (near / np.hypot(near, below) + far / np.hypot(far, below)))
    facing = np.where(on_wall, np.maximum(lx * hits.nx[at] + ly * hits.ny[at], 0) / lz, 1.0)
    room = np.where(on_wall, wide, np.where(toward > 0, far, near))
    penumbra = np.maximum(2 * below * math.tan(math.radians(lamp.width_deg)), 1e-6)
    seen = np.clip((room - below * np.abs(toward)) / penumbra + 0.5, 0, 1)
    return ((1 - lamp.lamp_share) * sky + lamp.lamp_share * facing * seen) * (1 - lamp.glow) + lamp.glow
