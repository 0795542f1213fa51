"""Squeeze of a round cord: loose worst case against leaking, tight worst case against being crushed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.groove_limits import CordInGroove, cord_in_groove, whole_layers
from afterpart.checks.judge import judged, strongest
from afterpart.formulas.seal import squeeze, worst_cases
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.orings import (
    GREATEST_SQUEEZE,
    GREATEST_SQUEEZE_SOURCE,
    LEAST_SQUEEZE,
    SQUEEZE_SOURCE,
    Cord,
)
from afterpart.words import entry, paragraph, tell

FORMULA = entry("C = (d - h) / d")
SEVERITY = 8

_DIGITS = 4
"""Of a share of squeeze in the job file."""


def cord_squeeze(case: Case) -> tuple[Finding, ...]:
    """Squeeze of a round cord in the printed groove, at both ends of every tolerance.

        C = (d - h) / d      d cord diameter, h groove depth [mm]
        loose: thinnest cord, deepest groove, at least LEAST_SQUEEZE;  tight: thickest cord, shallowest groove, at most
        GREATEST_SQUEEZE

    Holds for solid round cords of the table, faces closed hard.  Sources: standards.orings.
    """
    found = cord_in_groove(case, "cord_squeeze", FORMULA, SEVERITY)
    if not isinstance(found, CordInGroove):
        return () if found is None else (found,)
    groove, size, table, limits = found.groove, found.cord, found.table, found.limits
    band = worst_cases(size, limits.depth, limits.width)
    better = _better(case, size, table.depth_plus, squeeze(size.diameter, groove.depth))
    memory = size.source.from_memory or table.source.from_memory
    ends = (("loose", band.squeeze_loose, size.least, limits.depth[1], Limit(low=LEAST_SQUEEZE), SQUEEZE_SOURCE),
            ("tight", band.squeeze_tight, size.greatest, limits.depth[0], Limit(high=GREATEST_SQUEEZE), GREATEST_SQUEEZE_SOURCE))
    return tuple(judged("cord_squeeze", tell("cord {cord:g} mm, {end} end", cord=groove.cord, end=end), value, "-", limit,
                        source=str(source), formula=FORMULA, advice=_advice(end, value, limit, better), from_memory=memory,
                        severity=SEVERITY,
                        inputs=(Input(tell("cord"), d, "mm",
                                      tell("{end} end of the cord's tolerance: {source}", end=end, source=size.source)),
                                Input(tell("depth"), h, "mm", limits.depth_source)),
                        sensitivity=strongest(squeeze, {"cord": d, "depth": h}), suggestions=better)
                 for end, value, d, h, limit, source in ends)


def _advice(end: str, value: float, limit: Limit, better: tuple[Suggestion, ...]) -> str:
    if end == "loose":
        told = tell("At its loosest the cord is flattened by {value:.1%}; below {least_squeeze:.0%} a printed groove leaks.",
                    value=value, least_squeeze=LEAST_SQUEEZE)
    else:
        told = tell("At its tightest the cord is flattened by {value:.1%}; above {greatest_squeeze:.0%} it takes a lasting set.",
                    value=value, greatest_squeeze=GREATEST_SQUEEZE)
    if value >= (limit.low or 0.0) and (limit.high is None or value <= limit.high):
        return told
    if better:
        return paragraph(told, tell("Set {ways}.", ways=f"{better[0].key} = {better[0].to}"))
    return paragraph(told, tell("No one depth keeps this cord within both limits: a thicker cord (seal.cord) or finer layers "
                                "leave more room."))


def _better(case: Case, size: Cord, depth_plus: float, now: float) -> tuple[Suggestion, ...]:
    """The squeeze to draw, of those that give whole layers, nearest to now, that keeps both ends within their limits."""
    layer = case.job.wishes.printer.layer

    def room(share: float) -> float:
        depth = whole_layers(size.diameter * (1.0 - share), layer, depth_plus)
        band = worst_cases(size, depth, (size.diameter, size.diameter))
        return min(band.squeeze_loose - LEAST_SQUEEZE, GREATEST_SQUEEZE - band.squeeze_tight)

    depths = [layer * count for count in range(1, math.floor(size.least / layer) + 1)]
    shares = [round(squeeze(size.diameter, depth), _DIGITS) for depth in depths if depth < size.diameter]
    passing = [share for share in shares if room(share) >= 0.0]
    if room(now) >= 0.0 or not passing:
        return ()
    return (Suggestion("seal.squeeze", case.job.wishes.seal.squeeze if case.job.wishes.seal else None,
                       min(passing, key=lambda share: abs(share - now)),
                       tell("keeps loose and tight end within their limits, in whole layers")),)
