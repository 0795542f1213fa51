"""The arithmetic of uncertainty: contributions combined, coverage factors, propagation by slopes and by samples.

Words: *u* is a standard uncertainty, *dof* its degrees of freedom (infinite where it is taken as exactly known); a *coverage
factor* times u is the expanded uncertainty; *slopes* are the sensitivity coefficients, dy/dx.
Conventions: a model is a function of one array x, written with x[0], x[1] ..., that gives a number or an array of them; for
samples it must work on whole arrays, x[0] being all the samples of the first input.  Units are the caller's.
Limits: slopes are taken by central differences, so the model must be smooth over a hundredth of each u; the higher order
terms hold for normal inputs.  Plain numbers: nothing here knows of points or photos.
Sources: JCGM 100:2008 (law of propagation, 5.1 and 5.2; effective degrees of freedom, G.4), JCGM 101:2008 (propagation of
distributions, 7), JCGM 102:2011 (matrix form); all from memory, held against their printed examples in tests/published.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from afterpart.errors import UsageError

Model = Callable[[np.ndarray], "np.ndarray | float"]

STEP = 0.01
"""Half-width of a central difference, in standard uncertainties of the input."""

STEP_OF_EXACT = 6e-6
"""Half-width for an input without uncertainty, relative to its size: the cube root of the floating point step."""

NORMAL_FROM = 1e7
"""From this many degrees of freedom on, Student's distribution is the normal one to better than 1e-6."""


@dataclass(frozen=True)
class Contribution:
    """One line of a budget: what it is, its u (already times the sensitivity coefficient) and the dof of that u."""

    name: str
    u: float
    dof: float = math.inf


@dataclass(frozen=True)
class Spread:
    """What samples of a quantity say: mean, u (standard deviation) and the ends of the interval that covers `probability`.

    Each is an array of the model's own shape, a float for a model of one number.
    """

    mean: np.ndarray | float
    u: np.ndarray | float
    low: np.ndarray | float
    high: np.ndarray | float
    probability: float


def combine(contributions: Iterable[Contribution]) -> tuple[float, float]:
    """Combined u of independent contributions and its effective dof.

        u^2 = sum of u_i^2,   dof = u^4 / sum of (u_i^4 / dof_i)

    Source: JCGM 100:2008, 5.1.2 and G.4.1 (Welch and Satterthwaite).  The dof is not cut down to a whole number.
    Raises UsageError for a negative u or a dof that is not positive.
    """
    lines = list(contributions)
    for line in lines:
        if not (line.u >= 0.0 and math.isfinite(line.u) and line.dof > 0.0):
            raise UsageError(f"{line.name}: found u = {line.u} with {line.dof} degrees of freedom, expected u >= 0 and dof > 0.")
    u = math.sqrt(sum(line.u**2 for line in lines))
    loss = sum((line.u / u) ** 4 / line.dof for line in lines) if u > 0.0 else 0.0
    return u, 1.0 / loss if loss > 0.0 else math.inf


def dof_of_doubt(relative: float) -> float:
    """Degrees of freedom of a u that is itself only known to within `relative` (0.25: to a quarter).

        dof = 1 / (2 relative^2)

    Source: JCGM 100:2008, G.4.2, equation (G.3).  No doubt gives infinity.  Raises UsageError for a negative doubt.
    """
    if relative < 0.0:
        raise UsageError(f"Found a relative doubt of {relative}, expected 0 or more.")
    return 0.5 / relative**2 if relative > 0.0 else math.inf


@lru_cache(maxsize=4096)
def coverage_factor(dof: float, probability: float = 0.95) -> float:
    """How many u make an interval of this probability: Student's t for the dof, both tails alike.

    Source: JCGM 100:2008, G.3 and table G.2.  Any positive dof, whole or not.  Raises UsageError outside its range.
    """
    if not (dof > 0.0 and 0.0 < probability < 1.0):
        raise UsageError(f"Found {dof} degrees of freedom, probability {probability}; expected more than 0, and between 0 and 1.")
    normal = NormalDist().inv_cdf(0.5 + 0.5 * probability)
    if dof >= NORMAL_FROM:
        return normal
    # start: the series in 1 / dof (Abramowitz and Stegun 26.7.5, from memory); then Newton's steps on log(tails) over log(t), a
    # falling, concave curve on which they cannot run away
    z = max(normal, 1e-12)
    size = math.log(z + (z**3 + z) / (4.0 * dof) + (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / (96.0 * dof**2))
    for _ in range(60):
        t = math.exp(size)
        tails = _tails(t, dof)
        step = tails * math.log((1.0 - probability) / tails) / (2.0 * t * _density(t, dof))
        size -= step
        if abs(step) < 1e-10:
            break
    return math.exp(size)


def expanded(contributions: Iterable[Contribution], probability: float = 0.95) -> float:
    """Expanded uncertainty of independent contributions: coverage factor of the effective dof times the combined u."""
    u, dof = combine(contributions)
    return coverage_factor(dof, probability) * u


def slopes(function: Model, values: np.ndarray, u: np.ndarray) -> np.ndarray:
    """Sensitivity coefficients dy/dx at `values` (n,), as (m, n), by central differences over a hundredth of u (n,) each way.

    Source: JCGM 100:2008, 5.1.3.  An input without uncertainty is moved by a small share of its own size instead.
    """
    values, u = np.asarray(values, float), np.asarray(u, float)
    steps = np.where(u > 0.0, STEP * u, STEP_OF_EXACT * np.maximum(np.abs(values), 1e-3))
    columns = []
    for i, step in enumerate(steps):
        # the step the floating point numbers really take
        up, down = values[i] + step, values[i] - step
        columns.append((_at(function, values, i, up) - _at(function, values, i, down)) / (up - down))
    return np.stack(columns, axis=1)


def propagate(function: Model, values: np.ndarray, covariance: np.ndarray, *, second_order: bool = False
              ) -> tuple[np.ndarray, np.ndarray]:
    """Model values (m,) at `values` (n,) and their covariance (m, m), from the covariance (n, n) of the inputs.

        U_y = C U_x C',   C the slopes

    second_order adds the next terms of the series, for each pair of independent unit inputs i, j:
    1/2 (d2f/dxi dxj)^2 + df/dxi d3f/dxi dxj^2; correlated inputs are taken apart into independent ones first.
    Source: JCGM 100:2008, 5.1.2 with its note, 5.2.2; matrix form JCGM 102:2011, 6.2.
    Raises UsageError when the covariance has not the inputs' shape or is not one (not symmetric, a negative variance).
    """
    values = np.asarray(values, float)
    covariance = _checked_covariance(np.asarray(covariance, float), len(values))
    centre = np.atleast_1d(np.asarray(function(values), float))
    matrix = slopes(function, values, np.sqrt(np.diag(covariance)))
    result = matrix @ covariance @ matrix.T
    if second_order:
        unit = _unit_inputs(covariance)
        result = result + _higher_terms(function, values, unit, matrix @ unit)
    return centre, 0.5 * (result + result.T)


def propagate_samples(function: Model, samples: np.ndarray, probability: float = 0.95, *, shortest: bool = False) -> Spread:
    """Mean, u and coverage interval of the model over samples (N, n) of its inputs, one row a trial.

    The interval leaves the same share out at both ends, or is the shortest one.
    Source: JCGM 101:2008, 7.6 (mean and standard deviation, N - 1) and 7.7 (intervals between sorted model values).
    Raises UsageError when there are too few trials for the probability.
    """
    samples = np.asarray(samples, float)
    trials = len(samples)
    if samples.ndim != 2 or not 0.0 < probability < 1.0 or trials * (1.0 - probability) < 1.0:
        raise UsageError(f"Found samples of shape {samples.shape} for a probability of {probability}, expected (trials, inputs) "
                         "with at least 1 / (1 - probability) trials.")
    model = np.asarray(function(samples.T), float)
    rows = np.sort(model, axis=-1)
    inside = int(probability * trials + 0.5)
    if shortest:
        width = rows[..., inside:] - rows[..., : trials - inside]
        first = np.expand_dims(np.argmin(width, axis=-1), -1)
    else:
        first = np.full((*rows.shape[:-1], 1), int((trials - inside) / 2 + 0.5))
    first = np.minimum(first, trials - 1 - inside)
    low, high = (np.take_along_axis(rows, k, axis=-1)[..., 0] for k in (first, first + inside))
    mean, u = model.mean(axis=-1), model.std(axis=-1, ddof=1)
    if model.ndim == 1:
        return Spread(float(mean), float(u), float(low), float(high), probability)
    return Spread(mean, u, low, high, probability)


def _at(function: Model, values: np.ndarray, place: int, value: float) -> np.ndarray:
    moved = values.copy()
    moved[place] = value
    return np.atleast_1d(np.asarray(function(moved), float))


def _checked_covariance(covariance: np.ndarray, count: int) -> np.ndarray:
    if covariance.shape != (count, count):
        raise UsageError(f"Found a covariance of shape {covariance.shape} for {count} inputs, expected ({count}, {count}).")
    size = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    if not np.isfinite(covariance).all() or (np.diag(covariance) < 0.0).any() or (
            np.abs(covariance - covariance.T) > 1e-9 * np.outer(size, size) + 1e-300).any():
        raise UsageError("Found a covariance that is not finite, not symmetric or has a negative variance; expected a true one.")
    return covariance


def _unit_inputs(covariance: np.ndarray) -> np.ndarray:
    """Columns (n, k): what one standard uncertainty of each independent input behind the covariance does to the inputs."""
    size = np.sqrt(np.diag(covariance))
    safe = np.where(size > 0.0, size, 1.0)
    share, turn = np.linalg.eigh(covariance / np.outer(safe, safe))
    keep = share > 1e-12
    return np.asarray(size[:, None] * turn[:, keep] * np.sqrt(share[keep]))


def _higher_terms(function: Model, values: np.ndarray, unit: np.ndarray, first: np.ndarray) -> np.ndarray:
    """The terms after the first of the covariance (m, m): second and third differences over one standard uncertainty.

    unit: columns (n, k) of the independent unit inputs; first: slopes (m, k) along them.
    """
    def f(move: np.ndarray) -> np.ndarray:
        return np.atleast_1d(np.asarray(function(values + unit @ move), float))

    count = unit.shape[1]
    step = np.eye(count)
    centre = f(np.zeros(count))
    total = np.zeros((len(centre), len(centre)))
    for i in range(count):
        for j in range(count):
            if i == j:
                bend = f(step[i]) - 2.0 * centre + f(-step[i])
                third = 0.5 * (f(2 * step[i]) - 2.0 * f(step[i]) + 2.0 * f(-step[i]) - f(-2 * step[i]))
            else:
                pp, pm, mp, mm = (f(a * step[i] + b * step[j]) for a in (1, -1) for b in (1, -1))
                bend = 0.25 * (pp - pm - mp + mm)
                third = 0.5 * ((pp + pm - 2.0 * f(step[i])) - (mp + mm - 2.0 * f(-step[i])))
            total += 0.5 * np.outer(bend, bend) + 0.5 * (np.outer(first[:, i], third) + np.outer(third, first[:, i]))
    return total


def _tails(t: float, dof: float) -> float:
    """Probability that Student's t lies outside -t .. t."""
    return _incomplete_beta(dof / (dof + t * t), t * t / (dof + t * t), 0.5 * dof, 0.5)


def _density(t: float, dof: float) -> float:
    """Density of Student's t."""
    front = math.lgamma(0.5 * dof + 0.5) - math.lgamma(0.5 * dof) - 0.5 * math.log(math.pi * dof)
    return math.exp(front - 0.5 * (dof + 1.0) * math.log1p(t * t / dof))


def _incomplete_beta(x: float, rest: float, a: float, b: float) -> float:
    """Regularised incomplete beta function I_x(a, b); rest = 1 - x, handed in so that no digits are lost.

    Continued fraction by Lentz' method, from whichever end it converges (Abramowitz and Stegun 26.5.8, from memory).
    """
    if x <= 0.0 or rest <= 0.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _incomplete_beta(rest, x, b, a)
    log_x = math.log(x) if x < 0.5 else math.log1p(-rest)
    log_rest = math.log(rest) if rest < 0.5 else math.log1p(-x)
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * log_x + b * log_rest)
    tiny = 1e-300
    c, d = 1.0, 1.0 / max(1.0 - (a + b) * x / (a + 1.0), tiny)
    value = d
    for m in range(1, 20000):
        twice = a + 2 * m
        for term in (m * (b - m) * x / ((twice - 1) * twice), -(a + m) * (a + b + m) * x / (twice * (twice + 1))):
            d = 1.0 + term * d
            d = 1.0 / (d if abs(d) > tiny else tiny)
            c = 1.0 + term / c
            c = c if abs(c) > tiny else tiny
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return front * value / a
