"""Round seal cords and the grooves in a flat face that suit them.

Words: a *cord* is a seal of round section; the *groove* is cut into one face and the other face closes it; depth runs from the
groove's floor to that other face; `plus` is how far a size may exceed the table, never fall below it.
Limits: static face seals of elastomer cord, faces closed metal to metal or plastic to plastic.  The table's own worst case is
not everywhere inside the wanted squeeze (see `formulas/seal.py`); nothing here is meant for pressure vessels.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import Range, marked, rows

GROOVE_SOURCE = Source("Supplier's housing table for ISO 3601 and metric O-ring sections, axial static seal",
                       place="depth, width, bottom radius")
CORD_SOURCE = Source("ISO 3601-1 Fluid power systems - O-rings; metric cords after ISO 3302-1",
                     place="section diameters and their tolerances", from_memory=True)
SQUEEZE_SOURCE = Source("Supplier's guide to static face seals", place="squeeze, fill and stretch wanted")
GREATEST_SQUEEZE_SOURCE = Source("Mechanical Engineers' Handbook", place="volume 3, page 290: greatest static squeeze")
CORNER_SOURCE = Source("Supplier's guide to O-rings in grooves that are not circular", place="inner radius 3 d, 6 d preferred")

WANTED_SQUEEZE = Range(0.20, 0.25, "of the cord's diameter")
"""At nominal sizes (SQUEEZE_SOURCE)."""

LEAST_SQUEEZE = 0.15
"""After all tolerances, in a printed groove (judgement: a printed floor is not as smooth as a turned one)."""

GREATEST_SQUEEZE = 0.30
"""Static seals (GREATEST_SQUEEZE_SOURCE)."""

GREATEST_FILL = 0.85
"""Share of the groove's section the cord may fill, worst case; 0.90 is the outer end of what the source gives."""

WANTED_STRETCH = Range(0.01, 0.03, "of the ring's length")
GREATEST_STRETCH_FITTING = 0.50
"""While a ring is pulled over something (SQUEEZE_SOURCE)."""

LEAST_CORNER_CORDS = 3.0
PREFERRED_CORNER_CORDS = 6.0
"""Inner corner radius of a groove that is not circular, in cord diameters (CORNER_SOURCE)."""


@dataclass(frozen=True)
class Cord:
    """diameter of a round cord and how far it may deviate either way."""

    diameter: float
    plus_minus: float
    source: Source = CORD_SOURCE

    @property
    def least(self) -> float:
        """Thinnest cord allowed."""
        return self.diameter - self.plus_minus

    @property
    def greatest(self) -> float:
        """Thickest cord allowed."""
        return self.diameter + self.plus_minus


@dataclass(frozen=True)
class CordGroove:
    """A groove for a cord: least depth and width, rounding at the bottom, and by how much depth and width may exceed them."""

    cord: float
    depth: float
    width: float
    radius: float
    depth_plus: float
    width_plus: float
    radius_plus_minus: float
    source: Source


CORDS: tuple[Cord, ...] = tuple(
    Cord(float(row["cord"]), float(row["cord_plus_minus"]), marked(CORD_SOURCE, row["cord_mark"])) for row in rows("orings.csv"))

GROOVES: tuple[CordGroove, ...] = tuple(
    CordGroove(float(row["cord"]), float(row["depth"]), float(row["width"]), float(row["radius"]), float(row["depth_plus"]),
               float(row["width_plus"]), float(row["radius_plus_minus"]), marked(GROOVE_SOURCE, row["groove_mark"]))
    for row in rows("orings.csv"))

_SAME = 1e-6


def cord(diameter: float) -> Cord:
    """The cord of this diameter (mm).  Raises KeyError, listing the diameters of the table, when there is none."""
    for item in CORDS:
        if abs(item.diameter - diameter) <= _SAME:
            return item
    raise KeyError(f"no cord of {diameter:g} mm: known are {', '.join(f'{c.diameter:.2f}' for c in CORDS)}")


def groove_for_cord(diameter: float) -> CordGroove:
    """The table's groove for a cord of this diameter (mm).  Raises KeyError, listing the diameters, when there is none."""
    wanted = cord(diameter).diameter
    return next(item for item in GROOVES if item.cord == wanted)


def cord_for_width(width: float) -> CordGroove | None:
    """The thickest cord whose groove is no wider than `width` (mm); None when even the thinnest needs more."""
    fitting = [item for item in GROOVES if item.width <= width + _SAME]
    return max(fitting, key=lambda item: item.cord) if fitting else None
