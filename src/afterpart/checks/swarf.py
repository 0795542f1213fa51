"""What a screw that forms its thread throws up: does the hole keep it, and when is the thread formed?"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import judged, strongest, value_that_passes
from afterpart.checks.machine_side import has_clean_side, severity_inside, spoken_piece
from afterpart.checks.passages import boss_screws
from afterpart.formulas.loose_parts import BLIND_SOURCE, solid_behind
from afterpart.model.case import Case
from afterpart.model.feature import Boss
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.piece import Piece
from afterpart.words import entry, paragraph, tell, translated

BENCH = entry("Drive every screw once on the bench, with the cover off the machine; take it out again, blow and brush hole and "
              "foot clean, and only then put it together: what the first turn throws up is fine enough to pass any way.")
_REACH = 20.0
"""Web up to which a thicker one is looked for, mm."""


def swarf(case: Case) -> tuple[Finding, ...]:
    """Is every formed thread shut off from the clean side?  One finding for each piece with bosses; attention at best.

        s = |z_far - z_open| - t >= one layer    s  solid behind the pilot hole [mm],  t  its depth [mm]
                                                 z_open, z_far  faces of the piece where it opens, and opposite [mm]

    Swarf counts as a loose thing smaller than any way, so that a closed hole alone never passes: it must be formed on the bench.
    Holds for: bosses of pieces that are fitted, behind a cover.  Source: BLIND_SOURCE."""
    if not has_clean_side(case):
        return ()
    fitted = {place.piece for place in case.build.assembly.places}
    return tuple(_finding(case, piece) for piece in case.build.pieces
                 if piece.file_stem in fitted and any(isinstance(f, Boss) for f in piece.features))


def _finding(case: Case, piece: Piece) -> Finding:
    bosses = [f for f in piece.features if isinstance(f, Boss)]
    worst = min(bosses, key=lambda boss: _solid(piece, boss))
    open_face, far_face = _faces(piece, worst)
    layer = case.job.wishes.printer.layer
    holder = case.job.wishes.holder
    change: tuple[Suggestion, ...] = ()
    if holder is not None and _solid(piece, worst) < layer:
        web = value_that_passes(lambda web: _solid(piece, worst) + web - holder.thickness - layer, holder.thickness, _REACH)
        change = ((Suggestion("holder.thickness", holder.thickness, web, tell("closes the pilot holes")),) if web is not None
                  else ())
    inputs = (Input(tell("height of the piece at the boss"), abs(far_face - open_face), "mm",
                    tell("{worst_id} of {file_stem}", worst_id=worst.id, file_stem=piece.file_stem)),
              Input(tell("depth of the pilot hole"), worst.pilot_depth, "mm",
                    tell("{worst_id} of {file_stem}", worst_id=worst.id, file_stem=piece.file_stem)),
              Input(tell("one layer"), layer, "mm", "printer.layer"))
    solid = _solid(piece, worst)
    advice = (tell("Behind each pilot hole it is solid.") if solid >= layer
              else tell("The pilot hole of {worst_id} goes right through: swarf, and the tip of a broken screw, can come out "
                        "behind it.", worst_id=worst.id))
    if any(boss in bosses for boss, _ in boss_screws(case.build)):
        advice = paragraph(advice, tell("It opens on the machine's side, so that what comes out at its mouth lies on the clean "
                                        "side."))
    return judged("swarf", tell("{count} threads formed in {spoken_piece}", count=len(bosses), spoken_piece=spoken_piece(piece)),
                  solid, "mm", Limit(low=layer), source=str(BLIND_SOURCE), formula=entry("s = |z_far - z_open| - t"),
                  inputs=inputs, advice=advice, doubt=translated(BENCH),
                  sensitivity=strongest(lambda h, t: solid_behind(h, t, 0.0),
                                        {"h": abs(far_face - open_face), "t": worst.pilot_depth}), suggestions=change,
                  severity=severity_inside(case), picture=f"{piece.file_stem}.png")


def _solid(piece: Piece, boss: Boss) -> float:
    open_face, far_face = _faces(piece, boss)
    return solid_behind(open_face, boss.pilot_depth, far_face)


def _faces(piece: Piece, boss: Boss) -> tuple[float, float]:
    """Heights of the face where the pilot hole opens and of the piece's opposite side."""
    return (boss.top, 0.0) if boss.opens > 0 else (boss.bottom, piece.thickness)
