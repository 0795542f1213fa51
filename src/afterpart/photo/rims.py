"""Rough contours of a part's rims made exact: where the wall of the material stands, in mm, with its uncertainty.

Probes run across the rim every few pixels; neighbours are averaged along it, which costs nothing where the rim is straight or
gently curved.  Each probe gets a cost for every place of the wall (profile.py); the chain of places round the rim is the one of
least total cost with a bound on its jumps, so one bad probe cannot pull the rim to a wrong edge.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.errors import PhotoError
from afterpart.model.camera import Camera
from afterpart.photo.edgeprofile import sample
from afterpart.photo.profile import LEVELS, WALL_SHARE, RimShape, Spread, level_prior, place_costs, visible_model
from afterpart.photo.projection import project_plane, to_plane

SPACING_PX = 3.0
PLACE_STEP_PX = 0.3
MOST_PROBES = 20000
CORRELATION = 3.0
"""Neighbouring values share noise (demosaicing, sharpening, JPEG): costs are divided by this."""


@dataclass(frozen=True)
class RimFit:
    """points: (n, 2) on the wall in mm of the face plane, normals (n, 2) from material to void, slopes (n,), u (n,) mm;
    cost: (n,) at the best place; gain: (n,) how much worse the probe is explained without any edge; levels: (n, LEVELS);
    places (d,), costs (n, d), base (n, 2): all costs, and the chain they are measured from; noise: of one value;
    samples: number of values in a typical probe."""

    points: np.ndarray
    normals: np.ndarray
    slopes: np.ndarray
    u: np.ndarray
    cost: np.ndarray
    gain: np.ndarray
    levels: np.ndarray
    places: np.ndarray
    costs: np.ndarray
    base: np.ndarray
    noise: float
    samples: int


def resample_closed(points: np.ndarray, spacing: float) -> np.ndarray:
    """A closed polyline (n, 2) at even spacing.  Raises PhotoError when that would take more probes than any rim has."""
    closed = np.vstack([points, points[:1]])
    length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(12, int(round(length[-1] / spacing)))
    if count > MOST_PROBES:
        raise PhotoError(f"A rim came out {count} probes long, expected at most {MOST_PROBES}: the camera's place cannot be "
                         "right. Check what was told about the reference and its height.")
    at = np.linspace(0, length[-1], count, endpoint=False)
    return np.stack([np.interp(at, length, closed[:, k]) for k in (0, 1)], 1)


def smooth_closed(values: np.ndarray, sigma: float) -> np.ndarray:
    """Gaussian smoothing along axis 0 of a closed chain; sigma in samples."""
    if sigma <= 0:
        return values
    half = min(int(np.ceil(3 * sigma)), (len(values) - 1) // 2)
    k = np.arange(-half, half + 1)
    kernel = np.exp(-k * k / (2 * sigma * sigma))
    kernel /= kernel.sum()
    ring = np.concatenate([values[-half:], values, values[:half]]) if half else values
    flat = ring.reshape(len(ring), -1)
    out = cv2.filter2D(flat.astype(np.float64), cv2.CV_64F, kernel[:, None], borderType=cv2.BORDER_REFLECT)
    return out[half:half + len(values)].reshape(values.shape) if half else values


def signed_area(points: np.ndarray) -> float:
    """Area within a closed polyline (n, 2), mm2; negative where it runs clockwise."""
    x, y = points.T
    return 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def start_chain(camera: Camera, contour_px: np.ndarray, height: float, opening: bool, px: float, smooth_mm: float) -> np.ndarray:
    """Rough contour in px -> smooth even chain in mm with the material on its left."""
    chain = to_plane(camera, contour_px, height)
    if (signed_area(chain) < 0) != opening:
        chain = chain[::-1]
    chain = resample_closed(chain, 0.5 * SPACING_PX * px)
    chain = smooth_closed(chain, smooth_mm / (0.5 * SPACING_PX * px))
    return resample_closed(chain, SPACING_PX * px)


def outward_normals(chain: np.ndarray, smooth: float) -> np.ndarray:
    """Unit normals from material (left) to void (right) of a closed chain."""
    tangent = smooth_closed(np.roll(chain, -1, 0) - np.roll(chain, 1, 0), smooth)
    tangent /= np.hypot(*tangent.T)[:, None] + 1e-12
    return np.stack([tangent[:, 1], -tangent[:, 0]], 1)


def view_slopes(camera: Camera, chain: np.ndarray, normals: np.ndarray, height: float) -> np.ndarray:
    """Slope of the sight line across each probe, (n,): horizontal run per mm of height, positive where the wall is seen.

    chain, normals: (n, 2), points in mm and unit normals towards the void; height: of the face, mm."""
    toward = np.array(camera.position[:2]) - chain
    return (toward * normals).sum(1) / (camera.position[2] - height)


def foot_places(camera: Camera, chain: np.ndarray, normals: np.ndarray, shape: RimShape, exact: bool) -> np.ndarray:
    """Where each probe meets the seen foot of the wall, (n,) mm along the probe in the face's plane.

    The foot is the chain itself at the table, drawn towards the camera by parallax.  On curved walls it does not move along the
    probe: at the sides of a hole the sight line slides along the wall, so the crossing is found, not assumed.
    exact: the chain is a known curve; a measured one is smoothed first: its wobble, shifted along the rim by the parallax, would
    come back from each pass multiplied by shift / wavelength, which smoothing by as much as the shift keeps below one."""
    top = np.array(camera.position)
    if not exact:
        spacing = float(np.median(np.hypot(*np.diff(chain, axis=0).T)))
        shift = (top[:2] - chain) * (shape.height / top[2])
        slide = np.abs(shift[:, 0] * normals[:, 1] - shift[:, 1] * normals[:, 0])
        chain = smooth_closed(chain, float(np.clip(np.quantile(slide, 0.95) / spacing, 2.0, 12.0)))
    base = chain + max(shape.height - shape.rounding, 0.0) * shape.draft * normals
    foot = base + (top[:2] - base) * (shape.height / top[2])
    straight = ((foot - chain) * normals).sum(1)
    tangent = np.stack([-normals[:, 1], normals[:, 0]], 1)
    spacing = float(np.median(np.hypot(*np.diff(chain, axis=0).T)))
    reach = int(min(np.ceil(np.abs(((foot - chain) * tangent).sum(1)).max() / spacing) + 3, len(chain) // 2 - 1))
    index = (np.arange(len(chain))[:, None] + np.arange(-reach, reach + 1)) % len(chain)
    along = ((foot[index] - chain[:, None]) * tangent[:, None]).sum(2)
    across = ((foot[index] - chain[:, None]) * normals[:, None]).sum(2)
    crossing = along[:, :-1] * along[:, 1:] <= 0
    share = along[:, :-1] / np.where(along[:, :-1] - along[:, 1:] == 0, 1, along[:, :-1] - along[:, 1:])
    value = across[:, :-1] + share * (across[:, 1:] - across[:, :-1])
    # where the foot crosses a probe several times (sharp corners), the one nearest to the straight answer counts
    off = np.where(crossing, np.abs(value - straight[:, None]), np.inf)
    best = off.argmin(1)
    rows = np.arange(len(chain))
    return np.where(np.isfinite(off[rows, best]), value[rows, best], straight)


def fit_rim(grey: np.ndarray, camera: Camera, chain: np.ndarray, shape: RimShape, px: float, spread: Spread,
            reach_px: float, void_px: float, average: float = 1.5, normal_smooth: float = 3.0, every: int = 1,
            chained: bool = True, inward_px: float = 0.0) -> RimFit:
    """One pass over one rim.

    chain: (n, 2) mm, material left; px: mm per pixel; reach_px: how far the wall is looked for either side; void_px: how far
    beyond the last edge the table is looked at (limited by the opening's size); average: smoothing along the rim in probes;
    normal_smooth: of the normals, in probes, 0 for a chain that is a known curve; every: 1, or only each so-manieth probe for a
    quick judgement; chained: False leaves each probe at its own least cost;
    inward_px: how much farther to look towards the material.
    """
    normals = outward_normals(chain, normal_smooth)
    slopes = view_slopes(camera, chain, normals, shape.height)
    step = 0.5 * px
    inner = shape.rounding + (reach_px + inward_px + 4) * px
    feet = foot_places(camera, chain, normals, shape, normal_smooth == 0)
    band = np.maximum(feet, 0)
    outer = float(np.max(band)) + (reach_px + void_px) * px
    t = np.arange(-inner, outer + step, step)
    places_xy = chain[:, None, :] + t[None, :, None] * normals[:, None, :]
    pixels = project_plane(camera, places_xy.reshape(-1, 2), shape.height).reshape(places_xy.shape)
    values = sample(grey, pixels).astype(np.float64)
    bare = values[:, : max(4, int(3 * px / step))]
    # the fitted surface is smooth; the place itself may be a little lighter or darker
    face_level = smooth_closed(np.median(bare, 1), 6.0)
    noise = 1.4826 * float(np.median(np.abs(bare - smooth_closed(bare, 6.0)))) + 1e-3
    values = smooth_closed(values, average)
    if every > 1:
        chain, normals, slopes, feet = chain[::every], normals[::every], slopes[::every], feet[::every]
        values, face_level = values[::every], face_level[::every]
    floor = 0.02 * float(np.median(face_level)) + 0.05
    effective = float(np.hypot(noise / np.sqrt(1 + 3.5 * average), 0.3 * floor))
    places = np.arange(-reach_px - inward_px, reach_px + PLACE_STEP_PX / 2, PLACE_STEP_PX) * px
    costs = np.empty((len(chain), len(places)))
    levels = np.empty((len(chain), LEVELS))
    gain = np.empty(len(chain))
    columns_used = 0
    opening = signed_area(chain) < 0
    foot_grain, slope_grain = 0.4 * px, 0.03
    far = float(np.ceil((outer + reach_px * px) / (8 * px)) * 8 * px)
    near = float(np.floor((t[0] - places[-1]) / (8 * px)) * 8 * px)
    keys = np.stack([np.round(np.maximum(feet, -2 * px) / foot_grain), np.round(slopes / slope_grain)], 1).astype(int)
    kinds, group = np.unique(keys, axis=0, return_inverse=True)
    for g, (foot_bin, slope_bin) in enumerate(kinds):
        rows = np.flatnonzero(group == g)
        slope, foot = float(slope_bin * slope_grain), float(foot_bin * foot_grain)
        end = max(foot, 0.0) + (reach_px + void_px) * px
        columns = t <= end + step / 2
        model = visible_model(shape, slope, foot, px, spread, near, far)
        part = values[np.ix_(rows, columns)]
        columns_used = max(columns_used, int(columns.sum()))
        mean, u = level_prior(float(np.median(face_level[rows])), float(np.median(part[:, -6:])), opening)
        means = np.repeat(mean[None], len(rows), 0)
        means[:, 0], means[:, 1], means[:, 4] = face_level[rows], WALL_SHARE * face_level[rows], np.median(part[:, -6:], 1)
        # shot noise grows with brightness
        sigma = effective * np.sqrt(0.3 + 0.7 * np.median(part, 0) / max(mean[0], 1e-3))
        costs[rows], levels[rows] = place_costs(part, t[columns], model, places, means, u, sigma)
        gain[rows] = (((part - part.mean(1, keepdims=True)) / sigma) ** 2).sum(1) - costs[rows].min(1)
    if chained:
        # neighbours stand almost alike on the smoothed chain: sharing their costs keeps the foot sharp, averaging brightness
        # would not
        costs = smooth_closed(costs, 0.8)
    costs /= CORRELATION
    index = _chain_places(costs, places) if chained else costs.argmin(1)
    offset, u = _refine_places(costs, places, index)
    points = chain + offset[:, None] * normals
    rows = np.arange(len(chain))
    return RimFit(points, normals, slopes, u, costs[rows, index], gain, levels, places, costs, chain, effective, columns_used)


def _chain_places(costs: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Least-cost closed chain of places, as indices (n,)."""
    n, d = costs.shape
    level = costs - costs.min(1, keepdims=True)
    # a hopeless probe (no edge at all, or a foreign thing across it) must not outweigh its neighbours
    level = np.minimum(level, 60.0)
    jump = np.abs(np.arange(-8, 9)) * (places[1] - places[0])
    penalty = 0.5 * (jump / (0.5 * (places[1] - places[0]))) ** 2
    penalty = np.minimum(penalty, 40.0)
    start = int(np.argmax(np.partition(level, d // 2, axis=1)[:, d // 2]))
    order = np.roll(np.arange(n), -start)
    # twice round the loop: the first lap settles where the second starts
    lap = np.concatenate([order, order])
    buffer = np.full(d + 16, 1e9)
    best = buffer[8:-8]
    best[:] = level[lap[0]]
    window = np.lib.stride_tricks.sliding_window_view(buffer, 17)
    back = np.zeros((len(lap), d), np.int16)
    rows = np.arange(d)
    for k in range(1, len(lap)):
        reached = window + penalty
        step_back = reached.argmin(1)
        best[:] = reached[rows, step_back] + level[lap[k]]
        back[k] = step_back - 8
    at = int(best.argmin())
    path = np.empty(len(lap), int)
    for k in range(len(lap) - 1, -1, -1):
        path[k] = at
        at = at + int(back[k][at])
    index = np.empty(n, int)
    middle = path[n // 2: n // 2 + n]
    index[lap[n // 2: n // 2 + n]] = middle
    return index


def _refine_places(costs: np.ndarray, places: np.ndarray, index: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places (n,) between the grid's, by a parabola through three costs, and their standard uncertainty (n,)."""
    inner = np.clip(index, 1, len(places) - 2)
    rows = np.arange(len(costs))
    a, b, c = costs[rows, inner - 1], costs[rows, inner], costs[rows, inner + 1]
    curve = a - 2 * b + c
    step = places[1] - places[0]
    shift = np.where(curve > 1e-9, np.clip(0.5 * (a - c) / np.where(curve > 1e-9, curve, 1), -1, 1), 0)
    u = np.where(curve > 1e-9, step * np.sqrt(2 / np.where(curve > 1e-9, curve, 1)), 10 * step)
    return places[inner] + shift * step, np.clip(u, 0.01 * step, 10 * step)
