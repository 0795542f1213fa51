"""Least squares with exact equations: a measured state with its covariance, and quantities held at values.

Two verbs.  `condition` takes one linearised observation into a state (Kalman's formula), exact or with an uncertainty of its own.
`close` finds the state nearest to the measured one (in its own covariance) at which all held quantities have their values, to
the last digits, and tells what is left.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.outline.quantities import Held, gradient

NEARLY_CLOSED = 1e-7
"""Gaps below this (mm or radians) that no longer shrink are rounding's."""

STILL = 1e-10
"""A state that moves less than this (mm or radians) and is not closed will not be: what is held does not fit together."""


def condition(
    state: np.ndarray, covariance: np.ndarray, slope: np.ndarray, miss: float, u: float
) -> tuple[np.ndarray, np.ndarray]:
    """State (k, 3) and covariance (3k, 3k) after an observation: slope . change = miss, with standard uncertainty u."""
    own = np.flatnonzero(slope)
    reach = covariance[:, own] @ slope[own]
    gain = reach / (float(slope @ reach) + u * u + 1e-18)
    return state + (gain * miss).reshape(state.shape), covariance - np.outer(gain, reach)


def close(is_arc: np.ndarray, measured: np.ndarray, covariance: np.ndarray, held: list[Held]) -> tuple[np.ndarray, float]:
    """The nearest state at which every held quantity has its value; also the largest gap left (mm or radians)."""
    if not held:
        return measured.copy(), 0.0
    state = measured.copy()
    gap = np.zeros(len(held))
    last, only_gaps = math.inf, False
    for turn in range(25):
        slopes = np.empty((len(held), measured.size))
        for i, item in enumerate(held):
            value, slopes[i] = gradient(item.quantity, is_arc, state)
            gap[i] = item.value - value
        worst = float(np.abs(gap).max())
        if worst < 1e-11:
            break
        # from the measured state digits are lost: what little is left is closed from where it stands
        only_gaps = only_gaps or turn >= 12 or 0.5 * last < worst < NEARLY_CLOSED
        last = worst
        shift = (state - measured).ravel()
        reach = slopes @ covariance
        system = reach @ slopes.T
        target = gap + slopes @ shift
        weight = 1.0 / np.sqrt(np.maximum(np.diag(system), 1e-24))
        factor = np.linalg.pinv(system * weight[:, None] * weight[None, :], rcond=1e-11, hermitian=True)
        before = state
        if not only_gaps:
            state = measured + (reach.T @ (weight * (factor @ (weight * target)))).reshape(measured.shape)
        else:
            state = state + (reach.T @ (weight * (factor @ (weight * gap)))).reshape(measured.shape)
            if worst > NEARLY_CLOSED and float(np.abs(state - before).max()) < STILL:
                break
    return state, float(np.abs(gap).max())
