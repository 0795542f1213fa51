"""The files of a check plate: for each piece STEP, 3MF and STL, and for the whole one paper and one picture.

Every body is checked before it is handed on: found valid by the kernel when built, and its STEP file read back with as many
solids and the same volume.  The kernel, a process of its own, reads while the picture is drawn here.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import textwrap

from afterpart.errors import SolidError
from afterpart.model.outline import Outline
from afterpart.model.piece import Piece
from afterpart.model.release import TitleBlock
from afterpart.release.paper import A4, BOLD, Paper
from afterpart.release.picture import solid_picture
from afterpart.release.stl import stl_bytes
from afterpart.release.template import OpeningMark, draw_template, opening_marks
from afterpart.release.three_mf import OnBed, three_mf_bytes
from afterpart.release.words import word
from afterpart.solid.body import Body, Mesh
from afterpart.solid.worker import Workshop

STEP_VOLUME_TOLERANCE = 1e-6
"""Largest relative difference of volume between a body and its STEP file."""
_LINE_CHARACTERS = 108


def plate_files(
    pieces: tuple[Piece, ...], outline: Outline, title: TitleBlock, workshop: Workshop | None = None
) -> dict[str, bytes]:
    """File name -> contents.  workshop: a running kernel process to use; without one, one is started and ended here.

    SolidError: a body cannot be built, or does not pass its checks.
    """
    if workshop is None:
        with Workshop() as own:
            return plate_files(pieces, outline, title, own)
    files: dict[str, bytes] = {}
    bodies = []
    workshop.begin(pieces)
    for piece in pieces:
        body = workshop.build(piece)
        bodies.append(body)
        files[f"{piece.file_stem}.step"] = body.step
        files[f"{piece.file_stem}.3mf"] = _plate_3mf(piece, body.mesh, title)
        files[f"{piece.file_stem}_mm.stl"] = stl_bytes(body.mesh)
    files["check_plate.pdf"] = _paper(pieces, tuple(bodies), outline, title)
    _check(pieces, tuple(bodies))
    files["check_plate.png"] = solid_picture(tuple(b.mesh for b in bodies))
    return files


def _plate_3mf(piece: Piece, mesh: Mesh, title: TitleBlock) -> bytes:
    name = f"{piece.name} {piece.revision}".strip()
    return three_mf_bytes((OnBed(mesh, name, piece.material),), name, title.made_with, piece.orientation)


def _check(pieces: tuple[Piece, ...], bodies: tuple[Body, ...]) -> None:
    for piece, body in zip(pieces, bodies, strict=True):
        back = body.read_back
        difference = abs(back.volume - body.volume) / body.volume
        if back.solids != body.solids or difference > STEP_VOLUME_TOLERANCE:
            raise SolidError(
                f"{piece.file_stem}.step does not read back as built: {back.solids} solids of {back.volume:.6f} mm3 instead "
                f"of {body.solids} of {body.volume:.6f} mm3; correct tiny segments in the drawing"
            )


def _paper(pieces: tuple[Piece, ...], bodies: tuple[Body, ...], outline: Outline, title: TitleBlock) -> bytes:
    """The template with the numbers where the plate has them, then a page about the pieces."""
    on_plate = {label.number: label.at for piece in pieces for label in piece.labels}
    marks = tuple(OpeningMark(m.number, m.center, on_plate.get(m.number, m.at), m.reach) for m in opening_marks(outline))
    paper = Paper(title, _told("subject"))
    draw_template(paper, outline, title, _told("subject"), marks)
    _about(paper, pieces, bodies, title)
    return paper.finish()


def _about(paper: Paper, pieces: tuple[Piece, ...], bodies: tuple[Body, ...], title: TitleBlock) -> None:
    lines: list[tuple[str, bool]] = [
        (f"{title.name}  {title.revision}  {title.date}".rstrip() + f"  -  {_told('about')}", True)
    ]
    for piece, body in zip(pieces, bodies, strict=True):
        size = " x ".join(f"{high - low:.1f}" for low, high in zip(body.low, body.high, strict=True))
        lines += [
            ("", False),
            (
                ", ".join((f"{piece.file_stem}: {piece.name} {piece.revision}, {size} mm, {body.volume / 1000:.2f} cm3",
                           *(() if body.solids == 1 else (_told("loose", count=body.solids),)))),
                True,
            ),
        ]
        lines += _wrapped(
            _told("time", minutes=piece.print_time.minutes, full=piece.print_time.full_minutes, how=piece.print_time.how)
        )
        lines += [line for remark in body.remarks for line in _wrapped(_told("kernel", remark=remark))]
    notes = dict.fromkeys(note.text for piece in pieces for note in piece.notes)
    lines += [("", False), (_told("notes"), True)] + [line for note in notes for line in _wrapped(note)]
    lines += [("", False)] + _wrapped(_told("how"))
    per_page = int((A4[1] - 40) / 4.4)
    for start in range(0, len(lines), per_page):
        paper.new_page(A4)
        for i, (text, is_bold) in enumerate(lines[start : start + per_page]):
            paper.text((20.0, A4[1] - 24.0 - 4.4 * i), text, 3.2, *([BOLD] if is_bold else []))


def _told(key: str, **fields: object) -> str:
    return word("plate", key, **fields)


def _wrapped(text: str) -> list[tuple[str, bool]]:
    return [(line, False) for line in textwrap.wrap(text, _LINE_CHARACTERS)]
