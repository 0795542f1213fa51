"""Stress in the plastic under head or washer, for long and while tightening; with a sleeve, at the sleeve's end."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bearing_choices import bearing_choices as choices_of
from afterpart.checks.bearing_choices import table_in_words, table_inputs
from afterpart.checks.bolted_joint import TORQUE_RANGE, Joint, Temperature, Unknown, joint_and_torque
from afterpart.checks.joint_window import known_temperature, load_inputs, rounded_down
from afterpart.checks.judge import judged, strongest, value_that_passes
from afterpart.formulas.bolted import bearing_stress as even_stress
from afterpart.formulas.bolted import k_band, load_of_torque, preload_band, sleeve_stress
from afterpart.formulas.sealed_joint import FACE_SOURCE
from afterpart.formulas.washer import washer_lambda, washer_peak
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.fasteners import WASHERS, SleeveSize
from afterpart.standards.friction import friction
from afterpart.standards.materials import ROOM_C
from afterpart.words import either, entry, paragraph, tell

FORMULA = entry("p = T / (K d) / (pi / 4 (D^2 - d_h^2))")
SEVERITY = 7


def bearing_stress(case: Case) -> tuple[Finding, ...]:
    """Bearing stress of the greatest clamp load, under the head or washer with the least area.

        p = F / (pi / 4 (D^2 - d_h^2)),  F = T / (K d)      D what presses, at its least; d_h hole as built [mm]
        for long: limit of the plastic at the hottest service;  tightening: its yield / 1.5 at room temperature
        with a sleeve: p at the sleeve's end against the lesser of sleeve's yield and what the machine's face bears

    Holds for even stress (the peak under a thin washer is told); -20 to 200 degC.  Limits of plastics: from memory.
    """
    found = joint_and_torque(case)
    if found is None:
        return ()
    if isinstance(found, Unknown):
        return (found.finding("bearing_stress", tell("bolts of the cover"), SEVERITY),)
    joint, torque = found
    if joint.tube is not None:
        return (_sleeve_end(joint, joint.tube, torque),)
    temperature = known_temperature(joint)
    tightening = _short(joint, torque)
    if isinstance(temperature, Unknown):
        return (temperature.finding("bearing_stress", tell("hole {of}, for long", of=joint.face.of), SEVERITY), *tightening)
    return (_long(joint, torque, temperature), *tightening)


def _stress(torque: float, k: float, diameter: float, outer: float, inner: float) -> float:
    return even_stress(load_of_torque(torque, diameter, k), outer, inner)


def _values(joint: Joint, torque: float) -> dict[str, float]:
    return {"torque": torque, "k": k_band(friction())[0], "diameter": joint.bolt.nominal, "outer": joint.face.outer,
            "inner": joint.face.inner}


def _long(joint: Joint, torque: float, temperature: Temperature) -> Finding:
    values, figure = _values(joint, torque), joint.material.bearing_long
    stress, limit = _stress(**values), joint.material.bearing_limit(temperature.celsius) or 0.0
    table = choices_of(torque, joint.head.standard, joint.grade)
    told = tell("{torque:g} N m may press {stress:.1f} N/mm2 into the {material} under the {presser} of {thread} (hole {of}); "
                "for long it bears {limit:.1f} N/mm2 at {celsius:g} degC.", torque=torque, stress=stress,
                material=joint.material.name, presser=joint.presser, thread=joint.bolt.thread, of=joint.face.of, limit=limit,
                celsius=temperature.celsius)
    ways = _ways(joint, torque, limit)
    if stress > limit:
        told = paragraph(told, _way_out(either(f"{s.key} = {s.to}" for s in ways), joint.can_have_sleeves))
    return judged("bearing_stress", tell("hole {of}, for long", of=joint.face.of), stress, "N/mm2", Limit(high=limit),
                  source=str(figure.source) if figure else "", formula=FORMULA,
                  advice=paragraph(told, table_in_words(torque, table, temperature.celsius)), from_memory=True, severity=SEVERITY,
                  inputs=(*load_inputs(joint, torque, preload_band(torque, joint.bolt.nominal)), *joint.face_inputs,
                          temperature.as_input, *_peak(joint), *table_inputs(table, temperature.celsius)),
                  sensitivity=strongest(_stress, values), suggestions=ways)


def _way_out(ways: str, sleeves: bool) -> str:
    """What to do; ways: changes of keys, "" where no torque is borne."""
    if ways:
        return (tell("Set {ways}, or fit metal sleeves (bolts.sleeve = true).", ways=ways) if sleeves
                else tell("Set {ways}.", ways=ways))
    return (tell("No torque is borne: take another plastic, or fit metal sleeves (bolts.sleeve = true).") if sleeves
            else tell("No torque is borne: take another plastic."))


def _short(joint: Joint, torque: float) -> tuple[Finding, ...]:
    limit, figure = joint.material.bearing_limit(ROOM_C, long_term=False), joint.material.yield_stress
    values = _values(joint, torque)
    subject = tell("hole {of}, tightening", of=joint.face.of)
    if limit is None or figure is None:
        return (Unknown(tell("{material} has no yield stress in the tables: choose another printer.material.",
                             material=joint.material.name), ("printer.material",)).finding("bearing_stress", subject, SEVERITY),)
    stress = _stress(**values)
    return (judged("bearing_stress", subject, stress, "N/mm2", Limit(high=limit), source=str(figure.source), formula=FORMULA,
                   advice=tell("While tightening at {room_c:g} degC the {material} bears {limit:.1f} N/mm2; beyond, the head "
                               "sinks in.", room_c=ROOM_C, material=joint.material.name, limit=limit), from_memory=True,
                   severity=SEVERITY, sensitivity=strongest(_stress, values),
                   inputs=(*load_inputs(joint, torque, preload_band(torque, joint.bolt.nominal)), *joint.face_inputs),
                   suggestions=_ways(joint, torque, limit)),)


def _ways(joint: Joint, torque: float, limit: float) -> tuple[Suggestion, ...]:
    """A torque that passes, and a wider washer of the thread that does at this torque."""
    values = _values(joint, torque)

    def room(now: float) -> float:
        return limit - _stress(**{**values, "torque": now})

    less = value_that_passes(room, torque, TORQUE_RANGE.low)
    ways = [] if less is None or less == torque else [Suggestion("bolts.torque_n_m", torque, rounded_down(less),
                                                                 tell("the plastic bears it"))]
    wider = [w for w in WASHERS if w.thread == joint.bolt.thread and w.outside_least > joint.face.outer
             and w.outside_least <= joint.face.room and _stress(**{**values, "outer": w.outside_least}) <= limit]
    if wider and less != torque:
        ways.append(Suggestion("bolts.washer", joint.washer.standard if joint.washer else "", wider[0].standard,
                               tell("spreads the load over more plastic")))
    return tuple(ways)


def _peak(joint: Joint) -> tuple[Input, ...]:
    """How uneven the stress is under a thin washer, where there is one."""
    figure = joint.material.modulus
    if joint.washer is None or figure is None:
        return ()
    stiffness = washer_lambda(joint.washer.thickness, figure.high, joint.plastic)
    peak = washer_peak(joint.head.bearing_diameter, joint.face.outer, joint.face.inner, stiffness)
    return (Input(tell("peak over even stress"), peak, "-",
                  tell("a washer {thickness:g} mm thick bends, formulas/washer.py", thickness=joint.washer.thickness)),)


def _sleeve_end(joint: Joint, tube: SleeveSize, torque: float) -> Finding:
    limit = min(tube.yield_stress, joint.face_limit) if joint.face_limit else tube.yield_stress
    k_low, diameter = k_band(friction())[0], joint.bolt.nominal
    stress = sleeve_stress(load_of_torque(torque, diameter, k_low), tube)
    return judged("bearing_stress", tell("sleeves of {joint}", joint=joint.name), stress, "N/mm2", Limit(high=limit),
                  source=f"{tube.source}; {FACE_SOURCE}", formula=FORMULA, from_memory=True, severity=SEVERITY,
                  advice=tell("The sleeves' ends take the clamp load at {stress:.0f} N/mm2; sleeve and machine's face bear "
                              "{limit:.0f} N/mm2.", stress=stress, limit=limit),
                  doubt="" if joint.face_limit
                  else tell("What the machine's face bears is not in the list (machine.face_material)."),
                  inputs=(*load_inputs(joint, torque, preload_band(torque, diameter)),
                          Input(tell("sleeve outside"), tube.outside, "mm", tell("sleeve as built")),
                          Input(tell("pressure borne"), limit, "N/mm2",
                                tell("sleeve's yield, and machine.face_material where it is in the list")),
                          Input(tell("sleeve inside"), tube.inside, "mm", tell("as built"))),
                  sensitivity=strongest(_stress,
                                        {"torque": torque, "k": k_low, "diameter": diameter, "outer": tube.outside,
                                         "inner": tube.inside}))
