"""How far a thread-forming screw may be turned after its head touches.

Words: *snug* is where the head has just closed the gap; the *angle after snug* is turned on from there; *stiffness* is that of
the screw and of the plastic under its head, in series.
Book letters: P pitch, A areas, l lengths [mm], k stiffness [N/mm], F force [N].
Limits: upper bounds.  Roughness, seating and the give of the formed thread take up part of the angle, so that the true force is
smaller; how much smaller is not known, which is why the angle is bounded from the safe side.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.formulas.bolted import bolt_stiffness, part_stiffness
from afterpart.formulas.screws import force_after_snug
from afterpart.sources import Source

STRAINED_SOURCE = Source("VDI 2230 part 1, Systematic calculation of highly stressed bolted joints",
                         place="half the diameter of engaged thread strains along", from_memory=True)

EIGHTH_DEG = 45.0
"""The usual eighth of a turn after snug."""

HAND_DEG = 5.0
"""The smallest turn a hand can give and see, degrees (judgement)."""

ENGAGED_SHARE = 0.5
"""Length of engaged thread that strains with the free shank, in outside diameters (STRAINED_SOURCE)."""


def screw_stiffness(outside: float, core: float, plate: float) -> float:
    """k = (pi / 4) d3^2 E / (l + d / 2) of a steel screw through a plate of thickness l, N/mm."""
    return bolt_stiffness(math.pi / 4.0 * core**2, plate + ENGAGED_SHARE * outside)


def turned_force(angle_deg: float, pitch: float, screw_n_per_mm: float, head: float, hole: float, modulus: float,
                 plate: float) -> float:
    """Clamp force (N) of a turn after snug: (angle / 360) P k, 1/k = 1/k_screw + l / (A E) of the plastic under the head."""
    return force_after_snug(angle_deg, pitch, screw_n_per_mm, part_stiffness(head, hole, modulus, plate))


def greatest_angle_deg(force_n: float, pitch: float, *stiffness: float) -> float:
    """Turn after snug (degrees) at which the force reaches force_n: the inverse of `screws.force_after_snug`."""
    return force_n / force_after_snug(1.0, pitch, *stiffness)
