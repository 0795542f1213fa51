"""Where a piece overhangs as it is printed, read off its mesh.

Words: a face that looks down *overhangs* when it leans more than the given angle from the upright and does not lie on the bed;
a *patch* is a run of overhanging triangles that hang together by edges.  A patch is a *bridge* when in some direction every
line across it runs from one supporting wall to another, as over a recess or between two posts; its *span* is then the longest
of these runs, in the direction that makes it least.  Any other patch is *unsupported*: a ledge with a free edge, a ring round a
hole that goes on upwards, anything whose lowest part begins in the air.
Conventions: mm, z up from the bed; angles from the upright in degrees, 45 for most printers.
Limits: a facet stands for a curve and may lean more than it.  A patch is told only when one of its facets leans beyond what
FACET_ERROR over its slant length explains; ANGLE_SLACK_DEG beyond the angle is always forgiven.  A rim is held where the face
beyond it goes down.  How long a bridge may be depends on the printer and is for the caller to judge.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.model.assembly import Point3
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import components, edge_neighbours, triangle_normals

FACET_ERROR = 0.02
"""How far the ends of a facet may be out, mm: a mesh's usual chord at either end."""

MOST_SLACK_DEG = 4.0
"""Most that is forgiven a small facet."""

ANGLE_SLACK_DEG = 0.5
"""What is forgiven any facet."""

SLIVER = 0.01
"""Patches smaller than this are left out, mm2."""

BED = 1e-3
"""Height up to which a face lies on the bed, mm."""

_LEVEL = 1e-4
"""Largest difference of height between points at the same height, mm."""

_FREE_RUN = 0.02
"""A run with a free end shorter than this does not count, mm."""

_DIRECTIONS_DEG = tuple(range(0, 180, 10))
"""Directions tried for the least span, beside those across the patch's longest rim edges."""

_LANES = 160
"""Most lines laid across a patch in each direction."""


@dataclass(frozen=True)
class Overhang:
    """One patch.  kind: "bridge" or "unsupported"; at: a point on it near its middle; height: its lowest point above the bed;
    area: mm2; span: of a bridge, see above, 0 for an unsupported one; lean_deg: the most it leans from the upright, 90 where
    it is level."""

    kind: str
    at: Point3
    height: float
    area: float
    span: float
    lean_deg: float


def overhangs(mesh: Mesh, angle_deg: float = 45.0) -> tuple[Overhang, ...]:
    """The overhanging patches, the largest first.  The mesh stands on the bed as its lowest point does.

    SolidError: the mesh is not closed.
    """
    vertices = mesh.vertices - (0.0, 0.0, mesh.vertices[:, 2].min())
    normals, areas = triangle_normals(mesh)
    heights = vertices[mesh.triangles][:, :, 2]
    # A wall that leans by a from the upright has a normal that looks down by sin(a).
    lean = np.degrees(np.arcsin(np.clip(-normals[:, 2], -1.0, 1.0)))
    slant = np.ptp(heights, axis=1) / np.sqrt(np.maximum(1 - normals[:, 2] ** 2, 1e-12))
    slack = np.minimum(np.degrees(FACET_ERROR / np.maximum(slant, 1e-6)), MOST_SLACK_DEG)
    hanging = (lean > angle_deg + ANGLE_SLACK_DEG) & (heights.max(axis=1) > BED) & (areas > 0)
    beyond_doubt = hanging & (lean > angle_deg + np.maximum(slack, ANGLE_SLACK_DEG))
    pairs = edge_neighbours(mesh)
    within = pairs[hanging[pairs].all(axis=1)]
    label = components(len(hanging), within)
    found = []
    for number in np.unique(label[beyond_doubt]):
        patch = np.flatnonzero((label == number) & hanging)
        if areas[patch].sum() >= SLIVER:
            found.append(_judged(vertices, mesh.triangles, normals, areas, patch))
    return tuple(sorted(found, key=lambda o: (-o.area, o.at)))


def _judged(vertices: np.ndarray, faces: np.ndarray, normals: np.ndarray, areas: np.ndarray, patch: np.ndarray) -> Overhang:
    middles = vertices[faces[patch]].mean(axis=1)
    area = float(areas[patch].sum())
    middle = (middles * areas[patch, None]).sum(axis=0) / area
    at = middles[int(np.argmin(np.linalg.norm(middles - middle, axis=1)))]
    lean = math.degrees(math.asin(min(1.0, float(-normals[patch, 2].min()))))
    rim = _rim(vertices, faces, patch)
    span = 0.0 if _begins_in_the_air(vertices, faces[patch], rim) else _least_span(vertices, rim)
    lowest = float(vertices[faces[patch], 2].min())
    return Overhang("bridge" if span > 0 else "unsupported", tuple(float(x) for x in at), lowest, area, span, lean)


@dataclass(frozen=True)
class _Rim:
    """The edges round a patch: indices of their ends, and whether the face beyond each goes down from it."""

    starts: np.ndarray
    ends: np.ndarray
    held: np.ndarray


def _rim(vertices: np.ndarray, faces: np.ndarray, patch: np.ndarray) -> _Rim:
    count = len(vertices)
    own = faces[patch].astype(np.int64)
    starts, ends = own.ravel(), np.roll(own, -1, axis=1).ravel()
    outer = ~np.isin(starts * count + ends, ends * count + starts)
    starts, ends = starts[outer], ends[outer]
    every = faces.astype(np.int64)
    keys = (every * count + np.roll(every, -1, axis=1)).ravel()
    third = np.roll(every, -2, axis=1).ravel()
    order = np.argsort(keys)
    beyond = third[order[np.searchsorted(keys[order], ends * count + starts)]]
    held = vertices[beyond, 2] < np.minimum(vertices[starts, 2], vertices[ends, 2]) - _LEVEL
    return _Rim(starts, ends, held)


def _begins_in_the_air(vertices: np.ndarray, own: np.ndarray, rim: _Rim) -> bool:
    """Is there a place in the patch, away from held rims, from which it rises on all sides?  Points joined by level edges are
    one place."""
    edges = np.vstack((own[:, [0, 1]], own[:, [1, 2]], own[:, [2, 0]])).astype(np.int64)
    rise = vertices[edges[:, 1], 2] - vertices[edges[:, 0], 2]
    place = components(len(vertices), edges[np.abs(rise) <= _LEVEL])
    grounded = np.zeros(len(vertices), bool)
    grounded[place[rim.starts[rim.held]]] = grounded[place[rim.ends[rim.held]]] = True
    grounded[place[edges[rise > _LEVEL, 1]]] = grounded[place[edges[rise < -_LEVEL, 0]]] = True
    return not grounded[place[np.unique(own)]].all()


def _least_span(vertices: np.ndarray, rim: _Rim) -> float:
    """The least, over directions, of the longest run across the patch; 0 where each direction has a run with a free end."""
    a, b = vertices[rim.starts, :2], vertices[rim.ends, :2]
    longest = np.argsort(-np.linalg.norm(b - a, axis=1))[:12]
    across = np.arctan2(b[longest, 1] - a[longest, 1], b[longest, 0] - a[longest, 0]) + math.pi / 2
    spans = [_span_along(a, b, rim.held, turn) for turn in (*across, *np.radians(_DIRECTIONS_DEG))]
    return min((span for span in spans if span is not None), default=0.0)


def _span_along(a: np.ndarray, b: np.ndarray, held: np.ndarray, turn: float) -> float | None:
    """The longest run in this direction over lines beside each corner of the rim; None where a run has a free end."""
    along, side = np.array((math.cos(turn), math.sin(turn))), np.array((-math.sin(turn), math.cos(turn)))
    lanes = np.unique(np.round((a @ side)[:, None] + (-1e-5, 1e-5), 7))
    lanes = lanes[:: max(1, len(lanes) // _LANES)]
    from_side, to_side = (a @ side)[None, :] - lanes[:, None], (b @ side)[None, :] - lanes[:, None]
    crossed = (from_side > 0) != (to_side > 0)
    share = np.where(crossed, from_side / np.where(crossed, from_side - to_side, 1.0), 0.0)
    place = (a @ along)[None, :] + share * ((b - a) @ along)[None, :]
    # Lines run in and out by turns, so that along each of them every second crossing ends a run.
    lane, edge = np.nonzero(crossed)
    order = np.lexsort((place[lane, edge], lane))
    lane, edge = lane[order], edge[order]
    into, out = edge[0::2], edge[1::2]
    runs = place[lane[1::2], out] - place[lane[0::2], into]
    firm = held[into] & held[out]
    if (runs[~firm] > _FREE_RUN).any():
        return None
    most = float(runs[firm].max(initial=0.0))
    return most if most > 0 else None
