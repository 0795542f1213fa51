"""Chains along the lines and arcs of rims, laid in a hurry: what the photo stage needs for its second look.

No dimensions, no design, no search for fewer features: a chain may have a line or an arc too many, it must only run smoothly
along the rim and turn where the rim turns.  Round rims need none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.geometry.segments import loop_points
from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Arc, Circle, Line, Loop, Segment
from afterpart.outline.chain import Chain
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.trace import sketch_rims

UNSCALED_EXTENT = 100.0
"""Size given to a picture without a scale while its rims are followed, mm."""


def follow_rims(edges: EdgeMap, settings: OutlineSettings) -> tuple[np.ndarray | None, ...]:
    """For every rim the points (n, 2) of a closed chain along its lines and arcs, in the edge map's frame and unit; None for rims
    that are circles or too short to be followed."""
    everything = np.concatenate([rim.points for rim in edges.rims])
    middle = 0.5 * (everything.min(axis=0) + everything.max(axis=0))
    unit = 1.0 if edges.unit == "mm" else UNSCALED_EXTENT / float(np.ptp(everything, axis=0).max())
    chains = sketch_rims(
        [(np.asarray(rim.points, float) - middle) * unit for rim in edges.rims],
        [np.asarray(rim.u, float) * unit for rim in edges.rims],
        settings,
    )
    return tuple(None if chain is None else loop_points(loop_of(chain)) / unit + middle for chain in chains)


def loop_of(chain: Chain) -> Loop:
    """The chain's segments as a loop."""
    segments: list[Segment] = []
    for k in range(chain.size):
        start, end = _point(chain.corners[k - 1]), _point(chain.corners[k])
        x, y, radius = (float(v) for v in chain.state[k])
        if chain.is_circle:
            segments.append(Circle("", (x, y), abs(radius)))
        elif chain.is_arc[k]:
            segments.append(Arc("", start, end, (x, y), abs(radius), radius > 0.0))
        else:
            segments.append(Line("", start, end))
    return Loop("outer", 1, tuple(segments))


def _point(pair: np.ndarray) -> tuple[float, float]:
    return float(pair[0]), float(pair[1])
