"""Open-celled foam as an air filter: the two published points, and how far they may be trusted.

Words: *pores per inch* counts cells along a line; *reticulated* foam has had its cell walls removed, so that air passes;
upholstery foam has not and is about eight times tighter: it is never a substitute.
Limits: clean, dry foam.  Wetted with oil it holds 1.5 to 3 times as much back (from memory), loaded with dust far more.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import Range, rows

FOAM_SOURCE = Source("Museum service's page on reticulated polyurethane foam as an air filter", "1964",
                     "12.7 mm pad at 350 ft/min: 0.045 in water at 20 pores per inch, 1.0 in at 100; as thickness")
SPEED_SOURCE = Source("Exponent of speed between viscous (1) and inertial (2) flow", place="1.6 +- 0.3", from_memory=True)
WET_SOURCE = Source("Pressure drop of oiled foam over dry", place="1.5 to 3", from_memory=True)
DENSIFY_SOURCE = Source("Gibson and Ashby, Cellular Solids", place="densifies at 1 - 1.4 (1 - porosity)", from_memory=True)
POROSITY_SOURCE = Source("Usual porosity of reticulated foam", place="0.97", from_memory=True)

PORES_RANGE = Range(20.0, 100.0, "pores per inch")
SPEED_RANGE = Range(0.2, 4.0, "m/s")
"""Speeds to which the one published speed is carried with the exponent (judgement)."""

SPREAD = 0.5
"""Share by which the drop may be off, clean and dry, between the published points."""

SPEED_EXPONENT = Range(1.3, 1.9)
SPEED_EXPONENT_MIDDLE = 1.6

WET_FACTOR = Range(1.5, 3.0, "times the dry drop")

POROSITY = 0.97

PASCAL_PER_INCH_WATER = 249.089
"""Conventional inch of water (4 degC)."""


@dataclass(frozen=True)
class FoamPoint:
    """One published point: drop in Pa of a clean dry pad of this thickness at this face velocity."""

    pores_per_inch: float
    pressure_drop_pa: float
    thickness: float
    velocity_m_per_s: float
    source: Source = FOAM_SOURCE


FOAM_POINTS: tuple[FoamPoint, ...] = tuple(
    FoamPoint(float(row["pores_per_inch"]), float(row["pressure_drop_inch_water"]) * PASCAL_PER_INCH_WATER,
              float(row["thickness"]), float(row["velocity_m_per_s"])) for row in rows("foam.csv"))
