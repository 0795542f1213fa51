"""Brightness along probes across rims, read once and sorted by what the probes can see.

A probe starts in the bare face, crosses the rim and ends on the table.  Probes of one rim with the same view of the wall (slope
of the sight line, place of the foot) share one model: they are of one *kind*.  The probes of several rims are kept together as a
*block*, so that a whole part is judged in a few operations on arrays.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np

from afterpart.geometry.robust import median
from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, given_levels, level_prior
from afterpart.photo.projection import project_plane
from afterpart.photo.rimchain import foot_places, outward_normals, signed_area, smooth_closed, view_slopes

FOOT_GRAIN, SLOPE_GRAIN = 4 / 3, 0.03
"""How finely kinds are told apart: place of the foot in steps of the places, slope."""


@dataclass(frozen=True)
class Grain:
    """How finely probes are read.  place_px: step of the places where the wall is looked for; stride: values are read every so
    many of these steps."""

    place_px: float
    stride: int


FINE, MEDIUM, COARSE = Grain(0.3, 2), Grain(0.6, 2), Grain(0.6, 2)


@dataclass(frozen=True)
class Course:
    """One closed chain along which probes are to be read.

    chain: (n, 2) mm, material left; reach_px: how far the wall is looked for either side, inward_px: how much farther towards the
    material; void_px: how far beyond the last edge the table is looked at (limited by an opening's size); average: smoothing
    along the rim in probes; normal_smooth: of the normals, in probes, 0 for a chain that is a known curve; every: 1, or only each
    so-manieth probe is kept; widest_rounding: room for models with a larger rounding, mm; beside: the part's other rims as
    closed chains, outer ones counter-clockwise: what lies beyond them is not this rim's face.
    """

    chain: np.ndarray
    reach_px: float
    void_px: float
    average: float = 1.5
    normal_smooth: float = 3.0
    inward_px: float = 0.0
    every: int = 1
    widest_rounding: float = 0.0
    beside: tuple[np.ndarray, ...] = ()


@dataclass(frozen=True)
class ProbeBlock:
    """Probes of several rims, those of one kind side by side.

    order (n,): where each probe stands in the rims' own order; rim (n,): its rim; starts (rims + 1,): each rim's first probe
    in that order; chain, normals (n, 2), slopes (n,) in the rims' own order; places (d,) mm; allowed (rims, 2): first place and
    end of the places that count for a rim; t0, step: first value and distance of values in mm; stride: values per place; values
    (n, k); kind (n,), kinds (g + 1,): first probe of each kind; slope, foot (g,); weights (g, k): 1 / variance of a value, 0
    where it does not count; face, table (n,) prior levels; given (n, c) values known beforehand and what they make of the levels,
    gives (c, levels), with prior_u (g, levels); px: mm per pixel; noise (rims,) of one value;
    samples (rims,): values in a rim's longest probe; correlation: neighbouring values share noise (demosaicing, sharpening,
    JPEG), costs are to be divided by this; inside (rims,): which rims are of openings.
    """

    order: np.ndarray
    rim: np.ndarray
    starts: np.ndarray
    chain: np.ndarray
    normals: np.ndarray
    slopes: np.ndarray
    places: np.ndarray
    allowed: np.ndarray
    t0: float
    step: float
    stride: int
    values: np.ndarray
    kind: np.ndarray
    kinds: np.ndarray
    slope: np.ndarray
    foot: np.ndarray
    weights: np.ndarray
    face: np.ndarray
    table: np.ndarray
    given: np.ndarray
    gives: np.ndarray
    prior_u: np.ndarray
    px: float
    noise: np.ndarray
    samples: np.ndarray
    correlation: float
    inside: np.ndarray

    @property
    def means(self) -> np.ndarray:
        """Prior levels of face and table, (n, 2)."""
        return np.stack([self.face, self.table], 1)

    @cached_property
    def total(self) -> np.ndarray:
        """Sum of weighted squares of each probe's values, (n,)."""
        return np.einsum("nk,nk,nk->n", self.values, self.values, self.weights[self.kind])

    @cached_property
    def unexplained(self) -> np.ndarray:
        """Weighted squares about each probe's mean, (n,): what is left without any edge."""
        counts = self.weights > 0
        mean = np.einsum("nk,nk->n", self.values, counts[self.kind]) / counts.sum(1)[self.kind]
        weighted = np.einsum("nk,nk->n", self.values, self.weights[self.kind])
        return self.total - 2 * mean * weighted + mean**2 * self.weights.sum(1)[self.kind]


DARK_FROM = 0.15
"""A deep hole's wall is looked at over so many of its widths, as seen from above; what comes after is taken for one darkness.
Measured: from 0.10 to 0.22 the diameters of ten holes, in two lights, come out within 0.04 mm; at 0.30 one takes a wrong
edge."""

BESIDE_PX, OWN_PX = 2.0, 2.0
"""Another rim is seen so far from its wall, beyond its rounding; within so many pixels of its own wall a probe sees only that."""

CORRELATED_PX = 1.5
"""Over how far along a probe the noise of values is alike."""


@dataclass(frozen=True)
class _Read:
    """One rim's probes before they are sorted: as in ProbeBlock, with first (first column that counts) and last (n,)."""

    chain: np.ndarray
    normals: np.ndarray
    slopes: np.ndarray
    feet: np.ndarray
    values: np.ndarray
    face: np.ndarray
    first: int
    beyond: float
    noise: float
    opening: bool


def read_probes(light: np.ndarray, camera: Camera, courses: Sequence[Course], shape: RimShape, px: float,
                grain: Grain) -> ProbeBlock:
    """Read the probes of several rims.  light: (h, w) float32 in linear light; px: mm per pixel."""
    place, step = grain.place_px * px, grain.place_px * grain.stride * px
    inner = [max(shape.rounding, c.widest_rounding) + (c.reach_px + c.inward_px + 4) * px for c in courses]
    t0 = -max(inner)
    reads = [_read_course(light, camera, c, shape, px, t0, step, int((own + t0) / -step)) for c, own in zip(courses, inner,
                                                                                                           strict=True)]
    columns = max(r.values.shape[1] for r in reads)
    low = round(max(c.reach_px + c.inward_px for c in courses) / grain.place_px)
    high = round(max(c.reach_px for c in courses) / grain.place_px)
    allowed = np.array([(low - round((c.reach_px + c.inward_px) / grain.place_px),
                         low + round(c.reach_px / grain.place_px) + 1) for c in courses])
    starts = np.cumsum([0] + [len(r.chain) for r in reads])
    rim = np.repeat(np.arange(len(reads)), np.diff(starts))
    feet, slopes = np.concatenate([r.feet for r in reads]), np.concatenate([r.slopes for r in reads])
    bins = np.stack([rim, np.round(np.maximum(feet, -2 * px) / (FOOT_GRAIN * place)), np.round(slopes / SLOPE_GRAIN)]).astype(int)
    # by the foot first: probes that see equally far stand together
    order = np.lexsort(bins[[2, 0, 1]])
    bins = bins[:, order]
    kinds = np.concatenate([[0], np.flatnonzero((bins[:, 1:] != bins[:, :-1]).any(0)) + 1, [len(order)]])
    heads = kinds[:-1]
    values = np.zeros((len(order), columns))
    for r, start, stop in zip(reads, starts[:-1], starts[1:], strict=True):
        values[start:stop, :r.values.shape[1]] = r.values
        values[start:stop, r.values.shape[1]:] = r.values[:, -1:]
    values = values[order]
    slope, foot = bins[2, heads] * SLOPE_GRAIN, bins[1, heads] * (FOOT_GRAIN * place)
    own = bins[0, heads]
    beyond = np.array([r.beyond for r in reads])[own]
    ends = np.ceil((np.maximum(foot, 0.0) + beyond + 0.25 * px - t0) / step).astype(int)
    ends = np.clip(ends, 8, [reads[k].values.shape[1] for k in own])
    kind = np.repeat(np.arange(len(heads)), np.diff(kinds))
    face = np.concatenate([r.face for r in reads])[order]
    last = max(2, round(3 * px / step))
    table = np.median(values[np.arange(len(order))[:, None], ends[kind][:, None] - 1 - np.arange(last)], 1)
    count = np.diff(kinds)
    face_of, table_of = np.add.reduceat(face, heads) / count, np.add.reduceat(table, heads) / count
    opening = np.array([r.opening for r in reads])
    prior_u = level_prior(face_of, table_of, opening[own], shape.light is not None)
    normals = np.concatenate([r.normals for r in reads])
    given, gives = given_levels(shape, face, table, opening[bins[0]], normals[order])
    noise = np.array([r.noise for r in reads])
    # shot noise grows with brightness
    bright = np.add.reduceat(values, heads, 0) / count[:, None] / np.maximum(face_of, 1e-3)[:, None]
    column = np.arange(columns)
    counts = (column >= np.array([r.first for r in reads])[own][:, None]) & (column < ends[:, None])
    weights = counts / (noise[own][:, None] ** 2 * (0.3 + 0.7 * np.maximum(bright, 0.0)))
    samples = np.zeros(len(reads), int)
    np.maximum.at(samples, own, counts.sum(1))
    place_list = np.arange(-low, high + 1) * place
    return ProbeBlock(order, bins[0], starts, np.concatenate([r.chain for r in reads]), normals, slopes, place_list, allowed, t0,
                      step, grain.stride, values, kind, kinds, slope, foot, weights, face, table, given, gives, prior_u, px,
                      noise, samples,
                      max(CORRELATED_PX * px / step, 1.0), opening)


def _read_course(light: np.ndarray, camera: Camera, course: Course, shape: RimShape, px: float, t0: float, step: float,
                 first: int) -> _Read:
    chain = course.chain
    normals = outward_normals(chain, course.normal_smooth)
    slopes = view_slopes(camera, chain, normals, shape.height)
    feet = foot_places(camera, chain, normals, shape, course.normal_smooth == 0)
    if shape.bore > 0.0:
        # the foot itself lies beyond the other side of the hole, where a probe must not go
        feet = np.minimum(feet, DARK_FROM * shape.bore)
    beyond = (course.reach_px + course.void_px) * px
    t = t0 + np.arange(int(np.ceil((float(np.maximum(feet, 0).max()) + beyond - t0) / step)) + 1) * step
    values = _sample_lines(light, camera, chain, normals, t, shape.height)
    bares = slice(first, first + max(3, round(3 * px / step)))
    own = np.ones(len(chain), bool)
    if course.beside:
        away = beyond_others(chain, normals, t, course.beside, shape.rounding + BESIDE_PX * px, px) & (t < -OWN_PX * px)
        own = ~away[:, bares].any(1)
        values = _as_own_face(values, away, own, bares)
    bare = values[:, bares]
    # a fitted face would be smooth; the place itself may be a little lighter or darker
    face = smooth_closed(np.median(bare, 1), 6.0)
    noise = 1.4826 * median(np.abs(bare - smooth_closed(bare, 6.0))[own if own.any() else slice(None)].ravel()) + 1e-3
    floor = 0.02 * median(face) + 0.05
    effective = float(np.hypot(noise / np.sqrt(1 + 3.5 * course.average), 0.3 * floor))
    values = smooth_closed(values, course.average)
    keep = slice(None, None, course.every)
    return _Read(chain[keep], normals[keep], slopes[keep], feet[keep], values[keep], face[keep], first, beyond, effective,
                 signed_area(chain) < 0)


def beyond_others(chain: np.ndarray, normals: np.ndarray, t: np.ndarray, beside: Sequence[np.ndarray], margin: float,
                  px: float) -> np.ndarray:
    """(n, k) which places of the probes lie beyond another rim of the part (in an opening, outside the part), or within `margin`
    of it, or further into the material than such a place.  beside: closed chains (m, 2) in mm, see Course; px: mm per pixel."""
    step = 0.5 * px
    reach = float(np.abs(t).max()) + margin + 2 * step
    out = np.zeros((len(chain), len(t)), bool)
    near = _are_near(chain, beside, reach)
    if not near.any():
        return out
    # the raster lies alike whichever probes are near, and is laid out only where they are
    low = chain.min(0) - reach
    low = low + step * np.floor((chain[near].min(0) - reach - low) / step)
    wide, high = np.ceil((chain[near].max(0) + reach - low) / step).astype(int) + 1
    taken = np.zeros((high, wide), np.uint8)
    for other in beside:
        cells = [np.round((other - low) / step).astype(np.int32).reshape(-1, 1, 2)]
        own = cv2.fillPoly(np.zeros_like(taken), cells, 1)
        taken |= own if signed_area(other) < 0 else 1 - own
    size = 2 * round(margin / step) + 1
    taken = cv2.dilate(taken, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))
    columns, rows = (((chain[near, k, None] + t * normals[near, k, None]) - low[k]) / step for k in (0, 1))
    inside = taken[np.clip(np.rint(rows).astype(int), 0, high - 1), np.clip(np.rint(columns).astype(int), 0, wide - 1)] > 0
    out[near] = np.maximum.accumulate((inside & (t < 0))[:, ::-1], axis=1)[:, ::-1]
    return out


def _are_near(chain: np.ndarray, beside: Sequence[np.ndarray], reach: float) -> np.ndarray:
    """Which of the points (n, 2) have another rim within their reach, mm: a probe that gets beyond it must cross it."""
    near = np.zeros(len(chain), bool)
    for other in beside:
        # a rim's points stand apart: none between two of them is farther from the nearest than half their distance
        gap = 0.5 * float(np.hypot(*(np.roll(other, -1, 0) - other).T).max())
        low, high = other.min(0) - reach, other.max(0) + reach
        asked = np.flatnonzero(~near & ((chain >= low) & (chain <= high)).all(1))
        for some in np.array_split(asked, max(1, len(asked) * len(other) // 500_000)):
            apart = np.hypot(chain[some, None, 0] - other[None, :, 0], chain[some, None, 1] - other[None, :, 1])
            near[some] |= apart.min(1, initial=np.inf) < reach + gap
    return near


def _as_own_face(values: np.ndarray, away: np.ndarray, own: np.ndarray, bares: slice) -> np.ndarray:
    """The values (n, k) of a rim's probes with those of places that are `away` replaced by the rim's face, as the columns `bares`
    show it in the probes that begin on it (own, (n,))."""
    if own.all() or not own.any():
        return values
    at = np.flatnonzero(own)
    face = smooth_closed(np.interp(np.arange(len(values)), at, np.median(values[at, bares], 1), period=len(values)), 6.0)
    return np.where(away, face[:, None], values).astype(values.dtype)


def _sample_lines(light: np.ndarray, camera: Camera, chain: np.ndarray, normals: np.ndarray, t: np.ndarray,
                  height: float) -> np.ndarray:
    """Brightness (n, k) float32 along the probes at t (k,) mm.

    A probe is short: in the picture it is a parabola through three of its points, to 1e-3 px."""
    three = np.array([t[0], 0.5 * (t[0] + t[-1]), t[-1]])
    at = project_plane(camera, (chain[None] + three[:, None, None] * normals).reshape(-1, 2), height).reshape(3, -1, 2)
    s = np.linspace(-1, 1, len(t))
    bend = np.stack([0.5 * s * (s - 1), 1 - s * s, 0.5 * s * (s + 1)])
    columns, rows = ((at[..., k].T @ bend - 0.5).astype(np.float32) for k in (0, 1))
    return cv2.remap(light, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
