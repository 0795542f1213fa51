"""What a measurement gives, held against the drawing the photograph was made from.

Words: *found* circles are true ones with a measured one near; *invented* are measured ones without a true one near; a *hit* is a
design dimension equal to the true one (0.006 mm for diameters and radii, 0.012 mm for centre distances).
The measured drawing is laid on the true one by a rigid motion (no mirror, no scale) that brings its points to zero depth.
Limits: the first part only; channels are left out.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Arc, Circle, Line, Loop, Outline
from tests.truth.drawings import Drawing
from tests.truth.field import DepthField, depths_of, walk

HIT_SIZE, HIT_PITCH = 0.006, 0.012
STRAY = 2.0
"""A point farther than this from the true boundary, mm, counts no more against a turn."""


@dataclass(frozen=True)
class Motion:
    """p -> turn @ p + shift."""

    turn: np.ndarray
    shift: np.ndarray

    def apply(self, points: np.ndarray) -> np.ndarray:
        return np.asarray(points, float) @ self.turn.T + self.shift


@dataclass(frozen=True)
class EdgeScore:
    """openings_missed, openings_extra: counts; bias_outer, bias_openings: mean depth of rim points, mm (positive: rim inside the
    true material, the part seen too small or the hole too big); rms, worst: of all points; scale_error: relative, by letting the
    size float; by_opening: (equivalent diameter, mean depth, rms) of every opening found."""

    openings: int
    openings_missed: int
    openings_extra: int
    bias_outer: float
    bias_openings: float
    rms: float
    worst: float
    scale_error: float
    by_opening: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class OutlineScore:
    """Errors are measured minus true, mm; hits and asked count design dimensions; extra_segments: measured above the true number.

    z: (measured - true) / u of the dimensions that could be matched; claims: (probability, right or not) of inferred designs.
    """

    circles: int
    found: int
    invented: int
    arcs: int
    arcs_found: int
    extra_segments: int
    diameters: tuple[float, ...]
    pitches: tuple[float, ...]
    radii: tuple[float, ...]
    hits: int
    asked: int
    rms: float
    worst: float
    z: tuple[float, ...]
    claims: tuple[tuple[float, bool], ...]

    @property
    def dimensions(self) -> np.ndarray:
        """Errors of diameters and centre distances, as the photographs' own score takes them."""
        return np.array(self.diameters + self.pitches)


def lay_on(points: np.ndarray, field: DepthField, truth: np.ndarray) -> Motion:
    """Rigid motion that lays measured points on the true boundary: best of many turns, then least squares on the depth."""
    some = points[:: max(1, len(points) // 250)]
    middle, tree = some.mean(0), cKDTree(truth)
    best: tuple[float, Motion] | None = None
    for degrees in range(0, 360, 10):
        motion = _motion(math.radians(degrees), truth.mean(0), middle)
        for _ in range(12):
            moved = motion.apply(some)
            distance, index = tree.query(moved)
            keep = distance <= np.quantile(distance, 0.9) + 1e-9
            motion = move_of(some[keep], truth[index[keep]])
        # one hole off the middle may be all that tells a plate from itself turned round: no point is left out here
        cost = float(np.minimum(tree.query(motion.apply(some))[0], STRAY).mean())
        if best is None or cost < best[0]:
            best = (cost, motion)
    return settle(points, field, best[1])


def _motion(angle: float, onto: np.ndarray, middle: np.ndarray) -> Motion:
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    return Motion(turn, onto - turn @ middle)


def move_of(a: np.ndarray, b: np.ndarray) -> Motion:
    """The rigid motion that brings points a (n, 2) nearest to their partners b."""
    ma, mb = a.mean(0), b.mean(0)
    h = (a - ma).T @ (b - mb)
    angle = math.atan2(h[0, 1] - h[1, 0], h[0, 0] + h[1, 1])
    return _motion(angle, mb, ma)


def settle(points: np.ndarray, field: DepthField, motion: Motion) -> Motion:
    """A motion near the right one, made exact by least squares on the depth of the points."""
    for _ in range(25):
        p = motion.apply(points)
        depth, gx, gy = field.depth(p[:, 0].copy(), p[:, 1].copy())
        weight = 1 / np.maximum(np.abs(depth) / (1.5 * np.median(np.abs(depth)) + 1e-6), 1.0)
        middle = p.mean(0)
        rows = np.c_[gx, gy, gy * (p[:, 0] - middle[0]) - gx * (p[:, 1] - middle[1])] * np.sqrt(weight)[:, None]
        step = np.linalg.lstsq(rows, -depth * np.sqrt(weight), rcond=None)[0]
        more = _motion(step[2], middle + step[:2], middle)
        motion = Motion(more.turn @ motion.turn, more.turn @ motion.shift + more.shift)
        if np.abs(step).max() < 1e-10:
            break
    return motion


def compare_edges(edges: EdgeMap, drawing: Drawing, near: Motion | None = None) -> EdgeScore:
    """Rims of the first part against the drawing.

    near: roughly the motion that lays them on it; None: the best of all turns, which serves while no turn of the part looks
    nearly like another.
    """
    field = depths_of(drawing.loops)
    truth = [walk(list(loop), 0.1) for loop in drawing.loops]
    rims = [rim for rim in edges.rims if rim.part == 1 and rim.role != "channel"]
    points = np.concatenate([rim.points for rim in rims])
    motion = settle(points, field, near) if near else lay_on(points, field, np.concatenate(truth))
    moved = [motion.apply(rim.points) for rim in rims]
    depths = [field.depth(p[:, 0].copy(), p[:, 1].copy())[0] for p in moved]
    everything, depth = np.concatenate(moved), np.concatenate(depths)
    _, gx, gy = field.depth(everything[:, 0].copy(), everything[:, 1].copy())
    lever = gx * (everything[:, 0] - everything[:, 0].mean()) + gy * (everything[:, 1] - everything[:, 1].mean())
    calm = np.abs(depth) < 4 * np.median(np.abs(depth)) + 0.02
    grown = np.linalg.lstsq(np.c_[gx, gy, lever][calm], depth[calm], rcond=None)[0][2]
    openings = [(p, d) for rim, p, d in zip(rims, moved, depths, strict=True) if rim.role == "opening"]
    claimed: set[int] = set()
    by_opening = []
    for loop in truth[1:]:
        middle, size = loop.mean(0), math.dist(*_box(loop))
        near = [k for k, (p, _) in enumerate(openings) if math.dist(p.mean(0), middle) < 0.2 * size + 0.5 and k not in claimed]
        if near:
            claimed.add(near[0])
            d = openings[near[0]][1]
            by_opening.append((size / math.sqrt(2), float(d.mean()), float(d.std())))
    outer = [d for rim, d in zip(rims, depths, strict=True) if rim.role == "outer"]
    return EdgeScore(len(truth) - 1, len(truth) - 1 - len(claimed), len(openings) - len(claimed),
                     float(np.concatenate(outer).mean()) if outer else math.nan,
                     float(np.mean([b for _, b, _ in by_opening])) if by_opening else math.nan,
                     float(np.sqrt((depth ** 2).mean())), float(np.abs(depth).max()), float(grown), tuple(by_opening))


def _box(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return points.min(0), points.max(0)


def to_segments(loop: Loop) -> list[tuple]:
    """The model's loop in the form of tests/truth/field.py."""
    out: list[tuple] = []
    for s in loop.segments:
        if isinstance(s, Line):
            out.append(("line", s.start, s.end))
        elif isinstance(s, Arc):
            out.append(("arc", s.start, s.end, s.center, s.ccw))
        else:
            out.append(("circle", s.center, s.radius))
    return out


def compare_outline(outline: Outline, drawing: Drawing) -> OutlineScore:
    """Measured and design drawing of the first part against the true one."""
    measured = [loop for loop in outline.measured if loop.part == 1 and loop.role != "channel"]
    design = [loop for loop in outline.design if loop.part == 1 and loop.role != "channel"]
    field = depths_of(drawing.loops)
    truth = np.concatenate([walk(list(loop), 0.1) for loop in drawing.loops])
    got = np.concatenate([walk(to_segments(loop), 0.1) for loop in measured])
    motion = lay_on(got, field, truth)
    drawn = np.concatenate([walk(to_segments(loop), 0.1) for loop in design])
    drawn_motion = lay_on(drawn, field, truth)
    true_circles = [s for loop in drawing.loops for s in loop if s[0] == "circle"]
    true_arcs = [s for loop in drawing.loops for s in loop if s[0] == "arc"]
    partner = _pair_circles(true_circles, measured, motion)
    design_partner = _pair_circles(true_circles, design, drawn_motion)
    diameters, pitches = _size_errors(true_circles, partner, motion)
    d_diameters, d_pitches = _size_errors(true_circles, design_partner, drawn_motion)
    arcs = _pair_arcs(true_arcs, measured, motion)
    d_arcs = _pair_arcs(true_arcs, design, drawn_motion)
    radii = [a.radius - math.dist(t[1], t[3]) for t, a in zip(true_arcs, arcs, strict=True) if a]
    d_radii = [a.radius - math.dist(t[1], t[3]) for t, a in zip(true_arcs, d_arcs, strict=True) if a]
    n = len(true_circles)
    hits = (sum(abs(e) < HIT_SIZE for e in d_diameters + d_radii) + sum(abs(e) < HIT_PITCH for e in d_pitches))
    moved = motion.apply(got)
    one_way = np.abs(field.depth(moved[:, 0].copy(), moved[:, 1].copy())[0])
    back = cKDTree(moved).query(truth)[0]
    both = np.r_[one_way, np.maximum(back - 0.05, 0)]
    z, claims = _dimension_claims(outline, _true_values(true_circles, partner, true_arcs, arcs))
    got_circles = sum(isinstance(s, Circle) for loop in measured for s in loop.segments)
    return OutlineScore(n, sum(p is not None for p in partner), got_circles - sum(p is not None for p in partner), len(true_arcs),
                        sum(a is not None for a in arcs),
                        sum(len(loop.segments) for loop in measured) - sum(len(loop) for loop in drawing.loops),
                        tuple(diameters), tuple(pitches), tuple(radii), hits, n + n * (n - 1) // 2 + len(true_arcs),
                        float(np.sqrt((both ** 2).mean())), float(both.max()), z, claims)


def _pair_circles(truth: list[tuple], loops: list[Loop], motion: Motion) -> list[Circle | None]:
    circles = [s for loop in loops for s in loop.segments if isinstance(s, Circle)]
    pairs: list[Circle | None] = []
    for _, centre, radius in truth:
        near = [(math.dist(motion.apply(np.array([c.center]))[0], centre) + abs(c.radius - radius), c) for c in circles
                if c not in pairs and math.dist(motion.apply(np.array([c.center]))[0], centre) < max(0.5, 0.25 * radius)
                and abs(c.radius - radius) < 0.3 * radius + 0.5]
        pairs.append(min(near, key=lambda item: item[0])[1] if near else None)
    return pairs


def _pair_arcs(truth: list[tuple], loops: list[Loop], motion: Motion) -> list[Arc | None]:
    arcs = [s for loop in loops for s in loop.segments if isinstance(s, Arc)]
    pairs: list[Arc | None] = []
    for t in truth:
        radius = math.dist(t[1], t[3])
        near = [(math.dist(motion.apply(np.array([a.center]))[0], t[3]) + abs(a.radius - radius), a) for a in arcs]
        best = min(near, key=lambda item: item[0]) if near else (math.inf, None)
        pairs.append(best[1] if best[0] < max(1.0, 0.3 * radius) else None)
    return pairs


def _size_errors(truth: list[tuple], partner: list[Circle | None], motion: Motion) -> tuple[list[float], list[float]]:
    diameters = [2 * (c.radius - t[2]) for t, c in zip(truth, partner, strict=True) if c]
    both = [(np.array(t[1]), motion.apply(np.array([c.center]))[0]) for t, c in zip(truth, partner, strict=True) if c]
    pitches = [math.dist(both[i][1], both[j][1]) - math.dist(both[i][0], both[j][0])
               for i in range(len(both)) for j in range(i + 1, len(both))]
    return diameters, pitches


def _true_values(circles: list[tuple], partner: list[Circle | None], arcs: list[tuple], arc_partner: list[Arc | None]) -> dict:
    """True diameters, radii and centre distances by the ids of the measured segments."""
    values: dict = {}
    placed = {c.id: t for t, c in zip(circles, partner, strict=True) if c}
    for k, t in placed.items():
        values["diameter", (k,)], values["radius", (k,)] = 2 * t[2], t[2]
        for j, s in placed.items():
            if j != k:
                values["distance", (k, j)] = math.dist(t[1], s[1])
    for t, a in zip(arcs, arc_partner, strict=True):
        if a:
            values["radius", (a.id,)] = math.dist(t[1], t[3])
    return values


def _dimension_claims(outline: Outline, values: dict) -> tuple[tuple[float, ...], tuple[tuple[float, bool], ...]]:
    z, claims = [], []
    for d in outline.dimensions:
        true = values.get((d.kind, tuple(d.of)))
        if true is None:
            continue
        if d.u > 0:
            z.append((d.measured - true) / d.u)
        if d.origin == "inferred":
            claims.append((d.probability, abs(d.design - true) < (HIT_PITCH if d.kind == "distance" else HIT_SIZE)))
    return tuple(z), tuple(claims)
