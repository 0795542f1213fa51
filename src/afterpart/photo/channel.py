"""Channels in the face: both walls, each where it breaks the face.

Words: a *channel* is a recess that runs round the face and leaves an *island* of face inside it; its *outer* wall has the face
outside, its *inner* wall the island inside; its *floor* lies `depth` below the face.  A wall is a rim like any other, with the
floor where other rims have the table: the camera is told as it stands above the floor, and the probes of rimprobe.py tell face,
wall and floor apart.  Where the camera sees a wall, its top edge ends the face and the wall follows; where the face hides the
wall, the floor follows at once: both are known from the depth, which hardly matters (0.01 mm on the wall's place for 1 mm of it).
Limits: channels of nearly one width, seen all round; edges of a channel are taken as sharp.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.geometry.robust import median
from afterpart.model.camera import Camera
from afterpart.model.edges import Note, Rim
from afterpart.photo.channelprofile import channel_costs
from afterpart.photo.edgeprofile import sample
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.projection import project_plane, to_plane
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
LEAST_WIDTH_PX = 6.0
WIDEST = 0.12
"""Width a channel has at most, as a share of the square root of the area within it."""

CLEAR_STEP = 1.5
"""How much the step at the inner wall exceeds that along the usual parallel curve at least."""

LEAST_ISLAND = 0.2
"""Share of the area within the outer wall that the island has at least."""

THREAD_PX = 14.0
"""Shade that ties a hole to a channel is no wider than this."""

NEAR_PX = 30.0
"""A hole this near to a channel is covered while its walls are looked for."""

BESIDE_PX = 14.0
"""Stretches of the outer wall this near to a hole (beyond its rounding) may have been drawn towards it."""

LEAST_EVIDENCE = 0.8
"""Share of a wall's probes that must see an edge."""

WIDTH_SPREAD, WIDTH_SPREAD_PX = 0.15, 4.0
"""How far a channel's width may vary (half of the middle 80 %), as a share of it, or in px where that is more."""

SAME_FACE = 0.12
"""How far the island's brightness may differ from that of the face outside, as a share of it."""


@dataclass(frozen=True)
class SeenChannel:
    """outer, inner: its walls as rims; width: median distance between them in mm."""

    outer: Rim
    inner: Rim
    width: float


@dataclass(frozen=True)
class Unseen:
    """A channel that was suspected and could not be drawn; why: one clause."""

    why: str


@dataclass(frozen=True)
class ChannelView:
    """What the walls of a part's channels are looked for in.

    light: (h, w) float32 in linear light; camera: over the table; height: of the face; spread: of the picture; px: mm per pixel
    at the face; rounding: of the part's holes; openings: (k, 2) their rims in mm; depth: of the channel in mm as told, or None;
    sized: False where lengths are in pixels.
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

    @property
    def sunk(self) -> float:
        """Depth the walls are modelled with."""
        return (USUAL_DEPTH if self.depth is None else self.depth) if self.sized else 0.0

    @property
    def above(self) -> Camera:
        """The camera as it stands over the channel's floor."""
        x, y, z = self.camera.position
        return replace(self.camera, position=(x, y, z - self.height + self.sunk))


def part_channels(view: ChannelView, contours_px: Sequence[np.ndarray], part: int) -> tuple[list[Rim], list[Note]]:
    """Walls of all channels of one part, outer before inner, and what to say of them.

    contours_px: (n, 2) rough outer contours in picture px; part: its number.
    """
    walls: list[Rim] = []
    notes: list[Note] = []
    for contour in contours_px:
        seen = trace_channel(view, contour, part)
        if isinstance(seen, Unseen):
            notes.append(Note("channel_seen", f"A channel may run in the face, but it is not drawn: {seen.why}. Measure its "
                              "width, its depth and its distance from the edge by hand."))
            continue
        walls += [seen.outer, seen.inner]
        if view.sized:
            sunk = "Its depth was not told; measure it with the calliper's depth rod and say --channel-depth MM." \
                if view.depth is None else f"Its depth is {view.depth:g} mm as told."
            notes.append(Note("channel", f"A channel about {seen.width:.1f} mm wide runs in the face. {sunk}"))
    return walls, notes


def trace_channel(view: ChannelView, contour_px: np.ndarray, part: int) -> SeenChannel | Unseen:
    """Both walls of a channel from its rough outer contour (n, 2) in picture px."""
    px = view.px
    rough = _without_holes(to_plane(view.camera, contour_px, view.height), view.openings, px)
    if rough is None:
        return Unseen("its contour runs into a hole")
    near = _holes_near(view, rough)
    covered = _holes_covered(view, near)
    outer = _fit(covered, _chain(rough, True, px, 4.0 * px), 6.0)
    beside = _holes_near(view, outer.points)
    view = covered if beside == near else _holes_covered(view, beside)
    width = _width(view, outer.points)
    if width is None:
        return Unseen("its inner wall does not stand out all round")
    void = _void(width, px)
    outer = _fit(view, _resampled(outer, px), void)
    land = _largest(Polygon(outer.points).buffer(0).buffer(-width, join_style="mitre"))
    if land is None:
        return Unseen("its inner wall does not stand out all round")
    inner = _fit(view, _chain(np.array(land.exterior.coords)[:-1], False, px, 0.0), void)
    bridged = _bridged(view, outer.points, inner.points, width)
    if bridged is not None:
        outer = _fit(view, bridged, void)
    return _judged(outer, inner, part, px, view.depth)


def look_at_wall(view: ChannelView, chain: np.ndarray, other_wall: np.ndarray) -> RimFit:
    """One wall measured again along a fitted chain (n, 2) mm, face on its left; other_wall: (k, 2) points of the other."""
    void = _void(float(np.median(_distances(chain[::8], other_wall))), view.px)
    return _pass(_holes_covered(view, _holes_near(view, chain)), chain, REACH_PX, void, 0.0)


def _void(width: float, px: float) -> float:
    """How far beyond the last edge the floor may be looked at, px: within half of the channel's width."""
    return float(np.clip(0.5 * width / px, 3.0, 12.0))


def _judged(outer: RimFit, inner: RimFit, part: int, px: float, depth: float | None) -> SeenChannel | Unseen:
    """The channel, if both walls are edges nearly everywhere and stand at one distance."""
    for name, wall in (("outer", outer), ("inner", inner)):
        if (wall.gain > wall.samples).mean() < LEAST_EVIDENCE:
            return Unseen(f"its {name} wall stands out only in part")
    gaps = _distances(inner.points, outer.points)
    low, width, high = np.quantile(gaps, (0.1, 0.5, 0.9))
    if width < LEAST_WIDTH_PX * px or 0.5 * (high - low) > max(WIDTH_SPREAD * width, WIDTH_SPREAD_PX * px):
        return Unseen("its walls do not run side by side")
    rims = [Rim("channel", part, wall.points, wall.u, name, depth) for wall, name in ((outer, "outer"), (inner, "inner"))]
    return SeenChannel(rims[0], rims[1], float(width))


def _fit(view: ChannelView, chain: np.ndarray, void_px: float) -> RimFit:
    """A wall's rim from a rough chain, in two passes."""
    first = _pass(view, chain, FIRST_REACH_PX, void_px, 6.0)
    return _pass(view, _resampled(first, view.px), REACH_PX, void_px, 3.0)


def _pass(view: ChannelView, chain: np.ndarray, reach_px: float, void_px: float, normal_smooth: float) -> RimFit:
    shape = RimShape(view.sunk, SHARP if view.sunk else 0.0, 0.0, view.above.position[2])
    course = Course(chain, reach_px, void_px, AVERAGE, normal_smooth)
    block = read_probes(view.light, view.above, [course], shape, view.px, FINE)
    return judge_rims(block, shape, view.spread, costs_of=channel_costs)[0]


def _resampled(rim: RimFit, px: float) -> np.ndarray:
    return resample_closed(smooth_closed(rim.points, 1.0), SPACING_PX * px)


def _chain(points: np.ndarray, clockwise: bool, px: float, smooth: float) -> np.ndarray:
    """An even chain (n, 2) from any closed polyline; smooth: in mm."""
    if (signed_area(points) < 0) != clockwise:
        points = points[::-1]
    fine = resample_closed(points, 0.5 * SPACING_PX * px)
    return resample_closed(smooth_closed(fine, smooth / (0.5 * SPACING_PX * px)), SPACING_PX * px)


def _without_holes(contour: np.ndarray, openings: Sequence[np.ndarray], px: float) -> np.ndarray | None:
    """A rough outer contour (n, 2) mm less the holes that hang on it by a thread of shade."""
    region: BaseGeometry = Polygon(contour).buffer(0)
    for points in openings:
        hole = Polygon(points).buffer(5.0 * px)
        if hole.intersects(region) and not region.contains(hole):
            region = region.difference(hole)
    cleaned = _largest(region.buffer(-THREAD_PX * px).buffer(THREAD_PX * px, join_style="mitre"))
    return None if cleaned is None else np.array(cleaned.exterior.coords)[:-1]


def _holes_near(view: ChannelView, contour: np.ndarray) -> tuple[int, ...]:
    """Numbers of the openings near a contour (n, 2) mm."""
    line = LineString(np.vstack([contour, contour[:1]]))
    return tuple(k for k, points in enumerate(view.openings) if Polygon(points).buffer(0).distance(line) <= NEAR_PX * view.px)


def _holes_covered(view: ChannelView, numbers: tuple[int, ...]) -> ChannelView:
    """The view with face laid over these openings, so that no probe takes a hole's rim for the wall."""
    if not numbers:
        return view
    light = view.light.copy()
    for hole in (Polygon(view.openings[k]).buffer(0) for k in numbers):
        within, about = (_largest(hole.buffer(view.rounding + k * view.px)) for k in (1.5, 5.0))
        if within is None or about is None:
            continue
        area, ring = (project_plane(view.camera, np.array(p.exterior.coords), view.height) for p in (within, about))
        level = float(np.median(sample(light, ring)))
        cv2.fillPoly(light, [np.round(area - 0.5).astype(np.int32)], level)
    return replace(view, light=light)


def _bridged(view: ChannelView, outer: np.ndarray, inner: np.ndarray, width: float) -> np.ndarray | None:
    """The outer wall's chain with its stretches beside holes laid anew, parallel to the inner wall, which no hole comes near;
    None where there are none."""
    px = view.px
    zone = shapely.union_all([Polygon(points).buffer(view.rounding + BESIDE_PX * px) for points in view.openings])
    region = Polygon(outer).buffer(0)
    if not zone.intersects(region.exterior if isinstance(region, Polygon) else region.boundary):
        return None
    parallel = Polygon(inner).buffer(0).buffer(width, join_style="mitre")
    mended = _largest(region.difference(zone).union(parallel.intersection(zone)).buffer(px).buffer(-px))
    return None if mended is None else _chain(np.array(mended.exterior.coords)[:-1], True, px, 8.0 * px)


def _largest(region: BaseGeometry) -> Polygon | None:
    pieces = list(region.geoms) if isinstance(region, MultiPolygon) else [region]
    whole = [piece for piece in pieces if isinstance(piece, Polygon) and not piece.is_empty]
    return max(whole, key=lambda piece: piece.area) if whole else None


def _width(view: ChannelView, outer: np.ndarray) -> float | None:
    """Distance in mm from the outer wall at which the face begins again, by the steepest parallel curve; None when nowhere."""
    px = view.px
    region = Polygon(outer).buffer(0).simplify(0.5 * px)
    holes = shapely.union_all([Polygon(points).buffer(8.0 * px) for points in view.openings])
    face = median(_beside(view, outer, (-4.0 * px,))[0])
    widths = np.arange(LEAST_WIDTH_PX * px, WIDEST * np.sqrt(region.area), px)
    steps, levels = np.zeros(len(widths)), np.zeros(len(widths))
    for k, width in enumerate(widths):
        land = _largest(region.buffer(-width, join_style="mitre"))
        if land is None or land.area < LEAST_ISLAND * region.area:
            break
        curve = _chain(np.array(land.exterior.coords)[:-1], False, px, 0.0)
        bare = ~shapely.contains_xy(holes, curve)
        if bare.mean() < 0.5:
            break
        before, after, beyond = _beside(view, curve, (1.5 * px, -1.5 * px, -5.0 * px))
        steps[k] = float(np.abs(smooth_closed(after - before, 4.0))[bare].mean())
        levels[k] = median(beyond[bare]) / max(face, 1e-3)
    score = np.where(np.abs(levels - 1) < SAME_FACE, steps, 0.0)
    if not len(score) or score.max() <= CLEAR_STEP * float(np.median(steps[steps > 0])):
        return None
    return float(widths[score.argmax()])


def _beside(view: ChannelView, chain: np.ndarray, offsets: tuple[float, ...]) -> np.ndarray:
    """Brightness (m, n) along a chain (n, 2) moved by each of the m offsets, mm, to its right."""
    points = chain + np.array(offsets)[:, None, None] * outward_normals(chain, 2.0)
    light = sample(view.light, project_plane(view.camera, points.reshape(-1, 2), view.height))
    return light.reshape(-1, len(chain)).astype(float)


def _distances(points: np.ndarray, curve: np.ndarray) -> np.ndarray:
    """Distance (n,) of points to a closed polyline."""
    return np.asarray(shapely.distance(shapely.points(points), LineString(np.vstack([curve, curve[:1]]))))
