"""One 3MF for each bed that the pieces fill: what one filament prints together, laid out, named, with the way to lie in words.

Words: a *bed* holds pieces of one filament; the arrangement is set in the middle of the printer's bed.
Limits: what is printed alone stays off: the coupon, printed before all else, and a piece that comes in several pilot sizes, of
which the coupon chooses one.  A piece that is larger than the bed is on none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.bed_layout import Laid, lay_out
from afterpart.model.assembly import Build
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.model.release import TitleBlock
from afterpart.model.wishes import PrinterWish
from afterpart.release.build_checks import CUT_KINDS
from afterpart.release.shown import spoken, tint_of
from afterpart.release.three_mf import OnBed, three_mf_bytes
from afterpart.release.words import word
from afterpart.solid.body import Mesh
from afterpart.standards.printing import rule

BED_NAME = re.compile(r"print_bed_[A-Za-z0-9-]+_[0-9]+\.3mf")
"""What a file of this kind is called."""
ALONE = ("hole_coupon", "check_plate")
"""Kinds of pieces that are printed by themselves, before the others."""


@dataclass(frozen=True)
class BedOf:
    """One bed.  file: its name; filament: what all of it is printed from; number: from 1; laid: its pieces by file_stem."""

    file: str
    filament: str
    number: int
    laid: tuple[Laid, ...]


def beds_of(build: Build, meshes: Mapping[str, Mesh], printer: PrinterWish) -> tuple[BedOf, ...]:
    """How the pieces lie, one filament after the other.  meshes: of the printed pieces, by file_stem."""
    along = {piece.file_stem: piece.material or printer.material for piece in build.pieces
             if piece.file_stem in meshes and _goes_along(piece, build)}
    beds = []
    for filament in sorted(set(along.values())):
        alike = tuple((stem, _size(meshes[stem])) for stem, own in along.items() if own == filament)
        plan = lay_out(alike, printer.bed, rule("bed_gap").low)
        beds += [BedOf(_name(filament, number), filament, number, tuple(one for one in plan.laid if one.bed == number))
                 for number in range(1, plan.beds + 1)]
    return tuple(beds)


def bed_files(build: Build, meshes: Mapping[str, Mesh], printer: PrinterWish, title: TitleBlock) -> dict[str, bytes]:
    """Name -> contents of every bed.  meshes: of the printed pieces, by file_stem."""
    pieces = {piece.file_stem: piece for piece in build.pieces}
    return {bed.file: _bed(bed, pieces, meshes, printer, title) for bed in beds_of(build, meshes, printer)}


def _goes_along(piece: Piece, build: Build) -> bool:
    """True unless the piece is cut, is printed by itself, or comes in several sizes."""
    comes_in_sizes = any(other.file_stem.startswith(f"{piece.file_stem}_pilot_") for other in build.pieces)
    return piece.kind not in (*ALONE, *CUT_KINDS) and "_pilot_" not in piece.file_stem and not comes_in_sizes


def _name(filament: str, bed: int) -> str:
    return f"print_bed_{re.sub('[^A-Za-z0-9]+', '-', filament).strip('-') or 'filament'}_{bed}.3mf"


def _size(mesh: Mesh) -> Point:
    width, depth, _ = np.ptp(mesh.vertices, axis=0).tolist()
    return width, depth


def _bed(bed: BedOf, pieces: Mapping[str, Piece], meshes: Mapping[str, Mesh], printer: PrinterWish, title: TitleBlock) -> bytes:
    """The bed's archive, its pieces in the middle of the printer's bed."""
    shift = tuple((printer.bed[axis] - max(one.at[axis] + one.size[axis] for one in bed.laid)) / 2 for axis in (0, 1))
    objects, told = [], [word("print_settings", "bed_about", filament=bed.filament)]
    for one in bed.laid:
        piece = pieces[one.name]
        objects.append(OnBed(meshes[one.name], f"{spoken(piece)} {piece.revision}".strip(), bed.filament, tint_of(piece.kind, 0),
                             (one.at[0] + shift[0], one.at[1] + shift[1]), one.turned))
        told.append(word("print_settings", "bed_lies", piece=spoken(piece),
                         lies=piece.orientation or word("print_settings", "lies_unknown")))
    name = word("print_settings", "bed_title", name=title.name, revision=title.revision, filament=bed.filament,
                number=bed.number)
    return three_mf_bytes(tuple(objects), name, title.made_with, " ".join(told))
