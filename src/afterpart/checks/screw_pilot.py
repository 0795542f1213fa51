"""The pilot hole: the one that the coupon proved, or the rule's where nothing was tried."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.screwed_joint import ScrewedJoint, pilot_input, pilot_rows, screwed_joints, thread_inputs
from afterpart.formulas.screws import thread_engagement
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.printing import rule
from afterpart.standards.thread_forming import FASTEST_RPM, GUIDES_SOURCE, PILOT_PLUS, START_HEIGHT, boss_rule
from afterpart.words import entry, paragraph, tell, together, translated

FORMULA = entry("c d <= d_p <= c d + 0.08")
TRIED = entry("narrowest to widest hole of the coupon in which the screw drove")
ROWS = entry("[[trial]] rows of this printer")
SEVERITY = 6
ROUNDED = 0.005
"""Pilot holes are drawn to a hundredth of a millimetre."""


def screw_pilot(case: Case) -> tuple[Finding, ...]:
    """The drawn pilot hole against the holes in which the screw drove, or against the rule of the material.

        with a coupon:  narrowest d_p that drove <= d_p <= widest d_p that drove
        without:        c d <= d_p <= c d + PILOT_PLUS      c of the material, d outside diameter [mm]

    The rule is one of mouldings up to 3 mm; printers make holes narrower, so that it never passes without a coupon.
    Sources: standards.thread_forming.
    """
    return tuple(_tried(case, joint) if pilot_rows(case) else _ruled(joint) for joint in screwed_joints(case))


def _tried(case: Case, joint: ScrewedJoint) -> Finding:
    drove = [row.drawn for row in pilot_rows(case, "drove")]
    if not drove:
        return _none_drove(case, joint)
    return judged("screw_pilot", joint.name, joint.boss.pilot, "mm",
                  Limit(round(min(drove) - ROUNDED, 4), round(max(drove) + ROUNDED, 4)), source=translated(ROWS),
                  formula=TRIED, severity=SEVERITY, inputs=(pilot_input(joint), *_narrowing(joint)),
                  advice=tell("The screw drove in holes drawn {least:g} to {most:g} mm; this one is drawn {pilot:g} mm.",
                              least=min(drove), most=max(drove), pilot=joint.boss.pilot),
                  sensitivity=strongest(lambda pilot: pilot, {"pilot": joint.boss.pilot}),
                  suggestions=_change(joint, min(drove), max(drove), tell("the nearest hole in which the screw drove")))


def _none_drove(case: Case, joint: ScrewedJoint) -> Finding:
    """Between the widest hole that snapped the screw and the narrowest that stripped nothing is proven; outside, it fails."""
    low = max((row.drawn + ROUNDED for row in pilot_rows(case, "snapped")), default=None)
    high = min((row.drawn - ROUNDED for row in pilot_rows(case, "stripped")), default=None)
    told = tell("The screw drove in none of the holes tried: print a coupon with other sizes (coupon.start) and write a "
                "[[trial]] row for each.")
    if (low is None or joint.boss.pilot > low) and (high is None or joint.boss.pilot < high):
        return not_judged("screw_pilot", joint.name, told, source=translated(ROWS), formula=TRIED, missing=("trial",),
                          severity=SEVERITY)
    between = (tell("wider than {low:g} mm", low=low - ROUNDED) if low is not None else "",
               tell("narrower than {high:g} mm", high=high + ROUNDED) if high is not None else "")
    return judged("screw_pilot", joint.name, joint.boss.pilot, "mm", Limit(low, high), source=translated(ROWS),
                  formula=TRIED, severity=SEVERITY, inputs=(pilot_input(joint), *_narrowing(joint)),
                  advice=paragraph(told, tell("The hole must be {between}; this one is drawn {pilot:g} mm.",
                                              between=together(filter(None, between)), pilot=joint.boss.pilot)),
                  sensitivity=strongest(lambda pilot: pilot, {"pilot": joint.boss.pilot}))


def _ruled(joint: ScrewedJoint) -> Finding:
    if joint.screws is None:
        return joint.untold("screw_pilot", joint.without("outside"), source=str(GUIDES_SOURCE), formula=FORMULA,
                            severity=SEVERITY)
    try:
        row = boss_rule(joint.material)
    except KeyError as error:
        return not_judged("screw_pilot", joint.name,
                          tell("{args}. Print the hole coupon and write a [[trial]] row for each hole.",
                               args=str(error.args[0]).capitalize()), source=str(GUIDES_SOURCE), formula=FORMULA,
                          missing=("trial",), severity=SEVERITY)
    least = row.pilot * joint.screws.outside - ROUNDED
    under = rule("hole_undersize")
    limit = Limit(round(least, 4), round(least + ROUNDED + PILOT_PLUS, 4))
    return judged("screw_pilot", joint.name, joint.boss.pilot, "mm", limit, formula=FORMULA,
                  source=f"{row.source}; {GUIDES_SOURCE}", from_memory=row.source.from_memory, severity=SEVERITY,
                  inputs=(pilot_input(joint), *thread_inputs(joint.screws), Input("c", row.pilot, "-", str(row.source)),
                          *_narrowing(joint)),
                  advice=paragraph(tell("{material} wants {pilot:g} of the screw, {pilot_2:.2f} mm.", material=row.material,
                                        pilot=row.pilot, pilot_2=row.pilot * joint.screws.outside), _to_begin_with(joint)),
                  doubt=tell("That is a rule of mouldings: printed holes come out {under_low:g} to {under_high:g} mm narrower, "
                             "and 0.05 mm matters. Print the hole coupon, drive a screw into each hole, by hand or with a driver "
                             "no faster than {fastest_rpm:g} turns a minute, and write a [[trial]] row for each.",
                             under_low=under.low, under_high=under.high, fastest_rpm=FASTEST_RPM),
                  sensitivity=strongest(lambda pilot: pilot, {"pilot": joint.boss.pilot}),
                  suggestions=_change(joint, least + ROUNDED, least + ROUNDED + PILOT_PLUS, tell("the material's rule")))


def _to_begin_with(joint: ScrewedJoint) -> str:
    """Holes that form START_HEIGHT of this screw's thread, where its core is told: d_p = d - e (d - d3)."""
    screws = joint.screws
    if screws is None or screws.core is None:
        return ""
    narrow, wide = (screws.outside - share * (screws.outside - screws.core) for share in (START_HEIGHT.high, START_HEIGHT.low))
    return tell("By its core, holes that come out {narrow:.2f} to {wide:.2f} mm wide form {start_height_low:.0%} to "
                "{start_height_high:.0%} of its thread's height: begin with those on the coupon.", narrow=narrow, wide=wide,
                start_height_low=START_HEIGHT.low, start_height_high=START_HEIGHT.high)


def _narrowing(joint: ScrewedJoint) -> tuple[Input, ...]:
    """Share of the thread's height that this hole leaves to form, where the core is told."""
    screws = joint.screws
    if screws is None or screws.core is None:
        return ()
    share = thread_engagement(screws.outside, screws.core, joint.boss.pilot)
    return (Input(tell("thread height formed"), share, "-", "(d - d_p) / (d - d3)"),)


def _change(joint: ScrewedJoint, low: float, high: float, why: str) -> tuple[Suggestion, ...]:
    """The nearest hole between low and high, to a hundredth of a millimetre; () for a hole that lies there already."""
    now = joint.boss.pilot
    if low - ROUNDED <= now <= high + ROUNDED:
        return ()
    return (Suggestion("screws.pilot", now, round(min(max(now, low), high), 2), why),)
