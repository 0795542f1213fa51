"""Bolt length: enough thread engaged in the machine, and the tip not on the bottom of its hole."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.model.assembly import Item
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.bolt_lengths import BOLT_LENGTHS
from afterpart.standards.bolt_lengths import SOURCE as LENGTHS_SOURCE
from afterpart.standards.fasteners import bolt
from afterpart.standards.fitting import ENGAGEMENT_SOURCE, LEAST_ENGAGEMENT, TIP_ROOM
from afterpart.words import entry, paragraph, tell

ENGAGED_FORMULA = entry("e = min(L - grip, thread in the machine) >= c d")
TIP_FORMULA = entry("L - grip + r P <= thread in the machine")
SEVERITY = 8


def bolt_length(case: Case) -> tuple[Finding, ...]:
    """Thread engaged, and room below the tip, for each kind of bolt that holds the cover.

        e = min(L - grip, T) >= c d        L bolt length, grip head to joint, T thread in the machine, d diameter [mm]
        L - grip + r P <= T                P pitch [mm], r pitches to leave free below the tip, c by the machine's material

    Holds for steel bolts in the materials of LEAST_ENGAGEMENT.  u: the print's own, fit.printer_u.
    Sources: standards.fitting, from memory.
    """
    bolts = [item for item in case.build.assembly.items if item.kind == "bolt"]
    return tuple(finding for item in bolts for finding in (_engaged(case, item), _tip(case, item)))


def _grip(item: Item) -> float:
    """From under the head to the joint, mm."""
    return max(-place[2] for place in item.at)


def _reach(length: float, grip: float) -> float:
    return length - grip


def _engaged(case: Case, item: Item) -> Finding:
    wish, stands_on = case.job.wishes.bolts, case.job.wishes.machine.face_material.strip().lower()
    depth = wish.grip_in_machine if wish else None
    if stands_on not in LEAST_ENGAGEMENT:
        return not_judged("bolt_length", tell("{item}, thread engaged", item=item.name),
                          tell("machine.face_material: no least engagement is known for {stands_on!r}; known are "
                               "{least_engagement}.", stands_on=stands_on, least_engagement=", ".join(LEAST_ENGAGEMENT)),
                          source=str(ENGAGEMENT_SOURCE), formula=ENGAGED_FORMULA, missing=("machine.face_material",),
                          severity=SEVERITY)
    grip, needed = _grip(item), LEAST_ENGAGEMENT[stands_on] * item.diameter
    reach = _reach(item.length, grip)
    engaged = reach if depth is None else min(reach, depth)
    longer = next((length for length in BOLT_LENGTHS if _reach(length, grip) >= needed), None)
    told = tell("{engaged:.1f} mm of thread hold in {stands_on}; {needed:.1f} mm carry the bolt's full load, less load needs "
                "less.", engaged=engaged, stands_on=stands_on, needed=needed)
    if depth is not None and depth < needed:
        told = paragraph(told, tell("The machine has only {depth:g} mm of thread: keep the torque low, no longer bolt helps.",
                                    depth=depth))
        longer = None
    return judged("bolt_length", tell("{item}, thread engaged", item=item.name), engaged, "mm", Limit(low=needed),
                  source=str(ENGAGEMENT_SOURCE), formula=ENGAGED_FORMULA, advice=told, from_memory=True,
                  severity=SEVERITY, u=case.job.wishes.fit.printer_u,
                  inputs=(Input(tell("length"), item.length, "mm", tell("bolts.length, or the shortest sold that reaches")),
                          Input(tell("grip"), grip, "mm", tell("cover, washer and seat as built"), case.job.wishes.fit.printer_u),
                          Input(tell("diameter"), item.diameter, "mm", "bolts.thread")),
                  sensitivity=strongest(_reach, {"length": item.length, "grip": grip}),
                  suggestions=(Suggestion("bolts.length", item.length, longer,
                                          tell("the next length sold ({title})", title=LENGTHS_SOURCE.title)),)
                  if longer is not None and longer > item.length else ())


def _tip(case: Case, item: Item) -> Finding:
    wish, subject = case.job.wishes.bolts, tell("{item}, tip", item=item.name)
    if wish is None or wish.grip_in_machine is None:
        return not_judged("bolt_length", subject,
                          tell("How deep the machine's threads are is not told (bolts.grip_in_machine): put a thin rod into a "
                               "hole and measure it, or see whether it goes through."), source=str(ENGAGEMENT_SOURCE),
                          formula=TIP_FORMULA, missing=("bolts.grip_in_machine",), severity=SEVERITY)
    grip, pitch = _grip(item), bolt(wish.thread).pitch
    value, room = _reach(item.length, grip), TIP_ROOM.low * pitch
    limit = wish.grip_in_machine - room
    shorter = next((length for length in reversed(BOLT_LENGTHS) if 0 < _reach(length, grip) <= limit), None)
    told = tell("The tip goes {value:.1f} mm into a thread {grip_in_machine:g} mm deep; {room:.1f} mm should stay free, or the "
                "bolt is tight before the cover is. In a hole that goes through it does no harm.", value=value,
                grip_in_machine=wish.grip_in_machine, room=room)
    return judged("bolt_length", subject, value, "mm", Limit(high=limit), source=str(ENGAGEMENT_SOURCE),
                  formula=TIP_FORMULA, advice=told, from_memory=True, severity=SEVERITY,
                  u=case.job.wishes.fit.printer_u,
                  inputs=(Input(tell("length"), item.length, "mm", tell("bolts.length, or the shortest sold that reaches")),
                          Input(tell("grip"), grip, "mm", tell("cover, washer and seat as built"), case.job.wishes.fit.printer_u),
                          Input(tell("thread in the machine"), wish.grip_in_machine, "mm", "bolts.grip_in_machine")),
                  sensitivity=strongest(_reach, {"length": item.length, "grip": grip}),
                  suggestions=(Suggestion("bolts.length", item.length, shorter,
                                          tell("sold ({title})", title=LENGTHS_SOURCE.title)),) if shorter is not None
                  and value > limit else ())
