"""What a twentieth of a millimetre of the pilot hole does to driving, seating, stripping and breaking."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.checks.screwed_joint import ScrewedJoint, pilot_input, screwed_joints, thread_inputs, thread_u
from afterpart.formulas.screws import FORMED_FLANK_SOURCE, driving_ratio, stripping_ratio
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.thread_forming import GUIDES_SOURCE, SEATING_SHARE
from afterpart.words import entry, tell

FORMULA = entry("1 - (d - d_p - 0.05) / (d - d_p) <= 1 - 0.7")
SEVERITY = 4

HOLE_STEP = 0.05
"""The change of the hole that is told, mm: less than printers repeat."""


def screw_hole_sensitivity(case: Case) -> tuple[Finding, ...]:
    """Strength of the thread lost when the pilot hole comes out HOLE_STEP wider, against what seating leaves in reserve.

        loss = 1 - T_s(d_p + 0.05) / T_s(d_p),   T_s in proportion to d - d_p,   at most 1 - SEATING_SHARE
        beside it: driving in proportion to d^2 - d_p^2, seating as stripping; breaking is the screw's own and does not change

    u of the loss from the calliper's on d: loss / (d - d_p) u_d
    d outside, d_p pilot [mm], between the screw's core and d.  Sources: formulas.screws, own proportions, from memory.
    """
    return tuple(_finding(joint) for joint in screwed_joints(case))


def _finding(joint: ScrewedJoint) -> Finding:
    name, pilot, source = "screw_hole_sensitivity", joint.boss.pilot, f"{GUIDES_SOURCE}; {FORMED_FLANK_SOURCE}"
    missing = joint.without("outside", "core")
    if missing:
        return joint.untold(name, missing, source=source, formula=FORMULA, severity=SEVERITY)
    screws = joint.screws
    assert screws is not None and screws.core is not None
    if not screws.core < pilot < screws.outside:
        return not_judged(name, joint.name,
                          tell("A pilot hole of {pilot:g} mm does not lie between core ({core:g} mm) and outside ({outside:g} "
                               "mm) of the screw: no such thread is formed.", pilot=pilot, core=screws.core,
                               outside=screws.outside), source=source, formula=FORMULA, severity=SEVERITY)

    def loss(outside: float, core: float, pilot: float) -> float:
        return 1.0 - stripping_ratio(outside, core, pilot, pilot + HOLE_STEP)

    given = {"outside": screws.outside, "core": screws.core, "pilot": pilot}
    reserve = (1.0 - SEATING_SHARE) * (screws.outside - pilot)
    most = 1.0 - SEATING_SHARE
    narrower = value_that_passes(lambda hole: most - loss(**{**given, "pilot": hole}), pilot, 0.5 * (screws.core + pilot))
    return judged(name, joint.name, loss(**given), "-", Limit(high=round(most, 4)), source=source, formula=FORMULA,
                  from_memory=True, severity=SEVERITY, inputs=(pilot_input(joint), *thread_inputs(screws), *_ratios(joint)),
                  advice=tell("A hole {hole_step:g} mm wider costs {loss:.0%} of what strips, and one {reserve:.2f} mm wider "
                              "uses up all that seating leaves in reserve. Print the part with the very settings of the coupon.",
                              hole_step=HOLE_STEP, loss=loss(**given), reserve=reserve),
                  u=loss(**given) / (screws.outside - pilot) * thread_u(screws.outside), sensitivity=strongest(loss, given),
                  suggestions=(Suggestion("screws.pilot", pilot, math.floor(100.0 * narrower) / 100.0,
                                          tell("leaves more thread to form")),) if narrower is not None and narrower < pilot
                  else ())


def _ratios(joint: ScrewedJoint) -> tuple[Input, ...]:
    """Each torque in a hole a step narrower and a step wider, over that in the hole drawn."""
    screws, pilot = joint.screws, joint.boss.pilot
    assert screws is not None and screws.core is not None
    told: list[Input] = []
    for step in (-HOLE_STEP, HOLE_STEP):
        driving = driving_ratio(screws.outside, pilot, pilot + step)
        stripping = stripping_ratio(screws.outside, screws.core, pilot, pilot + step)
        for torque, ratio in ((tell("driving"), driving), (tell("seating"), stripping), (tell("stripping"), stripping),
                              (tell("breaking"), 1.0)):
            told.append(Input(tell("{torque} torque at {step:+.2f} mm", torque=torque, step=step), ratio, "-",
                              tell("ratio to the hole as drawn")))
    return tuple(told)
