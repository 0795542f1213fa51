"""Friction that keeps a bolted face from slipping: below it no bolt turns itself loose by transverse strokes.

Book letters: F loads [N], mu friction of the faces, n number of bolts, S reserve.
Limits: all bolts alike, and their friction added up; a load that turns the cover about one of them is not told.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations


def slip_load(count: float, least_n: float, kept: float, seal_n: float, friction: float) -> float:
    """F_slip = mu (n F_least r - F_seal), N: what the faces hold across by friction after relaxation (r) to the share kept.

    What the seal pushes apart presses no face; where nothing is left, the faces hold nothing."""
    return friction * max(count * least_n * kept - seal_n, 0.0)


def least_load_against_slip(transverse_n: float, reserve: float, count: float, kept: float, seal_n: float,
                            friction: float) -> float:
    """The least clamp load of one bolt, N, at which slip_load is `reserve` times the load across: slip_load turned round."""
    return (reserve * transverse_n / friction + seal_n) / (count * kept)
