"""Can the cover be fitted wrongly?  Every motion that brings its bolt holes onto the bolts is found and named.

Words: a *motion* is a turn in the plane, or turning the cover over (the outside to the machine) about an axis in the plane.
A motion *fits* when each hole then stands over a bolt, off it by no more than the bolt's *play* in the hole,
        play = (hole - bolt) / 2
after the cover has been pushed to the best place (least squares, not the last hundredth).  It is *harmless* when every loop
then covers itself as well: the cover looks and works the same.  Turning over is harmless only for a piece with two like faces.
How: the pattern's middle goes to itself, and the hole farthest from it to some hole at that distance; each such turn is
tried, then the place and turn of least squares is taken.
Limits: the machine's threads are taken to stand where the holes stand; what else on the machine hinders a motion is not known.
A cover held by one bolt, or by none, can be turned at will.
A *peg* on the mating face hinders a turn that carries it onto the machine's face; a cover turned over has it on the outside.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from shapely import affinity
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.model.feature import Hole
from afterpart.model.outline import Point
from afterpart.words import tell

_SAME_DEG = 0.5
"""Turns closer than this are one and the same motion."""


@dataclass(frozen=True)
class Motion:
    """turned_over: else a turn in the plane.  angle_deg: of the turn counter-clockwise, or of the axis from x (0 to 180);
    about: the middle of the motion; off: the worst hole's distance from its bolt; play: what is allowed there;
    edge_off: how far the moved edge stands off the edge; harmless: nothing tells the moved cover from the right one."""

    turned_over: bool
    angle_deg: float
    about: Point
    off: float
    play: float
    edge_off: float
    harmless: bool

    @property
    def words(self) -> str:
        """The motion for the maker."""
        if self.turned_over:
            return tell("turned over about the line at {angle:.0f} degrees (holes off by {off:.2f} mm, bolts allow {play:.2f} "
                        "mm)", angle=self.angle_deg, off=self.off, play=self.play)
        return tell("turned by {angle:.0f} degrees (holes off by {off:.2f} mm, bolts allow {play:.2f} mm)", angle=self.angle_deg,
                    off=self.off, play=self.play)


@dataclass(frozen=True)
class OneWay:
    """motions: all that fit; turns_freely: one bolt or none holds the cover."""

    motions: tuple[Motion, ...]
    turns_freely: bool = False

    @property
    def wrong(self) -> tuple[Motion, ...]:
        """The motions that fit and do harm."""
        return tuple(m for m in self.motions if not m.harmless)

    @property
    def can_be_fitted_wrongly(self) -> bool:
        """Whether there is a wrong way at all."""
        return self.turns_freely or bool(self.wrong)


def ways_to_fit(holes: tuple[Hole, ...], bolt: float, edge: Polygon, openings: tuple[Polygon, ...] = (),
                faces_alike: bool = False, edge_room: float | None = None) -> OneWay:
    """All motions by which the holes still find their bolts (nominal diameter `bolt`).

    edge, openings: of the cover, seen from the machine, everything on it that tells one place from another; faces_alike: both
    faces are plain; edge_room: for an edge or lip that meets the machine, how far it may stand off; None where the edge is free.
    """
    if len(holes) < 2:
        return OneWay((), True)
    centers = np.array([h.center for h in holes])
    play = np.array([(h.diameter - bolt) / 2 for h in holes])
    face: BaseGeometry = _with_openings(edge, openings)
    found: list[Motion] = []
    for turned_over in (False, True):
        for angle_deg in _candidates(centers, float(play.max()), turned_over):
            motion = _tried(centers, play, angle_deg, turned_over, edge, face, faces_alike)
            if motion is not None and not any(_same(motion, m) for m in found):
                found.append(motion)
    return OneWay(tuple(m for m in found if edge_room is None or m.turned_over or m.edge_off <= edge_room))


def left_by_peg(ways: OneWay, peg: Point, play: float, land: BaseGeometry) -> OneWay:
    """The ways that a peg in a hole of the machine leaves.  play: of the peg in its hole; land: where the machine's face is
    taken to be, for a peg that comes to stand over an opening hinders nothing.

    A single bolt with a peg beside it turns no more."""
    left = tuple(m for m in ways.motions if m.harmless or not _stopped(m, peg, play, land))
    return replace(ways, motions=left, turns_freely=False) if ways.turns_freely else OneWay(left)


def _stopped(motion: Motion, peg: Point, play: float, land: BaseGeometry) -> bool:
    if motion.turned_over:
        return False
    turned = affinity.rotate(Spot(peg), motion.angle_deg, origin=motion.about)
    return turned.distance(Spot(peg)) > play + motion.play and bool(land.contains(turned))


def _with_openings(edge: Polygon, openings: tuple[Polygon, ...]) -> BaseGeometry:
    face: BaseGeometry = edge
    for opening in openings:
        face = face.difference(opening)
    return face


def _same(a: Motion, b: Motion) -> bool:
    full = 180.0 if a.turned_over else 360.0
    apart = abs(a.angle_deg - b.angle_deg) % full
    return a.turned_over == b.turned_over and min(apart, full - apart) < _SAME_DEG


def _candidates(centers: np.ndarray, play: float, turned_over: bool) -> list[float]:
    """Turns (or axes) that bring the hole farthest from the middle to the place of a hole as far out, degrees."""
    arms = centers - centers.mean(axis=0)
    reach = np.hypot(*arms.T)
    direction = np.degrees(np.arctan2(arms[:, 1], arms[:, 0]))
    first = int(np.argmax(reach))
    # The best place may shift the middle by up to the play, and the first arm by as much again.
    rivals = np.flatnonzero(np.abs(reach - reach[first]) <= 2 * play + 1e-9)
    if turned_over:
        return [float((direction[first] + direction[j]) / 2 % 180.0) for j in rivals]
    turns = [float((direction[j] - direction[first]) % 360.0) for j in rivals]
    return [t for t in turns if _SAME_DEG < t < 360.0 - _SAME_DEG]


def _tried(centers: np.ndarray, play: np.ndarray, angle_deg: float, turned_over: bool, edge: Polygon, face: BaseGeometry,
           faces_alike: bool) -> Motion | None:
    about = centers.mean(axis=0)
    arms = centers - about
    moved = arms @ _matrix(angle_deg, turned_over).T
    apart = np.hypot(moved[:, None, 0] - arms[None, :, 0], moved[:, None, 1] - arms[None, :, 1])
    onto = apart.argmin(axis=1)
    if len(set(onto.tolist())) < len(arms):
        return None
    # Each hole is off by itself: least squares first, as the cover would be pushed about on its bolts.
    angle_deg = _best_turn(arms, arms[onto], turned_over)
    moved = arms @ _matrix(angle_deg, turned_over).T
    off = np.hypot(*(moved - arms[onto]).T)
    if np.any(off > play + 1e-9):
        return None
    worst = int(np.argmax(off - play))
    matrix = _matrix(angle_deg, turned_over)
    place = about - matrix @ about
    flat = [*matrix.ravel(), *place]
    other_edge, other_face = affinity.affine_transform(edge, flat), affinity.affine_transform(face, flat)
    edge_off = float(edge.exterior.hausdorff_distance(other_edge.exterior))
    same = _differs_by(face, other_face) <= float(play.max())
    return Motion(turned_over, angle_deg, (float(about[0]), float(about[1])), float(off[worst]), float(play[worst]), edge_off,
                  same and (faces_alike or not turned_over))


def _matrix(angle_deg: float, turned_over: bool) -> np.ndarray:
    """The turn by angle_deg, or the mirror image about the axis at angle_deg (turning over, seen from one side)."""
    a = math.radians(2 * angle_deg if turned_over else angle_deg)
    c, s = math.cos(a), math.sin(a)
    return np.array([[c, s], [s, -c]]) if turned_over else np.array([[c, -s], [s, c]])


def _best_turn(arms: np.ndarray, goals: np.ndarray, turned_over: bool) -> float:
    """The turn (axis) of least squares, degrees; both sets have the same middle, so that no shift is left."""
    if turned_over:
        arms = arms * np.array([1.0, -1.0])
    dot = float((arms * goals).sum())
    cross = float((arms[:, 0] * goals[:, 1] - arms[:, 1] * goals[:, 0]).sum())
    best = math.degrees(math.atan2(cross, dot))
    return best / 2 % 180.0 if turned_over else best % 360.0


def _differs_by(one: BaseGeometry, other: BaseGeometry) -> float:
    """Half the widest strip by which two faces differ, found by shrinking the difference until nothing is left."""
    strips = one.symmetric_difference(other)
    low, high = 0.0, 20.0
    if strips.is_empty:
        return 0.0
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (low, middle) if strips.buffer(-middle, join_style="mitre").is_empty else (middle, high)
    return high
