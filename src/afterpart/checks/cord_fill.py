"""How full the groove of a round cord gets: rubber keeps its volume, and a full groove holds the faces apart."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.groove_limits import CordInGroove, cord_in_groove, strayed, whole_layers
from afterpart.checks.judge import judged, strongest, value_that_passes
from afterpart.formulas.seal import groove_fill, groove_from, squeeze
from afterpart.model.case import Case
from afterpart.model.feature import Groove
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.orings import GREATEST_FILL, SQUEEZE_SOURCE, CordGroove
from afterpart.words import entry, paragraph, tell

FORMULA = entry("fill = pi d^2 / (4 b h)")
SEVERITY = 7

_PERCENT = 100.0


def cord_fill(case: Case) -> tuple[Finding, ...]:
    """Share of the printed groove's section that the thickest cord takes, in the narrowest and shallowest groove.

        fill = pi d^2 / (4 b h)      d cord, b width, h depth [mm];  at most GREATEST_FILL

    Holds for solid round cords of the table; the rounding at the groove's bottom is left out (it takes about two parts in a
    hundred).  Source: standards.orings.
    """
    found = cord_in_groove(case, "cord_fill", FORMULA, SEVERITY)
    if not isinstance(found, CordInGroove):
        return () if found is None else (found,)
    groove, size, table, limits = found.groove, found.cord, found.table, found.limits
    d, b, h = size.greatest, limits.width[0], limits.depth[0]
    fill = groove_fill(d, b, h)
    wanted = _wanted(case, groove, table, d)
    told = tell("At worst the cord takes {fill:.0%} of the groove; {greatest_fill:.0%} leaves room for swelling and heat.",
                fill=fill, greatest_fill=GREATEST_FILL)
    if wanted:
        told = paragraph(told, tell("Draw it for a fill of {to}, which makes it wider.", to=wanted[0].to))
    return (judged("cord_fill", tell("cord {cord:g} mm", cord=groove.cord), fill, "-", Limit(high=GREATEST_FILL),
                   source=str(SQUEEZE_SOURCE), formula=FORMULA, advice=told, from_memory=size.source.from_memory,
                   severity=SEVERITY,
                   inputs=(Input(tell("cord"), d, "mm", tell("greatest: {source}", source=size.source)),
                           Input(tell("width"), b, "mm", tell("least: {width_source}", width_source=limits.width_source)),
                           Input(tell("depth"), h, "mm", tell("least: {depth_source}", depth_source=limits.depth_source))),
                   sensitivity=strongest(groove_fill, {"cord": d, "width": b, "depth": h}), suggestions=wanted),)


def _wanted(case: Case, groove: Groove, table: CordGroove, thickest: float) -> tuple[Suggestion, ...]:
    """The nominal fill to draw for, so that the worst case keeps to GREATEST_FILL; () when it does already."""
    share, now = squeeze(groove.cord, groove.depth), groove_fill(groove.cord, groove.width, groove.depth)

    def room(fill: float) -> float:
        depth, width = groove_from(groove.cord, share, fill)
        least_depth = whole_layers(depth, case.job.wishes.printer.layer, table.depth_plus)[0]
        return GREATEST_FILL - groove_fill(thickest, strayed(width)[0], least_depth)

    found = value_that_passes(room, now, 0.5 * now) if 0.0 < share and now < 1.0 else None
    if found is None or found == now:
        return ()
    seal = case.job.wishes.seal
    return (Suggestion("seal.fill", seal.fill if seal else None, math.floor(found * _PERCENT) / _PERCENT,
                       tell("a wider groove gives the cord room at the ends of all tolerances")),)
