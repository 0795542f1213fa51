"""What the picture itself tells of the rim's rounding and of its own blur, when nobody told.

Both are common to all rims of a part: the values under which the rims' costs are least.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimprobe import MEDIUM, Course, ProbeBlock, read_probes
from afterpart.photo.rims import judge_rims
from afterpart.photo.roundrim import circle_chain, fit_round_rims, round_cost, round_guess

BLURS_PX = (0.6, 0.8, 1.0, 1.25, 1.6, 2.1, 2.8, 3.8, 5.2, 7.0)
DRAFTS_DEG = (0.0, 0.5, 1.0, 1.5, 2.0)
"""Lean of a moulding's walls that is looked for: 0 to 2 degrees is usual (measurement.md's trade, from memory)."""

LARGE_GAIN, CLEAR_GAIN, NOISE_LEFT = 0.6, 0.22, 1.3
MOST_LEANING = 5

ROUNDINGS_MM = (0.08, 0.2, 0.35, 0.5, 0.7, 0.95, 1.3)
EDGE_WIDTH = 2.563
"""Width of a Gaussian-blurred step from 10 to 90 %, in standard deviations."""


@dataclass(frozen=True)
class RimLook:
    """shape and spread that explain the rims best; rounding_told: the maker gave it."""

    shape: RimShape
    spread: Spread
    rounding_told: bool


def settle_look(light: np.ndarray, camera: Camera, chains: Sequence[np.ndarray], shape: RimShape, px: float,
                told: bool, blur_only: bool = False) -> RimLook:
    """Blur, then rounding, draft and blur again; shape.rounding is the start, and stays when `told`.  chains[0] is the outer rim;
    blur_only: for as long as the sight lines are not known well enough for the rest."""
    spread = Spread(1.0)
    shape = replace(shape, rounding=min(shape.rounding, 0.9 * shape.height) if shape.height > 0 else 0.0)
    courses = _chosen(chains, px, min(ROUNDINGS_MM[-3], 0.9 * shape.height))
    block = read_probes(light, camera, courses, shape, px, MEDIUM)

    def cost(shape: RimShape, spread: Spread) -> float:
        return _cost(block, courses, shape, spread)

    spread = replace(spread, blur_px=_best(BLURS_PX, lambda b: cost(shape, replace(spread, blur_px=b))))
    if blur_only or shape.height <= 0.2:
        return RimLook(shape, spread, told)
    if not told:
        sizes = [r for r in ROUNDINGS_MM if r < 0.9 * shape.height]
        shape = replace(shape, rounding=_best(sizes, lambda r: _unusual(r) + cost(replace(shape, rounding=r), spread),
                                              everywhere=True))
    shape = replace(shape, draft=_settle_draft(light, camera, chains[1:], shape, spread, px))
    near = [b for b in BLURS_PX if 0.6 * spread.blur_px < b < 1.7 * spread.blur_px]
    spread = replace(spread, blur_px=_best(near, lambda b: cost(shape, replace(spread, blur_px=b))))
    return RimLook(shape, spread, told)


def _settle_draft(light: np.ndarray, camera: Camera, openings: Sequence[np.ndarray], shape: RimShape, spread: Spread,
                  px: float) -> float:
    """Lean of the walls (tangent), from how well the probes of round openings agree on one circle.

    The near side of an opening shows the rim, the far side the foot of the wall: they agree only when the lean is right.  A
    lean must be seen, not guessed: disagreement has to fall a lot, or clearly and to what noise leaves (judgement)."""
    circles = [c for c in (round_guess(o, px, 5.0, 0.03) for o in openings) if c is not None][:MOST_LEANING]
    if len(circles) < 2:
        return shape.draft
    known: dict[float, np.ndarray] = {}

    def cost(draft: float) -> float:
        if draft not in known:
            leaning = replace(shape, draft=draft)
            known[draft] = np.array([fit.cost for fit in fit_round_rims(light, camera, [(*c, True) for c in circles], leaning, px,
                                                                        spread, (6.0, 3.5))])
        return float(np.log(known[draft] + 0.2).mean())

    none, slight, *_ = tangents = [float(np.tan(np.radians(d))) for d in DRAFTS_DEG]
    if cost(slight) > cost(none) + 0.05:
        return none
    best = _best(tangents, cost, 1)
    nearest = min(known, key=cost)
    gain, left = cost(none) - cost(nearest), float(known[nearest].mean())
    return best if gain > LARGE_GAIN or (gain > CLEAR_GAIN and left < NOISE_LEFT) else none


def _unusual(rounding: float) -> float:
    """Addition to the cost: moulded edges are mostly rounded by 0.2 to 0.8 mm (judgement); flat costs must not pick extremes."""
    return 0.03 * float(np.log(rounding / 0.4)) ** 2


def _chosen(chains: Sequence[np.ndarray], px: float, widest: float) -> list[Course]:
    """Where to judge: the outer rim, the two longest openings and the four shortest.  Where a rim is round it is probed along the
    exact circle, for the foot of its wall is then known best."""
    inner = sorted(range(1, len(chains)), key=lambda k: -len(chains[k]))
    picked = [0, *(inner if len(inner) <= 5 else inner[:2] + inner[-3:])]
    out = []
    for k in picked:
        guess = round_guess(chains[k], px, 2.0, 0.012)
        if guess is not None:
            centre, radius = guess
            chain = circle_chain(centre, radius, int(np.clip(2 * np.pi * radius / (3.0 * px), 36, 90)), k > 0)
            average = float(np.clip((radius / px - 60) / 80, 0.0, 1.5))
            void = min(10.0, max(1.1 * radius / px - 5, 3.0)) if k else 10.0
            out.append(Course(chain, 4.0, void, average, 0.0, widest_rounding=widest))
        elif k == 0 or len(chains[k]) > 120:
            out.append(Course(chains[k], 4.0, 10.0, 3.0, 3.0, 0.0, 8 if len(chains[k]) > 600 else 3, widest))
    return out


def _cost(block: ProbeBlock, courses: list[Course], shape: RimShape, spread: Spread) -> float:
    """Mean logarithm of the rims' mean costs, long rims weighing more: each rim has a misfit of its own, and only relative gains
    say anything."""
    logs, weights = [], []
    for course, rim in zip(courses, judge_rims(block, shape, spread, chained=False), strict=True):
        cost = round_cost(rim) if course.normal_smooth == 0 else rim.cost
        logs.append(float(np.log(np.mean(np.minimum(cost, 6 * np.median(cost))))))
        weights.append(float(len(course.chain)) ** 0.5)
    return float(np.average(logs, weights=weights))


def _best(values: Sequence[float], cost: Callable[[float], float], start: int = 2, everywhere: bool = False) -> float:
    """Value of least cost: downhill from one of the list, then a parabola through the three nearest (logarithmic where all are
    above 0)."""
    known: dict[int, float] = {}

    def at(k: int) -> float:
        if k not in known:
            known[k] = cost(values[k])
        return known[k]

    k = min(range(len(values)), key=at) if everywhere else min(start, len(values) - 1)
    while True:
        if k > 0 and at(k - 1) < at(k):
            k -= 1
        elif k < len(values) - 1 and at(k + 1) < at(k):
            k += 1
        else:
            break
    if k in (0, len(values) - 1):
        return values[k]
    near = np.array([values[k - 1], values[k], values[k + 1]])
    x = np.log(near) if near.min() > 0 else near
    curve = np.polyfit(x - x[1], [at(k - 1), at(k), at(k + 1)], 2)
    shift = -curve[1] / (2 * curve[0]) if curve[0] > 0 else 0.0
    place = x[1] + float(np.clip(shift, x[0] - x[1], x[2] - x[1]))
    return float(np.exp(place)) if near.min() > 0 else float(place)
