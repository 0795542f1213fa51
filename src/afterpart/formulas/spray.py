"""Whether falling or blown water reaches an opening, by where it looks, and the hood that keeps it out.

Words: the *facing* is the angle between the opening's outward normal and straight down (0 down, 90 sideways, 180 up); the *reach*
of a spray is how far from the vertical it still falls; a *hood* stands out from the opening's upper edge, along its normal.
Formulas: with facing f and reach s, water meets the opening's plane at delta = 180 - f - s degrees from the normal.  It misses
the opening when delta >= 90, that is f <= 90 - s; else a hood of length L shades a height H when L >= H / tan(delta).
Limits: straight drops, still air behind them; water that splashes up from below, a jet or a pressure washer gets in anyway.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math


def greatest_dry_facing_deg(reach_deg: float) -> float:
    """The farthest an opening may be turned from straight down so that spray of this reach misses it: 90 - s, degrees."""
    return 90.0 - reach_deg


def hood_length(height: float, facing_deg: float, reach_deg: float) -> float | None:
    """Length of a hood over an opening this high: H / tan(180 - f - s), mm; 0 where none is needed, None where none is enough."""
    delta = 180.0 - facing_deg - reach_deg
    if delta >= 90.0:
        return 0.0
    return height / math.tan(math.radians(delta)) if delta > 0.0 else None
