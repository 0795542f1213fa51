"""What an engine or compressor inlet may hold back, and the air it breathes.

Limits: the limits are those of an indicator's supplier, for a filter due for service; a compressor's maker may ask for less.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.foam import PASCAL_PER_INCH_WATER
from afterpart.standards.table import Figure, Range, rows

LIMIT_SOURCE = Source("Filter indicator supplier's page on calibration", place="restriction at which a filter is due")
AIR_SOURCE = Source("U.S. Standard Atmosphere", "1976", "sea level and lapse rate to 11 km", from_memory=True)
PULSE_SOURCE = Source("Peak over mean inlet flow of one cylinder without a plenum", place="1.5 to 3", from_memory=True)
SCREEN_SOURCE = Source("R. D. Blevins, Applied Fluid Dynamics Handbook, as printed in an open fluid library", "1984",
                       "screens of round wire: beta (1 - a^2) / a^2")
GRID_SOURCE = Source("R. D. Blevins, Applied Fluid Dynamics Handbook, as printed in an open fluid library", "1984",
                     "grids with square edges, by open share")

TEST_SOURCE = Source("ISO 5011 Inlet air cleaning equipment, performance testing, as extracted by a test house",
                     place="restriction measured with the flow held within 2 %; dust per ISO 12103-1")

TEST_FLOW = Figure(0.02, 0.02, "share of the flow", TEST_SOURCE)
"""Within what the flow is held while a filter's restriction is measured."""

SEA_LEVEL_TEMPERATURE_K = 288.15
SEA_LEVEL_PRESSURE_PA = 101_325.0
LAPSE_K_PER_M = 0.0065
GAS_CONSTANT = 287.05287
"""Of dry air, J/(kg K)."""

GRAVITY = 9.80665
EARTH_RADIUS_M = 6_356_766.0
ALTITUDE_RANGE = Range(-1000.0, 11_000.0, "m")

SUTHERLAND_BETA = 1.458e-6
SUTHERLAND_K = 110.4
"""Viscosity of air: beta T^1.5 / (T + S), Pa s (AIR_SOURCE)."""

PULSE_FACTOR = Range(1.5, 3.0, "times the mean flow")

SCREEN_BETAS: tuple[tuple[float, float], ...] = ((20.0, 1.3), (30.0, 1.1), (40.0, 0.95), (60.0, 0.83), (80.0, 0.75), (100.0, 0.7),
                                                 (200.0, 0.6), (400.0, 0.52))
"""(Reynolds number of the wire, beta) of a screen of round wire (SCREEN_SOURCE)."""

GRID_LOSSES: tuple[tuple[float, float], ...] = (
    (0.2, 52.0), (0.25, 30.0), (0.3, 17.0), (0.35, 11.0), (0.4, 7.7), (0.45, 5.5), (0.5, 3.8), (0.55, 2.8), (0.6, 2.0),
    (0.65, 1.5), (0.7, 1.1), (0.75, 0.78), (0.8, 0.53), (0.85, 0.35), (0.9, 0.08), (1.0, 0.0))
"""(open share, K) of a grid of square-edged bars, in dynamic pressures before it (GRID_SOURCE)."""

GRID_OPEN_RANGE = Range(0.2, 1.0, "open area over area")

SCREEN_OPEN_RANGE = Range(0.05, 0.8, "open area over area")


@dataclass(frozen=True)
class RestrictionLimit:
    """Pressure drop (Pa) at which the filter of this kind of machine is due."""

    kind: str
    pressure_drop_pa: float
    source: Source = LIMIT_SOURCE


RESTRICTION_LIMITS: tuple[RestrictionLimit, ...] = tuple(
    RestrictionLimit(row["kind"], float(row["inch_water"]) * PASCAL_PER_INCH_WATER) for row in rows("restriction_limits.csv"))
