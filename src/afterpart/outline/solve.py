"""Least squares with exact equations: a measured state with its covariance, and quantities held at values.

Two verbs.  `condition` takes one linearised observation into a state (Kalman's formula), exact or with an uncertainty of its own.
`close` finds the state nearest to the measured one (in its own covariance) at which all held quantities have their values, to
the last digits, and tells what is left.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
from scipy.sparse import csr_array

from afterpart.outline.quantities import Held, Together

NEARLY_CLOSED = 1e-7
"""Gaps below this (mm or radians) that no longer shrink are rounding's."""

STILL = 1e-10
"""A state that moves less than this (mm or radians) and is not closed will not be: what is held does not fit together."""

RANK = 1e-11
"""Directions that the held values tell by less than this share of the best told one are left as they are."""

WELL_KNOWN = 1e9
"""With a ratio of the best to the least told direction below this, none is left out; those that follow from one another make it
1e15 and more (the examples and plates: below 1e7 or above 1e15)."""

MANY = 20000
"""Slopes of more numbers than this are taken as sparse: each held value hangs on few of the state's."""


def condition(
    state: np.ndarray, covariance: np.ndarray, slope: np.ndarray, miss: float, u: float
) -> tuple[np.ndarray, np.ndarray]:
    """State (k, 3) and covariance (3k, 3k) after an observation: slope . change = miss, with standard uncertainty u."""
    own = np.flatnonzero(slope)
    reach = covariance[:, own] @ slope[own]
    gain = reach / (float(slope @ reach) + u * u + 1e-18)
    after = np.multiply.outer(gain, reach)
    return state + (gain * miss).reshape(state.shape), np.subtract(covariance, after, out=after)


def close(is_arc: np.ndarray, measured: np.ndarray, covariance: np.ndarray, held: list[Held]) -> tuple[np.ndarray, float]:
    """The nearest state at which every held quantity has its value; also the largest gap left (mm or radians)."""
    if not held:
        return measured.copy(), 0.0
    state = measured.copy()
    together, wanted = Together([item.quantity for item in held], is_arc), np.array([item.value for item in held])
    last, only_gaps = math.inf, False
    for turn in range(25):
        values, full = together.read(state)
        gap = wanted - values
        worst = float(np.abs(gap).max())
        if worst < 1e-11:
            break
        # from the measured state digits are lost: what little is left is closed from where it stands
        only_gaps = only_gaps or turn >= 12 or 0.5 * last < worst < NEARLY_CLOSED
        last = worst
        slopes = csr_array(full) if full.size > MANY else full
        reach = slopes @ covariance
        system = reach @ slopes.T
        weight = 1.0 / np.sqrt(np.maximum(np.diag(system), 1e-24))
        factor = _inverse(system * weight[:, None] * weight[None, :])
        before = state
        if not only_gaps:
            target = gap + slopes @ (state - measured).ravel()
            state = measured + (reach.T @ (weight * (factor @ (weight * target)))).reshape(measured.shape)
        else:
            state = state + (reach.T @ (weight * (factor @ (weight * gap)))).reshape(measured.shape)
            if worst > NEARLY_CLOSED and float(np.abs(state - before).max()) < STILL:
                break
    return state, float(np.abs(gap).max())


def _inverse(system: np.ndarray) -> np.ndarray:
    """The inverse of a symmetric system of unit diagonal, without the directions it does not know.  Where it knows them all, that
    is its plain inverse, at a tenth of the time."""
    try:
        inverse = np.linalg.inv(system)
    except np.linalg.LinAlgError:
        return np.linalg.pinv(system, rcond=RANK, hermitian=True)
    # of a symmetric matrix the largest eigenvalue is no larger than the largest sum of a row
    if float(np.abs(system).sum(axis=1).max()) * float(np.abs(inverse).sum(axis=1).max()) < WELL_KNOWN:
        return inverse
    return np.linalg.pinv(system, rcond=RANK, hermitian=True)
