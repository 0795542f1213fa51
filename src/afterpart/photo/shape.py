"""What the picture itself tells of the rims' rounding, of the lean of the walls, and of its own blur and sharpening.

All are common to the rims of a part: what explains them all best.  Rounding and lean (*draft*) are judged together, for either
alone is taken for the other: over a table of both, each rim's misfit is read, and its mean logarithm is taken as a log
likelihood, tempered (WEIGHT) so that what it claims is as sure as the photo booth finds it to be.  A round opening tells most:
its near side shows the rim, its far side the foot of the wall, and they lie on one circle only when the lean is right.
How far each rim moves over what remains likely is handed on as its *doubt*.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.geometry.robust import median
from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimprobe import MEDIUM, Course, ProbeBlock, read_probes
from afterpart.photo.rims import judge_rims
from afterpart.photo.roundrim import circle_chain, round_guess, round_moves

BLURS_PX = (0.5, 0.65, 0.8, 1.0, 1.25, 1.6, 2.1, 2.8, 3.8, 5.2, 7.0)
SHARPENINGS = (0.0, 0.3, 0.6, 1.0)
DRAFTS_DEG = (0.0, 0.4, 0.8, 1.2, 1.6, 2.0)
"""Lean of a moulding's walls that is looked for: 0 to 2 degrees is usual (trade custom, from memory)."""

ROUNDINGS_MM = (0.1, 0.2, 0.35, 0.55, 0.85, 1.3)
USUAL_ROUNDING, ROUNDING_SPREAD = 0.35, 0.7
"""Moulded edges are rounded by about so much, give or take this factor's logarithm (judgement)."""

START_DRAFT_DEG, START_ROUNDING = 0.4, 0.4
NO_DRAFT_SHARE, WIDE_DRAFT_DEG, WIDE_DRAFT_LOSS = 0.35, 1.5, 1.0
"""So many parts have walls of no draft at all; more than the usual is less likely (judgement)."""

FREE_SHARE = 0.3
"""What a rim that is not round counts for the lean beside round ones: each of its probes may stand where it likes."""

WEIGHT = 80.0
"""Log likelihood for a unit of the mean logarithmic misfit: with it the booth's drafts lie within what is claimed."""

DRAFT_FLOOR_DEG, ROUNDING_FLOOR = 0.13, 0.25
"""Least standard uncertainties left (of a rounding as a share): the rim's model is not the picture's."""

WEIGHED_FLOOR = 0.15
"""The same of a rounding that was weighed (judgement: the booth's roundings are arcs, true ones nearly)."""

HALF_SLOPE = 0.2
"""Slope of the sight line at which a picture's word on rounding and draft counts half beside others': from there on the model's
faults, which grow with the slope, are more than noise (see roundsectors.py)."""

FINE_DRAFTS, FINE_ROUNDINGS = 41, 31


@dataclass(frozen=True)
class RimLook:
    """shape and spread that explain the rims best; rounding_told: the maker gave it; doubts: (m, chains) independent ways in
    which the rims may stand off together, mm away from the material at one standard uncertainty; usual_doubt: (m, 2) the same
    for other parts' outer rims and openings; evidence: what the picture says of rounding and draft, None where it was not
    asked; rounding_u: standard uncertainty of the rounding, as a share; weighed: what the picture says of the rounding beside
    other pictures (rounding.py), None where it was not weighed."""

    shape: RimShape
    spread: Spread
    rounding_told: bool
    doubts: np.ndarray
    usual_doubt: np.ndarray
    evidence: Evidence | None = None
    rounding_u: float = ROUNDING_FLOOR
    weighed: Evidence | None = None


@dataclass(frozen=True)
class Evidence:
    """Over a table of draft (rows) and rounding (columns): log likelihood (a, b), offsets (a, b, c) of the judged rims, mm away
    from the material; drafts in degrees, roundings (their logarithms); numbers: of the judged rims among all chains; slope: of
    the sight line to the part's middle."""

    log: np.ndarray
    offsets: np.ndarray
    drafts: np.ndarray
    roundings: np.ndarray
    numbers: tuple[int, ...]
    chains: int
    slope: float = 0.0


@dataclass(frozen=True)
class Judged:
    """logs, weights (courses,): logarithm of each rim's misfit, and what it counts; offsets (courses,): where each rim stands, mm
    away from the material."""

    logs: np.ndarray
    weights: np.ndarray
    offsets: np.ndarray

    @property
    def misfit(self) -> float:
        """Mean logarithm over the rims."""
        return float(np.average(self.logs, weights=self.weights))


def settle_look(light: np.ndarray, camera: Camera, chains: Sequence[np.ndarray], shape: RimShape, px: float,
                told: bool, blur_only: bool = False) -> RimLook:
    """Blur and sharpening, then rounding and draft, and both again; shape.rounding is the start, and stays when `told`.
    chains[0] is the outer rim; blur_only: for as long as the sight lines are not known well enough for the rest."""
    still = blur_only or shape.height <= 0.2
    shape = replace(shape, rounding=min(shape.rounding, 0.9 * shape.height) if shape.height > 0 else 0.0)
    if not still:
        start = shape.rounding if told else min(START_ROUNDING, 0.45 * shape.height)
        shape = replace(shape, rounding=start, draft=tangent(START_DRAFT_DEG))
    roundings = [shape.rounding] if told or still else [r for r in ROUNDINGS_MM if r < 0.9 * shape.height] or [shape.rounding]
    numbers, courses = chosen_courses(chains, px, max(roundings))
    spread = _settle_spread(read_probes(light, camera, courses, shape, px, MEDIUM), courses, shape, Spread(1.0))
    if still:
        return RimLook(shape, spread, told, np.zeros((0, len(chains))), np.zeros((0, 2)))
    for _ in range(2):
        table = [[] for _ in DRAFTS_DEG]
        for row, draft in zip(table, DRAFTS_DEG, strict=True):
            leaning = replace(shape, draft=tangent(draft))
            block = read_probes(light, camera, courses, leaning, px, MEDIUM)
            row += [_judge(block, courses, replace(leaning, rounding=r), spread) for r in roundings]
        is_round = np.array([course.normal_smooth == 0 for course in courses])
        evidence = evidence_of(table, roundings, is_round, numbers, len(chains))
        evidence = replace(evidence, slope=mean_slope(camera, chains[0], shape.height))
        found = likely(evidence.log, evidence)
        shape = replace(shape, rounding=found.rounding if not told else shape.rounding, draft=tangent(found.draft_deg))
        before = spread
        spread = _settle_spread(read_probes(light, camera, courses, shape, px, MEDIUM), courses, shape, spread)
        if spread == before:
            break
    return doubtful(RimLook(shape, spread, told, np.empty((0, 0)), np.empty((0, 0)), evidence), found)


def agreed_looks(looks: Sequence[RimLook]) -> list[RimLook]:
    """The looks of several pictures of one part with the rounding and the draft that suit them all together, those that look
    aslant counting less.  The rounding goes by what was weighed, where all have that.  Looks that were not asked, or over another
    table, stay as they are."""
    first = next((look.evidence for look in looks if look.evidence is not None), None)
    if first is None:
        return list(looks)
    asked = [look.evidence is not None and _is_alike(look.evidence, first) for look in looks]
    total = _added([look.evidence for look, own in zip(looks, asked, strict=True) if own and look.evidence is not None])
    weighed = [look.weighed for look, own in zip(looks, asked, strict=True) if own and look.weighed is not None]
    told = likely(_added(weighed), weighed[0]) if len(weighed) == sum(asked) and all(
        _is_alike(one, weighed[0]) for one in weighed) else None
    out = []
    for look, own in zip(looks, asked, strict=True):
        if not own or look.evidence is None:
            out.append(look)
            continue
        found = likely(total, look.evidence)
        if told is not None:
            found = replace(found, rounding=told.rounding, spread=told.spread)
        rounding = look.shape.rounding if look.rounding_told else found.rounding
        shape = replace(look.shape, rounding=rounding, draft=tangent(found.draft_deg))
        out.append(doubtful(replace(look, shape=shape), found, ROUNDING_FLOOR if told is None else WEIGHED_FLOOR))
    return out


def _is_alike(one: Evidence, other: Evidence) -> bool:
    """Whether two pictures were asked over the same table."""
    return one.log.shape == other.log.shape and np.allclose(one.roundings, other.roundings)


def _added(asked: Sequence[Evidence]) -> np.ndarray:
    """Log likelihood (a, b) of several pictures together."""
    return np.asarray(np.sum([evidence.log / (1 + (evidence.slope / HALF_SLOPE) ** 2) for evidence in asked], axis=0))


def mean_slope(camera: Camera, chain: np.ndarray, height: float) -> float:
    """Slope of the sight line to a chain's middle."""
    away = np.array(camera.position[:2]) - chain.mean(axis=0)
    return float(np.hypot(*away) / (camera.position[2] - height))


def doubtful(look: RimLook, found: Found, floor: float = ROUNDING_FLOOR) -> RimLook:
    """The look with what its rims may stand off by.  floor: least standard uncertainty of the rounding, as a share."""
    assert look.evidence is not None
    doubts = np.zeros((len(found.doubts), look.evidence.chains))
    inner = found.doubts[:, 1:].mean(axis=1) if len(look.evidence.numbers) > 1 else found.doubts[:, 0]
    usual = np.stack([found.doubts[:, 0], inner], axis=1)
    doubts[:, 0], doubts[:, 1:] = usual[:, 0], usual[:, 1:]
    doubts[:, look.evidence.numbers] = found.doubts
    return replace(look, doubts=doubts, usual_doubt=usual, rounding_u=float(np.hypot(floor, found.spread)))


def tangent(degrees: float) -> float:
    """A lean in degrees as its tangent, which shapes have."""
    return float(np.tan(np.radians(degrees)))


def _settle_spread(block: ProbeBlock, courses: list[Course], shape: RimShape, start: Spread) -> Spread:
    """Blur and sharpening of least misfit."""
    return least_spread(lambda spread: _judge(block, courses, shape, spread).misfit, BLURS_PX, start)


def least_spread(misfit: Callable[[Spread], float], blurs_px: Sequence[float], start: Spread, stride: int = 1) -> Spread:
    """Blur and sharpening of least misfit, downhill over a table of both from the nearest entry to `start`; stride: how many
    blurs apart are tried until none is better, before each is."""
    known: dict[tuple[int, int], float] = {}

    def spread_at(place: tuple[int, int]) -> Spread:
        return Spread(blurs_px[place[0]], SHARPENINGS[place[1]])

    def at(place: tuple[int, int]) -> float:
        if place not in known:
            known[place] = misfit(spread_at(place))
        return known[place]

    here = (int(np.argmin(np.abs(np.log(np.array(blurs_px) / start.blur_px)))),
            int(np.argmin(np.abs(np.array(SHARPENINGS) - start.sharpening))))
    while True:
        near = [(here[0] + stride * a, here[1] + b) for a, b in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1))
                if 0 <= here[0] + stride * a < len(blurs_px) and 0 <= here[1] + b < len(SHARPENINGS)]
        best = min(near, key=at)
        if best == here and stride == 1:
            return spread_at(here)
        here, stride = best, stride if best != here else 1


@dataclass(frozen=True)
class Found:
    """spread: standard deviation of the rounding's logarithm over what is likely."""

    draft_deg: float
    rounding: float
    doubts: np.ndarray
    spread: float


def evidence_of(table: list[list[Judged]], roundings: list[float], is_round: np.ndarray, numbers: list[int],
                chains: int, gains: np.ndarray | float = 0.0, weight: float = WEIGHT) -> Evidence:
    """What a table of judgements says, on a finer one.  gains (roundings,): added to the misfits of each rounding; weight: log
    likelihood for a unit of misfit."""
    logs = np.array([[cell.logs for cell in row] for row in table])
    if is_round[1:].any():
        least = logs[:, :, ~is_round].min(axis=0)
        logs[:, :, ~is_round] = least + FREE_SHARE * (logs[:, :, ~is_round] - least)
    misfit = logs @ table[0][0].weights / table[0][0].weights.sum() + gains
    offsets = np.array([[cell.offsets for cell in row] for row in table])
    drafts = np.linspace(0.0, DRAFTS_DEG[-1], FINE_DRAFTS)
    sizes = np.log(np.maximum(roundings, 1e-3))
    fine = np.linspace(sizes[0], sizes[-1], FINE_ROUNDINGS if len(roundings) > 1 else 1)
    down, across = between(np.array(DRAFTS_DEG), drafts), between(sizes, fine)
    misfit = down @ misfit @ across.T
    offsets = np.einsum("ai,ijc,bj->abc", down, offsets, across)
    return Evidence(-weight * (misfit - misfit.min()), offsets, drafts, fine, tuple(numbers), chains)


def likely(log: np.ndarray, evidence: Evidence) -> Found:
    """Means of draft and rounding over what is likely, and how the rims move over it (m, courses).  Walls without any draft are
    a case of their own, and are taken for that when they are likelier than all others together.  log: (a, b) of this picture, or
    of several together."""
    offsets, drafts, fine = evidence.offsets, evidence.drafts, evidence.roundings
    prior = -0.5 * ((fine[None] - np.log(USUAL_ROUNDING)) / ROUNDING_SPREAD) ** 2
    prior = prior - np.where(drafts > WIDE_DRAFT_DEG, WIDE_DRAFT_LOSS, 0.0)[:, None]
    weight = _weighed(log + prior)
    likely = weight[:1] / weight[:1].sum() if weight[0].sum() > 0.5 else weight
    draft, size = float(likely.sum(1) @ drafts[:len(likely)]), float(likely.sum(0) @ fine)
    mean = np.einsum("ab,abc->c", likely, offsets[:len(likely)])
    off = offsets - mean
    covariance = np.einsum("ab,abc,abd->cd", weight, off, off)
    # what the model cannot tell even where it claims to: the floors, by the rims' own slopes over the table
    for steps, floor, axis in ((drafts, DRAFT_FLOOR_DEG, 0), (fine, ROUNDING_FLOOR, 1)):
        if len(steps) > 1:
            slope = np.einsum("ab,abc->c", weight, np.gradient(offsets, steps, axis=axis))
            covariance += floor**2 * np.outer(slope, slope)
    value, vector = np.linalg.eigh(covariance)
    kept = value > 1e-8
    spread = float(np.sqrt(likely.sum(0) @ (fine - size) ** 2))
    return Found(draft, float(np.exp(size)), (vector[:, kept] * np.sqrt(value[kept])).T, spread)


def _weighed(log: np.ndarray) -> np.ndarray:
    """Weights (a, b) that sum to one; the first row of drafts is no draft at all, a case of its own."""
    weight = np.exp(log - log.max())
    weight[0] *= NO_DRAFT_SHARE / (1.0 - NO_DRAFT_SHARE) * (len(weight) - 1)
    return weight / weight.sum()


def between(nodes: np.ndarray, places: np.ndarray) -> np.ndarray:
    """(places, nodes) weights of a smooth curve through values at the nodes: the mean of the two parabolas next to a place."""
    if len(nodes) < 3:
        return np.stack([np.interp(places, nodes, row) for row in np.eye(len(nodes))], axis=1)
    out = np.zeros((len(places), len(nodes)))
    for row, x in zip(out, places, strict=True):
        k = int(np.clip(np.searchsorted(nodes, x) - 1, 0, len(nodes) - 2))
        starts = [c for c in (k - 1, k) if 0 <= c <= len(nodes) - 3]
        for c in starts:
            near = nodes[c:c + 3]
            for i in range(3):
                others = [near[j] for j in range(3) if j != i]
                row[c + i] += np.prod([(x - o) / (near[i] - o) for o in others]) / len(starts)
    return out


def chosen_courses(chains: Sequence[np.ndarray], px: float, widest: float) -> tuple[list[int], list[Course]]:
    """Where to judge: the outer rim, the two longest openings and the five shortest, by number of chain.  Where a rim is round
    it is probed along the exact circle, for the foot of its wall is then known best."""
    inner = sorted(range(1, len(chains)), key=lambda k: -len(chains[k]))
    numbers, out = [], []
    for k in [0, *(inner if len(inner) <= 7 else inner[:2] + inner[-5:])]:
        guess = round_guess(chains[k], px, 2.0, 0.012)
        if guess is not None:
            centre, radius = guess
            chain = circle_chain(centre, radius, int(np.clip(2 * np.pi * radius / (6.0 * px), 30, 45)), k > 0)
            average = float(np.clip((radius / px - 60) / 80, 0.0, 1.5))
            void = min(10.0, max(1.1 * radius / px - 5, 3.0)) if k else 10.0
            out.append(Course(chain, 4.0, void, average, 0.0, widest_rounding=widest))
        elif k == 0 or len(chains[k]) > 120:
            out.append(Course(chains[k], 4.0, 10.0, 3.0, 3.0, 0.0, 8 if len(chains[k]) > 600 else 3, widest))
        else:
            continue
        numbers.append(k)
    return numbers, out


def _judge(block: ProbeBlock, courses: list[Course], shape: RimShape, spread: Spread) -> Judged:
    """Mean logarithm of the rims' mean costs, long rims weighing more: each rim has a misfit of its own, and only relative gains
    say anything.  And where each rim stands."""
    logs, weights, offsets = [], [], []
    rims = judge_rims(block, shape, spread, chained=False)
    moved = iter(round_moves([rim for course, rim in zip(courses, rims, strict=True) if course.normal_smooth == 0]))
    for course, rim in zip(courses, rims, strict=True):
        if course.normal_smooth == 0:
            cost, grown = next(moved)
            offsets.append(grown)
        else:
            cost = rim.cost
            offsets.append(median(((rim.points - rim.base) * rim.normals).sum(axis=1)))
        logs.append(float(np.log(np.mean(np.minimum(cost, 6 * median(cost))))))
        weights.append(float(np.hypot(*np.diff(course.chain, axis=0, append=course.chain[:1]).T).sum() / block.px) ** 0.5)
    return Judged(np.array(logs), np.array(weights), np.array(offsets))
