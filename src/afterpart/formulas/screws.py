"""Screws that form their own thread, and the torque at which any screw breaks.

Words: *engagement* is the share of the thread's height that the pilot hole leaves to form; *driving*, *stripping* and
*breaking torque* form the thread, tear it out, break the screw; an *angle after snug* turns the screw on from where its head
touches.
Book letters: d outside, d3 core, d_p pilot diameter, P pitch, L engagement length [mm]; alpha half the flank angle; mu friction;
tau shear strength [N/mm2]; D_Km mean diameter under the head.
Limits: torques of a printed thread are never quoted as such: absolute values depend on plastic, printer and speed, so that
only ratios between pilots are given (calibrate them with a hole coupon).  **ISO metric pitch is not assumed**: pitch and core
come from the screw (calliper over ten threads).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.fasteners import TORSION_SOURCE, Bolt, PropertyClass, stainless_breaking_torque_n_m
from afterpart.standards.thread_forming import SEATING_SHARE
from afterpart.words import tell

FORMED_FLANK_SOURCE = Source("Friction on formed flanks in proportion to their area; own derivation, to be calibrated by coupon",
                             from_memory=True)
STRIP_SOURCE = Source("Shear of the plastic at the outside diameter of a formed thread", place="tau pi d L eta", from_memory=True)

SHEAR_OF_YIELD = 0.577
"""Shear over tensile yield (distortion energy)."""

LAND_SHARE = 0.75
"""Share of the shear cylinder that carries, eta (from memory)."""

BREAKING_SOURCE = TORSION_SOURCE


@dataclass(frozen=True)
class FormedThread:
    """A screw in its hole: outside, core, pitch, pilot, engagement length; bearing: mean diameter under the head, all mm."""

    outside: float
    core: float
    pitch: float
    pilot: float
    engagement: float
    bearing: float


@dataclass(frozen=True)
class FormingWindow:
    """Seating torque from low to high (N m), when works; why says what closes it, or what sets its upper end."""

    low_n_m: float
    high_n_m: float
    works: bool
    why: str


def thread_engagement(outside: float, core: float, pilot: float) -> float:
    """Share of the thread height formed: (d - d_p) / (d - d3).  1: pilot at the core; 0 or less: no thread at all."""
    if not outside > core > 0.0:
        raise ValueError(f"the outside diameter must exceed the core, found {outside!r} and {core!r}")
    return (outside - pilot) / (outside - core)


def driving_ratio(outside: float, pilot: float, other_pilot: float) -> float:
    """Driving torque with `other_pilot` over that with `pilot`, other things equal: (d^2 - d_p'^2) / (d^2 - d_p^2).

    Flank area per length goes with d^2 - d_p^2.  Source: FORMED_FLANK_SOURCE.
    """
    if not 0.0 < pilot < outside:
        raise ValueError(f"the pilot must be smaller than the screw, found {pilot!r} and {outside!r}")
    return max(outside**2 - other_pilot**2, 0.0) / (outside**2 - pilot**2)


def stripping_ratio(outside: float, core: float, pilot: float, other_pilot: float) -> float:
    """Strength of the formed thread with `other_pilot` over that with `pilot`: the engagements' ratio (judgement: straight)."""
    here = thread_engagement(outside, core, pilot)
    if not here > 0.0:
        raise ValueError(f"no thread forms in a pilot of {pilot:g} mm: the pilot must be smaller than {outside:g} mm")
    return max(min(thread_engagement(outside, core, other_pilot), 1.0), 0.0) / min(here, 1.0)


def stripping_force(outside: float, engagement: float, shear_strength: float, land_share: float = LAND_SHARE) -> float:
    """Pull that strips the thread, N: F = tau pi d L eta.  shear_strength N/mm2, across layers if they lie so."""
    return shear_strength * math.pi * outside * engagement * land_share


def shear_strength(yield_stress: float, interlayer_factor: float = 1.0) -> float:
    """tau = 0.577 sigma_y, times the strength across layers over that along them, N/mm2."""
    return SHEAR_OF_YIELD * yield_stress * interlayer_factor


def torque_for_force(thread: FormedThread, force_n: float, friction: float) -> float:
    """Torque (N m) that holds a clamp force in a thread of 60 degrees: F [P / 2 pi + mu d2 / (2 cos 30) + mu D_Km / 2].

    d2 is taken as the mean of outside and core.  Source: usual screw statics (VDI 2230 form).
    """
    d2 = 0.5 * (thread.outside + thread.core)
    arm = thread.pitch / (2.0 * math.pi) + friction * d2 / (2.0 * math.cos(math.radians(30.0))) + friction * thread.bearing / 2.0
    return 1e-3 * force_n * arm


def stripping_torque(thread: FormedThread, strength: float, friction: float) -> float:
    """Torque (N m) at which the thread strips under the head: the torque that holds the stripping force."""
    return torque_for_force(thread, stripping_force(thread.outside, thread.engagement, strength), friction)


def seating_limit(stripping_n_m: float) -> float:
    """Torque (N m) not to pass when seating: 0.7 of the stripping torque (standards.thread_forming.GUIDES_SOURCE)."""
    return SEATING_SHARE * stripping_n_m


def forming_window(driving_n_m: float, stripping_n_m: float, breaking_n_m: float | None) -> FormingWindow:
    """Where to seat: driving < seating <= 0.7 stripping, and stripping < breaking, so that no screw breaks off in its hole.

    Torques (N m) as found with a coupon, or all as ratios to one of them.  breaking_n_m: None where it is not known.
    """
    high = seating_limit(stripping_n_m)
    if breaking_n_m is not None and stripping_n_m >= breaking_n_m:
        return FormingWindow(driving_n_m, high, False, tell("the screw breaks before the thread strips"))
    if driving_n_m >= high:
        why = tell("driving takes more than {seating_share:.0%} of what strips: widen the pilot", seating_share=SEATING_SHARE)
        return FormingWindow(driving_n_m, high, False, why)
    unknown = "" if breaking_n_m is not None else tell("; the screw's breaking torque is not known")
    return FormingWindow(driving_n_m, high, True,
                         tell("{seating_share:.0%} of the stripping torque{unknown}", seating_share=SEATING_SHARE,
                              unknown=unknown))


def breaking_torque(bolt: Bolt, grade: PropertyClass) -> float | None:
    """Least torque (N m) at which a screw breaks: M_B = X R_m pi d3_min^3 / 16; the standard's table for stainless.

    d3_min: core at the 6g lower limit, root rounded.  None for a class the standard does not treat.
    Source: ISO 898-7 (BREAKING_SOURCE), ISO 3506-1.
    """
    if grade.is_stainless:
        return stainless_breaking_torque_n_m(bolt.thread, grade)
    if grade.torsion_ratio is None:
        return None
    return 1e-3 * grade.torsion_ratio * grade.tensile * math.pi * bolt.core_diameter_least**3 / 16.0


def force_after_snug(angle_deg: float, pitch: float, *stiffness: float) -> float:
    """Clamp force (N) gained by turning on: (angle / 360) P k with 1/k the sum of 1/k_i [N/mm] of bolt, part and thread.

    An upper bound: seating, roughness and a formed thread's own give are left out unless their stiffness is given.
    """
    if not stiffness or min(stiffness) <= 0.0:
        raise ValueError(f"every stiffness must be more than 0 N/mm, found {stiffness!r}")
    return angle_deg / 360.0 * pitch / sum(1.0 / k for k in stiffness)
