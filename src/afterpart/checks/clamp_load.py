"""Clamp load of the stated torque against what closes the seal, on the day it is tightened."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Joint, Unknown, joint_and_torque
from afterpart.checks.joint_window import load_inputs, rounded_up
from afterpart.checks.judge import judged, strongest
from afterpart.checks.seal_load import Needed, needed_load, seal_load_of
from afterpart.formulas.bolted import k_band, load_of_torque, preload_band, torque_of_load
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.friction import K_SOURCE, WRENCH_SOURCE, friction
from afterpart.words import entry, paragraph, symbol_words, tell

FORMULA = entry("F = T / (K d)")
SEVERITY = 7


def clamp_load(case: Case) -> tuple[Finding, ...]:
    """Least clamp load of the torque on one bolt, against the load that closes the longest share of the seal.

        F = T / (K d) >= f L      T torque, K at its upper end with the wrench's scatter, d nominal diameter
        f closing force per length (upper end), L longest share of the seal of one bolt

    Holds for threads as received; oil or rust lies outside the band of K.  Sources: K_SOURCE, WRENCH_SOURCE; friction after
    VDI 2230 stands beside it.
    """
    found, load = joint_and_torque(case), seal_load_of(case)
    if found is None or load is None:
        return ()
    for unknown in (found, load):
        if isinstance(unknown, Unknown):
            return (unknown.finding("clamp_load", tell("bolts of the cover"), SEVERITY),)
    assert not isinstance(found, Unknown) and not isinstance(load, Unknown)
    joint, torque = found
    return (_against(joint, torque, needed_load(case, joint, load), load.inputs),)


def _against(joint: Joint, torque: float, needed: Needed, seal_inputs: tuple[Input, ...]) -> Finding:
    band, diameter = preload_band(torque, joint.bolt.nominal), joint.bolt.nominal
    k_high = k_band(friction())[1]
    enough = torque_of_load(needed.worst_bolt_n, diameter, k_high)
    told = tell("{torque:g} N m give {least_n:.0f} to {greatest_n:.0f} N; closing the seal takes {worst_bolt_n:.0f} N on the "
                "bolt with the longest share, {total_n:.0f} N on all {count}.", torque=torque, least_n=band.least_n,
                greatest_n=band.greatest_n, worst_bolt_n=needed.worst_bolt_n, total_n=needed.total_n, count=len(joint.places))
    if torque < enough:
        told = paragraph(told, tell("It takes {enough:.2f} N m to be sure of it; what the joint bears is told under \"{check}\".",
                                    enough=enough, check=symbol_words("torque_stated")))
    return judged("clamp_load", joint.name, band.least_n, "N", Limit(low=needed.worst_bolt_n),
                  source=f"{K_SOURCE}; {WRENCH_SOURCE}", formula=FORMULA, advice=told, from_memory=True, severity=SEVERITY,
                  inputs=(*load_inputs(joint, torque, band), *needed.inputs, *seal_inputs),
                  sensitivity=strongest(load_of_torque, {"torque_n_m": torque, "diameter": diameter, "k": k_high}),
                  suggestions=() if torque >= enough else (Suggestion("bolts.torque_n_m", torque, rounded_up(enough),
                                                                      tell("closes the seal at the least clamp load")),))
