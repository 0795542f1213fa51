"""A robust loop that knows nothing about curves: fit, look at the residuals, weigh them down, fit again.

The weights are those of a Student distribution (few degrees of freedom): small residuals keep their weight, an outlying
stretch loses it smoothly.  The same function prices residuals when models are compared.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeVar

import numpy as np

Fit = TypeVar("Fit")

MAD_TO_SD = 1.4826
"""Standard deviation of a normal distribution over its median absolute deviation."""


def median(values: np.ndarray) -> float:
    """Median of values (n,), n > 0, none of which is nan: numpy's own, without what that spends on being general."""
    half = len(values) // 2
    if len(values) % 2:
        return float(np.partition(values, half)[half])
    below, above = np.partition(values, (half - 1, half))[half - 1:half + 1]
    return float((below + above) / 2)


def spread(residuals: np.ndarray) -> float:
    """Standard deviation estimated from the median absolute residual (about zero)."""
    return MAD_TO_SD * median(np.abs(residuals))


def student_weights(z: np.ndarray, freedom: float = 4.0) -> np.ndarray:
    """Weight of a standardised residual: (v + 1) / (v + z2), scaled to 1 at z = 0."""
    return np.asarray(freedom / (freedom + z * z))


def mixture_price(residuals: np.ndarray, noise: float, bad_share: float, bad_spread: float) -> np.ndarray:
    """Minus twice the log likelihood of residuals, zero at zero, when a share of them are bad with a larger spread.

    -2 ln(exp(-e2 / 2 s2) + (b s / S) exp(-e2 / 2 S2)): the square of e / s up to a few s, then a slow rise with (e / S)2.
    A bad stretch is cheap, a feature of the part (much larger than S) is not.
    """
    spread_ratio = bad_share * noise / max(bad_spread, noise)
    good, bad = -0.5 * (residuals / noise) ** 2, math.log(spread_ratio) - 0.5 * (residuals / max(bad_spread, noise)) ** 2
    return -2.0 * np.logaddexp(good, bad) + 2.0 * math.log1p(spread_ratio)


def mixture_weights(residuals: np.ndarray, noise: float, bad_share: float, bad_spread: float) -> np.ndarray:
    """Weight of each residual in the least-squares step of that mixture: (probability that it is good) + s2 / S2 of the rest.

    Falls to nearly nothing beyond a few s, so it needs a good start (student_weights give one).
    """
    ratio = max(bad_spread, noise) / noise
    odds = np.exp(np.clip(0.5 * (residuals / noise) ** 2 * (1.0 - ratio**-2), 0.0, 60.0)) * bad_share / ratio
    good = 1.0 / (1.0 + odds)
    return good + (1.0 - good) / ratio**2


def fit_robust(
    fit: Callable[[np.ndarray], Fit],
    residuals_of: Callable[[Fit], np.ndarray],
    u: np.ndarray,
    *,
    freedom: float = 4.0,
    rounds: int = 20,
    tolerance: float = 1e-4,
) -> tuple[Fit, np.ndarray]:
    """Fit with weights until they settle; gives the fit and the robust factors (n,) in (0, 1].

    fit: takes weights (n,) = factor / u2 and gives a fit; residuals_of: gives its signed residuals (n,).
    The residuals are standardised by the larger of u and what their own spread shows (u may be too small, never too large).
    """
    factor = np.ones(len(u))
    result = fit(factor / u**2)
    for _ in range(rounds):
        ratio = residuals_of(result) / u
        new = student_weights(ratio / max(1.0, spread(ratio)), freedom)
        if float(np.abs(new - factor).max()) < tolerance:
            break
        factor = new
        result = fit(factor / u**2)
    return result, factor
