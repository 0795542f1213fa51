"""The torque the maker means to use, against the window that works for the cover as built."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.bolted_joint import Joint, Temperature, Unknown, joint_of, torque_of
from afterpart.checks.joint_window import known_temperature, limits_of, needed_of, rounded_down, rounded_up, window_in_words
from afterpart.checks.judge import judged, strongest
from afterpart.checks.seal_load import Needed
from afterpart.formulas.bolted import TorqueLimits
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.fasteners import SLEEVES
from afterpart.standards.friction import K_SOURCE, WRENCH_SOURCE
from afterpart.words import entry, paragraph, tell

FORMULA = entry("T_low <= T <= T_high")
SEVERITY = 7


def torque_stated(case: Case) -> tuple[Finding, ...]:
    """The stated torque within the window of formulas/bolted.torque_limits, as the cover is built.

        K_high d F_needed / kept  <=  T  <=  K_low d F_borne

    A torque that works only with metal sleeves is not carried over to a cover without; where no torque is stated, the window is
    told.
    Sources: K_SOURCE, WRENCH_SOURCE; limits of plastics from memory.
    """
    joint = joint_of(case)
    if joint is None:
        return ()
    if isinstance(joint, Unknown):
        return (joint.finding("torque_stated", tell("bolts of the cover"), SEVERITY),)
    temperature, needed, torque = known_temperature(joint), needed_of(case, joint), torque_of(joint)
    for unknown in (temperature, needed):
        if isinstance(unknown, Unknown):
            missing = (*unknown.missing, *(torque.missing if isinstance(torque, Unknown) else ()))
            return (Unknown(unknown.reason, missing).finding("torque_stated", joint.name, SEVERITY),)
    assert not isinstance(temperature, Unknown) and not isinstance(needed, Unknown)
    limits = limits_of(joint, temperature, needed.worst_bolt_n, joint.tube)
    if isinstance(torque, Unknown):
        return (Unknown(tell("{torque_reason} It takes a torque {window}.", torque_reason=torque.reason,
                             window=window_in_words(limits)), torque.missing).finding("torque_stated", joint.name, SEVERITY),)
    if not math.isfinite(limits.low_n_m):
        return (Unknown(tell("The tables have no creep of {material}: choose another printer.material.",
                             material=joint.material.name), ("printer.material",)).finding("torque_stated", joint.name,
                                                                                           SEVERITY),)
    return (_against(joint, torque, temperature, needed, limits),)


def _against(joint: Joint, torque: float, temperature: Temperature, needed: Needed, limits: TorqueLimits) -> Finding:
    meant = _meant_for_sleeves(joint, temperature, needed.worst_bolt_n)
    told = paragraph(tell("{torque:g} N m are stated; it takes a torque {window}.", torque=torque,
                          window=window_in_words(limits)), meant)
    return judged("torque_stated", joint.name, torque, "N m", _limit(limits, torque), source=f"{K_SOURCE}; {WRENCH_SOURCE}",
                  formula=FORMULA, advice=told, from_memory=limits.from_memory, severity=SEVERITY,
                  inputs=(Input(tell("torque"), torque, "N m", "bolts.torque_n_m"), *needed.inputs, *joint.face_inputs,
                          temperature.as_input,
                          Input(tell("greatest load borne"), limits.greatest_load_n, "N", limits.high_set_by)),
                  sensitivity=strongest(lambda torque: torque, {"torque": torque}), suggestions=_into(limits, torque))


def _limit(limits: TorqueLimits, torque: float) -> Limit:
    """The window; where there is none, the end that stands in the way of this torque."""
    if limits.low_n_m <= limits.high_n_m:
        return Limit(limits.low_n_m, limits.high_n_m)
    return Limit(high=limits.high_n_m) if torque > limits.high_n_m else Limit(low=limits.low_n_m)


def _meant_for_sleeves(joint: Joint, temperature: Temperature, needed_n: float) -> str:
    """A word on a torque that works with sleeves only."""
    tube = next((s for s in SLEEVES if s.thread == joint.bolt.thread), None)
    plain = limits_of(joint, temperature, needed_n, None)
    if joint.tube is not None or tube is None or joint.torque_n_m is None or joint.torque_n_m <= plain.high_n_m:
        return ""
    sleeved = limits_of(joint, temperature, needed_n, tube)
    if not sleeved.low_n_m <= joint.torque_n_m <= sleeved.high_n_m:
        return ""
    told = tell("It would suit metal sleeves: a torque written for a metal part or for sleeves is not carried over to plastic.")
    if plain.low_n_m <= plain.high_n_m:
        return paragraph(told, tell("Keep to the window, or fit metal sleeves (bolts.sleeve = true).") if joint.can_have_sleeves
                         else tell("Keep to the window."))
    return paragraph(told, tell("Fit them (bolts.sleeve = true).") if joint.usual else "")


def _into(limits: TorqueLimits, torque: float) -> tuple[Suggestion, ...]:
    """The nearer end of the window, rounded into it; () when there is none."""
    if not 0.0 < limits.high_n_m or limits.low_n_m > limits.high_n_m:
        return ()
    if limits.low_n_m <= torque <= limits.high_n_m:
        return ()
    near = rounded_down(limits.high_n_m) if torque > limits.high_n_m else rounded_up(limits.low_n_m)
    return (Suggestion("bolts.torque_n_m", torque, near, tell("the nearer end of the torque that works")),)
