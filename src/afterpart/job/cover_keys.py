"""The tables about the cover: what is kept, roles of features, holes, bolts, seal, lip, inlet.

Each table's keys are named as the fields of its noun in model/wishes.py, where the same words are explained.  What can be judged
from the table alone is judged here; what needs the outline (does the groove fit, does a hole meet it) is judged by parts/.
Field descriptions are the wording of the job file's documentation.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from afterpart.errors import UsageError
from afterpart.job.typed import Keys, defaults_of, from_numbers, pair
from afterpart.model.wishes import CLEARS, LOCATES, AddedBoss, BoltWish, CoverWish, InletWish, LipWish, RoleChoice, SealWish
from afterpart.standards.clearance_holes import CLEARANCE_HOLES

FARTHEST = 2000.0
"""Coordinates beyond this, mm, are a typing mistake."""

PropertyClass = Literal["4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "10.9", "12.9", "A2-50", "A2-70", "A2-80",
                        "A4-50", "A4-70", "A4-80"]
"""Strength as stamped on bolt heads (designations of ISO 898-1 and ISO 3506-1, from memory)."""

_role, _cover, _bolts = defaults_of(RoleChoice), defaults_of(CoverWish), defaults_of(BoltWish)
_seal, _lip, _inlet = defaults_of(SealWish), defaults_of(LipWish), defaults_of(InletWish)


class ChangeKeys(Keys):
    """One `[[change]]`."""

    feature: str = Field(
        min_length=1, description="id of a segment of the loop (c1), outer, channel, or your word for something new")
    do: Literal["keep", "add", "drop"] = Field(description="keep, add or drop it on the new part")
    reason: str = Field(min_length=1, description="why, in a few words; goes into the papers")


class RoleKeys(Keys):
    """One `[[role]]`."""

    of: str = Field(min_length=1, description="id of a segment of the loop (c1), outer or lip")
    role: Literal["locates", "seals", "clears", "shows"] = Field(
        description="what it does on the machine: locates, seals, clears or shows")
    clearance: float | None = _role(
        "clearance", f"mm all round; left out: {LOCATES:g} where it locates, {CLEARS:g} where it clears",
                                    ge=0, le=10)


class _PlacedKeys(Keys):
    """What is put on the face: its name and where its middle lies."""

    name: str = Field(min_length=1, description="your name for it")
    at: Annotated[tuple[float, float], from_numbers(2, "[x, y] in mm", pair)] = Field(
        description="[x, y] of its middle in the drawing's datum frame, mm")

    @field_validator("at")
    @classmethod
    def _near(cls, value: tuple[float, float]) -> tuple[float, float]:
        if not all(abs(v) <= FARTHEST for v in value):
            raise UsageError(f"at: found {list(value)}, expected [x, y] within {FARTHEST:g} mm of the datum. Check the numbers.")
        return value


class HoleKeys(_PlacedKeys):
    """One `[[hole]]`."""

    diameter: float = Field(gt=0, le=500, description="diameter, mm")
    purpose: str = Field("", description="what it is for, in a word or two")


class BossKeys(_PlacedKeys):
    """One `[[boss]]`."""

    height: float = Field(gt=0, le=200, description="above the mating face, into the machine, mm")
    passes: float = Field(AddedBoss("", (0.0, 0.0), 1.0).passes, ge=0, le=100,
                          description="thickness of what the screw goes through before it reaches the boss, mm")


class CoverKeys(Keys):
    """`[cover]`."""

    called: str = _cover("called", "what the piece is (cover, bracket, adapter plate); its files are named so",
                         pattern=r"^[A-Za-z0-9][A-Za-z0-9 _-]*$", max_length=40)
    thickness: float = _cover("thickness", "from the outside face to the mating face, mm", ge=0.8, le=100)
    floor: float = _cover("floor", "what is left of the thickness under a pocket, mm", ge=0.6, le=99)
    fit: Literal["flush", "over", "inside"] = _cover(
        "fit", "the edge against the mating part: flush with the old outline, over it, or inside it")
    clearance: float | None = _cover("clearance", "mm all round where the edge meets the mating part; left out: that of its role",
                                     ge=0, le=10)
    first_layer_chamfer: float = _cover("first_layer_chamfer", "45 degree chamfer of all the first layer touches, mm", ge=0, le=2)
    number: str = _cover("number", "part number, debossed", max_length=40)
    arrow: bool = _cover("arrow", "true: an arrow for the direction of the air, debossed")
    one_way: bool = _cover("one_way", "true: a key where the cover, or the frame in it, could be fitted the wrong way")
    text_height: float = _cover("text_height", "height of debossed capitals, mm", ge=2, le=30)
    peg_in: str = _cover("peg_in", "id of a dropped hole that the machine still has (c7): a peg there keeps the cover from being "
                         "turned; left out: none", max_length=40)
    peg_hole: float | None = _cover("peg_hole", "diameter of that hole in the machine, measured, mm; left out: the tap drill of "
                                    "the bolts' thread where the hole suits it, else the old hole's", gt=0, le=60)
    peg_height: float = _cover("peg_height", "height of that peg, less than the machine's hole is deep, mm", gt=0, le=30)

    @model_validator(mode="after")
    def _together(self) -> CoverKeys:
        if "floor" in self.model_fields_set and self.floor >= self.thickness:
            raise UsageError(f"floor: found {self.floor:g}, expected less than the thickness of {self.thickness:g} mm. "
                             "Make the cover thicker or the floor thinner.")
        return self


class BoltKeys(Keys):
    """`[bolts]`."""

    thread: str = _bolts("thread", "size of the bolts, M1 to M48")
    series: Literal["fine", "medium", "coarse"] = _bolts("series", "clearance holes of ISO 273: fine, medium or coarse")
    holes: list[str] = Field(
        default_factory=list, description="ids of the bolt holes' circles; left out: every round opening that "
                                                               "suits the thread")
    head: Literal["ISO 4762", "ISO 7380-1", "ISO 4017"] = _bolts(
        "head", "standard of the head: ISO 4762 socket, ISO 7380-1 button, ISO 4017 hexagon")
    washer: Literal["", "ISO 7089", "ISO 7093"] = _bolts("washer", "ISO 7089 (plain), ISO 7093 (large); left out: none")
    property_class: PropertyClass = _bolts("property_class", "strength, as stamped on the head")
    seat: Literal["plain", "counterbore", "countersink"] = _bolts("seat", "what is cut into the outside for the head")
    sleeve: bool = _bolts("sleeve", "true: a metal sleeve in each hole")
    sleeve_outside: float | None = _bolts(
        "sleeve_outside", "outside diameter of the sleeves, mm; left out: the usual one", gt=0, le=60)
    insert: bool = _bolts("insert", "true: heat-set inserts instead of clearance holes")
    torque_n_m: float | None = _bolts("torque_n_m", "torque you mean to use, N m; left out: open", gt=0, le=500)
    length: float | None = _bolts("length", "length of the bolts you have, mm; left out: open", gt=0, le=500)
    grip_in_machine: float | None = _bolts(
        "grip_in_machine", "length of thread in the machine, mm; left out: not known", gt=0, le=200)
    transverse_load_n: float | None = _bolts(
        "transverse_load_n", "force that shakes the cover across all its bolts, N; left out: not known", gt=0, le=100_000)

    @field_validator("thread")
    @classmethod
    def _listed(cls, value: str) -> str:
        sizes = [row.size for row in CLEARANCE_HOLES]
        if value not in sizes:
            raise UsageError(f"thread: found {value!r}, expected one of {' '.join(sizes)}. Write it with a capital M.")
        return value

    @model_validator(mode="after")
    def _together(self) -> BoltKeys:
        if self.sleeve and self.insert:
            raise UsageError("insert: found together with sleeve = true, expected one of the two. "
                             "A hole holds a sleeve or an insert: leave the other out.")
        if self.sleeve_outside is not None and not self.sleeve:
            raise UsageError(f"sleeve_outside: found {self.sleeve_outside:g} without sleeve = true, expected both or none. "
                             "Add sleeve = true.")
        if len(set(self.holes)) < len(self.holes):
            raise UsageError(f"holes: found {self.holes}, expected each id once. Take the second one out.")
        return self


class SealKeys(Keys):
    """`[seal]`."""

    kind: Literal["cord", "ring", "flat", "none"] = _seal(
        "kind", "cord (round, bought), ring (printed, flexible, in a groove), flat (printed, flexible, loose) or none")
    duty: Literal["dust", "liquid", "pressure"] = _seal(
        "duty", "what it keeps back: dust (also air under 10 kPa), liquid or pressure")
    path: str = _seal(
        "path", "channel (the old one), outline (inside the edge), or the id of an opening to go round", min_length=1)
    offset: float | None = _seal(
        "offset", "from that loop to the middle of the groove, mm; left out: the least that fits", gt=0, le=200)
    bolts: Literal["inside", "around"] = _seal("bolts", "inside: the groove passes within all bolts; around: it goes round each")
    cord: float | None = _seal("cord", "diameter of the round cord, mm; left out: chosen", ge=0.5, le=20)
    squeeze: float | None = _seal(
        "squeeze", "wanted share by which the seal is flattened; left out: the table's groove", gt=0, lt=0.9)
    fill: float | None = _seal("fill", "wanted share of the groove that the cord fills; left out: the table's groove", gt=0, lt=1)
    section: Literal["bead", "hollow", "flat", "beaded"] | None = Field(
        None, description="of a ring: bead or hollow; of a flat one: flat or beaded; left out: the first of the two")
    shore_a: float = _seal("shore_a", "hardness of a printed seal, Shore A", ge=10, le=98)
    thickness: float = _seal("thickness", "of a flat one before it is squeezed, mm", ge=0.4, le=20)
    width: float | None = _seal("width", "of a flat one, mm; left out: as the land allows", gt=0, le=100)
    material: str = _seal("material", "what a printed seal is printed from", min_length=1)

    @model_validator(mode="after")
    def _together(self) -> SealKeys:
        choices = {"ring": ("bead", "hollow"), "flat": ("flat", "beaded")}.get(self.kind)
        if self.section is not None and choices is None:
            raise UsageError(f"section: found {self.section!r} for kind {self.kind!r}, expected none. "
                             "Only a printed seal, kind ring or flat, has a section.")
        if self.section is not None and choices and self.section not in choices:
            raise UsageError(f"section: found {self.section!r}, expected {' or '.join(choices)} for kind {self.kind!r}. "
                             "Choose one of these.")
        return self

    def wish(self) -> SealWish:
        """The seal as a noun, its section that of its kind where none is told."""
        usual = {"flat": "flat"}.get(self.kind, SealWish().section)
        return SealWish(**{name: getattr(self, name) for name in SealKeys.model_fields} | {"section": self.section or usual})


class LipKeys(Keys):
    """`[lip]`."""

    of: str = _lip("of", "outer, or the id of an opening's segment", min_length=1)
    height: float = _lip("height", "above the mating face, mm", gt=0, le=50)
    thickness: float = _lip("thickness", "of its wall, mm", ge=0.4, le=20)
    clearance: float | None = _lip("clearance", "mm all round to what it meets; left out: that of its role", ge=0, le=10)


class InletKeys(Keys):
    """`[inlet]`."""

    opening: Literal["seat", "keep"] = _inlet("opening", "seat: as large as the filter's seat allows; keep: the old opening")
    of: str = _inlet("of", "id of the old opening, for keep")
    bellmouth: float = _inlet("bellmouth", "radius of the rounded entry, mm; 0 for none", ge=0, le=50)
    grid: float | None = _inlet("grid", "free gap of a metal grid you fit over its outside, mm; left out: none", gt=0, le=100)

    @model_validator(mode="after")
    def _together(self) -> InletKeys:
        if self.opening == "keep" and not self.of:
            raise UsageError("of: found nothing, expected the id of the old opening for opening = \"keep\". "
                             "Take the id of one of its segments from outline.json.")
        return self
