"""The boss about a thread-forming screw: thick enough not to split when the thread is formed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.screwed_joint import ScrewedJoint, screwed_joints, thread_inputs
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.thread_forming import GUIDES_SOURCE, PRINTED_BOSS, boss_rule
from afterpart.words import entry, tell

FORMULA = entry("D >= max(b, 2.5) d")
SEVERITY = 6


def screw_boss(case: Case) -> tuple[Finding, ...]:
    """Diameter of the boss against the rule of the material, and of prints.

        D >= max(b, PRINTED_BOSS) d      D boss, d outside diameter [mm], b of the material

    Holds for round bosses whose layers lie across the screw.  Sources: standards.thread_forming.
    """
    return tuple(_finding(joint) for joint in screwed_joints(case))


def _finding(joint: ScrewedJoint) -> Finding:
    if joint.screws is None:
        return joint.untold("screw_boss", joint.without("outside"), source=str(GUIDES_SOURCE), formula=FORMULA, severity=SEVERITY)
    try:
        row = boss_rule(joint.material)
    except KeyError as error:
        return not_judged("screw_boss", joint.name, f"{str(error.args[0]).capitalize()}.", source=str(GUIDES_SOURCE),
                          formula=FORMULA, missing=("printer.material",), severity=SEVERITY)
    least = max(row.boss, PRINTED_BOSS) * joint.screws.outside
    return judged("screw_boss", joint.name, joint.boss.diameter, "mm", Limit(low=least), source=f"{row.source}; {GUIDES_SOURCE}",
                  formula=FORMULA, from_memory=row.source.from_memory and row.boss > PRINTED_BOSS, severity=SEVERITY,
                  inputs=(Input(tell("boss"), joint.boss.diameter, "mm", tell("boss of {piece} as built", piece=joint.piece)),
                          *thread_inputs(joint.screws), Input("b", row.boss, "-", str(row.source))),
                  advice=tell("A boss of {least:.2f} mm or more holds a screw of {outside:g} mm in {material} without splitting; "
                              "print it with three walls or more.", least=least, outside=joint.screws.outside,
                              material=row.material), sensitivity=strongest(lambda boss: boss, {"boss": joint.boss.diameter}),
                  suggestions=(Suggestion("screws.boss", joint.boss.diameter, least,
                                          tell("a slimmer boss splits along its layers")),) if joint.boss.diameter < least
                  else ())
