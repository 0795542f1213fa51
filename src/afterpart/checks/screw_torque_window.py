"""The window of a formed thread, driving < seating < stripping < breaking, as far as the coupon brackets it.

Torques stand as ratios to what the same thread takes in the built hole; none is ever quoted in N m.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.screwed_joint import ScrewedJoint, pilot_input, pilot_rows, screwed_joints, thread_inputs
from afterpart.formulas.screws import FORMED_FLANK_SOURCE, driving_ratio, forming_window, stripping_ratio
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.standards.thread_forming import GUIDES_SOURCE, SEATING_SHARE
from afterpart.words import entry, tell

SEATING = entry("T_s(w) / T_s(d_p) = (d - w) / (d - d_p) <= 0.7")
DRIVING = entry("T_d(d_p) / T_d(n) = (d^2 - d_p^2) / (d^2 - n^2) <= 1")
SEVERITY = 6


@dataclass(frozen=True)
class _Bracket:
    """Drawn holes: narrowest and widest in which the screw drove and sat, narrowest that stripped (None: none did)."""

    narrowest: float
    widest: float
    stripped: float | None


def screw_torque_window(case: Case) -> tuple[Finding, ...]:
    """Whether the hand that drove the coupon's screws stays within the window of the built pilot hole.

        seating:  the torque used was at most T_s(w), for in the widest hole w that held it did not strip; so it stays below
                  SEATING_SHARE of T_s(d_p) when  T_s(w) / T_s(d_p) = (d - w) / (d - d_p) <= 0.7
                  and passes it for sure when the same ratio of the narrowest hole that stripped is more than 0.7
        driving:  T_d(n) broke no screw in the narrowest hole n, so  T_d(d_p) / T_d(n) = (d^2 - d_p^2) / (d^2 - n^2) <= 1
                  keeps driving below breaking

    d outside, d3 core, all holes as drawn [mm].  Holds for holes between d3 and d, where "drove" means driven until the head sat,
    by the hand that will drive the part's screws.  Without a coupon: not judged.
    Sources: formulas.screws, own proportions, from memory.
    """
    return tuple(finding for joint in screwed_joints(case) for finding in _findings(case, joint))


def _findings(case: Case, joint: ScrewedJoint) -> tuple[Finding, ...]:
    name, pilot = "screw_torque_window", joint.boss.pilot
    missing = joint.without("outside", "core")
    if missing:
        return (joint.untold(name, missing, source=str(GUIDES_SOURCE), formula=SEATING, severity=SEVERITY),)
    screws, drove = joint.screws, [row.drawn for row in pilot_rows(case, "drove")]
    assert screws is not None and screws.core is not None
    if not drove:
        why = (tell("none of the holes tried held: try other sizes") if pilot_rows(case)
               else tell("print it and drive a screw into each hole"))
        return (not_judged(name, joint.name,
                           tell("Torques of a printed thread are known only from the hole coupon, as ratios; {why} and write a "
                                "[[trial]] row for each.", why=why), source=str(FORMED_FLANK_SOURCE), formula=SEATING,
                           missing=("trial",), severity=SEVERITY),)
    if not screws.core < pilot < screws.outside:
        return (not_judged(name, joint.name,
                           tell("A pilot hole of {pilot:g} mm does not lie between core ({core:g} mm) and outside ({outside:g} "
                                "mm) of the screw: no such thread is formed.", pilot=pilot, core=screws.core,
                                outside=screws.outside), formula=SEATING, severity=SEVERITY),)
    bracket = _Bracket(min(drove), max(drove), min((row.drawn for row in pilot_rows(case, "stripped")), default=None))
    return _seating(joint, bracket), _driving(joint, bracket)


def _seating(joint: ScrewedJoint, bracket: _Bracket) -> Finding:
    screws, pilot = joint.screws, joint.boss.pilot
    assert screws is not None and screws.core is not None
    fixed = {"outside": screws.outside, "core": screws.core, "pilot": pilot}

    def share(hole: float, of: Mapping[str, float] = fixed) -> float:
        return stripping_ratio(of["outside"], of["core"], of["pilot"], hole)

    most = share(bracket.widest)
    least = share(bracket.stripped) if bracket.stripped is not None else 0.0
    window = forming_window(most, 1.0, None)
    if not window.works and least <= SEATING_SHARE:
        return not_judged("screw_torque_window", tell("{joint}, seating", joint=joint.name),
                          tell("The torque your hand used lies between {least:.0%} and {most:.0%} of what strips the {pilot:g} "
                               "mm hole; {seating_share:.0%} is the most. Try wider holes: the same hand seating a screw in one "
                               "of {proving:.2f} mm without stripping it proves enough.", least=least, most=most, pilot=pilot,
                               seating_share=SEATING_SHARE, proving=_proving(joint)),
                          source=f"{GUIDES_SOURCE}; {FORMED_FLANK_SOURCE}", formula=SEATING, missing=("trial",),
                          severity=SEVERITY)
    hole = bracket.widest if window.works else bracket.stripped
    assert hole is not None
    return judged("screw_torque_window", tell("{joint}, seating", joint=joint.name), share(hole), entry("of stripping"),
                  Limit(high=SEATING_SHARE), formula=SEATING, source=f"{GUIDES_SOURCE}; {FORMED_FLANK_SOURCE}", from_memory=True,
                  severity=SEVERITY,
                  inputs=(pilot_input(joint), *thread_inputs(screws),
                          Input(tell("hole"), hole, "mm",
                                tell("[[trial]] drawn, widest that held") if window.works
                                else tell("[[trial]] drawn, narrowest that stripped"))),
                  advice=(tell("Seat the screws with the same hand as on the coupon, no harder.") if window.works
                          else tell("That hand is too strong for this thread: it stripped a hole of {hole:g} mm. Seat the screws "
                                    "with at most {seating_share:.0%} of that torque, or turn by the angle after snug.",
                                    hole=hole, seating_share=SEATING_SHARE / share(hole))),
                  sensitivity=strongest(lambda **given: share(given["hole"], given), {**fixed, "hole": hole}))


def _proving(joint: ScrewedJoint) -> float:
    """The hole whose thread is 0.7 as strong as that of the built one."""
    assert joint.screws is not None
    return joint.screws.outside - SEATING_SHARE * (joint.screws.outside - joint.boss.pilot)


def _driving(joint: ScrewedJoint, bracket: _Bracket) -> Finding:
    screws, pilot = joint.screws, joint.boss.pilot
    assert screws is not None

    def ratio(outside: float, pilot: float, narrowest: float) -> float:
        return driving_ratio(outside, narrowest, pilot)

    given = {"outside": screws.outside, "pilot": pilot, "narrowest": bracket.narrowest}
    return judged("screw_torque_window", tell("{joint}, driving", joint=joint.name), ratio(**given),
                  entry("of driving the coupon"), Limit(high=1.0), source=str(FORMED_FLANK_SOURCE), formula=DRIVING,
                  from_memory=True, severity=SEVERITY,
                  inputs=(pilot_input(joint), *thread_inputs(screws),
                          Input(tell("narrowest"), bracket.narrowest, "mm",
                                tell("[[trial]] drawn, narrowest in which the screw drove"))),
                  advice=tell("Driving takes {ratio:.0%} of the torque that broke no screw in a hole of {narrowest:g} mm. Form "
                              "the threads slowly, with the cover off, and blow out the swarf.", ratio=ratio(**given),
                              narrowest=bracket.narrowest), sensitivity=strongest(ratio, given))
