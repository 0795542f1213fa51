"""The seal printed in flexible filament: a ring for the cover's channel, or a loose flat one.

Words: see gasket_section.py; a flat seal is a *loop* along a path, or covers the whole *face*; an *ear* is a disc of it round a
bolt.
Conventions: drawing frame, foot on the bed at z = 0, crown or rib upwards; mm.
Limits: one seal; it is printed on size (not stretched), solid, without supports.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_length
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import region_area
from afterpart.model.edges import Note
from afterpart.model.feature import Chain, Groove, Hole, PrintedSeal
from afterpart.model.outline import Outline
from afterpart.model.piece import Add, Cut, Piece, PrintTime, Prism, Step
from afterpart.model.wishes import SealWish, Wishes
from afterpart.parts.gasket_section import FLAT_SQUEEZE, RingSection, StripSection, section_for, strip_section
from afterpart.parts.gasket_sheet import Sheet, lay_sheet, rib_line
from afterpart.parts.print_time import PLAIN_PRINTER, PrinterPace, pace_in_words, print_minutes
from afterpart.parts.seal_duty import refuse_sizes, refuse_what_cannot_be_sealed
from afterpart.words import tell

FLEXIBLE_PRINTER = replace(PLAIN_PRINTER, first_speed_mm_per_s=15.0, speed_mm_per_s=25.0)
"""Flexible filament buckles when pushed fast; figures from memory, a print that was timed beats them."""

_BELOW = 1.0
"""How far a cutting body reaches under the bed, mm."""


def make_gasket(seat: Groove | Outline, wishes: Wishes, name: str, revision: str, bolt_holes: tuple[Hole, ...] = (),
                passages: tuple[Chain, ...] = ()) -> Piece:
    """The printed seal of [seal]: a ring for the groove given, or a flat seal for the face of the outline given.

    bolt_holes: in their own sizes; without them a flat seal takes the outline's openings as they are; passages: what else
    goes through a flat seal, such as a filter's pocket.
    JobError, naming key and place: nothing printed is asked for, a size cannot work, or the seal falls apart.
    """
    seal = wishes.seal
    if seal is None or seal.kind not in ("ring", "flat"):
        raise JobError(tell('seal.kind: found "{seal_kind}"; a printed seal is "ring" (in a groove) or "flat"',
                            seal_kind=seal.kind if seal else ""))
    refuse_what_cannot_be_sealed(seal)
    refuse_sizes(seal)
    if isinstance(seat, Groove):
        if seat.cord or seal.kind != "ring":
            raise JobError(tell('seal.kind: found "{seal_kind}" with a groove for {cord}; they must match', seal_kind=seal.kind,
                                cord=tell("a cord of {cord:g} mm", cord=seat.cord) if seat.cord else tell("a printed ring")))
        return _ring(seat, wishes, seal, name, revision)
    if seal.kind == "ring":
        raise JobError(tell('seal.kind = "ring": a ring needs a groove to lie in; ask for the cover too, or set seal.kind = '
                            '"flat"'))
    return _flat(seat, wishes, seal, bolt_holes, passages, name, revision)


def _ring(groove: Groove, wishes: Wishes, seal: SealWish, name: str, revision: str) -> Piece:
    section = section_for(seal, groove.width, groove.depth, wishes.printer)
    outer, inner = _band(groove.centre, section.width)
    ring = Prism(outer, (inner,), 0.0, section.height, top_round=section.crown, bottom_bevel=section.foot_bevel)
    steps: list[Step] = [Add((ring,))]
    if section.cavity:
        cavity, core = _band(groove.centre, section.cavity)
        steps.append(Cut((Prism(cavity, (core,), -_BELOW, section.cavity_height, top_bevel=section.roof_bevel),)))
    length = chain_length(groove.centre)
    feature = PrintedSeal(section.kind, groove.centre, section.width, section.height, section.area, length,
                          section.width - 2 * section.crown, groove.width, groove.depth, section.squeeze(groove.depth),
                          section.fill(groove.width, groove.depth), seal.shore_a, seal.duty,
                          (section.width - section.cavity) / 2 if section.cavity else 0.0)
    return _piece(steps, section.height, section.area * length, feature, 1, _ring_notes(section), wishes, seal, name, revision)


def _flat(outline: Outline, wishes: Wishes, seal: SealWish, bolts: tuple[Hole, ...], passages: tuple[Chain, ...], name: str,
          revision: str) -> Piece:
    section = strip_section(seal.section, seal.thickness, seal.squeeze, wishes.printer.layer)
    sheet = lay_sheet(outline, wishes, seal, bolts, passages)
    region, rib = sheet.region, ()
    steps: list[Step] = [Add((Prism(region.outer, region.openings, 0.0, section.base),))]
    volume = region_area(region) * section.base
    if section.rib_height:
        rib = rib_line(sheet, outline, seal, bolts, section.rib_width)
        outer, inner = _band(rib, section.rib_width)
        # The rib begins inside the sheet, so that the two bodies share more than a face.
        steps.append(Add((Prism(outer, (inner,), section.base / 2, section.thickness, top_round=section.rib_crown),)))
        volume += chain_length(rib) * section.rib_area
    feature = _flat_feature(section, sheet, rib, seal)
    return _piece(steps, section.thickness, volume, feature, len(region.openings), _flat_notes(section, seal), wishes, seal, name,
                  revision)


def _flat_feature(section: StripSection, sheet: Sheet, rib: Chain, seal: SealWish) -> PrintedSeal:
    centre = rib or sheet.centre
    area = sheet.width * section.base + section.rib_area if sheet.width else 0.0
    squeeze = section.rib_height / section.thickness if rib else (FLAT_SQUEEZE if seal.squeeze is None else seal.squeeze)
    contact = section.rib_width - 2 * section.rib_crown if rib else sheet.width
    return PrintedSeal("beaded" if rib else "flat", centre, sheet.width, section.thickness, area,
                       chain_length(centre) if centre else 0.0, contact, 0.0, 0.0, squeeze, 0.0, seal.shore_a, seal.duty)


def _piece(steps: list[Step], height: float, volume: float, feature: PrintedSeal, holes: int, notes: tuple[Note, ...],
           wishes: Wishes, seal: SealWish, name: str, revision: str) -> Piece:
    pace: PrinterPace = replace(FLEXIBLE_PRINTER, layer=wishes.printer.layer)
    minutes = print_minutes(volume / height, height, pace)
    return Piece(kind="gasket", name=name, file_stem="gasket", revision=revision, steps=tuple(steps), thickness=height, labels=(),
                 print_time=PrintTime(minutes, minutes, pace_in_words(volume / height, height, pace)), notes=notes,
                 features=(feature,), through_holes=holes, material=seal.material,
                 orientation=tell("foot on the bed, sealing face upwards: {hangs}", hangs=_hangs(feature)))


def _hangs(seal: PrintedSeal) -> str:
    """Whether anything of it must be bridged."""
    return (tell("its hollow is drawn so and stays empty, its roof bridges it by itself") if seal.section == "hollow"
            else tell("no face hangs over"))


def _ring_notes(section: RingSection) -> tuple[Note, ...]:
    notes = [Note("gasket_first_layer",
                  tell("The foot's outer edges are bevelled by {foot_bevel:g} mm, so that the first layer's bulge neither jams "
                       "in the channel nor rides on its rounded bottom; the crown that seals is untouched.",
                       foot_bevel=section.foot_bevel)),
             Note("gasket_print",
                  tell("Print solid (no infill pattern) in unbroken rings, and lay the ring in unstretched: it is drawn on "
                       "size."))]
    if section.cavity:
        notes.append(Note("gasket_hollow",
                          tell("The hollow is open at the foot; its roof leans 45 degrees and a flat of {cavity:.2f} mm is "
                               "bridged.", cavity=section.cavity - 2 * section.roof_bevel)))
    return tuple(notes)


def _flat_notes(section: StripSection, seal: SealWish) -> tuple[Note, ...]:
    share = seal.squeeze if seal.squeeze is not None else FLAT_SQUEEZE
    first = Note("gasket_first_layer",
                 tell("No first-layer chamfer: it would take the sealing width from both edges; trim the first layer's bulge "
                      "with a knife, in the bolt holes above all."))
    if section.rib_height:
        return first, Note("gasket_rib",
                           tell("A rib {rib_width:.2f} mm wide stands {rib_height:.2f} mm proud of a sheet of {base:.2f} mm: "
                                "tighten until the sheet just takes the load; it seals along the rib.",
                                rib_width=section.rib_width, rib_height=section.rib_height, base=section.base))
    return first, Note("gasket_flat",
                       tell("{thickness:.2f} mm thick; tightened until it is flattened by {share:.0%} it is {thickness_2:.2f} mm "
                            "thick, and no cover rests hard on its land.", thickness=section.thickness, share=share,
                            thickness_2=section.thickness * (1 - share)))


def _band(centre: Chain, width: float) -> tuple[Chain, Chain]:
    """Outer and inner edge of a strip along a closed line.  JobError: it closes on itself."""
    outer, inner = offset_chain(centre, width / 2), offset_chain(centre, -width / 2)
    if len(outer) != 1 or len(inner) != 1:
        raise JobError(tell("seal.path: a strip {width:.2f} mm wide closes on itself; choose another path or a narrower seal",
                            width=width))
    return outer[0], inner[0]
