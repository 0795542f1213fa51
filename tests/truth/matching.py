"""Every dimension of an outline beside its two truths: the part's own and the drawing's.

Words: the *part* is what lay on the table, the *drawing* what its designer wrote (tests/truth/moulding.py gives both, segment by
segment); *true* is what an ideal calliper would read at the part's face, *nominal* the same dimension of the drawing.
A measured segment belongs to a true one when it lies there: centres within 0.5 mm and a like radius, edges of the same direction
that run beside it.  A length counts only between the same neighbours, for its ends lie where those touch it.
Limits: the first part only; channels, and dimensions whose segments have no true partner, are left out (they are counted).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Dimension, Line, Loop, Outline
from tests.truth.booth import project, seen_at
from tests.truth.compare import Motion, lay_on, move_of, settle, to_segments
from tests.truth.drawings import Drawing
from tests.truth.field import DepthField, arc_span, depths_of, walk
from tests.truth.scenes import Shoot

RIGHT_SIZE, RIGHT_PLACE, RIGHT_ANGLE_DEG = 0.006, 0.012, 0.02
"""How near a design value must be to the nominal to be the same number: diameters and radii, all other lengths, angles."""

SIDE, ALONG, TURN_DEG = 0.6, 2.0, 2.5
"""How far an edge may lie aside of its true one, its ends along it, and how far it may be turned (mm, mm, degrees)."""

PAIRED = ("distance", "gap", "over")


def is_right(kind: str, design: float, nominal: float) -> bool:
    """Is the design value of a dimension of this kind the drawing's own number?"""
    limit = RIGHT_SIZE if kind in ("diameter", "radius") else RIGHT_ANGLE_DEG if kind == "angle" else RIGHT_PLACE
    return abs(design - nominal) < limit


@dataclass(frozen=True)
class Matched:
    """One dimension of the outline with its true and its nominal value; None where it has no partner."""

    dimension: Dimension
    true: float | None
    nominal: float | None

    @property
    def is_right(self) -> bool:
        """Is the design value the drawing's own number?"""
        assert self.nominal is not None
        return is_right(self.dimension.kind, self.dimension.design, self.nominal)


def motion_of(points: np.ndarray, in_photo: np.ndarray, camera: Camera, shoot: Shoot) -> Motion:
    """The motion that lays points on the part they were measured from: up to the picture with the camera as measured, down again
    with the true one.  Right to the errors of the measurement, and the only way to tell which is which on a part of equal sides.

    points (n, 2) in any frame, in_photo the same in the frame of the edge map.
    """
    body = shoot.scene.parts[0]
    pixels = project(camera, np.c_[in_photo, np.full(len(points), body.height)])
    seen = seen_at(shoot.scene.camera, pixels, body.height)
    return move_of(points, np.c_[body.into(seen[:, 0], seen[:, 1])])


def outline_motion(outline: Outline, camera: Camera, shoot: Shoot) -> Motion:
    """motion_of the outline's first part."""
    points = np.concatenate([walk(to_segments(loop), 2.0) for loop in outline.measured if loop.part == 1])
    turn = math.radians(outline.datum.angle_deg)
    back = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return motion_of(points, points @ back + outline.datum.origin, camera, shoot)


def rims_motion(edges: EdgeMap, shoot: Shoot) -> Motion | None:
    """motion_of the first part's rims; None where there is no camera."""
    points = np.concatenate([rim.points for rim in edges.rims if rim.part == 1])
    return motion_of(points, points, edges.camera, shoot) if edges.camera is not None else None


def match_dimensions(outline: Outline, part: Drawing, drawing: Drawing, near: Motion | None = None) -> list[Matched]:
    """Every dimension of the first part, in the outline's order.

    near: roughly the motion that lays the outline on the part (outline_motion); None: the best of all turns, which on a part of
    equal sides may be another than the one it lay in.
    """
    loops = [loop for loop in outline.measured if loop.part == 1 and loop.role != "channel"]
    got = [to_segments(loop) for loop in loops]
    field = _field_of(part)
    points = np.concatenate([walk(loop, 0.1) for loop in got])
    motion = settle(points, field, near) if near else lay_on(points, field,
                                                             np.concatenate([walk(list(loop), 0.1) for loop in part.loops]))

    def laid(segment: tuple) -> tuple:
        return tuple(tuple(motion.apply(np.array([v]))[0]) if isinstance(v, tuple) else v for v in segment)

    partners = _partners(loops, [[laid(s) for s in loop] for loop in got], part)
    whole = _between_the_same(loops, part, partners)
    own = {s.id for loop in loops for s in loop.segments}
    found = []
    for dimension in outline.dimensions:
        if not set(dimension.of) <= own:
            continue
        keys = [partners.get(name) for name in dimension.of]
        known = None not in keys and (dimension.kind != "length" or dimension.of[0] in whole)
        values = [_value(dimension.kind, [d.loops[i][j] for i, j in keys]) if known else None for d in (part, drawing)]
        found.append(Matched(dimension, *values))
    return found


def _field_of(part: Drawing) -> DepthField:
    return depths_of(part.loops)


Key = tuple[int, int]


def _partners(loops: list[Loop], laid: list[list[tuple]], part: Drawing) -> dict[str, Key]:
    """(loop, segment) of the part by the measured segment's id; none is given away twice, the nearest pairs first."""
    pairs = []
    for loop, segments in zip(loops, laid, strict=True):
        for segment, here in zip(loop.segments, segments, strict=True):
            for i, true_loop in enumerate(part.loops):
                for j, there in enumerate(true_loop):
                    apart = _apart(here, there)
                    if apart is not None:
                        pairs.append((apart, segment.id, (i, j)))
    partners: dict[str, Key] = {}
    for _, name, key in sorted(pairs):
        if name not in partners and key not in partners.values():
            partners[name] = key
    return partners


def _apart(here: tuple, there: tuple) -> float | None:
    """How far a measured segment lies from a true one, mm; None when it cannot be the same."""
    if here[0] != there[0]:
        return None
    if here[0] == "line":
        along = np.subtract(there[2], there[1])
        size = float(np.hypot(*along))
        along = along / size
        run = np.subtract(here[2], here[1])
        if abs(math.degrees(math.atan2(float(along[0] * run[1] - along[1] * run[0]), abs(float(along @ run))))) > TURN_DEG:
            return None
        ends = [np.subtract(p, there[1]) for p in here[1:3]]
        side = max(abs(float(along[0] * e[1] - along[1] * e[0])) for e in ends)
        low, high = sorted(float(along @ e) for e in ends)
        off = max(abs(low), abs(high - size))
        return side + off if side < SIDE and off < ALONG else None
    (centre, radius), (true_centre, true_radius) = _round(here), _round(there)
    off = math.dist(centre, true_centre) + abs(radius - true_radius)
    if here[0] == "circle":
        return off if off < 0.5 + 0.1 * true_radius else None
    aside = math.dist(_middle(here), _middle(there))  # arcs about one centre are told apart by where they lie
    return off + aside if off < max(1.0, 0.4 * true_radius) and aside < max(1.5, 0.5 * true_radius) else None


def _middle(arc: tuple) -> tuple[float, float]:
    """The point half way along an arc."""
    start, sweep = arc_span(*arc[1:])
    centre, radius = _round(arc)
    return centre[0] + radius * math.cos(start + sweep / 2), centre[1] + radius * math.sin(start + sweep / 2)


def _between_the_same(loops: list[Loop], part: Drawing, partners: dict[str, Key]) -> set[str]:
    """Lines whose two neighbours are the partners of the true line's two neighbours."""
    whole = set()
    for loop in loops:
        for k, segment in enumerate(loop.segments):
            key = partners.get(segment.id)
            if not isinstance(segment, Line) or key is None:
                continue
            i, j = key
            n = len(part.loops[i])
            true = {(i, (j - 1) % n), (i, (j + 1) % n)}
            around = {partners.get(loop.segments[k - 1].id), partners.get(loop.segments[(k + 1) % len(loop.segments)].id)}
            if around == true:
                whole.add(segment.id)
    return whole


def _round(segment: tuple) -> tuple[tuple, float]:
    """(centre, radius) of a circle or an arc."""
    return (segment[1], segment[2]) if segment[0] == "circle" else (segment[3], math.dist(segment[1], segment[3]))


def _width(a: tuple, b: tuple) -> float:
    """Distance between two edges that run against each other, from middle to middle, square to their mean direction."""
    u, v = (np.subtract(s[2], s[1]) / math.dist(s[1], s[2]) for s in (a, b))
    along = u - v if float(u @ v) < 0 else u + v
    along = along / np.hypot(*along)
    gap = 0.5 * (np.add(a[1], a[2]) - np.add(b[1], b[2]))
    return abs(float(along[0] * gap[1] - along[1] * gap[0]))


def _angle_deg(a: tuple, b: tuple) -> float:
    """Angle within the corner between two edges walked one after the other."""
    u, v = (np.subtract(s[2], s[1]) for s in (a, b))
    return 180.0 - abs(math.degrees(math.atan2(float(u[0] * v[1] - u[1] * v[0]), float(u @ v))))


def _value(kind: str, segments: list[tuple]) -> float | None:
    """The dimension of this kind of true segments; None when these segments have none."""
    straight = [s[0] == "line" for s in segments]
    one: dict[str, Callable[[tuple], float]] = {"diameter": lambda s: 2 * _round(s)[1], "radius": lambda s: _round(s)[1]}
    if kind in one and straight == [False]:
        return one[kind](segments[0])
    if kind == "length" and straight == [True]:
        return math.dist(*segments[0][1:3])
    if straight == [True, True]:
        return _width(*segments) if kind == "width" else _angle_deg(*segments) if kind == "angle" else None
    if kind in PAIRED and straight == [False, False]:
        (ca, ra), (cb, rb) = map(_round, segments)
        return math.dist(ca, cb) + {"distance": 0.0, "gap": -1.0, "over": 1.0}[kind] * (ra + rb)
    return None
