"""Limits of size where they matter on a new piece, and what each rests on.

Words: *limits* are the smallest and largest size that still do the job; a *locating* hole sets the place, a *clearing* one lets
something through.  Sizes without limits of their own fall under the general tolerance named in the title block.
Conventions: mm.  Rules: a bolt hole strays by half its grade either way, usual grade of prints where it locates, coarse where
it clears, and never below the thread's own diameter; a cord's groove keeps to its table; a printed ring's groove to the
printer's tolerance in width and half a layer in depth; a lip or a located edge keeps half its clearance.
Limits: the grades of prints are from memory; the hole coupon knows the printer better.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.feature import Groove, Hole
from afterpart.release.lengths import Length, in_inches, inch_size, number_text, unit_word
from afterpart.release.words import word
from afterpart.sources import Source
from afterpart.standards.orings import GROOVE_SOURCE, GROOVES
from afterpart.standards.printing import GUIDES_SOURCE, rule
from afterpart.standards.threads import THREADS
from afterpart.standards.tolerances import (
    GENERAL_RANGE,
    GENERAL_SOURCE,
    PRINT_GRADES,
    PRINT_SOURCE,
    general_tolerance,
    it_tolerance,
)

GENERAL_CLASS = "c"
"""Class of ISO 2768-1 that prints by material extrusion keep without effort (judgement)."""

FIXED_FASTENER = Source("Fixed fastener rule H = F + 2 T of position tolerancing (ASME Y14.5, appendix)", from_memory=True)
_SAME = 0.005


@dataclass(frozen=True)
class SizeLimits:
    """low, high: limits of size; why: what they rest on."""

    low: float
    high: float
    why: str


def hole_limits(hole: Hole) -> SizeLimits:
    """Of a hole that something goes through."""
    grade = PRINT_GRADES[1] if hole.role == "locates" else PRINT_GRADES[2]
    stray = it_tolerance(hole.diameter, grade) / 2.0
    thread = thread_through(hole)
    least = thread if hole.diameter > thread else 0.0
    return SizeLimits(max(hole.diameter - stray, least), hole.diameter + stray, f"{grade}, {PRINT_SOURCE}")


def thread_through(hole: Hole) -> float:
    """Nominal diameter of the metric thread that goes through a hole; 0 where it is none of the table's."""
    words = hole.screw.split()
    return next((t.nominal for t in THREADS if t.size in words), 0.0)


def groove_width_limits(groove: Groove) -> SizeLimits:
    """Of the groove's width."""
    for row in GROOVES:
        if abs(row.cord - groove.cord) < _SAME and abs(row.width - groove.width) < _SAME:
            return SizeLimits(groove.width, groove.width + row.width_plus, str(GROOVE_SOURCE))
    stray = rule("tolerance").low
    return SizeLimits(groove.width - stray, groove.width + stray, str(GUIDES_SOURCE))


def groove_depth_limits(groove: Groove, layer: float) -> SizeLimits:
    """Of the groove's depth, made in layers of this height."""
    for row in GROOVES:
        if abs(row.cord - groove.cord) < _SAME and abs(row.depth - groove.depth) < _SAME:
            return SizeLimits(groove.depth, groove.depth + row.depth_plus, str(GROOVE_SOURCE))
    why = word("drawing", "why_layer", layer=Length(layer), unit=unit_word())
    return SizeLimits(groove.depth - layer / 2, groove.depth + layer / 2, why)


def located_limits(size: float, clearance: float) -> SizeLimits:
    """Of a size across a lip or edge that locates with this clearance all round: at least half of it stays."""
    why = word("drawing", "why_clearance", clearance=Length(clearance), unit=unit_word())
    return SizeLimits(size - clearance, size + clearance, why)


def general_limits(size: float) -> SizeLimits | None:
    """Of a size without limits of its own; None outside the table."""
    stray = general_tolerance(size, GENERAL_CLASS) if GENERAL_RANGE.holds(size) else None
    return None if stray is None else SizeLimits(size - stray, size + stray, str(GENERAL_SOURCE))


def position_tolerance(holes: tuple[Hole, ...]) -> float | None:
    """Diameter of the zone for the axes of bolt holes with threads on the other side, T = (H - F) / 2 of the tightest hole
    (FIXED_FASTENER); None where no hole has a bolt."""
    rooms = [hole_limits(h).low - thread_through(h) for h in holes if thread_through(h) > 0.0]
    return min(rooms) / 2.0 if rooms else None


def size_text(nominal: float, limits: SizeLimits | None) -> str:
    """A size and the limits beside it, in the unit of the papers."""
    if in_inches() and limits is not None:
        return inch_size(nominal, limits.low, limits.high)
    return f"{number_text(nominal)} {limits_text(nominal, limits)}".rstrip()


def limits_text(nominal: float, limits: SizeLimits | None) -> str:
    """As it stands in mm beside a size: "±0.11", or "+0.25 / 0"; nothing without limits."""
    if limits is None:
        return ""
    up, down = limits.high - nominal, nominal - limits.low
    if abs(up - down) < _SAME:
        return f"±{up:.2f}"
    return f"{_signed(up)} / {_signed(-down)}"


def _signed(value: float) -> str:
    return "0" if abs(value) < _SAME else f"{value:+.2f}"
