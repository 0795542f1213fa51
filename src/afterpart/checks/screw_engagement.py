"""The length of formed thread that carries a screw."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.checks.screwed_joint import ScrewedJoint, screwed_joints, thread_inputs
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.thread_forming import GUIDES_SOURCE, PRINTED_ENGAGEMENT, boss_rule
from afterpart.words import entry, tell

FORMULA = entry("L >= max(e, 2.5) d")
SEVERITY = 6


def screw_engagement(case: Case) -> tuple[Finding, ...]:
    """Length of thread in the boss against the rule of the material, and of prints.

        L >= max(e, PRINTED_ENGAGEMENT) d      L length of thread, d outside diameter [mm], e of the material

    A longer screw adds to L what it is longer by.  Sources: standards.thread_forming.
    """
    return tuple(_finding(joint) for joint in screwed_joints(case))


def _finding(joint: ScrewedJoint) -> Finding:
    screws = joint.screws
    if screws is None:
        return joint.untold("screw_engagement", joint.without("outside"), source=str(GUIDES_SOURCE), formula=FORMULA,
                            severity=SEVERITY)
    try:
        row = boss_rule(joint.material)
    except KeyError as error:
        return not_judged("screw_engagement", joint.name, f"{str(error.args[0]).capitalize()}.", source=str(GUIDES_SOURCE),
                          formula=FORMULA, missing=("printer.material",), severity=SEVERITY)
    least, built = max(row.engagement, PRINTED_ENGAGEMENT) * screws.outside, joint.boss.engagement

    def carried(length: float) -> float:
        return built + length - screws.length

    longer = value_that_passes(lambda length: carried(length) - least, screws.length, screws.length + least)
    return judged("screw_engagement", joint.name, built, "mm", Limit(low=least), source=f"{row.source}; {GUIDES_SOURCE}",
                  formula=FORMULA, from_memory=row.source.from_memory and row.engagement > PRINTED_ENGAGEMENT, severity=SEVERITY,
                  inputs=(Input(tell("engagement"), built, "mm", tell("boss of {piece} as built", piece=joint.piece)),
                          *thread_inputs(screws), Input(tell("length"), screws.length, "mm", "screws.length"),
                          Input("e", row.engagement, "-", str(row.source))),
                  advice=tell("{least:.2f} mm of thread or more carry a screw of {outside:g} mm in printed {material}; here "
                              "{built:.2f} mm do.", least=least, outside=screws.outside, material=row.material, built=built),
                  sensitivity=strongest(carried, {"length": screws.length}),
                  suggestions=(Suggestion("screws.length", screws.length, longer,
                                          tell("a longer screw reaches deeper into the boss")),) if longer is not None
                  and longer > screws.length else ())
