"""How evenly a thin washer spreads the load on plastic.

Words: the *overhang* is the part of the washer outside the head; the *peak* is the greatest bearing stress, at the head's edge,
over the even one.
Book letters: h washer thickness, c overhang [mm], D = E h^3 / (12 (1 - nu^2)) its rigidity [N mm], k = E_p / t bedding of a
plastic layer of thickness t [N/mm3], lambda = (k / 4 D)^(1/4) [1/mm].
Limits: the overhang is taken as a strip, held level by the head at its inner edge and free at its rim (a ring is stiffer); the
plastic as a bed of springs.  Elastic: a soft plastic that creeps evens out further.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.sources import Source
from afterpart.standards.fasteners import STEEL_MODULUS

BED_SOURCE = Source("M. Hetenyi, Beams on Elastic Foundation", "1946",
                    "strip level at one end, free at the other; derived here from it", from_memory=True)

POISSON_STEEL = 0.3


def washer_lambda(thickness: float, plastic_modulus: float, plastic_thickness: float) -> float:
    """lambda = (k / 4 D)^(1/4) of a steel washer on a plastic layer, 1/mm."""
    rigidity = STEEL_MODULUS * thickness**3 / (12.0 * (1.0 - POISSON_STEEL**2))
    return (plastic_modulus / plastic_thickness / (4.0 * rigidity)) ** 0.25


def overhang_mean(lambda_c: float) -> float:
    """Mean stress under the overhang over that at the head's edge, for lambda c.

    From the free rim, z = lambda times the distance to it:
        w = F1 - r F2,   F1 = cosh z cos z,   F2 = (cosh z sin z + sinh z cos z) / 2,
    r so that the slope is zero at z = lambda c.  Source: BED_SOURCE.
    """
    z = lambda_c
    if z < 1e-3:
        return 1.0
    ch, sh, c, s = math.cosh(z), math.sinh(z), math.cos(z), math.sin(z)
    r = (sh * c - ch * s) / (ch * c)
    edge = ch * c - r * (ch * s + sh * c) / 2.0
    return ((sh * c + ch * s) / 2.0 - r * sh * s / 2.0) / (z * edge)


def washer_peak(head_bearing: float, washer_outside: float, hole: float, lambda_per_mm: float) -> float:
    """Peak over even bearing stress under a washer: whole area over (area under the head + mean share of the overhang).

    1 for a washer no wider than the head's bearing face.  Raises ValueError when the hole is as wide as the head.
    """
    if not head_bearing > hole:
        raise ValueError(f"the head must be wider than the hole, found {head_bearing:g} mm on a hole of {hole:g} mm")
    if washer_outside <= head_bearing:
        return 1.0
    share = overhang_mean(lambda_per_mm * (washer_outside - head_bearing) / 2.0)
    whole, under = washer_outside**2 - hole**2, head_bearing**2 - hole**2
    return whole / (under + share * (whole - under))
