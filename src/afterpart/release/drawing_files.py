"""The papers of a release that come from the outline and the new piece: drawing, paper to lay on the part, inspection sheet.

Names: drawing.pdf and drawing.dxf (only with a cover, bracket or plate among the pieces), paper.pdf, inspection.pdf,
inspection.csv.  Same build, same bytes.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.assembly import Build
from afterpart.model.job import Job
from afterpart.model.outline import Outline, Point
from afterpart.model.piece import Piece
from afterpart.model.release import PartPhoto, TitleBlock
from afterpart.release.characteristics import Characteristic, characteristics
from afterpart.release.cut_view import cut_piece
from afterpart.release.drawing_dxf import release_drawing_dxf
from afterpart.release.inspection_rows import inspection_csv
from afterpart.release.inspection_sheet import inspection_pdf
from afterpart.release.lengths import measured_in
from afterpart.release.old_part_sheet import shown_dimensions
from afterpart.release.release_drawing import SheetChoice, release_drawing_pdf
from afterpart.release.template import template_pdf
from afterpart.release.title_field import page_size
from afterpart.release.words import word
from afterpart.solid.worker import Workshop

DRAWING_FILES = {"drawing.pdf": "mm", "drawing.dxf": "mm", "paper.pdf": "mm", "inspection.pdf": "mm", "inspection.csv": "mm"}
"""Every name that may come, with its unit."""


def drawing_files(
    build: Build,
    outline: Outline,
    job: Job,
    title: TitleBlock,
    workshop: Workshop,
    choice: SheetChoice | None = None,
    photo: PartPhoto | None = None,
) -> dict[str, bytes]:
    """File name -> contents.  workshop: a running kernel process, best the one that built the pieces: it remembers them;
    photo: of the old part (photo/part_photo.py, for the places that `balloon_places` answers), None to leave it out.

    SolidError: the piece cannot be built.  ValueError: the outline is not in mm.  KeyError: unknown page.
    """
    choice = choice or SheetChoice()
    piece = drawn_piece(build)
    files: dict[str, bytes] = {}
    found: tuple[Characteristic, ...] = ()
    if piece is not None:
        cut = cut_piece(piece, workshop)
        found = characteristics(piece, outline, job)
        files["drawing.pdf"] = release_drawing_pdf(piece, outline, job, title, cut, choice)
        with measured_in("mm"):
            # its geometry is in mm, so are its words
            files["drawing.dxf"] = release_drawing_dxf(piece, outline, job, title, cut)
    sheet = page_size(choice.page, upright=True)
    files["paper.pdf"] = template_pdf(outline, title, word("drawing", "subject_paper"), word("drawing", "paper_how"), sheet)
    files["inspection.pdf"] = inspection_pdf(outline, found, title, choice.page, choice.author, photo, shows_outside(job))
    with measured_in("mm"):
        found = characteristics(piece, outline, job) if piece is not None else ()
        files["inspection.csv"] = inspection_csv(outline, found)
    return files


def shows_outside(job: Job) -> bool:
    """Does the drawing show the part's outside, and not the face that meets the machine?"""
    return bool(job.shots) and job.shots[0].face == "other"


def balloon_places(outline: Outline) -> dict[str, Point]:
    """What each balloon of the old part means, in the drawing's frame; named as PartPhoto.spots."""
    places: dict[str, Point] = {}
    for shown in shown_dimensions(outline):
        places[shown.dimension.id] = shown.mark
        if shown.span is not None:
            places |= {f"{shown.dimension.id} start": shown.span[0], f"{shown.dimension.id} end": shown.span[1]}
    return places


def drawn_piece(build: Build) -> Piece | None:
    """The piece that is drawn and inspected: the one that takes the old part's place; None where it is not made."""
    return next((piece for piece in build.pieces if piece.kind == "cover"), None)
