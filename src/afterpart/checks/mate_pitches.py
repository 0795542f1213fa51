"""Design pitches by both pictures: what the mate's own measurement adds to how sure a pitch of the cover is.

Words: a *pitch* is a distance of two holes that cover and mate share; the mate was made to the same number, give or take MADE.
Posterior of the design value against its runner-up, the mate's likelihood taken with the cover's own posterior as prior:
        odds' = odds * N(m; design, u) / N(m; runner-up, u),    u^2 = u_mate^2 + MADE^2
        p' = odds' / (1 + odds'),   odds = p / (1 - p): all that is not the design value counts as the runner-up
Both measured values together: the mean weighed by 1 / u^2.
Conventions: mm.
Limits: pitches of one picture share its scale's error, so that several of them are no independent witnesses; pitches of a hole
that was moved are left out.  Where the outline itself heard the mate (Dimension.mate), its design rests on both pictures already:
what it says is told as it is, and nothing is counted twice.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.model.mate import MateHole, SharedPitch
from afterpart.model.outline import ByMate, Dimension, Outline

MADE = 0.05
"""Standard deviation of a mate's pitch from its drawing, mm: drilled by a jig or moulded beside (judgement)."""


def shared_pitches(outline: Outline, mate: Outline, holes: tuple[MateHole, ...]) -> tuple[SharedPitch, ...]:
    """Every pitch that both drawings have, the least sure first; () where the cover's is not settled by a number."""
    partner = {hole.cover: hole.mate for hole in holes if not hole.moved}
    theirs = {frozenset(d.of): d for d in mate.dimensions if d.kind == "distance"}
    found = []
    for own in outline.dimensions:
        if own.kind != "distance" or own.origin == "free" or own.runner_up is None or not set(own.of) <= set(partner):
            continue
        other = theirs.get(frozenset(partner[id] for id in own.of))
        if other is not None:
            found.append(_together(own, other) if own.mate is None else _heard(own, own.mate, other))
    return tuple(sorted(found, key=lambda pitch: pitch.probability))


def _heard(own: Dimension, by_mate: ByMate, other: Dimension) -> SharedPitch:
    """A pitch whose design value rests on both pictures."""
    assert own.runner_up is not None
    u = math.hypot(by_mate.u, MADE)
    weights = own.u ** -2.0, u ** -2.0
    both = (own.measured * weights[0] + other.measured * weights[1]) / sum(weights)
    return SharedPitch(own.id, (own.of[0], own.of[1]), own.measured, other.measured, both, sum(weights) ** -0.5, own.design,
                       own.runner_up, by_mate.alone, own.probability)


def _together(own: Dimension, other: Dimension) -> SharedPitch:
    assert own.runner_up is not None
    u = math.hypot(other.u, MADE)
    told = ((other.measured - own.runner_up) ** 2 - (other.measured - own.design) ** 2) / (2.0 * u * u)
    prior = min(max(own.probability, 1e-6), 1.0 - 1e-6)
    odds = math.log(prior / (1.0 - prior)) + told
    weights = own.u ** -2.0, u ** -2.0
    both = (own.measured * weights[0] + other.measured * weights[1]) / sum(weights)
    return SharedPitch(own.id, (own.of[0], own.of[1]), own.measured, other.measured, both, sum(weights) ** -0.5, own.design,
                       own.runner_up, own.probability, 1.0 / (1.0 + math.exp(-min(max(odds, -60.0), 60.0))))
