"""How deep and wide a printed groove may come out.

Conventions: depth is measured upwards from the bed, so it comes in whole layers; a turned groove's table tolerance is added on
the deep side.  Width strays both ways by what prints stray.  Where the built solid was measured, its sections count, not the
drawing.
Limits: a good printer does better; the hole coupon and a calliper know.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.checks.bolted_joint import cover_of
from afterpart.checks.judge import not_judged
from afterpart.model.case import Case
from afterpart.model.feature import Groove
from afterpart.model.finding import Finding
from afterpart.standards.orings import SQUEEZE_SOURCE, Cord, CordGroove, cord, groove_for_cord
from afterpart.standards.printing import GUIDES_SOURCE, rule
from afterpart.words import tell

_SAME = 0.05
"""Share of a layer by which a depth may miss whole layers and still be sliced into them."""


@dataclass(frozen=True)
class GrooveLimits:
    """Least and greatest depth and width, mm; source: where each comes from."""

    depth: tuple[float, float]
    width: tuple[float, float]
    depth_source: str
    width_source: str


@dataclass(frozen=True)
class CordInGroove:
    """A round cord of the tables in the built groove, the table's groove for it, and how the printed one may come out."""

    groove: Groove
    cord: Cord
    table: CordGroove
    limits: GrooveLimits


def cord_in_groove(case: Case, check: str, formula: str, severity: int) -> CordInGroove | Finding | None:
    """The cord as the checks of squeeze and fill ask for it; the finding of this check where the tables do not know the cord;
    None where the cover has no groove for one."""
    groove = groove_of(case)
    if groove is None or not groove.cord:
        return None
    try:
        size, table = cord(groove.cord), groove_for_cord(groove.cord)
    except KeyError as error:
        return not_judged(check, tell("cord {cord:g} mm", cord=groove.cord),
                          tell("seal.cord: {args}, so that its tolerance is not known.", args=error.args[0]),
                          source=str(SQUEEZE_SOURCE), formula=formula, missing=("seal.cord",), severity=severity)
    return CordInGroove(groove, size, table, groove_limits(case, groove, table.depth_plus))


def groove_of(case: Case) -> Groove | None:
    """The seal groove of the built cover."""
    cover = cover_of(case)
    return next((f for f in cover.features if isinstance(f, Groove)), None) if cover else None


def whole_layers(depth: float, layer: float, depth_plus: float) -> tuple[float, float]:
    """Least and greatest depth a printer makes: whole layers below and above, and the tolerance on the deep side."""
    return math.floor(depth / layer + _SAME) * layer, math.ceil(depth / layer - _SAME) * layer + depth_plus


def strayed(width: float) -> tuple[float, float]:
    """Least and greatest width: either way by the general tolerance of prints (standards/printing.py)."""
    stray = rule("tolerance").low
    return width - stray, width + stray


def groove_limits(case: Case, groove: Groove, depth_plus: float) -> GrooveLimits:
    """Limits of the built groove; depth_plus: what the cord's table lets its depth exceed."""
    cover, layer = cover_of(case), case.job.wishes.printer.layer
    sections = [s for facts in case.facts if cover and facts.piece == cover.file_stem for s in facts.sections]
    depths = [s.depth for s in sections] or [groove.depth]
    widths = [s.width for s in sections] or [groove.width]
    told = tell("groove measured on the solid") if sections else tell("groove as drawn")
    return GrooveLimits((whole_layers(min(depths), layer, depth_plus)[0], whole_layers(max(depths), layer, depth_plus)[1]),
                        (strayed(min(widths))[0], strayed(max(widths))[1]),
                        tell("{told}, in whole layers of {layer:g} mm (printer.layer), table tolerance +{depth_plus:g} mm",
                             told=told, layer=layer, depth_plus=depth_plus),
                        tell("{told}, +-{rule_low:g} mm ({guides_source})", told=told, rule_low=rule("tolerance").low,
                             guides_source=GUIDES_SOURCE))
