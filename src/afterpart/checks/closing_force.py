"""The force that closes the seal, against what the joint can keep up for good."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Joint, Temperature, Unknown, joint_of
from afterpart.checks.joint_window import known_temperature, limits_of
from afterpart.checks.judge import judged, strongest, value_that_passes
from afterpart.checks.seal_load import SealLoad, needed_load, seal_load_of
from afterpart.formulas.bolted import METAL_RETENTION
from afterpart.formulas.gasket import GENT_RANGE
from afterpart.formulas.sealed_joint import bolt_shares
from afterpart.geometry.spacing import spacings
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.words import paragraph, tell

SEVERITY = 7


def closing_force(case: Case) -> tuple[Finding, ...]:
    """Force per length that closes the seal (upper end of its band), against the clamp load that bolts and plastic keep for good.

        f <= F_borne share_kept / L      f per length of seal [N/mm], see checks/seal_load.py for each kind of seal
        F_borne  least of bolt's proof share and bearing limit of the plastic (or sleeve) at service temperature [N]
        share_kept  creep retention of the plastic, low end;   L longest share of the seal of one bolt [mm]

    Holds in each formula's range of closing and for 20 to 85 Shore A.  Sources: of the seal's kind; limits of plastics from
    memory.
    """
    load = seal_load_of(case)
    if load is None:
        return ()
    if isinstance(load, Unknown):
        return (load.finding("closing_force", tell("seal"), SEVERITY),)
    joint = joint_of(case)
    if joint is None:
        return (Unknown(tell("No bolt presses on the cover, so that nothing is known to close its seal: describe the bolts "
                             "([bolts])."), ("bolts.thread",)).finding("closing_force", load.kind, SEVERITY),)
    temperature = joint if isinstance(joint, Unknown) else known_temperature(joint)
    if isinstance(joint, Unknown) or isinstance(temperature, Unknown):
        found = joint if isinstance(joint, Unknown) else temperature
        assert isinstance(found, Unknown)
        return (found.finding("closing_force", load.kind, SEVERITY),)
    return (_against(case, joint, load, temperature),)


def _against(case: Case, joint: Joint, load: SealLoad, temperature: Temperature) -> Finding:
    needed = needed_load(case, joint, load)
    limits = limits_of(joint, temperature, needed.worst_bolt_n, joint.tube)
    share = max(bolt_shares(spacings(load.path, joint.places)))
    borne = limits.greatest_load_n * _kept(joint) / share
    softer = _softer(load, borne)
    told = tell("Closing this {load_kind} takes {greatest:.1f} N/mm at most (expected {expected:.1f}), {total_n:.0f} N all round "
                "and {worst_bolt_n:.0f} N on one bolt; the joint keeps {borne:.1f} N/mm for good ({high_set_by}).",
                load_kind=load.kind, greatest=load.greatest, expected=load.expected, total_n=needed.total_n,
                worst_bolt_n=needed.worst_bolt_n, borne=borne, high_set_by=limits.high_set_by)
    told = paragraph(told, tell("A seal of {to} Shore A closes easily enough.", to=softer[0].to) if softer else "")
    return judged("closing_force", load.kind, load.greatest, "N/mm", Limit(high=borne), source=load.source, formula=load.text,
                  advice=told, doubt=load.doubt, from_memory=True, severity=SEVERITY,
                  inputs=(*load.inputs, *needed.inputs,
                          Input(tell("load borne by a bolt"), limits.greatest_load_n, "N", limits.high_set_by),
                          Input(tell("share kept"), _kept(joint), "-",
                                tell("creep of {material}, or metal to metal with a sleeve", material=joint.material.name)),
                          temperature.as_input), sensitivity=strongest(lambda **v: load.band[1] * load.formula(**v), load.values),
                  suggestions=softer)


def _kept(joint: Joint) -> float:
    if joint.tube is not None:
        return METAL_RETENTION
    return joint.material.creep_retention.low if joint.material.creep_retention else 0.0


def _softer(load: SealLoad, borne: float) -> tuple[Suggestion, ...]:
    """The hardest seal of the same section that the joint closes for good; () when this one is, or none."""
    now = load.values["shore_a"]

    def room(shore_a: float) -> float:
        return borne - load.band[1] * load.formula(**{**load.values, "shore_a": shore_a})

    found = value_that_passes(room, now, GENT_RANGE.low)
    if found is None or found == now:
        return ()
    return (Suggestion("seal.shore_a", now, float(int(found)), tell("a softer seal of the same section asks for less force")),)
