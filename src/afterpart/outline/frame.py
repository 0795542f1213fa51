"""The part's own frame: direction, unit system, lattice and scale, found together from all its dimensions.

The direction comes from the edges (or the hole pattern).  In that direction the coordinates of centres, edges and vertices should
fall on one lattice, at a scale near one.  The evidence for each profile and scale is summed over all values (see nominals.py);
the scale's prior is the reference's uncertainty widened by a moulding's, with a small share for uncorrected shrinkage.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.outline.evidence import Values, family_evidence
from afterpart.outline.nominals import PROFILES, Profile, lattice_evidence

FAR_BEHIND = 30.0
"""A family whose log evidence stays so far below the best score at every scale weighs 3e-7 beside it (at SYSTEM_WEIGHT), and what
single precision errs by changes that by less than 1e-8."""

NO_WEIGHT = 32.0
"""A scale so far below the best one in log evidence weighs 1e-14, and what single precision errs by changes the last digit of
nothing."""

FEW = 22
"""With fewer values than this most scales stay likely, and a look in single precision saves nothing (measured)."""

MUCH, ONE_IN = 20_000, 8
"""Where coordinates times scales are more than MUCH, one scale in ONE_IN is looked at first: where most of these stay likely, a
look at all of them in single precision saves nothing."""

SHRINKAGE_SHARE = 0.25
"""Prior share of parts smaller than their drawing by an uncorrected moulding shrinkage, 0.2 to 1.2 %."""


LEAST_MARGIN = -0.7
"""Log odds of a lattice over "no lattice" below which the part is taken to have none (parts of invented drawings: above 0; parts
with free sizes: below -2)."""

NO_LATTICE_ODDS = 0.33
"""Prior odds of a part without any lattice."""

UNKNOWN_FREE = 0.8
"""Share of free values in a part that shows no lattice."""

INCH_UNTIL, OLD_INCH_ODDS = 1970, 4.0
"""Parts drawn before that year are so much oftener in inches (judgement: the trade changed over country by country)."""

SYSTEM_WEIGHT = 0.5
"""What the evidence for a unit system counts: rows, equal sizes and fillets repeat one decision (judgement)."""

PRIOR_COUNT = 8.0
"""Weight of a profile's own shares against those the part shows, in values."""

MISTAKEN, MISTAKEN_RANGE = 0.02, 10.0
"""Share of fixed design values that are mistaken, and over how many mm (judgement)."""


@dataclass(frozen=True)
class Lattice:
    """profile: with the shares this part shows; free: share of its values without a nominal; scale: true size over measured;
    scale_u: its standard uncertainty, relative; phase_x, phase_y: place of the lattice's origin in scaled coordinates;
    evidence: log likelihood of the best profile; margin: how far above "no lattice at all"; probability: that there is one."""

    profile: Profile
    free: float
    scale: float
    scale_u: float
    phase_x: float
    phase_y: float
    evidence: float
    margin: float
    probability: float


def find_lattice(values: Values, relative_u: float, free: float, origin: str, drawn: int | None = None,
                 least_margin: float = -math.inf) -> Lattice:
    """The most probable profile, scale and phases.  origin: metric | inch | unknown; drawn: year or None; least_margin: what does
    not come so far above "no lattice" is found roughly only, its margin below that too."""
    by_age = math.log(OLD_INCH_ODDS) if drawn is not None and drawn < INCH_UNTIL else 0.0
    grid, log_prior = _scales(values, relative_u)
    log_prior = log_prior + _scale_told(values, grid) if values.known else log_prior
    best: tuple[float, Profile, int, np.ndarray] | None = None
    none = _log_sum(log_prior) - math.log(len(grid))
    scores: list[tuple[str, float]] = []
    for profiles in _families(origin):
        # a score is no larger than what is most likely at any scale; single precision errs by less than 0.01 there
        enough = max(best[0] - FAR_BEHIND if best else -math.inf, none + least_margin - by_age - 0.01)
        totals = _totals(values, grid, log_prior, profiles, free, enough)
        for profile, evidence in zip(profiles, totals, strict=True):
            total = log_prior + profile.log_prior + (by_age if profile.system == "inch" else 0.0) + evidence
            score = float(_log_sum(total) - math.log(len(grid)))
            scores.append((profile.system, score))
            if best is None or score > best[0]:
                best = score, profile, int(np.argmax(total)), total
    assert best is not None
    score, profile, top, total = best
    weight = np.exp(total - total.max())
    weight /= weight.sum()
    # counted in steps: a difference of scales would leave it to rounding whether the twelfth counts
    near = np.abs(np.arange(len(grid)) - top) < 12
    mean = float((weight * grid)[near].sum() / weight[near].sum())
    spread = math.sqrt(float((weight * (grid - mean) ** 2)[near].sum() / weight[near].sum()))
    scale = 1.0 + mean
    shares = np.array(profile.shares)
    phase_x = _phase(values.x * scale, values.x_u, profile, shares, free)
    phase_y = _phase(values.y * scale, values.y_u, profile, shares, free)
    margin = score - none
    if margin < LEAST_MARGIN:
        return Lattice(
            _watered(profile, UNKNOWN_FREE), UNKNOWN_FREE, 1.0, relative_u, phase_x / scale, phase_y / scale, none, margin, 1.0
        )
    profile, free = _shares_shown(values, scale, phase_x, phase_y, profile, free)
    return Lattice(
        profile,
        free,
        scale,
        max(spread, 2e-5),
        phase_x,
        phase_y,
        score,
        margin,
        _share_of_system(profile.system, scores) / (1.0 + NO_LATTICE_ODDS * math.exp(-min(margin, 50.0))),
    )


def _families(origin: str) -> list[list[Profile]]:
    """The profiles that may be meant, those that count in the same steps together."""
    found: dict[tuple[float, ...], list[Profile]] = {}
    for profile in PROFILES:
        if origin not in ("metric", "inch") or profile.system == origin:
            found.setdefault(profile.steps, []).append(profile)
    return list(found.values())


def _totals(values: Values, grid: np.ndarray, log_prior: np.ndarray, profiles: list[Profile], free: float,
            enough: float) -> np.ndarray:
    """(profiles, scales) log evidence of one family: in single precision at first, then in double precision at the scales that
    can matter, and nowhere where none comes near `enough`."""
    steps, shares, scales = profiles[0].steps, np.array([profile.shares for profile in profiles]), 1.0 + grid
    if enough == -math.inf and len(values.x) + len(values.y) + len(values.sizes) < FEW:
        return family_evidence(values, scales, steps, shares, free, np.float64)
    if (len(values.x) + len(values.y)) * len(grid) > MUCH:
        some = slice(None, None, ONE_IN)
        likely = (family_evidence(values, scales[some], steps, shares, free, np.float32) + log_prior[some]).max(axis=0)
        if likely.max() >= enough and np.mean(likely > likely.max() - NO_WEIGHT) > 0.5:
            return family_evidence(values, scales, steps, shares, free, np.float64)
    found = family_evidence(values, scales, steps, shares, free, np.float32)
    likely = (found + log_prior).max(axis=0)
    if likely.max() < enough:
        return found
    near = likely > likely.max() - NO_WEIGHT
    found[:, near] = family_evidence(values, scales[near], steps, shares, free, np.float64)
    return found


def _share_of_system(system: str, scores: list[tuple[str, float]]) -> float:
    """Probability of one unit system among the profiles' log evidences, tempered: values of one part are not independent."""
    tempered = np.array([SYSTEM_WEIGHT * score for _, score in scores])
    own = np.array([name == system for name, _ in scores])
    weights = np.exp(tempered - tempered.max())
    return min(float(weights[own].sum() / weights.sum()), 1.0)  # two orders of adding up one row may part in the last digit


def _watered(profile: Profile, free: float) -> Profile:
    """The profile with only 1 - free left to its lattices."""
    total = sum(profile.shares)
    return replace(profile, shares=tuple((1.0 - free) * share / total for share in profile.shares))


def _shares_shown(
    values: Values, scale: float, phase_x: float, phase_y: float, profile: Profile, free: float
) -> tuple[Profile, float]:
    """Shares of the lattices and of free values that this part's own values show, the profile's counting as PRIOR_COUNT values.

    Expectation-maximisation of the mixture of lattices and "anywhere"; a few rounds are enough.
    """
    steps = np.array(profile.steps)
    ratios = np.concatenate(
        [
            lattice_evidence(values.x * scale - phase_x, values.x_u, steps),
            lattice_evidence(values.y * scale - phase_y, values.y_u, steps),
            lattice_evidence(values.sizes * scale, values.sizes_u, steps),
        ]
    )
    ratios = np.column_stack((ratios, np.ones(len(ratios))))
    prior = np.array([*profile.shares, free])
    prior /= prior.sum()
    shares = prior
    for _ in range(12):
        belongs = ratios * shares
        belongs /= belongs.sum(axis=1, keepdims=True)
        shares = (PRIOR_COUNT * prior + belongs.sum(axis=0)) / (PRIOR_COUNT + len(ratios))
    return replace(profile, shares=tuple(float(v) for v in shares[:-1])), float(shares[-1])


def _scales(values: Values, relative_u: float) -> tuple[np.ndarray, np.ndarray]:
    """Relative corrections of the scale to try, and their log prior."""
    u = max(relative_u, 1e-5)
    extent = max(
        float(np.ptp(values.x)) if len(values.x) else 0.0,
        float(np.ptp(values.y)) if len(values.y) else 0.0,
        float(values.sizes.max()) if len(values.sizes) else 0.0,
        1.0,
    )
    finest = 0.5 * min([0.02, *values.x_u.tolist(), *values.y_u.tolist()]) / extent
    low, high = -4.0 * u, max(4.0 * u, 0.014)
    count = int(min(900, max(41, (high - low) / max(finest, 1e-6))))
    grid = np.linspace(low, high, count)
    main = (1.0 - SHRINKAGE_SHARE) * np.exp(-0.5 * (grid / u) ** 2) / (u * math.sqrt(2.0 * math.pi))
    shrunk = np.where((grid > 0.002) & (grid < 0.012), SHRINKAGE_SHARE / 0.010, 1e-9)
    density = main + shrunk
    return grid, np.log(density * (grid[1] - grid[0]) * count)


def _scale_told(values: Values, grid: np.ndarray) -> np.ndarray:
    """Log likelihood of each scale by the sizes whose design value is known; a share of them is mistaken and says nothing."""
    total = np.zeros(len(grid))
    for measured, u, value in values.known:
        z = (value - (1.0 + grid) * measured) / u
        total += np.log((1.0 - MISTAKEN) * np.exp(-0.5 * z * z) / (u * math.sqrt(2.0 * math.pi)) + MISTAKEN / MISTAKEN_RANGE)
    return total


def _phase(values: np.ndarray, u: np.ndarray, profile: Profile, shares: np.ndarray, free: float) -> float:
    """Place of the lattice's origin: the anchor on which most values agree, made better by their mean remainder."""
    if not len(values):
        return 0.0
    steps = np.array(profile.steps)
    ratios = lattice_evidence(values - values[:, None], np.hypot(u, u.min()), steps)
    phase = float(values[np.argmax(np.log(free + ratios @ shares).sum(axis=1))])
    for _ in range(3):
        ratios = lattice_evidence(values - phase, u, steps) * shares
        step = steps[np.argmax(ratios, axis=1)]
        off = (values - phase) - np.round((values - phase) / step) * step
        good = (ratios.max(axis=1) > 2.0 * free) & (np.abs(off) < 3.0 * u + 0.02)
        if not good.any():
            break
        phase += float(np.average(off[good], weights=u[good] ** -2))
    return phase


def _log_sum(logs: np.ndarray) -> float:
    top = float(logs.max())
    return top + math.log(float(np.exp(logs - top).sum()))
