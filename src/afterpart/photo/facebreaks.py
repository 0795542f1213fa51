"""What breaks the face of a part: openings, and rings of shade where a wall runs round inside it.

Words: a *ring* is a closed strip that is no face, with an *island* inside it: the walls of a channel, or the shaded wall of a
pocket or of a raised pad.  Contours here are rough, in px of the view.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.photo.wallrings import LEAST_ISLAND, Ring, joined_rings

SOLID, HOLLOW = 0.85, 0.45
"""Share of its hull that a whole opening fills at least, and that a channel seen in part fills at most."""

HALF_ROUND_DEG = 150.0
"""A dark arc of this span is taken for half of a hole's rim, and its circle completed."""

RIM_REACH = 4.0
"""How far beside a crescent's circle the rest of a hole's rim is looked for, in reduced px."""

HANGING = 0.4
"""An opening that hangs on a ring is narrower than this share of the ring's smaller side."""

COMPACT = 0.5
"""It fills this share of the circle round it; the corner of a ring does not."""

IN_RING = 0.7
"""A piece of which so much lies in a ring pieced together belongs to it."""

LEAST_SCRAP = 1.6
"""A piece is a scrap when what hangs together with it is so many times its area."""


def largest_contour(mask: np.ndarray) -> np.ndarray | None:
    """The outer contour of the largest piece; None where there is none."""
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return max(contours, key=cv2.contourArea, default=None)


def breaks_of(inside: np.ndarray, grown: np.ndarray, soft: np.ndarray, level: np.ndarray) -> tuple[list[np.ndarray], list[Ring]]:
    """Contours (n, 1, 2) of the openings in the face, and its rings.

    inside: the filled outer contour; grown: face, widened; soft: brightness; level: face as it was seen."""
    broken = ((inside > 0) & (grown == 0)).astype(np.uint8)
    broken = cv2.morphologyEx(broken, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    edge = inside & ~cv2.erode(inside, np.ones((5, 5), np.uint8))
    pieces = [_Piece.of(piece) for piece in _pieces(broken, edge)]
    whole = np.zeros_like(inside)
    for piece in pieces:
        if piece.islands:
            whole |= piece.mask
    rings, belongs = joined_rings(inside, level, edge, cv2.dilate(whole, np.ones((7, 7), np.uint8)))
    openings: list[np.ndarray] = []
    discs: list[tuple[np.ndarray, float]] = []
    for piece in pieces:
        outer, solid = piece.outer, piece.solid
        if any(np.hypot(*(outer[:, 0].mean(0) - centre)) < radius for centre, radius in discs):
            continue
        if (piece.mask & belongs).sum() > IN_RING * piece.mask.sum():
            continue
        disc = complete_disc(outer[:, 0].astype(float), soft, inside) if solid < SOLID and not piece.islands else None
        if disc is None and not piece.islands:
            # the wall of a hole may be so narrow that the widened face leaves only scraps of it
            scrap = _whole_scrap(piece.mask, inside & (1 - level))
            disc = complete_disc(scrap, soft, inside) if scrap is not None else None
        if disc is not None:
            discs.append(disc)
            angle = np.linspace(0, 2 * np.pi, 180, endpoint=False)
            openings.append((disc[0] + disc[1] * np.stack([np.cos(angle), np.sin(angle)], 1))[:, None])
        elif piece.islands:
            island = max(piece.islands, key=cv2.contourArea)
            rings.append(Ring(outer, island))
            openings.extend(_holes_touching(piece.mask, outer, island, edge))
        elif solid < HOLLOW:
            # a wall seen only in part is long and hollow; an opening fills its hull
            rings.append(Ring(outer, None))
        else:
            openings.append(outer)
    return [o for o in openings if not _inside_a_disc(o, discs)], rings


@dataclass(frozen=True)
class _Piece:
    """A piece of what is no face: its mask (h, w), outer contour, contours of the larger islands in it, and the share of its hull
    that it fills."""

    mask: np.ndarray
    outer: np.ndarray
    islands: list[np.ndarray]
    solid: float

    @classmethod
    def of(cls, mask: np.ndarray) -> _Piece:
        contours, tree = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
        outer = max(contours, key=cv2.contourArea)
        islands = [c for c, t in zip(contours, tree[0], strict=True)
                   if t[3] >= 0 and cv2.contourArea(c) > LEAST_ISLAND * cv2.contourArea(outer)]
        return cls(mask, outer, islands, cv2.contourArea(outer) / max(cv2.contourArea(cv2.convexHull(outer)), 1e-9))


def _whole_scrap(scrap: np.ndarray, dark: np.ndarray) -> np.ndarray | None:
    """Contour (n, 2) of all that hangs together with a scrap (h, w) in what is no face; None where that is little more than the
    scrap itself, or no crescent."""
    own = dark.copy()
    row, col = np.unravel_index(int((scrap & dark).argmax()), scrap.shape)
    if not own[row, col]:
        return None
    area, _, _, box = cv2.floodFill(own, None, (int(col), int(row)), 2, flags=8)
    if area < LEAST_SCRAP * float(scrap.sum()):
        return None
    x, y, width, height = box
    contour = largest_contour((own[y:y + height, x:x + width] == 2).astype(np.uint8))
    if contour is None or cv2.contourArea(contour) > SOLID * cv2.contourArea(cv2.convexHull(contour)):
        return None
    return contour[:, 0].astype(float) + (x, y)


def _inside_a_disc(contour: np.ndarray, discs: list[tuple[np.ndarray, float]]) -> bool:
    middle, size = contour[:, 0].mean(0), np.ptp(contour[:, 0], axis=0).max()
    return any(np.hypot(*(middle - centre)) < radius and size < 1.8 * radius for centre, radius in discs)


def _even(chain: np.ndarray) -> np.ndarray:
    """An open polyline (n, 2) at a spacing of one."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(chain, axis=0).T))])
    at = np.linspace(0, length[-1], max(6, int(length[-1])))
    return np.stack([np.interp(at, length, chain[:, k]) for k in (0, 1)], 1)


def complete_disc(contour: np.ndarray, soft: np.ndarray, inside: np.ndarray) -> tuple[np.ndarray, float] | None:
    """Centre (2,) and radius of a round hole of which only a crescent stands out, or None when it is no such thing.

    The table seen through a hole may be as bright as the face; then only the dark wall is found, contour (n, 2).  Its outer side
    is an arc of the hole's rim: half of it, or along the rest of the circle the brightness (soft) still changes by a little."""
    hull = cv2.convexHull(contour.astype(np.float32))[:, 0].astype(float)
    # the chord between the horns is the hull's only long side; the outer arc is made of short ones
    chord = np.hypot(*(np.roll(hull, -1, 0) - hull).T)
    start = int(chord.argmax()) + 1
    arc = np.roll(hull, -start, axis=0)
    if len(arc) < 6:
        return None
    arc = _even(arc)
    member = np.ones(len(arc), bool)
    centre, radius, off = np.zeros(2), 0.0, np.zeros(len(arc))
    # a hook of shade at one horn is no part of the arc
    for _ in range(6):
        design = np.c_[2 * arc[member], np.ones(member.sum())]
        x, y, rest = np.linalg.lstsq(design, (arc[member] ** 2).sum(1), rcond=None)[0]
        centre, radius = np.array([x, y]), float(np.sqrt(max(rest + x * x + y * y, 0.0)))
        off = np.abs(np.hypot(*(arc - centre).T) - radius)
        member = off < max(1.5, 0.07 * radius, float(np.quantile(off, 0.6)))
    if member.mean() < 0.7:
        return None
    arc, off = arc[member], off[member]
    height, width = soft.shape
    reach = radius + RIM_REACH + 9
    if not 4.0 < radius < 0.2 * max(width, height) or off.max() > max(1.5, 0.1 * radius):
        return None
    if (centre - reach < 0).any() or (centre + reach > [width, height]).any() or inside[int(y), int(x)] == 0:
        return None
    seen = np.unwrap(np.arctan2(*(arc - centre).T[::-1]))
    span = abs(seen[-1] - seen[0])
    if not np.radians(100) < span < np.radians(330):
        return None
    # the part of the circle where no dark wall is seen, short of the horns
    if span > np.radians(HALF_ROUND_DEG) and off.max() < max(1.6, 0.07 * radius):
        # whether the rest of the circle is there is judged by the rim's evidence, probe by probe
        return centre, radius
    turn = np.sign(seen[-1] - seen[0])
    rest_angle = seen[-1] + turn * np.linspace(0.15, 0.85, 64) * (2 * np.pi - span)
    r = np.arange(-RIM_REACH, RIM_REACH + 9.0) + radius
    at = centre + r[:, None, None] * np.stack([np.cos(rest_angle), np.sin(rest_angle)], -1)
    profile = cv2.remap(soft, at[..., 0].astype(np.float32), at[..., 1].astype(np.float32), cv2.INTER_LINEAR).mean(1)
    steps = np.abs(profile[2:] - profile[:-2])
    rim, face = steps[: 2 * int(RIM_REACH) - 1], steps[2 * int(RIM_REACH) + 1:]
    return (centre, radius) if rim.max() > 4 * float(np.sqrt(np.mean(face**2))) + 0.3 else None


def _pieces(mask: np.ndarray, edge: np.ndarray) -> list[np.ndarray]:
    """Connected pieces that do not touch the outer edge, each as a mask."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    touching = set(np.unique(labels[edge > 0]).tolist())
    return [(labels == k).astype(np.uint8) for k in range(1, count) if stats[k, cv2.CC_STAT_AREA] >= 25 and k not in touching]


def _holes_touching(ring: np.ndarray, outer: np.ndarray, island: np.ndarray, edge: np.ndarray) -> list[np.ndarray]:
    """Openings that hang on a ring by a thread of shade: what stands out from its outer contour (n, 1, 2) and lies
    farther from the island than the ring is wide."""
    land = np.ones_like(ring)
    cv2.drawContours(land, [island], -1, 0, -1)
    distance = cv2.distanceTransform(land, cv2.DIST_L2, 5)
    rim = ring & ~cv2.erode(ring, np.ones((3, 3), np.uint8))
    far = distance[(rim > 0) & (distance > 4)]
    if len(far) == 0:
        return []
    width = float(np.median(far))
    whole = np.zeros_like(ring)
    cv2.drawContours(whole, [outer], -1, 1, -1)
    beyond = (ring & (distance > width + 3) & _standing_out(whole)).astype(np.uint8)
    beyond = cv2.morphologyEx(beyond, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9)))
    found = [max(cv2.findContours(p, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=cv2.contourArea)
             for p in _pieces(beyond, edge)]
    return [c for c in found if cv2.contourArea(c) > COMPACT * math.pi * cv2.minEnclosingCircle(c)[1] ** 2]


def _standing_out(whole: np.ndarray) -> np.ndarray:
    """What stands out from the rest of a filled shape (h, w): ears narrower than HANGING of its smaller side.  The wide shade of
    a wall on one side of a ring does not."""
    _, _, width, height = cv2.boundingRect(whole)
    radius = 0.5 * HANGING * min(width, height)
    # an opening by a disc, as two distances: a kernel that large would take as long as all the rest
    inward = cv2.distanceTransform(cv2.copyMakeBorder(whole, 1, 1, 1, 1, cv2.BORDER_CONSTANT), cv2.DIST_L2, 5)[1:-1, 1:-1]
    kept = cv2.distanceTransform((inward < radius).astype(np.uint8), cv2.DIST_L2, 5) < radius
    return whole & ~kept.astype(np.uint8) & 1
