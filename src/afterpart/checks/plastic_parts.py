"""The printed pieces that serve on the machine, by the plastic they are made of.

Limits: coupons, guides and check plates do not serve; foam, cord and metal are bought and not looked at here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.checks.printed_pieces import alternatives
from afterpart.model.case import Case
from afterpart.model.piece import Piece
from afterpart.standards.materials import MATERIALS, Material, material
from afterpart.words import tell

SERVING = ("cover", "clamp_frame", "gasket")


@dataclass(frozen=True)
class PlasticParts:
    """Pieces of one plastic.  material: None where the tables do not know its name."""

    filament: str
    pieces: tuple[Piece, ...]
    material: Material | None

    @property
    def name(self) -> str:
        """For the subject of a finding."""
        return f"{self.filament} ({', '.join(piece.file_stem for piece in self.pieces)})"

    @property
    def key(self) -> str:
        """The job key that names the plastic."""
        return "seal.material" if all(piece.kind == "gasket" for piece in self.pieces) else "printer.material"

    @property
    def unknown(self) -> str:
        """Why an unknown plastic cannot be judged."""
        return tell("{key}: the tables know no {filament!r}; they know {materials}.", key=self.key, filament=self.filament,
                    materials=", ".join(m.name for m in MATERIALS))


def plastic_parts(case: Case) -> tuple[PlasticParts, ...]:
    """The serving printed pieces, one group for each plastic, in the order built; () where nothing is printed."""
    groups: dict[str, list[Piece]] = {}
    others = alternatives(case.build)
    for piece in case.build.pieces:
        if piece.kind in SERVING and piece.file_stem not in others:
            groups.setdefault(piece.material or case.job.wishes.printer.material, []).append(piece)
    return tuple(PlasticParts(name, tuple(pieces), _known(name)) for name, pieces in groups.items())


def _known(name: str) -> Material | None:
    try:
        return material(name)
    except KeyError:
        return None
