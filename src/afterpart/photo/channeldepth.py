"""How deep a channel is, from the strip of wall that a camera standing aside sees of it.

A wall of depth d seen at a slope m of the sight line is a strip d m wide between the face's edge and the floor.  Along probes
across the wall, from the face to well into the floor, the brightness is held against strips of every depth (channelprofile.py);
the mean misfit of all probes of a wall, as a logarithm, is taken as a log likelihood, tempered as in shape.py.  Several views of
one channel add theirs.
Limits: a probe must not reach the other wall; below a slope of about 0.1 the strip is narrower than the picture's blur.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.robust import median
from afterpart.model.edges import EdgeMap, Rim, other_wall
from afterpart.photo.adjust import ground_px_per_mm
from afterpart.photo.channelprofile import channel_patterns, level_means
from afterpart.photo.edgeprofile import sample
from afterpart.photo.load import Picture
from afterpart.photo.profile import Spread
from afterpart.photo.projection import project_plane
from afterpart.photo.rimchain import outward_normals, resample_closed, view_slopes

DEPTHS = np.arange(0.2, 6.01, 0.1)
"""Depths that are tried, mm."""

LEAST_SLOPE, SLOPE_STEP = 0.15, 0.04
"""Slope of the sight line from which a wall's strip is looked at; probes this nearly alike share a pattern."""

SPACING_PX, STEP_PX, BEFORE_PX = 4.0, 0.5, 8.0
"""Distance of probes, of their values, and how far they reach into the face."""

CLEAR_SHARE = 0.8
"""Share of the channel's width that probes reach over."""

WEIGHT = 60.0
"""Log likelihood for a unit of the mean logarithmic misfit of a view that sees all of a wall's steep side (judgement, as in
shape.py)."""

FLOOR_U = 0.08
"""Least standard uncertainty of a depth, mm: the strip's model is not the picture's."""

LEAST_PROBES = 20


@dataclass(frozen=True)
class DepthEvidence:
    """Log likelihood (n,) of the depths DEPTHS, 0 at its best; probes: how many told."""

    log: np.ndarray
    probes: int


def depth_evidence(picture: Picture, edges: EdgeMap) -> DepthEvidence:
    """What one picture says of the depth of the channel whose two walls are among the rims; nothing when there is none."""
    total, count = np.zeros(len(DEPTHS)), 0
    assert edges.camera is not None
    middle = project_plane(edges.camera, edges.rims[0].points.mean(0)[None], edges.face_height)[0]
    px = 1 / ground_px_per_mm(edges.camera, middle, edges.face_height)
    for k, rim in enumerate(edges.rims):
        other = other_wall(edges.rims, k)
        if other is None:
            continue
        log, probes = _wall(picture, edges, rim, other, px)
        total += log
        count += probes
    return DepthEvidence(total - total.max(), count)


def _wall(picture: Picture, edges: EdgeMap, rim: Rim, other: Rim, px: float) -> tuple[np.ndarray, int]:
    """Log likelihood (n,) by one wall, and the number of probes on its seen side."""
    assert edges.camera is not None
    chain = resample_closed(rim.points, SPACING_PX * px)
    normals = outward_normals(chain, 2.0)
    slopes = view_slopes(edges.camera, chain, normals, edges.face_height)
    width = float(np.median(np.hypot(*(chain[:, None] - other.points[None, ::4]).transpose(2, 0, 1)).min(1)))
    clear = _clear_of_openings(chain, edges, width)
    seen = np.flatnonzero((slopes > LEAST_SLOPE) & clear)
    if len(seen) < LEAST_PROBES:
        return np.zeros(len(DEPTHS)), 0
    t = np.arange(-BEFORE_PX * px, CLEAR_SHARE * width, STEP_PX * px)
    places = chain[seen, None] + t[:, None] * normals[seen, None]
    at = project_plane(edges.camera, places.reshape(-1, 2), edges.face_height)
    values = sample(picture.light, at).astype(float).reshape(len(seen), len(t))
    costs = _strip_costs(values, slopes[seen], t, px, Spread(edges.blur_px, edges.sharpening))
    costs = np.minimum(costs, 4 * np.median(costs, axis=0))
    # steeper probes tell more, in proportion to the strip they see
    weight = slopes[seen] / slopes[seen].sum()
    share = min(1.0, float(slopes[seen].sum()) / (0.25 * len(chain) * 0.4))
    return -WEIGHT * share * np.log(np.maximum(costs @ weight, 1e-12)), len(seen)


def _clear_of_openings(chain: np.ndarray, edges: EdgeMap, width: float) -> np.ndarray:
    """(n,) whether no opening is so near that a probe would run into it."""
    clear = np.ones(len(chain), bool)
    for rim in edges.rims:
        if rim.role == "opening":
            away = np.hypot(*(chain[:, None] - rim.points[None, ::4]).transpose(2, 0, 1)).min(1)
            clear &= away > width
    return clear


def _strip_costs(values: np.ndarray, slopes: np.ndarray, t: np.ndarray, px: float, spread: Spread) -> np.ndarray:
    """Misfit (depths, n) of probes with values (n, k) at t (k,) mm, per value."""
    bare = values[:, t < -3 * px]
    face = np.median(bare, axis=1)
    noise = max(1.4826 * float(np.median(np.abs(bare - face[:, None]))), 0.01 * float(np.median(face)) + 0.05)
    out = np.empty((len(DEPTHS), len(values)))
    groups = np.round(slopes / SLOPE_STEP).astype(int)
    for group in np.unique(groups):
        own = groups == group
        patterns = channel_patterns(DEPTHS * group * SLOPE_STEP, px, spread, float(t[0]), float(t[1] - t[0]), len(t))
        mean, ridge = level_means(face[own], median(face[own]))
        for k, basis in enumerate(patterns):
            gram = basis @ basis.T / noise**2 + np.diag(ridge)
            right = basis @ values[own].T / noise**2 + (mean * ridge).T
            level = np.linalg.solve(gram, right)
            left = values[own] - level.T @ basis
            out[k, own] = ((left / noise) ** 2).sum(1) + ((level.T - mean) ** 2 * ridge).sum(1)
    return out / len(t)


def agreed_depth(evidence: Sequence[DepthEvidence]) -> tuple[float, float] | None:
    """Depth and standard uncertainty in mm that suit all pictures best; None where none tells."""
    telling = [e.log for e in evidence if e.probes]
    if not telling:
        return None
    log = np.sum(telling, axis=0)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = float(weight @ DEPTHS)
    spread = float(np.sqrt(weight @ (DEPTHS - mean) ** 2))
    return mean, float(np.hypot(spread, FLOOR_U))
