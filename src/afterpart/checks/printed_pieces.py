"""The pieces that are printed, each with what was measured on its solid.

Words: *alternatives* are further sizes of a piece that is fitted, of which one is printed in its stead.
Limits: a filter element is cut from foam and never printed.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.checks.judge import not_judged
from afterpart.model.assembly import Build
from afterpart.model.case import Case, PieceFacts
from afterpart.model.finding import Finding
from afterpart.model.piece import Piece
from afterpart.words import tell

CUT_KINDS = ("filter_element",)
"""Kinds that are cut from a sheet."""


@dataclass(frozen=True)
class Printed:
    """facts: None where the solid was not measured; filament: what it is printed from."""

    piece: Piece
    facts: PieceFacts | None
    filament: str

    @property
    def name(self) -> str:
        """For the subject of a finding."""
        return self.piece.file_stem

    def unmeasured(self, check: str, severity: int) -> Finding:
        """The finding that says that there is nothing to judge by."""
        return not_judged(check, self.name, tell("The solid of this piece was not measured: build the job, then check it again."),
                          severity=severity)


def printed_pieces(case: Case) -> tuple[Printed, ...]:
    """In the order built, without alternatives; a piece that names no material is printed in printer.material."""
    facts, others = {found.piece: found for found in case.facts}, alternatives(case.build)
    return tuple(Printed(piece, facts.get(piece.file_stem), piece.material or case.job.wishes.printer.material)
                 for piece in case.build.pieces if piece.kind not in CUT_KINDS and piece.file_stem not in others)


def alternatives(build: Build) -> frozenset[str]:
    """file_stems of the pieces that are of a fitted piece's kind and stand in no place themselves."""
    fitted = {place.piece for place in build.assembly.places}
    kinds = {piece.kind for piece in build.pieces if piece.file_stem in fitted}
    return frozenset(piece.file_stem for piece in build.pieces if piece.kind in kinds and piece.file_stem not in fitted)


def place_in_words(at: tuple[float, float, float]) -> str:
    """Where, for the maker: "(12.0, 3.4), 5.6 mm up"."""
    return tell("({at:.1f}, {at_2:.1f}), {at_3:.1f} mm up", at=at[0], at_2=at[1], at_3=at[2])
