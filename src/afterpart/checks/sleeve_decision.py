"""With or without a metal sleeve: whether any torque closes the seal for good without harm to plastic and bolt."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Joint, Temperature, Unknown, joint_of
from afterpart.checks.joint_window import known_temperature, limits_of, needed_of, window_in_words
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.seal_load import Needed
from afterpart.formulas.bolted import TorqueLimits, k_band, torque_of_load
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.fasteners import SLEEVE_SOURCE, SleeveSize
from afterpart.standards.friction import friction
from afterpart.standards.materials import HALVED_AT_C, MATERIALS
from afterpart.words import entry, paragraph, tell

FORMULA = entry("T_low = K_high d F_needed / kept <= T_high = K_low d F_borne")
SEVERITY = 7


def sleeve_decision(case: Case) -> tuple[Finding, ...]:
    """The torque from which the seal stays closed for good, against that up to which nothing is harmed, as the cover is built.

        T_low = K_high d F_needed / kept  <=  T_high = K_low d F_borne      (formulas/bolted.torque_limits)

    Without a sleeve and without a window one is needed; likewise where the plastic bears nothing at the hottest service, and it
    is
    advised above HALVED_AT_C.  Sources: VDI 2230's K, suppliers' guides to compression limiters; plastics from memory.
    """
    joint = joint_of(case)
    if joint is None:
        return ()
    if isinstance(joint, Unknown):
        return (joint.finding("sleeve_decision", tell("bolts of the cover"), SEVERITY),)
    temperature, needed = known_temperature(joint), needed_of(case, joint)
    for unknown in (temperature, needed):
        if isinstance(unknown, Unknown):
            return (unknown.finding("sleeve_decision", joint.name, SEVERITY),)
    assert not isinstance(temperature, Unknown) and not isinstance(needed, Unknown)
    return (_decision(case, joint, temperature, needed),)


def _decision(case: Case, joint: Joint, temperature: Temperature, needed: Needed) -> Finding:
    limits = limits_of(joint, temperature, needed.worst_bolt_n, joint.tube)
    if limits.high_n_m <= 0.0:
        return _too_hot(joint, temperature)
    least = max(limits.least_load_n, 0.0)
    if limits.low_n_m == float("inf"):
        return not_judged("sleeve_decision", joint.name,
                          tell("The tables have no creep of {material}: choose another printer.material.",
                               material=joint.material.name), missing=("printer.material",), severity=SEVERITY)
    ways, told = _ways(case, joint, temperature, needed.worst_bolt_n, limits)
    return judged("sleeve_decision", tell("{joint} in {material}", joint=joint.name, material=joint.material.name),
                  limits.low_n_m, "N m", Limit(high=limits.high_n_m), source=str(SLEEVE_SOURCE), formula=FORMULA, advice=told,
                  from_memory=True, severity=SEVERITY, doubt=_doubt(joint, temperature),
                  inputs=(*needed.inputs, *joint.face_inputs, temperature.as_input,
                          Input(tell("greatest load borne"), limits.greatest_load_n, "N", limits.high_set_by),
                          Input(tell("least load to reach"), least, "N", limits.low_set_by)),
                  sensitivity=strongest(torque_of_load,
                                        {"load_n": least, "diameter": joint.bolt.nominal, "k": k_band(friction())[1]}),
                  suggestions=ways)


def _too_hot(joint: Joint, temperature: Temperature) -> Finding:
    """The plastic bears nothing at this heat: its service limit is the limit."""
    limit = joint.material.service_limit_c()
    assert limit is not None, "known_temperature has asked for it"
    return judged("sleeve_decision", tell("{joint} in {material}", joint=joint.name, material=joint.material.name),
                  temperature.celsius, "degC", Limit(high=limit),
                  source=str(joint.material.softens_c.source if joint.material.softens_c else ""),
                  formula=entry("T_service <= softening - 20 K"),
                  advice=tell("At {celsius:g} degC {material} bears no clamp load ({limit:.0f} degC at most): take a plastic "
                              "that stands it; metal sleeves take the clamp load, but the cover itself still softens.",
                              celsius=temperature.celsius, material=joint.material.name, limit=limit), from_memory=True,
                  severity=SEVERITY, inputs=(temperature.as_input,),
                  sensitivity=strongest(lambda hottest: hottest, {"hottest": temperature.celsius}),
                  suggestions=tuple(Suggestion("printer.material", joint.material.name, m.name, tell("stands the heat"))
                                    for m in MATERIALS if (m.bearing_limit(temperature.celsius) or 0.0) > 0.0)[:1])


def _ways(case: Case, joint: Joint, temperature: Temperature, needed_n: float,
          limits: TorqueLimits) -> tuple[tuple[Suggestion, ...], str]:
    """What opens the window where it is shut, and the decision in words."""
    if limits.low_n_m <= limits.high_n_m:
        window = window_in_words(limits)
        return (), (tell("With the sleeves a torque {window} works.", window=window) if joint.tube
                    else tell("Without a sleeve a torque {window} works.", window=window))
    tube = joint.usual
    if joint.tube is not None:
        return (), tell("Even with the sleeves it takes a torque {window}. Take a softer seal or more bolts.",
                        window=window_in_words(limits))
    if tube is None:
        return (), tell("Without a sleeve it takes a torque {window}; there is no room for one beside the groove. Take a softer "
                        "seal, a wider washer, a stiffer plastic, more bolts or a path farther inside.",
                        window=window_in_words(limits))
    opened = limits_of(joint, temperature, needed_n, tube)
    told = tell("Without a sleeve it takes a torque {window}. With one, a torque {window_2}.", window=window_in_words(limits),
                window_2=window_in_words(opened))
    if opened.low_n_m > opened.high_n_m:
        return (), paragraph(told, tell("Take a softer seal or more bolts."))
    told = paragraph(told,
                     tell("The sleeve is as long as the plastic is thick, or slightly less, and its end stands on metal; head or "
                          "washer must reach over it."))
    return (Suggestion("bolts.sleeve", "false", "true", tell("metal takes the clamp load")),), told


def _doubt(joint: Joint, temperature: Temperature) -> str:
    if joint.tube is not None:
        return " ".join(_misfits(joint, joint.tube))
    if temperature.celsius <= HALVED_AT_C:
        return ""
    return tell("Above {halved_at_c:g} degC a metal sleeve is advised whatever the figures say.", halved_at_c=HALVED_AT_C)


def _misfits(joint: Joint, tube: SleeveSize) -> list[str]:
    """What keeps the sleeves from doing their work, by the suppliers' guides."""
    found = []
    if joint.proud > 0.0:
        found.append(tell("The sleeves stand {proud:.2f} mm proud of the plastic, so that the cover is not held: shorten them.",
                          proud=joint.proud))
    if joint.face.outer <= tube.outside:
        found.append(tell("The {presser} ({outer:g} mm) does not reach over the sleeve ({outside:g} mm) and does not hold the "
                          "plastic: take a wider washer (bolts.washer).", presser=joint.presser, outer=joint.face.outer,
                          outside=tube.outside))
    return found
