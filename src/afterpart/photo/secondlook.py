"""A second look at the rims, once their lines and arcs are known.

The first look follows a rim probe by probe; where it strays (a shadow, a wall as bright as the face) its normals and the foot of
its wall stray too.  A chain laid along the fitted lines and arcs has exact normals and an exact foot, so a close look along it
finds the edge again where it was lost, and half as much scatter elsewhere.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.spatial import cKDTree

from afterpart.model.edges import EdgeMap, Rim, other_wall
from afterpart.photo.adjust import ground_px_per_mm
from afterpart.photo.channelwall import ChannelView, look_at_wall
from afterpart.photo.load import Picture
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.projection import project_plane
from afterpart.photo.rimchain import SPACING_PX, resample_closed, signed_area
from afterpart.photo.rimprobe import Course
from afterpart.photo.rims import fit_rims
from afterpart.photo.roundrim import circle_chain, robust_circle
from afterpart.photo.roundsectors import settle_by_sectors
from afterpart.photo.shape import RimLook
from afterpart.photo.trace import rim_average, rim_void, trace_circles

REACH_PX = 4.0
MOST_LONGER = 1.5
"""A fitted chain so much longer than its rim is not believed either."""

ROUND_PX, CLOSE_PX = 0.05, (4.0, 3.0)
"""A rim that scatters by less about a circle was measured as one, px; how far it may move when it is fitted anew, px."""

LEAST_ONWARD = 0.8
"""A fitted chain of which less runs round with its rim is not believed."""

FAR_PX = 25.0
"""A fitted chain that leaves its rim by more than this anywhere is not believed."""


def look_again(picture: Picture, edges: EdgeMap, fitted: Sequence[np.ndarray | None]) -> EdgeMap:
    """The edge map with every free rim measured again along its fitted chain; round rims and rims without a chain stay.

    fitted: for each rim a closed chain (n, 2) along the lines and arcs fitted to it, in the map's frame and unit, or None."""
    if edges.camera is None or not edges.rims:
        return edges
    light = picture.light
    middle = project_plane(edges.camera, edges.rims[0].points.mean(0)[None], edges.face_height)[0]
    px = 1 / ground_px_per_mm(edges.camera, middle, edges.face_height)
    shape = RimShape(edges.face_height, edges.edge_radius, float(np.tan(np.radians(edges.draft_deg))), edges.camera.position[2])
    rims = list(edges.rims)
    courses: dict[int, Course] = {}
    for k, rim in enumerate(edges.rims):
        chain = laid_along(rim, fitted[k], px)
        if chain is None:
            continue
        if rim.role == "channel":
            beside_it = other_wall(edges.rims, k)
            wall = look_at_wall(_channel_view(light, edges, rim, px), chain, None if beside_it is None else beside_it.points)
            rims[k] = replace(rim, points=wall.points, u=wall.u)
            continue
        opening = rim.role != "outer"
        beside = tuple(other.points for other in edges.rims if other is not rim and other.part == rim.part
                       and other.role != "channel")
        courses[k] = Course(chain, REACH_PX, rim_void(chain, px, opening, REACH_PX), rim_average(chain, px, opening), 0.0,
                            beside=beside)
    found = fit_rims(light, edges.camera, tuple(courses.values()), shape, px, Spread(edges.blur_px, edges.sharpening))
    for k, fit in zip(courses, found, strict=True):
        rims[k] = replace(rims[k], points=fit.points, u=fit.u)
    return replace(edges, rims=tuple(rims))


def look_at_circles(picture: Picture, edges: EdgeMap) -> EdgeMap:
    """The edge map with every rim that is a circle fitted anew to the picture, from where it stands, and settled by its sectors;
    one that is not found stays."""
    if edges.camera is None or not edges.rims:
        return edges
    middle = project_plane(edges.camera, edges.rims[0].points.mean(0)[None], edges.face_height)[0]
    px = 1 / ground_px_per_mm(edges.camera, middle, edges.face_height)
    shape = RimShape(edges.face_height, edges.edge_radius, float(np.tan(np.radians(edges.draft_deg))), edges.camera.position[2])
    look = RimLook(shape, Spread(edges.blur_px, edges.sharpening), True, np.empty((0, 0)), np.empty((0, 0)))
    starts: dict[int, tuple[np.ndarray, float, bool]] = {}
    for k, rim in enumerate(edges.rims):
        centre, radius, scatter = robust_circle(rim.points)
        if rim.role != "channel" and scatter < ROUND_PX * px:
            starts[k] = (centre, radius, rim.role == "opening")
    rims = list(edges.rims)
    found = trace_circles(picture.light, edges.camera, tuple(starts.values()), look, px, reach_px=CLOSE_PX)
    for k, traced in zip(starts, found, strict=True):
        if traced is not None and traced.fitted is not None:
            settled = settle_by_sectors(traced.fitted, edges.camera, edges.face_height, px)
            points = circle_chain(settled.centre, settled.radius, len(traced.points), traced.opening)
            covariance = tuple(map(tuple, settled.covariance.tolist()))
            rims[k] = replace(rims[k], points=points, u=traced.u, round_cov=covariance)
    return replace(edges, rims=tuple(rims))


def _channel_view(light: np.ndarray, edges: EdgeMap, rim: Rim, px: float) -> ChannelView:
    """What the wall `rim` of a channel, a pocket or a pad is looked for in."""
    assert edges.camera is not None
    tall = 0.0 if rim.wall != "pad" or rim.depth is None else -rim.depth
    openings = tuple(r.points for r in edges.rims if r.role == "opening" and r.part == rim.part)
    spread = Spread(edges.blur_px, edges.sharpening)
    return ChannelView(light, edges.camera, edges.face_height + tall, spread, px, edges.edge_radius, openings, tall or rim.depth,
                       edges.unit == "mm")


def _length(chain: np.ndarray) -> float:
    """Length of a closed chain (n, 2)."""
    return float(np.hypot(*(np.roll(chain, -1, axis=0) - chain).T).sum())


def laid_along(rim: Rim, fitted: np.ndarray | None, px: float) -> np.ndarray | None:
    """The chain fitted to a free rim, evenly spaced, the same way round; None where it is not to be believed."""
    if fitted is None or _length(fitted) > MOST_LONGER * _length(rim.points):
        return None
    chain = resample_closed(fitted, SPACING_PX * px)
    area = signed_area(rim.points)
    if (signed_area(chain) > 0) != (area > 0):
        chain = chain[::-1]
    if abs(abs(signed_area(chain)) - abs(area)) > 0.1 * abs(area):
        return None
    away, nearest = cKDTree(rim.points).query(chain)
    # where two carriers hardly turn against each other they may cross far back: what runs back along the rim is left out
    count = len(rim.points)
    ahead = np.cumsum((np.diff(nearest, prepend=nearest[0]) + count // 2) % count - count // 2)
    onward = ahead >= np.maximum.accumulate(ahead)
    if away[onward].max() >= FAR_PX * px or onward.mean() < LEAST_ONWARD:
        return None
    return chain if onward.all() else resample_closed(chain[onward], SPACING_PX * px)
