"""The whole way of the air through a filtered inlet: opening, foam, bars, and the way round through the squeezed rim.

Words: the *face* is the foam that air passes freely, the *rim* the band about it that is squeezed between two solid faces, the
*gap* the slot between the holder's edge and the pocket's wall; *open share* is what bars leave free of the opening.
Conventions: flow m3/h, pressure Pa, areas mm2, lengths mm.
Book letters as in airflow.py.
Limits: steady flow, clean foam, the losses of the parts added up; each part as if alone, which adds too much rather than too
little.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from afterpart.formulas.airflow import (
    Air,
    FoamDrop,
    entry_loss,
    ergun_coefficients,
    face_velocity,
    foam_drop,
    grid_loss,
    loss_pressure,
    squeezed_porosity,
)
from afterpart.sources import Source
from afterpart.standards.foam import POROSITY, WET_FACTOR
from afterpart.standards.inlets import GRAVITY, GRID_OPEN_RANGE

EXIT_SOURCE = Source("Sudden enlargement into a room, after Borda and Carnot", place="K = 1: all dynamic pressure is lost")
EXIT_LOSS = 1.0

DRY = 1.0
"""Times its own drop that clean dry foam holds back."""


@dataclass(frozen=True)
class AirPath:
    """opening_area, opening_perimeter, bellmouth (radius of its entry's rounding); open_share left by bars; face_area: foam that
    air passes, bars left out; pores_per_inch and thickness of the foam; oiled: it holds back WET_FACTOR times its dry drop."""

    opening_area: float
    opening_perimeter: float
    bellmouth: float
    open_share: float
    face_area: float
    pores_per_inch: float
    thickness: float
    oiled: bool = False


@dataclass(frozen=True)
class PathDrop:
    """Pa: of the entry, the bars, the exit, and the foam with its band."""

    entry_pa: float
    bars_pa: float
    exit_pa: float
    foam: FoamDrop

    @property
    def fittings_pa(self) -> float:
        """All but the foam."""
        return self.entry_pa + self.bars_pa + self.exit_pa

    @property
    def expected_pa(self) -> float:
        """Clean, in the middle of the foam's band."""
        return self.fittings_pa + self.foam.expected_pa

    @property
    def least_pa(self) -> float:
        """With the low end of the foam's band."""
        return self.fittings_pa + self.foam.least_pa

    @property
    def greatest_pa(self) -> float:
        """With the high end of the foam's band."""
        return self.fittings_pa + self.foam.greatest_pa


@dataclass(frozen=True)
class RimPath:
    """The way round: length of the rim's middle line, its width (the way through the foam), height when squeezed, share of the
    thickness it is squeezed by, and width of the gap behind it."""

    length: float
    width: float
    height: float
    squeeze: float
    gap: float


def path_holds(path: AirPath) -> bool:
    """Whether opening and bars lie in the range of the published grids."""
    return GRID_OPEN_RANGE.holds(path.open_share)


def path_drop(path: AirPath, flow_m3_per_h: float, air: Air) -> PathDrop:
    """dp = (K_entry + K_bars + 1) rho V_o^2 / 2 + dp_foam(V_face): V_o in the opening, V_face in the foam.

    Source: airflow.ENTRY, standards.inlets.GRID_SOURCE, EXIT_SOURCE, standards.foam.FOAM_SOURCE.
    Raises ValueError where path_holds is false.
    """
    speed = face_velocity(flow_m3_per_h, path.opening_area)
    wide = 4.0 * path.opening_area / path.opening_perimeter
    foam = foam_drop(path.pores_per_inch, path.thickness, face_velocity(flow_m3_per_h, path.face_area))
    foam = oiled_drop(foam) if path.oiled else foam
    entry, bars = entry_loss(path.bellmouth, wide), grid_loss(path.open_share)
    return PathDrop(loss_pressure(entry, speed, air), loss_pressure(bars, speed, air), loss_pressure(EXIT_LOSS, speed, air), foam)


def oiled_drop(dry: FoamDrop) -> FoamDrop:
    """The same foam oiled: WET_FACTOR times the drop, its middle expected, its ends on the ends of the band.

    Source: standards.foam.WET_SOURCE, from memory."""
    middle = 0.5 * (WET_FACTOR.low + WET_FACTOR.high)
    return FoamDrop(WET_FACTOR.low * dry.least_pa, middle * dry.expected_pa, WET_FACTOR.high * dry.greatest_pa, dry.in_range)


def foam_room(fittings_pa: float, foam_pa: float, limit_pa: float) -> float:
    """How many times its clean dry drop the foam may hold back before the limit is met: (limit - dp_fittings) / dp_foam."""
    return (limit_pa - fittings_pa) / foam_pa


def squeezed_resistance(porosity: float, squeeze: float) -> tuple[float, float]:
    """Drop per length of squeezed foam over free foam at the same speed, viscous and inertial: K/K', C'/C by Ergun's scaling."""
    k_free, c_free = ergun_coefficients(porosity, 1.0)
    k_tight, c_tight = ergun_coefficients(squeezed_porosity(porosity, 1.0 - squeeze), 1.0)
    return k_free / k_tight, c_tight / c_free


def rim_drop(rim: RimPath, resistance: float, pores_per_inch: float, flow_m3_per_h: float, air: Air) -> float:
    """Drop on the way round, Pa: dp = r dp_foam(w, Q / (l h)) + (K_sharp + 1) rho V_gap^2 / 2, V_gap = Q / (l g).

    resistance r: drop per length of squeezed foam over free foam, as squeezed_resistance gives it.
    """
    foam = foam_drop(pores_per_inch, rim.width, face_velocity(flow_m3_per_h, rim.length * rim.height)).expected_pa
    slot = loss_pressure(entry_loss(0.0, rim.gap) + EXIT_LOSS, face_velocity(flow_m3_per_h, rim.length * rim.gap), air)
    return resistance * foam + slot


def rim_flows(rim: RimPath, pores_per_inch: float, pressure_drop_pa: float, air: Air) -> tuple[float, float]:
    """Flow round through the rim at this drop, m3/h, least and most: rim_drop turned round for both resistances."""
    resistances = squeezed_resistance(POROSITY, rim.squeeze)
    least, most = sorted(_rim_flow(rim, r, pores_per_inch, pressure_drop_pa, air) for r in resistances)
    return least, most


def _rim_flow(rim: RimPath, resistance: float, pores_per_inch: float, pressure_drop_pa: float, air: Air) -> float:
    if rim.gap <= 0.0 or pressure_drop_pa <= 0.0:
        return 0.0
    most = 3600.0e-6 * rim.length * rim.gap * math.sqrt(2.0 * pressure_drop_pa / air.density_kg_per_m3)
    return float(brentq(lambda flow: rim_drop(rim, resistance, pores_per_inch, flow, air) - pressure_drop_pa, 1e-9 * most, most))


def foam_depth(width: float, squeeze: float) -> float:
    """Thickness of free foam with as much solid in the air's way as `width` of squeezed foam: w (1 - eps') / (1 - eps).

    With eps' = 1 - (1 - eps) / (1 - s) that is w / (1 - s), whatever the porosity.  Raises ValueError unless 0 <= s < 1.
    """
    if not 0.0 <= squeeze < 1.0:
        raise ValueError(f"expected a squeeze of 0 or more and less than 1, found {squeeze!r}")
    return width / (1.0 - squeeze)


def climb_m(pressure_drop_pa: float, air: Air) -> float:
    """The height (m) to climb for the same loss of pressure: dp / (rho g)."""
    return pressure_drop_pa / (air.density_kg_per_m3 * GRAVITY)
