"""The other face of the part as loops in the drawing's frame: measured lines, arcs and circles, no design.

It is drawn as it would be seen through the part, so that features of both faces stand in one drawing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from afterpart.errors import FitError
from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Arc, Circle, Datum, Line, Loop, OtherFaceDrawn, Point, Segment
from afterpart.outline.follow import loop_of
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.trace import trace_rims


def other_face_of(edges: EdgeMap, datum: Datum, settings: OutlineSettings) -> OtherFaceDrawn | None:
    """The other face's loops in the datum frame; None where it was not photographed."""
    if edges.other is None:
        return None
    middle = edges.other.rims[0].points.mean(axis=0)
    loops: list[Loop] = []
    count = 0
    for rim in edges.other.rims:
        try:
            chain = trace_rims([np.asarray(rim.points) - middle], [np.asarray(rim.u)], settings)[0][0]
        except FitError:
            continue
        segments = tuple(_placed(segment, f"o{count + k + 1}", middle, datum)
                         for k, segment in enumerate(loop_of(chain).segments))
        count += len(segments)
        loops.append(Loop(rim.role, rim.part, segments, rim.wall, rim.depth))
    level = next((level.value for level in edges.levels if level.level == "other face"), None)
    return OtherFaceDrawn(tuple(loops), round(edges.other.draft_deg, 4), round(edges.other.draft_u_deg, 4),
                          round(edges.other.rms, 5), level)


def _placed(segment: Segment, name: str, middle: np.ndarray, datum: Datum) -> Segment:
    """A segment told about `middle` of the photo's frame, in the datum frame."""
    def at(point: Point) -> Point:
        x, y = point[0] + float(middle[0]) - datum.origin[0], point[1] + float(middle[1]) - datum.origin[1]
        c, s = math.cos(math.radians(datum.angle_deg)), math.sin(math.radians(datum.angle_deg))
        return x * c + y * s, y * c - x * s

    if isinstance(segment, Circle):
        return replace(segment, id=name, center=at(segment.center))
    if isinstance(segment, Arc):
        return replace(segment, id=name, start=at(segment.start), end=at(segment.end), center=at(segment.center))
    assert isinstance(segment, Line)
    return replace(segment, id=name, start=at(segment.start), end=at(segment.end))
