"""Clamp load that is left after a thousand hours, against what keeps the seal closed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Joint, Unknown, joint_and_torque
from afterpart.checks.joint_window import known_temperature, load_inputs, rounded_up
from afterpart.checks.judge import judged, strongest
from afterpart.checks.seal_load import Needed, needed_load, seal_load_of
from afterpart.formulas.bolted import (
    EMBEDDING_SOURCE,
    METAL_RETENTION,
    bolt_stiffness,
    part_stiffness,
    preload_band,
    remaining_share,
)
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.words import entry, paragraph, symbol_words, tell, translated

FORMULA = entry("F_t / F_0 = (1/k_b + 1/k_p) / (1/k_b + 1/(retention k_p))")
SUBJECT = entry("bolts of the cover")
SEVERITY = 7


def relaxation(case: Case) -> tuple[Finding, ...]:
    """Least clamp load after the plastic has crept for a thousand hours, against the load that closes the seal.

        F_t = F_0 (1/k_b + 1/k_p) / (1/k_b + 1/(r k_p)),   k_b = A_s E_s / l,   k_p = A E / t
        r creep retention (low end), E modulus (high end: stiffer loses more), l grip, t thickness of plastic; with a sleeve:
        metal
        to metal, METAL_RETENTION

    Holds for constant load and below 30 K under softening; hotter is not judged.  Creep figures: from memory.
    """
    found, load = joint_and_torque(case), seal_load_of(case)
    if found is None or load is None:
        return ()
    if isinstance(found, Unknown):
        return (found.finding("relaxation", translated(SUBJECT), SEVERITY),)
    joint, torque = found
    unfit = figures_hold(joint)
    if isinstance(load, Unknown):
        return (load.finding("relaxation", translated(SUBJECT), SEVERITY),)
    if unfit is not None:
        return (unfit.finding("relaxation", translated(SUBJECT), SEVERITY),)
    return (_against(joint, torque, needed_load(case, joint, load)),)


def _against(joint: Joint, torque: float, needed: Needed) -> Finding:
    band, share = preload_band(torque, joint.bolt.nominal), share_kept(joint)
    enough = torque * needed.worst_bolt_n / (band.least_n * share)
    source = EMBEDDING_SOURCE if joint.tube else joint.material.creep_retention.source if joint.material.creep_retention else ""
    return judged("relaxation", joint.name, band.least_n * share, "N", Limit(low=needed.worst_bolt_n), source=str(source),
                  formula=FORMULA,
                  advice=paragraph(tell("After a thousand hours {share:.0%} of the clamp load is left, {least_n:.0f} N at worst; "
                                        "the seal needs {worst_bolt_n:.0f} N.", share=share, least_n=band.least_n * share,
                                        worst_bolt_n=needed.worst_bolt_n), _way_out(joint)), from_memory=True, severity=SEVERITY,
                  inputs=(*load_inputs(joint, torque, band), *_inputs(joint), *needed.inputs),
                  sensitivity=strongest(lambda least_n, kept: least_n * kept, {"least_n": band.least_n, "kept": share})
                  if joint.tube else strongest(_left, {"least_n": band.least_n, **_values(joint)}),
                  suggestions=() if torque >= enough else _ways(joint, torque, enough))


def _way_out(joint: Joint) -> str:
    if joint.tube:
        return tell("The sleeves keep it.")
    if joint.can_have_sleeves:
        return tell("Tighten again after the first days, which wins some of it back, or fit metal sleeves (bolts.sleeve = true).")
    return tell("Tighten again after the first days, which wins some of it back.")


def _ways(joint: Joint, torque: float, enough: float) -> tuple[Suggestion, ...]:
    more = Suggestion("bolts.torque_n_m", torque, rounded_up(enough),
                      tell("enough is left; what is borne is told under \"{check}\"", check=symbol_words("torque_stated")))
    if joint.tube or not joint.usual:
        return (more,)
    return more, Suggestion("bolts.sleeve", "false", "true", tell("metal to metal hardly relaxes"))


def share_kept(joint: Joint) -> float:
    """Share of the clamp load after a thousand hours."""
    return METAL_RETENTION if joint.tube else _left(1.0, **_values(joint))


def _left(least_n: float, outer: float, inner: float, thickness: float, modulus: float, retention: float, stress_area: float,
          grip: float) -> float:
    part = part_stiffness(outer, inner, modulus, thickness)
    return least_n * remaining_share(bolt_stiffness(stress_area, grip), part, retention)


def _values(joint: Joint) -> dict[str, float]:
    modulus, retention = joint.material.modulus, joint.material.creep_retention
    assert modulus is not None and retention is not None, "figures_hold has asked for them"
    return {"outer": joint.face.outer, "inner": joint.face.inner, "thickness": joint.plastic, "modulus": modulus.high,
            "retention": retention.low, "stress_area": joint.bolt.stress_area, "grip": joint.grip}


def _inputs(joint: Joint) -> tuple[Input, ...]:
    if joint.tube:
        return (Input(tell("share kept"), METAL_RETENTION, "-", str(EMBEDDING_SOURCE)),)
    modulus, retention = joint.material.modulus, joint.material.creep_retention
    assert modulus is not None and retention is not None
    return (*joint.face_inputs, Input(tell("thickness"), joint.plastic, "mm", tell("plastic under the pressing face, as built")),
            Input(tell("modulus"), modulus.high, "N/mm2", str(modulus.source)),
            Input(tell("retention"), retention.low, "-", str(retention.source)),
            Input(tell("grip"), joint.grip, "mm", tell("plastic and washer, as built")))


def figures_hold(joint: Joint) -> Unknown | None:
    """Why the creep figures do not hold; None where they do, or where a sleeve takes the load."""
    if joint.tube is not None:
        return None
    temperature = known_temperature(joint)
    if isinstance(temperature, Unknown):
        return temperature
    if joint.material.modulus is None or joint.material.creep_retention is None:
        return Unknown(tell("The tables have no creep of {material}: choose another printer.material.",
                            material=joint.material.name), ("printer.material",))
    limit = joint.material.service_limit_c(clamped=True)
    if limit is None or temperature.celsius > limit:
        return Unknown(_beyond(temperature.celsius, joint.material.name, limit, joint.can_have_sleeves))
    return None


def _beyond(celsius: float, material: str, limit: float | None, sleeves: bool) -> str:
    told = (tell("At {celsius:g} degC a clamped joint of {material} is beyond what its creep figures hold for.", celsius=celsius,
                 material=material) if limit is None
            else tell("At {celsius:g} degC a clamped joint of {material} is beyond what its creep figures hold for ({limit:.0f} "
                      "degC).", celsius=celsius, material=material, limit=limit))
    return paragraph(told, tell("Take a plastic that stands it, or fit metal sleeves (bolts.sleeve = true).") if sleeves
                     else tell("Take a plastic that stands it."))
