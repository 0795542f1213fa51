"""Who can print it: a variant's printed pieces against a printer, the maker's own or a plain one.

Conventions: a piece may be turned on the bed by a quarter; walls want LINES_IN_A_WALL lines.  What was not measured is told, not
guessed.
Limits: heat of bed and nozzle are not looked at.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.printed_pieces import alternatives
from afterpart.checks.thinnest_wall import MEASURED_DIGITS
from afterpart.model.case import Case, PieceFacts
from afterpart.model.comparison import Printability
from afterpart.model.piece import Piece
from afterpart.model.wishes import PrinterWish
from afterpart.standards.plain_printer import LINES_IN_A_WALL, ease
from afterpart.words import tell

CUT_NOT_PRINTED = "filter_element"


def printed_pieces(case: Case) -> tuple[Piece, ...]:
    """All pieces that come from a printer; of a piece in several sizes the one that is fitted."""
    others = alternatives(case.build)
    return tuple(piece for piece in case.build.pieces if piece.kind != CUT_NOT_PRINTED and piece.file_stem not in others)


def printable_by(variant: str, case: Case, printer: PrinterWish, words: str, is_plain: bool) -> Printability:
    """What stands against this printer; is_plain: it has an open frame and a plain nozzle.  Source: standards.plain_printer."""
    facts = {fact.piece: fact for fact in case.facts}
    obstacles: list[str] = []
    unknown: list[str] = []
    for piece in printed_pieces(case):
        fact = facts.get(piece.file_stem)
        if fact is None:
            unknown.append(tell("{file_stem}: not measured", file_stem=piece.file_stem))
        else:
            obstacles += _obstacles(fact, printer)
            unknown += ([tell("{file_stem}: thinnest wall not measured", file_stem=piece.file_stem)] if fact.thinnest is None
                        else [])
        if is_plain:
            _judge_material(piece, case, obstacles, unknown)
    return Printability(variant, words, tuple(obstacles), tuple(unknown))


def _obstacles(fact: PieceFacts, printer: PrinterWish) -> list[str]:
    wide, deep = (fact.high[i] - fact.low[i] for i in (0, 1))
    found = []
    if not any(wide <= x and deep <= y for x, y in (printer.bed, printer.bed[::-1])):
        found.append(tell("{piece}: {wide:.0f} x {deep:.0f} mm on a bed of {bed:g} x {bed_2:g}", piece=fact.piece, wide=wide,
                          deep=deep, bed=printer.bed[0], bed_2=printer.bed[1]))
    hanging = sum(patch.area for patch in fact.hanging if patch.kind == "unsupported")
    if hanging > 0.0:
        found.append(tell("{piece}: {hanging:.0f} mm2 hang over and want supports", piece=fact.piece, hanging=hanging))
    bridge = max((patch.span for patch in fact.hanging if patch.kind == "bridge"), default=0.0)
    if bridge > printer.bridge:
        found.append(tell("{piece}: a bridge of {bridge:.1f} mm, {bridge_2:g} mm at most", piece=fact.piece, bridge=bridge,
                          bridge_2=printer.bridge))
    least = LINES_IN_A_WALL * printer.nozzle
    if fact.thinnest is not None and round(fact.thinnest, MEASURED_DIGITS) < least:
        found.append(tell("{piece}: a wall of {thinnest:.2f} mm, {least:g} mm at least with this nozzle", piece=fact.piece,
                          thinnest=fact.thinnest, least=least))
    return found


def _judge_material(piece: Piece, case: Case, obstacles: list[str], unknown: list[str]) -> None:
    name = piece.material or case.job.wishes.printer.material
    try:
        row = ease(name)
    except KeyError:
        unknown.append(tell("{file_stem}: {name} is not in the table of filaments", file_stem=piece.file_stem, name=name))
        return
    if not row.open_frame:
        obstacles.append(tell("{file_stem}: {name} wants a closed chamber", file_stem=piece.file_stem, name=name))
    if not row.plain_nozzle:
        obstacles.append(tell("{file_stem}: {name} wants a hardened nozzle", file_stem=piece.file_stem, name=name))
