"""What printing does to sizes, how long it takes, and what thin prints bear.

Words: a *facet* is the straight piece a round hole is made of in mesh files; *melt rate* the volume a nozzle can melt.
Limits: plain closed forms; arcs also shrink by corner cutting (0.1 to 0.3 mm on a diameter, from memory): use a coupon.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.sources import Source

FACET_SOURCE = Source("Polygonal hole geometry; 5 % and 1 % at 10 and 22 sides as told on a printing web log", "2011")
SAG_SOURCE = Source("Simply supported beam under its own weight", place="5 q L^4 / (384 E I)", from_memory=True)

GRAVITY_M_PER_S2 = 9.81


def facet_shrink(sides: int) -> float:
    """Width across flats over the circle's diameter for a polygon inscribed in it: cos(pi / n)."""
    if sides < 3:
        raise ValueError(f"a polygon has 3 sides or more, found {sides}")
    return math.cos(math.pi / sides)


def circumscribed_radius(radius: float, sides: int) -> float:
    """Radius of the corners of the polygon whose sides touch the circle: r / cos(pi / n), mm."""
    return radius / facet_shrink(sides)


def extrusion_rate(line_width: float, layer: float, speed_mm_per_s: float, melt_rate: float = math.inf) -> float:
    """Volume laid a second, mm3/s: w h v, at most what the nozzle melts."""
    return min(line_width * layer * speed_mm_per_s, melt_rate)


def print_minutes(volume: float, rate: float, efficiency: float = 1.0) -> float:
    """Minutes for a volume (mm3) at a rate (mm3/s); efficiency: share of the time that extrudes at that rate."""
    return volume / (rate * efficiency * 60.0)


def plate_sag(length: float, thickness: float, modulus: float, density_g_per_cm3: float) -> float:
    """Sag (mm) of a strip on two supports under its own weight: 5 rho g L^4 / (32 E t^2).  Source: SAG_SOURCE."""
    weight = density_g_per_cm3 * 1e-6 * GRAVITY_M_PER_S2
    return 5.0 * weight * length**4 / (32.0 * modulus * thickness**2)


def lip_root_stress(force_n: float, height: float, width: float, thickness: float) -> float:
    """Bending stress (N/mm2) at the root of a lip pushed at its top: 6 F h / (b t^2); across layers when printed upright."""
    return 6.0 * force_n * height / (width * thickness**2)


def bar_stress(pressure: float, spacing: float, length: float, width: float, height: float) -> float:
    """Bending stress (N/mm2) in the middle of a bar on two supports that carries a pressure (N/mm2) over a strip `spacing` wide:
    M = p s L^2 / 8, W = b h^2 / 6."""
    return pressure * spacing * length**2 / 8.0 / (width * height**2 / 6.0)
