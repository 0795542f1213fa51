"""What the kernel's process does for its caller, and what it keeps from one request to the next.

Only child.py imports this module.  Shapes read from a STEP file are kept by the file's hash, so that several cuts through one
body read it once; what is cut is always the file as read back, never the shape it was written from.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib

from afterpart.errors import SolidError
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.solid import kernel, section, step_file
from afterpart.solid.body import Body, Section, StepFacts
from afterpart.solid.step_file import ReadBack

_KEPT = 16
"""Shapes kept at a time; the one not used for longest goes first."""
_STEMS = 2
"""Bodies kept that several recipes begin with; the oldest goes first."""


class Bench:
    """The requests, by the names under which worker.py asks for them."""

    def __init__(self) -> None:
        self._kept: dict[str, ReadBack] = {}
        self._stems: kernel.Stems = {}

    def build(self, piece: Piece, labels: tuple[str, ...], chord: float, circumscribed: bool, stem: int) -> tuple[Body, ...]:
        """The bodies of pieces that differ from this one only in their file name; stem: see recipe.py.  See Workshop.build."""
        try:
            made = kernel.build_alike(piece, labels, chord, circumscribed, stem, self._stems)
        except SolidError as error:
            raise SolidError(f"piece {piece.name!r} ({piece.file_stem}): {error}") from error
        for body, back in made:
            self._keep(body.step, back)
        while len(self._stems) > _STEMS:
            self._stems.pop(next(iter(self._stems)))
        return tuple(body for body, _ in made)

    def read_step(self, data: bytes, validate: bool) -> StepFacts:
        """See Workshop.read_step."""
        return step_file.facts_of(self._read(data), validate)

    def section_area(self, data: bytes, z: float) -> float:
        """See Workshop.section_area."""
        return section.section_area(self._read(data).shape, z)

    def profile(self, data: bytes, point: Point, direction_deg: float) -> Section:
        """See Workshop.profile."""
        return section.profile(self._read(data).shape, point, direction_deg)

    def _read(self, data: bytes) -> ReadBack:
        kept = self._kept.get(hashlib.sha256(data).hexdigest())
        read = step_file.shape_from_step(data) if kept is None else kept
        self._keep(data, read)
        return read

    def _keep(self, data: bytes, read: ReadBack) -> None:
        key = hashlib.sha256(data).hexdigest()
        self._kept.pop(key, None)
        self._kept[key] = read
        while len(self._kept) > _KEPT:
            self._kept.pop(next(iter(self._kept)))
