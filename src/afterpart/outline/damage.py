"""Rims with damaged places left out, made whole again: from their neighbours, or from the part's other side.

Words: a *gap* is the step a rim takes over a damaged place; what is put into it is its *filling*.
From neighbours: the rim is sketched without the place; the carriers on both sides are drawn on till they meet, a corner gets the
fillet that most of the rim's other corners have, and the filling follows.  These points were never seen: their u is infinite,
and the fit hardly counts them.
From the mirror: the axis that lays the part's sound rims best on themselves is found, and the filling is the other side, turned
over, with that side's own u; an opening that was lost is put back whole.
Limits: the mirror asks for a part that is symmetric but for the damage; a feature that stood wholly in the place and has no
mirror image is not drawn.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial import cKDTree

from afterpart.errors import FitError
from afterpart.geometry.contour import edge_lengths, is_counter_clockwise
from afterpart.geometry.fit import fit_circle_robust
from afterpart.geometry.segments import loop_points
from afterpart.model.edges import DamagedPlace, EdgeMap, Note, Rim
from afterpart.outline.chain import Chain, turn_at
from afterpart.outline.follow import loop_of
from afterpart.outline.segment import GAP_STEPS
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.trace import sketch_rims

MIRROR_FIT, LEAST_MIRRORED = 0.35, 0.9
"""An axis mirrors the part when so large a share of its sound rims' points come to lie within so many mm of a rim."""

AXES_TRIED, OFFSETS_TRIED, OFFSETS_REACH = 90, 25, 0.12
"""Directions, and places across each as a share of the part's width, from which the search for an axis starts."""
AXES_SETTLED = 12
ROUND_OFF, ROUND_SHARE = 0.12, 0.004
"""A rim is round when nine in ten of its points lie on one circle to within so many mm, or so large a share of the radius."""

ALIKE_FILLETS = 1.12
"""Fillets of one kind measure alike within this factor."""


@dataclass(frozen=True)
class Mirror:
    """An axis: the line of points p with normal . p = offset; rms: of the sound points' distances, in the map's unit."""

    angle_rad: float
    offset: float
    rms: float

    def image(self, points: np.ndarray) -> np.ndarray:
        """Mirror images of points (n, 2)."""
        normal = np.array([math.cos(self.angle_rad), math.sin(self.angle_rad)])
        return points - 2.0 * (points @ normal - self.offset)[:, None] * normal


def mend_rims(edges: EdgeMap, unit: float, settings: OutlineSettings) -> tuple[EdgeMap, list[Note]]:
    """The edge map with its gaps filled and lost openings put back, and what to say of it.  unit: house units per map unit."""
    if not edges.damage:
        return edges, []
    rims, notes = list(edges.rims), []
    for place in (p for p in edges.damage if p.source == "mirror"):
        part = _part_at(rims, place)
        axis = _mirror_of([rim for rim in rims if rim.part == part], edges.damage, place, unit)
        if axis is None:
            notes.append(Note("damage_not_mirrored", "No axis was found that mirrors the part but for its damage, so the damaged "
                              f"place about ({place.center[0]:.1f}, {place.center[1]:.1f}) is drawn from its neighbours. "
                              "Check that the circle takes in all of the damage and no more."))
            continue
        length = 0.0
        for k, rim in enumerate(rims):
            if rim.part == part:
                rims[k], added = _mirrored(rim, rims, place, axis)
                length += added
        back = _lost_openings(rims, part, place, axis)
        rims += back
        size = f"{length * unit:.1f} mm" if edges.unit == "mm" else f"{length:.0f} px"
        openings = f" and {len(back)} opening(s)" if back else ""
        notes.append(Note("damage_mirrored", f"{size} of rim{openings} taken from the mirror side; the rims agree with their "
                          f"mirror images to {axis.rms * unit:.2f} mm elsewhere." if edges.unit == "mm" else
                          f"{size} of rim{openings} taken from the mirror side."))
    return replace(edges, rims=tuple(_bridged(rim, edges.damage, unit, settings) for rim in rims)), notes


def _part_at(rims: Sequence[Rim], place: DamagedPlace) -> int:
    """Number of the part whose outer rim comes nearest to the place."""
    outer = [rim for rim in rims if rim.role == "outer"]
    return min(outer, key=lambda rim: float(np.hypot(*(rim.points - place.center).T).min())).part


def _gaps(rim: Rim, places: Sequence[DamagedPlace]) -> list[tuple[int, DamagedPlace]]:
    """(k, place): between points k and k + 1 the rim steps over the place."""
    steps = edge_lengths(rim.points)
    usual = float(np.median(steps))
    found = []
    for k in np.flatnonzero(steps > GAP_STEPS * usual):
        ends = rim.points[[k, (k + 1) % len(steps)]]
        for place in places:
            reach = np.hypot(*(ends - place.center).T)
            if (reach < place.radius + 3.0 * usual).all():
                found.append((int(k), place))
                break
    return found


def _in_place(points: np.ndarray, place: DamagedPlace) -> np.ndarray:
    return np.hypot(*(points - place.center).T) < place.radius


# ---- from the mirror


def _mirror_of(rims: Sequence[Rim], places: Sequence[DamagedPlace], place: DamagedPlace, unit: float) -> Mirror | None:
    """The axis that lays the sound rims best on themselves and leads from the place to a sound one; None when there is none."""
    sound = np.concatenate([rim.points for rim in rims if rim.role in ("outer", "opening")])
    tree = cKDTree(sound)
    thin = sound[:: max(1, len(sound) // 160)]
    tries = []
    for angle in np.arange(AXES_TRIED) * (math.pi / AXES_TRIED):
        along = thin @ np.array([math.cos(angle), math.sin(angle)])
        # what is missing on one side shifts every middle: offsets about it are tried too
        for offset in float(np.median(along)) + np.linspace(-OFFSETS_REACH, OFFSETS_REACH, OFFSETS_TRIED) * float(np.ptp(along)):
            axis = Mirror(float(angle), float(offset), math.inf)
            if _leads_to_sound(axis, place, places):
                tries.append((float(np.quantile(tree.query(axis.image(thin))[0], 0.6)), axis.angle_rad, axis.offset))
    best: Mirror | None = None
    for _, angle, offset in sorted(tries)[:AXES_SETTLED]:
        axis = _settled_axis(angle, offset, sound, tree, places, unit)
        if axis.rms * unit < MIRROR_FIT and _leads_to_sound(axis, place, places) and (best is None or axis.rms < best.rms):
            best = axis
    return best


def _leads_to_sound(axis: Mirror, place: DamagedPlace, places: Sequence[DamagedPlace]) -> bool:
    """Whether the mirror image of a damaged place keeps clear of all of them."""
    image = axis.image(np.array([place.center]))[0]
    return all(math.dist(image, other.center) > other.radius + place.radius for other in places)


def _settled_axis(angle: float, offset: float, sound: np.ndarray, tree: cKDTree, places: Sequence[DamagedPlace],
                  unit: float) -> Mirror:
    """The axis near this one of least robust distance between rims and their images; rms inf when too few points agree."""
    thin = sound[:: max(1, len(sound) // 1500)]
    after = np.roll(sound, -1, axis=0) - np.roll(sound, 1, axis=0)
    normals = np.c_[after[:, 1], -after[:, 0]] / np.maximum(np.hypot(*after.T), 1e-12)[:, None]
    reach = float(np.ptp(sound, axis=0).max())

    def off(x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        image = Mirror(float(x[0]), float(x[1]), 0.0).image(thin)
        # what falls into a damaged place has nothing to be held against
        kept = ~np.any([_in_place(image, p) for p in places], axis=0)
        distance, nearest = tree.query(image)
        across = ((image - sound[nearest]) * normals[nearest]).sum(1)
        return np.where(kept, np.where(distance < 0.05 * reach, across, distance), 0.0), kept

    start = np.array([angle, offset])
    for scale in (0.02 * reach, 0.004 * reach, 0.1 / unit):
        fit = least_squares(lambda x: off(x)[0], start, loss="soft_l1", f_scale=scale, x_scale=(1.0 / reach, 1.0), max_nfev=40)
        start = fit.x
    values, kept = off(start)
    good = np.abs(values[kept]) * unit < MIRROR_FIT
    rms = float(np.sqrt(np.mean(values[kept][good] ** 2))) if good.mean() > LEAST_MIRRORED else math.inf
    return Mirror(float(start[0]), float(start[1]), rms)


def _mirrored(rim: Rim, rims: Sequence[Rim], place: DamagedPlace, axis: Mirror) -> tuple[Rim, float]:
    """The rim with its gap over the place filled from the mirror image of the rim that lies there; also the length filled."""
    length = 0.0
    for k, _ in reversed(_gaps(rim, [place])):
        begin, end = rim.points[k], rim.points[(k + 1) % len(rim.points)]
        donors = []
        for other in (r for r in rims if r.part == rim.part and r.role == rim.role and r.wall == rim.wall):
            image, u = axis.image(other.points)[::-1], other.u[::-1]
            near = np.hypot(*(image - begin).T), np.hypot(*(image - end).T)
            donors.append((float(near[0].min() + near[1].min()), image, u, int(near[0].argmin()), int(near[1].argmin())))
        _, image, u, first, last = min(donors, key=lambda d: d[0])
        run = (first + 1 + np.arange((last - first - 1) % len(image))) % len(image)
        filling = image[run]
        if not len(filling):
            continue
        length += float(edge_lengths(np.vstack((begin, filling, end)))[:-1].sum())
        rim = replace(rim, points=np.insert(rim.points, k + 1, filling, axis=0), u=np.insert(rim.u, k + 1, u[run]))
    return rim, length


def _lost_openings(rims: Sequence[Rim], part: int, place: DamagedPlace, axis: Mirror) -> list[Rim]:
    """Mirror images of openings that belong into the place and are missing there."""
    back = []
    for rim in rims:
        if rim.part != part or rim.role != "opening":
            continue
        image = axis.image(rim.points)[::-1].copy()
        middle = image.mean(axis=0)
        if np.hypot(*(middle - place.center)) > place.radius:
            continue
        there = [r for r in rims if r.part == part and r.role == "opening"
                 and np.hypot(*(r.points.mean(axis=0) - middle)) < 0.5 * float(np.ptp(image, axis=0).max())]
        if not there:
            back.append(replace(rim, points=image, u=rim.u[::-1].copy()))
    return back


# ---- from the neighbours


def _bridged(rim: Rim, places: Sequence[DamagedPlace], unit: float, settings: OutlineSettings) -> Rim:
    """The rim with every gap that is left filled along its neighbours."""
    gaps = _gaps(rim, places)
    if not gaps:
        return rim
    middle = rim.points.mean(axis=0)
    local = (rim.points - middle) * unit
    sketch = _whole_round(local)
    if sketch is None:
        # a sketch has to begin somewhere, and may put a joint there that is none: it begins behind a gap
        begin = gaps[0][0] + 1
        turned = np.roll(local, -begin, axis=0)
        chain = sketch_rims([turned], [np.roll(rim.u, -begin) * unit], settings, simplified=True)[0]
        ends = [(k - begin) % len(turned) for k, _ in gaps]
        sketch = None if chain is None else _with_usual_fillets(chain, turned, ends)
    sketch = None if sketch is None else sketch / unit + middle
    step = float(np.median(edge_lengths(rim.points)))
    points, u = rim.points, rim.u
    for k, _ in reversed(gaps):
        filling = _between(rim.points[k], rim.points[(k + 1) % len(rim.points)], sketch, step)
        points = np.insert(points, k + 1, filling, axis=0)
        u = np.insert(u, k + 1, np.full(len(filling), np.inf))
    return replace(rim, points=points, u=u)


def _whole_round(points: np.ndarray) -> np.ndarray | None:
    """The rim (n, 2), mm, as one circle (m, 2) if what is left of it is round; else None."""
    try:
        fit, _ = fit_circle_robust(points)
    except FitError:
        return None
    off = np.abs(fit.residuals(points))
    if float(np.quantile(off, 0.9)) > max(ROUND_OFF, ROUND_SHARE * fit.radius):
        return None
    turn = np.linspace(0.0, 2.0 * math.pi, 721)[:-1] * (1.0 if is_counter_clockwise(points) else -1.0)
    return np.asarray(fit.center) + fit.radius * np.column_stack((np.cos(turn), np.sin(turn)))


def _between(begin: np.ndarray, end: np.ndarray, sketch: np.ndarray | None, step: float) -> np.ndarray:
    """Points (n, 2) from begin to end, both left out, along a closed sketch (straight where there is none)."""
    way = np.vstack((begin, end))
    if sketch is not None:
        closed = np.vstack((sketch, sketch[:1]))
        spans = edge_lengths(sketch)
        count = np.maximum(1, np.ceil(spans / step).astype(int))
        fine = np.concatenate([closed[i] + (closed[i + 1] - closed[i]) * np.arange(n)[:, None] / n for i, n in enumerate(count)])
        first, last = (int(np.hypot(*(fine - p).T).argmin()) for p in (begin, end))
        run = fine[(first + 1 + np.arange((last - first - 1) % len(fine))) % len(fine)]
        # a sketch that goes round the other way is not meant
        if len(run) < 0.5 * len(fine):
            way = np.vstack((begin, run, end))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))))
    at = np.arange(1, max(2, round(along[-1] / step))) * (along[-1] / max(2, round(along[-1] / step)))
    return np.column_stack([np.interp(at, along, way[:, axis]) for axis in (0, 1)])


def _with_usual_fillets(chain: Chain, points: np.ndarray, gaps: Sequence[int]) -> np.ndarray:
    """The sketch (m, 2), closed; sharp corners within a gap get the fillet that most of the rim's other corners have, if it ends
    within the gap."""
    outline = loop_points(loop_of(chain))
    count = chain.size
    turns = [turn_at(bool(chain.is_arc[i]), chain.state[i], bool(chain.is_arc[(i + 1) % count]), chain.state[(i + 1) % count],
                     chain.corners[i]) for i in range(count)]
    radii = [float(chain.state[i, 2]) for i in range(count)
             if chain.is_arc[i] and not chain.is_arc[i - 1] and not chain.is_arc[(i + 1) % count]]
    for i in range(count):
        j = (i + 1) % count
        if chain.is_arc[i] or chain.is_arc[j] or abs(turns[i]) < math.radians(10.0):
            continue
        usual = _usual_radius([abs(r) for r in radii if r * turns[i] > 0.0])
        inside = [k for k in gaps if _spans(points[k], points[(k + 1) % len(points)], chain.corners[i])]
        others = [k for k in range(count) if k != i and turns[k] * turns[i] > 0.0 and abs(turns[k]) > math.radians(20.0)
                  and not chain.is_arc[k] and not chain.is_arc[(k + 1) % count]]
        if usual is None or not inside or len(others) >= usual[1]:
            continue
        radius = usual[0]
        back = radius * math.tan(0.5 * abs(turns[i]))
        ends = points[[inside[0], (inside[0] + 1) % len(points)]]
        if back > float(np.hypot(*(ends - chain.corners[i]).T).min()) + 0.3:
            continue
        outline = _rounded(outline, chain.corners[i], chain.state[i, 0], turns[i], radius, back)
    return outline


def _usual_radius(radii: Sequence[float]) -> tuple[float, int] | None:
    """The radius that at least half of these fillets, and at least two, have, and how many have it; None when there is none."""
    kinds = [[r for r in radii if 1.0 / ALIKE_FILLETS < r / own < ALIKE_FILLETS] for own in radii]
    largest = max(kinds, key=len, default=[])
    if len(largest) < max(2.0, 0.5 * len(radii)):
        return None
    return float(np.median(largest)), len(largest)


def _spans(begin: np.ndarray, end: np.ndarray, corner: np.ndarray) -> bool:
    """Whether a corner lies over the step from begin to end, not farther off than it is wide."""
    return float(np.hypot(*(corner - 0.5 * (begin + end)))) < float(np.hypot(*(end - begin)))


def _rounded(outline: np.ndarray, corner: np.ndarray, direction: float, turn: float, radius: float, back: float) -> np.ndarray:
    """The closed outline (m, 2) with one vertex replaced by an arc that turns from `direction` by `turn`."""
    at = int(np.hypot(*(outline - corner).T).argmin())
    start = corner - back * np.array([math.cos(direction), math.sin(direction)])
    side = math.copysign(1.0, turn)
    center = start + side * radius * np.array([-math.sin(direction), math.cos(direction)])
    angle = direction - side * 0.5 * math.pi + turn * np.linspace(0.0, 1.0, 25)
    arc = center + radius * np.column_stack((np.cos(angle), np.sin(angle)))
    return np.vstack((outline[:at], arc, outline[at + 1 :]))
