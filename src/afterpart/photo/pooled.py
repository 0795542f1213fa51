"""Rims of several views made one: tied for the joint adjustment, then averaged along the normals of the leading view's rims.

The *leading view* is the one that looks most nearly straight down on the drawn face.  A rim that most views see is drawn; a place
is the weighted mean of all views that see it, outliers down-weighted; round rims are averaged as circles.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap, Rim
from afterpart.photo.projection import project, to_plane
from afterpart.photo.rimchain import outward_normals
from afterpart.photo.rimmatch import STRIDE_MM, answering, crossings, foot_share, slope_u, wall_places
from afterpart.photo.roundrim import circle_chain, robust_circle
from afterpart.photo.together import Drawing, Ties, into_drawing, turned

EXACT_ROUND = 1e-6
"""A rim whose points scatter by less about a circle, as a share of its radius, was measured as one."""

CAUCHY = 3.0

SHIFT_U, SHIFT_SLOPE_U = 0.005, 0.1
"""Standard uncertainty of how far all openings of a view may stand off together, x, y and radius, mm: straight down, and for each
unit of slope of the sight line (three rendered pictures of a cover: 8 um at 0.07, 26 at 0.4, 55 at 0.5)."""

SHIFT_TURNS = 20
"""How often shifts and mean circles are found by turns."""

SECTORS = 24
"""Places round a circle at which the slope of the sight line is asked for."""

FOOT_OWN_U = 0.02
"""Standard uncertainty of one side's foot, mm, beside the rim's own: shades differ from side to side (photo booth, heights and
cameras known: 0.02)."""

INDEPENDENT = 15.0
"""So many ties of a view err independently of one another: what is taken for the edge errs alike along a whole side.  Cameras
known from their references agree to 0.01 mm on rendered pictures, rims seen aslant only to some hundredths."""


@dataclass(frozen=True)
class Seen:
    """Rims of one view as they were traced: edges in the view's own frame; turns and motion as in together.View."""

    edges: EdgeMap
    turns: int
    motion: tuple[float, float, float]

    def drawn(self, points: np.ndarray) -> np.ndarray:
        """Points (n, 2) of the view's own frame in the drawing's."""
        return into_drawing(turned(points, self.turns), self.motion)


@dataclass(frozen=True)
class Matched:
    """Rims of the leading view (in the drawing's frame) and, for each, which rim of each view answers it (None: none does)."""

    lead: int
    rims: tuple[Rim, ...]
    answers: tuple[tuple[int | None, ...], ...]


def match_rims(views: Sequence[Seen], lead: int, part: int = 1) -> Matched:
    """The leading view's rims of one part with their answers; a rim no other view of two or more answers stays."""
    drawn = [[view.drawn(rim.points) for rim in view.edges.rims] for view in views]
    size = float(np.ptp(drawn[lead][0], axis=0).max())
    rims, answers = [], []
    for k, rim in enumerate(views[lead].edges.rims):
        if rim.part != part:
            continue
        points = drawn[lead][k]
        rims.append(replace(rim, points=points))
        answers.append(tuple(k if i == lead else answering(rim, view.edges.rims, drawn[i], points, size)
                             for i, view in enumerate(views)))
    return Matched(lead, tuple(rims), tuple(answers))


def tie_views(views: Sequence[Seen], matched: Matched) -> tuple[Drawing, list[Ties]]:
    """The drawing's places, some STRIDE_MM apart, and what each view sees of them.  Rims that only one view sees tie nothing."""
    places, normals = [np.empty((0, 2))], [np.empty((0, 2))]
    spans: list[tuple[int, int] | None] = []
    for rim, answers in zip(matched.rims, matched.answers, strict=True):
        if sum(a is not None for a in answers) < 2:
            spans.append(None)
            continue
        spacing = float(np.median(np.hypot(*np.diff(rim.points, axis=0).T)))
        keep = slice(None, None, max(1, int(round(STRIDE_MM / max(spacing, 1e-6)))))
        begin = sum(len(p) for p in places)
        places.append(rim.points[keep])
        normals.append(outward_normals(rim.points, 3.0)[keep])
        spans.append((begin, begin + len(places[-1])))
    drawing = Drawing(np.concatenate(places), np.concatenate(normals))
    ties = []
    for i, view in enumerate(views):
        px, place, u = [np.empty((0, 2))], [np.empty(0, int)], [np.empty(0)]
        foot, lean = [np.empty(0)], [np.empty(0)]
        for span, answers in zip(spans, matched.answers, strict=True):
            answer = answers[i]
            if span is None or answer is None:
                continue
            rim = view.edges.rims[answer]
            own = slice(*span)
            met = crossings(drawing.places[own], drawing.normals[own], view.drawn(rim.points), rim.points, rim.u)
            at = cKDTree(rim.points).query(met.points)[1]
            assert view.edges.camera is not None
            share = foot_share(view.edges, met.points, rim, at)
            seen = wall_places(view.edges, met.points, rim, at, share)
            px.append(project(view.edges.camera, seen))
            foot.append(share)
            lean.append(np.hypot(*(seen[:, :2] - met.points).T))
            place.append(span[0] + met.place)
            u.append(np.hypot(slope_u(view.edges, met.points, rim, at), FOOT_OWN_U * (share > 0.0)))
        alike = float(np.sqrt(max(sum(map(len, place)) / INDEPENDENT, 1.0)))
        ties.append(Ties(np.concatenate(px), np.concatenate(place), alike * np.concatenate(u), alike, np.concatenate(foot),
                         np.concatenate(lean)))
    return drawing, ties


def laid_again(view: Seen, camera: Camera, height: float, motion: tuple[float, float, float]) -> Seen:
    """A view's rims as they would have been traced for the adjusted height, through the adjusted camera (in the view's own
    world), with the adjusted motion."""
    rims = tuple(replace(rim, points=_laid_anew(view.edges, rim, camera, height)) for rim in view.edges.rims)
    return replace(view, edges=replace(view.edges, rims=rims, camera=camera, face_height=height), motion=motion)


def _laid_anew(edges: EdgeMap, rim: Rim, camera: Camera, height: float) -> np.ndarray:
    """A rim's points (n, 2) once its face is at `height`: what is seen of its wall stays there.  A round rim stays round."""
    assert edges.camera is not None
    at = np.arange(len(rim.points))
    share = foot_share(edges, rim.points, rim, at)
    seen = wall_places(edges, rim.points, rim, at, share)
    points = np.asarray(to_plane(camera, project(edges.camera, seen), height * (1.0 - share)[:, None]) - seen[:, :2] + rim.points)
    if not _is_round(rim, rim.points):
        return points
    centre, radius, _ = robust_circle(points)
    away = points - centre
    return np.asarray(centre + radius * away / np.hypot(*away.T)[:, None])


def _is_round(rim: Rim, points: np.ndarray) -> bool:
    """Whether a rim was measured as a circle."""
    _, radius, scatter = robust_circle(points)
    return bool(rim.round_cov) or scatter < max(EXACT_ROUND * radius, 2e-4)


@dataclass(frozen=True)
class Pooled:
    """rims in the drawing's frame; shares: (views,) what each view counts in them, together 1."""

    rims: tuple[Rim, ...]
    shares: np.ndarray


def pool_rims(views: Sequence[Seen], matched: Matched) -> Pooled:
    """The leading view's rims moved to the weighted mean of all that answer them.  views: laid through the adjusted cameras."""
    rims, total = [], np.zeros(len(views))
    sighted = [[(i, views[i], views[i].edges.rims[a]) for i, a in enumerate(answers) if a is not None]
               for answers in matched.answers]
    found = [_circles(seen) for seen in sighted]
    shifts = _common_shifts(views, sighted, found)
    for rim, seen, circles in zip(matched.rims, sighted, found, strict=True):
        if circles is not None:
            pooled, weights = _pooled_circle(rim, circles, shifts[[i for i, _, _ in seen]])
        else:
            pooled, weights = _pooled_chain(rim, matched, seen)
        rims.append(pooled)
        for (i, _, _), weight in zip(seen, weights, strict=True):
            total[i] += weight * len(rim.points)
    return Pooled(tuple(rims), total / total.sum())


@dataclass(frozen=True)
class _Circles:
    """One round rim in several views: values (n, 3) x, y, radius in the drawing's frame and information (n, 3, 3) about them."""

    values: np.ndarray
    information: np.ndarray


def _circles(seen: Sequence[tuple[int, Seen, Rim]]) -> _Circles | None:
    """A rim that every view measured as a circle; None for others."""
    found = [circle for _, view, own in seen if (circle := _circle(view, own)) is not None]
    if len(found) < len(seen):
        return None
    return _Circles(np.array(found), np.array([_information(view, own) for _, view, own in seen]))


def _common_shifts(views: Sequence[Seen], sighted: Sequence[Sequence[tuple[int, Seen, Rim]]],
                   found: Sequence[_Circles | None]) -> np.ndarray:
    """How far each view's openings stand off together, x, y and radius (views, 3): light that comes from one side moves the
    narrow ones alike where they are seen aslant, for the lit and the shaded side of a rounding change places with its edge; and
    what is taken for wall and edge there makes all of them a little larger or smaller.  What the openings' own distances and
    differences tell stays; where they stand, and how large they are, as a whole the steepest views hardly know."""
    shifts: np.ndarray = np.zeros((len(views), 3))
    stiff = np.array([1 / (SHIFT_U + SHIFT_SLOPE_U * _mean_slope(view)) ** 2 for view in views])
    rows = [(seen, circles) for seen, circles in zip(sighted, found, strict=True)
            if circles is not None and len(seen) > 1 and seen[0][2].role == "opening"]
    for _ in range(SHIFT_TURNS if rows else 0):
        weight, off = np.zeros((len(views), 3, 3)) + stiff[:, None, None] * np.eye(3), np.zeros((len(views), 3))
        for seen, circles in rows:
            numbers = [i for i, _, _ in seen]
            mean, weighed = _robust_mean(circles.values - shifts[numbers], circles.information)
            for i, value, own in zip(numbers, circles.values, weighed, strict=True):
                weight[i] += own
                off[i] += own @ (value - mean)
        shifts = np.linalg.solve(weight, off[..., None])[..., 0]
    return shifts


def _mean_slope(view: Seen) -> float:
    """Slope of a view's sight line to the middle of its part."""
    assert view.edges.camera is not None
    position = np.array(view.edges.camera.position)
    return float(np.hypot(*(position[:2] - view.edges.rims[0].points.mean(0))) / (position[2] - view.edges.face_height))


def _circle(view: Seen, rim: Rim) -> np.ndarray | None:
    """(x, y, radius) in the drawing's frame of a rim measured as a circle; None for others.  Laid on another height, through an
    adjusted camera, it stays round to a micrometre."""
    points = view.drawn(rim.points)
    centre, radius, _ = robust_circle(points)
    return np.array([*centre, radius]) if _is_round(rim, points) else None


def _information(view: Seen, rim: Rim) -> np.ndarray:
    """What a view knows of a round rim's centre and radius, (3, 3) 1 / mm2 in the drawing's frame: by its sectors, else by the
    slope of the sight line round it."""
    turn = np.eye(3)
    turn[:2, :2] = (view.drawn(np.eye(2)) - view.drawn(np.zeros((1, 2)))).T
    if rim.round_cov:
        return np.asarray(turn @ np.linalg.inv(np.array(rim.round_cov)) @ turn.T)
    thin = rim.points[:: max(1, len(rim.points) // SECTORS)]
    at = cKDTree(rim.points).query(thin)[1]
    way = np.c_[outward_normals(rim.points, 3.0)[at], np.full(len(thin), -1.0 if rim.role == "opening" else 1.0)] @ turn.T
    weight = 1 / slope_u(view.edges, thin, rim, at) ** 2 / len(thin)
    return np.asarray(way.T @ (way * weight[:, None]))


def _pooled_circle(rim: Rim, circles: _Circles, shifts: np.ndarray) -> tuple[Rim, np.ndarray]:
    away = shifts if rim.role == "opening" else 0.0
    mean, weighed = _robust_mean(circles.values - away, circles.information)
    points = circle_chain(mean[:2], float(mean[2]), len(rim.points), rim.role != "outer")
    own = np.full(len(points), np.sqrt(np.linalg.inv(weighed.sum(0))[2, 2] * len(points)))
    weight = np.trace(weighed[:, :2, :2], axis1=1, axis2=2)
    return replace(rim, points=points, u=np.minimum(rim.u, own), round_cov=()), weight / weight.sum()


def _robust_mean(values: np.ndarray, information: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Mean over rows (n, m) of values with their information (n, m, m), and that as it counts: Cauchy, from the median (of two:
    from the one that is known better)."""
    centre = values[np.linalg.det(information).argmax()] if len(values) < 3 else np.median(values, axis=0)
    weighed = information
    for _ in range(8):
        off = values - centre
        far = np.einsum("ni,nij,nj->n", off, information, off) / values.shape[1]
        weighed = information / (1 + far / CAUCHY**2)[:, None, None]
        centre = np.linalg.solve(weighed.sum(0), np.einsum("nij,nj->i", weighed, values))
    return centre, weighed


def _pooled_chain(rim: Rim, matched: Matched, seen: Sequence[tuple[int, Seen, Rim]]) -> tuple[Rim, np.ndarray]:
    """A free rim: every place moved along its normal to the mean offset."""
    count = len(rim.points)
    normals = outward_normals(rim.points, 3.0)
    offset, u = np.full((len(seen), count), np.nan), np.full((len(seen), count), np.inf)
    for row, (_, view, own) in enumerate(seen):
        met = crossings(rim.points, normals, view.drawn(own.points), own.points, own.u)
        at = cKDTree(own.points).query(met.points)[1]
        offset[row, met.place] = met.offset
        u[row, met.place] = slope_u(view.edges, met.points, own, at)
    weight = np.where(np.isfinite(offset), 1 / u**2, 0.0)
    value = np.nan_to_num(offset)
    lead = next((row for row, (i, _, _) in enumerate(seen) if i == matched.lead), 0)
    mean = np.where(np.isfinite(offset[lead]), value[lead], 0.0)
    for _ in range(8):
        robust = weight / (1 + ((value - mean) / np.where(np.isfinite(u), u, 1.0) / CAUCHY) ** 2)
        mean = (robust * value).sum(0) / np.maximum(robust.sum(0), 1e-12)
    points = rim.points + mean[:, None] * normals
    own_u = np.minimum(rim.u, np.sqrt(1 / np.maximum(weight.sum(0), 1e-9)))
    share = robust.sum(1)
    return replace(rim, points=points, u=own_u, round_cov=()), share / share.sum()
