"""How moulded plastic parts are drawn: shrinkage, walls, draft, ribs.

Limits: supplier's guide values; a part's own maker may have chosen otherwise.  Walls are None where no value was read.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import Figure, Range, marked, rows

SHRINKAGE_SOURCE = Source("Handbook of plastics, table 7.1", place="moulding shrinkage by material")
WALL_SOURCE = Source("Moulder's design guide", place="recommended walls in inches, converted")
DRAFT_SOURCE = Source("Two moulders' design guides",
                      place="draft 0.5 to 2 degrees; ribs half to 0.6 of the wall, below 3 walls high")

DRAFT = Range(0.5, 2.0, "degrees")
RIB_OVER_WALL = Range(0.5, 0.6, "of the wall")
GREATEST_RIB_HEIGHT = 3.0
"""In walls (DRAFT_SOURCE)."""

LEAST_INNER_RADIUS = 0.5
"""In walls (DRAFT_SOURCE)."""


@dataclass(frozen=True)
class Moulding:
    """shrinkage in percent; wall in mm, None where no value was read."""

    material: str
    shrinkage: Figure
    wall: Figure | None


def _moulding(row: dict[str, str]) -> Moulding:
    shrinkage = Figure(float(row["shrinkage_low_percent"]), float(row["shrinkage_high_percent"]), "%",
                       marked(SHRINKAGE_SOURCE, row["mark"]))
    wall = Figure(float(row["wall_low"]), float(row["wall_high"]), "mm", WALL_SOURCE) if row["wall_low"] else None
    return Moulding(row["material"], shrinkage, wall)


MOULDINGS: tuple[Moulding, ...] = tuple(_moulding(row) for row in rows("moulding.csv"))


def moulding(material: str) -> Moulding:
    """The row of a moulded material.  Raises KeyError, listing the known ones."""
    for item in MOULDINGS:
        if item.material.lower() == material.strip().lower():
            return item
    raise KeyError(f"no moulding data for {material!r}: known are {', '.join(m.material for m in MOULDINGS)}")


def draft_shift(height: float, angle_deg: float) -> float:
    """By how much a drafted wall stands elsewhere a height further on: h tan(alpha), mm."""
    return height * math.tan(math.radians(angle_deg))
