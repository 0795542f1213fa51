"""The section of a seal groove before it has a place: by the table, or from what is wanted of it.

Words: a *size* is depth, width and bottom rounding, with what its seal asks of the path: the least corner and the least land.
Conventions: mm; shares between 0 and 1.
Limits: rectangular grooves in a flat face.  The working values below are judgements, to be proved by a trial print.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.formulas.seal import groove_fill, groove_from, least_corner_radius, squeeze
from afterpart.model.wishes import SealWish
from afterpart.parts.gasket_section import SECTION_SOURCE
from afterpart.parts.groove_land import LEAST_LAND
from afterpart.parts.groove_path import KEPT_LAND
from afterpart.standards.orings import CORDS, CordGroove, groove_for_cord
from afterpart.words import tell

LEAST_FLOOR = 1.0
"""What is left of the cover under a groove, mm: five layers."""

RING_WIDTH = 4.0
"""Of a printed ring's channel on a path of our own, mm."""

DEEP = 0.55
"""Depth of a printed ring's channel as a share of its width, where no depth is known."""

RING_CORNER = 1.0
"""Radius of the inner wall's corners for a printed ring, mm: printed lines still follow it cleanly."""

RING_BOTTOM = 0.3
"""Rounding at the bottom of a printed ring's channel, mm: as in the grooves for thin cords."""

LEAST_SEALING_CORD = 2.5
"""Thinner cords lose much of their squeeze to a printed groove's 0.1 mm, and are chosen last."""


@dataclass(frozen=True)
class Size:
    """cord: its diameter, 0 for a printed ring; corner: least radius of the inner wall; land: least solid face beside it."""

    cord: float
    depth: float
    width: float
    radius: float
    corner: float
    land: float
    source: str


def ring_size(width: float, depth: float) -> Size:
    """The channel of a printed ring."""
    return Size(0.0, depth, width, RING_BOTTOM, RING_CORNER, LEAST_LAND, str(SECTION_SOURCE))


def depth_for(width: float, thickness: float, layer: float) -> float:
    """Depth of a printed ring's channel where none is known: DEEP of the width in whole layers, the floor kept."""
    room = max(thickness - LEAST_FLOOR, 0.0)
    return round(max(int(min(DEEP * width, room) / layer + 1e-6), 1) * layer, 9)


def cord_size(diameter: float, seal: SealWish) -> Size:
    """The table's groove for a cord, or the one that gives the wanted squeeze and fill; what is not told is the table's.

    JobError: the table does not know the cord and squeeze or fill is missing, or the groove is no wider than its cord.
    """
    table = groove_for_cord(min((cord.diameter for cord in CORDS), key=lambda d: abs(d - diameter)))
    is_known = abs(table.cord - diameter) < 1e-6
    if not is_known and (seal.squeeze is None or seal.fill is None):
        known = ", ".join(f"{cord.diameter:g}" for cord in CORDS)
        raise JobError(tell("seal.cord: no table groove for a cord of {diameter:g} mm, known are {known}; choose one of these, "
                            "or give both seal.squeeze and seal.fill", diameter=diameter, known=known))
    corner = least_corner_radius(diameter)
    if seal.squeeze is None and seal.fill is None:
        return Size(diameter, table.depth, table.width, table.radius, corner, KEPT_LAND, str(table.source))
    depth, width = _wanted(diameter, table, seal)
    return Size(diameter, depth, width, table.radius, corner, KEPT_LAND,
                tell("wanted squeeze {squeeze:.3g} and fill {groove_fill:.3g}", squeeze=squeeze(diameter, depth),
                     groove_fill=groove_fill(diameter, width, depth)))


def _wanted(diameter: float, table: CordGroove, seal: SealWish) -> tuple[float, float]:
    """Depth and width from seal.squeeze and seal.fill, the table's where one is not told."""
    share = seal.squeeze if seal.squeeze is not None else squeeze(diameter, table.depth)
    fill = seal.fill if seal.fill is not None else groove_fill(diameter, table.width, table.depth)
    depth, width = groove_from(diameter, share, fill)
    if width <= diameter:
        raise JobError(tell("seal.squeeze = {share:.3g}, seal.fill = {fill:.3g}: the groove would be {width:.2f} mm wide, no "
                            "wider than its cord of {diameter:g} mm, which needs room to bulge; set a smaller seal.fill",
                            share=share, fill=fill, width=width, diameter=diameter))
    return depth, width


def preferred_sizes(seal: SealWish, thickness: float, channel: tuple[float, float | None] | None) -> tuple[Size, ...]:
    """The cords to try, the best first.

    The maker's own alone; else the one nearest to a recovered channel (width, depth or None) alone; else, in a cover of this
    thickness, those whose groove is no deeper than half of it: against dust the thinnest that still seals in a printed groove
    (least force), against liquid the thickest (most to give away to tolerances).
    """
    if seal.cord is not None:
        return (cord_size(seal.cord, seal),)
    sizes = tuple(cord_size(cord.diameter, seal) for cord in CORDS)
    if channel is not None:
        width, depth = channel
        return (min(sizes, key=lambda s: abs(s.width - width) + (abs(s.depth - depth) if depth else 0.0)),)
    fitting = tuple(size for size in sizes if size.depth <= thickness / 2) or sizes[:1]
    thick = sorted((s for s in fitting if s.cord >= LEAST_SEALING_CORD), key=lambda s: s.cord if seal.duty == "dust" else -s.cord)
    return (*thick, *sorted((s for s in fitting if s.cord < LEAST_SEALING_CORD), key=lambda s: -s.cord))
