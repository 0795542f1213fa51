"""The files of a build: for each piece STEP, 3MF, STL, GLB and a picture; for each bed of pieces one 3MF more; for the
assembly GLB and two pictures; for a filter's cuts a true-scale paper.

Foam is cut, not printed: a filter element has a DXF of its cut as well, its 3MF says so, and it lies on no bed.
Where the build has a correction for one printer, 3MF and STL are made by it (corrected_mesh.py); all else is as drawn.  Nothing
is answered unless every check of build_checks.py has passed.  The kernel, in processes of its own, builds the next bodies while
the pictures of those that are there are drawn here.
Limits: STL has no unit, so its name says mm; GLB is in metres, as the format asks; all others carry mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.model.assembly import Build, PrintCorrection
from afterpart.model.edges import Note
from afterpart.model.feature import Seat
from afterpart.model.outline import Loop
from afterpart.model.piece import Add, Piece, Prism
from afterpart.model.release import TitleBlock
from afterpart.model.wishes import PrinterWish
from afterpart.release.bed_files import bed_files
from afterpart.release.build_checks import CUT_KINDS, check_assembly, check_body, print_notes
from afterpart.release.build_pictures import closed_picture, exploded_picture, piece_picture
from afterpart.release.corrected_mesh import corrected_mesh, is_corrected
from afterpart.release.cutting_paper import cutting_paper_pdf
from afterpart.release.dxf import loops_dxf
from afterpart.release.glb import glb_bytes
from afterpart.release.put_together import Part, parts_of
from afterpart.release.shown import Shown, spoken, tint_of
from afterpart.release.stl import stl_bytes
from afterpart.release.three_mf import OnBed, three_mf_bytes
from afterpart.release.words import word
from afterpart.solid.body import Body, Mesh
from afterpart.solid.worker import Workshop

PIECE_ENDINGS = (".step", ".3mf", "_mm.stl", ".glb", ".png", ".dxf")
"""How the files of a piece may end, after its file_stem."""


@dataclass(frozen=True)
class BuildFiles:
    """files: name -> contents, complete; notes: what the checks found worth telling; bodies: one for each piece, in order."""

    files: dict[str, bytes]
    notes: tuple[Note, ...]
    bodies: tuple[Body, ...]


def build_files(build: Build, title: TitleBlock, workshop: Workshop | None = None, printer: PrinterWish | None = None,
                say: Callable[[str], None] = lambda text: None) -> BuildFiles:
    """Every file of the build.  workshop: a running kernel process to use; without one, one is started and ended here;
    printer: what the pieces are printed on, None for the usual one.

    SolidError: a body cannot be built or does not pass its checks, or pieces run into each other.  JobError: the build's own
    names do not agree (after a change by hand).
    """
    if workshop is None:
        with Workshop() as own:
            return build_files(build, title, own, printer, say)
    printer = printer or PrinterWish()
    check_names(build)
    say(word("pieces", "say_making", pieces=", ".join(map(spoken, build.pieces))))
    made: dict[int, tuple[dict[str, bytes], tuple[Note, ...]]] = {}
    for place in workshop.as_built(build.pieces, circumscribed=printer.circumscribed):
        piece = build.pieces[place]
        body = workshop.build(piece, circumscribed=printer.circumscribed)
        check_body(piece, body, body.read_back, printer.circumscribed)
        made[place] = _piece_files(piece, body, title, printer, build.correction)
    bodies = workshop.build_all(build.pieces, circumscribed=printer.circumscribed)
    meshes = {piece.file_stem: _printed_mesh(piece, body, printer, build.correction)
              for piece, body in zip(build.pieces, bodies, strict=True) if piece.kind not in CUT_KINDS}
    files = {name: data for place in sorted(made) for name, data in made[place][0].items()}
    notes = tuple(note for place in sorted(made) for note in made[place][1])
    files |= bed_files(build, meshes, printer, title)
    files |= _cut_paper(build, title)
    if build.assembly.places:
        say(word("pieces", "say_putting"))
        parts = parts_of(build, {piece.file_stem: body.mesh for piece, body in zip(build.pieces, bodies, strict=True)})
        notes += check_assembly(parts)
        files |= _assembly_files(parts, title)
    return BuildFiles(files, notes, tuple(bodies))


def check_names(build: Build) -> None:
    """Raise JobError unless every piece has a file name of its own and everything in the assembly is there, once."""
    stems = [piece.file_stem for piece in build.pieces]
    if len(set(stems)) < len(stems) or not all(stem and stem.replace("_", "").replace("-", "").isalnum() for stem in stems):
        raise JobError(f"pieces: found the file names {', '.join(map(repr, stems))}, expected one of letters, figures, - and _ "
                       "for each piece. Correct file_stem.")
    named = [place.piece for place in build.assembly.places]
    named += [stem for item in build.assembly.items for stem in item.through]
    missing = sorted(set(named) - set(stems))
    if missing:
        raise JobError(f"assembly: found {', '.join(missing)}, expected the file_stem of a piece. Correct the names there.")
    twice = [place.piece for place in build.assembly.places if sum(p.piece == place.piece for p in build.assembly.places) > 1]
    if twice:
        raise JobError(f"assembly.places: found {twice[0]} more than once, expected each piece in one place. Take one out.")


def _piece_files(piece: Piece, body: Body, title: TitleBlock, printer: PrinterWish, correction: PrintCorrection | None
                 ) -> tuple[dict[str, bytes], tuple[Note, ...]]:
    stem, name = piece.file_stem, f"{spoken(piece)} {piece.revision}".strip()
    is_cut = piece.kind in CUT_KINDS
    files = {f"{stem}.step": body.step}
    if is_cut:
        files[f"{stem}.dxf"] = loops_dxf(_cut_loops(piece))
    mesh = body.mesh if is_cut else _printed_mesh(piece, body, printer, correction)
    lying = OnBed(mesh, name, piece.material or printer.material, tint_of(piece.kind, 0))
    files[f"{stem}.3mf"] = three_mf_bytes((lying,), name, title.made_with, piece.orientation)
    files[f"{stem}_mm.stl"] = stl_bytes(mesh)
    files[f"{stem}.glb"] = glb_bytes((Shown(name, body.mesh, tint_of(piece.kind, 0)),), title.made_with)
    files[f"{stem}.png"] = piece_picture(piece, body.mesh)
    return files, print_notes(piece, body, printer)


def _printed_mesh(piece: Piece, body: Body, printer: PrinterWish, correction: PrintCorrection | None) -> Mesh:
    """The mesh to print: as drawn, or by the correction for one printer."""
    if correction is None or not is_corrected(piece, correction):
        return body.mesh
    return corrected_mesh(body.mesh, piece, correction, printer.circumscribed)


def _cut_loops(piece: Piece) -> tuple[Loop, ...]:
    """The loops of the first prism of a piece that is cut from a sheet."""
    prisms = [solid for step in piece.steps if isinstance(step, Add) for solid in step.prisms if isinstance(solid, Prism)]
    if not prisms:
        raise JobError(f"{piece.file_stem}: found no prism in its steps, expected one to cut from a sheet. Correct its steps.")
    return (Loop("outer", 1, prisms[0].outer), *(Loop("opening", 1, chain) for chain in prisms[0].openings))


def _cut_paper(build: Build, title: TitleBlock) -> dict[str, bytes]:
    """The true-scale paper of the filter's cuts, where a row of the table is chosen and a piece knows the seat."""
    seats = [feature for piece in build.pieces for feature in piece.features if isinstance(feature, Seat)]
    if not seats or sum(row.chosen for row in build.cuts) != 1:
        return {}
    return {"filter_cuts.pdf": cutting_paper_pdf(build.cuts, seats[0], title)}


def _assembly_files(parts: tuple[Part, ...], title: TitleBlock) -> dict[str, bytes]:
    name = f"{title.name} {title.revision}".strip()
    return {
        "assembly.glb": glb_bytes(tuple(part.shown() for part in parts), title.made_with),
        "assembly.png": closed_picture(parts, name),
        "exploded.png": exploded_picture(parts, name),
    }
