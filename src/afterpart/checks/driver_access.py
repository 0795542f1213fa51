"""Can the driver reach every bolt and screw once its neighbours are in?"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.checks.judge import MEASURED, judged, not_judged, strongest
from afterpart.model.assembly import Item, Point3
from afterpart.model.case import Case
from afterpart.model.feature import BearingFace
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.fitting import DRIVE_SOURCE, drive
from afterpart.words import entry, tell, translated

FORMULA = entry("free diameter over the head = 2 (distance to a neighbour's middle - half its head) >= access of the tool")
SEVERITY = 5

_SAME = 1e-6


@dataclass(frozen=True)
class _Free:
    """Free diameter over a head; away, head: distance and diameter of the neighbour that sets it, 0 where a counterbore does."""

    room: float
    away: float = 0.0
    head: float = 0.0


def driver_access(case: Case) -> tuple[Finding, ...]:
    """The tightest place of each kind of bolt or screw, with everything beside it fitted.

        D = min over neighbours of 2 (a - D_n / 2),  no more than the counterbore it sits in;   D >= access

    a distance of middles, D_n diameter of a neighbour's head or washer [mm].  A screw's driver is taken as wide as its head.
    What else stands on the machine is not known.  Source: standards.fitting, from memory.
    """
    kinds = [item for item in case.build.assembly.items if item.kind in ("bolt", "screw")]
    found = (_judged(case, item) for item in kinds)
    return tuple(finding for finding in found if finding is not None)


def _judged(case: Case, item: Item) -> Finding | None:
    wish = case.job.wishes.bolts
    tool, access = tell("driver for {item}", item=item.name), item.head_diameter
    if item.kind == "bolt" and wish is not None:
        try:
            found = drive(wish.head, wish.thread)
        except KeyError as error:
            return not_judged("driver_access", item.name, tell("bolts.head: {args}", args=error.args[0]),
                              source=str(DRIVE_SOURCE), formula=FORMULA, missing=("bolts.head",), severity=SEVERITY)
        tool, access = f"{translated(found.tool)} {found.tool_size:g}", found.access
    rooms = [(free, place) for place in item.at if (free := _free(case, item, place)) is not None]
    if not rooms:
        return None
    free, place = min(rooms, key=lambda pair: (pair[0].room, pair[1]))
    room = free.room
    return judged("driver_access", item.name, room, "mm", Limit(low=access), source=str(DRIVE_SOURCE),
                  formula=FORMULA, from_memory=True, severity=SEVERITY,
                  advice=tell("{tool} has {room:.1f} mm free over the head at ({place:.1f}, {place_2:.1f}) and asks for "
                              "{access:g} mm. Try it on the check plate, on the machine.", tool=tool.capitalize(), room=room,
                              place=place[0], place_2=place[1], access=access),
                  inputs=(Input(tell("access"), access, "mm", str(DRIVE_SOURCE)),
                          Input(tell("free"), room, "mm", tell("the assembly as built"))),
                  sensitivity=strongest(_over, {"away": free.away, "head": free.head}) if free.away else (),
                  insensitive=translated(MEASURED),
                  suggestions=(Suggestion("bolts.seat", wish.seat, "plain",
                                          tell("heads on the face are reached from all sides")),) if room < access
                  and wish is not None and wish.seat == "counterbore" and item.kind == "bolt" else ())


def _over(away: float, head: float) -> float:
    return 2 * (away - head / 2)


def _free(case: Case, item: Item, place: Point3) -> _Free | None:
    """Free diameter over a head; None where nothing stands near it."""
    rooms = [_Free(_over(away, other.head_diameter), away, other.head_diameter) for other in case.build.assembly.items
             if other.kind in ("bolt", "screw", "washer") and other.axis == item.axis for at in other.at
             if (away := math.dist(at[:2], place[:2])) > _SAME]
    wish = case.job.wishes.bolts
    if item.kind == "bolt" and wish is not None and wish.seat == "counterbore":
        rooms += [_Free(face.room) for piece in case.build.pieces if piece.file_stem in item.through for face in piece.features
                  if isinstance(face, BearingFace) and math.dist(face.center, place[:2]) <= _SAME]
    return min(rooms, key=lambda free: free.room, default=None)
