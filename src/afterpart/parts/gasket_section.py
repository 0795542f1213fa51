"""The section of a printed seal: a bead or a hollow ring for a channel, a flat strip with or without a rib.

Words: the *foot* is the face on the channel's floor (and on the bed while printing); the *crown* is the rounded top that the
other face flattens; *proud* is how far the free ring stands above the channel; *fill* is the ring's section as a share of the
channel's, which a rubber that keeps its volume can never bring above 1.
Conventions: a section lies in (across, up), across from the middle of the ring, up from its foot; mm.
Limits: sizes only; forces and pressures are for the checks.  The figures below are working values, not from a standard.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.model.wishes import PrinterWish, SealWish
from afterpart.sources import Source
from afterpart.words import tell

SECTION_SOURCE = Source("Working values for printed seals, to be proved by a trial print", from_memory=True)

FIT_PLAY = 0.2
"""Between a printed ring and each wall of its channel, mm."""

WALL = 0.8
"""Of a hollow ring: two printed lines."""

GREATEST_FILL = 0.90
"""Above it a printed ring finds no room to give way and holds the faces apart."""

LEAST_RING = 1.6
"""Narrowest ring, mm: four printed lines."""

LEAST_HOLLOW = 2.6
"""Narrowest hollow ring, mm: two walls and one millimetre between them."""

FOOT = 0.6
"""Height of the upright part below the crown, mm: three layers that keep the ring in its channel."""

FOOT_BEVEL = 0.3
"""45 degree bevel of the foot, mm: the first layer's bulge must not jam in the channel or ride on its rounded bottom."""

SQUEEZE: dict[tuple[str, str], float] = {
    ("bead", "dust"): 0.12, ("hollow", "dust"): 0.20, ("bead", "liquid"): 0.18, ("hollow", "liquid"): 0.25}
"""Share of its free height that a ring is flattened by, by section and duty, where the job gives none."""

LINE_PER_NOZZLE = 1.125
"""Width of a printed line over the nozzle's."""

FLAT_SQUEEZE = 0.10
"""Share of its thickness that a plain flat seal is flattened by, where the job gives none: a broad face asks for much force."""

RIB_SQUEEZE = 0.25
"""Share of a beaded flat seal's thickness that its rib stands proud."""

RIB_WIDTH = 1.6
"""Of the rib on a flat seal: four printed lines."""


@dataclass(frozen=True)
class RingSection:
    """Section of a ring for a channel.  kind: bead | hollow; width, height: free; crown: radius of both upper edges;
    foot_bevel; cavity: width of the hollow, open at the foot, 0 for none; cavity_height; roof_bevel: its 45 degree shoulders."""

    kind: str
    width: float
    height: float
    crown: float
    foot_bevel: float
    cavity: float = 0.0
    cavity_height: float = 0.0
    roof_bevel: float = 0.0

    @property
    def area(self) -> float:
        """Of the section, mm2: rectangle less two rounded and two bevelled corners, less the hollow."""
        whole = self.width * self.height - 2 * (1 - math.pi / 4) * self.crown**2 - self.foot_bevel**2
        return whole - (self.cavity * self.cavity_height - self.roof_bevel**2)

    def squeeze(self, depth: float) -> float:
        """Share of the free height that goes when the faces meet over a channel of this depth."""
        return (self.height - depth) / self.height

    def fill(self, width: float, depth: float) -> float:
        """Share of a channel's section that the ring takes."""
        return self.area / (width * depth)


@dataclass(frozen=True)
class StripSection:
    """Section of a loose flat seal.  base: thickness beside the rib; rib_width, rib_height, rib_crown: 0 where it has none."""

    thickness: float
    base: float
    rib_width: float = 0.0
    rib_height: float = 0.0
    rib_crown: float = 0.0

    @property
    def rib_area(self) -> float:
        """Of the rib's section above the sheet, mm2: rectangle less two rounded corners."""
        return self.rib_width * self.rib_height - 2 * (1 - math.pi / 4) * self.rib_crown**2


def ring_section(kind: str, width: float, depth: float, squeeze: float, line: float, layer: float) -> RingSection:
    """The ring for a channel of this width and depth that is flattened by at least `squeeze`; line, layer: width and height of
    a printed line.

    Its height is the next whole number of layers, since a printer makes no other.  The crown takes all of the width but one line,
    so that the faces first meet along a narrow strip: the least force for a given squeeze.  A bead that would fill more than
    GREATEST_FILL is made narrower.  JobError: no ring fits.
    """
    if not 0 < squeeze < 0.5:
        raise JobError(tell("seal.squeeze: found {squeeze:g}; a printed ring is flattened by a share above 0 and below 0.5",
                            squeeze=squeeze))
    height = round(math.ceil(depth / (1 - squeeze) / layer - 1e-6) * layer, 9)
    across = width - 2 * FIT_PLAY
    least = LEAST_HOLLOW if kind == "hollow" else LEAST_RING
    if across < least or height < FOOT + line:
        raise JobError(f"seal.section: a {kind} ring needs a channel at least {least + 2 * FIT_PLAY:.1f} mm wide and "
                       f"{(FOOT + line) * (1 - squeeze):.1f} mm deep; found {width:.2f} by {depth:.2f}; "
                       + ('set seal.section = "bead"' if kind == "hollow" else "choose a wider channel or a round cord"))
    made = _hollow(across, height, line) if kind == "hollow" else _bead(across, height, line)
    if made.fill(width, depth) > GREATEST_FILL:
        made = _narrowed(made, GREATEST_FILL * width * depth, line)
    if made.width < least or made.fill(width, depth) > GREATEST_FILL + 1e-9:
        raise JobError(tell("seal.squeeze: flattened by {squeeze:.0%} the ring would need more room than the channel has "
                            "({width:.2f} by {depth:.2f} mm); set a smaller seal.squeeze", squeeze=squeeze, width=width,
                            depth=depth))
    return made


def section_for(seal: SealWish, width: float, depth: float, printer: PrinterWish) -> RingSection:
    """The ring that [seal] asks for in a channel of this width and depth.  JobError: see ring_section."""
    kind = "hollow" if seal.section == "hollow" else "bead"
    squeeze = seal.squeeze if seal.squeeze is not None else SQUEEZE[kind, seal.duty]
    return ring_section(kind, width, depth, squeeze, LINE_PER_NOZZLE * printer.nozzle, printer.layer)


def strip_section(kind: str, thickness: float, squeeze: float | None, layer: float) -> StripSection:
    """A flat strip, or one with a rib that stands proud by `squeeze` of the thickness (whole layers, at least two).

    JobError: thickness or squeeze cannot work.
    """
    if not thickness > 0 or not 0 < (share := RIB_SQUEEZE if squeeze is None else squeeze) < 0.6:
        raise JobError(tell("seal.thickness, seal.squeeze: found {thickness:g} mm and {squeeze}; a flat seal needs a thickness "
                            "above 0 and a squeeze above 0 and below 0.6", thickness=thickness, squeeze=squeeze))
    if kind != "beaded":
        return StripSection(thickness, thickness)
    rib = round(max(round(share * thickness / layer), 2) * layer, 9)
    if thickness - rib < 2 * layer:
        raise JobError(tell("seal.thickness: {thickness:g} mm leaves {thickness_2:.2f} mm beside a rib of {rib:.2f} mm; two "
                            'layers ({layer:.2f} mm) are needed: set a thicker one or section = "flat"', thickness=thickness,
                            thickness_2=thickness - rib, rib=rib, layer=2 * layer))
    return StripSection(thickness, thickness - rib, RIB_WIDTH, rib, min(0.8 * rib, 0.4 * RIB_WIDTH))


def _bead(width: float, height: float, line: float) -> RingSection:
    crown = min((width - line) / 2, height - FOOT)
    return RingSection("bead", width, height, crown, FOOT_BEVEL)


def _hollow(width: float, height: float, line: float) -> RingSection:
    """The hollow's shoulders lean 45 degrees, so that it prints without supports; a flat of one line bridges the rest."""
    crown = min((width - line) / 2, height - FOOT)
    cavity, tall = width - 2 * WALL, height - WALL
    shoulder = min(max((cavity - line) / 2, 0.0), tall - 0.2)
    return RingSection("hollow", width, height, crown, FOOT_BEVEL, cavity, tall, shoulder)


def _narrowed(made: RingSection, area: float, line: float) -> RingSection:
    """The same bead as wide as gives this area: bisection, since the crown goes with the width."""
    if made.kind == "hollow":
        return made
    low, high = 0.5, made.width
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _bead(middle, made.height, line).area < area else (low, middle)
    return _bead(low, made.height, line)
