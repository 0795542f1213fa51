"""A round cord in a groove: how far it is squeezed, how full the groove is, what force that takes.

Words: *squeeze* is how far the cord is flattened, as a share of its diameter; *groove fill* its section over the groove's;
*stretch* how much longer the ring lies than it was made.  Book letters: d cord diameter, h groove depth, b groove width,
C squeeze, E modulus of the rubber [N/mm2], f force per length [N/mm].
Limits: solid round cord, rectangular groove, faces closed hard.  Force is good to a factor (`FORCE_BAND`), no better.
Sources: standards/orings.py for what is wanted; Lindley's form of the force below.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.orings import LEAST_CORNER_CORDS, PREFERRED_CORNER_CORDS, Cord
from afterpart.standards.table import Range
from afterpart.words import tell

LINDLEY = Source("P. B. Lindley, Compression characteristics of laterally-unrestrained rubber O-rings, Journal of the IRI",
                 "1967", "force per length, in the form later work uses", from_memory=True)

FORCE_BAND = (0.6, 2.0)
"""Lindley's force times these: published figures scatter by about half, on compounds of the same hardness."""

FORCE_RANGE = Range(0.0, 0.40, "squeeze")
"""Where Lindley's force is used at all."""


@dataclass(frozen=True)
class SealBand:
    """Worst cases over the tolerances of cord and groove: squeeze loose and tight, fill least and greatest."""

    squeeze_loose: float
    squeeze_tight: float
    fill_least: float
    fill_greatest: float


def squeeze(cord: float, depth: float) -> float:
    """C = (d - h) / d for a cord of diameter d in a groove of depth h, mm.  Negative: the cord does not touch the lid."""
    d, h = _positive(cord, "cord"), _positive(depth, "depth")
    return (d - h) / d


def groove_fill(cord: float, width: float, depth: float) -> float:
    """Share of the groove's section that the cord takes: pi d^2 / (4 b h), all mm.  Roundings at the bottom are left out."""
    d, b, h = _positive(cord, "cord"), _positive(width, "width"), _positive(depth, "depth")
    return math.pi * d**2 / (4.0 * b * h)


def worst_cases(cord: Cord, depth: tuple[float, float], width: tuple[float, float], stretch: float = 0.0) -> SealBand:
    """Squeeze and fill at the limits of cord, depth (least, greatest) and width (least, greatest), mm.

    A stretched cord is thinner, at constant volume: both ends of its tolerance shrink by sqrt(1 + stretch).
    """
    thin, thick = stretched_cord(cord.least, stretch), stretched_cord(cord.greatest, stretch)
    return SealBand(squeeze(thin, depth[1]), squeeze(thick, depth[0]), groove_fill(thin, width[1], depth[1]),
                    groove_fill(thick, width[0], depth[0]))


def ring_stretch(groove_length: float, ring_length: float) -> float:
    """s = (L_groove - L_ring) / L_ring of the centre lines, mm; for circles the diameters may be given instead."""
    return (_positive(groove_length, tell("groove length")) - _positive(ring_length, tell("ring length"))) / ring_length


def stretched_cord(cord: float, stretch: float) -> float:
    """Diameter of a cord stretched by a share: d / sqrt(1 + s), constant volume."""
    if not stretch > -1.0:
        raise ValueError(f"stretch must be more than -1, found {stretch!r}")
    return _positive(cord, "cord") / math.sqrt(1.0 + stretch)


def groove_from(cord: float, wanted_squeeze: float, wanted_fill: float) -> tuple[float, float]:
    """Depth and width (mm) of the groove with these shares: h = d (1 - C), b = pi d^2 / (4 h fill).

    Raises ValueError for shares outside 0 to 1.
    """
    for name, share in (("squeeze", wanted_squeeze), ("fill", wanted_fill)):
        if not 0.0 < share < 1.0:
            raise ValueError(f"{name} must lie between 0 and 1, found {share!r}")
    depth = _positive(cord, "cord") * (1.0 - wanted_squeeze)
    return depth, math.pi * cord**2 / (4.0 * depth * wanted_fill)


def least_corner_radius(cord: float) -> float:
    """Tightest inner-wall corner (mm) of a groove that is not circular: 3 d.  Source: standards.orings.CORNER_SOURCE."""
    return LEAST_CORNER_CORDS * _positive(cord, "cord")


def preferred_corner_radius(cord: float) -> float:
    """Inner-wall corner (mm) to prefer: 6 d.  Source: standards.orings.CORNER_SOURCE."""
    return PREFERRED_CORNER_CORDS * _positive(cord, "cord")


def closing_force(cord: float, share: float, modulus: float) -> float:
    """Force per length to squeeze a cord, N/mm: f = d E (1.25 C^1.5 + 50 C^6); 0 for no squeeze.

    Source: LINDLEY.  modulus: of the rubber at small strain, from its hardness (formulas/gasket.py).
    """
    d, c = _positive(cord, "cord"), max(share, 0.0)
    return d * modulus * (1.25 * c**1.5 + 50.0 * c**6)


def closing_force_band(cord: float, share: float, modulus: float) -> tuple[float, float]:
    """Lower and upper end of what the force per length may really be, N/mm (FORCE_BAND)."""
    force = closing_force(cord, share, modulus)
    return FORCE_BAND[0] * force, FORCE_BAND[1] * force


def cord_stiffness(share: float, modulus: float) -> float:
    """Stiffness of a squeezed cord, N/mm per mm of length and mm of closing: E (1.875 C^0.5 + 300 C^5), LINDLEY derived."""
    c = max(share, 0.0)
    return modulus * (1.875 * math.sqrt(c) + 300.0 * c**5)


def _positive(value: float, name: str) -> float:
    if not (value > 0.0 and math.isfinite(value)):
        raise ValueError(f"{name} must be more than 0 mm, found {value!r}")
    return value
