"""Does the bolt stand the torque: its proof load, and the torque at which it may twist off."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Joint, Unknown, joint_and_torque
from afterpart.checks.joint_window import load_inputs, rounded_down
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.bolted import (
    PROOF_SHARE,
    PROOF_SHARE_SOURCE,
    k_band,
    load_of_torque,
    preload_band,
    proof_load,
    torque_of_load,
)
from afterpart.formulas.screws import BREAKING_SOURCE, breaking_torque
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.friction import TOOL_SCATTER, TOOL_SOURCE, friction
from afterpart.words import entry, tell

PROOF_FORMULA = entry("T / (K d) <= 0.75 A_s R_p")
BREAKING_FORMULA = entry("T (1 + scatter) <= X R_m pi d3^3 / 16")
PROOF_SEVERITY, BREAKING_SEVERITY = 7, 9


def bolt_proof(case: Case) -> tuple[Finding, ...]:
    """Greatest clamp load of the torque against the bolt's proof load, and the torque itself against the least breaking torque.

        T / (K d) <= PROOF_SHARE A_s R_p            K at its lower end with the wrench's scatter
        T (1 + tool's scatter) <= X R_m pi d3^3 / 16    d3 at its least, from 6g

    Holds for coarse threads M2 to M12.  Sources: ISO 898-1, ISO 898-7, ISO 3506-1, PROOF_SHARE_SOURCE.
    """
    found = joint_and_torque(case)
    if found is None:
        return ()
    if isinstance(found, Unknown):
        return (found.finding("bolt_proof", tell("bolts of the cover"), PROOF_SEVERITY),)
    joint, torque = found
    return _proof(joint, torque), _breaking(joint, torque)


def _proof(joint: Joint, torque: float) -> Finding:
    band, k_low = preload_band(torque, joint.bolt.nominal), k_band(friction())[0]
    allowed = PROOF_SHARE * proof_load(joint.bolt, joint.grade)
    most = rounded_down(torque_of_load(allowed, joint.bolt.nominal, k_low))
    return judged("bolt_proof", tell("{joint}, proof load", joint=joint.name), band.greatest_n, "N", Limit(high=allowed),
                  source=f"{joint.grade.source}; {PROOF_SHARE_SOURCE}", formula=PROOF_FORMULA,
                  advice=tell("{torque:g} N m may give {greatest_n:.0f} N; {proof_share:.0%} of the proof load are {allowed:.0f} "
                              "N: at most {most:.2f} N m.", torque=torque, greatest_n=band.greatest_n, proof_share=PROOF_SHARE,
                              allowed=allowed, most=most), from_memory=joint.grade.source.from_memory, severity=PROOF_SEVERITY,
                  inputs=(*load_inputs(joint, torque, band),
                          Input(tell("stress area"), joint.bolt.stress_area, "mm2", str(joint.bolt.source)),
                          Input(tell("proof stress"), joint.grade.proof, "N/mm2", str(joint.grade.source))),
                  sensitivity=strongest(load_of_torque, {"torque_n_m": torque, "diameter": joint.bolt.nominal, "k": k_low}),
                  suggestions=(Suggestion("bolts.torque_n_m", torque, most, tell("keeps to the bolt's proof load")),)
                  if most < torque else ())


def _breaking(joint: Joint, torque: float) -> Finding:
    breaks, subject = breaking_torque(joint.bolt, joint.grade), tell("{joint}, breaking torque", joint=joint.name)
    if breaks is None:
        return not_judged("bolt_proof", subject,
                          tell("No standard here gives the breaking torque of class {grade}: take bolts.property_class 8.8 or "
                               "better, or a stainless one.", grade=joint.grade.name), source=str(BREAKING_SOURCE),
                          formula=BREAKING_FORMULA, missing=("bolts.property_class",), severity=BREAKING_SEVERITY)
    worst, most = torque * (1.0 + TOOL_SCATTER), rounded_down(breaks / (1.0 + TOOL_SCATTER))
    refused = worst > breaks
    told = (tell("REFUSED: {torque:g} N m can twist off an {thread} of class {grade}, which may break from {breaks:.2f} N m. "
                 "Never tighten it so: at most {most:.2f} N m, and less where the plastic asks for it.", torque=torque,
                 thread=joint.bolt.thread, grade=joint.grade.name, breaks=breaks, most=most) if refused
            else tell("The bolt breaks from {breaks:.2f} N m at the earliest.", breaks=breaks))
    return judged("bolt_proof", subject, worst, "N m", Limit(high=breaks), source=f"{BREAKING_SOURCE}; {TOOL_SOURCE}",
                  formula=BREAKING_FORMULA, advice=told, from_memory=True, severity=BREAKING_SEVERITY,
                  inputs=(Input(tell("torque"), torque, "N m", "bolts.torque_n_m"),
                          Input(tell("tool's scatter"), TOOL_SCATTER, "-", str(TOOL_SOURCE)),
                          Input(tell("least core diameter"), joint.bolt.core_diameter_least, "mm", str(joint.bolt.source)),
                          Input(tell("tensile strength"), joint.grade.tensile, "N/mm2", str(joint.grade.source))),
                  sensitivity=strongest(lambda torque, scatter: torque * (1.0 + scatter),
                                        {"torque": torque, "scatter": TOOL_SCATTER}),
                  suggestions=(Suggestion("bolts.torque_n_m", torque, most, tell("keeps below the breaking torque")),) if refused
                  else ())

