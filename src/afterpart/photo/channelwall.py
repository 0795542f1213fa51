"""One wall of a channel, a pocket or a land: where it breaks the face.

A wall is a rim like any other, with the floor where other rims have the table: the camera is told as it stands above the floor,
and the probes of rimprobe.py tell face, wall and floor apart.  Where the camera sees a wall, its top edge ends the face and the
wall follows; where the face hides the wall, the floor follows at once: both are known from the depth, which hardly matters
(0.01 mm on the wall's place for 1 mm of it).  Limits: edges are taken as sharp.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.model.camera import Camera
from afterpart.photo.channelprofile import channel_costs
from afterpart.photo.edgeprofile import sample
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.projection import project_plane
from afterpart.photo.rimchain import SPACING_PX, outward_normals, resample_closed, signed_area, smooth_closed
from afterpart.photo.rimprobe import FINE, Course, read_probes
from afterpart.photo.rims import RimFit, judge_rims

USUAL_DEPTH = 1.5
"""Depth of a channel in mm until it is told; usual for cords of 2 to 3 mm (judgement)."""

SHARP = 0.02
"""Rounding given to a channel's edges, mm."""

AVERAGE = 1.5
"""Smoothing along a wall in probes."""

FIRST_REACH_PX, REACH_PX = 9.0, 4.0

SINGLE_VOID_PX = 6.0
"""How far beyond a single wall the floor is looked at, px."""

NEAR_PX = 30.0
"""A hole this near to a wall is covered while the wall is looked for."""

STEP_PX, LEAST_STEP, STEP_SHARE, STEP_AVERAGE = 1.5, 0.11, 0.2, 6.0
"""Brightness falls by LEAST_STEP of the face's within STEP_PX either side of a wall's top edge, but along STEP_SHARE of it, which
the light may hide; read along so many probes together.  Walls calculated and photographed show 0.2 and more, the fading end of
a wall's shade 0.05 and less."""


@dataclass(frozen=True)
class ChannelView:
    """What the walls of a part's channels are looked for in.

    light: (h, w) float32 in linear light; camera: over the table; height: of the face; spread: of the picture; px: mm per pixel
    at the face; rounding: of the part's holes; openings: (k, 2) their rims in mm; depth: of the channel in mm as told, or None;
    sized: False where lengths are in pixels; pad_height: of a pad's top over the face in mm as told, or None.
    """

    light: np.ndarray
    camera: Camera
    height: float
    spread: Spread
    px: float
    rounding: float
    openings: tuple[np.ndarray, ...]
    depth: float | None
    sized: bool
    pad_height: float | None = None

    @property
    def sunk(self) -> float:
        """Depth the walls are modelled with."""
        return (USUAL_DEPTH if self.depth is None else self.depth) if self.sized else 0.0

    @property
    def above(self) -> Camera:
        """The camera as it stands over the channel's floor."""
        x, y, z = self.camera.position
        return replace(self.camera, position=(x, y, z - self.height + self.sunk))


def look_at_wall(view: ChannelView, chain: np.ndarray, other_wall: np.ndarray | None) -> RimFit:
    """One wall measured again along a fitted chain (n, 2) mm, face on its left; other_wall: (k, 2) points of a channel's other
    one, None for a single wall."""
    void = SINGLE_VOID_PX if other_wall is None else void_beyond(float(np.median(distances(chain[::8], other_wall))), view.px)
    return _pass(holes_covered(view, holes_near(view, chain)), chain, REACH_PX, void, 0.0)


def void_beyond(width: float, px: float) -> float:
    """How far beyond the last edge the floor may be looked at, px: within half of the channel's width."""
    return float(np.clip(0.5 * width / px, 3.0, 12.0))


def fit_wall(view: ChannelView, chain: np.ndarray, void_px: float) -> RimFit:
    """A wall's rim from a rough chain, in two passes."""
    first = _pass(view, chain, FIRST_REACH_PX, void_px, 6.0)
    return _pass(view, resampled(first, view.px), REACH_PX, void_px, 3.0)


def _pass(view: ChannelView, chain: np.ndarray, reach_px: float, void_px: float, normal_smooth: float) -> RimFit:
    shape = RimShape(view.sunk, SHARP if view.sunk else 0.0, 0.0, view.above.position[2])
    course = Course(chain, reach_px, void_px, AVERAGE, normal_smooth)
    block = read_probes(view.light, view.above, [course], shape, view.px, FINE)
    return judge_rims(block, shape, view.spread, costs_of=channel_costs)[0]


def resampled(rim: RimFit, px: float) -> np.ndarray:
    """A fitted wall as an even chain (n, 2) to fit it from again; px: mm per pixel."""
    return resample_closed(smooth_closed(rim.points, 1.0), SPACING_PX * px)


def even_chain(points: np.ndarray, clockwise: bool, px: float, smooth: float) -> np.ndarray:
    """An even chain (n, 2) from any closed polyline; smooth: in mm."""
    if (signed_area(points) < 0) != clockwise:
        points = points[::-1]
    fine = resample_closed(points, 0.5 * SPACING_PX * px)
    return resample_closed(smooth_closed(fine, smooth / (0.5 * SPACING_PX * px)), SPACING_PX * px)


def holes_near(view: ChannelView, contour: np.ndarray) -> tuple[int, ...]:
    """Numbers of the openings near a contour (n, 2) mm."""
    line = LineString(np.vstack([contour, contour[:1]]))
    return tuple(k for k, points in enumerate(view.openings) if Polygon(points).buffer(0).distance(line) <= NEAR_PX * view.px)


def holes_covered(view: ChannelView, numbers: tuple[int, ...]) -> ChannelView:
    """The view with face laid over these openings, so that no probe takes a hole's rim for the wall."""
    if not numbers:
        return view
    light = view.light.copy()
    for hole in (Polygon(view.openings[k]).buffer(0) for k in numbers):
        within, about = (largest_piece(hole.buffer(view.rounding + k * view.px)) for k in (1.5, 5.0))
        if within is None or about is None:
            continue
        area, ring = (project_plane(view.camera, np.array(p.exterior.coords), view.height) for p in (within, about))
        level = float(np.median(sample(light, ring)))
        cv2.fillPoly(light, [np.round(area - 0.5).astype(np.int32)], level)
    return replace(view, light=light)


def largest_piece(region: BaseGeometry) -> Polygon | None:
    """The largest polygon of a region, None for an empty one."""
    pieces = list(region.geoms) if isinstance(region, MultiPolygon) else [region]
    whole = [piece for piece in pieces if isinstance(piece, Polygon) and not piece.is_empty]
    return max(whole, key=lambda piece: piece.area) if whole else None


def beside(view: ChannelView, chain: np.ndarray, offsets: tuple[float, ...]) -> np.ndarray:
    """Brightness (m, n) along a chain (n, 2) moved by each of the m offsets, mm, to its right."""
    points = chain + np.array(offsets)[:, None, None] * outward_normals(chain, 2.0)
    light = sample(view.light, project_plane(view.camera, points.reshape(-1, 2), view.height))
    return light.reshape(-1, len(chain)).astype(float)


def distances(points: np.ndarray, curve: np.ndarray) -> np.ndarray:
    """Distance (n,) of points to a closed polyline."""
    return np.asarray(shapely.distance(shapely.points(points), LineString(np.vstack([curve, curve[:1]]))))


def stands(view: ChannelView, wall: np.ndarray) -> bool:
    """Whether the face ends in a step along a wall (n, 2) mm, face on its left, not in shade that fades."""
    inner, outer = beside(view, wall, (-STEP_PX * view.px, STEP_PX * view.px))
    step = smooth_closed(inner - outer, STEP_AVERAGE) / max(float(np.median(inner)), 1e-3)
    return float(np.quantile(step, STEP_SHARE)) > LEAST_STEP
