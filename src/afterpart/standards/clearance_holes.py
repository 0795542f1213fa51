"""Clearance holes for metric bolts and screws (ISO 273), and the hole diameters that designers favour because of them."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
from dataclasses import dataclass
from importlib import resources

from afterpart.sources import Source
from afterpart.standards.threads import THREADS

SOURCE = Source("ISO 273 Fasteners - Clearance holes for bolts and screws", "1979", "table", from_memory=True)


@dataclass(frozen=True)
class ClearanceHole:
    """Hole diameters in mm of the fine, medium and coarse series for a thread size such as "M6"."""

    size: str
    nominal: float
    fine: float
    medium: float
    coarse: float


def _load() -> tuple[ClearanceHole, ...]:
    text = resources.files("afterpart.standards").joinpath("clearance_holes.csv").read_text(encoding="utf-8")
    return tuple(
        ClearanceHole(row["size"], *(float(row[k]) for k in ("nominal", "fine", "medium", "coarse")))
        for row in csv.DictReader(text.splitlines())
    )


CLEARANCE_HOLES = _load()

LISTED_DIAMETERS = tuple(
    sorted(
        {hole.fine for hole in CLEARANCE_HOLES}
        | {hole.medium for hole in CLEARANCE_HOLES}
        | {thread.tap_drill for thread in THREADS}
    )
)
"""Diameters in mm that stand in the tables: fine and medium clearance holes, and tap drills."""


def clearance_hole(size: str) -> ClearanceHole:
    """The row of a thread size.  Raises KeyError for a size not in the table."""
    for hole in CLEARANCE_HOLES:
        if hole.size == size:
            return hole
    raise KeyError(size)


def screws_through(diameter: float, tolerance: float = 1e-6) -> tuple[float, ...]:
    """Nominal diameters (mm) of the threads for which a hole of this diameter stands in the table."""
    return tuple(
        hole.nominal
        for hole in CLEARANCE_HOLES
        if any(abs(size - diameter) <= tolerance for size in (hole.fine, hole.medium, hole.coarse))
    )


def likely_screws(diameter: float, tolerance: float = 0.05) -> tuple[str, ...]:
    """Sizes for which a hole of this diameter (mm) is a clearance hole, with the series: ("M6 medium", ...)."""
    return tuple(
        f"{hole.size} {series}"
        for hole in CLEARANCE_HOLES
        for series in ("fine", "medium", "coarse")
        if abs(getattr(hole, series) - diameter) <= tolerance
    )
