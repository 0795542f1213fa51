"""Number and letter drills of the inch series: what a hole may be that fits no metric size.

Conventions: diameters in mm, as everywhere; the data file keeps inches, as the trade does.
Limits: #80 to #1 and A to Z, 0.34 to 10.5 mm; fractions of an inch are not among them but where a letter has the same size.  Five
rows (#5, #10, #18, #25, #28) end on half a thousandth from memory, where the open table rounds that digit away.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import Range, marked, rows
from afterpart.units import MM_PER_INCH

SOURCE = Source("ASME B94.11M Twist drills, number and letter sizes, as printed in an open table of drills")


@dataclass(frozen=True)
class InchDrill:
    """size as the trade writes it ("#7", "F") and diameter in mm."""

    size: str
    diameter: float
    source: Source


INCH_DRILLS: tuple[InchDrill, ...] = tuple(
    InchDrill(row["size"], MM_PER_INCH * float(row["inch"]), marked(SOURCE, row["mark"])) for row in rows("inch_drills.csv"))

DRILL_RANGE = Range(min(item.diameter for item in INCH_DRILLS), max(item.diameter for item in INCH_DRILLS), "mm")


def inch_drill(size: str) -> InchDrill:
    """The drill "#7" or "F".  Raises KeyError, naming the ends of the series."""
    for item in INCH_DRILLS:
        if item.size == size.strip().upper():
            return item
    raise KeyError(f"no inch drill {size!r}: known are #1 to #80 and A to Z")


def nearest_inch_drill(diameter: float) -> InchDrill:
    """The drill nearest to a diameter (mm).  Raises ValueError outside DRILL_RANGE."""
    if not DRILL_RANGE.holds(diameter):
        raise ValueError(f"number and letter drills run from {DRILL_RANGE}, found {diameter:g} mm")
    return min(INCH_DRILLS, key=lambda item: abs(item.diameter - diameter))
