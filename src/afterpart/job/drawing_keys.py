"""The tables by which the maker corrects the drawing: design values he fixes, and what its segments are.

A row names segments or dimensions by their ids in outline.json; whether they are there is judged when the drawing is solved.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from afterpart.errors import UsageError
from afterpart.job.typed import Keys, from_numbers, pair
from afterpart.model.job import Correction, Fixed

_COUNTS = {"line": (1, 1), "arc": (1, 1), "circle": (1, 1), "split": (1, 1), "join": (2, 2), "tangent": (2, 2),
           "symmetric": (1, 2), "equal": (2, 99), "parallel": (2, 2), "perpendicular": (2, 2), "concentric": (2, 2),
           "free": (1, 99), "hole": (0, 0), "drop": (1, 1)}
"""Least and most ids that each kind of correction takes."""

_PLACED = {"split": "at", "hole": "at_px"}
"""By which key a correction is told its place."""


class FixedKeys(Keys):
    """One `[[fixed]]`."""

    id: str = Field(min_length=1, description="dimension of outline.json, for example d7")
    value: float = Field(description="the design value it has, mm (degrees for an angle)")

    @field_validator("value")
    @classmethod
    def _value(cls, value: float) -> float:
        if value <= 0:
            raise UsageError(f"value: found {value:g}, expected a design value above 0. Check the number.")
        return value

    def fixed(self) -> Fixed:
        """The row as a noun."""
        return Fixed(self.id, self.value)


class EditKeys(Keys):
    """One `[[edit]]`."""

    what: Literal["line", "arc", "circle", "split", "join", "tangent", "symmetric", "equal", "parallel", "perpendicular",
                  "concentric", "free", "hole", "drop"] = Field(
        description="line, arc or circle: what the stretch of rim is; split it, join two neighbours; tangent, symmetric (about "
        "the datum's axis), equal (radii), parallel, perpendicular, concentric; free: no design number; hole: an opening was "
        "missed; drop: an opening is none")
    of: list[str] = Field(default_factory=list, description="ids of the segments it is about, for example s4")
    at: Annotated[tuple[float, float] | None, from_numbers(2, "[x, y] in mm", pair)] = Field(
        None, description="[x, y] of a split in the drawing's datum frame, mm")
    at_px: Annotated[tuple[float, float] | None, from_numbers(2, "[x, y] in pixels", pair)] = Field(
        None, description="[x, y] within a missed hole, in pixels of the upright picture")
    photo: int = Field(1, ge=1, description="the photo that at_px is in, 1 is the first")
    id: str = Field("", pattern=r"^([A-Za-z][\w.-]*)?$", description="what a missed hole is called; left out: h1, h2 and so on")

    @model_validator(mode="after")
    def _together(self) -> EditKeys:
        least, most = _COUNTS[self.what]
        if not least <= len(self.of) <= most:
            wanted = f"{least}" if least == most else f"{least} or more" if most > 2 else f"{least} or {most}"
            raise UsageError(f"of: found {len(self.of)} ids, expected {wanted} for {self.what!r}. "
                             "Take the ids from outline.json or the drawing.")
        if len(set(self.of)) < len(self.of):
            raise UsageError(f"of: found an id twice in {self.of}, expected each once. Take one out.")
        self._check_place()
        if self.id and self.what != "hole":
            raise UsageError(f"id: found {self.id!r} beside {self.what!r}, expected it only where a hole is added. Leave it out.")
        return self

    def _check_place(self) -> None:
        """A split or a hole is told its place once, and nothing else is told one."""
        wanted = _PLACED.get(self.what)
        for name in ("at", "at_px"):
            given = getattr(self, name) is not None
            if given and name != wanted:
                raise UsageError(f"{name}: found a place beside {self.what!r}, expected {wanted or 'none'} there. Leave it out.")
            if not given and name == wanted:
                raise UsageError(f"{name}: found nothing, expected [x, y] for {self.what!r}. Add the key {name}.")

    def correction(self) -> Correction:
        """The row as a noun."""
        return Correction(self.what, tuple(self.of), self.at, self.at_px, self.photo, self.id)
