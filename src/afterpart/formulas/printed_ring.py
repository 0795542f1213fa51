"""Force to close a printed ring: a bead with a rounded crown, or a hollow one that bends like an arch.

Words: the *crown* is the rounded top that the other face flattens; a *hollow* ring is an arch open at the foot.
Book letters: r crown radius, delta closing [mm], E modulus [N/mm2], R mean radius of the arch, t its wall [mm], I = t^3 / 12 per
length [mm3], f force per length [N/mm].
Limits: small closing (`CLOSING_RANGE`); friction, the foot and any flat on the crown are left out, the arch is thin and its feet
may spread.  Good to a factor of about two either way (`FORCE_BAND` of formulas/seal.py); the first test print knows better.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.formulas.seal import closing_force
from afterpart.sources import Source
from afterpart.standards.table import Range

BEAD_SOURCE = Source("Half of Lindley's cord",
                     place="a crown of radius r closed by delta is, by symmetry, a cord of 2 r closed by 2 delta",
                     from_memory=True)
ARCH_SOURCE = Source("Roark's Formulas for Stress and Strain, thin ring under two opposite loads",
                     place="(pi / 4 - 2 / pi) W R^3 / (E I); half of it for the arch", from_memory=True)

CLOSING_RANGE = Range(0.0, 0.35, "of the crown's or the arch's radius")

RING_FACTOR = math.pi / 4.0 - 2.0 / math.pi
"""0.1488: shortening of the loaded diameter of a thin ring in W R^3 / (E I)."""


def bead_force(crown_radius: float, closing: float, modulus: float) -> float:
    """Force per length to close a bead by `closing`, N/mm: Lindley's for d = 2 r and C = delta / r.  Source: BEAD_SOURCE.

    modulus: from the hardness (formulas/gasket.py).  Raises ValueError for no radius; 0 for no closing.
    """
    return closing_force(2.0 * crown_radius, closing / crown_radius if crown_radius > 0.0 else 0.0, modulus)


def arch_force(mean_radius: float, wall: float, closing: float, modulus: float) -> float:
    """Force per length to close a hollow ring by `closing`, N/mm: f = 2 delta E I / (0.1488 R^3).  Source: ARCH_SOURCE.

    The upper half of a ring gives by half of what the ring does.  Raises ValueError for sizes of 0 or less.
    """
    if not (mean_radius > 0.0 and wall > 0.0):
        raise ValueError(f"radius and wall must be more than 0 mm, found {mean_radius!r} and {wall!r}")
    return 2.0 * max(closing, 0.0) * modulus * wall**3 / 12.0 / (RING_FACTOR * mean_radius**3)
