"""The keys of a whole job file, as one pydantic model of all its tables.

The tables themselves stand in photo_keys.py (photographs, readings, datum, check plate), cover_keys.py and making_keys.py (the
pieces to make), service_keys.py (what the checks must know), release_keys.py (the folder for others).  An unknown key is refused
(it is nearly always a typing mistake).  A table of a piece that is not given is None: the piece is not asked for.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Literal

from pydantic import Field

from afterpart.job.cover_keys import (
    BoltKeys,
    BossKeys,
    ChangeKeys,
    CoverKeys,
    HoleKeys,
    InletKeys,
    LipKeys,
    RoleKeys,
    SealKeys,
)
from afterpart.job.drawing_keys import EditKeys, FixedKeys
from afterpart.job.making_keys import CouponKeys, FilterKeys, HolderKeys, PrinterKeys, ScrewKeys, TrialKeys
from afterpart.job.mate_keys import MateKeys
from afterpart.job.photo_keys import DamageKeys, DatumKeys, HeightKeys, PhotoKeys, PlateKeys, ReadingKeys
from afterpart.job.release_keys import ReleaseKeys
from afterpart.job.report_keys import FitReportKeys
from afterpart.job.service_keys import FailureKeys, FitKeys, MachineKeys, ServiceKeys
from afterpart.job.typed import Keys, to_noun
from afterpart.model.wishes import (
    AddedBoss,
    AddedHole,
    BoltWish,
    Change,
    CouponWish,
    CoverWish,
    FailureRow,
    FilterWish,
    FitWish,
    HolderWish,
    InletWish,
    LipWish,
    MachineFacts,
    PrinterWish,
    RoleChoice,
    ScrewWish,
    ServiceFacts,
    Trial,
    Wishes,
)

PieceKind = Literal["cover", "gasket", "clamp_frame", "filter_element", "cutting_guide", "hole_coupon"]


class JobKeys(Keys):
    """The whole job file."""

    name: str = Field(min_length=1, description="name of the part")
    revision: str = Field("A", description="written on the drawing and the pieces")
    date: str = Field("", description="written on the drawing; the clock is never asked")
    origin: Literal["metric", "inch", "unknown"] = Field("unknown", description="unit system the designer worked in")
    drawn: int | None = Field(None, ge=1850, le=2100, description="rough year it was drawn: old parts are oftener in inches")
    make: list[PieceKind] = Field(default_factory=list, description="pieces to make: cover, gasket, clamp_frame, filter_element, "
                                  "cutting_guide, hole_coupon; left out: what the tables below ask for")
    photo: list[PhotoKeys] = Field(min_length=1, description="the photographs")
    damage: list[DamageKeys] = Field(default_factory=list, description="damaged places, left out of the rims")
    reading: list[ReadingKeys] = Field(default_factory=list, description="hand measurements")
    height: list[HeightKeys] = Field(default_factory=list, description="heights and depths, the lines of heights.pdf")
    fixed: list[FixedKeys] = Field(default_factory=list, description="design values you set")
    edit: list[EditKeys] = Field(default_factory=list, description="corrections of the drawing")
    mate: MateKeys | None = Field(None, description="the mating part, as photographed")
    datum: DatumKeys = Field(default_factory=DatumKeys, description="origin and direction of the drawing")
    plate: PlateKeys = Field(default_factory=PlateKeys, description="the check plate")
    change: list[ChangeKeys] = Field(default_factory=list, description="what is kept, added or dropped, and why")
    role: list[RoleKeys] = Field(default_factory=list, description="what a loop, hole or lip does on the machine")
    hole: list[HoleKeys] = Field(default_factory=list, description="round holes the old part does not have")
    boss: list[BossKeys] = Field(default_factory=list, description="bosses for thread-forming screws on the mating face")
    cover: CoverKeys | None = Field(None, description="the new cover")
    bolts: BoltKeys | None = Field(None, description="the bolts that hold it to the machine")
    seal: SealKeys | None = Field(None, description="the seal between cover and machine")
    lip: LipKeys | None = Field(None, description="a locating lip on the mating face")
    inlet: InletKeys | None = Field(None, description="the way in for the air")
    filter: FilterKeys | None = Field(None, description="the foam element")
    holder: HolderKeys | None = Field(None, description="what holds the element in the cover")
    screws: ScrewKeys | None = Field(None, description="the thread-forming screws, measured on one of them")
    coupon: CouponKeys | None = Field(None, description="the hole coupon")
    printer: PrinterKeys = Field(default_factory=PrinterKeys, description="the printer and its material")
    trial: list[TrialKeys] = Field(default_factory=list, description="what test prints showed")
    machine: MachineKeys = Field(default_factory=MachineKeys, description="the machine it goes on")
    service: ServiceKeys = Field(default_factory=ServiceKeys, description="where the part serves")
    fit: FitKeys = Field(default_factory=FitKeys, description="other people's machines it shall fit")

    failure_mode: list[FailureKeys] = Field(default_factory=list, description="what you know better of the failure modes")
    fit_report: list[FitReportKeys] = Field(default_factory=list, description="what others found who fitted it")
    release: ReleaseKeys = Field(default_factory=ReleaseKeys, description="the folder that is given to others")

    def wishes(self) -> Wishes:
        """What is to be made, as a noun."""
        return Wishes(
            make=tuple(self.make), cover=to_noun(CoverWish, self.cover), bolts=to_noun(BoltWish, self.bolts),
            seal=self.seal.wish() if self.seal else None, lip=to_noun(LipWish, self.lip), inlet=to_noun(InletWish, self.inlet),
            filter=to_noun(FilterWish, self.filter), holder=to_noun(HolderWish, self.holder),
            screws=to_noun(ScrewWish, self.screws), coupon=to_noun(CouponWish, self.coupon),
            printer=PrinterWish(**dict(self.printer)),
            changes=tuple(Change(**dict(row)) for row in self.change),
            roles=tuple(RoleChoice(**dict(row)) for row in self.role),
            holes=tuple(AddedHole(**dict(row)) for row in self.hole),
            bosses=tuple(AddedBoss(**dict(row)) for row in self.boss),
            trials=tuple(Trial(**dict(row)) for row in self.trial),
            failure_modes=tuple(FailureRow(**dict(row)) for row in self.failure_mode),
            machine=to_noun(MachineFacts, self.machine) or MachineFacts(),
            service=to_noun(ServiceFacts, self.service) or ServiceFacts(), fit=to_noun(FitWish, self.fit) or FitWish())
