"""Faces that hang over with nothing to print them on: they ask for supports."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import MEASURED, judged
from afterpart.checks.printed_pieces import Printed, place_in_words, printed_pieces
from afterpart.model.case import Case, Hanging
from afterpart.model.finding import Finding, Input, Limit
from afterpart.standards.printing import rule
from afterpart.words import counted, entry, paragraph, tell, translated

FORMULA = entry("A = sum of areas of faces that lean more than the angle from the upright and that no bridge carries")
SEVERITY = 4

_MOST_LISTED = 3


def overhangs(case: Case) -> tuple[Finding, ...]:
    """Area that hangs over without support in the orientation the piece is built in, for each printed piece.

        A = sum of areas of faces that lean more than `printer.angle_deg` from the upright, bridges aside;  A <= 0

    Holds for the mesh of the solid, within its chord.  An angle steeper than the guides' is the maker's own claim: attention.
    Source: standards.printing "overhang_deg".
    """
    return tuple(_judged(case, printed) if printed.facts else printed.unmeasured("overhangs", SEVERITY)
                 for printed in printed_pieces(case))


def _judged(case: Case, printed: Printed) -> Finding:
    assert printed.facts is not None
    angle, figure = case.job.wishes.printer.angle_deg, rule("overhang_deg")
    hanging = [h for h in printed.facts.hanging if h.kind != "bridge"]
    doubt = "" if angle <= figure.high else tell("printer.angle_deg = {angle:g} is beyond the {figure_high:g} of the guides: try "
                                                 "it.", angle=angle, figure_high=figure.high)
    area = float(sum(h.area for h in hanging))
    return judged("overhangs", printed.name, area, "mm2", Limit(high=0.0), source=str(figure.source), formula=FORMULA,
                  advice=_advice(printed, hanging), severity=SEVERITY, doubt=doubt, from_memory=figure.from_memory,
                  insensitive=translated(MEASURED),
                  inputs=(Input(tell("self-supporting angle"), angle, "degrees", "printer.angle_deg"),))


def _advice(printed: Printed, hanging: list[Hanging]) -> str:
    assert printed.facts is not None
    if not hanging:
        return (tell("No supports needed. Lay it {best_way}.", best_way=printed.facts.best_way) if printed.facts.best_way
                else tell("No supports needed."))
    worst = sorted(hanging, key=lambda h: -h.area)[:_MOST_LISTED]
    places = "; ".join(tell("{area:.1f} mm2 at {place}", area=h.area, place=place_in_words(h.at)) for h in worst)
    more = len(hanging) - len(worst)
    told = (counted("Put supports under {places}; and {count} more.", "Put supports under {places}; and {count} more.",
                    count=more, places=places) if more else tell("Put supports under {places}.", places=places))
    return paragraph(told, tell("Best of the ways to lie: {best_way}.", best_way=printed.facts.best_way)
                     if printed.facts.best_way else "")
