"""A bolted joint through plastic: torque and clamp load, bearing stress, what is left after years, and the torque that works.

Words: *clamp load* is the force a tightened screw puts on what it holds; *bearing stress* that over the area under the head
or washer; *proof* the load up to which a bolt springs back; a *sleeve* takes the clamp load instead of the plastic.
Book letters: F load [N], d nominal, P pitch, d2 pitch, d3 core, d0 = (d2 + d3) / 2 stress diameter, d_w bearing, d_h hole
diameter [mm], mu_G friction in the thread, mu_K under the head, R_p yield [N/mm2], k stiffness [N/mm].
Limits: coarse threads, static load, dry or oiled steel.  The band of a torque wrench is wide: a factor of almost two between
the least and the greatest clamp load of one torque.  Bearing limits of plastics are from memory; a window that rests on them
is advice to be proven, never a guarantee.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.formulas.screws import breaking_torque
from afterpart.sources import Source
from afterpart.standards.fasteners import STEEL_MODULUS, Bolt, PropertyClass, SleeveSize
from afterpart.standards.friction import TOOL_SCATTER, WRENCH_SCATTER, Friction, friction
from afterpart.standards.materials import Material
from afterpart.words import tell

VDI_2230 = Source("VDI 2230 part 1, Systematic calculation of highly stressed bolted joints",
                  place="tightening torque, assembly load", from_memory=True)
PROOF_SHARE_SOURCE = Source("Suppliers' design guides to compression limiters",
                            place="clamp load about 75 % of the bolt's proof load")
EMBEDDING_SOURCE = Source("Loss of clamp load by embedding in a metal joint", place="about a tenth", from_memory=True)

PROOF_SHARE = 0.75
"""Greatest clamp load over the bolt's proof load (PROOF_SHARE_SOURCE)."""

YIELD_USE = 0.9
"""Share of the yield stress the assembly may use, axial and torsion together (VDI_2230)."""

METAL_RETENTION = 0.9
"""Share of the clamp load that a metal to metal joint keeps (EMBEDDING_SOURCE)."""


@dataclass(frozen=True)
class LoadBand:
    """Clamp load of one torque: least, expected, greatest, N."""

    least_n: float
    expected_n: float
    greatest_n: float


@dataclass(frozen=True)
class TorqueLimits:
    """Torque (N m) from which the needed load stays for good, and up to which nothing is harmed; what sets each.

    greatest_load_n: clamp load the joint may see; least_load_n: load to reach when tightening.  No window when low > high.
    """

    low_n_m: float
    high_n_m: float
    least_load_n: float
    greatest_load_n: float
    low_set_by: str
    high_set_by: str
    from_memory: bool


@dataclass(frozen=True)
class TorqueWindow:
    """Torque from low to high (N m) works; why in words; from_memory: it rests on figures nobody has held against a document."""

    low_n_m: float
    high_n_m: float
    why: str
    from_memory: bool


def torque_of_load(load_n: float, diameter: float, k: float) -> float:
    """T = K F d in N m, d in mm."""
    return 1e-3 * k * load_n * diameter


def load_of_torque(torque_n_m: float, diameter: float, k: float) -> float:
    """F = T / (K d) in N, d in mm."""
    return 1e3 * torque_n_m / (k * diameter)


def vdi_torque(bolt: Bolt, load_n: float, thread_friction: float, head_friction: float, bearing: float, hole: float) -> float:
    """M_A = F [0.16 P + 0.58 d2 mu_G + D_Km mu_K / 2] in N m, with D_Km = (d_w + d_h) / 2.  Source: VDI_2230."""
    mean = 0.5 * (bearing + hole)
    arm = 0.16 * bolt.pitch + 0.58 * bolt.pitch_diameter * thread_friction + 0.5 * mean * head_friction
    return 1e-3 * load_n * arm


def vdi_greatest_load(pitch: float, pitch_diameter: float, core_diameter: float, yield_stress: float, thread_friction: float,
                      use: float = YIELD_USE) -> float:
    """Assembly load (N) at which axial stress and torsion together reach `use` of the yield stress.

        F = use R_p A0 / sqrt(1 + 3 [1.5 (d2 / d0) (P / (pi d2) + 1.155 mu_G)]^2),   d0 = (d2 + d3) / 2

    Source: VDI_2230.
    """
    d0 = 0.5 * (pitch_diameter + core_diameter)
    torsion = 1.5 * pitch_diameter / d0 * (pitch / (math.pi * pitch_diameter) + 1.155 * thread_friction)
    return use * yield_stress * math.pi / 4.0 * d0**2 / math.sqrt(1.0 + 3.0 * torsion**2)


def equivalent_k(bolt: Bolt, friction_coefficient: float, bearing: float, hole: float) -> float:
    """The K of the short form that gives the same torque as the full one with this friction everywhere."""
    return 1e3 * vdi_torque(bolt, 1.0, friction_coefficient, friction_coefficient, bearing, hole) / bolt.nominal


def k_band(state: Friction) -> tuple[float, float]:
    """Least and greatest K a torque wrench really gives: the wider of the state's band with the tool's scatter, and +-30 %."""
    middle = 0.5 * (state.k_low + state.k_high)
    return (min(state.k_low / (1.0 + TOOL_SCATTER), middle / (1.0 + WRENCH_SCATTER)),
            max(state.k_high / (1.0 - TOOL_SCATTER), middle / (1.0 - WRENCH_SCATTER)))


def preload_band(torque_n_m: float, diameter: float, state: Friction | None = None) -> LoadBand:
    """Clamp load of a torque: expected at the middle K, ends at `k_band`.  Without a state: thread as received."""
    state = state or friction()
    low, high = k_band(state)
    return LoadBand(load_of_torque(torque_n_m, diameter, high),
                    load_of_torque(torque_n_m, diameter, 0.5 * (state.k_low + state.k_high)),
                    load_of_torque(torque_n_m, diameter, low))


def proof_load(bolt: Bolt, grade: PropertyClass) -> float:
    """Stress area times proof stress, N (ISO 898-1)."""
    return bolt.stress_area * grade.proof


def bearing_area(outside: float, hole: float) -> float:
    """Ring between what presses and the hole, mm2.  Raises ValueError when the hole is as large as what presses on it."""
    if not outside > hole >= 0.0:
        raise ValueError(f"what presses must be wider than the hole, found {outside:g} mm on a hole of {hole:g} mm")
    return math.pi / 4.0 * (outside**2 - hole**2)


def bearing_stress(load_n: float, outside: float, hole: float) -> float:
    """Clamp load over the bearing area, N/mm2, spread evenly (a thin washer does less well)."""
    return load_n / bearing_area(outside, hole)


def sleeve_stress(load_n: float, sleeve: SleeveSize) -> float:
    """Clamp load over the sleeve's end, N/mm2; to be held against the yield of sleeve and mating part."""
    return bearing_stress(load_n, sleeve.outside, sleeve.inside)


def bolt_stiffness(stress_area: float, length: float, modulus: float = STEEL_MODULUS) -> float:
    """k = A E / l of a bolt's strained length, N/mm."""
    return stress_area * modulus / length


def part_stiffness(outside: float, hole: float, modulus: float, thickness: float) -> float:
    """k = A E / l of the clamped column under what presses, N/mm (a cylinder: the spread of the load is left out)."""
    return bearing_area(outside, hole) * modulus / thickness


def remaining_share(bolt_n_per_mm: float, part_n_per_mm: float, retention: float) -> float:
    """Clamp load after the plastic has crept, over the first: (1/k_b + 1/k_p) / (1/k_b + 1/(retention k_p)).

    retention: creep modulus over the first modulus.  Never below the retention: the bolt's own spring helps.
    """
    if not 0.0 < retention <= 1.0:
        raise ValueError(f"retention must be more than 0 and at most 1, found {retention!r}")
    give = 1.0 / bolt_n_per_mm
    return (give + 1.0 / part_n_per_mm) / (give + 1.0 / (retention * part_n_per_mm))


def torque_limits(bolt: Bolt, grade: PropertyClass, bearing: float, hole: float, material: Material, temperature_c: float,
                  needed_clamp_load_n: float, *, sleeve: SleeveSize | None = None, state: Friction | None = None,
                  retention: float | None = None, mating_yield: float | None = None) -> TorqueLimits:
    """Both ends of the torque for one bolt, whether or not a window lies between them.

    bearing: diameter of what presses on the plastic (head's bearing diameter or washer); hole: the clearance hole;
    temperature_c: hottest service; needed_clamp_load_n: what the seal needs per bolt for good; sleeve: a metal one;
    state: of the thread (default as received); retention: share of the load that stays, default the plastic's creep retention
    (low end, the worst case without the bolt's spring) or METAL_RETENTION with a sleeve; mating_yield: N/mm2 of what a sleeve
    stands on.  The high end is the least of: proof, breaking torque, and plastic or sleeve at the greatest load of the torque.
    Raises ValueError for a negative load or a bearing face no wider than its hole.
    """
    if not needed_clamp_load_n >= 0.0:
        raise ValueError(f"the needed clamp load must be 0 N or more, found {needed_clamp_load_n!r}")
    k_low, k_high = k_band(state or friction())
    proof = tell("{share:.0%} of the proof load of {thread} {grade}", share=PROOF_SHARE, thread=bolt.thread, grade=grade.name)
    caps = {proof: PROOF_SHARE * proof_load(bolt, grade)}
    if sleeve is None:
        stress, keeps = material.bearing_limit(temperature_c) or 0.0, _kept(material, retention)
        bears = tell("bearing stress of {material} at {celsius:g} degC", material=material.name, celsius=temperature_c)
        caps[bears] = stress * bearing_area(bearing, hole)
    else:
        stress, keeps = min(sleeve.yield_stress, mating_yield or math.inf), METAL_RETENTION if retention is None else retention
        caps[tell("yield at the sleeve's end")] = stress * bearing_area(sleeve.outside, sleeve.inside)
    set_by, greatest = min(caps.items(), key=lambda item: item[1])
    high = torque_of_load(greatest, bolt.nominal, k_low)
    breaks = breaking_torque(bolt, grade)
    if breaks is not None and breaks / (1.0 + TOOL_SCATTER) < high:
        high, set_by = breaks / (1.0 + TOOL_SCATTER), tell("breaking torque of {thread} {grade}", thread=bolt.thread,
                                                           grade=grade.name)
    least = needed_clamp_load_n / keeps if keeps > 0.0 else math.inf
    low_set_by = tell("{needed_clamp_load_n:.0f} N needed for good, of which {keeps:.0%} stays",
                      needed_clamp_load_n=needed_clamp_load_n, keeps=keeps)
    from_memory = grade.source.from_memory or bolt.source.from_memory or sleeve is not None or (
        material.bearing_long is None or material.bearing_long.from_memory)
    return TorqueLimits(torque_of_load(least, bolt.nominal, k_high), high, least, greatest, low_set_by, set_by, from_memory)


def torque_window(bolt: Bolt, grade: PropertyClass, bearing: float, hole: float, material: Material, temperature_c: float,
                  needed_clamp_load_n: float, *, sleeve: SleeveSize | None = None, state: Friction | None = None,
                  retention: float | None = None, mating_yield: float | None = None) -> TorqueWindow | None:
    """The torque that works: from what the seal needs for good, up to what nothing suffers from; None when there is none.

    Arguments and errors as `torque_limits`, which also says what stands in the way.
    """
    limits = torque_limits(bolt, grade, bearing, hole, material, temperature_c, needed_clamp_load_n, sleeve=sleeve, state=state,
                           retention=retention, mating_yield=mating_yield)
    if not 0.0 < limits.high_n_m or limits.low_n_m > limits.high_n_m:
        return None
    why = tell("up to {high_n_m:.2f} N m: {high_set_by}; from {low_n_m:.2f} N m: {low_set_by}", high_n_m=limits.high_n_m,
               high_set_by=limits.high_set_by, low_n_m=limits.low_n_m, low_set_by=limits.low_set_by)
    return TorqueWindow(limits.low_n_m, limits.high_n_m, why, limits.from_memory)


def _kept(material: Material, retention: float | None) -> float:
    if retention is not None:
        return retention
    return material.creep_retention.low if material.creep_retention else 0.0
