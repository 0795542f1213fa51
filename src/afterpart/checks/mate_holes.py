"""Do all bolts pass the cover's holes into the mate that was photographed?"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.fit_changes import opening_changes
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.mate import MateHole, MateMatch
from afterpart.words import entry, paragraph, tell, translated

FORMULA = entry("left = max over (t, phi) of min over i of (g_i - |d_i - t - phi k x p_i|)")
SOURCE = entry("Geometry: the mate as photographed, laid on the cover (mate.json)")
SEVERITY, SEVERITY_MOVED = 8, 4
SAFE = 0.05
"""What should be left beyond the uncertainty, mm: a bolt that scrapes its hole cuts itself a thread there (judgement)."""


def mate_holes(case: Case) -> tuple[Finding, ...]:
    """Room of the tightest bolt when the cover is shifted and turned to suit them all, on the mate as photographed.

        left = max over (t, phi) of min over i of (g_i - |d_i - t - phi k x p_i|)    g  radial room of the bolt in its hole [mm]
                                                                                     d  the mate's offset there [mm]

    The worst hole counts, not the mean: all bolts must pass.  A hole that is off beyond chance is named by itself.  Holds for:
    rigid parts, bolts that stand in the middle of the mate's holes.  Source: SOURCE.
    """
    match = case.mate
    if match is None:
        return ()
    moved = tuple(_moved(match, hole) for hole in match.holes if hole.moved)
    known = [hole for hole in match.holes if hole.room is not None]
    if not known:
        return (*moved,
                not_judged("mate_holes", tell("all bolts together"),
                           tell("No bolt of the cover is known, so neither is its room."), source=translated(SOURCE),
                           formula=FORMULA, missing=("bolts.thread",), severity=SEVERITY))
    return (_together(case, match, known), *moved)


def _together(case: Case, match: MateMatch, known: list[MateHole]) -> Finding:
    tight = min(known, key=lambda hole: hole.room if hole.room is not None else 0.0)
    assert tight.room is not None and tight.gap is not None and tight.bolt is not None
    u = tight.away_u
    text = (tell("Hole {cover} is the tightest: {room:.2f} mm is left all round its bolt.", cover=tight.cover, room=tight.room)
            if tight.room >= 0 else tell("The bolt of hole {cover} lacks {room:.2f} mm: it does not pass while the others do.",
                                         cover=tight.cover, room=-tight.room))
    if match.lone_cover:
        text = paragraph(text, tell("Not counted, for the mate shows no hole there: {lone_cover}.",
                                    lone_cover=", ".join(match.lone_cover)))
    # what is added to every place is added to the least room
    opening = 2.0 * u + SAFE - tight.room
    why = tell("of hole {cover}; add {opening:.2f} mm all round to every hole and wall alike", cover=tight.cover, opening=opening)
    suggestions = (Suggestion("role.clearance", tight.gap, tight.gap + opening, why),) if opening > 0.0 else ()
    change = opening_changes(case, opening) if match.of == "cover" else ()
    return judged("mate_holes", tell("all bolts together"), tight.room, "mm", Limit(low=0.0), source=translated(SOURCE),
                  formula=FORMULA, advice=text, u=u, severity=SEVERITY, suggestions=suggestions, change=change,
                  sensitivity=strongest(_left, {"gap": tight.gap, "offset": tight.gap - tight.room}),
                  inputs=(Input(tell("room drawn"), tight.gap, "mm",
                                tell("hole {cover} as laid, bolt {bolt:g} mm", cover=tight.cover, bolt=tight.bolt)),
                          Input(tell("holes laid"), float(len(known)), "holes", "mate.json")))


def _left(gap: float, offset: float) -> float:
    return gap - offset


def _moved(match: MateMatch, hole: MateHole) -> Finding:
    """A hole of the mate that is not where the others say: attention where its bolt passes all the same."""
    others = [one for one in match.holes if one is not hole and not one.moved]
    usual = max((one.away for one in others), default=0.0)
    text = tell("The mate's hole lies {offset:+.2f}, {offset_2:+.2f} mm (x, y of the drawing; {away:.2f} in all) from where the "
                "others, off by {usual:.2f} mm at most, say.", offset=hole.offset[0], offset_2=hole.offset[1], away=hole.away,
                usual=usual)
    doubt = tell("Look at the machine: is it drilled so, or is the picture at fault? This machine then needs the hole there, and "
                 "others' may not.")
    subject = tell("hole {cover}, moved", cover=hole.cover)
    inputs = (Input(tell("offset in x"), hole.offset[0], "mm", "mate.json", hole.u[0]),
              Input(tell("offset in y"), hole.offset[1], "mm", "mate.json", hole.u[1]))
    if hole.room is None:
        return not_judged("mate_holes", subject, tell("{text} {doubt} Its bolt is not known.", text=text, doubt=doubt),
                          source=translated(SOURCE), formula=FORMULA, missing=("bolts.thread",), inputs=inputs,
                          severity=SEVERITY_MOVED)
    return judged("mate_holes", subject, hole.room, "mm", Limit(low=0.0), source=translated(SOURCE), formula=FORMULA,
                  advice=text, doubt=doubt, u=hole.away_u, severity=SEVERITY_MOVED, inputs=inputs)
