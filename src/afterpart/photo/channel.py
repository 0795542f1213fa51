"""Channels, pockets and pads of the face: their walls, each where it breaks the face.

Words: a *channel* is a recess that runs round the face and leaves an *island* of face inside it; its *outer* wall has the face
outside, its *inner* wall the island inside; its *floor* lies `depth` below the face.  A *pocket* is a recess with one wall, the
face outside it; a *pad* is a raised stretch of face with one wall, its top inside it.  Which of them a ring of shade is, its
walls tell: the face ends in a step, shade fades (channelwall.stands).
Limits: channels of nearly one width; walls seen all round, edges taken as sharp; a channel whose inner wall does not show at all
passes for a pocket.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.geometry.robust import median
from afterpart.model.edges import Note, Rim, is_loose
from afterpart.photo.channelwall import (
    SINGLE_VOID_PX,
    ChannelView,
    beside,
    distances,
    even_chain,
    fit_wall,
    holes_covered,
    holes_near,
    largest_piece,
    resampled,
    stands,
    void_beyond,
)
from afterpart.photo.part import SeenRing
from afterpart.photo.projection import to_plane
from afterpart.photo.rimchain import smooth_closed
from afterpart.photo.rims import RimFit

FACE_PX, FLOOR_PX, IN_SHADE = 4.0, 6.0, 0.025
"""Beside its wall a pocket's floor is darker than the face by this share of it: the wall hides some of the sky.  Both are read so
many px from the edge."""

LEAST_WIDTH_PX = 6.0
"""A channel is this wide at least, px."""

WIDEST = 0.12
"""Width a channel has at most, as a share of the square root of the area within it."""

CLEAR_STEP = 1.5
"""How much the step at the inner wall exceeds that along the usual parallel curve at least."""

LEAST_ISLAND = 0.2
"""Share of the area within the outer wall that the island has at least."""

THREAD_PX = 14.0
"""Shade that ties a hole to a channel is no wider than this."""

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
class SeenLevel:
    """A pocket or a pad by its one wall."""

    wall: Rim


@dataclass(frozen=True)
class Unseen:
    """A wall that was suspected and could not be drawn; why: one clause."""

    why: str


def part_channels(view: ChannelView, rings: Sequence[SeenRing], part: int) -> tuple[list[Rim], list[Note]]:
    """Walls of a part's pockets and pads, then of its channels, outer before inner, then of pads whose height was not told; and
    what to say of them.

    rings: strips of shade in the face; part: its number.
    """
    walls: list[Rim] = []
    single: list[Rim] = []
    loose: list[Rim] = []
    notes: list[Note] = []
    for ring in rings:
        seen = trace_channel(view, ring, part)
        if isinstance(seen, Unseen):
            notes.append(Note("channel_seen", f"A channel or a step may run in the face, but it is not drawn: {seen.why}. "
                              "Measure its width, its depth and its distance from the edge by hand."))
        elif isinstance(seen, SeenChannel):
            walls += [seen.outer, seen.inner]
            if view.sized:
                sunk = "Its depth was not told; measure it with the calliper's depth rod and say --channel-depth MM." \
                    if view.depth is None else f"Its depth is {view.depth:g} mm as told."
                notes.append(Note("channel", f"A channel about {seen.width:.1f} mm wide runs in the face. {sunk}"))
        else:
            (loose if is_loose(seen.wall) else single).append(seen.wall)
            notes += _said_of_level(view, seen.wall)
    return [*single, *walls, *loose], notes


def _said_of_level(view: ChannelView, wall: Rim) -> list[Note]:
    """What the maker should know of a pocket or a pad; nothing where the size is unknown."""
    if not view.sized:
        return []
    size = " by ".join(f"{side:.0f}" for side in np.ptp(wall.points, axis=0))
    if wall.wall == "pocket":
        sunk = "Its depth was not told; measure it with the calliper's depth rod and say --channel-depth MM." \
            if view.depth is None else f"Its depth is {view.depth:g} mm as told."
        return [Note("pocket", f"A pocket of about {size} mm is sunk into the face (or a channel whose inner wall does not "
                     f"show). {sunk}")]
    told = f"A pad of about {size} mm stands on the face."
    if view.pad_height is not None:
        return [Note("pad", f"{told} Its height is {view.pad_height:g} mm as told.")]
    away = view.camera.position[2] - view.height
    larger = float(np.ptp(wall.points, axis=0).max()) / away
    aside = float(np.hypot(*(wall.points.mean(axis=0) - view.camera.position[:2]))) / away
    return [Note("pad", f"{told} Its height was not told: each millimetre of it makes the pad look {larger:.2f} mm larger than "
                 f"it is and lie {aside:.2f} mm aside. Measure it with the depth rod and say it in the job: [[height]] with "
                 'level = "boss".')]


def trace_channel(view: ChannelView, ring: SeenRing, part: int) -> SeenChannel | SeenLevel | Unseen:
    """Both walls of a channel, or the one of a pocket or a pad, from a ring of shade."""
    px = view.px
    rough = _without_holes(to_plane(view.camera, ring.outer, view.height), view.openings, px)
    if rough is None:
        return Unseen("its contour runs into a hole")
    near = holes_near(view, rough)
    covered = holes_covered(view, near)
    outer = fit_wall(covered, even_chain(rough, True, px, 4.0 * px), 6.0)
    if not stands(covered, outer.points):
        return _pad(view, ring, part)
    by_wall = holes_near(view, outer.points)
    view = covered if by_wall == near else holes_covered(view, by_wall)
    width = _width(view, outer.points)
    if width is None:
        return _pocket(view, ring, outer, part)
    void = void_beyond(width, px)
    outer = fit_wall(view, resampled(outer, px), void)
    land = largest_piece(Polygon(outer.points).buffer(0).buffer(-width, join_style="mitre"))
    if land is None:
        return _pocket(view, ring, outer, part)
    inner = fit_wall(view, even_chain(np.array(land.exterior.coords)[:-1], False, px, 0.0), void)
    if not stands(view, inner.points):
        return _pocket(view, ring, outer, part)
    bridged = _bridged(view, outer.points, inner.points, width)
    if bridged is not None:
        outer = fit_wall(view, bridged, void)
    if median(distances(inner.points, outer.points)) < LEAST_WIDTH_PX * px:
        # no second wall: the shade at the first one's foot
        return _pocket(view, ring, outer, part)
    return _judged(outer, inner, part, px, view.depth)


def _pocket(view: ChannelView, ring: SeenRing, outer: RimFit, part: int) -> SeenLevel | Unseen:
    """The pocket within an outer wall, unless the face begins again at once or nothing closes the ring."""
    if ring.island is None:
        return Unseen("its inner wall does not stand out all round")
    face, floor = beside(view, outer.points, (-FACE_PX * view.px, FLOOR_PX * view.px))
    if median(1.0 - floor / np.maximum(face, 1e-3)) < IN_SHADE:
        return Unseen("its walls stand too close together")
    return _one_wall(outer, part, "pocket", view.depth)


def _pad(view: ChannelView, ring: SeenRing, part: int) -> SeenLevel | Unseen:
    """The pad on the island of a ring of shade, if the island ends in a step."""
    if ring.island is None:
        return Unseen("its outer wall stands out only in part")
    tall = view.pad_height if view.sized else None
    raised = view if tall is None else replace(view, height=view.height + tall, depth=tall)
    wall = _from_island(raised, ring.island)
    if not stands(raised, wall.points):
        return Unseen("its outer wall stands out only in part")
    return _one_wall(wall, part, "pad", None if tall is None else -tall)


def _from_island(view: ChannelView, island: np.ndarray) -> RimFit:
    """The wall along the rough contour (n, 2) in picture px of an island of face, fitted."""
    chain = even_chain(to_plane(view.camera, island, view.height), False, view.px, 4.0 * view.px)
    return fit_wall(holes_covered(view, holes_near(view, chain)), chain, SINGLE_VOID_PX)


def _one_wall(wall: RimFit, part: int, name: str, depth: float | None) -> SeenLevel | Unseen:
    if (wall.gain > wall.samples).mean() < LEAST_EVIDENCE:
        return Unseen("its wall stands out only in part")
    return SeenLevel(Rim("channel", part, wall.points, wall.u, name, depth))


def _judged(outer: RimFit, inner: RimFit, part: int, px: float, depth: float | None) -> SeenChannel | Unseen:
    """The channel, if both walls are edges nearly everywhere and stand at one distance."""
    for name, wall in (("outer", outer), ("inner", inner)):
        if (wall.gain > wall.samples).mean() < LEAST_EVIDENCE:
            return Unseen(f"its {name} wall stands out only in part")
    gaps = distances(inner.points, outer.points)
    low, width, high = np.quantile(gaps, (0.1, 0.5, 0.9))
    if 0.5 * (high - low) > max(WIDTH_SPREAD * width, WIDTH_SPREAD_PX * px):
        return Unseen("its walls do not run side by side")
    rims = [Rim("channel", part, wall.points, wall.u, name, depth) for wall, name in ((outer, "outer"), (inner, "inner"))]
    return SeenChannel(rims[0], rims[1], float(width))


def _without_holes(contour: np.ndarray, openings: Sequence[np.ndarray], px: float) -> np.ndarray | None:
    """A rough outer contour (n, 2) mm less the holes that hang on it by a thread of shade."""
    region: BaseGeometry = Polygon(contour).buffer(0)
    for points in openings:
        hole = Polygon(points).buffer(5.0 * px)
        if hole.intersects(region) and not region.contains(hole):
            region = region.difference(hole)
    cleaned = largest_piece(region.buffer(-THREAD_PX * px).buffer(THREAD_PX * px, join_style="mitre"))
    return None if cleaned is None else np.array(cleaned.exterior.coords)[:-1]


def _bridged(view: ChannelView, outer: np.ndarray, inner: np.ndarray, width: float) -> np.ndarray | None:
    """The outer wall's chain with its stretches beside holes laid anew, parallel to the inner wall, which no hole comes near;
    None where there are none."""
    px = view.px
    zone = shapely.union_all([Polygon(points).buffer(view.rounding + BESIDE_PX * px) for points in view.openings])
    region = Polygon(outer).buffer(0)
    if not zone.intersects(region.exterior if isinstance(region, Polygon) else region.boundary):
        return None
    parallel = Polygon(inner).buffer(0).buffer(width, join_style="mitre")
    mended = largest_piece(region.difference(zone).union(parallel.intersection(zone)).buffer(px).buffer(-px))
    return None if mended is None else even_chain(np.array(mended.exterior.coords)[:-1], True, px, 8.0 * px)


def _width(view: ChannelView, outer: np.ndarray) -> float | None:
    """Distance in mm from the outer wall at which the face begins again, by the steepest parallel curve; None when nowhere."""
    px = view.px
    region = Polygon(outer).buffer(0).simplify(0.5 * px)
    holes = shapely.union_all([Polygon(points).buffer(8.0 * px) for points in view.openings])
    face = median(beside(view, outer, (-4.0 * px,))[0])
    widths = np.arange(LEAST_WIDTH_PX * px, WIDEST * np.sqrt(region.area), px)
    steps, levels = np.zeros(len(widths)), np.zeros(len(widths))
    for k, width in enumerate(widths):
        land = largest_piece(region.buffer(-width, join_style="mitre"))
        if land is None or land.area < LEAST_ISLAND * region.area:
            break
        curve = even_chain(np.array(land.exterior.coords)[:-1], False, px, 0.0)
        bare = ~shapely.contains_xy(holes, curve)
        if bare.mean() < 0.5:
            break
        before, after, beyond = beside(view, curve, (1.5 * px, -1.5 * px, -5.0 * px))
        steps[k] = float(np.abs(smooth_closed(after - before, 4.0))[bare].mean())
        levels[k] = median(beyond[bare]) / max(face, 1e-3)
    score = np.where(np.abs(levels - 1) < SAME_FACE, steps, 0.0)
    if not len(score) or score.max() <= CLEAR_STEP * float(np.median(steps[steps > 0])):
        return None
    return float(widths[score.argmax()])


