"""A region of the plane that shapes are laid into: its walls, its inward corners, and what a shape touches or breaks.

Words: the *room* is a simple polygon, curved sides as fine chords; a *wall* is one of its sides; an *inward corner* is one that
points into the room (its angle inside is more than 180 degrees); a *shape* is a convex polygon, corners counter-clockwise.
A convex shape lies in the room when its corners do and no inward corner lies inside it; only a spike thinner than its own two
corners could slip through that test, so `holds` asks shapely as well.
Conventions: the room is moved and scaled to the unit area, so that every tolerance here is a share of its size.
Limits: no islands; a room pinched into several keeps its largest part.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely import Point as ShapelyPoint
from shapely import Polygon, prepare
from shapely.geometry.polygon import orient

_SAME = 1e-9
"""Points closer than this share of the size are one."""
_STRAIGHT = 1e-10
"""A turn whose cross product is below this is no corner."""
_CLOCKWISE = np.array([[0.0, -1.0], [1.0, 0.0]])
"""Rows times this turn by a quarter to the right."""
_PULL_IN = (0.0, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4)
"""Shares by which a finished shape is drawn towards its middle until shapely agrees that it lies inside."""


@dataclass(frozen=True)
class Room:
    """points: (n, 2) corners counter-clockwise, unit area, middle at the origin; run, length, inward: (n, 2), (n,), (n, 2) of
    the walls from each corner to the next; is_inward: (n,) corners that point into the room; middle, size: a point p of the
    caller's lies at (p - middle) / size here; polygon: the same for shapely."""

    points: np.ndarray
    run: np.ndarray
    length: np.ndarray
    inward: np.ndarray
    is_inward: np.ndarray
    middle: np.ndarray
    size: float
    polygon: Polygon

    @cached_property
    def end(self) -> np.ndarray:
        """(n, 2) where each wall ends."""
        return following(self.points)

    @cached_property
    def slant(self) -> np.ndarray:
        """(n,) x gained for each y along a wall; a level wall counts as rising by 1."""
        return np.asarray(self.run[:, 0] / np.where(self.run[:, 1] == 0.0, 1.0, self.run[:, 1]))

    @cached_property
    def along(self) -> np.ndarray:
        """(n, 2) unit vectors of the walls."""
        return np.asarray(self.run / self.length[:, None])

    @cached_property
    def begins_at(self) -> np.ndarray:
        """(n,) place of each wall's start along its own line."""
        return np.asarray(np.einsum("nd,nd->n", self.points, self.along))

    @cached_property
    def lies_at(self) -> np.ndarray:
        """(n,) distance of each wall's line from the origin, along its inward normal."""
        return np.asarray(np.einsum("nd,nd->n", self.points, self.inward))

    @cached_property
    def inward_corners(self) -> np.ndarray:
        """(r, 2) corners that point into the room."""
        return np.asarray(self.points[self.is_inward])

    @property
    def is_convex(self) -> bool:
        """No corner points into the room."""
        return not bool(self.is_inward.any())


def make_room(points: np.ndarray, inset: float = 0.0) -> Room:
    """The room inside a closed chain of points (n, 2), drawn in by `inset` (the chord error of its curved sides).

    ValueError: fewer than three points, a chain that crosses itself, or nothing left after the inset.
    """
    given = np.asarray(points, dtype=float)
    if given.ndim != 2 or given.shape[1] != 2 or len(given) < 3 or not np.isfinite(given).all():
        raise ValueError(f"a region needs at least three finite points (n, 2), got an array of shape {given.shape}")
    polygon = Polygon(given)
    if not polygon.is_valid or polygon.area <= 0:
        raise ValueError("the region's boundary crosses itself or encloses nothing")
    if inset > 0:
        polygon = polygon.buffer(-inset, join_style="mitre")
        parts = [polygon] if isinstance(polygon, Polygon) else list(polygon.geoms)
        polygon = max(parts, key=lambda p: (p.area, p.bounds))
        if polygon.is_empty:
            raise ValueError(f"nothing is left of the region when it is drawn in by {inset:g}")
    ring = np.asarray(orient(polygon).exterior.coords)[:-1]
    size = float(np.sqrt(polygon.area))
    middle = np.array(polygon.centroid.coords[0])
    return _measured(_without_repeats((ring - middle) / size), middle, size)


def _without_repeats(ring: np.ndarray) -> np.ndarray:
    gap = ring - np.roll(ring, 1, axis=0)
    ring = ring[np.hypot(gap[:, 0], gap[:, 1]) > _SAME]
    turn = _cross(ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring)
    return np.asarray(ring[np.abs(turn) > _STRAIGHT])


def coarser(room: Room, tolerance: float) -> Room:
    """The same room with fewer corners, its walls off by at most this share of its size, to either side."""
    ring = np.asarray(room.polygon.simplify(tolerance).exterior.coords)[:-1]
    return _measured(ring, room.middle, room.size) if len(ring) >= 3 else room


def _measured(points: np.ndarray, middle: np.ndarray, size: float) -> Room:
    run = np.roll(points, -1, axis=0) - points
    length = np.hypot(run[:, 0], run[:, 1])
    inward = np.column_stack([-run[:, 1], run[:, 0]]) / length[:, None]
    polygon = Polygon(points)
    prepare(polygon)
    return Room(points, run, length, inward, _cross(np.roll(run, 1, axis=0), run) < 0, middle, size, polygon)


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def shape_area(corners: np.ndarray) -> float:
    """Area inside corners (k, 2), counter-clockwise positive."""
    return float(_cross(corners, following(corners)).sum() / 2)


def area_slope(corners: np.ndarray) -> np.ndarray:
    """How the area grows with each coordinate of the corners, (k, 2)."""
    across = following(corners) - following(corners, -1)
    return np.column_stack([across[:, 1], -across[:, 0]]) / 2


def following(ring: np.ndarray, by: int = 1) -> np.ndarray:
    """Each place of a ring answered by the one `by` places further round."""
    return np.concatenate((ring[by:], ring[:by]))


@dataclass(frozen=True)
class Contacts:
    """Where a shape stands to the room.  along: (k, n) place of each corner's foot along each wall; depth: (k, n) how far each
    corner is inside the line of each wall; reach: (k, n) distance to the wall itself; clear: (r, k) how far each inward corner
    of the room lies outside the line of each side of the shape; broken: the deepest break, 0 when the shape fits."""

    along: np.ndarray
    depth: np.ndarray
    reach: np.ndarray
    clear: np.ndarray
    broken: float


def contacts(room: Room, corners: np.ndarray) -> Contacts:
    """How a shape with these corners (k, 2) stands to the room's walls and inward corners."""
    along = corners @ room.along.T - room.begins_at
    depth = corners @ room.inward.T - room.lies_at
    reach = np.hypot(depth, along - np.minimum(np.maximum(along, 0.0), room.length))
    outside = ~is_inside(room, corners)
    run = following(corners) - corners
    outward = (run / np.maximum(np.hypot(run[:, 0], run[:, 1]), _SAME)[:, None]) @ _CLOCKWISE
    clear = room.inward_corners @ outward.T - np.einsum("kd,kd->k", corners, outward)
    broken = max(float((reach.min(axis=1) * outside).max()), float(-clear.max(axis=1).min()) if len(clear) else 0.0, 0.0)
    return Contacts(along, depth, reach, clear, broken)


def is_inside(room: Room, places: np.ndarray) -> np.ndarray:
    """Which places (k, 2) lie in the room, by the count of walls crossed by a ray to the right."""
    start = room.points
    y = places[:, 1, None]
    crosses = (start[:, 1] <= y) != (room.end[:, 1] <= y)
    at = start[:, 0] + (y - start[:, 1]) * room.slant
    return np.asarray(np.count_nonzero(crosses & (at > places[:, 0, None]), axis=1) % 2, dtype=bool)


def drawn_inside(room: Room, corners: np.ndarray) -> np.ndarray | None:
    """The shape, drawn towards its middle by as little as makes it lie wholly in the room; None where little is not enough."""
    middle = corners.mean(axis=0)
    for share in _PULL_IN:
        candidate: np.ndarray = middle + (1.0 - share) * (corners - middle)
        if holds(room, candidate):
            return candidate
    return None


def holds(room: Room, corners: np.ndarray) -> bool:
    """Whether the shape lies wholly in the room, told by shapely."""
    polygon = Polygon(corners)
    return bool(polygon.is_valid and room.polygon.covers(polygon))


def area_outside(room: Room, corners: np.ndarray) -> float:
    """Area of the shape beyond the room's walls; all of it where it crosses itself."""
    polygon = Polygon(corners)
    if room.polygon.covers(polygon):
        return 0.0
    return float(polygon.area - (room.polygon.intersection(polygon).area if polygon.is_valid else 0.0))


def widest_place(room: Room) -> np.ndarray:
    """The middle of a large circle in the room (to 2 % of its size)."""
    x0, y0, x1, y1 = room.polygon.bounds
    grid = np.array([(x, y) for x in np.linspace(x0, x1, 41) for y in np.linspace(y0, y1, 41)])
    grid = grid[is_inside(room, grid)]
    if not len(grid):
        return np.array(ShapelyPoint(room.polygon.representative_point()).coords[0])
    offset = grid[:, None, :] - room.points[None, :, :]
    along = np.einsum("knd,nd->kn", offset, room.run) / room.length
    gap = offset - (np.clip(along, 0.0, room.length) / room.length)[:, :, None] * room.run[None, :, :]
    return np.asarray(grid[int(np.hypot(gap[..., 0], gap[..., 1]).min(axis=1).argmax())])
