"""The bars over a filter element: a clogged element leans on them with all that the machine may suck."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.checks.machine_side import severity_inside
from afterpart.checks.passages import bars_of, widest_gap
from afterpart.formulas.printing import bar_stress
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.materials import SHORT_TERM_FACTOR, material
from afterpart.words import entry, tell, translated

NAME = "bar_bending"
FORMULA = entry("sigma = (3 / 4) p s L^2 / (b h^2) <= sigma_y / 1.5")
SOURCE = entry("Mechanics: a bar on two supports under an even load; load: machine.restriction_limit_pa over the spacing of the "
               "bars")
_REACH = 5.0
"""How many times as wide a bar is looked at for one that passes."""
_TENTHS = 10.0


def bar_bending(case: Case) -> tuple[Finding, ...]:
    """Bending stress of the longest bar when the element is clogged.

        sigma = (3 / 4) p s L^2 / (b h^2)     p pressure drop at which the element is due [N/mm2], s widest gap and a bar,
                                              L length, b width, h height of the bar [mm]
        limit  sigma_y / 1.5                  low end of the plastic; bars lie in their layers and bend along them

    Ends taken as free to turn, which errs on the safe side.  Source: mechanics; standards.materials, from memory.
    """
    bars, way = bars_of(case.build)
    if not bars:
        return ()
    name = tell("{count} bars", count=len(bars))
    try:
        plastic = material(case.job.wishes.printer.material)
    except KeyError as error:
        return (not_judged(NAME, name, tell("printer.material: {args}", args=error.args[0]), source=translated(SOURCE),
                           formula=FORMULA, missing=("printer.material",)),)
    drop_pa = case.job.wishes.machine.restriction_limit_pa
    if plastic.yield_stress is None:
        return (not_judged(NAME, name, tell("{plastic} has no yield stress in the tables.", plastic=plastic.name),
                           source=translated(SOURCE), formula=FORMULA, missing=("printer.material",)),)
    if drop_pa is None:
        return (not_judged(NAME, name, tell("How hard a clogged element leans on them is not told."), source=translated(SOURCE),
                           formula=FORMULA, missing=("machine.restriction_limit_pa",)),)
    bar = max(bars, key=lambda one: math.dist(one.start, one.end) / min(one.width, one.top - one.bottom))
    given = {"pressure": 1e-6 * drop_pa, "gap": widest_gap(way, bars), "length": math.dist(bar.start, bar.end),
             "width": bar.width, "height": bar.top - bar.bottom}
    limit = plastic.yield_stress.low / SHORT_TERM_FACTOR
    wider = value_that_passes(lambda width: limit - _stress(**{**given, "width": width}), bar.width, _REACH * bar.width)
    return (judged(NAME, name, _stress(**given), "N/mm2", Limit(high=limit),
                   source=f"{translated(SOURCE)}; {plastic.yield_stress.source}", formula=FORMULA,
                   from_memory=plastic.yield_stress.from_memory, severity=severity_inside(case),
                   advice=tell("Clogged to {drop_pa:.0f} Pa the element leans on {length:.0f} mm of bar; change it before. Bend "
                               "each bar by hand before fitting: a printed line may be badly bonded.", drop_pa=drop_pa,
                               length=given["length"]),
                   inputs=(Input(tell("pressure drop"), drop_pa, "Pa", "machine.restriction_limit_pa"),
                           Input(tell("gap"), given["gap"], "mm", tell("widest between the bars, as built")),
                           Input(tell("length"), given["length"], "mm", tell("longest bar, as built")),
                           Input(tell("width"), bar.width, "mm", tell("bar as built")),
                           Input(tell("height"), given["height"], "mm", tell("bar as built"))),
                   sensitivity=strongest(_stress, given),
                   suggestions=(Suggestion("holder.bar_width", bar.width, math.ceil(wider * _TENTHS) / _TENTHS,
                                           tell("a stiffer bar")),) if wider is not None and wider > bar.width else ()),)


def _stress(pressure: float, gap: float, length: float, width: float, height: float) -> float:
    return bar_stress(pressure, gap + width, length, width, height)
