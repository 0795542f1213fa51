"""The tables about photograph, readings, datum and check plate: what may stand where, of which type, within which limits.

Texts and numbers are judged by options.py, the same functions the command line uses, so a job file and a command line
accept the same things.  Field descriptions are the wording of the job file's documentation.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator, model_validator

from afterpart.errors import UsageError
from afterpart.job.options import (
    LIMITS,
    Corners,
    make_corners,
    make_damage,
    make_height,
    make_reading,
    make_shot,
    make_span,
    parse_rule,
    parse_sheet,
    whole_part,
    within_limits,
)
from afterpart.job.typed import Keys, bed_size, from_numbers, from_text, pair
from afterpart.model.job import Damage, Height, Reading, Rule, Shot, Span


class PhotoKeys(Keys):
    """One `[[photo]]`."""

    file: str = Field(min_length=1, description="the picture, relative to the job folder")
    sheet: Annotated[tuple[float, float] | None, from_text(parse_sheet)] = Field(
        None, description="sheet under the part: A3 A4 A5 letter legal or WxH in mm")
    rule: Annotated[Rule | None, from_text(parse_rule)] = Field(None, description="graduated rule beside the part: mm or inch:N")
    target: float | None = Field(None, description="measured length in mm of the printed target's 100 mm bar")
    calliper: float | None = Field(None, description="reading in mm of the open calliper in the picture")
    span: Annotated[Span | None, from_numbers(5, "[x1, y1, x2, y2, length]", make_span)] = Field(
        None, description="[x1, y1, x2, y2, length]: two picked pixels and the mm between them")
    sheet_corners_px: Annotated[Corners | None, from_numbers(8, "[x1, y1, x2, y2, x3, y3, x4, y4]", make_corners)] = Field(
        None, description="[x1, y1, ... x4, y4]: the sheet's four corners in pixels, where the sheet is not found by itself")
    scan: float | None = Field(None, description="flatbed scan: its resolution in dots per inch")
    reference_height: float | None = Field(None, description="height in mm of the reference's marked face above the table")
    focal_35mm: float | None = Field(None, description="35 mm-equivalent focal length, when the file has none or lies")
    face_height: float | None = Field(None, description="height in mm of the traced face above the table")
    edge_radius: float | None = Field(None, description="rounding in mm of the face's edge")
    channel_depth: float | None = Field(None, description="depth in mm of a channel in the face, by depth rod")
    part: int | None = Field(None, description="which part to keep, 1 is the largest")
    shows: Literal["part", "mate"] = Field("part", description="part, or mate: what the part is bolted to")
    face: Literal["mating", "other"] = Field(
        "mating", description="which face of the part looks up: mating, or other; the drawing shows the first photo's face")

    @field_validator(*(name for name in LIMITS if name not in ("thickness", "first_layer_chamfer")))
    @classmethod
    def _limits(cls, value: float | None, info: ValidationInfo) -> float | None:
        return value if value is None else within_limits(str(info.field_name), value)

    @field_validator("part")
    @classmethod
    def _whole(cls, value: int | None) -> int | None:
        return value if value is None else whole_part(value)

    @model_validator(mode="after")
    def _together(self) -> PhotoKeys:
        self.shot()
        return self

    def shot(self) -> Shot:
        """The photograph as a noun; UsageError when keys contradict one another."""
        told = {name: getattr(self, name) for name in PhotoKeys.model_fields if name not in ("file", "shows", "face")}
        return replace(make_shot(self.file, **told), shows=self.shows, face=self.face)


class ReadingKeys(Keys):
    """One `[[reading]]`."""

    id: str = Field(min_length=1, description="dimension of outline.json, for example d7")
    value: float = Field(description="what the calliper said, mm (degrees for an angle)")
    u: float = Field(Reading("", 0.0).u, description="standard uncertainty, same unit")

    @field_validator("value")
    @classmethod
    def _value(cls, value: float) -> float:
        return make_reading("value", value, 1.0).value

    @field_validator("u")
    @classmethod
    def _u(cls, value: float) -> float:
        return make_reading("u", 1.0, value).u


class DamageKeys(Keys):
    """One `[[damage]]`."""

    at: Annotated[tuple[float, float], from_numbers(2, "[x, y] in pixels", pair)] = Field(
        description="[x, y]: middle of a circle round the damage, in pixels of the upright picture")
    radius: float = Field(description="radius of that circle, pixels")
    source: Literal["neighbours", "mirror"] = Field(
        "neighbours", alias="from", description="where the shape comes from: neighbours drawn on, or mirror, the other side")
    photo: int = Field(1, ge=1, description="the photo it is seen in, 1 is the first")

    @model_validator(mode="after")
    def _together(self) -> DamageKeys:
        self.damage()
        return self

    def damage(self) -> Damage:
        """The damaged place as a noun."""
        return make_damage(*self.at, self.radius, self.source, "at")


class HeightKeys(Keys):
    """One `[[height]]`."""

    level: str = Field(description="face, channel floor, lip, boss, room above or room below, as on heights.pdf")
    value: float = Field(description="what the depth rod said, mm")
    u: float = Field(Height("", 0.0).u, description="standard uncertainty, mm")

    @model_validator(mode="after")
    def _together(self) -> HeightKeys:
        self.height()
        return self

    def height(self) -> Height:
        """The line of the heights card as a noun."""
        return make_height(self.level, self.value, self.u)


class DatumKeys(Keys):
    """`[datum]`."""

    kind: Literal["auto", "holes", "edge", "point"] = Field("auto", description="what fixes the drawing's origin and direction")
    of: list[str] = Field(default_factory=list, description="two hole ids for holes, one line id for edge")
    origin: Annotated[tuple[float, float] | None, from_numbers(2, "[x, y] in mm", pair)] = Field(
        None, description="[x, y] for point, mm in the automatic frame")
    angle_deg: float = Field(0.0, description="direction of x for point, degrees")

    @model_validator(mode="after")
    def _together(self) -> DatumKeys:
        wanted = {"auto": 0, "holes": 2, "edge": 1, "point": 0}[self.kind]
        if len(self.of) != wanted:
            raise UsageError(f"of: found {len(self.of)} ids, expected {wanted} for kind {self.kind!r}. "
                             "Take the ids from outline.json: two circles for holes, one line for edge.")
        if self.kind == "point" and self.origin is None:
            raise UsageError("origin: found nothing, expected [x, y] in mm for kind 'point'. Add the key origin.")
        return self


class PlateKeys(Keys):
    """`[plate]`."""

    thickness: float = Field(1.5, description="mm, 1 to 2")
    bed: Annotated[tuple[float, float] | None, from_numbers(2, "[width, depth] in mm", bed_size)] = Field(
        None, description="[width, depth] of the printer's bed, mm")
    frame: bool = Field(True, description="true: a frame with islands around the holes; false: the whole face")
    first_layer_chamfer: float = Field(0.4, description="mm, takes the flare off the first layer")

    @field_validator("thickness", "first_layer_chamfer")
    @classmethod
    def _limits(cls, value: float, info: ValidationInfo) -> float:
        return within_limits(str(info.field_name), value)
