"""A cover over its seal: the strip that bends between the bolts, what each bolt holds, and how uneven the faces are.

Words: the *flange* is the strip of cover that lies along the seal; a bolt's *share* of the seal is half the way to each of its
neighbours; *unevenness* is roughness and want of flatness of both faces together.
Book letters: a flange width, b groove width, h cover thickness, g groove depth [mm], I second moment [mm4].
Limits: a straight flange, groove in its middle; unevenness and the wanted ratio are judgement, to be proven by a trial print.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

from afterpart.sources import Source

RATIO_SOURCE = Source("Judgement: seal pressure midway between bolts over that at the bolts", place="wanted ratio 0.8",
                      from_memory=True)
FLATNESS_SOURCE = Source("Judgement: unevenness of a printed and a moulded face", place="one layer, and 1 mm in 500 mm",
                         from_memory=True)
FACE_SOURCE = Source("VDI 2230, as printed in a handbook's list of limiting surface pressures", place="page 678")

EFFECTIVE_SOURCE = Source("EN 1994-1-1 effective width of a flange", place="an eighth of the span to each side", from_memory=True)

EFFECTIVE_SHARE = 0.125
"""Width beside the seal that bends along with it, over the spacing of the bolts (EFFECTIVE_SOURCE)."""

WANTED_RATIO = 0.8
"""Least pressure midway between bolts over that at the bolts (RATIO_SOURCE)."""

FLATNESS_PER_MM = 0.002
"""Want of flatness of both faces over a length (FLATNESS_SOURCE)."""

FACE_PRESSURE: dict[str, float] = {"steel": 490.0, "aluminium": 260.0, "cast iron": 900.0}
"""Greatest pressure (N/mm2) a machine's face bears under a sleeve: S235, AW-6082 and GG-25 stand for each (FACE_SOURCE)."""


def grooved_moment(flange_width: float, thickness: float, groove_width: float, groove_depth: float) -> float:
    """I of a flange with a groove open at one face, about the middle of what is left, mm4.

        A = a h - b g,   e = (a h^2 / 2 - b g (h - g / 2)) / A   (from the face opposite the groove)
        I = a h^3 / 3 - b (h^3 - (h - g)^3) / 3 - A e^2

    Mechanics.  Raises ValueError when the groove leaves nothing.
    """
    a, h, b, g = flange_width, thickness, groove_width, groove_depth
    if not (a >= b >= 0.0 and h > g >= 0.0 and a > 0.0):
        raise ValueError(f"a flange {a:g} by {h:g} mm has no room for a groove {b:g} by {g:g} mm")
    area = a * h - b * g
    middle = (a * h**2 / 2.0 - b * g * (h - g / 2.0)) / area
    return a * h**3 / 3.0 - b * (h**3 - (h - g) ** 3) / 3.0 - area * middle**2


def even_width(moment: float, thickness: float) -> float:
    """Width (mm) of a plain strip of this thickness with the same second moment: 12 I / h^3."""
    return 12.0 * moment / thickness**3


def effective_land(pitch: float) -> float:
    """Widest land (mm) to one side of the seal that bends along between bolts this far apart.  Source: EFFECTIVE_SOURCE."""
    return EFFECTIVE_SHARE * pitch


def bolt_shares(spacings: Sequence[float]) -> tuple[float, ...]:
    """Length of seal (mm) that each bolt holds: half of the spacing before it and half of that after it.

    spacings: from each bolt to the next, once round; they add up to the length of the seal, and so do the shares.
    """
    return tuple(0.5 * (spacings[i - 1] + spacings[i]) for i in range(len(spacings)))


def unevenness(layer: float, pitch: float) -> float:
    """Roughness and want of flatness between two bolts, mm: one layer and FLATNESS_PER_MM of the pitch."""
    return layer + FLATNESS_PER_MM * pitch


def pressure_load(gauge_pressure_kpa: float, area: float) -> float:
    """Force (N) with which a pressure lifts the cover off the area inside the seal (mm2); 0 for a vacuum."""
    return max(gauge_pressure_kpa, 0.0) * 1e-3 * area
