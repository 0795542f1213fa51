"""The same rims in several photographs: matched, and how far each stands off the drawing's places.

Words: a rim *answers* another when it has the same role, stands in the same place and is about as long; a *place* of the drawing
is a point of its leading view's rim with the normal from material to void; an *offset* is how far another rim's line crosses that
normal from the place, mm.  How well a view knows its rim across the normal depends on the slope of the sight line: where one
looks along the face's edge from aside, rounding, wall and foot decide what is taken for the edge.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from afterpart.model.edges import EdgeMap, Rim
from afterpart.photo.laying import centroid
from afterpart.photo.rimchain import outward_normals, signed_area, view_slopes

FAR_SHARE, FAR_MM = 0.02, 2.0
"""A rim answers another when their middles lie within this share of the part's size and this many mm."""

AS_LONG = (0.75, 1.33)
REACH = 1.0
"""Offsets beyond this are no longer the same edge, mm."""

OWN_U, SLOPE_U = 0.008, 0.05
"""Standard uncertainty of a view's rim in mm: at no slope, and for each unit of slope of the sight line; an opening as narrow as
the part is high has three times the second, for its wall is dark and its foot hardly seen.  From rendered pictures of known
parts, with pixels of USUAL_PX."""

USUAL_PX = 0.09
"""Size of a pixel on the face, mm; with larger ones the second uncertainty grows alike: what is taken for the edge is off by a
share of a pixel (photo booth, 0.14 mm: 0.07 mm rms at a slope of a third)."""

WALL_PX = 2.0
"""Where so much of the wall is seen, what is measured is its foot: the strong edge between wall and table puts the fitted rim
where the height that it was fitted at has it (photo booth: fitted for a height 0.3 mm too large, rims at a slope of -0.32 move by
0.09 to 0.10 mm, those of the far sides by less than 0.005)."""

STRIDE_MM = 2.0
"""Distance of places that are tied: errors along a rim are alike over about so much."""


@dataclass(frozen=True)
class Crossing:
    """Where a view's rim crosses the normals of the drawing's places: which of them (n,), offset (n,) mm, the crossing points in
    the view's own frame (n, 2), their standard uncertainty (n,) mm."""

    place: np.ndarray
    offset: np.ndarray
    points: np.ndarray
    u: np.ndarray


def answering(lead: Rim, rims: Sequence[Rim], drawn: Sequence[np.ndarray], lead_drawn: np.ndarray, size: float) -> int | None:
    """Number of the rim that answers `lead`, or None.  drawn, lead_drawn: their points in the drawing's frame; size: of the
    part."""
    middle, length = centroid(lead_drawn), _length(lead_drawn)
    best: tuple[float, int] | None = None
    for k, rim in enumerate(rims):
        if rim.role != lead.role or rim.wall != lead.wall:
            continue
        away = float(np.hypot(*(centroid(drawn[k]) - middle)))
        if away < max(FAR_MM, FAR_SHARE * size) and AS_LONG[0] < _length(drawn[k]) / length < AS_LONG[1]:
            best = min(best or (np.inf, -1), (away, k))
    return None if best is None else best[1]


def crossings(places: np.ndarray, normals: np.ndarray, drawn: np.ndarray, own: np.ndarray, u: np.ndarray) -> Crossing:
    """Where a closed rim crosses the normals of places (k, 2).  drawn, own: its points (n, 2) in the drawing's and in the view's
    frame; u: (n,)."""
    count = len(drawn)
    _, nearest = cKDTree(drawn).query(places)
    window = (nearest[:, None] + np.arange(-6, 7)) % count
    away = drawn[window] - places[:, None]
    tangents = np.stack([-normals[:, 1], normals[:, 0]], axis=1)
    along, across = (away * tangents[:, None]).sum(-1), (away * normals[:, None]).sum(-1)
    crossing = along[:, :-1] * along[:, 1:] <= 0
    run = along[:, :-1] - along[:, 1:]
    share = np.where(np.abs(run) > 1e-12, along[:, :-1] / np.where(run == 0, 1.0, run), 0.0)
    value = across[:, :-1] + share * (across[:, 1:] - across[:, :-1])
    off = np.where(crossing, np.abs(value), np.inf)
    at = off.argmin(1)
    rows = np.arange(len(places))
    good = off[rows, at] < REACH
    rows, at = rows[good], at[good]
    one, two, part = window[rows, at], window[rows, at + 1], share[rows, at][:, None]
    points = own[one] + part * (own[two] - own[one])
    return Crossing(rows, value[rows, at], points, u[one])


def slope_u(edges: EdgeMap, points: np.ndarray, rim: Rim, at: np.ndarray) -> np.ndarray:
    """Standard uncertainty (n,) mm across the rim at some of its points (n, 2), for the slope of the sight line there.

    at: (n,) number of the nearest point of the rim."""
    assert edges.camera is not None
    normals = outward_normals(rim.points, 3.0)[at]
    slopes = view_slopes(edges.camera, points, normals, edges.face_height)
    along = view_slopes(edges.camera, points, np.stack([-normals[:, 1], normals[:, 0]], axis=1), edges.face_height)
    narrow = 1.0 + 2.0 * max(edges.face_height, 0.0) / _width(rim.points) if rim.role == "opening" else 1.0
    px = (edges.camera.position[2] - edges.face_height) / edges.camera.focal_px
    # beside the sides one looks along, wall and foot come and go: there the whole slope counts
    return np.hypot(OWN_U, SLOPE_U * narrow * max(1.0, px / USUAL_PX) * np.hypot(slopes, along))


def foot_share(edges: EdgeMap, points: np.ndarray, rim: Rim, at: np.ndarray) -> np.ndarray:
    """How far (n,) what is seen of a rim at some of its points (n, 2) is the foot of its wall: 1 where wall enough is seen, 0
    where the face hides it, in a hole too narrow to show its foot, and for channels, whose walls end elsewhere.

    at: (n,) number of the nearest point of the rim."""
    assert edges.camera is not None
    height = max(edges.face_height, 0.0)
    if rim.role == "channel" or not height:
        return np.zeros(len(points))
    normals = outward_normals(rim.points, 3.0)[at]
    strip = view_slopes(edges.camera, points, normals, height) * height
    px = (edges.camera.position[2] - height) / edges.camera.focal_px
    share = np.clip(strip / (WALL_PX * px), 0.0, 1.0)
    return np.where(strip < _width(rim.points), share, 0.0) if rim.role == "opening" else share


def wall_places(edges: EdgeMap, points: np.ndarray, rim: Rim, at: np.ndarray, share: np.ndarray) -> np.ndarray:
    """The places in space (n, 3), mm in the view's own frame, that are seen at some of a rim's points (n, 2): on its wall, the
    share (n,) of the way down from the face."""
    down = share * max(edges.face_height, 0.0)
    lean = np.tan(np.radians(edges.draft_deg)) * down
    return np.column_stack([points + lean[:, None] * outward_normals(rim.points, 3.0)[at], edges.face_height - down])


def _width(chain: np.ndarray) -> float:
    """Mean width of an opening: four times its area by its perimeter, a circle's diameter."""
    return 4 * abs(signed_area(chain)) / max(_length(chain), 1e-9)


def _length(chain: np.ndarray) -> float:
    return float(np.hypot(*(np.roll(chain, -1, axis=0) - chain).T).sum())
