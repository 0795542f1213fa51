"""Air through an inlet: what a machine asks for, what foam and opening hold back, what that costs.

Words: *face velocity* is flow over open area; *pressure drop* what the flow loses; an *entry loss* K counts it in dynamic
pressures; *porosity* is the open share of a foam's volume.
Conventions: flow m3/h, velocity m/s, pressure Pa, area mm2, lengths mm; temperatures of the atmosphere in K.
Book letters: V velocity, rho density [kg/m3], mu viscosity [Pa s], L thickness, K permeability [m2], C inertia [1/m],
eps porosity, d grain [m].
Limits: steady flow, clean dry foam, incompressible (drops far below an atmosphere).  Foam rests on two published points:
`FoamDrop` carries a band, and area ratio and face velocity lead any judgement.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards import inlets
from afterpart.standards.foam import (
    FOAM_POINTS,
    PORES_RANGE,
    SPEED_EXPONENT,
    SPEED_EXPONENT_MIDDLE,
    SPEED_RANGE,
    SPREAD,
)
from afterpart.standards.table import Range

ERGUN = Source("S. Ergun, Fluid flow through packed columns, Chem. Eng. Prog. 48", "1952", "page 89", from_memory=True)
ENTRY = Source("D. C. Rennels, H. M. Hudson, Pipe Flow", "2012", "rounded and sharp entrance, as in an open fluid library",
               from_memory=True)

REENTRANT = Source("D. C. Rennels, H. M. Hudson, Pipe Flow", "2012",
                   "sharp entrance some way off the wall, as printed in an open fluid library")

FOUR_STROKE = "engine four-stroke"
"""The kind of machine that breathes every second turn."""

ROUNDING_RANGE = Range(0.0, 1.0, "radius over diameter")

THICK_EDGE = 0.05
"""Wall over diameter from which a tube that stands out of its wall breathes like a sharp opening in it (REENTRANT)."""


@dataclass(frozen=True)
class FoamDrop:
    """Pressure drop of clean dry foam, Pa: expected, and its band.  in_range: pores and speed are near the published."""

    least_pa: float
    expected_pa: float
    greatest_pa: float
    in_range: bool


@dataclass(frozen=True)
class Air:
    """temperature_k, pressure_pa, density_kg_per_m3, viscosity_pa_s."""

    temperature_k: float
    pressure_pa: float
    density_kg_per_m3: float
    viscosity_pa_s: float


def engine_demand(displacement_cm3: float, speed_per_min: float, volumetric_efficiency: float, four_stroke: bool) -> float:
    """Mean flow, m3/h: Q = V_d n eta / j with j = 2 turns a breath for four strokes, 1 for two and for compressors."""
    turns = 2.0 if four_stroke else 1.0
    return 1e-6 * displacement_cm3 * speed_per_min * 60.0 * volumetric_efficiency / turns


def tells_strokes(kind: str) -> bool:
    """Whether the kind of machine says how many turns a breath takes: any kind told, but of engines only those with their
    strokes."""
    return bool(kind) and (not kind.startswith("engine") or kind in ("engine two-stroke", FOUR_STROKE))


def air_asked(stated: Iterable[float | None], kind: str, displacement_cm3: float | None, speed_per_min: float | None,
              volumetric_efficiency: float) -> float | None:
    """Mean flow that a machine asks for, m3/h: the largest that is stated, else of its displacement and speed; None: not told."""
    told = [flow for flow in stated if flow is not None]
    if told:
        return max(told)
    if displacement_cm3 is None or speed_per_min is None or not tells_strokes(kind):
        return None
    return engine_demand(displacement_cm3, speed_per_min, volumetric_efficiency, kind == FOUR_STROKE)


def face_velocity(flow_m3_per_h: float, area: float) -> float:
    """V in m/s through an area in mm2.  Raises ValueError for no area."""
    if not area > 0.0:
        raise ValueError(f"the open area must be more than 0 mm2, found {area!r}")
    return flow_m3_per_h / 3600.0 / (1e-6 * area)


def foam_drop(pores_per_inch: float, thickness: float, velocity_m_per_s: float) -> FoamDrop:
    """Drop of clean dry reticulated foam: dp = dp0 (ppi / ppi0)^n (L / L0) (V / V0)^1.6, n through both published points.

    The band: half as much and half again, and an exponent of speed from 1.3 to 1.9.  Source: standards.foam.FOAM_SOURCE,
    SPEED_SOURCE.
    """
    low, high = FOAM_POINTS
    pores_exponent = math.log(high.pressure_drop_pa / low.pressure_drop_pa) / math.log(high.pores_per_inch / low.pores_per_inch)
    at_speed = low.pressure_drop_pa * (pores_per_inch / low.pores_per_inch) ** pores_exponent * thickness / low.thickness
    speed = velocity_m_per_s / low.velocity_m_per_s
    ends = sorted(at_speed * speed**n for n in (SPEED_EXPONENT.low, SPEED_EXPONENT.high))
    return FoamDrop((1.0 - SPREAD) * ends[0], at_speed * speed**SPEED_EXPONENT_MIDDLE, (1.0 + SPREAD) * ends[1],
                    PORES_RANGE.holds(pores_per_inch) and SPEED_RANGE.holds(velocity_m_per_s))


def porous_drop(velocity_m_per_s: float, thickness: float, permeability_m2: float, inertia_per_m: float, air: Air) -> float:
    """dp = L (mu V / K + rho C V^2), Pa, thickness in mm."""
    viscous = air.viscosity_pa_s * velocity_m_per_s / permeability_m2
    return 1e-3 * thickness * (viscous + air.density_kg_per_m3 * inertia_per_m * velocity_m_per_s**2)


def ergun_coefficients(porosity: float, grain_m: float) -> tuple[float, float]:
    """Permeability [m2] and inertia [1/m] of a bed: K = eps^3 d^2 / (150 (1-eps)^2), C = 1.75 (1-eps) / (eps^3 d).

    Source: ERGUN.  Made for spheres; for foam only ratios between two porosities are used.
    """
    solid = 1.0 - porosity
    return porosity**3 * grain_m**2 / (150.0 * solid**2), 1.75 * solid / (porosity**3 * grain_m)


def squeezed_porosity(porosity: float, left: float) -> float:
    """Porosity of foam squeezed to the share `left` of its thickness: 1 - (1 - eps) / left."""
    if not 1.0 - porosity < left <= 1.0:
        raise ValueError(f"foam of porosity {porosity:g} can be squeezed to more than {1.0 - porosity:g}, found {left!r}")
    return 1.0 - (1.0 - porosity) / left


def squeezed_ratios(porosity: float, left: float) -> tuple[float, float]:
    """Viscous and inertial drop of the squeezed (thinner) pad over those of the free one, by ERGUN's scaling."""
    k_free, c_free = ergun_coefficients(porosity, 1.0)
    k_squeezed, c_squeezed = ergun_coefficients(squeezed_porosity(porosity, left), 1.0)
    return left * k_free / k_squeezed, left * c_squeezed / c_free


def squeezed_speed_shares(porosity: float, left: float) -> tuple[float, float]:
    """Face velocity in squeezed foam over that in free foam beside it, at the same drop: if all viscous, if all inertial."""
    viscous, inertial = squeezed_ratios(porosity, left)
    return 1.0 / viscous, 1.0 / math.sqrt(inertial)


def densification_strain(porosity: float) -> float:
    """Squeeze from which foam turns solid: 1 - 1.4 (1 - eps).  Source: standards.foam.DENSIFY_SOURCE."""
    return 1.0 - 1.4 * (1.0 - porosity)


def entry_loss(radius: float, diameter: float) -> float:
    """K of an opening in a wall with its edge rounded (0: sharp), in dynamic pressures behind it.

        K = 0.0696 (1 - 0.569 r/D) l^2 + (l - 1)^2,   l = 1 + 0.622 (1 - 0.30 sqrt(r/D) - 0.70 r/D)^4

    Source: ENTRY.  From r/D = 1 on the rounding gains no more.  For other than round openings D = 4 area / perimeter.
    """
    if radius < 0.0 or not diameter > 0.0:
        raise ValueError(f"expected a radius of 0 or more and a diameter of more than 0, found {radius!r} and {diameter!r}")
    r = min(radius / diameter, ROUNDING_RANGE.high)
    jet = 1.0 + 0.622 * (1.0 - 0.30 * math.sqrt(r) - 0.70 * r) ** 4
    return 0.0696 * (1.0 - 0.569 * r) * jet**2 + (jet - 1.0) ** 2


def reentrant_entry_loss(wall: float, diameter: float) -> float:
    """K of a tube whose sharp end stands at least half its diameter out of the wall, in dynamic pressures inside it.

        K = 1.12 - 22 x + 216 x^2 + 80 x^3,   x = wall / diameter, at most THICK_EDGE

    wall: thickness of the tube, mm; diameter: inside, mm.  Source: REENTRANT.  Worse than an opening in the wall (`entry_loss`):
    air comes from behind the edge too.
    """
    if wall < 0.0 or not diameter > 0.0:
        raise ValueError(f"expected a wall of 0 or more and a diameter of more than 0, found {wall!r} and {diameter!r}")
    x = min(wall / diameter, THICK_EDGE)
    return 1.12 - 22.0 * x + 216.0 * x**2 + 80.0 * x**3


def screen_loss(open_share: float, wire_reynolds: float) -> float:
    """K of a screen of round wire, in dynamic pressures before it: beta (1 - a^2) / a^2.

    beta by Reynolds number of the wire, straight between the table's points and constant beyond.
    Source: standards.inlets.SCREEN_SOURCE; held in SCREEN_OPEN_RANGE.
    """
    points = inlets.SCREEN_BETAS
    re = min(max(wire_reynolds, points[0][0]), points[-1][0])
    beta = _between(points, re)
    return beta * (1.0 - open_share**2) / open_share**2


def grid_loss(open_share: float) -> float:
    """K of a grid of square-edged bars, in dynamic pressures before it; straight between the table's points.

    Source: standards.inlets.GRID_SOURCE.  Raises ValueError outside GRID_OPEN_RANGE.
    """
    if not inlets.GRID_OPEN_RANGE.holds(open_share):
        raise ValueError(f"grids are tabled from {inlets.GRID_OPEN_RANGE}, found {open_share:g}")
    return _between(inlets.GRID_LOSSES, open_share)


def loss_pressure(loss: float, velocity_m_per_s: float, air: Air) -> float:
    """dp = K rho V^2 / 2, Pa."""
    return 0.5 * loss * air.density_kg_per_m3 * velocity_m_per_s**2


def standard_air(altitude_m: float = 0.0) -> Air:
    """Air of the standard atmosphere at a height above the sea.  Source: standards.inlets.AIR_SOURCE.

    Raises ValueError outside ALTITUDE_RANGE.
    """
    if not inlets.ALTITUDE_RANGE.holds(altitude_m):
        raise ValueError(f"the formula holds from {inlets.ALTITUDE_RANGE}, found {altitude_m:g} m")
    height = inlets.EARTH_RADIUS_M * altitude_m / (inlets.EARTH_RADIUS_M + altitude_m)
    t = inlets.SEA_LEVEL_TEMPERATURE_K - inlets.LAPSE_K_PER_M * height
    exponent = inlets.GRAVITY / (inlets.LAPSE_K_PER_M * inlets.GAS_CONSTANT)
    p = inlets.SEA_LEVEL_PRESSURE_PA * (t / inlets.SEA_LEVEL_TEMPERATURE_K) ** exponent
    return Air(t, p, p / (inlets.GAS_CONSTANT * t), inlets.SUTHERLAND_BETA * t**1.5 / (t + inlets.SUTHERLAND_K))


def power_loss(pressure_drop_pa: float, air: Air) -> float:
    """Share of power an engine that fills by suction loses: about the drop over the pressure outside."""
    return pressure_drop_pa / air.pressure_pa


def _between(points: tuple[tuple[float, float], ...], x: float) -> float:
    """Straight between the two points about x, which lies inside them."""
    steps = zip(points, points[1:], strict=False)
    return next(y0 + (y1 - y0) * (x - x0) / (x1 - x0) for (x0, y0), (x1, y1) in steps if x <= x1)
