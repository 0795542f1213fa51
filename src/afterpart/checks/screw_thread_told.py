"""Whether the screw's own thread is told, and whether its figures can belong to one screw."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.judge import judged, strongest
from afterpart.checks.screwed_joint import PITCHES, screwed_joints, thread_inputs, thread_u
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Limit
from afterpart.model.wishes import ScrewWish
from afterpart.standards.table import Range
from afterpart.standards.threads import THREADS
from afterpart.words import entry, tell, translated

SOURCE = entry("the screw itself by calliper; geometry of a helix")
FORMULA = entry("P < d: one turn of a single-start screw is shorter than its outside diameter")
SEVERITY = 6

SHARPEST_DEG = 30.0
"""Included angle of the sharpest thread in the trade (screws for plastic), degrees, from memory: only a doubt rests on it."""

SAME_PITCH = 0.02
"""Within this the pitch is that of the metric thread, mm: a calliper over ten threads tells 0.02."""

OUTSIDES = Range(1.0, 12.0, "mm")
"""Screws that form their thread in plastic."""


def screw_thread_told(case: Case) -> tuple[Finding, ...]:
    """The screw's outside and core diameter and its pitch are measured, and agree with each other.

        P < d      P pitch, d outside diameter [mm]
        doubt: (d - d3) / 2 higher than a sharp thread of SHARPEST_DEG on that pitch, or P that of the M thread of that size

    Holds for single-start screws of OUTSIDES.  Without core or pitch: not judged; the metric pitch is never assumed.
    """
    joints = screwed_joints(case)
    if not joints:
        return ()
    joint, name = joints[0], "screw_thread_told"
    missing = joint.without("outside", "core", "pitch")
    if missing:
        return (joint.untold(name, missing, source=translated(SOURCE), formula=FORMULA, severity=SEVERITY),)
    screws = joint.screws
    assert screws is not None and screws.core is not None and screws.pitch is not None
    return (judged(name, f"{translated(screws.name)} {screws.outside:g}", screws.pitch, "mm", Limit(high=screws.outside),
                   source=translated(SOURCE), formula=FORMULA,
                   advice=tell("One turn drives the screw {pitch:g} mm.", pitch=screws.pitch), doubt=_doubt(screws),
                   inputs=thread_inputs(screws), u=thread_u(screws.pitch, PITCHES), severity=SEVERITY,
                   sensitivity=strongest(lambda pitch: pitch, {"pitch": screws.pitch})),)


def _doubt(screws: ScrewWish) -> str:
    assert screws.core is not None and screws.pitch is not None
    if not OUTSIDES.holds(screws.outside):
        return tell("An outside diameter of {outside:g} mm lies outside {outsides}: measure again.", outside=screws.outside,
                    outsides=OUTSIDES)
    sharpest = screws.pitch / (2.0 * math.tan(math.radians(SHARPEST_DEG / 2.0)))
    height = (screws.outside - screws.core) / 2.0
    if height > sharpest:
        return tell("A thread {height:.2f} mm high does not go on a pitch of {pitch:g} mm (at most {sharpest:.2f} mm): measure "
                    "ten threads and divide by ten, and the core between the threads.", height=height, pitch=screws.pitch,
                    sharpest=sharpest)
    metric = next((t.coarse_pitch for t in THREADS if abs(t.nominal - screws.outside) < 0.1), None)
    if metric is not None and abs(metric - screws.pitch) <= SAME_PITCH:
        return tell("{pitch:g} mm is the pitch of an M thread of this size; screws that form their thread in plastic are "
                    "coarser. Make sure that it was measured and not looked up: with twice the pitch the same turn pulls twice "
                    "as hard.", pitch=screws.pitch)
    return ""
