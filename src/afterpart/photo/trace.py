"""All rims of one part, from rough contours to exact chains: round ones as circles, the rest as free chains."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from afterpart.model.camera import Camera
from afterpart.photo.commonlight import fit_in_common_light
from afterpart.photo.part import PartRegion
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimchain import (
    SPACING_PX,
    outward_normals,
    resample_closed,
    signed_area,
    smooth_closed,
    start_chain,
    view_slopes,
)
from afterpart.photo.rimprobe import COARSE, FINE, Course, Grain
from afterpart.photo.rims import RimFit, fit_rims
from afterpart.photo.roundrim import RoundFit, circle_chain, fit_round_rims, round_guess
from afterpart.photo.shape import RimLook

START_REACH_PX = 9.0
VOID_PX = 12.0
MOST_INWARD_PX = 60.0
DEEP = 3.0
"""A hole deeper than so many of its widths shows nothing of its floor: the foot of its wall is looked for nowhere (judgement)."""

ROUND_DOUBT = 4.0
"""A circle's radius is off by so many times what its costs alone would allow (photo booth): where little is to be seen, the
faults of the rim's model weigh more."""


@dataclass(frozen=True)
class TracedRim:
    """One rim: points (n, 2) mm in the face's plane, material left, u (n,) mm; centre and radius when it is round, else None;
    seen: (n, 2) what the probes of a round rim see one by one; evidence: share of its probes that see an edge; fitted: how a
    round rim was fitted."""

    opening: bool
    points: np.ndarray
    u: np.ndarray
    centre: np.ndarray | None
    radius: float
    seen: np.ndarray
    evidence: float
    fitted: RoundFit | None = None


def rough_chains(light: np.ndarray, camera: Camera, region: PartRegion, shape: RimShape, px: float) -> list[np.ndarray]:
    """First chains (n, 2) of the outer contour and every opening: to a pixel or two."""
    starts = [start_chain(camera, contour, shape.height, k > 0, px, 4.0 * px)
              for k, contour in enumerate((region.outer, *region.openings))]
    trees = [cKDTree(start) for start in starts]
    chains = []
    for k, chain in enumerate(starts):
        # where the wall is as bright as the face, the rough contour ran along its foot
        most = MOST_INWARD_PX if k == 0 else min(MOST_INWARD_PX, 0.12 * _width(chain) / px)
        rounds = 3 if k == 0 else 1
        for number in range(rounds):
            slopes = view_slopes(camera, chain, outward_normals(chain, 6.0), shape.height)
            foot_px = float(np.clip(np.quantile(slopes, 0.98) * shape.height / px, 0.0, most))
            void = rim_void(chain, px, k > 0, START_REACH_PX)
            course = Course(chain, START_REACH_PX, void, 1.5 if k == 0 else 0.7, 6.0, foot_px,
                            beside=(*starts[:k], *starts[k + 1:]))
            rim, = fit_rims(light, camera, [course], shape, px, Spread(), grain=COARSE)
            # where the chain changed over to a wrong edge its normals are wrong too: smoothing between the rounds lets it back
            points = _on_its_own_side(rim.points, starts[k], trees[k], trees[:k] + trees[k + 1:])
            chain = resample_closed(smooth_closed(points, 1.5 if number == rounds - 1 else 4.0), SPACING_PX * px)
        chains.append(chain)
    return chains


def _on_its_own_side(points: np.ndarray, start: np.ndarray, own: cKDTree, others: Sequence[cKDTree]) -> np.ndarray:
    """Points (n, 2) of a rim, those put back on its rough contour that came nearer to another contour: across a narrow web the
    next rim is within reach."""
    distance, nearest = own.query(points)
    if not others:
        return points
    beyond = np.min([tree.query(points)[0] for tree in others], axis=0)
    return np.where((distance <= beyond)[:, None], points, start[nearest])


def trace_rims(light: np.ndarray, camera: Camera, chains: list[np.ndarray], look: RimLook, px: float,
               grain: Grain = FINE) -> list[TracedRim]:
    """Exact rims from first chains; the first is the outer one.  grain: as fine as wanted."""
    # a rough chain may stray for a third of its way, to a channel or a mark beside the hole: the fit itself decides what is round
    guesses = {k: guess for k, guess in enumerate(round_guess(chain, px, 5.0, 0.03) for chain in chains) if guess is not None}
    starts = [(*guess, k > 0) for k, guess in guesses.items()]
    circles = trace_circles(light, camera, starts, look, px, grain, outer=chains[0])
    found = {k: rim for k, rim in zip(guesses, circles, strict=True) if rim is not None}
    free = [k for k in range(len(chains)) if k not in found]
    averages = {k: rim_average(chains[k], px, k > 0) for k in free}
    laid = {k: chains[k] for k in free}
    for reach in (5.0, 3.0):
        courses = [Course(laid[k], reach, rim_void(laid[k], px, k > 0, reach), averages[k], beside=_beside(k, chains, found))
                   for k in free]
        rims = fit_rims(light, camera, courses, look.shape, px, look.spread, grain=grain)
        laid = {k: resample_closed(smooth_closed(rim.points, 1.0), SPACING_PX * px) for k, rim in zip(free, rims, strict=True)}
    for k, rim in zip(free, rims if free else [], strict=True):
        found[k] = TracedRim(k > 0, rim.points, rim.u, None, 0.0, rim.points, _evidence(rim))
    return [found[k] for k in range(len(chains))]


def _beside(k: int, chains: list[np.ndarray], found: dict[int, TracedRim]) -> tuple[np.ndarray, ...]:
    """The other rims of the part, round ones as found, the rest as they are known roughly."""
    return tuple(found[j].points if j in found else chain for j, chain in enumerate(chains) if j != k)


def trace_circles(light: np.ndarray, camera: Camera, starts: Sequence[tuple[np.ndarray, float, bool]], look: RimLook, px: float,
                  grain: Grain = FINE, reach_px: tuple[float, ...] = (8.0, 3.5),
                  outer: np.ndarray | None = None) -> list[TracedRim | None]:
    """Rims near the given circles (centre, radius, whether it is an opening); None where the picture shows no circle there.
    reach_px: how far they may move in each pass; outer: the part's outer rim, where it is known: what lies beyond it is no
    face."""
    beside = (outer,) if outer is not None else ()
    deep = [opening and look.shape.height > DEEP * 2.0 * radius for _, radius, opening in starts]
    shallow = [k for k, is_deep in enumerate(deep) if not is_deep]
    found = dict(zip(shallow, fit_round_rims(light, camera, [starts[k] for k in shallow], look.shape, px, look.spread, reach_px,
                                             grain=grain, beside=beside), strict=True))
    alike = [k for k in shallow if starts[k][2] and _is_round(found[k], px)]
    if grain == FINE:
        again = fit_in_common_light(light, camera, [found[k] for k in alike], look.shape, px, look.spread, grain)
        found |= dict(zip(alike, again, strict=True))
    fits = [found[k] if k in found else _fit_bore(light, camera, start, look, px, grain, reach_px)
            for k, start in enumerate(starts)]
    return [_round_rim(fitted, opening, px) if _is_round(fitted, px) else None
            for fitted, (_, _, opening) in zip(fits, starts, strict=True)]


def _fit_bore(light: np.ndarray, camera: Camera, start: tuple[np.ndarray, float, bool], look: RimLook, px: float,
              grain: Grain, reach_px: tuple[float, ...]) -> RoundFit:
    """A deep hole by itself: how far its wall is looked at goes by its own width."""
    shape = replace(look.shape, bore=2.0 * start[1])
    fitted, = fit_round_rims(light, camera, [start], shape, px, look.spread, reach_px, grain=grain)
    return fitted


def _round_rim(fitted: RoundFit, opening: bool, px: float) -> TracedRim:
    count = len(fitted.rim.points)
    points = circle_chain(fitted.centre, fitted.radius, count, opening)
    u = np.full(count, max(ROUND_DOUBT * float(fitted.u[2]), 0.02 * px) * np.sqrt(count))
    return TracedRim(opening, points, u, fitted.centre, fitted.radius, fitted.rim.points, _evidence(fitted.rim),
                     fitted)


def rim_average(chain: np.ndarray, px: float, opening: bool) -> float:
    """Smoothing along the rim in probes: averaging must not smear the foot of the wall, which slides along narrow ends."""
    return 1.5 if not opening else float(np.clip((0.5 * _width(chain) / px - 60) / 80, 0.2, 1.5))


def rim_void(chain: np.ndarray, px: float, opening: bool, reach_px: float) -> float:
    """How far beyond the last edge the table may be looked at: within half of an opening's width."""
    if not opening:
        return VOID_PX
    return float(np.clip(0.55 * _width(chain) / px - reach_px, 3.0, VOID_PX))


def _width(chain: np.ndarray) -> float:
    """Mean width of an opening: four times its area by its perimeter, a circle's diameter."""
    perimeter = float(np.hypot(*(np.roll(chain, -1, 0) - chain).T).sum())
    return 4 * abs(signed_area(chain)) / max(perimeter, 1e-9)


def _is_round(fitted: RoundFit, px: float) -> bool:
    """Whether single probes agree with the circle: none of its sides pulls away as a whole."""
    rim = fitted.rim
    off = np.hypot(*(rim.points - fitted.centre).T) - fitted.radius
    smooth = smooth_closed(off, len(off) / 24)
    return bool(np.quantile(np.abs(smooth), 0.8) < max(1.7 * px, 0.006 * fitted.radius))


def _evidence(rim: RimFit) -> float:
    """Share of probes for which an edge explains the brightness far better than none does."""
    return float((rim.gain > 1.0 * rim.samples).mean())
