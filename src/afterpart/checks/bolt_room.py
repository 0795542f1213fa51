"""Room on the machine: what stands out of the new cover on either side against what is nearest there."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.model.assembly import Place
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.model.job import Height
from afterpart.words import entry, tell, translated

OUTSIDE_FORMULA = entry("head above the joint <= old thickness + room below")
INSIDE_FORMULA = entry("highest piece above the joint <= room above")
SOURCE = entry("Geometry: the assembly as built against the heights card")
SEVERITY = 7


def bolt_room(case: Case) -> tuple[Finding, ...]:
    """How far heads stand out, and how far pieces reach into the machine, against the heights the maker took.

        outside   max(head height - z of its seat) <= t_old + room below       z from the joint, into the machine [mm]
        inside    max z of the placed pieces <= room above

    Room below was taken from the old part's underside, t_old below the joint.  Bolts' tips stand in their threads and are left
    out.  u: of the heights.
    """
    return _outside(case) + _inside(case)


def _height(case: Case, level: str) -> Height | None:
    return next((h for h in case.job.heights if h.level == level), None)


def _outside(case: Case) -> tuple[Finding, ...]:
    heads = [item for item in case.build.assembly.items if item.kind in ("bolt", "screw")]
    if not heads:
        return ()
    highest = max(heads, key=lambda item: max(item.head_height - place[2] for place in item.at))
    value = max(highest.head_height - place[2] for place in highest.at)
    room, old = _height(case, "room below"), _old_thickness(case)
    subject = tell("outside, head of {highest}", highest=highest.name)
    if room is None or old is None:
        missing = tuple(key for key, told in (("height.room below", room), ("photo.face_height", old)) if told is None)
        return (not_judged("bolt_room", subject,
                           tell("Heads stand {value:.1f} mm above the joint on the outside; what is nearest there is not told "
                                "({missing}).", value=value, missing=", ".join(missing)), source=translated(SOURCE),
                           formula=OUTSIDE_FORMULA, missing=missing, severity=SEVERITY),)
    return (_judged(subject, value, old.value + room.value, math.hypot(old.u, room.u), translated(OUTSIDE_FORMULA),
                    (Input(tell("room below"), room.value, "mm", tell("[[height]] room below"), room.u),
                     Input(tell("old thickness"), old.value, "mm", tell("height of the face above the table"), old.u)),
                    tell("choose a lower head (bolts.head), a counterbore (bolts.seat) or a thinner cover")),)


def _inside(case: Case) -> tuple[Finding, ...]:
    tops = [(_top(case, place), place.piece) for place in case.build.assembly.places]
    value, piece = max(tops, default=(0.0, ""))
    if value <= 0.0:
        return ()
    room = _height(case, "room above")
    subject = tell("inside, {piece}", piece=piece)
    if room is None:
        return (not_judged("bolt_room", subject,
                           tell("It reaches {value:.1f} mm into the machine; what is nearest there is not told (height.room "
                                "above).", value=value), source=translated(SOURCE), formula=INSIDE_FORMULA,
                           missing=("height.room above",), severity=SEVERITY),)
    return (_judged(subject, value, room.value, room.u, translated(INSIDE_FORMULA),
                    (Input(tell("room above"), room.value, "mm", tell("[[height]] room above"), room.u),),
                    tell("a thinner filter, lip or holder reaches less far")),)


def _judged(subject: str, value: float, limit: float, u: float, formula: str, inputs: tuple[Input, ...], way: str) -> Finding:
    return judged("bolt_room", subject, value, "mm", Limit(high=limit), source=translated(SOURCE), formula=formula, u=u,
                  severity=SEVERITY,
                  advice=_advice(value, limit, way), inputs=inputs,
                  sensitivity=strongest(lambda **told: sum(told.values()), {i.name: i.value for i in inputs}))


def _top(case: Case, place: Place) -> float:
    """Highest point of the placed piece, in the assembly frame."""
    facts = next((f for f in case.facts if f.piece == place.piece), None)
    piece = next(p for p in case.build.pieces if p.file_stem == place.piece)
    low, high = (facts.low[2], facts.high[2]) if facts else (0.0, piece.thickness)
    return place.shift[2] + (-low if place.flipped else high)


def _old_thickness(case: Case) -> Height | None:
    """Of the old part, from table to face."""
    told = _height(case, "face")
    if told is None and case.job.shots and case.job.shots[0].face_height is not None:
        return Height("face", case.job.shots[0].face_height)
    return told


def _advice(value: float, limit: float, way: str) -> str:
    if value <= limit:
        return tell("It stands {value:.1f} mm from the joint, {spare:.1f} mm less than there is room for; to gain room: {way}.",
                    value=value, spare=limit - value, way=way)
    return tell("It stands {value:.1f} mm from the joint, {over:.1f} mm more than there is room for; to gain room: {way}.",
                value=value, over=value - limit, way=way)
