"""What is to be seen: a mesh in its place with a name and a colour, and the colours of the trades.

Stiff prints are grey blue, flexible ones dark, foam is sand, bought metal pale, steel or dark grey; neighbours of one kind
take turns between a few shades, so that they can be told apart.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
from dataclasses import dataclass

from afterpart.model.piece import Piece
from afterpart.solid.body import Mesh
from afterpart.words import symbol_words, tell

Tint = tuple[int, int, int]
"""Red, green, blue, 0 to 255 as on a screen."""

PLAIN_TINT: Tint = (176, 198, 206)
STIFF: tuple[Tint, ...] = (PLAIN_TINT, (158, 188, 164), (206, 190, 160), (184, 176, 208))
FLEXIBLE: tuple[Tint, ...] = ((110, 116, 124), (128, 112, 120))
FOAM: tuple[Tint, ...] = ((222, 196, 130),)
METAL: tuple[Tint, ...] = ((216, 218, 220), (150, 160, 174), (118, 126, 136))


@dataclass(frozen=True)
class Shown:
    """A mesh to be seen, in place: its name and its colour."""

    name: str
    mesh: Mesh
    tint: Tint = PLAIN_TINT


def tint_of(kind: str, turn: int) -> Tint:
    """The colour of a piece (its kind) or of a bought item ("item"); turn: which shade of it, counted round."""
    shades = {"gasket": FLEXIBLE, "filter_element": FOAM, "item": METAL}.get(kind, STIFF)
    return shades[turn % len(shades)]


def spoken(piece: Piece) -> str:
    """What a piece is called in a text: the job's name, and what the piece is where the name does not say so."""
    stem, pilot, size = piece.file_stem.partition("_pilot_")
    what = symbol_words(stem)
    if pilot:
        # a file name has no point: 2-30 in it is 2.30
        what = tell("{piece} pilot {size}", piece=what, size=re.sub(r"(?<=\d)-(?=\d)", ".", size.replace("_", " ")))
    said = piece.name.lower().replace(",", "")
    return piece.name if what.lower() in said else f"{piece.name} {what}"
