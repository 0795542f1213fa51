"""The tables about filter, holder, screws, trial prints and printer.

Keys are named as the fields of their nouns in model/wishes.py.  Shares lie between 0 and 1 and are written as 0.5, not as 50.
Field descriptions are the wording of the job file's documentation.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from afterpart.errors import UsageError
from afterpart.job.typed import Keys, bed_size, defaults_of, from_numbers
from afterpart.model.wishes import CouponWish, FilterWish, HolderWish, PrinterWish, ScrewWish, Trial

RESULTS = {"pilot": ("drove", "snapped", "stripped"), "clearance": ("fits", "tight", "loose"),
           "fit": ("fits", "tight", "rubs", "loose"), "size": ("",)}
"""What each kind of trial can show; a size shows no more than its number."""

SLIP, SLIP_SHARE = 1.0, 0.03
"""No printer is off by more than this many mm, or this share of the size: it was read or written down wrongly."""

_filter, _holder, _screws = defaults_of(FilterWish), defaults_of(HolderWish), defaults_of(ScrewWish)
_coupon, _printer, _trial = defaults_of(CouponWish), defaults_of(PrinterWish), defaults_of(Trial)


class FilterKeys(Keys):
    """`[filter]`."""

    thickness: float = _filter("thickness", "of the foam, not squeezed, mm", ge=1, le=100)
    pores_per_inch: float = _filter("pores_per_inch", "pores to the inch, as foam is sold", ge=5, le=120)
    rim: float = _filter("rim", "width of the rim that is squeezed, mm", gt=0, le=50)
    squeeze: float = _filter("squeeze", "share of the thickness by which the rim is squeezed", gt=0, lt=0.9)
    land: float = _filter("land", "solid width left between the filter's pocket and the seal groove, mm", ge=0.4, le=50)
    cuts: int | None = _filter("cuts", "straight cuts beyond the rectangle's four; left out: chosen", ge=0, le=12)
    flow_m3_per_h: float | None = _filter("flow_m3_per_h", "air that passes, m3/h; left out: not known", gt=0, le=100_000)
    face_velocity_limit_m_per_s: float | None = _filter(
        "face_velocity_limit_m_per_s", "most that the air may have at the filter's face, m/s; left out: no limit", gt=0, le=20)
    oiled: bool | None = _filter("oiled", "true: foam that is used oiled, false: foam made to stay dry; left out: not known")


class HolderKeys(Keys):
    """`[holder]`."""

    kind: Literal["frame", "pins", "latches"] = _holder(
        "kind", "frame (clamped by screws from outside), pins (the foam is stretched over them) or latches (no fasteners)")
    thickness: float = _holder("thickness", "of a frame's web, mm", ge=0.8, le=30)
    free_span: float = _holder("free_span", "largest width between support bars on the clean side, mm", ge=3, le=300)
    bar_width: float = _holder("bar_width", "width of a support bar, mm", ge=0.8, le=20)
    screws: int | None = _holder("screws", "how many; left out: as the seat asks", ge=1, le=40)
    clearance: float = _holder("clearance", "mm all round between holder and seat", ge=0, le=3)
    four_pilots: bool = _holder("four_pilots", "true: also the frame in four pilot sizes, for printers you do not know")


class ScrewKeys(Keys):
    """`[screws]`."""

    name: str = _screws("name", "as on a parts list", min_length=1)
    outside: float = _screws("outside", "outside diameter of the thread, by calliper, mm", ge=1, le=12)
    core: float | None = _screws("core", "core diameter of the thread, by calliper, mm; left out: not measured", gt=0, le=12)
    pitch: float | None = _screws("pitch", "ten threads by calliper, divided by ten, mm; left out: not measured", ge=0.2, le=6)
    length: float = _screws("length", "under the head, mm", ge=2, le=200)
    head_diameter: float = _screws("head_diameter", "diameter of the head, mm", gt=0, le=40)
    head_height: float = _screws("head_height", "height of the head, mm", gt=0, le=20)
    pilot: float | None = _screws("pilot", "diameter of the pilot holes, mm; left out: the material's rule", gt=0, le=12)
    boss: float | None = _screws("boss", "diameter of the bosses, mm; left out: the material's rule", gt=0, le=60)
    engagement: float | None = _screws(
        "engagement", "length of thread that holds, mm; left out: the material's rule", gt=0, le=100)
    angle_deg: float | None = _screws(
        "angle_deg", "turn you mean to give after the head touches, degrees; left out: what thread and plastic bear",
        ge=0, le=360)

    @model_validator(mode="after")
    def _together(self) -> ScrewKeys:
        _ordered("core", self.core, "outside diameter", self.outside)
        _ordered("pilot", self.pilot, "outside diameter", self.outside)
        _ordered("outside", self.outside, "boss", self.boss)
        _ordered("outside", self.outside, "head", self.head_diameter)
        return self


class CouponKeys(Keys):
    """`[coupon]`."""

    hole: Literal["pilot", "clearance"] = _coupon("hole", "pilot or clearance holes")
    start: float | None = _coupon("start", "smallest diameter, mm; left out: a little below the rule's", gt=0, le=60)
    step: float = _coupon("step", "from one hole to the next, mm", ge=0.01, le=2)
    count: int = _coupon("count", "how many holes", ge=2, le=30)


class PrinterKeys(Keys):
    """`[printer]`."""

    material: str = _printer("material", "what the stiff pieces are printed from", min_length=1)
    bed: Annotated[tuple[float, float], from_numbers(2, "[width, depth] in mm", bed_size)] = _printer(
        "bed", "[width, depth] of the printer's bed, mm")
    nozzle: float = _printer("nozzle", "diameter of the nozzle, mm", ge=0.1, le=2)
    layer: float = _printer("layer", "height of a layer, mm", ge=0.04, le=1.2)
    angle_deg: float = _printer(
        "angle_deg", "steepest lean from the vertical that prints without supports, degrees", ge=10, le=80)
    bridge: float = _printer("bridge", "longest bridge, mm", ge=0, le=100)
    circumscribed: bool = _printer("circumscribed", "true: round holes of the mesh files lie wholly outside their circle")
    profile: str = _printer("profile", "your name for the slicer's settings: trials of another profile do not count",
                            max_length=80)
    use_trials: bool = _printer("use_trials", "true: the files for printing are corrected by the scale, the narrow holes and the "
                                "wide outsides that the trials tell of this printer")

    @model_validator(mode="after")
    def _together(self) -> PrinterKeys:
        if self.layer >= self.nozzle:
            raise UsageError(f"layer: found {self.layer:g}, expected less than the nozzle of {self.nozzle:g} mm. "
                             "Layers are thinner than the nozzle is wide.")
        return self


class TrialKeys(Keys):
    """One `[[trial]]`."""

    what: Literal["pilot", "clearance", "fit", "size"] = Field(
        description="pilot or clearance: a hole of the coupon; fit: the check plate or cover on the machine; size: a size of a "
                    "print, by calliper")
    drawn: float = Field(ge=0, le=1000, description="diameter or size as drawn then, mm (for fit: the clearance as drawn)")
    result: Literal["drove", "snapped", "stripped", "loose", "tight", "fits", "rubs", ""] = _trial(
        "result", "pilot: drove, snapped or stripped; clearance: fits, tight or loose; fit: fits, tight, rubs or loose; size: "
        "none")
    turns: float | None = _trial("turns", "turns of the screw until then", gt=0, le=200)
    printed: float | None = _trial("printed", "size as printed, by calliper, mm; a size must have it", gt=0, le=1000)
    note: str = _trial("note", "anything else worth keeping")
    of: str = _trial("of", "what was measured or tried: a dimension (d7), a round hole (c1), for fit also an edge (s3) or outer; "
                     "a size must have it", max_length=40)
    material: str = _trial("material", "it was printed from; left out: that of the printer", max_length=60)
    profile: str = _trial("profile", "it was printed with; left out: that of the printer", max_length=80)

    @model_validator(mode="after")
    def _together(self) -> TrialKeys:
        if self.result not in RESULTS[self.what]:
            wanted = ", ".join(RESULTS[self.what]) or "none"
            raise UsageError(f"result: found {self.result!r}, expected {wanted} for {self.what!r}. Choose one of these.")
        if self.what != "fit" and self.drawn == 0:
            raise UsageError("drawn: found 0, expected the diameter or size as drawn, mm. Read it off the coupon or the "
                             "inspection sheet.")
        if self.what == "size" and self.printed is None:
            raise UsageError("printed: found nothing, expected the size as printed, by calliper. Add it.")
        if self.what == "size" and not self.of:
            raise UsageError("of: found nothing, expected what was measured: a dimension (d7) or a round hole (c1). Add it.")
        if self.what != "fit" and self.printed is not None and (
                abs(self.printed - self.drawn) > max(SLIP, SLIP_SHARE * self.drawn)):
            raise UsageError(f"printed: found {self.printed:g}, expected a size near the {self.drawn:g} mm drawn. Measure it "
                             "again, and see whether drawn is the right size.")
        return self


def _ordered(key: str, value: float | None, other: str, limit: float | None) -> None:
    """Refuse, naming `key`, a value that is not below the other one."""
    if value is not None and limit is not None and value >= limit:
        raise UsageError(f"{key}: found {value:g}, expected less than the {other} of {limit:g} mm. Measure the screw again.")
