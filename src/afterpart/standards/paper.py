"""Sizes of writing-paper sheets and how far a real sheet may deviate from them.

A *sheet* is named by its format; its size is (width, height) in mm, upright: the short side is the width.
ISO 216 sheets carry the trimming tolerance of the same standard.  The North American formats have no such clause here:
`sheet_tolerance` is a figure of ISO 216, used for them too because nothing better is known.
Limits: a sheet is a weak gauge of scale (2 mm on 297 mm is 0.7 %); it says nothing about how flat it lies.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.units import MM_PER_INCH

ISO_216_SIZES = Source("ISO 216, Writing paper and certain classes of printed matter: trimmed sizes", "2007", "main series A",
                       from_memory=True)
ISO_216_TOLERANCE = Source("ISO 216, Writing paper and certain classes of printed matter: trimmed sizes", "2007",
                           "tolerances on dimensions", from_memory=True)
NORTH_AMERICAN_SIZES = Source("ANSI/ASME Y14.1, Decimal inch drawing sheet size and format, and trade custom: 8.5 x 11 in and "
                              "8.5 x 14 in", from_memory=True)


@dataclass(frozen=True)
class Sheet:
    """One format.  width, height: mm, upright; source: where the size was published."""

    name: str
    width: float
    height: float
    source: Source


SHEETS: tuple[Sheet, ...] = (
    Sheet("A3", 297.0, 420.0, ISO_216_SIZES),
    Sheet("A4", 210.0, 297.0, ISO_216_SIZES),
    Sheet("A5", 148.0, 210.0, ISO_216_SIZES),
    Sheet("letter", 8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH, NORTH_AMERICAN_SIZES),
    Sheet("legal", 8.5 * MM_PER_INCH, 14.0 * MM_PER_INCH, NORTH_AMERICAN_SIZES),
)

TOLERANCE_STEPS: tuple[tuple[float, float], ...] = ((150.0, 1.5), (600.0, 2.0), (float("inf"), 3.0))
"""(longest side in mm this step covers, inclusive; permitted deviation either way in mm), after ISO 216."""


def find_sheet(name: str) -> Sheet:
    """The format of this name, letter case ignored.  Raises KeyError, listing the known names, when there is none."""
    for sheet in SHEETS:
        if sheet.name.lower() == name.strip().lower():
            return sheet
    raise KeyError(f"unknown sheet {name!r}: known are {', '.join(s.name for s in SHEETS)}")


def sheet_size(name: str) -> tuple[float, float]:
    """(width, height) of the named format in mm, upright.  Raises KeyError when the name is unknown."""
    sheet = find_sheet(name)
    return sheet.width, sheet.height


def sheet_tolerance(side: float) -> float:
    """How far one side of nominal length `side` (mm) may deviate either way, mm (ISO 216).  Raises ValueError below zero."""
    if not side > 0.0:
        raise ValueError(f"a sheet's side must be longer than 0 mm, found {side!r}")
    return next(deviation for longest, deviation in TOLERANCE_STEPS if side <= longest)
