"""What a finder saw of a length reference in the picture: pixel measurements only, no pose and no scale.

Words: *graduation*, one mark of a rule (a tick); *ladder*, how the longer graduations follow one another (every 5th and 10th,
or halves, quarters, eighths); *quad*, the four corners of the region a reference occupies, so that it is never taken for a part.
Pixel frame: (column, row) of the upright picture, origin top left, pixel centres at .5.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Tick:
    """One graduation.  index: its number along the rule, counted in finest graduations from the first one found (0).

    points: (k, 2) px on the tick's centre line, from the ticks' common end outwards; u_px: (k,) standard uncertainty of each
    across the tick (along the tick the points say nothing).  length_px: visible length of the stroke.
    """

    index: int
    points: np.ndarray
    u_px: np.ndarray
    length_px: float


@dataclass(frozen=True)
class RuleTicks:
    """One row of graduations with a steady rhythm.

    ladder: "decimal" (longer ticks every 5 or 10), "binary" (every 2, 4, 8 ..), "unknown".  major_every: the largest step
    between longer ticks that was recognised, in graduations; 0 where none was.  kind: "rule" or "grid" (ruled paper: lines that
    cross another family of lines; a grid comes as two RuleTicks).  quad: (4, 2) px, in order around the rule's body.
    quad_is_body: True when the body's own edges were found, False when the quad is only the ticks' surroundings.
    pitch_px: median distance of neighbouring ticks; residual_px: robust scatter of all points about a smooth model.
    """

    ticks: tuple[Tick, ...]
    ladder: str
    major_every: int
    kind: str
    dark: bool
    pitch_px: float
    residual_px: float
    quad: np.ndarray
    quad_is_body: bool


@dataclass(frozen=True)
class EdgeLine:
    """Points of one straight edge.  points: (n, 2) px; u_px: (n,) across the edge; role says which edge of the object it is."""

    role: str
    points: np.ndarray
    u_px: np.ndarray


@dataclass(frozen=True)
class CalliperJaws:
    """An open calliper.  left, right: the two facing jaw faces; their distance is the reading.

    lines: further straight edges of the same flat body, with roles "along" (parallel to the faces: the jaws' outer sides) and
    "across" (at right angles: the beam's edge, the jaws' ends).  quads: regions (4, 2) px that the calliper occupies.
    """

    left: EdgeLine
    right: EdgeLine
    lines: tuple[EdgeLine, ...]
    quads: tuple[np.ndarray, ...]


@dataclass(frozen=True)
class TargetMarkers:
    """Markers of the project's printed target.  ids: (n,); corners: (n, 4, 2) px in the marker's own order (top left first,
    clockwise as printed); u_px: (n, 4) standard uncertainty of each corner coordinate; quad: (4, 2) px around all of them."""

    ids: np.ndarray
    corners: np.ndarray
    u_px: np.ndarray
    quad: np.ndarray
