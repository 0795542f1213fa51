"""Stretch of a round cord's ring in its groove: too long buckles, too short thins and ages."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.groove_limits import groove_of
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.seal import ring_stretch
from afterpart.geometry.chain import chain_length
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.standards.orings import SQUEEZE_SOURCE, WANTED_STRETCH
from afterpart.words import entry, tell

FORMULA = entry("s = (L_groove - L_ring) / L_ring")
SEVERITY = 4


def cord_stretch(case: Case) -> tuple[Finding, ...]:
    """How much longer the ring lies than it was made.

        s = (L_groove - L_ring) / L_ring      centre lines [mm];  from 0 to the upper end of WANTED_STRETCH

    u: the outline's scale.  Holds for rings in one piece or joined end to end.  Source: standards.orings.
    """
    groove = groove_of(case)
    if groove is None or not groove.cord:
        return ()
    subject = tell("cord {cord:g} mm", cord=groove.cord)
    ring = next((item for item in case.build.assembly.items if item.kind == "cord"), None)
    if ring is None:
        return (not_judged("cord_stretch", subject,
                           tell("The assembly has no cord, so that the length of its ring is not known: build the pieces again."),
                           source=str(SQUEEZE_SOURCE), formula=FORMULA, severity=SEVERITY),)
    length, u = chain_length(groove.centre), case.outline.reference.relative_u
    stretch = ring_stretch(length, ring.length)
    short, long = length / (1.0 + WANTED_STRETCH.high), length / (1.0 + WANTED_STRETCH.low)
    return (judged("cord_stretch", subject, stretch, "-", Limit(low=0.0, high=WANTED_STRETCH.high), source=str(SQUEEZE_SOURCE),
                   formula=FORMULA, u=u * (1.0 + stretch), severity=SEVERITY,
                   advice=tell("A ring in one piece should lie {wanted_stretch_low:.0%} to {wanted_stretch_high:.0%} stretched: "
                               "buy one whose centre line is {short:.1f} to {long:.1f} mm long (inside diameter {short_2:.1f} to "
                               "{long_2:.1f} mm). A cord joined end to end may be as long as the groove, never longer.",
                               wanted_stretch_low=WANTED_STRETCH.low, wanted_stretch_high=WANTED_STRETCH.high, short=short,
                               long=long, short_2=short / math.pi - groove.cord, long_2=long / math.pi - groove.cord),
                   doubt="" if WANTED_STRETCH.holds(stretch)
                   else tell("At {stretch:.1%} it is less than wanted.", stretch=stretch),
                   inputs=(Input(tell("groove length"), length, "mm", tell("centre line of the groove as built"), u * length),
                           Input(tell("ring length"), ring.length, "mm", tell("item of the assembly: {ring}", ring=ring.name))),
                   sensitivity=strongest(ring_stretch, {"groove_length": length, "ring_length": ring.length})),)
