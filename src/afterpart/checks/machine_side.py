"""What the machine does with a loose thing: the facts that the checks of loose things share.

Words: the *port* is the way from behind the cover into the machine's moving parts; its width is the job's machine.clean_port.
Conventions: giving a port's width says that there are moving parts behind it; a machine that is told to swallow nothing has
no port that matters.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.case import Case
from afterpart.model.feature import Groove, Opening, PrintedSeal, Seat
from afterpart.model.finding import Input
from afterpart.model.piece import Piece
from afterpart.words import symbol_words, tell

ENDS_THE_MACHINE, NUISANCE = 9, 3
"""Severity of a thing in the moving parts, and of one that only lies about behind the cover (judgement)."""

PORT_KEY, SWALLOWS_KEY = "machine.clean_port", "machine.swallows"


def has_clean_side(case: Case) -> bool:
    """Does the part close off a room of the machine?  A bracket does not: nothing can fall in where there is no in."""
    kinds = Groove | PrintedSeal | Seat
    closes = any(isinstance(f, kinds) or (isinstance(f, Opening) and f.id == "inlet")
                 for place in case.build.assembly.places for piece in case.build.pieces if piece.file_stem == place.piece
                 for f in piece.features)
    return closes or case.job.wishes.machine.swallows is True


def spoken_piece(piece: Piece) -> str:
    """A piece's name with its kind, where the name does not say it: "inlet cover: gasket"."""
    kind = symbol_words(piece.kind)
    return piece.name if kind in piece.name.lower() else f"{piece.name}: {kind}"


def severity_inside(case: Case) -> int:
    """What a loose thing on the clean side costs; a machine nobody has told about is taken for one that swallows."""
    return NUISANCE if case.job.wishes.machine.swallows is False else ENDS_THE_MACHINE


def port_width(case: Case) -> float | None:
    """Width of the port in mm; None where it is not told."""
    return case.job.wishes.machine.clean_port


def missing_port(case: Case) -> tuple[str, ...]:
    """The keys without which nobody can say whether a thing on the clean side gets into moving parts; () when told."""
    machine = case.job.wishes.machine
    if machine.swallows is False or machine.clean_port is not None:
        return ()
    return (PORT_KEY,) if machine.swallows else (SWALLOWS_KEY, PORT_KEY)


def port_input(case: Case) -> tuple[Input, ...]:
    """The port as a figure that went in."""
    width = port_width(case)
    return () if width is None else (Input(tell("width of the way into the moving parts"), width, "mm", PORT_KEY),)
