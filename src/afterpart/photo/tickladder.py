"""Which graduations of a rule are longer (or heavier) than the rest, and what that says about its unit.

Millimetre rules lengthen every 5th and 10th graduation, inch rules every 2nd, 4th, 8th ..: enough to notice a mis-stated rule.
Limits: a rule of half millimetres shows both a step of 2 and steps of 10; the multiple of five decides.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

STEPS = (2, 4, 5, 8, 10, 16, 20, 32, 50, 64)


def read_ladder(index: np.ndarray, length: np.ndarray) -> tuple[str, int]:
    """("decimal" | "binary" | "unknown", largest recognised step between longer ticks).

    index, length: (n,) numbers of the ticks and their lengths, or whatever marks them.
    A step m is recognised when the ticks of one phase modulo m are longer than all but a few of the rest."""
    typical = float(np.median(length))
    steps = []
    for m in STEPS:
        if np.ptp(index) < 2 * m:
            break
        phase = index % m
        count = np.bincount(phase, minlength=m)
        mean = np.bincount(phase, weights=length, minlength=m) / np.maximum(count, 1)
        best = int(np.argmax(np.where(count >= 2, mean, 0.0)))
        own, rest = length[phase == best], length[phase != best]
        # its own ticks stand out from all of the others (a longer step shows up as a multiple of its own)
        apart = np.quantile(own, 0.15) - np.quantile(rest, 1 - 0.5 / m)
        if len(own) >= 2 and len(rest) >= 2 and apart > 0.05 * typical and np.median(own) - np.median(rest) > 0.12 * typical:
            steps.append(m)
    if not steps:
        return "unknown", 0
    if any(m % 5 == 0 for m in steps):
        return "decimal", max(m for m in steps if m % 5 == 0)
    return "binary", max(steps)
