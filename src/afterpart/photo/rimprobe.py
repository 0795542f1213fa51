"""Brightness along probes across a rim, read once and sorted by what the probes can see.

A probe starts in the bare face, crosses the rim and ends on the table.  Probes with the same view of the wall (slope of the sight
line, place of the foot) share one model, so they are kept together as a *group*.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.edgeprofile import sample
from afterpart.photo.profile import WALL_SHARE, RimShape, level_prior
from afterpart.photo.projection import project_plane
from afterpart.photo.rimchain import foot_places, outward_normals, signed_area, smooth_closed, view_slopes

PLACE_STEP_PX = 0.3
FOOT_GRAIN_PX, SLOPE_GRAIN = 0.4, 0.03


@dataclass(frozen=True)
class ProbeGroup:
    """rows (m,) of the rim's probes; their slope and foot in mm; t (k,) mm; values (m, k) brightness; means (m, LEVELS) and
    prior_u (LEVELS,) of the levels; sigma (k,) noise of the values."""

    rows: np.ndarray
    slope: float
    foot: float
    t: np.ndarray
    values: np.ndarray
    means: np.ndarray
    prior_u: np.ndarray
    sigma: np.ndarray


@dataclass(frozen=True)
class ProbedRim:
    """chain, normals (n, 2), slopes (n,); places (d,) mm where the wall is looked for; low, high: range of t that a model must
    cover; px: mm per pixel; noise of one averaged value; groups."""

    chain: np.ndarray
    normals: np.ndarray
    slopes: np.ndarray
    places: np.ndarray
    low: float
    high: float
    px: float
    noise: float
    groups: tuple[ProbeGroup, ...]


def probe_rim(light: np.ndarray, camera: Camera, chain: np.ndarray, shape: RimShape, px: float, reach_px: float, void_px: float,
              average: float = 1.5, normal_smooth: float = 3.0, every: int = 1, inward_px: float = 0.0,
              widest_rounding: float = 0.0) -> ProbedRim:
    """Read the probes of one rim.

    light: (h, w) float32 in linear light; chain: (n, 2) mm, material left; px: mm per pixel; reach_px: how far the wall is
    looked for either side, inward_px: how much farther towards the material; void_px: how far beyond the last edge the table
    is looked at (limited by an opening's size); average: smoothing along the rim in probes; normal_smooth: of the normals, in
    probes, 0 for a chain that is a known curve; every: 1, or only each so-manieth probe; widest_rounding: room for models
    with a larger rounding.
    """
    normals = outward_normals(chain, normal_smooth)
    slopes = view_slopes(camera, chain, normals, shape.height)
    feet = foot_places(camera, chain, normals, shape, normal_smooth == 0)
    step = 0.5 * px
    inner = max(shape.rounding, widest_rounding) + (reach_px + inward_px + 4) * px
    outer = float(np.maximum(feet, 0).max()) + (reach_px + void_px) * px
    t = np.arange(-inner, outer + step, step)
    across = chain[:, None, :] + t[None, :, None] * normals[:, None, :]
    pixels = project_plane(camera, across.reshape(-1, 2), shape.height).reshape(across.shape)
    values = sample(light, pixels).astype(np.float64)
    bare = values[:, : max(4, int(3 * px / step))]
    # a fitted face would be smooth; the place itself may be a little lighter or darker
    face_level = smooth_closed(np.median(bare, 1), 6.0)
    noise = 1.4826 * float(np.median(np.abs(bare - smooth_closed(bare, 6.0)))) + 1e-3
    floor = 0.02 * float(np.median(face_level)) + 0.05
    effective = float(np.hypot(noise / np.sqrt(1 + 3.5 * average), 0.3 * floor))
    values = smooth_closed(values, average)
    opening = signed_area(chain) < 0
    if every > 1:
        chain, normals, slopes, feet = chain[::every], normals[::every], slopes[::every], feet[::every]
        values, face_level = values[::every], face_level[::every]
    places = np.arange(-reach_px - inward_px, reach_px + PLACE_STEP_PX / 2, PLACE_STEP_PX) * px
    high = float(np.ceil((outer + (reach_px + inward_px) * px) / (8 * px)) * 8 * px)
    low = float(np.floor((t[0] - places[-1]) / (8 * px)) * 8 * px)
    groups = _group(t, values, face_level, feet, slopes, (reach_px + void_px) * px, px, effective, opening)
    return ProbedRim(chain, normals, slopes, places, low, high, px, effective, groups)


def _group(t: np.ndarray, values: np.ndarray, face_level: np.ndarray, feet: np.ndarray, slopes: np.ndarray, beyond: float,
           px: float, noise: float, opening: bool) -> tuple[ProbeGroup, ...]:
    """Probes of one view together, each group's values cut `beyond` its foot."""
    grain = FOOT_GRAIN_PX * px
    keys = np.stack([np.round(np.maximum(feet, -2 * px) / grain), np.round(slopes / SLOPE_GRAIN)], 1).astype(int)
    kinds, which = np.unique(keys, axis=0, return_inverse=True)
    out = []
    for g, (foot_bin, slope_bin) in enumerate(kinds):
        rows = np.flatnonzero(which == g)
        slope, foot = float(slope_bin * SLOPE_GRAIN), float(foot_bin * grain)
        columns = int(np.searchsorted(t, max(foot, 0.0) + beyond + 0.25 * px))
        part = values[rows, :columns]
        table = np.median(part[:, -6:], 1)
        face = float(np.median(face_level[rows]))
        mean, u = level_prior(face, float(np.median(table)), opening)
        means = np.repeat(mean[None], len(rows), 0)
        means[:, 0], means[:, 1], means[:, 4] = face_level[rows], WALL_SHARE * face_level[rows], table
        # shot noise grows with brightness
        sigma = noise * np.sqrt(0.3 + 0.7 * np.median(part, 0) / max(face, 1e-3))
        out.append(ProbeGroup(rows, slope, foot, t[:columns], part, means, u, sigma))
    return tuple(out)
