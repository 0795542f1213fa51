"""All rims of an edge map -> chains of carriers: noise and correlation learnt from the rims themselves, then the final fit."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import FitError
from afterpart.geometry.contour import edge_lengths, is_counter_clockwise, perimeter
from afterpart.geometry.fit import fit_circle, fit_circle_robust
from afterpart.geometry.robust import mixture_weights, spread
from afterpart.outline.chain import Chain
from afterpart.outline.refine import BAD_SHARE, BAD_SPREAD, Rope, circle_chain, fit_chain, resettled, with_covariance
from afterpart.outline.rounding import part_rounds, round_corners, sharpen_corners
from afterpart.outline.segment import effective_weights, segment_rim
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.simplify import LONG_ROW, simplify

LEAST_POINTS = 8

HARDLY_ROUND = 0.08
"""A rim this far from its best circle, as a share of the radius, is none: a square is 0.1."""

UNSEEN_WEIGHT = 0.02
"""What a point that was not seen counts against one that was: enough to keep a fillet nobody saw from being any size at all."""

SKETCH_POINTS = 500
"""About so many points of a rim are enough to sketch it."""

SMALL_RIM, OBLONG = 60.0, 1.7
"""A rim longer than SMALL_RIM (mm) whose points spread so much more one way than across lies mm off any circle."""

ROUND_SHARE = 1e-5
"""A rim whose points lie on one circle this closely, as a share of its radius, was measured as one."""


def trace_rims(rims: list[np.ndarray], u: list[np.ndarray], settings: OutlineSettings) -> tuple[list[Chain], float, float]:
    """Chains of all rims, the noise (sd of a point, mm) and the correlation length (mm) that the rims show.

    rims: (n, 2) closed, mm; u: (n,) mm, inf where a point was not seen but put in its likely place: it holds the chain together
    and hardly counts in the fit.  Raises FitError for a rim of too few points.
    """
    for points in rims:
        if len(points) < LEAST_POINTS:
            raise FitError(
                f"Found a rim of {len(points)} points, expected at least {LEAST_POINTS}; take a sharper or larger picture."
            )
    everything = np.concatenate(u)
    noise = max(settings.noise_floor, float(np.median(everything[np.isfinite(everything)])))
    length = settings.correlation_length
    begun = [_begun(points, noise, length, settings) for points in rims]
    if any(rim.first.size > LONG_ROW for rim in begun):
        # a long row is made simpler once, under the noise it shows before
        noise, length = _learn(rims, [rim.first for rim in begun], settings)
        begun = [_begun(points, noise, length, settings) for points in rims]
    chains = [_ended(rim) for rim in begun]
    for _ in range(2):
        learnt, new_length = _learn(rims, chains, settings)
        growth = (learnt / noise) ** 2 * new_length / length
        if 0.8 < growth < 1.25:
            break
        finer = growth < 0.7
        noise, length = learnt, new_length
        chains = [
            _trace(points, noise, length, settings) if finer else _retrace(points, chain, noise, length, settings)
            for points, chain in zip(rims, chains, strict=True)
        ]
    learnt, new_length = _learn(rims, chains, settings)
    growth = (learnt / noise) ** 2 * new_length / length
    chains = [
        chain if np.isfinite(own).all() else _as_seen(points, own, chain, noise, length, settings)
        for points, own, chain in zip(rims, u, chains, strict=True)
    ]
    grown = [with_covariance(chain, chain.covariance * growth) for chain in chains]
    return [_as_sure_as_seen(chain, own) for chain, own in zip(grown, u, strict=True)], learnt, new_length


def _as_seen(
    points: np.ndarray, u: np.ndarray, chain: Chain, noise: float, length: float, settings: OutlineSettings
) -> Chain:
    """The chain fitted again with hardly any weight on points that were not seen (u inf)."""
    rope = _rope(points, noise, length, settings)
    lighter = replace(rope, samples=np.where(np.isfinite(u), rope.samples, UNSEEN_WEIGHT * rope.samples))
    if chain.is_circle:
        return _whole_circle(lighter) or chain
    try:
        return resettled(lighter, chain)
    except (FitError, np.linalg.LinAlgError):
        return chain


def _as_sure_as_seen(chain: Chain, u: np.ndarray) -> Chain:
    """A circle's covariance no smaller than its own points' u (n,) allows: a round rim comes as an exact circle, whose residuals
    say nothing."""
    if not chain.is_circle:
        return chain
    u = u[np.isfinite(u)]
    square = float(np.mean(np.square(u))) / len(u)
    least = square * np.diag([2.0, 2.0, 1.0])
    return with_covariance(chain, least) if least[2, 2] > chain.covariance[2, 2] else chain


def sketch_rims(
    rims: list[np.ndarray], u: list[np.ndarray], settings: OutlineSettings, simplified: bool = False
) -> list[Chain | None]:
    """Chains of the rims (n, 2) that are no circles, closely enough to look along them; None for the others.

    simplified: with no more lines and arcs than the rims need, at some cost of time.
    A rim's own scatter about its first chain is its noise for the second: what is left after that is not looked into."""
    chains: list[Chain | None] = []
    for points, own in zip(rims, u, strict=True):
        thin = points[:: max(1, len(points) // SKETCH_POINTS)]
        chain, noise, length = None, max(settings.noise_floor, float(np.median(own))), settings.correlation_length
        if len(thin) >= LEAST_POINTS and not _runs_round(thin):
            for _ in range(2):
                rope = _rope(thin, noise, length, settings)
                try:
                    pieces = segment_rim(thin, noise, length, settings.segment_price, settings.arc_price)
                    chain = fit_chain(rope, pieces) if len(pieces.first) > 1 else chain
                except FitError:
                    break
                learnt = spread(chain.residuals) if chain is not None else noise
                if learnt < 1.25 * noise:
                    break
                noise = learnt
        if simplified and chain is not None:
            chain = simplify(_rope(thin, noise, length, settings), chain)
        chains.append(chain)
    return chains


def _runs_round(points: np.ndarray) -> bool:
    """Whether a rim is a circle to within a hair: it was measured as one."""
    try:
        fit = fit_circle(points)
    except FitError:
        return False
    return fit.rms < ROUND_SHARE * fit.radius


def _retrace(points: np.ndarray, chain: Chain, noise: float, length: float, settings: OutlineSettings) -> Chain:
    """The same chain under a larger noise: fitted again and simplified, breakpoints not searched again."""
    if chain.is_circle:
        return _trace(points, noise, length, settings)
    rope = _rope(points, noise, length, settings)
    chain = _finished(rope, simplify(rope, resettled(rope, chain)))
    circle = _whole_circle(rope) if _may_be_round(rope) else None
    return circle if circle is not None and circle.price <= chain.price else chain


def _learn(rims: list[np.ndarray], chains: list[Chain], settings: OutlineSettings) -> tuple[float, float]:
    """Noise and correlation length from the residuals, the numbers already spent on fitting allowed for."""
    length = _correlation_length(rims, chains, settings.correlation_length)
    samples = sum(perimeter(points) for points in rims) / (2.0 * length)
    spent = sum(3 if chain.is_circle else 2 * chain.size + int(chain.is_arc.sum() - chain.tangent.sum()) for chain in chains)
    noise = spread(np.concatenate([chain.residuals for chain in chains])) * math.sqrt(
        samples / max(samples - spent, 0.4 * samples)
    )
    noise = math.hypot(noise, settings.model_noise)
    return min(noise, 20.0 * settings.noise_floor), length


def _trace(points: np.ndarray, noise: float, length: float, settings: OutlineSettings) -> Chain:
    return _ended(_begun(points, noise, length, settings))


@dataclass(frozen=True)
class _Begun:
    """A rim before it is made simple.  circle: all of it as one, None where it is none; first: what stands for it; is_row:
    whether that is a row of lines and arcs."""

    rope: Rope
    circle: Chain | None
    first: Chain
    is_row: bool


def _begun(points: np.ndarray, noise: float, length: float, settings: OutlineSettings) -> _Begun:
    """The rim as one circle where that explains it, else as a row of lines and arcs, more of them than it needs."""
    rope = _rope(points, noise, length, settings)
    circle = _whole_circle(rope) if _may_be_round(rope) else None
    if circle is not None and circle.price < 1.6 * float(rope.samples.sum()) + 45.0:
        return _Begun(rope, circle, circle, False)
    pieces = segment_rim(points, noise, length, settings.segment_price, settings.arc_price)
    try:
        if len(pieces.first) < 2:
            raise FitError(f"A rim of {len(points)} points is neither a circle nor a row of lines and arcs.")
        return _Begun(rope, circle, fit_chain(rope, pieces), True)
    except FitError:
        circle = circle or _whole_circle(rope)
        if circle is None:
            raise
        return _Begun(rope, circle, circle, False)


def _ended(begun: _Begun) -> Chain:
    """The rim as simple as it was drawn."""
    rope, circle = begun.rope, begun.circle
    if not begun.is_row:
        return begun.first
    try:
        chain = _finished(rope, simplify(rope, begun.first))
    except FitError:
        circle = circle or _whole_circle(rope)
        if circle is None:
            raise
        return circle
    return circle if circle is not None and circle.price <= chain.price else chain


def _may_be_round(rope: Rope) -> bool:
    """Whether it is worth while to fit one circle to the rim: a long one much farther one way than across is none."""
    off = rope.points - rope.points.mean(axis=0)
    across, along = np.linalg.eigvalsh(off.T @ off)
    return rope.total < SMALL_RIM or float(along) < OBLONG**2 * float(across)


def _finished(rope: Rope, chain: Chain) -> Chain:
    """The simplified chain with its corners judged: fillets, edges within them, sharp ones."""
    return sharpen_corners(rope, part_rounds(rope, round_corners(rope, chain)))


def seen_noise(rims: list[np.ndarray], chains: list[Chain], settings: OutlineSettings) -> tuple[float, float]:
    """Noise (sd of a point, mm) and correlation length (mm) that the rims (n, 2) of one picture show about their chains."""
    return _learn(rims, chains, settings)


def rope_of(points: np.ndarray, u: np.ndarray, noise: float, length: float, settings: OutlineSettings) -> Rope:
    """A rim (n, 2) prepared for fitting; points that were not seen (u inf) hardly count."""
    rope = _rope(points, noise, length, settings)
    return rope if np.isfinite(u).all() else replace(rope, samples=np.where(np.isfinite(u), 1.0, UNSEEN_WEIGHT) * rope.samples)


def round_chain(rope: Rope, u: np.ndarray) -> Chain | None:
    """The rim as one circle, as sure as its points' u (n,) allow; None when they do not fix one."""
    circle = _whole_circle(rope)
    return None if circle is None else _as_sure_as_seen(circle, u)


def _rope(points: np.ndarray, noise: float, length: float, settings: OutlineSettings) -> Rope:
    steps = edge_lengths(points)
    along = np.concatenate(([0.0], np.cumsum(steps[:-1])))
    return Rope(
        points, effective_weights(points, length), noise, along, float(steps.sum()), settings.corner_guard, settings.tangent_price
    )


def _whole_circle(rope: Rope) -> Chain | None:
    """The rim as one circle, or None when its points do not fix one.  Student weights first, then those of the
    bad-stretch mixture.
    """
    u = rope.noise / np.sqrt(rope.samples)
    try:
        fit = fit_circle(rope.points, u)
        if fit.rms < HARDLY_ROUND * fit.radius:
            fit, _ = fit_circle_robust(rope.points, u)
            good = np.ones(len(u))
            for _ in range(6):
                before, good = good, mixture_weights(fit.residuals(rope.points), rope.noise, BAD_SHARE, BAD_SPREAD)
                if np.abs(good - before).max() < 1e-3:
                    break
                fit = fit_circle(rope.points, u / np.sqrt(good))
    except FitError:
        return None
    return circle_chain(rope, fit.center, fit.radius, fit.covariance, is_counter_clockwise(rope.points))


def _correlation_length(rims: list[np.ndarray], chains: list[Chain], prior: float) -> float:
    """Half the integrated correlation length of the residuals along the rims, mm, held between half and thrice the prior."""
    lengths, weights = [], []
    for points, chain in zip(rims, chains, strict=True):
        z = np.clip(chain.residuals, -4.0 * spread(chain.residuals) - 1e-12, 4.0 * spread(chain.residuals) + 1e-12)
        step = float(np.median(edge_lengths(points)))
        power = float(z @ z)
        if power <= 0.0 or len(z) < 40:
            continue
        total = 1.0
        for lag in range(1, min(len(z) // 4, int(6.0 * prior / step) + 1)):
            share = float(z @ np.roll(z, lag)) / power
            if share < 0.05:
                break
            total += 2.0 * share
        lengths.append(0.5 * total * step)
        weights.append(len(z) * step)
    if not lengths:
        return prior
    return float(np.clip(np.average(lengths, weights=weights), 0.4 * prior, 3.0 * prior))
