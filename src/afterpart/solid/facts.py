"""Everything the checks want to know of one built piece, measured on its solid.

Conventions: mm, mm2, mm3; the piece's build frame, its lowest face on the bed at z = 0.
Limits: what each figure leaves out stands in the file that measures it (overhang, thickness, bed_edge, build_ways,
groove_sections).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.case import Hanging, PieceFacts
from afterpart.model.feature import Groove
from afterpart.model.piece import Piece
from afterpart.model.wishes import PrinterWish
from afterpart.solid.bed_edge import bed_edge
from afterpart.solid.body import Body
from afterpart.solid.build_ways import bed_area, best_in_words, ways_to_build
from afterpart.solid.groove_sections import groove_sections
from afterpart.solid.overhang import overhangs
from afterpart.solid.thickness import thinnest_wall
from afterpart.solid.worker import Workshop


def facts_of(piece: Piece, body: Body, printer: PrinterWish, workshop: Workshop | None = None) -> PieceFacts:
    """Measure the piece.  workshop: to cut through its grooves; None: they are not measured.  SolidError: not closed."""
    mesh, wall = body.mesh, thinnest_wall(body.mesh)
    grooves = [feature for feature in piece.features if isinstance(feature, Groove)]
    sections = tuple(section for groove in grooves for section in groove_sections(
        groove, lambda point, direction: workshop.profile(body.step, point, direction))) if workshop is not None else ()
    found = overhangs(mesh, printer.angle_deg)
    ways = ways_to_build(mesh, printer, found)
    hanging = tuple(Hanging(o.kind, o.area, o.at, o.span) for o in found)
    return PieceFacts(piece.file_stem, body.volume, body.low, body.high, bed_area(mesh), hanging,
                      wall.thickness if wall else None, sections, wall.at if wall else None, bed_edge(mesh), ways,
                      best_in_words(ways))
