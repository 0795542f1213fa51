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
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.rimchain import outward_normals
from afterpart.photo.rimmatch import STRIDE_MM, answering, crossings, slope_u
from afterpart.photo.roundrim import circle_chain, robust_circle
from afterpart.photo.together import Drawing, Ties, into_drawing, turned

EXACT_ROUND = 1e-6
"""A rim whose points scatter by less about a circle, as a share of its radius, was measured as one."""

CAUCHY = 3.0

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
        for span, answers in zip(spans, matched.answers, strict=True):
            answer = answers[i]
            if span is None or answer is None:
                continue
            rim = view.edges.rims[answer]
            own = slice(*span)
            met = crossings(drawing.places[own], drawing.normals[own], view.drawn(rim.points), rim.points, rim.u)
            at = cKDTree(rim.points).query(met.points)[1]
            assert view.edges.camera is not None
            px.append(project_plane(view.edges.camera, met.points, view.edges.face_height))
            place.append(span[0] + met.place)
            u.append(slope_u(view.edges, met.points, rim, at))
        alike = float(np.sqrt(max(sum(map(len, place)) / INDEPENDENT, 1.0)))
        ties.append(Ties(np.concatenate(px), np.concatenate(place), alike * np.concatenate(u), alike))
    return drawing, ties


def laid_again(view: Seen, camera: Camera, height: float, motion: tuple[float, float, float]) -> Seen:
    """A view's rims on the plane of the adjusted height, through the adjusted camera (in the view's own world), with the adjusted
    motion."""
    assert view.edges.camera is not None
    seen = [project_plane(view.edges.camera, rim.points, view.edges.face_height) for rim in view.edges.rims]
    rims = tuple(replace(rim, points=to_plane(camera, px, height)) for rim, px in zip(view.edges.rims, seen, strict=True))
    return replace(view, edges=replace(view.edges, rims=rims, camera=camera, face_height=height), motion=motion)


@dataclass(frozen=True)
class Pooled:
    """rims in the drawing's frame; shares: (views,) what each view counts in them, together 1."""

    rims: tuple[Rim, ...]
    shares: np.ndarray


def pool_rims(views: Sequence[Seen], matched: Matched) -> Pooled:
    """The leading view's rims moved to the weighted mean of all that answer them.  views: laid through the adjusted cameras."""
    rims, total = [], np.zeros(len(views))
    for rim, answers in zip(matched.rims, matched.answers, strict=True):
        seen = [(i, views[i], views[i].edges.rims[a]) for i, a in enumerate(answers) if a is not None]
        circles = [_circle(view, own) for _, view, own in seen]
        if all(c is not None for c in circles):
            pooled, weights = _pooled_circle(rim, [c for c in circles if c is not None],
                                             [_view_u(view, own) for _, view, own in seen])
        else:
            pooled, weights = _pooled_chain(rim, matched, seen)
        rims.append(pooled)
        for (i, _, _), weight in zip(seen, weights, strict=True):
            total[i] += weight * len(rim.points)
    return Pooled(tuple(rims), total / total.sum())


def _circle(view: Seen, rim: Rim) -> np.ndarray | None:
    """(x, y, radius) in the drawing's frame of a rim measured as a circle; None for others.  Laying it on another height leaves
    it round to first order."""
    points = view.drawn(rim.points)
    centre, radius, scatter = robust_circle(points)
    return np.array([*centre, radius]) if scatter < max(EXACT_ROUND * radius, 2e-4) else None


def _view_u(view: Seen, rim: Rim) -> float:
    """Standard uncertainty of a whole rim in a view, mm."""
    thin = rim.points[:: max(1, len(rim.points) // 24)]
    at = cKDTree(rim.points).query(thin)[1]
    return float(np.sqrt(np.mean(slope_u(view.edges, thin, rim, at) ** 2)))


def _pooled_circle(rim: Rim, circles: Sequence[np.ndarray], u: Sequence[float]) -> tuple[Rim, np.ndarray]:
    found, base = np.array(circles), np.array(u)
    mean, weight = _robust_mean(found, base)
    points = circle_chain(mean[:2], float(mean[2]), len(rim.points), rim.role != "outer")
    own = np.full(len(points), np.sqrt(0.5 / float((1 / base**2).sum())) * np.sqrt(len(points)))
    return replace(rim, points=points, u=np.minimum(rim.u, own)), weight / weight.sum()


def _robust_mean(values: np.ndarray, u: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Weighted mean over rows (n, m) of values with uncertainties u (n,), and the weights: Cauchy, from the median."""
    centre = values[u.argmin()] if len(values) < 3 else np.median(values, axis=0)
    weight = 1 / u**2
    for _ in range(8):
        off = np.sqrt(np.mean((values - centre) ** 2, axis=1)) / u
        weight = 1 / u**2 / (1 + (off / CAUCHY) ** 2)
        centre = weight @ values / weight.sum()
    return centre, weight


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
    return replace(rim, points=points, u=own_u), share / share.sum()
