"""The thinnest wall of each printed piece, against the least a nozzle makes sound."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import MEASURED, judged, not_judged
from afterpart.checks.printed_pieces import Printed, place_in_words, printed_pieces
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.printing import rule
from afterpart.words import entry, tell, translated

FORMULA = entry("thinnest wall of the solid >= max(wall_least, 2 nozzle diameters)")
SEVERITY = 6

LINES = 2
"""Lines side by side that make a wall (the guides' 0.8 mm is two of 0.4)."""

MEASURED_DIGITS = 2
"""Thicknesses are measured on a mesh that keeps within 0.01 mm of the body: finer digits mean nothing."""

_SAME = 0.05
"""A wall this near to a wished thickness is that wish's, mm."""


def thinnest_wall(case: Case) -> tuple[Finding, ...]:
    """Thinnest wall measured on the solid, edges and engravings left out, for each printed piece.

        t >= max(wall_least, 2 n)      t thinnest wall, n nozzle diameter [mm]

    Below `wall_wanted` it gets attention.  Source: standards.printing.
    """
    return tuple(_judged(case, printed) for printed in printed_pieces(case))


def _judged(case: Case, printed: Printed) -> Finding:
    if printed.facts is None:
        return printed.unmeasured("thinnest_wall", SEVERITY)
    if printed.facts.thinnest is None:
        return not_judged("thinnest_wall", printed.name,
                          tell("No two faces of it lie opposite each other, so that it has no wall to measure."),
                          severity=SEVERITY)
    nozzle, thinnest = case.job.wishes.printer.nozzle, round(printed.facts.thinnest, MEASURED_DIGITS)
    least, wanted = rule("wall_least"), rule("wall_wanted")
    limit = max(least.low, LINES * nozzle)
    told = (tell("The thinnest wall is {thinnest:.2f} mm at {place}.", thinnest=thinnest,
                 place=place_in_words(printed.facts.thinnest_at)) if printed.facts.thinnest_at
            else tell("The thinnest wall is {thinnest:.2f} mm.", thinnest=thinnest))
    doubt = "" if thinnest >= wanted.low else tell("Guides advise {wanted_low:g} mm: look at that place in the slicer's preview.",
                                                   wanted_low=wanted.low)
    return judged("thinnest_wall", printed.name, thinnest, "mm", Limit(low=limit), source=str(least.source),
                  formula=FORMULA,
                  advice=told,
                  from_memory=least.from_memory, doubt=doubt, insensitive=translated(MEASURED),
                  inputs=(Input(tell("nozzle"), nozzle, "mm", "printer.nozzle"),
                          Input(tell("least wall"), least.low, "mm", str(least.source))),
                  suggestions=_thicker(case, thinnest, limit) if thinnest < limit else (), severity=SEVERITY)


def _thicker(case: Case, thinnest: float, limit: float) -> tuple[Suggestion, ...]:
    """The wished thickness that this wall is, made as thick as the limit; () where it is none."""
    wishes = case.job.wishes
    known = {"lip.thickness": wishes.lip.thickness if wishes.lip else None,
             "cover.floor": wishes.cover.floor if wishes.cover else None,
             "cover.thickness": wishes.cover.thickness if wishes.cover else None,
             "holder.bar_width": wishes.holder.bar_width if wishes.holder else None,
             "holder.thickness": wishes.holder.thickness if wishes.holder else None}
    return tuple(Suggestion(key, value, limit, tell("that is this wall")) for key, value in known.items() if value is not None
                 and abs(value - thinnest) <= _SAME)
