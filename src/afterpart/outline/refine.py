"""Joint geometric fit of a whole chain of carriers to its rim, tangency held exactly where the data support it.

Gauss-Newton on the distances of all points to their carriers, with the touching conditions as equations (one linear system a
step).  Robust weights (Student) keep an outlying stretch from bending the drawing.  The multiplier of a touching condition tells
what releasing it would save; it is released when that exceeds its price.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import FitError
from afterpart.geometry.fit import taubin_circle
from afterpart.geometry.robust import mixture_price, mixture_weights, student_weights
from afterpart.outline.chain import Chain, carrier_distances, junctions, off_carriers, signed_distance, tangencies, turn_at
from afterpart.outline.equations import Equations
from afterpart.outline.segment import FLAT_PRICE, FLAT_RAD, Pieces

SMOOTH_RAD = math.radians(32.0)
"""Junctions that turn less than this are first taken as tangent; the data may release them."""

PARAMETER_PRICE = 5.0
"""Price of one free number, about the logarithm of the number of independent samples."""

SEGMENT_PRICE = 4.0
"""Price of one more feature in the drawing, beyond its numbers."""

BAD_SHARE = 0.02
"""Share of a rim that may lie in a bad stretch (shadow, dirt, flash)."""

BAD_SPREAD = 0.15
"""Standard deviation of the residuals there, mm."""

KINK_RAD = 0.04
"""Two edges are hardly ever drawn at so small an angle to each other."""

WINDOW = 40
"""How many points to either side of its first a carrier may begin anew in one step of the fit."""

SETTLED = 2e-4
"""A step smaller than this (mm, rad) ends the fit of a chain: a fiftieth of what any number of it is known to."""

SETTLED_ROUGHLY = 2e-3
"""The same where only the price of a part of a rim is asked for."""

STEPS_OF_A_PART = (3, 17)
"""First step and end of the fit of a part of a rim: all its carriers are known but for those that change."""

PATIENCE, UNSETTLED = 14, 1.0
"""A chain that still moves by more than UNSETTLED (mm, rad) after so many steps will not come to rest."""


@dataclass(frozen=True)
class Rope:
    """A rim prepared for fitting: points (n, 2), samples (n,) independent samples each stands for, noise: sd of a point, mm;
    along (n,) length of rim from the first point; guard: points nearer than this to a sharp corner are not used; is_open: a part
    of a rim, whose last carrier does not meet its first."""

    points: np.ndarray
    samples: np.ndarray
    noise: float
    along: np.ndarray
    total: float
    guard: float
    tangent_price: float
    is_open: bool = False


def fit_chain(rope: Rope, pieces: Pieces) -> Chain:
    """The chain with the types and rough breakpoints of `pieces`, tangency decided by the data."""
    is_arc, first = pieces.is_arc.copy(), pieces.first.copy()
    state = _start_state(rope, is_arc, first, pieces.state)
    tangent = _smooth_junctions(rope, is_arc, state, first)
    tangent[-1] &= not rope.is_open
    return settle(rope, is_arc, state, tangent, first)


def _start_state(rope: Rope, is_arc: np.ndarray, first: np.ndarray, known: np.ndarray | None) -> np.ndarray:
    """Rough carriers from the points of each piece, those already known left as they are."""
    count, points = len(is_arc), rope.points
    state = np.full((count, 3), np.nan) if known is None else known.copy()
    for i in range(count):
        if np.isfinite(state[i]).all():
            continue
        index = stretch(first[i], first[(i + 1) % count], len(points))
        if len(index) > 12:
            trim = max(1, len(index) // 12)
            index = index[trim:-trim]
        if len(index) < 3:
            index = stretch(first[i] - 2, first[(i + 1) % count] + 2, len(points))
        own = points[index]
        run = own[-1] - own[0]
        if is_arc[i]:
            try:
                cx, cy, radius = taubin_circle(own, np.ones(len(own)))
            except FitError:
                is_arc[i] = False
            else:
                middle = own[len(own) // 2] - own[0]
                left = run[0] * middle[1] - run[1] * middle[0] < 0.0
                state[i] = cx, cy, radius if left else -radius
        if not is_arc[i]:
            center = own.mean(axis=0)
            _, _, way = np.linalg.svd(own - center, full_matrices=False)
            direction = way[0] if way[0] @ run >= 0.0 else -way[0]
            angle = math.atan2(direction[1], direction[0])
            state[i] = angle, center[1] * direction[0] - center[0] * direction[1], 0.0
    return state


def stretch(begin: int, end: int, count: int) -> np.ndarray:
    """Rim indices from begin up to, not including, end, going forward."""
    return (begin + np.arange((end - begin - 1) % count + 1)) % count


def _smooth_junctions(rope: Rope, is_arc: np.ndarray, state: np.ndarray, first: np.ndarray) -> np.ndarray:
    """(k,) True where the rough carriers meet smoothly and at least one of them is an arc."""
    count = len(is_arc)
    smooth = np.zeros(count, bool)
    for i in range(count):
        j = (i + 1) % count
        if is_arc[i] or is_arc[j]:
            turn = turn_at(bool(is_arc[i]), state[i], bool(is_arc[j]), state[j], rope.points[first[j]])
            smooth[i] = abs(turn) < SMOOTH_RAD
    return smooth


def settle(rope: Rope, is_arc: np.ndarray, state: np.ndarray, tangent: np.ndarray, first: np.ndarray) -> Chain:
    """Solve, release the touching condition that costs most, until none costs more than its price."""
    chain, saving = _solve(rope, is_arc, state, tangent, first)
    while saving.max() > rope.tangent_price:
        tangent = chain.tangent.copy()
        tangent[int(np.argmax(saving))] = False
        other, other_saving = _solve(rope, is_arc, chain.state, tangent, chain.first)
        if other.price > chain.price:
            break
        chain, saving = other, other_saving
    return chain


def _solve(rope: Rope, is_arc: np.ndarray, state: np.ndarray, tangent: np.ndarray, first: np.ndarray) -> tuple[Chain, np.ndarray]:
    """Gauss-Newton with the touching conditions as equations; gives the chain and what releasing each junction would
    save (k,).
    """
    count, points = len(is_arc), rope.points
    state, tangent, first = state.copy(), tangent.copy(), first.copy()
    corners = points[np.roll(first, -1)]
    bound = np.flatnonzero(tangent)
    owner = _owners(first, len(points))
    step_size = math.inf
    for turn in range(*STEPS_OF_A_PART if rope.is_open else (0, 26)):
        residual, slope = carrier_distances(is_arc, state, owner, points)
        robust = (
            student_weights(residual / rope.noise) if turn < 5 else mixture_weights(residual, rope.noise, BAD_SHARE, BAD_SPREAD)
        )
        weight = rope.samples * robust * _guarded(rope, owner, first, tangent, corners) / rope.noise**2
        hessian, gradient = _normal_equations(owner, count, weight, residual, slope, 3 if is_arc.any() else 2)
        hessian[~is_arc, 2, 2] = 1.0
        equations = Equations(hessian, gradient, bound, *tangencies(is_arc, state, bound))
        if step_size < (SETTLED_ROUGHLY if rope.is_open else SETTLED) and turn > 6:
            break
        if turn >= PATIENCE and step_size > UNSETTLED:
            break
        try:
            step = equations.step(1e-3 if turn < 3 else 1e-7)
        except np.linalg.LinAlgError:
            raise FitError(f"The {count} carriers of a rim cannot be solved together (rank of the equations too low).") from None
        step *= min(1.0, 0.5 / max(1e-12, _relative_step(is_arc, state, step)))
        state = state + step
        step_size = float(np.abs(step).max())
        near = points[_next(first)]
        corners = junctions(is_arc, state, tangent, near)
        if rope.is_open:
            corners[-1] = near[-1]
        if turn < 8:
            first = _reassigned(rope, first, corners)
            owner = _owners(first, len(points))
    covariance, saving = equations.solved()
    price = price_of(rope, is_arc, state, tangent, first, corners, residual)
    return Chain(is_arc.copy(), state, tangent, first, corners, False, covariance, residual, price), saving


def price_of(rope: Rope, is_arc: np.ndarray, state: np.ndarray, tangent: np.ndarray, first: np.ndarray, corners: np.ndarray,
             residual: np.ndarray) -> float:
    """Price of the description of a rim by a chain: misfit, free numbers, features, and what is hardly ever drawn."""
    count = len(is_arc)
    numbers = int(2 * count + is_arc.sum() - tangent.sum())
    price = _misfit(rope, residual) + PARAMETER_PRICE * numbers + SEGMENT_PRICE * count
    price += FLAT_PRICE * int(_kinks(is_arc, state)[: count - rope.is_open].sum())
    unlikely = _disorder(rope, is_arc, state, first, corners) + FLAT_PRICE * float(flat_arcs(rope, is_arc, state, first).sum())
    return price + unlikely


def _misfit(rope: Rope, residual: np.ndarray) -> float:
    """Weighted squares of the residuals, bad stretches priced as such."""
    return float(np.sum(rope.samples * mixture_price(residual, rope.noise, BAD_SHARE, BAD_SPREAD)))


def flat_arcs(rope: Rope, is_arc: np.ndarray, state: np.ndarray, first: np.ndarray) -> np.ndarray:
    """(k,) True for arcs that turn by less than FLAT_RAD."""
    begin = rope.along[first]
    length = np.mod(np.roll(begin, -1) - begin, rope.total)
    return is_arc & (length < FLAT_RAD * np.abs(state[:, 2]))


def _kinks(is_arc: np.ndarray, state: np.ndarray) -> np.ndarray:
    """(k,) True for junctions of two lines that turn by less than KINK_RAD."""
    straight = ~is_arc & ~np.roll(is_arc, -1)
    turn = np.remainder(np.roll(state[:, 0], -1) - state[:, 0] + math.pi, 2.0 * math.pi) - math.pi
    return straight & (np.abs(turn) < KINK_RAD)


def _relative_step(is_arc: np.ndarray, state: np.ndarray, step: np.ndarray) -> float:
    """Largest step as a share of what the carrier may sensibly move in one go (its radius; 0.3 rad, 3 mm for a line)."""
    scale = np.where(is_arc[:, None], np.maximum(np.abs(state[:, 2:3]), 0.2), np.array([[0.6, 6.0, 1.0]]))
    return float(np.abs(step / scale).max())


def _disorder(rope: Rope, is_arc: np.ndarray, state: np.ndarray, first: np.ndarray, corners: np.ndarray) -> float:
    """A large price for chains that do not run: a junction far from the rim, carriers that miss each other, a line backwards."""
    count = len(is_arc) - rope.is_open
    price = 0.0
    begin = np.roll(first, -1)
    gap = np.hypot(*(corners - rope.points[begin]).T)
    # where the rim steps over a place left out, the corner may lie as far off as the step is wide
    beside = (begin[:, None] + np.arange(-2, 3)) % len(rope.points)
    about = np.hypot(*np.moveaxis(np.diff(rope.points[beside], axis=1), 2, 0)).max(axis=1)
    price += 200.0 * float(np.sum(gap > np.maximum(max(1.0, 20.0 * rope.noise), about)))
    price += 200.0 * float(off_carriers(is_arc, state, corners)[:count].sum())
    for i in range(count):
        if not is_arc[i]:
            run = corners[i] - corners[i - 1]
            if run[0] * math.cos(state[i, 0]) + run[1] * math.sin(state[i, 0]) < -2.0 * rope.noise:
                price += 100.0
    return price


def _next(row: np.ndarray) -> np.ndarray:
    """A closed row begun one later."""
    return np.concatenate((row[1:], row[:1]))


def _owners(first: np.ndarray, count: int) -> np.ndarray:
    """(n,) which carrier each rim point belongs to; first need not start at its smallest."""
    start = int(np.argmin(first))
    marks = np.zeros(count, int)
    marks[first] = 1
    rank = np.cumsum(marks) - 1
    return (rank + start) % len(first)


def _reassigned(rope: Rope, first: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """Rim index nearest to each junction, within half the neighbouring stretches; order kept and no carrier left without
    points.
    """
    count = len(rope.points)
    begin = _next(first)
    length = (begin - first) % count if len(first) > 1 else np.array([count // 2 + 3])
    back = np.minimum(np.maximum(length - 3, 1), WINDOW)
    ahead = _next(back)
    shift = np.arange(-WINDOW, WINDOW + 1)
    window = (begin[:, None] + shift) % count
    gap = rope.points[window] - corners[:, None]
    outside = (shift < -back[:, None]) | (shift > ahead[:, None])
    nearest = np.argmin(np.where(outside, np.inf, gap[..., 0] ** 2 + gap[..., 1] ** 2), axis=1)
    last = window[np.arange(len(first)), nearest]
    new = np.concatenate((last[-1:], last[:-1]))
    step = (last - new) % count
    if (step < 2).any() or int(step.sum()) != count:
        return first
    return new


def _guarded(rope: Rope, owner: np.ndarray, first: np.ndarray, tangent: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """(n,) 0 for points within the guard of a sharp corner, else 1."""
    used = np.ones(len(rope.points))
    here = np.sort(rope.along[_next(first)[~tangent]])
    if len(here):
        # the corners next to a point along the rim, the last one being next to the first
        after = np.searchsorted(here, rope.along)
        for beside in (here[after - 1], here[after % len(here)]):
            gap = np.abs(rope.along - beside)
            used[np.minimum(gap, rope.total - gap) < rope.guard] = 0.0
    few = np.bincount(owner, used, len(first)) < 3
    used[few[owner]] = 1.0
    return used


def _normal_equations(
    owner: np.ndarray, count: int, weight: np.ndarray, residual: np.ndarray, slope: np.ndarray, numbers: int
) -> tuple[np.ndarray, np.ndarray]:
    """Blocks (k, 3, 3) and gradients (k, 3), summed over each carrier's points; only the first `numbers` of a carrier count."""
    hessian, gradient = np.zeros((count, 3, 3)), np.zeros((count, 3))
    for a in range(numbers):
        weighted = slope[:, a] * weight
        gradient[:, a] = np.bincount(owner, weighted * residual, count)
        for b in range(a, numbers):
            hessian[:, a, b] = hessian[:, b, a] = np.bincount(owner, weighted * slope[:, b], count)
    return hessian, gradient


def refitted(rope: Rope, pieces: Pieces, tangent: np.ndarray, known: np.ndarray, bound: np.ndarray) -> Chain:
    """The chain of these pieces, fitted again.  tangent (k,) at the junctions that are `known`; at the others the data decide;
    bound (k,): tangent whatever the data say.  Raises FitError where it cannot be."""
    is_arc, first = pieces.is_arc.copy(), pieces.first.copy()
    state = _start_state(rope, is_arc, first, pieces.state)
    if (is_arc != pieces.is_arc).any():
        raise FitError("A stretch of rim is too straight, or has too few points, for an arc.")
    smooth = np.where(known, tangent, _smooth_junctions(rope, is_arc, state, first)) | bound
    try:
        free, saving = _solve(rope, is_arc, state, smooth, first)
        saving[bound | known] = 0.0
        while saving.max() > rope.tangent_price:
            smooth = free.tangent.copy()
            smooth[int(np.argmax(saving))] = False
            free, saving = _solve(rope, is_arc, free.state, smooth, free.first)
            saving[bound | known] = 0.0
    except np.linalg.LinAlgError as error:
        raise FitError("The lines and arcs of a rim cannot be solved together.") from error
    return free


def circle_chain(rope: Rope, center: tuple[float, float], radius: float, covariance: np.ndarray, ccw: bool) -> Chain:
    """A whole rim as one circle, priced like any other chain."""
    signed = radius if ccw else -radius
    state = np.array([[center[0], center[1], signed]])
    residual, _ = signed_distance(np.array([True]), np.repeat(state, len(rope.points), axis=0), rope.points)
    price = _misfit(rope, residual) + 3.0 * PARAMETER_PRICE + SEGMENT_PRICE
    turned = covariance.copy()
    if not ccw:
        turned[2, :2] *= -1.0
        turned[:2, 2] *= -1.0
    return Chain(np.array([True]), state, np.array([False]), np.array([0]), rope.points[:1], True, turned, residual, price)


def resettled(rope: Rope, chain: Chain) -> Chain:
    """The chain fitted again to a rim whose noise is now known better."""
    return settle(rope, chain.is_arc, chain.state, chain.tangent, chain.first)


def with_covariance(chain: Chain, covariance: np.ndarray) -> Chain:
    """The chain with another covariance of its state."""
    return replace(chain, covariance=covariance)
