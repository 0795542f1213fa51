"""How far the built pilot hole stands from the holes of the coupon that failed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import statistics

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.screwed_joint import ScrewedJoint, pilot_input, pilot_rows, screwed_joints
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.wishes import CouponWish, Trial
from afterpart.words import entry, paragraph, tell, translated

SOURCE = entry("[[trial]] rows of this printer; JCGM 100:2008, 4.2.2, for the scatter")
FORMULA = entry("a = min |d_p - d_failed| >= one step of the coupon")
SEVERITY = 5
DIGITS = 4
"""Drawn holes are compared to a tenth of a micrometre, so that a whole step is a whole step."""


def coupon_result(case: Case) -> tuple[Finding, ...]:
    """Distance from the drawn pilot hole to the nearest hole in which the screw snapped or stripped.

        a = min |d_p - d_i| over the holes i that failed [mm], at least one step of the coupon
        u = s of (printed - drawn) over the holes measured, n - 1 in it

    Without rows, or with no hole that failed, how near the edge is cannot be told: not judged.
    """
    return tuple(_finding(case, joint) for joint in screwed_joints(case))


def _finding(case: Case, joint: ScrewedJoint) -> Finding:
    rows, step = pilot_rows(case), (case.job.wishes.coupon or CouponWish()).step
    failed = [row for row in rows if row.result != "drove"]
    if not failed:
        tried = (tell("None of the holes tried failed, so that it is not known how near the edge is: try narrower and wider ones "
                      "too.") if rows else tell("No hole of the coupon was tried: print it in the part's filament and settings, "
                                                "drive a screw into each hole until its head is snug, and write a [[trial]] row "
                                                "for each. Torques of a printed thread cannot be looked up."))
        return not_judged("coupon_result", joint.name, tried, source=translated(SOURCE), formula=FORMULA,
                          missing=("trial",), severity=SEVERITY)
    nearest = min(failed, key=lambda row: abs(row.drawn - joint.boss.pilot))
    away = round(abs(nearest.drawn - joint.boss.pilot), DIGITS)
    offsets = [row.printed - row.drawn for row in rows if row.printed is not None]
    scatter = statistics.stdev(offsets) if len(offsets) > 1 else None
    measured = ("" if scatter is None else tell("Printed holes differ from drawn ones by {fmean:+.2f} mm, scatter {scatter:.2f} "
                                                "mm.", fmean=statistics.fmean(offsets), scatter=scatter))
    return judged("coupon_result", joint.name, away, "mm", Limit(low=step), source=translated(SOURCE),
                  formula=FORMULA, u=scatter,
                  advice=paragraph(_failed(nearest, away, joint.boss.pilot), _how(nearest.result) if away < step else "",
                                   measured),
                  inputs=(pilot_input(joint),
                          Input(tell("nearest that failed"), nearest.drawn, "mm",
                                tell("[[trial]] drawn, stripped") if nearest.result == "stripped"
                                else tell("[[trial]] drawn, snapped")),
                          Input(tell("step"), step, "mm", "coupon.step")),
                  sensitivity=strongest(lambda pilot, failed: abs(pilot - failed),
                                        {"pilot": joint.boss.pilot, "failed": nearest.drawn}),
                  suggestions=_away(joint, rows, step) if away < step else (), severity=SEVERITY)


def _how(result: str) -> str:
    """Which way to go from a hole that failed."""
    return tell("A narrower hole holds more.") if result == "stripped" else tell("A wider hole turns more easily.")


def _failed(row: Trial, away: float, pilot: float) -> str:
    """What the hole nearest to the one drawn did, in a sentence of its own for each."""
    if row.result == "stripped":
        return tell("{drawn:g} mm stripped, {away:.2f} mm from the {pilot:g} mm drawn.", drawn=row.drawn, away=away, pilot=pilot)
    return tell("{drawn:g} mm snapped, {away:.2f} mm from the {pilot:g} mm drawn.", drawn=row.drawn, away=away, pilot=pilot)


def _away(joint: ScrewedJoint, rows: tuple[Trial, ...], step: float) -> tuple[Suggestion, ...]:
    """The nearest hole a whole step from every one that failed: one that drove where there is one, else the first to try."""
    failed = [row for row in rows if row.result != "drove"]
    tried = [row.drawn for row in rows if row.result == "drove"]
    beside = [row.drawn - step if row.result == "stripped" else row.drawn + step for row in failed]
    for sizes, why in ((tried, tell("it drove, a whole step from what failed")),
                       (beside, tell("a whole step from what failed; try it first"))):
        clear = [size for size in sizes if all(round(abs(size - row.drawn), DIGITS) >= step for row in failed)]
        if clear:
            to = min(clear, key=lambda size: abs(size - joint.boss.pilot))
            return (Suggestion("screws.pilot", joint.boss.pilot, round(to, DIGITS), why),)
    return ()
